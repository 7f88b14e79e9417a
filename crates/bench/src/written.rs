//! A sheet written anew: the old text with its comments and order, new values in place.

use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use toml_edit::{DocumentMut, Item, Table, Value, value};

/// Sets paths of a sheet's text to new texts, or takes them out where the text is empty; comments and order stay. What
/// comes out is a sheet, or this fails.
pub fn written(sheet: &Sheet, entries: &[(String, String)]) -> Result<String, Failure> {
    let mut document = document(sheet)?;
    for (path, text) in entries {
        if text.is_empty() {
            remove(&mut document, path);
        } else {
            set(&mut document, path, text).ok_or_else(|| broken(format!("`{path}` has no place")))?;
        }
    }
    let text = document.to_string();
    Sheet::parse(&text, sheet.file())?;
    Ok(text)
}

/// The text of an entry as the sheet has it, without quotes; empty where it has none.
pub fn text(sheet: &Sheet, path: &str) -> Result<String, Failure> {
    let document = document(sheet)?;
    let item = path.split('.').try_fold(document.as_item(), |item, part| item.get(part));
    let value = item.and_then(Item::as_value);
    Ok(value.map_or_else(String::new, |v| {
        v.as_str().map_or_else(|| v.clone().decorated("", "").to_string(), str::to_owned)
    }))
}

fn document(sheet: &Sheet) -> Result<DocumentMut, Failure> {
    sheet.source_text().parse().map_err(|e: toml_edit::TomlError| broken(e.to_string()))
}

fn broken(why: String) -> Failure {
    Diagnostic::fault(format!("the sheet could not be written: {why}"), "").into()
}

fn remove(document: &mut DocumentMut, path: &str) {
    let (tables, key) = parts(path);
    // By tables, not items: asking an item for what it lacks would make an empty one.
    let table = tables
        .into_iter()
        .try_fold(document.as_table_mut(), |table, part| table.get_mut(part)?.as_table_mut());
    if let Some(table) = table {
        table.remove(key);
    }
}

/// The tables in which an entry stands, and its key; an entry such as `name` stands in none.
fn parts(path: &str) -> (Vec<&str>, &str) {
    let mut tables: Vec<&str> = path.split('.').collect();
    let key = tables.pop().unwrap_or_default();
    (tables, key)
}

fn set(document: &mut DocumentMut, path: &str, text: &str) -> Option<()> {
    let (tables, key) = parts(path);
    let mut place: &mut Table = document.as_table_mut();
    for part in tables {
        place = place.entry(part).or_insert_with(|| Item::Table(Table::new())).as_table_mut()?;
    }
    match place.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            // The comment behind a value belongs to it.
            let decor = old.decor().clone();
            *old = Value::from(text);
            *old.decor_mut() = decor;
        }
        None => {
            place.insert(key, value(text));
        }
    }
    Some(())
}

/// A value with its tolerance as a sheet has it: the half-width of a rectangular distribution is √3 times the standard
/// uncertainty, so that reading it back gives that.
pub fn quantity(si: f64, standard: f64, dimension: Dimension) -> String {
    let half_width = 3f64.sqrt() * standard;
    let (scale, offset, unit, difference) = match dimension {
        Dimension::Length => (1e3, 0.0, " mm", " mm"),
        Dimension::Temperature => (1.0, -273.15, " °C", " K"),
        Dimension::Resistance => (1.0, 0.0, " ohm", " ohm"),
        Dimension::FluxDensity => (1.0, 0.0, " T", " T"),
        _ => (1.0, 0.0, "", ""),
    };
    // Three digits of the half-width: rounding changes it by less than 0.5 %.
    let places = (2 - (half_width * scale).log10().floor() as i32).clamp(0, 12) as usize;
    let (number, tolerance) = (si * scale + offset, half_width * scale);
    // A sheet's counts are whole.
    let whole = if dimension == Dimension::Count { 0 } else { places };
    format!("{number:.whole$}{unit} ± {tolerance:.places$}{difference}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright_magnet::quantity::Quantity;

    #[test]
    fn quantities_come_back() {
        for (si, standard, dimension) in [
            (0.000153, 0.0000021, Dimension::Length),
            (295.65, 0.71, Dimension::Temperature),
            (47.72, 0.083, Dimension::Resistance),
            (1931.0, 12.7, Dimension::Count),
            (0.97, 0.012, Dimension::Ratio),
        ] {
            let text = quantity(si, standard, dimension);
            let back = Quantity::parse(&text, dimension).unwrap();
            assert!((back.value - si).abs() < 0.05 * standard, "{text}");
            assert!((back.standard_uncertainty() / standard - 1.0).abs() < 0.006, "{text}");
        }
    }

    #[test]
    fn comments_and_order_stay() {
        let text = "# mine\nsheet = 1\nform = \"coil\"\n[winding] # the coil\ninner_diameter = \"20 mm\"   # caliper\n\
                    outer_diameter = \"40 mm\"\nlength = \"30 mm\"\nturns = \"500 ± 20\"  # a guess\n\n[drive]\ncurrent = \"1 A\"\n";
        let (sheet, _) = Sheet::parse(text, "s").unwrap();
        let entries = [("winding.turns", "512.0 ± 1.7"), ("calibration.date", "2025-01-31")];
        let new = written(&sheet, &entries.map(|(a, b)| (a.to_owned(), b.to_owned()))).unwrap();
        let expected =
            text.replace("\"500 ± 20\"", "\"512.0 ± 1.7\"") + "\n[calibration]\ndate = \"2025-01-31\"\n";
        assert_eq!(new, expected);
    }
}
