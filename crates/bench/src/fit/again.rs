//! A second fit of a sheet. What a first fit found was found from readings, and readings must not count twice: a second
//! fit starts from the sheet as it was before the first, with the readings of both.

use crate::readings::Readings;
use crate::written;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;

/// Paths of what a calibrated sheet keeps of this.
const BEFORE: &str = "calibration.before";
const ROWS: &str = "calibration.rows";
/// So many rows, evenly chosen, stand for all of a long log.
const MOST_ROWS: usize = 60;
/// Between one entry and the next in the text of what was before, and between path and text.
const NEXT: &str = "; ";
const IS: &str = " = ";

/// Entries as they were before any fit, by path; an empty text where there was none.
pub(super) type Before = Vec<(String, String)>;

/// The sheet as it was before any fit, and what differs.
///
/// # Errors
/// The readings lack some that the sheet was calibrated by.
pub(super) fn restored(sheet: &Sheet, readings: &Readings) -> Result<(Sheet, Before), Failure> {
    let before: Before = sheet.word(BEFORE).map_or_else(Vec::new, parsed);
    if let Some(rows) = sheet.word(ROWS) {
        let here = readings.row_keys();
        let missing = rows.split_whitespace().filter(|key| !here.iter().any(|k| k == key)).count();
        if missing > 0 {
            let made_from = sheet.word("calibration.readings").unwrap_or("other readings");
            let message = format!(
                "the sheet was calibrated by readings that these lack ({missing} rows of `{made_from}`); without them \
                 a second fit would forget the first"
            );
            let old: Vec<String> = made_from.split(" + ").map(|file| format!("--readings {file}")).collect();
            let hint = format!(
                "give both: `{} --readings NEW.csv`; or fit the sheet as it was before",
                old.join(" ")
            );
            return Err(sheet.fault("calibration.readings", message, hint).into());
        }
    }
    let mut restored = sheet.clone();
    // All are taken out before any is put back, so that none contradicts what another is about to replace.
    before.iter().for_each(|(path, _)| restored.remove(path));
    for (path, text) in before.iter().filter(|(_, text)| !text.is_empty()) {
        restored.set(path, text).map_err(|fault| broken(sheet, &fault.message))?;
    }
    Ok((restored, before))
}

fn broken(sheet: &Sheet, why: &str) -> Failure {
    let message = format!("what was before the first fit cannot be read: {why}");
    sheet.fault(BEFORE, message, "it is written by `fit`; begin with the sheet that was calibrated").into()
}

/// What has to be written beside the entries of a fit, so that the next finds its way back: entries of an earlier fit that
/// this one does not make, as they were before both; all that was before; and which readings were used.
pub(super) fn kept(
    sheet: &Sheet,
    before: &Before,
    entries: &[(String, String)],
    readings: &Readings,
) -> Result<Before, Failure> {
    let made = |path: &str| entries.iter().any(|(p, _)| p == path);
    let mut more: Before = before.iter().filter(|(path, _)| !made(path)).cloned().collect();
    let mut original = Before::new();
    for (path, _) in entries {
        let text = match before.iter().find(|(p, _)| p == path) {
            Some((_, text)) => text.clone(),
            None => written::text(sheet, path)?,
        };
        original.push((path.clone(), text));
    }
    let text: Vec<String> = original.iter().map(|(path, text)| format!("{path}{IS}{text}")).collect();
    more.push((BEFORE.into(), text.join(NEXT)));
    let keys = readings.row_keys();
    let every = keys.len().div_ceil(MOST_ROWS).max(1);
    more.push((ROWS.into(), keys.into_iter().step_by(every).collect::<Vec<_>>().join(" ")));
    Ok(more)
}

fn parsed(text: &str) -> Before {
    let entries = text.split(NEXT).filter_map(|entry| entry.split_once(IS.trim_end()));
    entries.map(|(path, text)| (path.trim().to_owned(), text.trim().to_owned())).collect()
}
