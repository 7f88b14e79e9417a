//! Bands by sampling: everything uncertain about a magnet moved at once, Latin-hypercube, by a seed.
//!
//! First order takes every number as straight over each input's range. Where a gap of 0.05 mm is not known to 0.03 mm a
//! pull is not, and the samples say so. Each sample is solved as a neighbour of the magnet as it stands.

use crate::uncertainty::{Input, Inputs, Sampled, Summary, UncertaintyError, sample_inputs};
use coilwright_magnet::answers::answer::{Answer, Item, Value};
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::variation::{Shape, Way};
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::model::{ask, minded};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::{Sheet, number_at};
use coilwright_magnet::thermal::CEILING_K;
use coilwright_magnet::uncertainty::band::Band;
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;
use rayon::prelude::*;

/// Samples that cannot be (a winding that no longer fits) are left out; more than this share of them is an error.
const MOST_IMPOSSIBLE: f64 = 0.05;
/// Copies of the meshes that share the samples. A fixed number, so that results do not depend on the number of threads.
const WORKERS: usize = 4;
/// Name of the numerical error among the inputs, and its path in bands.
const SOLVER: &str = "solver";
/// Of what the sampled interval lacks against the one to first order, the share that its shape may explain: a single
/// rectangle's middle 95 % are 0.82 of four standard uncertainties wide.
const STRAIGHT: f64 = 0.1;

/// Sampled numbers of an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Samples {
    /// Every number of the answer that has a first-order band, in its order.
    pub numbers: Vec<SampledNumber>,
    /// Labels of those that cannot be sampled.
    pub left_out: Vec<String>,
    /// Samples that there are.
    pub count: usize,
    /// Samples that could not be.
    pub impossible: usize,
    /// Why the first of them could not.
    pub why: String,
    /// Samples that run away thermally: they have no temperatures, and are not among those counted.
    pub ran_away: usize,
    /// What they were drawn by.
    pub seed: u64,
}

/// The distribution of one number, SI.
#[derive(Clone, Debug, PartialEq)]
pub struct SampledNumber {
    /// Heading of the answer's group that it stands in.
    pub group: String,
    /// Key of the answer's item.
    pub key: String,
    /// Its label.
    pub label: String,
    /// Kind of quantity.
    pub dimension: Dimension,
    /// With every input at its best value.
    pub value: f64,
    /// The band to first order.
    pub first_order: Band,
    /// Mean of the samples (JCGM 101:2008, 7.6).
    pub mean: f64,
    /// Their standard deviation.
    pub standard: f64,
    /// 95 % interval with equal probability left out on either side (7.7.2).
    pub interval: (f64, f64),
    /// All samples that have it.
    pub samples: Vec<f64>,
    /// Samples that have no such number: a load that never lets go has no drop-out.
    pub missing: usize,
    /// Where sampling and first order disagree (8.1): what to believe, and why.
    pub note: Option<String>,
}

/// Add to an answer what sampling makes of its numbers: mean, spread and interval of each, and where they disagree with
/// the first-order bands.
///
/// # Errors
/// As [`sampled`].
pub fn add_samples(
    answer: &mut Answer,
    sheet: &Sheet,
    question: &Question,
    (count, seed): (usize, u64),
    watch: &Watch,
) -> Result<(), Failure> {
    let found = watched(answer, sheet, question, (count, seed), watch)?;
    if !found.left_out.is_empty() {
        answer.warnings.push(format!("not sampled: {}", found.left_out.join(", ")));
    }
    if found.numbers.is_empty() {
        answer.warnings.push("nothing was sampled: no number of this answer has a first-order band".into());
        return Ok(());
    }
    let mut how = format!("Latin hypercube, seed {}", found.seed);
    if found.impossible > 0 {
        how += &format!("; {} more could not be: {}", found.impossible, found.why);
    }
    if found.ran_away > 0 {
        let all = found.count + found.ran_away + found.impossible;
        answer.warnings.push(format!(
            "thermal runaway: {} of {all} samples run away ({:.0} %) and are not in the sampled bands",
            found.ran_away,
            (100.0 * found.ran_away as f64 / all as f64).max(1.0)
        ));
    }
    let samples = Item::number("samples", "samples", found.count as f64, Dimension::Count).with_note(how);
    answer.group("Sampling", vec![samples]);
    for numbers in found.numbers.chunk_by(|a, b| a.group == b.group) {
        let item = |n: &SampledNumber| {
            let (low, high) = n.interval;
            let band = Band { standard: n.standard, low, high, contributors: Vec::new() };
            Item::number(&format!("{}_sampled", n.key), &n.label, n.mean, n.dimension)
                .with_band(band)
                .with_note(n.note.clone().unwrap_or_default())
        };
        answer.group(&format!("{}, by sampling", numbers[0].group), numbers.iter().map(item).collect());
    }
    answer.warnings.extend(found.numbers.iter().filter_map(|n| lacking(n, found.count)));
    let apart = found.numbers.iter().filter(|n| n.note.is_some());
    let apart: Vec<String> = apart.map(|n| format!("`{}`", n.key)).collect();
    if !apart.is_empty() {
        answer.warnings.push(format!(
            "sampling and first order disagree about {}: their ranges are those of the samples",
            apart.join(", ")
        ));
        for item in answer.groups.iter_mut().flat_map(|g| &mut g.items) {
            let own = found.numbers.iter().find(|n| n.key == item.key && n.note.is_some());
            own.into_iter().for_each(|number| take(item, number));
        }
        lift_again(sheet, answer)?;
    }
    Ok(())
}

/// Samples where first order misleads.
const ENOUGH: usize = 200;

/// Part of a tolerance in its value, and of an input in a number's variance, from which first order is not believed.
const WIDE: f64 = 0.5;
const MATTERS: f64 = 0.1;

/// Whether first order misleads about a number. Something that cannot be negative, whose standard uncertainty is more than
/// half of it, has a band to first order that reaches past nothing and so says little of its upper end either. And what
/// depends on an input that may be half as much again, or half, seldom does so in a straight line.
fn misled(item: &Item, sheet: &Sheet) -> bool {
    let Value::Number(Measure { value, dimension, band: Some(band) }) = &item.value else { return false };
    let wide = |path: &str| {
        // Not every path that makes a number unsure is a number of the sheet.
        let given = number_at(path).and_then(|_| sheet.quantity(path));
        given.is_some_and(|q| q.value != 0.0 && q.half_width > WIDE * q.value.abs())
    };
    let past_nothing = dimension.never_negative() && *value > 0.0 && band.standard > 0.5 * value;
    past_nothing || band.contributors.iter().any(|c| c.share >= MATTERS && wide(&c.path))
}

/// Standard uncertainties within which one limit of a supply may take over from another.
const REACH: f64 = 2.0;

/// Whether two of a supply's limits let so nearly the same current flow that what is uncertain decides between them. There
/// every number that goes with the current has a kink, and a straight line knows one side of it alone.
fn supply_decides(answer: &Answer, sheet: &Sheet) -> Result<bool, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let supply = magnet.excitation.as_ref().and_then(|e| e.supply);
    let Some(supply) = supply.filter(|supply| supply.margin(1.0).is_finite()) else { return Ok(false) };
    let relative = |path: &&str| {
        let given = sheet.quantity(path).filter(|q| q.value != 0.0);
        given.map(|q| q.standard_uncertainty() / q.value)
    };
    let limits =
        ["drive.voltage", "drive.voltage_limit", "drive.current", "drive.current_limit", "drive.power_limit"];
    let given: f64 = limits.iter().filter_map(relative).map(|u| u * u).sum();
    let near = |answer: &Answer| {
        let winding = ["resistance", "resistance_cold", "resistance_hot", "resistance_steady"];
        winding.into_iter().filter_map(|key| answer.measure(key)).any(|ohm| {
            let doubt = (given + (ohm.standard() / ohm.value).powi(2)).sqrt();
            supply.margin(ohm.value).ln() < REACH * doubt
        })
    };
    // A question that tells no resistance is one about the winding as it is driven.
    let untold = answer.measure("resistance").or(answer.measure("resistance_cold")).is_none();
    Ok(near(answer) || untold && near(&ask::answer(sheet, &Question::Winding)?))
}

/// Puts a number's sampled interval in the place of the one to first order.
fn take(item: &mut Item, number: &SampledNumber) {
    if let Value::Number(Measure { dimension, band: Some(band), .. }) = &mut item.value {
        let least = if dimension.never_negative() { 0.0 } else { f64::NEG_INFINITY };
        (band.low, band.high) = (number.interval.0.max(least), number.interval.1);
        band.standard = number.standard;
    }
}

/// What may be lifted, once intervals are others.
fn lift_again(sheet: &Sheet, answer: &mut Answer) -> Result<(), Failure> {
    minded::lift_again(sheet, &Magnet::complete(sheet)?, answer);
    Ok(())
}

/// Answer a question, with bands by sampling where first order misleads.
///
/// # Errors
/// As [`ask::answer`] and [`sampled`].
pub fn answer(sheet: &Sheet, question: &Question, watch: &Watch) -> Result<Answer, Failure> {
    let mut answer = ask::watched(sheet, question, watch)?;
    mend(&mut answer, sheet, question, watch)?;
    Ok(answer)
}

/// Where first order misleads about a number of an answer, its band by sampling instead.
///
/// # Errors
/// As [`sampled`].
pub fn mend(answer: &mut Answer, sheet: &Sheet, question: &Question, watch: &Watch) -> Result<(), Failure> {
    let kink = supply_decides(answer, sheet)?;
    let misled = |item: &Item| kink || misled(item, sheet);
    if !answer.groups.iter().flat_map(|g| &g.items).any(misled) {
        return Ok(());
    }
    let found = watched(answer, sheet, question, (ENOUGH, 1), watch)?;
    let (mut mended, mut lacks) = (Vec::new(), Vec::new());
    for item in answer.groups.iter_mut().flat_map(|g| &mut g.items).filter(|item| misled(item)) {
        let Some(number) = found.numbers.iter().find(|n| n.key == item.key) else { continue };
        take(item, number);
        mended.push(format!("`{}`", item.key));
        lacks.extend(lacking(number, found.count));
    }
    answer.warnings.extend(lacks);
    if !mended.is_empty() {
        let (count, mended) = (found.count, mended.join(", "));
        answer.warnings.push(match kink {
            true => format!(
                "what is uncertain decides which of the supply's limits holds the current: the bands are by {count} samples"
            ),
            false => {
                format!("tolerances are too wide for first order: the bands of {mended} are by {count} samples")
            }
        });
        lift_again(sheet, answer)?;
    }
    Ok(())
}

/// That a number does not exist in all samples.
fn lacking(number: &SampledNumber, count: usize) -> Option<String> {
    let share = (100.0 * number.missing as f64 / count as f64).max(1.0);
    (number.missing > 0).then(|| {
        format!(
            "in {share:.0} % of the samples there is no {} at all (`{}`): its band is of the others",
            number.label, number.key
        )
    })
}

/// Why a sample has no numbers.
#[derive(Clone, Debug, PartialEq)]
enum Odd {
    RanAway,
    Impossible(String),
}

/// Sample every number of an answer that has a first-order band.
///
/// Tolerances are rectangular, assumed values and materials Gaussian, and so is the numerical error. What is sampled is
/// the change from the magnet as it stands, added to the number as it is shown. The same bits for the same seed, on any
/// number of threads.
///
/// # Errors
/// Too few samples for so many inputs; more than 5 % of them impossible; a magnet that cannot be solved as it stands.
pub fn sampled(
    answer: &Answer,
    sheet: &Sheet,
    question: &Question,
    count: usize,
    seed: u64,
) -> Result<Samples, Failure> {
    watched(answer, sheet, question, (count, seed), &Watch::default())
}

/// The same for somebody who watches how far it has come, and may stop it.
///
/// # Errors
/// As [`sampled`], and [`Failure::Stopped`].
pub fn watched(
    answer: &Answer,
    sheet: &Sheet,
    question: &Question,
    (count, seed): (usize, u64),
    watch: &Watch,
) -> Result<Samples, Failure> {
    let ready = Plain::watched(sheet, question, watch)?;
    let as_it_stands = ready.clone().numbers(&[])?;
    let plain = |numbers: &[(String, f64)], key: &str| {
        numbers.iter().find(|(k, _)| k == key).map_or(f64::NAN, |(_, value)| *value)
    };
    let mut numbers: Vec<SampledNumber> =
        answer.groups.iter().flat_map(|g| g.items.iter().filter_map(|i| banded(&g.title, i))).collect();
    let known = |n: &SampledNumber| plain(&as_it_stands, &n.key).is_finite();
    let mut left_out: Vec<String> = numbers.iter().filter(|n| !known(n)).map(|n| n.label.clone()).collect();
    numbers.retain(known);
    if numbers.is_empty() {
        return Ok(Samples {
            numbers,
            left_out,
            count: 0,
            impossible: 0,
            why: String::new(),
            ran_away: 0,
            seed,
        });
    }

    let rows = sample_inputs(&inputs(sheet, ready.ways())?, count, seed).map_err(too_few)?;
    let one = |own: &mut Plain, row: &[f64]| -> Result<Vec<f64>, Odd> {
        let (solver, deviates) = row.split_last().map_or((0.0, row), |(last, others)| (*last, others));
        let moved = own.numbers(deviates).map_err(|failure| match failure {
            Failure::Runaway => Odd::RanAway,
            other => Odd::Impossible(why(&other)),
        })?;
        let changed = |n: &SampledNumber| {
            let numerical = solver * effect_of_solver(&n.first_order);
            n.value + plain(&moved, &n.key) - plain(&as_it_stands, &n.key) + numerical
        };
        let values: Vec<f64> = numbers.iter().map(changed).collect();
        Ok(values)
    };
    let work = watch.part(rows.len());
    let results: Vec<Result<Vec<f64>, Odd>> = rows
        .par_chunks(rows.len().div_ceil(WORKERS))
        .flat_map_iter(|chunk| {
            let mut own = ready.clone();
            let one = &one;
            chunk.iter().map(move |row| {
                let values = one(&mut own, row);
                work.done();
                values
            })
        })
        .collect();
    work.check()?;
    let odd = || results.iter().filter_map(|r| r.as_ref().err());
    let why = odd().find_map(|o| if let Odd::Impossible(why) = o { Some(why.clone()) } else { None });
    let why = why.unwrap_or_default();
    let ran_away = odd().filter(|o| **o == Odd::RanAway).count();
    let possible: Vec<&Vec<f64>> = results.iter().flatten().collect();
    let impossible = results.len() - possible.len() - ran_away;
    if impossible as f64 > MOST_IMPOSSIBLE * count as f64 {
        return Err(Failure::Physics(format!(
            "{impossible} of {count} samples cannot be ({why}): the tolerances are too wide for this sheet"
        )));
    }
    for (k, number) in numbers.iter_mut().enumerate() {
        number.samples = possible.iter().map(|values| values[k]).filter(|value| value.is_finite()).collect();
        number.missing = possible.len() - number.samples.len();
    }
    // Half of what there is tells nothing of the rest.
    let rare = |n: &SampledNumber| n.missing > n.samples.len();
    left_out.extend(numbers.iter().filter(|n| rare(n)).map(|n| n.label.clone()));
    numbers.retain(|n| !rare(n));
    for number in &mut numbers {
        let summary = Sampled::new(vec![number.samples.clone()]).map_err(too_few)?.summary(0, 0.95);
        (number.mean, number.standard, number.interval) = (summary.mean, summary.standard, summary.symmetric);
        number.note = disagreement(number, &summary);
        // What runs away is hotter than all that settles: with enough of it a band has no upper end below the ceiling.
        if ran_away as f64 > 0.025 * count as f64 && number.dimension == Dimension::Temperature {
            number.interval.1 = number.interval.1.max(CEILING_K);
        }
    }
    Ok(Samples { numbers, left_out, count: possible.len(), impossible, why, ran_away, seed })
}

/// An item's number with its first-order band; nothing if it has none, such as one that is an estimate's range.
fn banded(group: &str, item: &Item) -> Option<SampledNumber> {
    let Value::Number(measure) = &item.value else { return None };
    let band = measure.band.as_ref().filter(|band| !band.contributors.is_empty())?;
    Some(SampledNumber {
        group: group.to_owned(),
        key: item.key.clone(),
        label: item.label.clone(),
        dimension: measure.dimension,
        value: measure.value,
        first_order: band.clone(),
        mean: f64::NAN,
        standard: f64::NAN,
        interval: (f64::NAN, f64::NAN),
        samples: Vec::new(),
        missing: 0,
        note: None,
    })
}

/// What is sampled: standard uncertainties of each way, the numerical error last; correlated as the sheet states.
///
/// # Errors
/// The sheet's correlations cannot be read, or contradict each other.
pub fn inputs(sheet: &Sheet, ways: &[Way]) -> Result<Inputs, Failure> {
    let one = |way: &Way| match way.shape {
        Shape::Rectangular => Input::rectangular(way.name(), 0.0, 3f64.sqrt()),
        Shape::Gaussian => Input::normal(way.name(), 0.0, 1.0),
    };
    let solver = std::iter::once(Input::normal(SOLVER, 0.0, 1.0));
    let mut all = Inputs::new(ways.iter().map(one).chain(solver).collect()).map_err(too_few)?;
    let sampled = |path: &str| ways.iter().any(|way| way.name() == path);
    for c in sheet.correlations()? {
        if c.paths.iter().all(|path| sampled(path)) {
            all = all.correlate(&c.paths[0], &c.paths[1], c.coefficient).map_err(too_few)?;
        }
    }
    Ok(all)
}

fn effect_of_solver(band: &Band) -> f64 {
    band.contributors.iter().filter(|c| c.path == SOLVER).map(|c| c.effect).sum()
}

/// Why nothing can be sampled, as a fault.
pub fn too_few(error: UncertaintyError) -> Failure {
    let hint = match &error {
        UncertaintyError::TooFew { needed, .. } => {
            format!(
                "there are {} uncertain inputs: ask for at least {needed}, better 200, samples",
                needed - 1
            )
        }
        _ => String::new(),
    };
    Diagnostic::fault(format!("nothing can be sampled: {error}"), hint).into()
}

fn why(failure: &Failure) -> String {
    match failure {
        Failure::Input(diagnostics) if !diagnostics.is_empty() => diagnostics[0].message.clone(),
        other => other.to_string(),
    }
}

/// Ends of the intervals that differ by more than two digits of the uncertainty and the number of samples explain (as
/// [`Sampled::disagreement`]).
fn disagreement(number: &SampledNumber, sampled: &Summary) -> Option<String> {
    let (band, (low, high)) = (&number.first_order, sampled.symmetric);
    let u = band.standard.max(sampled.standard);
    let tolerance =
        0.5 * 10f64.powf(u.log10().floor() - 1.0) + 2.0 * 2.67 * u / (number.samples.len() as f64).sqrt();
    let apart = (band.low - low).abs().max((band.high - high).abs());
    if apart <= tolerance {
        return None;
    }
    let straight = (sampled.mean - number.value).abs() <= STRAIGHT * u
        && (sampled.standard / band.standard - 1.0).abs() <= STRAIGHT;
    let reason = if straight {
        "a tolerance with sharp limits outweighs the rest"
    } else {
        "not straight over the inputs' range"
    };
    let show = |v: f64| number.dimension.text(v, Some(u), UnitSystem::Si);
    Some(format!(
        "{reason}: prefer the sampled interval to first order's {} to {}",
        show(band.low),
        show(band.high)
    ))
}
