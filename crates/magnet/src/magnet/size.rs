//! Lengths of a sheet where a drawing shows them.

use coilwright_fem::drawing::Point;

/// A length of a sheet, from one point of the whole magnet's section to another, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// Where it stands in the sheet.
    pub path: &'static str,
    /// Its ends.
    pub ends: [Point; 2],
    /// It is a diameter.
    pub is_diameter: bool,
}

impl Size {
    /// A diameter, across the axis at a height.
    pub(crate) fn diameter(path: &'static str, radius: f64, y: f64) -> Self {
        Self { path, ends: [[-radius, y], [radius, y]], is_diameter: true }
    }

    /// A width at a height.
    pub(crate) fn across(path: &'static str, [from, to]: [f64; 2], y: f64) -> Self {
        Self { path, ends: [[from, y], [to, y]], is_diameter: false }
    }

    /// A height at a distance from the middle.
    pub(crate) fn along(path: &'static str, x: f64, [from, to]: [f64; 2]) -> Self {
        Self { path, ends: [[x, from], [x, to]], is_diameter: false }
    }

    /// What it measures, m.
    pub fn length_m(&self) -> f64 {
        let [[x, y], [u, v]] = self.ends;
        (u - x).hypot(v - y)
    }
}
