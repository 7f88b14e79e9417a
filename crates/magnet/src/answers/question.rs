//! What can be asked of a magnet.

use crate::diagnostic::Diagnostic;
use crate::quantity::{Dimension, UnitSystem};

/// A question with its details; what is left out takes a sensible default.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// Turns, wire, resistance, current, power.
    Winding,
    /// Flux density: face scan, axis, points, keep-out distances.
    Field(FieldQuestion),
    /// Pull on the workpiece.
    Pull(PullQuestion),
    /// Warm-up and steady state; headroom if asked for.
    Heat(HeatQuestion),
    /// Switching on, off and over; hold-up.
    Switch(SwitchQuestion),
}

/// Details of a field question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FieldQuestion {
    /// Height of the probe's element above the face, m.
    pub standoff_m: Option<f64>,
    /// Points: radius (or x) and height above the face, m.
    pub at: Vec<(f64, f64)>,
    /// A scan along the axis, from the face outwards.
    pub axis: bool,
    /// Ends of a scan along the axis instead: heights above the face, m; inside iron it is empty.
    pub axis_between_m: Option<[f64; 2]>,
    /// Straight lines, each from one point to another, these as in `at`.
    pub lines: Vec<[(f64, f64); 2]>,
    /// A region whose uniformity is asked for.
    pub uniform: Option<Region>,
    /// Distances at which the field has fallen to 3 mT and 0.5 mT.
    pub keep_out: bool,
    /// With the sheet's keeper on the poles.
    pub keeper: bool,
    /// With the workpiece in place.
    pub workpiece: bool,
}

/// A region in the air of a magnet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Region {
    /// As wide and as long, m, about the middle of what carries current, or of the magnet where nothing does.
    Wide(f64),
    /// Between two corners: radius (or x) and height above the face, m.
    Between([(f64, f64); 2]),
}

/// Details of a pull question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PullQuestion {
    /// Gaps for a curve, m.
    pub gaps_m: Vec<f64>,
    /// Currents for a curve, A.
    pub currents_a: Vec<f64>,
    /// Thicknesses of the workpiece for a curve, m.
    pub thicknesses_m: Vec<f64>,
    /// Widths (diameters) of the workpiece for a curve, m.
    pub widths_m: Vec<f64>,
    /// Pull on the sheet's keeper instead of the workpiece.
    pub keeper: bool,
    /// Force along the face before it slips.
    pub shear: bool,
}

/// Details of a heat question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeatQuestion {
    /// How long to follow the warm-up, s; half an hour if not given.
    pub duration_s: Option<f64>,
    /// How warm the whole magnet is at the start, K; as its surroundings if not given.
    pub start_k: Option<f64>,
    /// With the workpiece attached, which then carries heat away too.
    pub workpiece: bool,
    /// A recorded drive: name of the file and its text.
    pub profile: Option<(String, String)>,
    /// How far the drive may be raised, instead of the warm-up.
    pub headroom: Option<HeadroomQuestion>,
}

/// What headroom is looked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeadroomQuestion {
    /// Voltages, V (or currents, A, if the sheet gives a current); from half to twice the sheet's if empty.
    pub levels: Vec<f64>,
    /// Coolings by their words in a sheet; the sheet's own if empty.
    pub coolings: Vec<String>,
    /// Cycle time for the permitted duty, s; the sheet's or that of DIN VDE 0580 if not given.
    pub cycle_s: Option<f64>,
}

/// Details of a switching question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SwitchQuestion {
    /// What is to be held, N; the workpiece's weight, or 5 % of the pull, if not given.
    pub load_n: Option<f64>,
    /// Nothing but when the sheet's own clamp lets go of the load, what is left, and how long a store holds it: no turn-on, no
    /// other clamps and no curves of solid iron, which take longest.
    pub brief: bool,
}

impl FieldQuestion {
    /// What no face allows.
    pub(crate) fn check(&self) -> Result<(), Diagnostic> {
        match self.standoff_m {
            Some(height) if height < 0.0 => Err(Diagnostic::fault(
                format!(
                    "the face cannot be scanned from within: a height of {} was asked for",
                    length(height)
                ),
                "give a height of zero or more above the face, such as 1mm; points below it can be asked one by one",
            )),
            _ => self.check_lines(),
        }
    }

    /// A line has two ends.
    fn check_lines(&self) -> Result<(), Diagnostic> {
        let same = |ends: &&[(f64, f64); 2]| ends[0] == ends[1];
        if let Some([(x, y), _]) = self.lines.iter().find(same) {
            let message = format!("the line begins and ends at {}, {}", length(*x), length(*y));
            return Err(Diagnostic::fault(
                message,
                "give two different points, or ask for the one with `--at`",
            ));
        }
        let size = |region: Region| match region {
            Region::Wide(size) => size,
            Region::Between([(x, y), (u, v)]) => (u - x).hypot(v - y),
        };
        if let Some(size) = self.uniform.map(size).filter(|size| *size <= 0.0) {
            let message = format!("a region has a size greater than zero; {} was asked for", length(size));
            return Err(Diagnostic::fault(message, "give its width, such as 10mm, or two corners"));
        }
        match self.axis_between_m {
            Some([from, to]) if from == to => Err(Diagnostic::fault(
                format!("the scan along the axis begins and ends at {} above the face", length(from)),
                "give two different heights, such as -50..50mm, or ask for the one point with `--at`",
            )),
            _ => Ok(()),
        }
    }
}

impl PullQuestion {
    /// What no workpiece can be: without a gap, a thickness or a width.
    pub(crate) fn check(&self) -> Result<(), Vec<Diagnostic>> {
        let sizes = [
            ("gap", &self.gaps_m, "face to workpiece, coating and roughness included, such as 0.1mm"),
            ("thickness", &self.thicknesses_m, "of the workpiece, such as 10mm"),
            ("width", &self.widths_m, "width or diameter of the workpiece, such as 80mm"),
        ];
        let faults: Vec<Diagnostic> = (sizes.into_iter())
            .filter_map(|(name, values, hint)| {
                let wrong = values.iter().find(|value| **value <= 0.0)?;
                let message =
                    format!("every {name} must be greater than zero; {} was asked for", length(*wrong));
                Some(Diagnostic::fault(message, hint))
            })
            .collect();
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }
}

fn length(metres: f64) -> String {
    Dimension::Length.text(metres, None, UnitSystem::Si)
}
