//! What every form fills.

use crate::magnet::size::Size;
use crate::magnet::winding::window::Window;
use crate::magnet::{Part, Pole};
use coilwright_fem::drawing::Symmetry;

/// What a form draws.
#[derive(Debug)]
pub(crate) struct Section {
    pub(crate) symmetry: Symmetry,
    /// Depth of a planar magnet, m; 1 for an axial one.
    pub(crate) depth_m: f64,
    pub(crate) parts: Vec<Part>,
    pub(crate) face_m: f64,
    pub(crate) poles: Vec<Pole>,
    /// Lengths of the body.
    pub(crate) sizes: Vec<Size>,
    /// Window of one coil, and how many coils of that kind are in series.
    pub(crate) window: Option<(Window, f64)>,
    /// Half-width of the body at the face (outer radius), m.
    pub(crate) reach_m: f64,
    /// Thickness of a workpiece that does not throttle this magnet, m.
    pub(crate) ample_thickness_m: f64,
}
