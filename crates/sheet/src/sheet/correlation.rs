//! Correlations between a sheet's quantities, as a fit writes them: `calibration.correlation`.
//!
//! The text is a list such as `workpiece.gap ~ winding.turns: -0.83, winding.turns ~ probe.depth: 0.41`. Pairs that are
//! not listed are independent.

use super::{Sheet, schema};
use crate::diagnostic::Diagnostic;
use std::fmt;

/// How the errors of two of a sheet's quantities go together.
#[derive(Clone, Debug, PartialEq)]
pub struct Correlation {
    /// Paths of the two.
    pub paths: [String; 2],
    /// Correlation coefficient, −1 to 1 (JCGM 100:2008, 5.2.2, equation 14).
    pub coefficient: f64,
}

const PATH: &str = "calibration.correlation";

impl Sheet {
    /// The correlations that the sheet states; none if it states none.
    ///
    /// # Errors
    /// A fault at the key if the text is not a list of pairs of known paths with coefficients between −1 and 1.
    pub fn correlations(&self) -> Result<Vec<Correlation>, Diagnostic> {
        let Some(text) = self.word(PATH) else { return Ok(Vec::new()) };
        let hint = "such as \"workpiece.gap ~ winding.turns: -0.83\", pairs apart by commas; a fit writes it";
        let mut found: Vec<Correlation> = Vec::new();
        for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
            let pair = one(part).map_err(|why| self.fault(PATH, format!("`{part}`: {why}"), hint))?;
            if found.iter().any(|c| c.is_of(&pair.paths[0], &pair.paths[1])) {
                return Err(self.fault(PATH, format!("`{part}`: the pair stands there twice"), hint));
            }
            found.push(pair);
        }
        Ok(found)
    }
}

fn one(part: &str) -> Result<Correlation, String> {
    let (pair, number) = part.rsplit_once(':').ok_or("no coefficient behind a `:`")?;
    let (a, b) = pair.split_once('~').ok_or("no `~` between two paths")?;
    let coefficient: f64 =
        number.trim().parse().map_err(|_| format!("`{}` is not a number", number.trim()))?;
    if !(-1.0..=1.0).contains(&coefficient) {
        return Err(format!("{coefficient} is not between -1 and 1"));
    }
    let paths = [a.trim().to_owned(), b.trim().to_owned()];
    if let Some(unknown) = paths.iter().find(|p| schema::find(p).is_none()) {
        return Err(format!("a sheet has no key `{unknown}`"));
    }
    if paths[0] == paths[1] {
        return Err("a quantity goes with itself anyhow".into());
    }
    Ok(Correlation { paths, coefficient })
}

impl Correlation {
    /// Whether it is that of two paths, in either order.
    pub fn is_of(&self, a: &str, b: &str) -> bool {
        let [p, q] = &self.paths;
        (p == a && q == b) || (p == b && q == a)
    }
}

/// As a sheet has it; four digits behind the point, rounded towards 0 so that a strong one stays possible.
impl fmt::Display for Correlation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ~ {}: {}", self.paths[0], self.paths[1], (1e4 * self.coefficient).trunc() / 1e4)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> Result<Sheet, Vec<Diagnostic>> {
        let text = format!(
            "sheet = 1\nform = \"coil\"\n[winding]\ninner_diameter = \"20 mm\"\nouter_diameter = \"40 mm\"\n\
             length = \"30 mm\"\nturns = 500\n[drive]\ncurrent = \"1 A\"\n[calibration]\ncorrelation = \"{text}\"\n"
        );
        Sheet::parse(&text, "s").map(|(sheet, _)| sheet)
    }

    #[test]
    fn what_is_written_is_read() {
        let pairs = [("winding.turns", "probe.depth", -0.8312), ("winding.turns", "workpiece.gap", 0.25)];
        let pairs = pairs.map(|(a, b, coefficient)| Correlation { paths: [a.into(), b.into()], coefficient });
        let text: Vec<String> = pairs.iter().map(ToString::to_string).collect();
        assert_eq!(sheet(&text.join(", ")).unwrap().correlations().unwrap(), pairs);
    }

    #[test]
    fn mistakes_are_named() {
        for (text, said) in [
            ("winding.turns ~ probe.depth: 1.2", "not between"),
            ("winding.turns ~ probe.deep: 0.2", "no key `probe.deep`"),
            ("winding.turns, probe.depth: 0.2", "no coefficient"),
            ("winding.turns probe.depth: 0.2", "no `~`"),
            ("winding.turns ~ probe.depth: much", "not a number"),
            ("winding.turns ~ winding.turns: 1", "itself"),
            ("winding.turns ~ probe.depth: 0.2, probe.depth ~ winding.turns: 0.2", "twice"),
        ] {
            let faults = sheet(text).unwrap_err();
            assert!(faults.iter().any(|f| f.message.contains(said)), "{text}: {faults:?}");
        }
    }
}
