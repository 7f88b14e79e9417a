//! Expected beside observed: the comparison itself.

use crate::ask;
use crate::case::{Case, CaseError, Check};
use std::collections::BTreeMap;

/// One check, answered.
#[derive(Clone, Debug)]
pub struct Row {
    /// What was checked.
    pub check: Check,
    /// What the sheet was changed to, and where the field was asked; may be empty.
    pub condition: String,
    /// In the check's unit.
    pub observed: f64,
}

impl Row {
    /// |observed − expected| / |expected|.
    pub fn deviation(&self) -> f64 {
        (self.observed - self.check.expected).abs() / self.check.expected.abs()
    }

    /// Whether the deviation is within the tolerance; false if anything is not a number.
    pub fn holds(&self) -> bool {
        self.deviation() <= self.check.tolerance
    }
}

/// Answers a case's questions and compares.
pub fn rows(case: &Case) -> Result<Vec<Row>, CaseError> {
    let mut rows = Vec::new();
    for asked in &case.questions {
        let numbers = ask::numbers(&case.sheet, asked).map_err(|message| CaseError::Unanswered {
            case: case.name.clone(),
            ask: asked.ask,
            message,
        })?;
        for check in &asked.checks {
            let missing = || CaseError::Unanswered {
                case: case.name.clone(),
                ask: asked.ask,
                message: format!("the answer has no item '{}'", check.key),
            };
            let si = pick(&numbers, &check.key).ok_or_else(missing)?;
            let observed = si / check.factor().ok_or_else(missing)?;
            let mut condition = asked.set.join(", ");
            if let Some([r, z]) = point(&check.key).and_then(|k| asked.at_mm.get(k - 1)) {
                let comma = if condition.is_empty() { "" } else { ", " };
                condition += &format!("{comma}({r}, {z}) mm");
            }
            rows.push(Row { check: check.clone(), condition, observed });
        }
    }
    Ok(rows)
}

/// k of `b_z_k`.
fn point(key: &str) -> Option<usize> {
    let (stem, index) = key.rsplit_once('_')?;
    let index: usize = index.parse().ok()?;
    (stem.starts_with("b_") && index > 0).then_some(index)
}

fn pick(numbers: &BTreeMap<String, f64>, key: &str) -> Option<f64> {
    let Some(stem) = key.strip_prefix("mean square of ") else { return numbers.get(key).copied() };
    let values: Vec<f64> = (1..).map_while(|k| numbers.get(&format!("{stem}_{k}")).copied()).collect();
    (!values.is_empty()).then(|| values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_square_takes_every_point() {
        let numbers = BTreeMap::from([("b_abs_1".to_string(), 3.0), ("b_abs_2".to_string(), 4.0)]);
        assert_eq!(pick(&numbers, "mean square of b_abs"), Some(12.5));
        assert_eq!(pick(&numbers, "mean square of b_z"), None);
        assert_eq!(pick(&numbers, "b_abs_2"), Some(4.0));
    }

    #[test]
    fn what_is_not_a_number_does_not_hold() {
        let check = Check {
            key: "pull".into(),
            expected: 1.0,
            unit: "N".into(),
            tolerance: 1e-3,
            why: "a test".into(),
        };
        let row = |observed| Row { check: check.clone(), condition: String::new(), observed };
        assert!(row(1.0009).holds());
        assert!(!row(1.0011).holds());
        assert!(!row(f64::NAN).holds());
    }
}
