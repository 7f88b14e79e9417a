//! What a fit found, as an answer and as a calibrated sheet.

use super::again::Before;
use super::agreement::IMPLAUSIBLE;
use super::observation::{Drive, Kind, Observation, Observations};
use super::unknown::{Unknown, What};
use super::{Calibration, Fitted, Options, TOLD, again, correlations, thermal, units};
use crate::least_squares::Solution;
use crate::meters::Meters;
use crate::readings::{Measurand, Readings};
use crate::warm_up::WarmUp;
use crate::warm_up::heat::{Heat, assumptions};
use crate::written;
use coilwright_magnet::answers::answer::{Answer, Caution, Column, Item, Series, Value};
use coilwright_magnet::answers::caution;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::ask;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::band::Band;
use nalgebra::DMatrix;

/// Correlations smaller than this are not shown.
const WORTH_SHOWING: f64 = 0.5;
/// Parts of a direction smaller than this are not named.
const MINOR: f64 = 0.3;
/// An unknown that moves by less than this share of its uncertainty, and whose errors go less than this with those of the
/// unknowns that are told, stays as it was.
const ALONG: f64 = 0.1;
/// An unknown whose uncertainty is not narrowed below this share of its prior's is not narrowed at all.
const HARDLY: f64 = 0.95;
/// A direction in which no unknown of the sheet has so large a part is the meters' own affair.
const MAJOR: f64 = 0.5;

/// Everything found.
pub(super) struct Found {
    pub(super) calibration: Option<Calibration>,
    pub(super) unknowns: Vec<Unknown>,
    pub(super) observations: Observations,
    /// Logs by their curve alone.
    pub(super) curves: Vec<WarmUp>,
    /// Logs by the heat model, or why it could not be fitted.
    pub(super) heat: Option<Result<Heat, String>>,
    /// What had to be said on the way.
    pub(super) warnings: Vec<String>,
}

#[allow(clippy::too_many_arguments)] // each is needed once, and a struct for them would only be unpacked
pub(super) fn fitted(
    sheet: &Sheet,
    before: &Before,
    magnet: &Magnet,
    readings: &Readings,
    options: &Options<'_>,
    found: Found,
    mut entries: Vec<(String, String)>,
    meters: Meters<'_>,
) -> Result<Fitted, Failure> {
    let changed: Vec<String> =
        entries.iter().map(|(path, _)| path.clone()).filter(|path| path != correlations::PATH).collect();
    let mut answer = Answer::new("fit", &magnet.name);
    answer.warnings.clone_from(&found.warnings);
    let mut left_out = Vec::new();
    // The cold start of a log is one resistance, which the heat model has anyhow: not worth rows of its own.
    let only_a_start = |c: &Calibration| c.used.len() == 1 && matches!(found.heat, Some(Ok(_)));
    if let Some(c) = found.calibration.as_ref().filter(|c| !only_a_start(c)) {
        unknown_rows(&mut answer, &found.unknowns, c, &changed);
        conflicts(&mut answer, &found.unknowns, c);
        quality(&mut answer, &found.observations, c);
        correlations(&mut answer, &found.unknowns, &c.solution);
        untold(&mut answer, &found.unknowns, &c.solution);
        series(&mut answer, &found.observations, c);
        left_out = c.left_out.iter().map(|k| found.observations.list[*k].line).collect();
        left_out.sort_unstable();
    }
    if let Some(heat) = &found.heat {
        thermal::rows(&mut answer, heat, &found.curves);
    }
    let rows = found.curves.iter().enumerate().flat_map(|(k, log)| log.items(k + 1));
    answer.group("Warm-up by its curve alone", rows.collect());
    answer.series.extend(found.curves.iter().enumerate().map(|(k, log)| log.series(k + 1)));
    answer.summary = summary(&found, &entries);
    if let Some(Ok(heat)) = &found.heat {
        answer.assumptions.extend(assumptions(heat));
    }
    answer.assumptions.extend(meters.assumptions);
    answer.warnings.extend(units::temperatures(sheet, readings).iter().map(ToString::to_string));
    if found.observations.thinned > 0 {
        answer
            .warnings
            .push(format!("{} readings of long columns were passed over", found.observations.thinned));
    }
    let sheet_text = if changed.is_empty() {
        sheet.source_text().to_owned()
    } else {
        let made = entries.clone();
        if !options.date.is_empty() {
            entries.push(("calibration.date".into(), options.date.into()));
        }
        entries.push(("calibration.readings".into(), options.readings_name.into()));
        entries.push(("calibration.checksum".into(), readings.checksum.clone()));
        entries.extend(again::kept(sheet, before, &made, readings)?);
        written::written(sheet, &entries)?
    };
    answer.cautions.extend(cautions(readings));
    ask::judge_limits(&Sheet::parse(&sheet_text, sheet.file())?.0, &mut answer)?;
    Ok(Fitted { answer, sheet_text, changed, left_out })
}

/// What was measured can hurt as much as what is computed: the largest of each kind that was read.
fn cautions(readings: &Readings) -> Vec<Caution> {
    let most = |of: &Measurand| {
        let values = readings.columns_of(of).flat_map(|column| column.iter().flatten());
        values.fold(0.0, |most: f64, value| most.max(value.abs()))
    };
    let about = "fit";
    let mut found = caution::supply(about, most(&Measurand::Voltage));
    found.extend(caution::pull(about, most(&Measurand::Pull)));
    found.extend(caution::stray_field(about, most(&Measurand::Field)));
    found
}

fn summary(found: &Found, entries: &[(String, String)]) -> String {
    let by_model = match &found.heat {
        Some(Ok(heat)) if !heat.heading.is_empty() => Some(
            "The log is heading for {steady_winding_mean} in the winding and {steady_surface_temperature} outside."
                .to_owned(),
        ),
        _ => None,
    };
    let by_curve = || {
        let known = found.curves.iter().position(|log| log.steady.is_some());
        known.map(|k| format!("The log is heading for {{steady_{}}} ({}).", k + 1, found.curves[k].label))
    };
    let log = by_model.or_else(by_curve);
    let Some(c) = &found.calibration else {
        return log.unwrap_or_else(|| "The log ends too early to tell where it is heading for.".into());
    };
    let changed = |u: &Unknown| entries.iter().any(|(path, _)| *path == u.path);
    let told: Vec<String> = found
        .unknowns
        .iter()
        .zip(0..)
        .filter(|(u, k)| u.is_of_sheet() && !u.is_minor() && told(u, &c.solution, *k) && changed(u))
        .map(|(u, _)| u)
        .map(|u| format!("{} {{{}}}", u.label, key(&u.path)))
        .collect();
    let readings = match c.used.len() {
        // Several rows of volts and amperes are one resistance.
        1 => "What was read tells".to_owned(),
        many => format!("{many} readings tell"),
    };
    let fit = verdict(c, !found.warnings.is_empty());
    let told = match (told.is_empty(), log.is_some()) {
        (false, _) => format!("{readings}: {}. {fit}", told.join(", ")),
        // With a log the cold start alone is not what was asked.
        (true, true) => String::new(),
        (true, false) if entries.is_empty() => {
            format!("{readings} nothing that the sheet does not know as well. {fit}")
        }
        (true, false) => {
            format!("{readings} no entry of the sheet alone, but several of them together. {fit}")
        }
    };
    [Some(told), log].into_iter().flatten().filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" ")
}

fn key(path: &str) -> String {
    path.replace('.', "_")
}

fn band(standard: f64, (low, high): (f64, f64)) -> Band {
    Band { standard, low, high, contributors: Vec::new() }
}

/// How well it fits in a sentence, which no warning may contradict.
fn verdict(c: &Calibration, doubted: bool) -> String {
    let one = c.used.len() == 1;
    let words = match &c.agreement {
        a if a.plausibility < IMPLAUSIBLE && one => "It contradicts the sheet.",
        a if a.plausibility < IMPLAUSIBLE => "They do not fit the model within their uncertainties.",
        _ if doubted => "Something that the sheet says must be wrong.",
        a if !a.conflicts.is_empty() => "What was known beforehand hardly goes with that.",
        _ if !c.left_out.is_empty() => {
            let n = c.left_out.len();
            return format!("They fit each other within their uncertainties; {n} more were left out.");
        }
        _ if one => "It fits the model within its uncertainty.",
        _ => "They fit the model within their uncertainties.",
    };
    words.into()
}

/// Unknowns whose readings and prior disagree: the prior itself is doubtful.
fn conflicts(answer: &mut Answer, unknowns: &[Unknown], c: &Calibration) {
    for (k, off) in &c.agreement.conflicts {
        let (unknown, estimate) = (&unknowns[*k], &c.solution.estimates[*k]);
        let off = off.abs();
        answer.warnings.push(if unknown.is_of_sheet() {
            let text = |v: f64, u: f64| unknown.dimension.text(v, Some(u), UnitSystem::Si);
            format!(
                "{}: the readings say {}, the sheet beforehand {}: {off:.0} standard uncertainties apart; what the sheet \
                 gives or lets assume for it is doubtful, and so is the fit",
                unknown.label,
                text(estimate.value, estimate.standard),
                text(unknown.mean, unknown.standard),
            )
        } else {
            format!(
                "{}: the readings together put it {off:.0} standard uncertainties from what is stated of it, which is \
                 doubtful, and so is the fit",
                unknown.label
            )
        });
    }
}

/// What a difference of such quantities is.
pub(super) fn difference(dimension: Dimension) -> Dimension {
    if dimension == Dimension::Temperature { Dimension::TemperatureDifference } else { dimension }
}

/// What goes into the sheet, as path and text: unknowns that the readings tell, and how their errors go together.
pub(super) fn entries(sheet: &Sheet, unknowns: &[Unknown], c: &Calibration) -> Vec<(String, String)> {
    let mut entries = Vec::new();
    // The bench's temperature on the day is not that of where the magnet works.
    let lasts = |k: &usize| unknowns[*k].is_of_sheet() && unknowns[*k].what != What::Ambient;
    let of_sheet: Vec<usize> = (0..unknowns.len()).filter(lasts).collect();
    if !tell(unknowns, &c.solution, &of_sheet) {
        return entries;
    }
    for &k in &of_sheet {
        let (unknown, estimate) = (&unknowns[k], &c.solution.estimates[k]);
        if told(unknown, &c.solution, k) || goes_along(sheet, unknowns, &c.solution, &of_sheet, k) {
            // A setback known as `0 mm ± 0.05 mm` is nothing below nothing.
            let value = if unknown.mean >= 0.0 { estimate.value.max(0.0) } else { estimate.value };
            let text = written::quantity(value, estimate.standard, unknown.dimension);
            entries.push((unknown.path.clone(), text));
            if unknown.what == What::Resistance {
                entries.push(("winding.resistance_at".into(), "20 °C".into()));
            }
        }
    }
    // What the sheet does not hold has no tolerance there that could go with another.
    let holds = |k: &usize| {
        sheet.has(&unknowns[*k].path) || entries.iter().any(|(path, _)| *path == unknowns[*k].path)
    };
    let of_sheet: Vec<usize> = of_sheet.into_iter().filter(holds).collect();
    let paths: Vec<&str> = of_sheet.iter().map(|k| unknowns[*k].path.as_str()).collect();
    let n = paths.len();
    let matrix = DMatrix::from_fn(n, n, |i, j| c.solution.correlation(of_sheet[i], of_sheet[j]));
    let list = correlations::stated(sheet, &paths, &matrix);
    entries.extend(correlations::text(&list).map(|text| (correlations::PATH.to_owned(), text)));
    entries
}

/// Whether the readings tell an unknown by itself.
fn told(unknown: &Unknown, solution: &Solution, k: usize) -> bool {
    unknown.left(&solution.estimates[k]) < TOLD
}

/// Whether they tell any combination of unknowns: the least of what is left of the variance in any direction, in units of
/// what was known beforehand.
fn tell(unknowns: &[Unknown], solution: &Solution, of: &[usize]) -> bool {
    let left = DMatrix::from_fn(of.len(), of.len(), |i, j| {
        let [a, b] = [i, j].map(|k| unknowns[of[k]].standard_at(solution.estimates[of[k]].value));
        solution.covariance[(of[i], of[j])] / (a * b)
    });
    !of.is_empty() && left.symmetric_eigenvalues().min() < TOLD * TOLD
}

/// Whether an unknown that the readings do not tell by itself moves along with others: without it, these would be right
/// each, but not together.
fn goes_along(sheet: &Sheet, unknowns: &[Unknown], solution: &Solution, of: &[usize], k: usize) -> bool {
    let (unknown, estimate) = (&unknowns[k], &solution.estimates[k]);
    // A sheet gets an entry that it does not have only where the readings narrow it at all.
    let narrowed = unknown.left(estimate) < HARDLY;
    let has_a_place = sheet.has(&unknown.path) || (narrowed && unknown.path.starts_with("calibration."));
    let moved = unknown.deviate(estimate.value).abs() > ALONG;
    let together = || of.iter().any(|j| *j != k && solution.correlation(*j, k).abs() > ALONG);
    has_a_place && (moved || together())
}

/// Rows of the unknowns.
fn unknown_rows(answer: &mut Answer, unknowns: &[Unknown], c: &Calibration, changed: &[String]) {
    let (mut told, mut kept, mut along, mut of_meters) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (unknown, estimate) in unknowns.iter().zip(&c.solution.estimates) {
        let text = |v: f64, u: f64| unknown.dimension.text(v, Some(u), UnitSystem::Si);
        let spread =
            difference(unknown.dimension).text(unknown.standard, Some(unknown.standard), UnitSystem::Si);
        let before = format!("{} ± {spread}", text(unknown.mean, unknown.standard));
        let item = || {
            Item::number(&key(&unknown.path), &unknown.label, estimate.value, unknown.dimension)
                .with_band(band(estimate.standard, estimate.interval))
        };
        let told_by_itself = unknown.left(estimate) < TOLD;
        if let What::Zero(k) = unknown.what {
            let item =
                Item::number(&format!("place_{}", k + 1), &unknown.label, estimate.value, unknown.dimension)
                    .with_band(band(estimate.standard, estimate.interval))
                    .with_note(format!("before: {before}; to be added to every position as read"));
            if told_by_itself { told.push(item) } else { kept.push(item) }
        } else if !unknown.is_of_sheet() {
            // In units of its own uncertainty; only what moved is worth a row.
            if estimate.value.abs() > 1.0 && matches!(unknown.what, What::Gain(_) | What::Offset(_)) {
                let label = format!("{} / its std", unknown.label);
                let key = format!("meter_{}", of_meters.len() + 1);
                let item = Item::number(&key, &label, estimate.value, Dimension::Ratio);
                of_meters.push(item.with_band(band(estimate.standard, estimate.interval)));
            }
        } else if told_by_itself {
            told.push(item().with_note(format!("before: {before}")));
        } else if changed.contains(&unknown.path) {
            along.push(item().with_note(format!("before: {before}")));
        } else if !unknown.is_minor() {
            kept.push(item().with_note("the sheet keeps its own: the readings hardly narrow it"));
        }
    }
    answer.group("Told by the readings", told);
    answer.group("Told only together with others", along);
    answer.group("Not told by them", kept);
    answer.group("Meters", of_meters);
}

fn quality(answer: &mut Answer, observations: &Observations, c: &Calibration) {
    let s = &c.solution;
    let squares: f64 = s.standardised.iter().map(|z| z * z).sum();
    let rms = (squares / c.used.len() as f64).sqrt();
    let mut items = vec![
        Item::number("used", "readings used", c.used.len() as f64, Dimension::Count),
        Item::number("rms", "residuals over their uncertainty, rms", rms, Dimension::Ratio)
            .with_note("about 1, or less with few readings, if model and meters are right"),
    ];
    let p = c.agreement.plausibility;
    items.push(
        Item::number("plausibility", "chance of so much disagreement", p, Dimension::Ratio).with_note(
            if p < IMPLAUSIBLE {
                "the sheet, the model or a meter is worse than stated"
            } else {
                "of readings, those left out too, with sheet and meters as stated"
            },
        ),
    );
    for (n, k) in c.left_out.iter().enumerate() {
        let o = &observations.list[*k];
        let off = (o.value - c.predictions[*k]) / c.noise[*k];
        items.push(Item::text(
            &format!("left_out_{}", n + 1),
            "left out",
            format!("line {}, `{}`: {off:+.1} standard uncertainties off", o.line, o.head),
        ));
    }
    answer.group("How well it fits", items);
    if !c.left_out.is_empty() {
        let n = c.left_out.len();
        answer
            .warnings
            .push(format!("{n} readings do not fit with the others and were left out; look at them again"));
    }
    if c.turned {
        answer.warnings.push("the field readings have the other sign than the sheet's direction gives; taken as read with the probe turned round".into());
    }
    if let Some(explanation) = &c.agreement.explanation {
        answer.warnings.push(format!(
            "readings, sheet and meters disagree by more than the stated uncertainties explain: {explanation}; the bands \
             are widened {:.1} times for it",
            c.agreement.widen
        ));
    }
}

fn correlations(answer: &mut Answer, unknowns: &[Unknown], solution: &Solution) {
    let mut pairs = Vec::new();
    for i in 0..unknowns.len() {
        for j in 0..i {
            let r = solution.correlation(i, j);
            let shown = |u: &Unknown| u.is_of_sheet() && !u.is_minor();
            if r.abs() >= WORTH_SHOWING && (shown(&unknowns[i]) || shown(&unknowns[j])) {
                pairs.push((r, format!("{} and {}", unknowns[j].label, unknowns[i].label)));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    let items = pairs.iter().take(6).enumerate();
    let items = items.map(|(k, (r, label))| {
        Item::number(&format!("correlation_{}", k + 1), label, (1e3 * r).round() / 1e3, Dimension::Ratio)
    });
    answer.group("Correlation: an error of one goes with an error of the other", items.collect());
}

/// Combinations that the readings do not tell apart.
fn untold(answer: &mut Answer, unknowns: &[Unknown], solution: &Solution) {
    let mut items = Vec::new();
    for direction in solution.identifiability.untold() {
        let weighed = || unknowns.iter().zip(&direction.weights);
        if !weighed().any(|(u, w)| u.is_of_sheet() && !u.is_minor() && w.abs() >= MAJOR) {
            continue;
        }
        let parts: Vec<&Unknown> = weighed().filter(|(_, w)| w.abs() >= MINOR).map(|(u, _)| u).collect();
        let names: Vec<&str> = parts.iter().map(|u| u.label.as_str()).collect();
        let text = match names.as_slice() {
            [one] => format!("{one}: a change as large as its uncertainty does not show in them"),
            several => format!(
                "{} apart: changed together they cancel, as far as they were uncertain",
                several.join(", ")
            ),
        };
        if items.iter().any(|i: &Item| matches!(&i.value, Value::Text(said) if *said == text)) {
            continue;
        }
        items.push(Item::text(&format!("untold_{}", items.len() + 1), "cannot tell", text));
    }
    answer.group("What these readings cannot tell", items);
}

fn series(answer: &mut Answer, observations: &Observations, c: &Calibration) {
    let n = observations.list.len();
    let standardised: Vec<f64> =
        (0..n).map(|k| (observations.list[k].value - c.predictions[k]) / c.noise[k]).collect();
    let lines: Vec<f64> = observations.list.iter().map(|o| o.line as f64).collect();
    answer.series.push(Series {
        key: "residuals".into(),
        title: "Residuals over their standard uncertainty".into(),
        x: Column::new("line", "line of the readings", Dimension::Count, lines),
        ys: vec![Column::new("residual", "residual", Dimension::Ratio, standardised)],
        log_x: false,
    });
    let groups = groups(observations);
    for (g, members) in groups.iter().enumerate() {
        let first = &observations.list[members[0]];
        let (x, title, dimension) = match first.kind {
            Kind::Field { .. } => {
                ("radius", format!("{}: measured and fitted", first.head), Dimension::FluxDensity)
            }
            _ => ("gap", format!("{}: measured and fitted", first.head), Dimension::Force),
        };
        let title = match first.drive {
            Drive::Amperes(i, ..) => format!("{title}, {}", Dimension::Current.text(i, None, UnitSystem::Si)),
            Drive::Volts(v, ..) => format!("{title}, {}", Dimension::Voltage.text(v, None, UnitSystem::Si)),
            Drive::Sheet => title,
        };
        let pick = |values: &dyn Fn(usize) -> f64| members.iter().map(|k| values(*k)).collect::<Vec<f64>>();
        let mut measured =
            Column::new("measured", "measured", dimension, pick(&|k| observations.list[k].value));
        measured.bands = members
            .iter()
            .map(|k| {
                (
                    observations.list[*k].value - 2.0 * c.noise[*k],
                    observations.list[*k].value + 2.0 * c.noise[*k],
                )
            })
            .collect();
        let fitted = Column::new("fitted", "fitted", dimension, pick(&|k| c.predictions[k]));
        let abscissa = pick(&|k| place(&observations.list[k]).unwrap_or(0.0));
        answer.series.push(Series {
            key: format!("fitted_{}", g + 1),
            title,
            x: Column::new(
                x,
                if x == "gap" { "gap" } else { "distance from the middle" },
                Dimension::Length,
                abscissa,
            ),
            ys: vec![measured, fitted],
            log_x: false,
        });
    }
}

fn place(o: &Observation) -> Option<f64> {
    match o.kind {
        Kind::Field { x_m, .. } => Some(x_m),
        Kind::Pull { gap_m, .. } => gap_m,
        _ => None,
    }
}

/// Readings of field or pull that make a curve: of one kind, at one height and nearly one current, in different places.
fn groups(observations: &Observations) -> Vec<Vec<usize>> {
    let alike = |a: &Observation, b: &Observation| {
        let same_kind = match (a.kind, b.kind) {
            (Kind::Field { axial: a, tip_m: s, .. }, Kind::Field { axial: b, tip_m: t, .. }) => {
                a == b && s == t
            }
            (Kind::Pull { thickness_m: s, .. }, Kind::Pull { thickness_m: t, .. }) => s == t,
            _ => false,
        };
        let same_drive = match (a.drive, b.drive) {
            (Drive::Amperes(x, ..), Drive::Amperes(y, ..)) | (Drive::Volts(x, ..), Drive::Volts(y, ..)) => {
                (x - y).abs() <= 0.05 * x.abs().max(y.abs())
            }
            (Drive::Sheet, Drive::Sheet) => true,
            _ => false,
        };
        same_kind && same_drive
    };
    let mut found: Vec<Vec<usize>> = Vec::new();
    for (k, o) in observations.list.iter().enumerate() {
        if place(o).is_none() {
            continue;
        }
        match found.iter_mut().find(|g| alike(&observations.list[g[0]], o)) {
            Some(group) => group.push(k),
            None => found.push(vec![k]),
        }
    }
    for group in &mut found {
        group.sort_by(|a, b| {
            place(&observations.list[*a])
                .partial_cmp(&place(&observations.list[*b]))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
    }
    found.retain(|group| group.len() >= 3);
    found
}
