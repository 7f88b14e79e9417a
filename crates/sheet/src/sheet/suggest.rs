//! Finds what the user probably meant.

use super::schema::{self, Form, KEYS, Key};

/// The candidate that looks most like the word, if any comes close.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = word.chars().count();
    // Nothing in a sheet is longer; a megabyte of nonsense is not compared letter by letter.
    if !(2..=60).contains(&length) {
        return None;
    }
    let word = word.to_lowercase().replace(['-', ' '], "_");
    candidates
        .into_iter()
        .filter_map(|candidate| {
            let plain = candidate.to_lowercase().replace(['-', ' '], "_");
            let distance = strsim::osa_distance(&word, &plain);
            // `diameter` for `outer_diameter`: a part of the name, but not a mere letter of it.
            let part = length >= 4 && (plain.contains(&word) || word.contains(&plain));
            let reach = (length / 3).max(1);
            (distance <= reach || part).then_some((distance, candidate))
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// A hint for a key that the schema does not have.
pub(crate) fn for_key(table: &str, leaf: &str, form: Option<Form>) -> String {
    let applies = |key: &&Key| form.is_none_or(|f| key.forms.contain(f));
    let here: Vec<&Key> = KEYS.iter().filter(applies).filter(|key| key.table() == generic(table)).collect();
    if let Some(name) = nearest(leaf, here.iter().map(|key| key.leaf())) {
        return format!("did you mean `{name}`?");
    }
    let elsewhere: Vec<_> = KEYS.iter().filter(applies).filter(|key| key.leaf() == leaf).map(place).collect();
    if !elsewhere.is_empty() {
        return format!("`{leaf}` belongs {}", elsewhere.join(" or "));
    }
    if let Some(key) =
        KEYS.iter().filter(applies).find(|key| nearest(leaf, [key.leaf()]).is_some() && key.leaf().len() > 3)
    {
        return format!("did you mean `{}` {}?", key.leaf(), place(key));
    }
    if table.is_empty() {
        let tables: Vec<_> = table_names(form).map(|t| format!("[{t}]")).collect();
        return format!("tables of a sheet: {}", tables.join(", "));
    }
    let names: Vec<_> = here.iter().map(|key| key.leaf()).collect();
    format!("keys of [{table}]: {}", names.join(", "))
}

/// A hint for a table that the schema does not have.
pub(crate) fn for_table(name: &str, form: Option<Form>) -> String {
    match nearest(name, table_names(form)) {
        Some(table) => format!("did you mean `[{table}]`?"),
        None => {
            let tables: Vec<_> = table_names(form).map(|t| format!("[{t}]")).collect();
            format!("tables of a sheet: {}", tables.join(", "))
        }
    }
}

/// The names of the keys that a form has in a table.
pub(crate) fn keys_of(table: &str, form: Form) -> String {
    let names: Vec<_> = KEYS
        .iter()
        .filter(|key| key.forms.contain(form) && key.table() == generic(table))
        .map(|key| key.leaf())
        .collect();
    names.join(", ")
}

/// `instruments.dmm` as the schema knows it.
fn generic(table: &str) -> &str {
    if table.starts_with("instruments.") { "instruments.*" } else { table }
}

fn table_names(form: Option<Form>) -> impl Iterator<Item = &'static str> {
    schema::TABLES
        .iter()
        .map(|(name, _)| name.trim_end_matches(".*"))
        .filter(move |name| {
            !name.is_empty()
                && KEYS.iter().any(|key| {
                    key.table().trim_end_matches(".*") == *name && form.is_none_or(|f| key.forms.contain(f))
                })
        })
        .chain(
            ["region", "material"]
                .into_iter()
                .filter(move |n| *n == "material" || form == Some(Form::Profile)),
        )
}

fn place(key: &Key) -> String {
    if key.table().is_empty() { "at the top".into() } else { format!("under [{}]", key.table()) }
}

/// At most forty characters of a text, on one line, for a message.
pub(crate) fn cut(text: &str) -> String {
    let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(41).collect();
    if line.chars().count() <= 40 { line } else { line.chars().take(39).chain(['…']).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_key_that_was_meant() {
        for (table, leaf, meant) in [
            ("body", "outer_diametre", "`outer_diameter`"),
            ("body", "pole_dia", "`pole_diameter`"),
            ("winding", "turn", "`turns`"),
            ("drive", "volatge", "`voltage`"),
            ("", "gap", "under [workpiece] or under [keeper]"),
            ("winding", "voltage", "under [drive]"),
        ] {
            let hint = for_key(table, leaf, Some(Form::Pot));
            assert!(hint.contains(meant), "{leaf}: {hint}");
        }
        assert!(for_table("windings", Some(Form::Pot)).contains("[winding]"));
        assert!(for_key("body", "qqqqqq", Some(Form::Disc)).contains("grade"));
        assert_eq!(nearest("x", ["y"]), None);
    }
}
