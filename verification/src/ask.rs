//! The one place where the checks meet the program: a sheet's text and a question go in, numbers come out.

use crate::case::{Ask, Asked};
use coilwright_magnet::answers::answer::Value;
use coilwright_magnet::answers::question::{FieldQuestion, PullQuestion, Question};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;
use std::collections::BTreeMap;

/// Every number of the answer by the key of its item, in SI; or what the program said instead.
pub fn numbers(sheet: &str, asked: &Asked) -> Result<BTreeMap<String, f64>, String> {
    let (mut sheet, _remarks) = Sheet::parse(sheet, "magnet.sheet.toml").map_err(|d| words(&d))?;
    for change in &asked.set {
        let (path, value) = change.split_once('=').ok_or_else(|| format!("`{change}` is not path=value"))?;
        sheet.set(path.trim(), value.trim()).map_err(|d| words(&[d]))?;
    }
    let question = match asked.ask {
        Ask::Winding => Question::Winding,
        Ask::Field => Question::Field(FieldQuestion {
            workpiece: sheet.has("workpiece"),
            at: asked.at_mm.iter().map(|p| (1e-3 * p[0], 1e-3 * p[1])).collect(),
            ..FieldQuestion::default()
        }),
        Ask::Pull => Question::Pull(PullQuestion::default()),
    };
    let answer = answer(&sheet, &question).map_err(|failure| match failure {
        Failure::Input(diagnostics) => words(&diagnostics),
        other => other.to_string(),
    })?;
    let numbers = answer.groups.iter().flat_map(|g| &g.items).filter_map(|item| match &item.value {
        Value::Number(measure) => Some((item.key.clone(), measure.value)),
        Value::Text(_) => None,
    });
    Ok(numbers.collect())
}

fn words(diagnostics: &[Diagnostic]) -> String {
    diagnostics.iter().map(|d| format!("{} ({})", d.message, d.hint)).collect::<Vec<_>>().join("; ")
}
