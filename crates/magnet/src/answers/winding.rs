//! The answer about a winding: what it is, what it draws, and how sure that is.

use crate::answers::advice;
use crate::answers::answer::Numbers;
use crate::answers::answer::{Answer, Group, Item, Value};
use crate::diagnostic::Diagnostic;
use crate::magnet::variation::Varied;
use crate::magnet::winding::Winding;
use crate::magnet::{Excitation, Magnet};
use crate::material::CELSIUS_ZERO_K;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::uncertainty::band::{Band, Budget, propagate};
use crate::uncertainty::measure::Measure;

/// Temperature of the second resistance that is given, K.
const HOT_K: f64 = 100.0 + CELSIUS_ZERO_K;

/// A winding under current.
struct Driven<'a> {
    winding: &'a Winding,
    current_a: f64,
    voltage_v: f64,
    kelvin: f64,
}

/// One number of the answer. Counts of whole things are evaluated unrounded, so that they have a derivative.
struct Row {
    group: &'static str,
    key: &'static str,
    label: &'static str,
    dimension: Dimension,
    evaluate: fn(&Driven<'_>) -> f64,
    /// How it is shown, where not as evaluated.
    shown: Option<fn(&Winding) -> f64>,
}

const fn row(
    group: &'static str,
    key: &'static str,
    label: &'static str,
    dimension: Dimension,
    evaluate: fn(&Driven<'_>) -> f64,
) -> Row {
    Row { group, key, label, dimension, evaluate, shown: None }
}

const WIRE: &str = "Wire and turns";
const RESISTANCE: &str = "Resistance";
const DRIVE: &str = "Under current";

const ROWS: [Row; 18] = [
    // The number that matters for the magnet comes first.
    row(DRIVE, "ampere_turns", "ampere-turns", Dimension::AmpereTurns, |d| {
        d.winding.ampere_turns(d.current_a)
    }),
    row(DRIVE, "voltage", "voltage at the supply", Dimension::Voltage, |d| d.voltage_v),
    row(DRIVE, "current", "current", Dimension::Current, |d| d.current_a),
    row(DRIVE, "power", "power in the winding", Dimension::Power, |d| {
        d.winding.power_w(d.current_a, d.kelvin)
    }),
    row(DRIVE, "current_density", "current density", Dimension::CurrentDensity, |d| {
        d.winding.current_density_a_per_m2(d.current_a)
    }),
    row(WIRE, "turns", "turns", Dimension::Count, |d| d.winding.turns),
    row(WIRE, "wire_diameter", "wire, bare", Dimension::Length, |d| d.winding.wire.diameter_m),
    row(WIRE, "wire_overall_diameter", "wire over the enamel", Dimension::Length, |d| {
        d.winding.wire.overall_diameter_m
    }),
    Row {
        shown: Some(|w| w.turns_per_layer),
        ..row(WIRE, "turns_per_layer", "turns per layer", Dimension::Count, |d| turns_per_layer(d.winding))
    },
    Row {
        shown: Some(|w| w.layers),
        ..row(WIRE, "layers", "layers", Dimension::Count, |d| {
            d.winding.turns / (d.winding.coils * turns_per_layer(d.winding))
        })
    },
    row(WIRE, "mean_turn_length", "mean turn", Dimension::Length, |d| d.winding.mean_turn_length_m),
    row(WIRE, "wire_length", "length of wire", Dimension::Length, |d| d.winding.wire_length_m),
    row(WIRE, "conductor_mass", "mass of the conductor", Dimension::Mass, |d| d.winding.conductor_mass_kg),
    row(WIRE, "fill_factor", "fill, conductor", Dimension::Ratio, |d| d.winding.fill_factor),
    row(WIRE, "overall_fill", "fill, over the enamel", Dimension::Ratio, |d| d.winding.overall_fill),
    row(RESISTANCE, "resistance_20", "resistance at 20 °C", Dimension::Resistance, |d| {
        d.winding.resistance_20_ohm
    }),
    row(RESISTANCE, "resistance", "resistance as driven", Dimension::Resistance, |d| {
        d.winding.resistance_ohm(d.kelvin)
    }),
    row(RESISTANCE, "resistance_100", "resistance at 100 °C", Dimension::Resistance, |d| {
        d.winding.resistance_ohm(HOT_K)
    }),
];

fn turns_per_layer(winding: &Winding) -> f64 {
    winding.window.length_m() / (winding.wire.overall_diameter_m * winding.parallel)
}

/// Describe the winding of a magnet that was completed from a sheet.
///
/// The magnet's own assumptions and warnings are not repeated here. Fails with a fault if there is no winding: a
/// permanent magnet, a profile, or ampere-turns alone.
pub fn answer(sheet: &Sheet, magnet: &Magnet) -> Result<Answer, Vec<Diagnostic>> {
    let excitation = magnet.excitation.as_ref().ok_or_else(|| vec![no_winding(sheet)])?;
    let winding = excitation.winding.as_ref().ok_or_else(|| vec![only_ampere_turns(sheet)])?;
    let values = numbers(excitation).ok_or_else(|| vec![only_ampere_turns(sheet)])?;
    let budgets = budgets(magnet, sheet, excitation, &values);
    Ok(Answer {
        command: "winding".into(),
        magnet: magnet.name.clone(),
        summary: summary(winding, &budgets),
        groups: groups(sheet, excitation, winding, &budgets),
        series: Vec::new(),
        limits: Vec::new(),
        assumptions: Vec::new(),
        warnings: lacking(&budgets),
        cautions: Vec::new(),
        next_measurements: budget(&budgets, "ampere_turns")
            .band()
            .map_or_else(Vec::new, |b| advice::next(&b)),
    })
}

fn no_winding(sheet: &Sheet) -> Diagnostic {
    let form = sheet.form();
    let hint = match form {
        crate::sheet::Form::Profile => {
            "a profile's regions carry ampere-turns only; describe a wound magnet by another form"
        }
        _ => "it is a permanent magnet: ask for its field or pull",
    };
    sheet.fault("form", format!("a \"{form}\" has no winding to describe"), hint)
}

fn only_ampere_turns(sheet: &Sheet) -> Diagnostic {
    sheet.fault(
        "winding.ampere_turns",
        "ampere-turns alone say nothing of wire and resistance",
        "replace `ampere_turns` by two of `turns`, `wire` and `resistance`, and `drive.voltage` or `drive.current`",
    )
}

/// All rows' values; nothing if there is no winding or no current.
fn numbers(excitation: &Excitation) -> Option<Vec<f64>> {
    let driven = Driven {
        winding: excitation.winding.as_ref()?,
        current_a: excitation.current_a?,
        voltage_v: excitation.voltage_v?,
        kelvin: excitation.kelvin,
    };
    Some(ROWS.iter().map(|row| (row.evaluate)(&driven)).collect())
}

/// All rows' values by their keys, of a varied magnet; see [`crate::model::plain::Plain`].
pub(crate) fn plain(at: &Varied) -> Numbers {
    let values = at.magnet.excitation.as_ref().and_then(numbers).unwrap_or_default();
    ROWS.iter().map(|row| row.key.to_owned()).zip(values).collect()
}

/// The bands of what the winding draws and makes, by key and value; none if it has no winding or no current.
pub(crate) fn bands(sheet: &Sheet, magnet: &Magnet) -> Vec<(&'static str, f64, Band)> {
    let Some(excitation) = magnet.excitation.as_ref() else { return Vec::new() };
    let Some(values) = numbers(excitation) else { return Vec::new() };
    let budgets = budgets(magnet, sheet, excitation, &values);
    let banded = ROWS.iter().zip(&budgets).filter(|(row, _)| row.shown.is_none());
    banded.filter_map(|(row, budget)| Some((row.key, budget.value, budget.band()?))).collect()
}

/// All rows of a magnet as it stands, without bands; none if it has no winding or no current.
pub(crate) fn items(magnet: &Magnet) -> Vec<Item> {
    let values = magnet.excitation.as_ref().and_then(numbers).unwrap_or_default();
    ROWS.iter()
        .zip(values)
        .map(|(row, value)| Item::number(row.key, row.label, value, row.dimension))
        .collect()
}

/// The same with another winding on the same supply.
fn numbers_of(winding: &Winding, excitation: &Excitation) -> Option<Vec<f64>> {
    let supply = excitation.supply?;
    let kelvin = excitation.kelvin;
    let current_a = supply.current_a(winding.resistance_ohm(kelvin));
    let voltage_v = winding.voltage_v(current_a, supply.lead_ohm, kelvin);
    let driven = Driven { winding, current_a, voltage_v, kelvin };
    Some(ROWS.iter().map(|row| (row.evaluate)(&driven)).collect())
}

fn budgets(magnet: &Magnet, sheet: &Sheet, excitation: &Excitation, values: &[f64]) -> Vec<Budget> {
    let mut budgets = propagate(values, &magnet.inputs, |k, value| {
        let mut shifted = sheet.clone();
        shifted.set_value(&magnet.inputs[k].path, value);
        numbers(Magnet::complete(&shifted).ok()?.excitation.as_ref()?)
    });
    for variant in &excitation.variants {
        let Some(varied) = numbers_of(&variant.winding, excitation) else { continue };
        for ((budget, now), then) in budgets.iter_mut().zip(values).zip(varied) {
            budget.add(variant.path, variant.label, then - now);
        }
    }
    // Differences of equal numbers leave rounding behind.
    for (budget, value) in budgets.iter_mut().zip(values) {
        budget.drop_below(1e-9 * value.abs());
    }
    budgets
}

fn lacking(budgets: &[Budget]) -> Vec<String> {
    let mut labels: Vec<&String> = budgets.iter().flat_map(|b| &b.unknown).collect();
    labels.sort();
    labels.dedup();
    labels
        .into_iter()
        .map(|label| format!("the bands leave out: {label}, whose effect could not be computed"))
        .collect()
}

/// Budget of a row.
fn budget<'a>(budgets: &'a [Budget], key: &str) -> &'a Budget {
    let at = ROWS.iter().position(|row| row.key == key).unwrap_or(0);
    &budgets[at]
}

fn text(budgets: &[Budget], key: &str) -> String {
    let (budget, row) = (budget(budgets, key), ROWS.iter().find(|row| row.key == key));
    let dimension = row.map_or(Dimension::Ratio, |row| row.dimension);
    dimension.text(budget.value, Some(budget.standard()), UnitSystem::Si)
}

fn summary(winding: &Winding, budgets: &[Budget]) -> String {
    let say = |key: &str| text(budgets, key);
    format!(
        "{} turns of {} wire, {} at 20 °C, draw {} and {} at {}.",
        say("turns"),
        winding.wire.name,
        say("resistance_20"),
        say("current"),
        say("power"),
        say("voltage")
    )
}

fn groups(sheet: &Sheet, excitation: &Excitation, winding: &Winding, budgets: &[Budget]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (row, budget) in ROWS.iter().zip(budgets) {
        let value = row.shown.map_or(budget.value, |shown| shown(winding));
        let item = Item {
            key: row.key.into(),
            label: row.label.into(),
            value: Value::Number(Measure { value, dimension: row.dimension, band: budget.band_about(value) }),
            note: note(row.key, sheet, excitation, winding),
        };
        match groups.iter_mut().find(|g| g.title == row.group) {
            Some(group) => group.items.push(item),
            None => groups.push(Group { title: row.group.into(), items: vec![item] }),
        }
    }
    groups
}

fn note(key: &str, sheet: &Sheet, excitation: &Excitation, winding: &Winding) -> String {
    let measured = winding.resistance_contributors.is_empty();
    match key {
        "turns" if winding.coils != 1.0 => format!("{:.0} coils in series together", winding.coils),
        "turns" if winding.parallel != 1.0 => format!("{:.0} wires in hand", winding.parallel),
        "wire_diameter" if winding.wire_is_given => winding.wire.name.clone(),
        "wire_diameter" => "follows from the rest".into(),
        "turns_per_layer" | "layers" if winding.coils != 1.0 => "of one coil".into(),
        "resistance_20" if measured && !sheet.has("winding.resistance") => "by the nameplate".into(),
        "resistance_20" if measured => "measured".into(),
        "resistance_20" => format!("by wire and mean turn, {}", winding.conductor.name),
        "resistance" => {
            format!("winding at {}", Dimension::Temperature.text(excitation.kelvin, None, UnitSystem::Si))
        }
        "voltage" if excitation.lead_ohm > 0.0 => "leads included".into(),
        _ => String::new(),
    }
}
