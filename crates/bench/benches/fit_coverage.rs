//! Whether a fit's intervals hold the truth when *everything* that the sheet states is off at once, not only what the fit
//! frees: the fit sees only the sheet and the readings of an invented bench. Fails if less than 92 % of the intervals of any
//! number hold it (JCGM 100:2008, 6.2: an interval of coverage probability 95 %; of 200 right ones 92 % are missed once in 30
//! times).
//!
//! `cargo bench -p coilwright-bench --bench fit_coverage -- [CASES] [FIRST]`; 200 cases take about an hour.

#[path = "../tests/invented_bench/mod.rs"]
mod invented_bench;

use invented_bench::{Fault, one};

/// Least share of intervals that hold the truth.
const LEAST: f64 = 0.92;

/// What was found of one number.
#[derive(Default)]
struct Tally {
    name: String,
    held: usize,
    all: usize,
    widths: f64,
}

fn main() -> Result<(), Fault> {
    let mut arguments = std::env::args().skip(1).filter_map(|text| text.parse::<u64>().ok());
    let (cases, first) = (arguments.next().unwrap_or(200), arguments.next().unwrap_or(0));
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
        }
    }
    let mut failed = Vec::new();
    for Tally { name, held, all, widths } in &tallies {
        let (share, width) = (*held as f64 / *all as f64, widths / *all as f64);
        tell(&format!(
            "{name}: {held} of {all} intervals hold the truth ({:.1} %), standard uncertainty {width:.4} of what it was",
            100.0 * share
        ));
        if share < LEAST {
            failed.push(name.as_str());
        }
    }
    if failed.is_empty() { Ok(()) } else { Err(format!("too sure: {}", failed.join(", ")).into()) }
}

#[allow(clippy::print_stdout, reason = "a benchmark prints")]
fn tell(text: &str) {
    println!("{text}");
}
