//! The window a winding fills, and the length of its turns.

use crate::magnet::winding::error::WindingError;
use std::f64::consts::PI;

/// Cross-section that the winding fills, bobbin not counted, and the way its turns go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Window {
    /// Turns are circles.
    Axial {
        /// Inside of the winding, m.
        inner_diameter_m: f64,
        /// Outside of the winding, m.
        outer_diameter_m: f64,
        /// Length along the axis, m.
        length_m: f64,
    },
    /// Turns go round a leg of rectangular section: straight along its sides, quarter circles at its corners.
    Racetrack {
        /// One side of the leg, m.
        leg_width_m: f64,
        /// The other side, m.
        leg_depth_m: f64,
        /// From the leg's surface to the innermost wire, m.
        clearance_m: f64,
        /// Thickness of the winding, outwards from the leg, m.
        build_m: f64,
        /// Length along the leg, m.
        length_m: f64,
    },
}

impl Window {
    /// Thickness of the winding across the layers, m.
    pub fn depth_m(&self) -> f64 {
        match *self {
            Self::Axial { inner_diameter_m, outer_diameter_m, .. } => {
                0.5 * (outer_diameter_m - inner_diameter_m)
            }
            Self::Racetrack { build_m, .. } => build_m,
        }
    }

    /// Length of the winding along its layers, m.
    pub fn length_m(&self) -> f64 {
        match *self {
            Self::Axial { length_m, .. } | Self::Racetrack { length_m, .. } => length_m,
        }
    }

    /// Cross-section, m².
    pub fn area_m2(&self) -> f64 {
        self.depth_m() * self.length_m()
    }

    /// Length of a turn that lies at `depth_m` from the inside of the winding, m.
    pub fn turn_length_m(&self, depth_m: f64) -> f64 {
        match *self {
            Self::Axial { inner_diameter_m, .. } => PI * (inner_diameter_m + 2.0 * depth_m),
            Self::Racetrack { leg_width_m, leg_depth_m, clearance_m, .. } => {
                2.0 * (leg_width_m + leg_depth_m) + 2.0 * PI * (clearance_m + depth_m)
            }
        }
    }

    /// Length of the turn through the middle of the window, m; exact for an evenly filled window (Pappus).
    pub fn mean_turn_length_m(&self) -> f64 {
        self.turn_length_m(0.5 * self.depth_m())
    }

    /// Volume of the winding, m³.
    pub fn volume_m3(&self) -> f64 {
        self.area_m2() * self.mean_turn_length_m()
    }

    /// That every length is positive and finite.
    pub(crate) fn check(&self) -> Result<(), WindingError> {
        let lengths: &[(&'static str, f64)] = &match *self {
            Self::Axial { inner_diameter_m, outer_diameter_m, length_m } => [
                ("the winding's inner diameter", inner_diameter_m),
                ("the winding's outer diameter less its inner", outer_diameter_m - inner_diameter_m),
                ("the winding's length", length_m),
                ("the winding's outer diameter", outer_diameter_m),
            ],
            Self::Racetrack { leg_width_m, leg_depth_m, build_m, length_m, .. } => [
                ("the leg's width", leg_width_m),
                ("the leg's depth", leg_depth_m),
                ("the winding's thickness", build_m),
                ("the winding's length", length_m),
            ],
        };
        match lengths.iter().find(|(_, length)| !(length.is_finite() && *length > 0.0)) {
            Some(&(label, value)) => Err(WindingError::Value {
                path: "winding.window",
                label,
                value,
                expected: "it must be a positive length",
            }),
            None => Ok(()),
        }
    }
}
