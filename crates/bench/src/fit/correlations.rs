//! Correlations of a fit's unknowns as a sheet states them.

use coilwright_magnet::sheet::{Correlation, Sheet};
use nalgebra::DMatrix;

/// Path of the correlations.
pub(super) const PATH: &str = "calibration.correlation";
/// Weaker correlations are left out: they change a band by less than half of themselves.
const WEAK: f64 = 0.05;
/// Smallest eigenvalue of the matrix that is written, so that rounding and what is left out keep it possible.
const LEAST_EIGENVALUE: f64 = 2e-3;

/// Correlations worth stating, with those that the sheet states already and this fit did not touch. `paths` names the
/// rows of the matrix.
pub(super) fn stated(sheet: &Sheet, paths: &[&str], matrix: &DMatrix<f64>) -> Vec<Correlation> {
    let kept = matrix.map(|r| if r.abs() < WEAK { 0.0 } else { r });
    let least = kept.symmetric_eigenvalues().min();
    // Towards independence, as little as makes it possible.
    let shrink = ((1.0 - LEAST_EIGENVALUE) / (1.0 - least)).min(1.0);
    let before = sheet.correlations().unwrap_or_default();
    let touched = |c: &Correlation| paths.iter().any(|p| c.paths.iter().any(|q| q == p));
    let mut list: Vec<Correlation> = before.into_iter().filter(|c| !touched(c)).collect();
    for i in 0..paths.len() {
        for j in 0..i {
            if kept[(i, j)] != 0.0 {
                let coefficient = shrink * kept[(i, j)];
                list.push(Correlation { paths: [paths[j].into(), paths[i].into()], coefficient });
            }
        }
    }
    list
}

/// The text of `calibration.correlation`; none if there is nothing to state.
pub(super) fn text(list: &[Correlation]) -> Option<String> {
    (!list.is_empty()).then(|| list.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three quantities so strongly correlated that without the weak pair no errors could be so: what is written can.
    #[test]
    fn what_is_written_is_possible() {
        let text = "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
                    length = \"30 mm\"\nturns = 500\n[drive]\ncurrent = \"1 A\"\n[calibration]\n\
                    correlation = \"probe.depth ~ probe.angle: 0.5, winding.turns ~ probe.depth: 0.1\"\n";
        let (sheet, _) = Sheet::parse(text, "s").unwrap();
        let paths = ["winding.turns", "workpiece.gap", "calibration.steel_scale"];
        let matrix = DMatrix::from_row_slice(3, 3, &[1.0, 0.71, 0.73, 0.71, 1.0, 0.04, 0.73, 0.04, 1.0]);
        let list = stated(&sheet, &paths, &matrix);
        // The sheet's own pair that this fit did not touch stays, the other is replaced.
        assert_eq!(list[0].paths, ["probe.depth", "probe.angle"]);
        assert_eq!(list.len(), 3);
        let mut written = DMatrix::identity(3, 3);
        for c in &list[1..] {
            let at = |p: &str| paths.iter().position(|q| *q == p).unwrap();
            let (i, j) = (at(&c.paths[0]), at(&c.paths[1]));
            let printed: f64 = c.to_string().rsplit_once(' ').unwrap().1.parse().unwrap();
            written[(i, j)] = printed;
            written[(j, i)] = printed;
        }
        assert!(written.symmetric_eigenvalues().min() > 1e-3, "{written}");
        assert!((written[(0, 1)] - 0.71).abs() < 0.03 && written[(1, 2)] == 0.0, "{written}");
    }
}
