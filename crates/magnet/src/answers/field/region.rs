//! The region whose uniformity is asked for, and what is read in it.

use crate::answers::question::{FieldQuestion, Region};
use crate::magnet::envelope::span;
use crate::magnet::{Magnet, Substance};
use coilwright_fem::drawing::{Point, Symmetry};
use coilwright_fem::field::Probe;

/// The places at which a uniformity is read.
#[derive(Clone, Debug)]
pub(crate) struct Places {
    pub(crate) middle: Point,
    /// Direction of the field there.
    pub(crate) along: [f64; 2],
    /// Its magnitude there.
    pub(crate) size_t: f64,
    /// Where deviations from it are read.
    pub(crate) at: Vec<Point>,
}

impl Places {
    /// Number of readings.
    pub(crate) fn count(&self) -> usize {
        1 + self.at.len()
    }

    /// Where they are read, m in the drawing.
    pub(crate) fn all(&self) -> impl Iterator<Item = Point> {
        std::iter::once(self.middle).chain(self.at.iter().copied())
    }

    /// The field in the middle, then by place the relative deviation from it times the field in the middle as it stands, T: what
    /// scales the whole field leaves it as it is.
    pub(crate) fn values(&self, probe: &Probe<'_>) -> Vec<f64> {
        let component = |p: Point| dot(probe.at(p).b_t, self.along);
        let middle = component(self.middle);
        let deviations = self.at.iter().map(|p| self.size_t * (component(*p) / middle - 1.0));
        std::iter::once(middle).chain(deviations).collect()
    }
}

/// Scalar product.
pub(crate) fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Middle and half sizes of the region that is asked for, m in the drawing.
pub(crate) fn region(magnet: &Magnet, question: &FieldQuestion) -> Option<(Point, [f64; 2])> {
    match question.uniform? {
        Region::Wide(size) => {
            let current = magnet.parts.iter().filter(|part| match part.substance {
                Substance::Conductors { share } => share != 0.0,
                Substance::AmpereTurns(own) => own != 0.0,
                _ => false,
            });
            let current: Vec<_> = current.map(|part| &part.outline).collect();
            let outlines = || magnet.parts.iter().map(|part| &part.outline);
            let [[left, right], [low, high]] = [0, 1].map(|axis| {
                if current.is_empty() { span(outlines(), axis) } else { span(current.iter().copied(), axis) }
            });
            let x = if magnet.symmetry == Symmetry::Planar { 0.5 * (left + right) } else { 0.0 };
            Some(([x, 0.5 * (low + high)], [0.5 * size; 2]))
        }
        Region::Between([(x, y), (u, v)]) => {
            Some(([0.5 * (x + u), magnet.face_m + 0.5 * (y + v)], [0.5 * (u - x).abs(), 0.5 * (v - y).abs()]))
        }
    }
}
