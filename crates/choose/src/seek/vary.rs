//! What a search may change: entries of the sheet, each over a row of values.

use crate::sweep::entry;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::{Form, Sheet, number_at};
use coilwright_magnet::wire::{Grade, Wire, standard_wires};

/// An entry that may change, as it was asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Vary {
    /// Path in the sheet.
    pub path: String,
    /// Over what.
    pub over: Over,
}

/// The values of an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum Over {
    /// What the form has room for, the wires that are made, as many turns as find room.
    Free,
    /// From and to, SI; for a wire its bare diameter, m.
    Between([f64; 2]),
    /// These alone, SI.
    These(Vec<f64>),
    /// These wires alone.
    Wires(Vec<String>),
}

/// An axis of the search.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Axis {
    pub(crate) path: String,
    pub(crate) values: Values,
    /// The range goes on beyond its ends: they were chosen, nature did not choose them.
    pub(crate) ends: bool,
}

/// The places on an axis.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Values {
    /// SI.
    Numbers(Vec<f64>, Dimension),
    Wires(Vec<Wire>),
    /// Shares of the turns that find room.
    Turns(Vec<f64>),
}

/// The path of the wire, and of the turns.
pub(crate) const WIRE: &str = "winding.wire";
pub(crate) const TURNS: &str = "winding.turns";

/// Places into which a range is cut, about.
const PLACES: f64 = 100.0;
/// Most entries that may change at once.
const MOST: usize = 12;
/// Bare diameters of wires that are looked at where no range is given, m.
const WIRES_M: [f64; 2] = [0.1e-3, 1.6e-3];
/// Turns are as many as find room, or down to this share of them.
const FEWEST: f64 = 0.25;
const TURN_PLACES: usize = 31;

/// A pot's entries that may change within its outside, as shares of its outer diameter or its height.
const POT: [(&str, &str, [f64; 2]); 3] = [
    ("body.pole_diameter", "body.outer_diameter", [0.25, 0.75]),
    ("body.inner_diameter", "body.outer_diameter", [0.65, 0.96]),
    ("body.back", "body.height", [0.06, 0.4]),
];

impl Axis {
    pub(crate) fn count(&self) -> u32 {
        let count = match &self.values {
            Values::Numbers(values, _) | Values::Turns(values) => values.len(),
            Values::Wires(wires) => wires.len(),
        };
        count as u32
    }
}

/// The axes of a search: what was asked for, or else what the form allows.
pub(crate) fn axes(sheet: &Sheet, asked: &[Vary]) -> Result<Vec<Axis>, Diagnostic> {
    let own: Vec<Vary>;
    let asked = if asked.is_empty() {
        own = of_form(sheet)?;
        &own
    } else {
        asked
    };
    let mut found: Vec<Axis> = Vec::new();
    for vary in asked {
        if found.iter().any(|axis| axis.path == vary.path) {
            let message = format!("`{}` is to change in two ways", vary.path);
            return Err(Diagnostic::fault(message, "give each entry one range"));
        }
        found.push(axis(sheet, vary)?);
    }
    if let [Some(wall), Some(_)] =
        ["body.wall", "body.inner_diameter"].map(|p| found.iter().find(|a| a.path == p))
    {
        let message =
            format!("`{}` follows from `body.inner_diameter`: only one of them can change", wall.path);
        return Err(Diagnostic::fault(message, "leave one of the two out"));
    }
    if found.len() > MOST {
        let message = format!("{} entries are to change at once", found.len());
        return Err(Diagnostic::fault(message, format!("at most {MOST} are searched together")));
    }
    Ok(found)
}

/// Everything inside a magnet's outside.
fn of_form(sheet: &Sheet) -> Result<Vec<Vary>, Diagnostic> {
    let free = |path: &str| Vary { path: path.into(), over: Over::Free };
    match sheet.form() {
        Form::Pot => {
            // A wall that the sheet gives stays the word for it.
            let wall = |path: &&str| !(sheet.has("body.wall") && *path == "body.inner_diameter");
            let mut all: Vec<Vary> = POT.iter().map(|p| p.0).filter(wall).map(free).collect();
            all.push(free(WIRE));
            Ok(all)
        }
        form => Err(Diagnostic::fault(
            format!("what may change of a \"{form}\" has to be said"),
            "name entries with their ranges, such as --vary \"body.core_diameter=10..30 mm; winding.wire\"",
        )),
    }
}

fn axis(sheet: &Sheet, vary: &Vary) -> Result<Axis, Diagnostic> {
    let path = vary.path.as_str();
    let fault = |message: String, hint: &str| Err(Diagnostic::fault(message, hint));
    if path == WIRE {
        let values = Values::Wires(wires(sheet, &vary.over)?);
        // Asks whether this form has such an entry at all.
        sheet.clone().set(WIRE, "0.4 mm")?;
        return Ok(Axis { path: path.into(), values, ends: matches!(vary.over, Over::Between(_)) });
    }
    let Some(dimension) = number_at(path) else {
        // The sheet's own words for a key that does not exist, or is none of numbers.
        sheet.clone().set(path, "1")?;
        return fault(format!("`{path}` is no number"), "words are compared one by one, with `compare`");
    };
    let (values, ends) = match &vary.over {
        Over::Free if path == TURNS => {
            let share = |k: usize| FEWEST + (1.0 - FEWEST) * k as f64 / (TURN_PLACES - 1) as f64;
            return Ok(Axis {
                path: path.into(),
                values: Values::Turns((0..TURN_PLACES).map(share).collect()),
                ends: false,
            });
        }
        Over::Free => {
            let known = POT.iter().find(|p| p.0 == path && sheet.form() == Form::Pot);
            let Some((_, of, shares)) = known else {
                return fault(
                    format!("`{path}` needs a range"),
                    "write PATH=FROM..TO, such as body.pole_diameter=20..36mm",
                );
            };
            let Some(whole) = sheet.value(of) else {
                return fault(
                    format!("`{of}` is missing"),
                    "the outside of the magnet is what it is sought within",
                );
            };
            (steps(shares.map(|share| share * whole), dimension), false)
        }
        Over::Between([from, to]) if from < to => (steps([*from, *to], dimension), true),
        Over::Between(_) => {
            return fault(
                format!("`{path}`: the range ends before it begins"),
                "write the smaller value first",
            );
        }
        Over::These(values) => {
            let mut values: Vec<f64> = values.clone();
            values.sort_by(f64::total_cmp);
            values.dedup();
            (values, false)
        }
        Over::Wires(_) => return fault(format!("`{path}` is no wire"), "write PATH=FROM..TO"),
    };
    for value in values.iter().take(1).chain(values.last()) {
        if let Err(wrong) = sheet.clone().set(path, &entry(*value, dimension))
            && !excused(path)
        {
            let shown = dimension.text(*value, None, UnitSystem::Si);
            return fault(format!("`{path}` = {shown}: {}", wrong.message), &wrong.hint);
        }
    }
    Ok(Axis { path: path.into(), values: Values::Numbers(values, dimension), ends })
}

/// Paths whose rivals in the sheet the search takes away itself.
fn excused(path: &str) -> bool {
    path == TURNS || path == "body.wall" || path == "body.inner_diameter"
}

/// A range in steps of 1, 2 or 5 times a power of ten, about a hundred of them, so that what is found can be made.
fn steps([from, to]: [f64; 2], dimension: Dimension) -> Vec<f64> {
    let raw = (to - from) / PLACES;
    let power = 10f64.powf(raw.log10().floor());
    let step = [5.0, 2.0, 1.0].into_iter().find(|m| m * power <= raw * (1.0 + 1e-9)).unwrap_or(1.0) * power;
    let step = if dimension == Dimension::Count { step.round().max(1.0) } else { step };
    let (first, last) = ((from / step).ceil() as i64, (to / step + 1e-9).floor() as i64);
    // A multiple of a decimal step has few digits only where it is divided, not multiplied.
    let value = |k: i64| if step < 1.0 { k as f64 / (1.0 / step).round() } else { k as f64 * step };
    let mut found: Vec<f64> = (first..=last).map(value).collect();
    // The ends themselves are part of it.
    let apart = |a: f64, b: f64| (a - b).abs() > 0.05 * step;
    if found.first().is_none_or(|f| apart(*f, from)) {
        found.insert(0, from);
    }
    if found.last().is_none_or(|l| apart(*l, to)) {
        found.push(to);
    }
    found
}

/// The wires to choose from, thinnest first, in the grade of the sheet's own.
fn wires(sheet: &Sheet, over: &Over) -> Result<Vec<Wire>, Diagnostic> {
    let own = sheet.word(WIRE).and_then(|text| Wire::parse(text).ok());
    let grade = own.map_or(Grade::One, |wire| wire.grade);
    let within = |[from, to]: [f64; 2]| {
        let inside = |w: &Wire| w.diameter_m >= from * (1.0 - 1e-9) && w.diameter_m <= to * (1.0 + 1e-9);
        standard_wires(grade).filter(inside).collect::<Vec<Wire>>()
    };
    let found = match over {
        Over::Free => within(WIRES_M),
        Over::Between(range) => within(*range),
        Over::These(diameters) => {
            let made = diameters.iter().map(|d| Wire::new(*d, grade));
            made.collect::<Result<_, _>>().map_err(|e| Diagnostic::fault(e.to_string(), ""))?
        }
        Over::Wires(texts) => {
            let read = texts.iter().map(|text| Wire::parse(text));
            read.collect::<Result<_, _>>().map_err(|e| Diagnostic::fault(e.to_string(), ""))?
        }
    };
    if found.is_empty() {
        return Err(Diagnostic::fault(
            "no wire of the preferred sizes (IEC 60317-0-1) is that thick".to_string(),
            "give a wider range of bare diameters, such as winding.wire=0.2..0.8mm, or name wires: winding.wire=AWG 26,AWG 27",
        ));
    }
    Ok(found)
}

/// A number as a sheet has it, in a unit that a workshop uses, with the half-width of its tolerance.
pub(crate) fn text(value: f64, half_width: f64, dimension: Dimension) -> String {
    let (scale, unit) = match dimension {
        Dimension::Count => return format!("{:.0}", value.round()),
        Dimension::Length => (1e3, "mm"),
        Dimension::Temperature => return format!("{} °C", short(value - 273.15)),
        _ => (1.0, dimension.si_symbol()),
    };
    let number = format!("{} {unit}", short(scale * value));
    let number = number.trim().to_owned();
    if half_width > 0.0 {
        format!("{number} ± {} {unit}", short(scale * half_width)).trim().to_owned()
    } else {
        number
    }
}

/// As few digits as tell it from its neighbours on the grid.
fn short(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_cut_so_that_they_can_be_made() {
        let found = steps([20e-3, 36e-3], Dimension::Length);
        assert_eq!((found.len(), found[0], found[1]), (161, 0.02, 0.0201));
        assert_eq!(*found.last().expect("an end"), 0.036);
        let turns = steps([500.0, 3000.0], Dimension::Count);
        assert!(turns.iter().all(|n| n.fract() == 0.0) && turns[1] == 520.0, "{turns:?}");
        assert_eq!(text(0.0273, 0.0001, Dimension::Length), "27.3 mm ± 0.1 mm");
        assert_eq!(text(1234.2, 0.0, Dimension::Count), "1234");
    }
}
