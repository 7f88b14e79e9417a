//! Lists and ranges on the command line: `0.1mm,0.2mm`, `0.05..5mm`, `0..24V/13`, `0.05..5mm/20/log`.
//!
//! A range has 25 points unless `/n` says otherwise, and is spaced logarithmically if both ends are positive and a
//! factor of ten or more apart, unless `/lin` or `/log` says otherwise. An item without a unit takes that of the
//! last item. Where items have decimal commas they are parted by `;`; `1,5mm` alone could be either and is refused.

use coilwright_magnet::quantity::{Dimension, Quantity};

/// Points of a range that does not say.
const POINTS: usize = 25;
/// Most values of one scan.
const MOST: usize = 2000;

/// The values, in SI and in the order given.
pub(crate) fn parse(text: &str, dimension: Dimension) -> Result<Vec<f64>, String> {
    let unit = trailing_unit(text);
    let semicolons = text.contains(';');
    if !semicolons && let Some((decimals, list)) = two_readings(text, unit) {
        return Err(format!("`{text}` can be read as {decimals} or as {list}: write it so"));
    }
    let mut values = Vec::new();
    for item in text.split(if semicolons { ';' } else { ',' }) {
        match item.split_once("..") {
            None => values.push(quantity(item, unit, dimension)?),
            Some((from, to)) => range(from, to, unit, dimension, &mut values)?,
        }
        if values.len() > MOST {
            return Err(format!("more than {MOST} values"));
        }
    }
    Ok(values)
}

/// The two ends of a range `FROM..TO`; none where the text is no range.
pub(crate) fn ends(text: &str, dimension: Dimension) -> Result<Option<[f64; 2]>, String> {
    let unit = trailing_unit(text);
    let Some((from, to)) = text.split_once("..") else { return Ok(None) };
    Ok(Some([quantity(from, unit, dimension)?, quantity(to, unit, dimension)?]))
}

/// What a comma may mean where it stands between two whole numbers: a decimal sign, or the end of an item. None where only
/// one of them is possible.
fn two_readings(text: &str, unit: &str) -> Option<(String, String)> {
    let items: Vec<&str> = text.split(',').map(str::trim).collect();
    let whole = |item: &str| !item.is_empty() && item.bytes().all(|b| b.is_ascii_digit());
    let starts = |item: &str| {
        let digits = item.bytes().take_while(u8::is_ascii_digit).count();
        digits > 0 && !item[digits..].starts_with('.') || item[digits..].starts_with("..")
    };
    if items.len() != 2 || !whole(items[0]) || !starts(items[1]) {
        return None;
    }
    let with_unit = if items[1].contains("..") { "" } else { unit };
    Some((format!("`{}.{}`", items[0], items[1]), format!("`{}{with_unit};{}`", items[0], items[1])))
}

fn range(
    from: &str,
    to: &str,
    unit: &str,
    dimension: Dimension,
    values: &mut Vec<f64>,
) -> Result<(), String> {
    let (to, (points, spacing)) = modifiers(to)?;
    let start = quantity(from, unit, dimension)?;
    let end = quantity(to, unit, dimension)?;
    let ratio = end / start;
    let wide = start > 0.0 && end > 0.0 && !(0.1..10.0).contains(&ratio);
    let logarithmic = spacing.unwrap_or(wide);
    if logarithmic && !(start > 0.0 && end > 0.0) {
        return Err(format!("a logarithmic range needs two ends above zero: `{from}..{to}`"));
    }
    if start == end {
        return Err(format!("the two ends of the range `{from}..{to}` are the same"));
    }
    for index in 0..points {
        let t = index as f64 / (points - 1) as f64;
        // The ends are kept exactly.
        values.push(match index {
            0 => start,
            _ if index == points - 1 => end,
            _ if logarithmic => start * ratio.powf(t),
            _ => start + (end - start) * t,
        });
    }
    Ok(())
}

/// Splits `5mm/20/log` into `5mm`, 20 and logarithmic. A unit with a stroke (`A/mm^2`) stays whole.
fn modifiers(text: &str) -> Result<(&str, (usize, Option<bool>)), String> {
    let (mut rest, mut points, mut spacing) = (text.trim(), POINTS, None);
    while let Some((head, tail)) = rest.rsplit_once('/') {
        match tail.trim() {
            "log" => spacing = Some(true),
            "lin" => spacing = Some(false),
            digits if !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit()) => {
                points = digits
                    .parse()
                    .ok()
                    .filter(|n| (2..=MOST).contains(n))
                    .ok_or_else(|| format!("a range takes 2 to {MOST} points, not {digits}"))?;
            }
            _ => break,
        }
        rest = head.trim_end();
    }
    Ok((rest, (points, spacing)))
}

/// The unit after the last number, without a range's modifiers.
fn trailing_unit(text: &str) -> &str {
    let last = text.rsplit(if text.contains(';') { ';' } else { ',' }).next().unwrap_or(text);
    let last = last.split_once("..").map_or(last, |(_, to)| to);
    let last = modifiers(last).map_or(last, |(rest, _)| rest).trim();
    let number = last
        .char_indices()
        .take_while(|&(at, c)| {
            c.is_ascii_digit()
                || matches!(c, '.' | ',' | '+' | '-')
                || (matches!(c, 'e' | 'E')
                    && last[at + 1..].starts_with(|n: char| n.is_ascii_digit() || n == '-'))
        })
        .count();
    last[number..].trim()
}

fn quantity(item: &str, unit: &str, dimension: Dimension) -> Result<f64, String> {
    let item = item.trim();
    let bare = item.replace(',', ".").parse::<f64>().is_ok() && !unit.is_empty();
    let text = if bare { format!("{item} {unit}") } else { item.to_owned() };
    Quantity::parse(&text, dimension).map(|quantity| quantity.value).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (f, e) in found.iter().zip(expected) {
            assert!((f - e).abs() <= 1e-12 * e.abs().max(1e-9), "{found:?}");
        }
    }

    #[test]
    fn lists_share_the_last_unit() {
        close(&parse("0.1mm, 0.2 mm", Dimension::Length).unwrap(), &[1e-4, 2e-4]);
        close(&parse("0.1,0.2,3mm", Dimension::Length).unwrap(), &[1e-4, 2e-4, 3e-3]);
        close(&parse("1e-1,2mm", Dimension::Length).unwrap(), &[1e-4, 2e-3]);
    }

    #[test]
    fn ranges_space_themselves() {
        close(&parse("0..24V/5", Dimension::Voltage).unwrap(), &[0.0, 6.0, 12.0, 18.0, 24.0]);
        close(&parse("0.01..1mm/3", Dimension::Length).unwrap(), &[1e-5, 1e-4, 1e-3]);
        close(&parse("0.01..1mm/3/lin", Dimension::Length).unwrap(), &[1e-5, 5.05e-4, 1e-3]);
        close(&parse("1..4mm/log/3", Dimension::Length).unwrap(), &[1e-3, 2e-3, 4e-3]);
        close(&parse("1mm,2..4mm/2", Dimension::Length).unwrap(), &[1e-3, 2e-3, 4e-3]);
        assert_eq!(parse("0.05mm..5mm", Dimension::Length).unwrap().len(), 25);
    }

    /// A comma is a decimal sign to some and parts items to others; a sheet takes it for the former.
    #[test]
    fn a_comma_that_may_mean_two_things_is_refused() {
        for unclear in ["1,5mm", "1,5 mm", "0,1..5mm", "1,2..4mm/2"] {
            let told = parse(unclear, Dimension::Length).unwrap_err();
            assert!(told.contains("can be read as"), "{unclear}: {told}");
        }
        assert!(parse("1,5mm", Dimension::Length).unwrap_err().contains("`1.5mm` or as `1mm;5mm`"));
        close(&parse("1,5mm;2,5mm", Dimension::Length).unwrap(), &[1.5e-3, 2.5e-3]);
        close(&parse("0,5;1;1,5mm", Dimension::Length).unwrap(), &[5e-4, 1e-3, 1.5e-3]);
        close(&parse("1mm;5mm", Dimension::Length).unwrap(), &[1e-3, 5e-3]);
        close(&parse("1mm,5mm", Dimension::Length).unwrap(), &[1e-3, 5e-3]);
        close(&parse("1,2,3mm", Dimension::Length).unwrap(), &[1e-3, 2e-3, 3e-3]);
        close(&parse("0.5,1.5mm", Dimension::Length).unwrap(), &[5e-4, 1.5e-3]);
    }

    #[test]
    fn nonsense_is_refused() {
        for bad in [
            "",
            "5",
            "1..",
            "0..5mm/log",
            "1..5mm/1",
            "1..5mm/9999999",
            "2mm..2mm",
            "1..2",
            "x..y",
            "1mm,,2mm",
        ] {
            assert!(parse(bad, Dimension::Length).is_err(), "{bad}");
        }
        assert!(parse("1..5 V", Dimension::Length).is_err());
    }
}
