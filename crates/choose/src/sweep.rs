//! A question over a range of one entry of the sheet.

use crate::gathered::{gather, reason, row};
use coilwright_bench::sampled;
use coilwright_magnet::answers::answer::{Answer, Column, Item, Limit, Series, Value};
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::{Sheet, number_at};
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;
use rayon::prelude::*;

/// Key of the curve of the question's main number; the others have their numbers' keys.
pub const MAIN: &str = "sweep";
/// Numbers that differ by less, relatively, do not follow what is swept.
const CONSTANT: f64 = 1e-9;

/// An entry and the values that it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Swept {
    /// Path in the sheet.
    pub path: String,
    /// Values, SI; each is taken as exact.
    pub values: Vec<f64>,
}

/// One place of a sweep.
struct Place {
    value: f64,
    text: String,
    answer: Result<Answer, String>,
}

/// Ask a question once for each value, on all cores. The answer has a curve for each number that follows the entry, with
/// the bands that the single answers have, and says where the main number is most and least. Where there is no magnet or
/// no answer the curves have gaps, and a warning says why.
///
/// # Errors
/// The path is no number of a sheet, or no value has an answer.
pub fn sweep(sheet: &Sheet, question: &Question, swept: &Swept) -> Result<Answer, Failure> {
    watched(sheet, question, swept, &Watch::default())
}

/// The same for somebody who watches how far it has come, and may stop it.
///
/// # Errors
/// As [`sweep`], and [`Failure::Stopped`].
pub fn watched(sheet: &Sheet, question: &Question, swept: &Swept, watch: &Watch) -> Result<Answer, Failure> {
    let Some(dimension) = number_at(&swept.path) else {
        let message = format!("`{}` is no number of a sheet", swept.path);
        return Err(Diagnostic::fault(message, "words are compared one by one, with `compare`").into());
    };
    let values = distinct(&swept.values, dimension);
    let work = watch.part(values.len());
    let places: Vec<Place> = values
        .into_par_iter()
        .with_max_len(1)
        .map(|value| {
            let answer = one(sheet, question, (&swept.path, value, dimension), watch);
            work.done();
            Place { value, text: dimension.text(value, None, UnitSystem::Si), answer }
        })
        .collect();
    watch.check()?;
    let good: Vec<(&Place, &Answer)> =
        places.iter().filter_map(|place| Some((place, place.answer.as_ref().ok()?))).collect();
    let Some((_, first)) = good.first() else {
        let why = places.into_iter().find_map(|place| place.answer.err()).unwrap_or_default();
        return Err(Failure::Physics(format!("no value of `{}` has an answer: {why}", swept.path)));
    };
    let mut answer = Answer::new(&first.command, &first.magnet);
    let label = swept.path.rsplit('.').next().unwrap_or_default().replace('_', " ");
    let label = label.as_str();
    let x = Column::new(&swept.path, label, dimension, places.iter().map(|place| place.value).collect());
    let main = main_key(first);
    let title = |of: &str| format!("{} against {label} ({}), for each exact value", capital(of), swept.path);
    for item in first.groups.iter().flat_map(|g| &g.items) {
        let Value::Number(Measure { dimension, .. }) = &item.value else { continue };
        let column = column(&places, item, *dimension);
        let is_main = Some(item.key.as_str()) == main;
        if is_main || follows(&column.values) {
            let key = if is_main { MAIN.to_owned() } else { item.key.clone() };
            let series = Series {
                key,
                title: title(&item.label),
                x: x.clone(),
                ys: vec![column],
                log_x: is_geometric(&x.values),
            };
            if is_main { answer.series.insert(0, series) } else { answer.series.push(series) }
        }
    }
    extremes(&good, main, swept, dimension, label, &mut answer);
    for place in &places {
        if let Err(why) = &place.answer {
            answer.warnings.push(format!("{} = {}: {why}", swept.path, place.text));
        }
    }
    let names: Vec<String> =
        good.iter().map(|(place, _)| format!("{} = {}", swept.path, place.text)).collect();
    let of_each: Vec<(&str, Vec<&Answer>)> =
        names.iter().map(String::as_str).zip(good.iter().map(|(_, own)| vec![*own])).collect();
    for ((_, own), name) in good.iter().zip(&names) {
        let named = |limit: &Limit| Limit { label: format!("{} at {name}", limit.label), ..limit.clone() };
        answer.limits.extend(own.limits.iter().map(named));
    }
    gather(&of_each, |_, _| true, "most", &mut answer);
    Ok(answer)
}

/// Whole numbers are whole, and none is asked for twice.
fn distinct(values: &[f64], dimension: Dimension) -> Vec<f64> {
    let round = |v: &f64| if dimension == Dimension::Count { v.round() } else { *v };
    let mut found: Vec<f64> = values.iter().map(round).collect();
    found.dedup();
    found
}

fn one(
    sheet: &Sheet,
    question: &Question,
    (path, value, dimension): (&str, f64, Dimension),
    watch: &Watch,
) -> Result<Answer, String> {
    let mut sheet = sheet.clone();
    sheet.set(path, &entry(value, dimension)).map_err(|fault| fault.message)?;
    sampled::answer(&sheet, question, watch).map_err(reason)
}

/// An exact value as a sheet would have it.
pub(crate) fn entry(value: f64, dimension: Dimension) -> String {
    match dimension {
        Dimension::Count => format!("{value:.0}"),
        _ => format!("{value:e} {}", dimension.si_symbol()).trim().to_owned(),
    }
}

/// The number that the question is about: the first that is not exact.
fn main_key(answer: &Answer) -> Option<&str> {
    let mut items = answer.groups.iter().flat_map(|g| &g.items);
    let banded = |item: &&Item| matches!(&item.value, Value::Number(m) if m.band.is_some());
    let number = |item: &&Item| matches!(item.value, Value::Number(_));
    items.clone().find(banded).or_else(|| items.find(number)).map(|item| item.key.as_str())
}

fn column(places: &[Place], item: &Item, dimension: Dimension) -> Column {
    let measures = places.iter().map(|place| match &place.answer.as_ref().ok()?.item(&item.key)?.value {
        Value::Number(measure) => Some(measure),
        Value::Text(_) => None,
    });
    let value = |m: Option<&Measure>| m.map_or(f64::NAN, |m| m.value);
    let mut column = Column::new(&item.key, &item.label, dimension, measures.clone().map(value).collect());
    if measures.clone().flatten().any(|m| m.band.is_some()) {
        let band = |m: Option<&Measure>| match m {
            Some(m) => m.band.as_ref().map_or((m.value, m.value), |b| (b.low, b.high)),
            None => (f64::NAN, f64::NAN),
        };
        column.bands = measures.map(band).collect();
    }
    column
}

fn follows(values: &[f64]) -> bool {
    let finite = || values.iter().copied().filter(|v| v.is_finite());
    let (low, high) = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max));
    high - low > CONSTANT * high.abs().max(low.abs())
}

/// Whether values are spaced by equal factors rather than by equal steps, over a factor of ten or more.
fn is_geometric(values: &[f64]) -> bool {
    let [first, .., last] = values else { return false };
    let middle = values[values.len() / 2];
    let sorted = *first > 0.0 && last / first >= 10.0;
    sorted && (middle / (first * last).sqrt()).ln().abs() < (middle / (0.5 * (first + last))).ln().abs()
}

/// Where the main number is most and least.
fn extremes(
    good: &[(&Place, &Answer)],
    main: Option<&str>,
    swept: &Swept,
    dimension: Dimension,
    label: &str,
    answer: &mut Answer,
) {
    let Some(main) = main else { return };
    let measured: Vec<(f64, &Measure, &Item)> = good
        .iter()
        .filter_map(|(place, own)| match own.item(main) {
            Some(item @ Item { value: Value::Number(measure), .. }) => Some((place.value, measure, item)),
            _ => None,
        })
        .collect();
    let by = |a: &&(f64, &Measure, &Item), b: &&(f64, &Measure, &Item)| a.1.value.total_cmp(&b.1.value);
    let (Some(most), Some(least)) = (measured.iter().max_by(by), measured.iter().min_by(by)) else { return };
    let mut items = Vec::new();
    for (key, (at, measure, item)) in [("most", *most), ("least", *least)] {
        let name = format!("{}, {key}", item.label);
        items.push(row(key, &name, measure));
        items.push(Item::number(&format!("at_{key}"), &format!("{label} there"), at, dimension));
    }
    let name = capital(&most.2.label);
    if follows(&measured.iter().map(|m| m.1.value).collect::<Vec<_>>()) {
        answer.summary = format!(
            "{name}: most {{most}} at {} = {{at_most}}, least {{least}} at {{at_least}}.",
            swept.path
        );
    } else {
        answer.summary = format!("{name} does not follow {}: it is {{most}} throughout.", swept.path);
    }
    answer.group(&format!("Over {label}"), items);
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}
