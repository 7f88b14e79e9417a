//! The one way from a sheet and a question to an answer.

use crate::answer::Answer;
use crate::magnet::Magnet;
pub use crate::question::Question;
use crate::sheet::Sheet;
pub use crate::solved::Failure;

/// Answer a question about the magnet of a sheet.
pub fn answer(sheet: &Sheet, question: &Question) -> Result<Answer, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let mut answer = match question {
        Question::Winding => crate::winding::answer(sheet, &magnet)?,
        Question::Field(q) => crate::field::answer(sheet, &magnet, q)?,
        Question::Pull(q) => crate::pull::answer(sheet, &magnet, q)?,
        Question::Heat(q) => crate::heat::answer(sheet, &magnet, q)?,
        Question::Switch(q) => crate::switch::answer(sheet, &magnet, q)?,
    };
    // Where heat is asked for, the winding's temperature is the answer.
    let computed = |path: &str| matches!(question, Question::Heat(_)) && path == "drive.temperature";
    answer.assumptions.extend(magnet.assumptions.iter().filter(|a| !computed(&a.path)).cloned());
    answer.warnings.extend(magnet.warnings.iter().cloned());
    Ok(answer)
}
