//! Finding an entry by name, and the nearest names when there is none.

/// No entry of that name.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("unknown {kind} '{name}'; nearest: {}", nearest.join(", "))]
pub struct UnknownName {
    /// What was looked for, such as `soft material`.
    pub kind: &'static str,
    /// As given.
    pub name: String,
    /// The most similar names, best first.
    pub nearest: Vec<String>,
}

/// Letters and digits only, in lower case: `Low carbon steel` and `low-carbon_steel` are one name.
pub(super) fn plain(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The entry called `name`, or the nearest three names.
pub(super) fn find<'a, T>(
    kind: &'static str,
    name: &str,
    entries: &'a [T],
    names_of: impl Fn(&'a T) -> Vec<&'a str>,
) -> Result<&'a T, UnknownName> {
    let wanted = plain(name);
    if let Some(entry) = entries.iter().find(|e| names_of(e).iter().any(|n| plain(n) == wanted)) {
        return Ok(entry);
    }
    Err(unknown(kind, name, entries.iter().flat_map(names_of)))
}

/// The error that names the three most similar of `known`.
pub(super) fn unknown<'a>(
    kind: &'static str,
    name: &str,
    known: impl Iterator<Item = &'a str>,
) -> UnknownName {
    let wanted = plain(name);
    let mut scored: Vec<(f64, &str)> = known.map(|n| (strsim::jaro_winkler(&wanted, &plain(n)), n)).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let nearest = scored.iter().take(3).map(|(_, n)| (*n).to_string()).collect();
    UnknownName { kind, name: name.to_string(), nearest }
}
