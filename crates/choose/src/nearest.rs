//! The electromagnet that comes nearest to a magnet in the same room.

use crate::alike::{round, short};
use crate::seek::aim::{Aim, Bound};
use crate::seek::log::Log;
use crate::seek::{Question, seek};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::watch::Watch;

/// Designs that are looked at.
const DESIGNS: usize = 60;
/// As hot as insulation of class B may be (IEC 60085, from memory).
const HOTTEST: &str = "hot_spot <= 130 degC";

/// The pot magnet that pulls most on the same workpiece through the same gap, of all as wide and as high as a round magnet,
/// wound with a real wire for a voltage, V, and no hotter than class B allows when it is on for good. `file` is what the
/// sheet of it is to be called.
///
/// # Errors
/// The magnet pulls on nothing, or is not round; no pot of that size can be wound for that voltage.
pub fn pot_as_large(sheet: &Sheet, voltage_v: f64, file: &str, watch: &Watch) -> Result<Sheet, Failure> {
    let (magnet, radius_m) = round(sheet, "pot", "an electromagnet")?;
    let (wide_mm, high_mm) = (2e3 * radius_m, 1e3 * magnet.envelope_height_m());
    let text = format!(
        "sheet = 1\nname = \"pot {} x {} for {} V\"\nform = \"pot\"\n\n[body]\nouter_diameter = \"{wide_mm:.4} mm\"\n\
         height = \"{high_mm:.4} mm\"\n\n[winding]\nwire = \"0.3 mm grade 2\"\n\n[drive]\nvoltage = \"{voltage_v} V\"\n",
        short(wide_mm),
        short(high_mm),
        short(voltage_v),
    );
    let (mut start, _) = Sheet::parse(&text, file)?;
    start.take_table("workpiece", sheet)?;
    let question = Question {
        vary: Vec::new(),
        aims: vec![Aim::parse("most pull")?],
        within: vec![Bound::parse(HOTTEST)?],
        designs: DESIGNS,
        seed: 1,
    };
    watch.part(DESIGNS);
    let mut solved = 0;
    let found = seek(&start, &question, &Log::default(), &mut |now| {
        (solved..now.solved).for_each(|_| watch.done());
        solved = now.solved;
    })?;
    let Some((_, text)) = found.designs.into_iter().next() else {
        return Err(Failure::Physics(format!(
            "no pot magnet of {} mm by {} mm at {voltage_v} V stays below 130 °C",
            short(wide_mm),
            short(high_mm)
        )));
    };
    // What is written is the pot alone: the workpiece stands in the other's text.
    let (mut pot, _) = Sheet::parse(&text, file)?;
    pot.take_table("workpiece", sheet)?;
    Ok(pot)
}
