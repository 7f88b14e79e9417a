//! The permanent magnet that would hold as much.

use crate::alike::{best, round, short};
use coilwright_magnet::answers::question::{PullQuestion, Question};
use coilwright_magnet::diagnostic::Diagnostic;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;

/// Thinnest and thickest disc that is looked at, over its diameter.
const THICKNESSES: [f64; 2] = [0.01, 1.0];
/// How closely its pull is met, relative.
const CLOSELY: f64 = 2e-3;
/// Most trials.
const TRIALS: usize = 40;
/// Thicknesses are told to this, m.
const TOLD: f64 = 1e-5;

/// A disc of a grade, magnetised along its axis, as wide as a magnet of an axial form and just so thick that by best
/// estimate it pulls as much on the same workpiece through the same gap. `file` is what the sheet of it is to be called.
///
/// # Errors
/// The magnet pulls on nothing, or is not round; the grade is not known; no such disc pulls as much, or even the thinnest
/// pulls more.
pub fn disc_as_strong(sheet: &Sheet, grade: &str, file: &str) -> Result<Sheet, Failure> {
    let (magnet, radius_m) = round(sheet, "disc", "a permanent magnet")?;
    let fault = |message: String, hint: &str| Failure::from(Diagnostic::fault(message, hint));
    let wanted = pull(sheet)?.abs();
    let disc = |thickness_m: f64| disc(sheet, grade, file, radius_m, thickness_m);
    let [mut thin, mut thick] = THICKNESSES.map(|share| share * 2.0 * radius_m);
    let (least, most) = (pull(&disc(thin)?)?, pull(&disc(thick)?)?);
    if !(least..=most).contains(&wanted) {
        let (which, bound) = if wanted > most { ("only", most) } else { ("as much as", least) };
        let words =
            if wanted > most { "as thick as it is wide" } else { "a hundredth as thick as it is wide" };
        return Err(fault(
            format!(
                "a disc of {grade} as wide as \"{}\" and {words} pulls {which} {bound:.3e} N, not {wanted:.3e} N",
                magnet.name
            ),
            "try another grade, or compare with a sheet of a permanent magnet",
        ));
    }
    // The pull rises with the thickness: halved by its logarithm, for it rises ever more slowly.
    for _ in 0..TRIALS {
        let middle = (thin * thick).sqrt();
        let found = pull(&disc(middle)?)?;
        if (found / wanted - 1.0).abs() <= CLOSELY || thick - thin < TOLD {
            return disc(middle);
        }
        if found < wanted { thin = middle } else { thick = middle }
    }
    disc((thin * thick).sqrt())
}

fn disc(of: &Sheet, grade: &str, file: &str, radius_m: f64, thickness_m: f64) -> Result<Sheet, Failure> {
    let (diameter_mm, thickness_mm) = (2e3 * radius_m, 1e3 * (thickness_m / TOLD).round() * TOLD);
    let short = short(diameter_mm);
    let text = format!(
        "sheet = 1\nname = \"disc {grade} {short} x {thickness_mm:.2}\"\nform = \"disc\"\n\n[body]\n\
         diameter = \"{diameter_mm:.4} mm\"\nthickness = \"{thickness_mm:.2} mm\"\ngrade = \"{grade}\"\n"
    );
    let (mut sheet, _) = Sheet::parse(&text, file)?;
    sheet.take_table("workpiece", of)?;
    Ok(sheet)
}

/// Its best estimate, N.
fn pull(sheet: &Sheet) -> Result<f64, Failure> {
    let question = Question::Pull(PullQuestion::default());
    Ok(best(sheet, &question, "pull", &Watch::default())?.unwrap_or(0.0))
}
