//! The audit: nameplate, sheet, readings and physics held against each other.
//!
//! Each comparison is a row with its normalised deviation (see `statement`). The answer's sentence names the claim
//! that cannot be true, says how sure that is, and what would settle it; meters are suspected too.

mod cause;
mod magnetic;
mod meter;
mod resistance;
mod statement;
mod thermal;

use crate::fit::{beforehand, units};
use crate::meters::Meters;
use crate::readings::Readings;
use coilwright_magnet::answers::answer::{Answer, Item, Value};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::quantity::UnitSystem;
use coilwright_magnet::sheet::Sheet;
use statement::{CONTRADICTION, DOUBTFUL, Statement, comparison};

/// What an audit has found so far.
#[derive(Debug)]
struct Ledger {
    answer: Answer,
    /// Claims that cannot be true.
    findings: Vec<Finding>,
    /// All comparisons with their deviations.
    deviations: Vec<(String, f64)>,
    /// What would explain the contradictions.
    causes: Vec<(String, String)>,
    /// What speaks against a meter.
    suspicions: Vec<(String, String)>,
    /// What could not be judged, and why.
    unjudged: Vec<(String, String)>,
}

/// A claim that cannot be true.
#[derive(Clone, Debug, PartialEq)]
struct Finding {
    deviation: f64,
    sentence: String,
}

/// Compare what nameplate, sheet and readings say of a magnet with each other and with physics.
///
/// One comparison is one row with its deviation in standard uncertainties: up to 2 agrees, up to 3 is doubtful, beyond
/// contradicts. A nameplate's number without a tolerance is taken as ± 5 %. A pull or flux density is only judged as
/// too large. With nothing to compare the answer says what to add.
pub fn audit(sheet: &Sheet, readings: Option<&Readings>) -> Result<Answer, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let mut meters = Meters::new(sheet);
    let mut ledger = Ledger {
        answer: Answer::new("audit", &magnet.name),
        findings: Vec::new(),
        deviations: Vec::new(),
        causes: Vec::new(),
        suspicions: Vec::new(),
        unjudged: Vec::new(),
    };
    resistance::compare(sheet, &magnet, readings, &mut meters, &mut ledger)?;
    magnetic::compare(sheet, &magnet, &mut ledger)?;
    if let Some(readings) = readings {
        meter::suspect(readings, &mut meters, &mut ledger)?;
        readings_against_physics(sheet, &magnet, readings, &mut meters, &mut ledger)?;
    }
    thermal::compare(sheet, &mut ledger)?;
    if sheet.has("nameplate.mass") {
        ledger.unjudged.push(("mass".into(), "a scale settles it".into()));
    }
    Ok(close(sheet, magnet, meters, ledger))
}

/// Readings of field and pull against what the sheet lets expect: the farthest of each column.
fn readings_against_physics(
    sheet: &Sheet,
    magnet: &Magnet,
    readings: &Readings,
    meters: &mut Meters<'_>,
    ledger: &mut Ledger,
) -> Result<(), Failure> {
    let units = units::temperatures(sheet, readings);
    ledger.suspicions.extend(units.iter().map(|remark| ("unit".to_owned(), remark.to_string())));
    let (farthest, suspicions) = beforehand::compare(sheet, magnet, readings, meters)?;
    ledger.suspicions.extend(suspicions);
    for (k, f) in farthest.iter().enumerate() {
        let prefix = format!("column_{}", k + 1);
        let read = Statement::new("read", "read", f.read.0, f.read.1)
            .noted(format!("line {}, the farthest of {}", f.line, f.count));
        let expected = Statement::new("expected", "computed", f.expected.0, f.expected.1)
            .noted("from the sheet as it is");
        let deviation = read.deviation(&expected);
        let items = vec![
            read.item(&prefix, f.dimension),
            expected.item(&prefix, f.dimension),
            comparison(&format!("deviation_{prefix}"), "read", deviation, None),
        ];
        ledger.answer.group(&format!("Readings of `{}` against the sheet's magnet", f.head), items);
        ledger.deviations.push((format!("`{}`, line {}", f.head, f.line), deviation));
        if deviation.abs() > CONTRADICTION {
            let head = format!("`{}`", f.head);
            let unit = ledger.suspicions.iter().any(|(label, text)| label == "unit" && text.contains(&head));
            let settled = if unit {
                "The unit in the header seems to be another; a look at the meter's display settles it."
            } else {
                "`fit` shows whether one reading or the sheet is to blame; repeating it settles it."
            };
            if let Some((shift, u)) = f.shift {
                let text = |v: f64, u: Option<f64>| f.dimension.text(v, u, UnitSystem::Si);
                ledger.findings.push(Finding {
                    deviation,
                    sentence: format!(
                        "All {} readings of {head} are off alike, by {}, which no single line explains: the meter's zero, or \
                         what was near it. Zero it far from iron and read one line again.",
                        f.count,
                        text(shift, Some(u))
                    ),
                });
                continue;
            }
            ledger.findings.push(Finding {
                deviation,
                sentence: format!(
                    "Line {} of the readings and the sheet's magnet cannot both be true: `{}` is \
                     {{{prefix}_read}} where {{{prefix}_expected}} is computed; {}. {settled}",
                    f.line,
                    f.head,
                    statement::sureness(deviation)
                ),
            });
        }
    }
    Ok(())
}

fn close(sheet: &Sheet, magnet: Magnet, meters: Meters<'_>, ledger: Ledger) -> Answer {
    let Ledger { mut answer, mut findings, deviations, causes, suspicions, unjudged } = ledger;
    findings.sort_by(|a, b| b.deviation.abs().total_cmp(&a.deviation.abs()));
    answer.summary = match (findings.split_first(), deviations.len()) {
        (Some((first, [])), _) => first.sentence.clone(),
        (Some((first, more)), _) => {
            format!(
                "{} ({} more below.)",
                first.sentence,
                if more.len() == 1 { "One".into() } else { more.len().to_string() }
            )
        }
        (None, 0) => "Nothing to compare yet: the sheet says nothing twice.".into(),
        (None, n) => agreement(&deviations, n),
    };
    // One cause that explains the contradiction is said with it.
    if let (Some((_, text)), false) = (causes.first(), findings.is_empty()) {
        answer.summary = format!("{} A likely cause: {text}.", answer.summary);
    }
    let more: Vec<String> = findings.iter().skip(1).map(|f| spelled(&answer, &f.sentence)).collect();
    answer.warnings.extend(more);
    let rows = |title: &str, prefix: &str, texts: &[(String, String)], answer: &mut Answer| {
        let items = texts.iter().enumerate();
        let items =
            items.map(|(k, (label, text))| Item::text(&format!("{prefix}_{}", k + 1), label, text.clone()));
        answer.group(title, items.collect());
    };
    rows("What would explain it", "cause", &causes, &mut answer);
    rows("The meter may be wrong", "suspect", &suspicions, &mut answer);
    if deviations.is_empty() {
        rows("To add", "add", &to_add(sheet), &mut answer);
    }
    rows("Not judged", "unjudged", &unjudged, &mut answer);
    answer.assumptions = magnet.assumptions;
    answer.assumptions.extend(meters.assumptions);
    answer
}

/// A sentence with the numbers in place of their keys, in SI; for where only the summary's keys are replaced.
fn spelled(answer: &Answer, sentence: &str) -> String {
    let mut text = sentence.to_owned();
    for item in answer.groups.iter().flat_map(|group| &group.items) {
        if let Value::Number(m) = &item.value {
            let shown = m.dimension.text(m.value, m.band.as_ref().map(|b| b.standard), UnitSystem::Si);
            text = text.replace(&format!("{{{}}}", item.key), &shown);
        }
    }
    text
}

/// Nothing contradicts: how well it agrees.
fn agreement(deviations: &[(String, f64)], n: usize) -> String {
    let worst = deviations.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let (label, deviation) = worst.map_or(("", 0.0), |(label, d)| (label.as_str(), *d));
    let all =
        if n == 1 { "The one comparison agrees".to_owned() } else { format!("All {n} comparisons agree") };
    // Below half of it nobody asks where it is largest.
    if deviation.abs() < 0.5 {
        format!("{all}.")
    } else if deviation.abs() <= DOUBTFUL {
        format!("{all}, within {:.1} standard uncertainties ({label}).", deviation.abs())
    } else {
        format!(
            "Nothing contradicts for sure, but one is doubtful: {label}, {:.1} standard uncertainties. Measure it again.",
            deviation.abs()
        )
    }
}

/// What would give an audit something to compare.
fn to_add(sheet: &Sheet) -> Vec<(String, String)> {
    let mut wanted = Vec::new();
    let mut want = |missing: bool, label: &str, text: &str| {
        if missing {
            wanted.push((label.to_owned(), text.to_owned()));
        }
    };
    want(
        !sheet.has("nameplate"),
        "nameplate",
        "[nameplate]: voltage, power, current, pull, whatever it says",
    );
    if sheet.has("winding") || sheet.has("drive") {
        want(!sheet.has("winding.resistance"), "ohmmeter", "winding.resistance and winding.resistance_at");
        let counted = sheet.has("winding.wire") && sheet.has("winding.turns");
        want(!counted, "wire and turns", "winding.wire and winding.turns, where they are known");
        let csv = "volts and amperes read together: --readings bench.csv, its header `voltage V, current A`";
        want(true, "supply", csv);
    }
    wanted
}
