//! A series as CSV: one header row naming quantity and unit (`gap mm`), a full stop for the decimal point.

use crate::ask::Map;
use crate::shown::Scale;
use coilwright_magnet::answers::answer::{Answer, Column, Series, Value};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::band::Band;

/// A column to write: its head and its numbers in shown units.
struct Written {
    head: String,
    cells: Vec<f64>,
}

/// The same series of one or several magnets; with several the first column names the magnet.
pub(crate) fn text(series: &[(&str, &Series)], units: UnitSystem) -> Result<String, ::csv::Error> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let several = series.len() > 1;
    for (index, (magnet, one)) in series.iter().enumerate() {
        let columns = columns(one, series, units);
        if index == 0 {
            let magnet = several.then_some("magnet");
            writer.write_record(magnet.into_iter().chain(columns.iter().map(|c| c.head.as_str())))?;
        }
        for row in 0..one.x.values.len() {
            let cells = columns.iter().map(|c| c.cells.get(row).map_or(String::new(), |v| number(*v)));
            let magnet = several.then(|| as_text(magnet));
            writer.write_record(magnet.into_iter().chain(cells))?;
        }
    }
    finished(writer)
}

/// All values of the answers, a row each: key, label, value, unit and the ends of its 95 % interval.
pub(crate) fn values(answers: &[Answer], units: UnitSystem) -> Result<String, ::csv::Error> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let several = (answers.len() > 1).then_some("magnet");
    writer.write_record(several.into_iter().chain(["key", "label", "value", "unit", "low", "high"]))?;
    for answer in answers {
        for item in answer.groups.iter().flat_map(|group| &group.items) {
            let [value, unit, low, high] = match &item.value {
                Value::Text(text) => [as_text(text), String::new(), String::new(), String::new()],
                Value::Number(m) => {
                    let scale = Scale::of(m.dimension, m.value, units);
                    let shown = |si: f64| number(scale.value(si));
                    let end =
                        |pick: fn(&Band) -> f64| m.band.as_ref().map_or(String::new(), |b| shown(pick(b)));
                    [shown(m.value), scale.symbol.to_owned(), end(|b| b.low), end(|b| b.high)]
                }
            };
            let row = [item.key.clone(), as_text(&item.label), value, unit, low, high];
            writer.write_record(several.map(|_| as_text(&answer.magnet)).into_iter().chain(row))?;
        }
    }
    finished(writer)
}

/// A map's grid, a row for each place: where it is, the field there, and what iron it lies in, where no probe reads.
pub(crate) fn map(map: &Map, units: UnitSystem) -> Result<String, ::csv::Error> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let far = map.across_m.iter().chain(&map.height_m).fold(0.0f64, |most, v| most.max(v.abs()));
    let length = Scale::of(Dimension::Length, far, units);
    let field = Scale::of(Dimension::FluxDensity, map.flux.strongest.value, units);
    let heads =
        [("across", length), ("height", length), ("b_across", field), ("b_axial", field), ("b_size", field)];
    let heads = heads.map(|(key, scale)| format!("{key} {}", scale.symbol));
    writer.write_record(heads.iter().map(String::as_str).chain(["inside"]))?;
    let places = map.height_m.iter().flat_map(|y| map.across_m.iter().map(move |x| [*x, *y]));
    for ((place, fields), inside) in places.zip(&map.field_t).zip(&map.inside) {
        let cells =
            place.map(|v| length.value(v)).into_iter().chain(fields.map(|b| field.value(b))).map(number);
        writer.write_record(cells.chain([inside.as_deref().map_or(String::new(), as_text)]))?;
    }
    finished(writer)
}

/// Text that a spreadsheet would take for a formula is marked as text.
fn as_text(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

fn finished(writer: ::csv::Writer<Vec<u8>>) -> Result<String, ::csv::Error> {
    let bytes = writer.into_inner().map_err(|error| error.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Columns in the unit that suits them over all magnets, so that one column has one unit.
fn columns(series: &Series, all: &[(&str, &Series)], units: UnitSystem) -> Vec<Written> {
    let mut written = Vec::new();
    let mut add = |column: &Column, everyone: Vec<&Column>| {
        let scale = Scale::of_columns(everyone.into_iter(), column.dimension, units);
        let head = |part: &str| format!("{}{part} {}", column.key, scale.symbol).trim_end().to_owned();
        written
            .push(Written { head: head(""), cells: column.values.iter().map(|v| scale.value(*v)).collect() });
        if column.bands.len() == column.values.len() && !column.bands.is_empty() {
            let end =
                |pick: fn(&(f64, f64)) -> f64| column.bands.iter().map(|b| scale.value(pick(b))).collect();
            written.push(Written { head: head(" low"), cells: end(|b| b.0) });
            written.push(Written { head: head(" high"), cells: end(|b| b.1) });
        }
    };
    add(&series.x, all.iter().map(|(_, s)| &s.x).collect());
    for (index, column) in series.ys.iter().enumerate() {
        add(column, all.iter().filter_map(|(_, s)| s.ys.get(index)).collect());
    }
    written
}

/// Ten significant digits: more than is known, without the tail of binary fractions.
fn number(value: f64) -> String {
    if !value.is_finite() {
        return String::new();
    }
    let rounded: f64 = format!("{value:.9e}").parse().unwrap_or(value);
    if rounded != 0.0 && !(1e-6..1e12).contains(&rounded.abs()) {
        format!("{rounded:e}")
    } else {
        rounded.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright_magnet::answers::answer::Item;

    fn series(pulls: [f64; 2]) -> Series {
        let column = |key: &str, dimension, values: [f64; 2], bands: Vec<(f64, f64)>| Column {
            key: key.into(),
            label: key.into(),
            dimension,
            values: values.into(),
            bands,
        };
        Series {
            key: "pull".into(),
            title: "Pull against gap".into(),
            x: column("gap", Dimension::Length, [1e-4, 0.3e-3], vec![]),
            ys: vec![column("pull", Dimension::Force, pulls, pulls.map(|p| (p - 1.0, p + 1.0)).into())],
            log_x: true,
        }
    }

    #[test]
    fn the_header_names_quantity_and_unit() {
        let one = series([400.0, 0.05]);
        let text = text(&[("m", &one)], UnitSystem::Si).unwrap();
        assert_eq!(text, "gap mm,pull N,pull low N,pull high N\n0.1,400,399,401\n0.3,0.05,-0.95,1.05\n");
    }

    #[test]
    fn several_magnets_are_named_and_share_units() {
        let (strong, weak) = (series([2e4, 1e4]), series([2.0, 1.0]));
        let text = text(&[("a, b", &strong), ("c", &weak)], UnitSystem::Si).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "magnet,gap mm,pull kN,pull low kN,pull high kN");
        assert!(lines[1].starts_with("\"a, b\",0.1,20,"), "{text}");
        assert!(lines[3].starts_with("c,0.1,0.002,"), "{text}");
    }

    /// A cell that begins like a formula is run by spreadsheets (common practice, no source): it is marked as text.
    #[test]
    fn names_are_no_formulae() {
        let one = series([2e4, 1e4]);
        let text = text(&[("=1+1", &one), ("@x", &one)], UnitSystem::Si).unwrap();
        assert!(text.contains("'=1+1") && text.contains("'@x"), "{text}");
        let mut answer = Answer::new("pull", "-m");
        answer.group("Pull", vec![Item::number("pull", "=pull", 400.0, Dimension::Force)]);
        let text = values(&[answer.clone(), answer], UnitSystem::Si).unwrap();
        assert!(
            text.starts_with("magnet,key,label,value,unit,low,high\n'-m,pull,'=pull,400,N,,\n"),
            "{text}"
        );
    }
}
