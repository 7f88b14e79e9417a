//! A question over a range of one entry of the sheet, or of two.

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
    /// Value of each entry, SI.
    values: Vec<f64>,
    /// In words.
    name: String,
    answer: Result<Answer, String>,
}

/// An entry that is swept.
struct Axis<'a> {
    path: &'a str,
    /// Its last part as words.
    label: String,
    dimension: Dimension,
    values: Vec<f64>,
}

impl Axis<'_> {
    fn text(&self, value: f64) -> String {
        self.dimension.text(value, None, UnitSystem::Si)
    }

    fn name(&self, value: f64) -> String {
        format!("{} = {}", self.path, self.text(value))
    }
}

/// Ask a question once for each value of an entry, or for each pair of values of two, on all cores. The answer has a curve over
/// the first for each number that follows them, with the bands that the single answers have (of two entries one curve for
/// each value of the second), and says where the main number is most and least. Where there is no magnet or no answer the
/// curves have gaps, and a warning says why.
///
/// # Errors
/// No entry or more than two, a path that is no number of a sheet, or no value that has an answer.
pub fn sweep(sheet: &Sheet, question: &Question, swept: &[Swept]) -> Result<Answer, Failure> {
    watched(sheet, question, swept, &Watch::default())
}

/// The same for somebody who watches how far it has come, and may stop it.
///
/// # Errors
/// As [`sweep`], and [`Failure::Stopped`].
pub fn watched(
    sheet: &Sheet,
    question: &Question,
    swept: &[Swept],
    watch: &Watch,
) -> Result<Answer, Failure> {
    let axes = swept.iter().map(axis).collect::<Result<Vec<_>, _>>()?;
    let lines = match axes.as_slice() {
        [_] => vec![None],
        [first, second] if first.path != second.path => second.values.iter().copied().map(Some).collect(),
        _ => {
            let hint =
                "sweep one entry, or two different ones: the second makes a curve for each of its values";
            return Err(Diagnostic::fault("this is no sweep of one or two entries", hint).into());
        }
    };
    let over = &axes[0];
    let wanted: Vec<Vec<f64>> = lines
        .iter()
        .flat_map(|line| over.values.iter().map(move |value| [*value].into_iter().chain(*line).collect()))
        .collect();
    let work = watch.part(wanted.len());
    let places: Vec<Place> = wanted
        .into_par_iter()
        .with_max_len(1)
        .map(|values| {
            let answer = one(sheet, question, &axes, &values, watch);
            work.done();
            let names: Vec<String> =
                axes.iter().zip(&values).map(|(axis, value)| axis.name(*value)).collect();
            Place { values, name: names.join(", "), answer }
        })
        .collect();
    watch.check()?;
    let good: Vec<(&Place, &Answer)> =
        places.iter().filter_map(|place| Some((place, place.answer.as_ref().ok()?))).collect();
    let Some((_, first)) = good.first() else {
        let why = places.into_iter().find_map(|place| place.answer.err()).unwrap_or_default();
        let paths: Vec<String> = axes.iter().map(|axis| format!("`{}`", axis.path)).collect();
        return Err(Failure::Physics(format!("no value of {} has an answer: {why}", paths.join(" and "))));
    };
    let mut answer = Answer::new(&first.command, &first.magnet);
    let main = main_key(first);
    for item in first.groups.iter().flat_map(|g| &g.items) {
        let is_main = Some(item.key.as_str()) == main;
        let Some(series) = curves(&places, item, &axes, is_main) else { continue };
        if is_main { answer.series.insert(0, series) } else { answer.series.push(series) }
    }
    extremes(&good, main, &axes, &mut answer);
    for place in &places {
        if let Err(why) = &place.answer {
            answer.warnings.push(format!("{}: {why}", place.name));
        }
    }
    let of_each: Vec<(&str, Vec<&Answer>)> =
        good.iter().map(|(place, own)| (place.name.as_str(), vec![*own])).collect();
    for (place, own) in &good {
        let named =
            |limit: &Limit| Limit { label: format!("{} at {}", limit.label, place.name), ..limit.clone() };
        answer.limits.extend(own.limits.iter().map(named));
    }
    gather(&of_each, |_, _| true, "most", &mut answer);
    Ok(answer)
}

fn axis(swept: &Swept) -> Result<Axis<'_>, Failure> {
    let Some(dimension) = number_at(&swept.path) else {
        let message = format!("`{}` is no number of a sheet", swept.path);
        return Err(Diagnostic::fault(message, "words are compared one by one, with `compare`").into());
    };
    let label = swept.path.rsplit('.').next().unwrap_or_default().replace('_', " ");
    Ok(Axis { path: &swept.path, label, dimension, values: distinct(&swept.values, dimension) })
}

/// The curves of one number over the first entry, one for each value of the second where there is one; none for what is no
/// number, or does not follow what is swept and is not the main one.
fn curves(places: &[Place], item: &Item, axes: &[Axis<'_>], is_main: bool) -> Option<Series> {
    let Value::Number(Measure { dimension, .. }) = &item.value else { return None };
    let over = &axes[0];
    let of_line = |(k, line): (usize, &[Place])| {
        let mut column = column(line, item, *dimension);
        if let Some(second) = axes.get(1) {
            let at = second.text(second.values[k]).replace(' ', "");
            column.key = format!("{}_{at}", item.key);
            column.label = second.name(second.values[k]);
        }
        column
    };
    let ys: Vec<Column> = places.chunks(over.values.len()).enumerate().map(of_line).collect();
    let all: Vec<f64> = ys.iter().flat_map(|column| &column.values).copied().collect();
    if !is_main && !follows(&all) {
        return None;
    }
    let x = Column::new(over.path, &over.label, over.dimension, over.values.clone());
    Some(Series {
        key: if is_main { MAIN.to_owned() } else { item.key.clone() },
        title: format!(
            "{} against {} ({}), for each exact value",
            capital(&item.label),
            over.label,
            over.path
        ),
        log_x: is_geometric(&x.values),
        x,
        ys,
    })
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
    axes: &[Axis<'_>],
    values: &[f64],
    watch: &Watch,
) -> Result<Answer, String> {
    let mut sheet = sheet.clone();
    for (axis, value) in axes.iter().zip(values) {
        sheet.set(axis.path, &entry(*value, axis.dimension)).map_err(|fault| fault.message)?;
    }
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
    let measures = places.iter().map(|place| place.answer.as_ref().ok()?.measure(&item.key));
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
fn extremes(good: &[(&Place, &Answer)], main: Option<&str>, axes: &[Axis<'_>], answer: &mut Answer) {
    let Some(main) = main else { return };
    let measured: Vec<(&Place, &Measure, &Item)> = good
        .iter()
        .filter_map(|(place, own)| match own.item(main) {
            Some(item @ Item { value: Value::Number(measure), .. }) => Some((*place, measure, item)),
            _ => None,
        })
        .collect();
    let by = |a: &&(&Place, &Measure, &Item), b: &&(&Place, &Measure, &Item)| a.1.value.total_cmp(&b.1.value);
    let (Some(most), Some(least)) = (measured.iter().max_by(by), measured.iter().min_by(by)) else { return };
    let mut items = Vec::new();
    for (key, (place, measure, item)) in [("most", *most), ("least", *least)] {
        let name = format!("{}, {key}", item.label);
        items.push(row(key, &name, measure));
        for (which, (axis, at)) in ["", "_2"].into_iter().zip(axes.iter().zip(&place.values)) {
            let label = format!("{} there", axis.label);
            items.push(Item::number(&format!("at_{key}{which}"), &label, *at, axis.dimension));
        }
    }
    let name = capital(&most.2.label);
    let paths: Vec<&str> = axes.iter().map(|axis| axis.path).collect();
    answer.summary = if !follows(&measured.iter().map(|m| m.1.value).collect::<Vec<_>>()) {
        format!("{name} does not follow {}: it is {{most}} throughout.", paths.join(" or "))
    } else if let [first, second] = paths.as_slice() {
        format!(
            "{name}: most {{most}} at {first} = {{at_most}} and {second} = {{at_most_2}}, least {{least}} at {{at_least}} \
             and {{at_least_2}}."
        )
    } else {
        format!(
            "{name}: most {{most}} at {} = {{at_most}}, least {{least}} at {{at_least}}.",
            paths.join(" ")
        )
    };
    let labels: Vec<&str> = axes.iter().map(|axis| axis.label.as_str()).collect();
    answer.group(&format!("Over {}", labels.join(" and ")), items);
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}
