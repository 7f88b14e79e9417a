//! Whether a fit's intervals hold the truth when *everything* that the sheet states is off at once, not only what the fit
//! frees: the fit sees only the sheet and the readings of an invented bench. Fails if less than 92 % of the intervals of any
//! number hold it (JCGM 100:2008, 6.2: an interval of coverage probability 95 %; of 200 right ones 92 % are missed once in 30
//! times). Nor may its intervals be wide for nothing: on average they are at most 1.3 times as wide as those of a posterior
//! that knows nothing of the fit: magnets are drawn from what the sheet states, their benches simulated, and what is left of
//! a number's spread once the readings are known is what a regression on them does not explain (the best linear estimate:
//! S. Kay, Fundamentals of Statistical Signal Processing I, ch. 12).
//!
//! `cargo bench -p coilwright-bench --bench fit_coverage -- [CASES] [FIRST] [DRAWN]`; 200 cases take about an hour, and 600
//! drawn benches beside them twenty minutes on one core.

#[path = "../tests/invented_bench/mod.rs"]
mod invented_bench;

use invented_bench::{Fault, NAMES, drawn, one};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Least share of intervals that hold the truth.
const LEAST: f64 = 0.92;

/// Most that a mean standard uncertainty may be of what the regression leaves.
const WIDEST: f64 = 1.3;

/// What was found of one number.
#[derive(Default)]
struct Tally {
    name: String,
    held: usize,
    all: usize,
    widths: f64,
    standards: f64,
}

fn main() -> Result<(), Fault> {
    let mut arguments = std::env::args().skip(1).filter_map(|text| text.parse::<u64>().ok());
    let mut next = |usual| arguments.next().unwrap_or(usual);
    let (cases, first, draws) = (next(200), next(0), next(600));
    let left = left(draws)?;
    let mut tallies: Vec<Tally> = Vec::new();
    for case in first..first + cases {
        for found in one(case)? {
            if !found.held {
                tell(&format!(
                    "case {case}: {} is off by {:.1} standard uncertainties",
                    found.name, found.off
                ));
            }
            let place = tallies.iter().position(|tally| tally.name == found.name).unwrap_or_else(|| {
                tallies.push(Tally { name: found.name.clone(), ..Tally::default() });
                tallies.len() - 1
            });
            let tally = &mut tallies[place];
            tally.held += usize::from(found.held);
            tally.all += 1;
            tally.widths += found.width;
            tally.standards += found.standard;
        }
    }
    let mut failed = Vec::new();
    for Tally { name, held, all, widths, standards } in &tallies {
        let (share, width) = (*held as f64 / *all as f64, widths / *all as f64);
        let beside = NAMES.iter().position(|n| n == name).ok_or("a number that is not drawn")?;
        let wider = standards / *all as f64 / left[beside];
        tell(&format!(
            "{name}: {held} of {all} intervals hold the truth ({:.1} %), standard uncertainty {width:.4} of what it was, \
             {wider:.2} times that of the sampled posterior",
            100.0 * share
        ));
        if share < LEAST {
            failed.push(format!("{name} is too sure"));
        }
        if wider > WIDEST {
            failed.push(format!("{name} is too wide"));
        }
    }
    if failed.is_empty() { Ok(()) } else { Err(failed.join(", ").into()) }
}

/// Standard deviation of each number that is left when a bench's readings are known, over drawn benches: of the residuals of
/// its regression on the readings, by their degrees of freedom.
fn left(draws: u64) -> Result<Vec<f64>, Fault> {
    let benches: Vec<(Vec<f64>, Vec<f64>)> =
        (0..draws).into_par_iter().filter_map(|case| drawn(case).ok()).collect();
    let (rows, columns) = (benches.len(), benches.first().ok_or("no bench was drawn")?.1.len() + 1);
    if rows <= 2 * columns {
        return Err(format!("{rows} drawn benches are too few for {columns} readings").into());
    }
    let reading = |i: usize, j: usize| if j == 0 { 1.0 } else { benches[i].1[j - 1] };
    let readings = DMatrix::from_fn(rows, columns, reading).svd(true, true);
    let residual = |number: usize| {
        let values = DVector::from_iterator(rows, benches.iter().map(|b| b.0[number]));
        let factors = readings.solve(&values, 0.0)?;
        let fitted = readings.u.as_ref().ok_or("no factors")?
            * DMatrix::from_diagonal(&readings.singular_values)
            * readings.v_t.as_ref().ok_or("no factors")?
            * factors;
        Ok::<f64, Fault>(((values - fitted).norm_squared() / (rows - columns) as f64).sqrt())
    };
    (0..NAMES.len()).map(residual).collect()
}

#[allow(clippy::print_stdout, reason = "a benchmark prints")]
fn tell(text: &str) {
    println!("{text}");
}
