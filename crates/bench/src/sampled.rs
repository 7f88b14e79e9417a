//! The band of a pull by sampling: every uncertain input of the magnet moved at once, Latin-hypercube, by a seed.
//!
//! First order takes the pull as straight over each input's range. Where a gap of 0.05 mm is not known to 0.03 mm it is
//! not, and the samples say so. Each sample is solved as a neighbour of the magnet as it stands.

use crate::uncertainty::{Input, Inputs, Sampled, UncertaintyError, sample_inputs};
use coilwright_magnet::answer::{Answer, Item, Value};
use coilwright_magnet::ask::{Failure, answer};
use coilwright_magnet::band::Band;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::question::{PullQuestion, Question};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::solved::{Solved, pull_n};
use coilwright_magnet::variation::{Shape, Varied, Way, varied, ways};
use rayon::prelude::*;

/// Accuracy of the mesh that all samples share.
const ACCURACY: f64 = 3e-3;
/// Samples that cannot be (a winding that no longer fits) are left out; more than this share of them is an error.
const MOST_IMPOSSIBLE: f64 = 0.05;
/// Copies of the mesh that share the samples. A fixed number, so that results do not depend on the number of threads.
const WORKERS: usize = 4;

/// A pull's distribution.
#[derive(Clone, Debug, PartialEq)]
pub struct SampledPull {
    /// Mean, N.
    pub mean_n: f64,
    /// Standard deviation, N.
    pub standard_n: f64,
    /// 95 % interval with equal probability left out on either side (JCGM 101:2008, 7.7.2), N.
    pub interval_n: (f64, f64),
    /// The pull with every input at its best value, and its first-order band.
    pub first_order: Option<(f64, Band)>,
    /// All samples, N.
    pub samples_n: Vec<f64>,
    /// Samples that could not be.
    pub impossible: usize,
    /// Where sampling and first order disagree (JCGM 101:2008, 8.1): what to believe.
    pub note: Option<String>,
}

/// Add the sampled pull to an answer of `pull`: its mean, spread and interval, and where it disagrees with the
/// first-order band.
///
/// # Errors
/// As [`sampled_pull`].
pub fn add_samples(answer: &mut Answer, sheet: &Sheet, count: usize, seed: u64) -> Result<(), Failure> {
    let sampled = sampled_pull(sheet, count, seed)?;
    let band = Band {
        standard: sampled.standard_n,
        low: sampled.interval_n.0,
        high: sampled.interval_n.1,
        contributors: Vec::new(),
    };
    let possible = sampled.samples_n.len();
    let how =
        format!("{possible} samples, Latin hypercube, seed {seed}; {} could not be", sampled.impossible);
    answer.group(
        "Pull by sampling",
        vec![
            Item::number("pull_sampled", "mean of the samples", sampled.mean_n, Dimension::Force)
                .with_band(band)
                .with_note(how),
        ],
    );
    answer.warnings.extend(sampled.note);
    Ok(())
}

/// Sample the pull on the sheet's workpiece `count` times.
///
/// Tolerances are rectangular, assumed values and materials Gaussian. The same for the same seed, on any number of
/// threads.
pub fn sampled_pull(sheet: &Sheet, count: usize, seed: u64) -> Result<SampledPull, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let ways = ways(sheet, &magnet);
    let rows = sample_inputs(&inputs(&ways)?, count, seed).map_err(too_few)?;
    let share = rows.len().div_ceil(WORKERS);
    let chunks: Vec<&[Vec<f64>]> = rows.chunks(share).collect();
    let base = Solved::for_pull(magnet.scene(&magnet.stage()), ACCURACY)?;
    let results: Result<Vec<Vec<Option<f64>>>, Failure> = chunks
        .par_iter()
        .map(|chunk| {
            let mut solved = base.clone();
            chunk.iter().map(|row| one(sheet, &magnet, &ways, row, &mut solved)).collect()
        })
        .collect();
    let all: Vec<Option<f64>> = results?.into_iter().flatten().collect();
    let samples_n: Vec<f64> = all.iter().flatten().copied().collect();
    let impossible = all.len() - samples_n.len();
    if impossible as f64 > MOST_IMPOSSIBLE * count as f64 {
        return Err(Failure::Physics(format!(
            "{impossible} of {count} samples cannot be built: the tolerances are too wide for this sheet"
        )));
    }
    summarise(sheet, samples_n, impossible)
}

fn too_few(error: UncertaintyError) -> Failure {
    Failure::Physics(format!("no samples: {error}"))
}

/// What is sampled: standard uncertainties of each way.
fn inputs(ways: &[Way]) -> Result<Inputs, Failure> {
    let one = |way: &Way| match way.shape {
        Shape::Rectangular => Input::rectangular(way.name(), 0.0, 3f64.sqrt()),
        Shape::Gaussian => Input::normal(way.name(), 0.0, 1.0),
    };
    Inputs::new(ways.iter().map(one).collect()).map_err(too_few)
}

/// The pull of one sample; none if there is no such magnet.
fn one(
    sheet: &Sheet,
    magnet: &Magnet,
    ways: &[Way],
    row: &[f64],
    solved: &mut Solved,
) -> Result<Option<f64>, Failure> {
    let Ok(Varied { magnet, .. }) = varied(sheet, magnet, ways, row) else { return Ok(None) };
    let scene = magnet.scene(&magnet.stage());
    let (solution, drawing) = solved.neighbour(&scene, None)?;
    Ok(Some(pull_n(&scene, &drawing, &solution)?))
}

fn summarise(sheet: &Sheet, samples_n: Vec<f64>, impossible: usize) -> Result<SampledPull, Failure> {
    let sampled = Sampled::new(vec![samples_n.clone()]).map_err(too_few)?;
    let summary = sampled.summary(0, 0.95);
    let question = PullQuestion {
        gaps_m: vec![sheet.value("workpiece.gap").unwrap_or(1e-4)],
        ..PullQuestion::default()
    };
    let first = answer(sheet, &Question::Pull(question))?;
    let first_order = match first.item("pull").map(|item| &item.value) {
        Some(Value::Number(m)) => m.band.clone().map(|band| (m.value, band)),
        _ => None,
    };
    let note = first_order
        .as_ref()
        .and_then(|(_, band)| disagreement(band, summary.standard, summary.symmetric, samples_n.len()));
    Ok(SampledPull {
        mean_n: summary.mean,
        standard_n: summary.standard,
        interval_n: summary.symmetric,
        first_order,
        samples_n,
        impossible,
        note,
    })
}

/// Ends of the intervals that differ by more than two digits of the uncertainty and the number of samples explain (as
/// [`Sampled::disagreement`]).
fn disagreement(band: &Band, standard: f64, (low, high): (f64, f64), count: usize) -> Option<String> {
    let u = band.standard.max(standard);
    let tolerance = 0.5 * 10f64.powf(u.log10().floor() - 1.0) + 2.0 * 2.67 * u / (count as f64).sqrt();
    let apart = (band.low - low).abs().max((band.high - high).abs());
    let show = |n: f64| Dimension::Force.text(n, Some(u), UnitSystem::Si);
    (apart > tolerance).then(|| {
        format!(
            "first order gives {} to {}, sampling {} to {}: the pull is not straight over the inputs' range; prefer the \
             sampled interval",
            show(band.low),
            show(band.high),
            show(low),
            show(high)
        )
    })
}
