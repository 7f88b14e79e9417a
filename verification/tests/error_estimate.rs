//! What the solver claims of its own error holds, on a few invented problems of every form; `docs/error-estimate.md` has
//! many more.

use coilwright_verification::judged::{Judged, judge};
use coilwright_verification::problem::problem;

/// Of few numbers at most so many may miss, where 1.5 % of many may.
fn most(numbers: usize) -> usize {
    1 + numbers * 3 / 100
}

#[test]
fn claims_hold() {
    let mut found = Vec::new();
    for number in 0..36 {
        found.extend(
            judge(&problem(3, number), number, &[1e-2, 1e-3]).unwrap_or_else(|e| panic!("{number}: {e}")),
        );
    }
    for quantity in 0..5 {
        let of: Vec<&Judged> = found.iter().filter(|j| j.quantity == quantity).collect();
        let missed: Vec<String> =
            of.iter().filter(|j| j.truly > j.claimed + j.doubt).map(|j| j.line()).collect();
        assert!(missed.len() <= most(of.len()), "{} of {}:\n{}", missed.len(), of.len(), missed.join("\n"));
    }
}
