//! What a magnet must be for another to be made after it, and what is quickly asked of both.

use coilwright_magnet::answers::question::Question;
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;

/// A round magnet before a workpiece, and its radius, m. `what` is to be made as wide as it; `instead` is what to compare it
/// with otherwise.
///
/// # Errors
/// It is not round, or pulls on nothing that its sheet names.
pub(crate) fn round(sheet: &Sheet, what: &str, instead: &str) -> Result<(Magnet, f64), Failure> {
    let magnet = Magnet::complete(sheet)?;
    let name = &magnet.name;
    let Some(radius_m) = magnet.envelope_radius_m() else {
        let message = format!("a {what} as wide as \"{name}\" has no meaning: it is not round");
        return Err(Diagnostic::fault(message, format!("compare it with a sheet of {instead}")).into());
    };
    if !magnet.pulls() || !sheet.has("workpiece") {
        let message = format!("\"{name}\" pulls on nothing that a {what} could pull on");
        return Err(Diagnostic::fault(message, "give its sheet a [workpiece]").into());
    }
    Ok((magnet, radius_m))
}

/// A length in mm to a hundredth, without zeros that say nothing.
pub(crate) fn short(mm: f64) -> String {
    format!("{mm:.2}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The best estimate of a number of an answer, without band; none if there is no such number.
pub(crate) fn best(
    sheet: &Sheet,
    question: &Question,
    key: &str,
    watch: &Watch,
) -> Result<Option<f64>, Failure> {
    let mut plain = Plain::watched(sheet, question, watch)?;
    let home = vec![0.0; plain.ways().len()];
    Ok(plain.numbers(&home)?.into_iter().find(|(own, _)| own == key).map(|(_, value)| value))
}
