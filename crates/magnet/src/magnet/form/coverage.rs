//! A plate that is not round, or not in the middle, in front of a round magnet: which ring of a drawing about an axis stands
//! for it, and what that leaves out of three dimensions.
//!
//! A ring covers the same shares of the poles as the plate does; where the plate misses the outer pole it is as large. Against
//! finite elements in three dimensions on one pot magnet, at a wide and a narrow gap (`verification/tests/plates.rs`): where
//! the pole is covered the pull in space is 0.96 to 1.22 times the ring's, where an edge lies across the pole 0.82 to 0.92
//! times. The limits below are wider, for one magnet is not all.

use crate::magnet::{Factor, Pole};
use std::f64::consts::PI;

/// What lies in front of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shape {
    /// A disc.
    Disc {
        /// Its radius, m.
        radius_m: f64,
    },
    /// A rectangle.
    Rectangle {
        /// Half its width, along which it may be out of the middle, m.
        half_width_m: f64,
        /// Half its length, m.
        half_length_m: f64,
    },
}

/// A ring in place of a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ring {
    /// From and to, m.
    pub(crate) x_m: [f64; 2],
    /// What its pull is to be multiplied with.
    pub(crate) factor: Factor,
    /// Share of the inner pole that is covered.
    pub(crate) of_pole: f64,
    /// Share of the outer pole that is covered; none if there is only one pole.
    pub(crate) of_outer: Option<f64>,
}

/// Limits of the pull in space over that of the ring: pole covered, an edge across it, or hardly any of the outer pole
/// covered, for which there is no reference.
const COVERED: [f64; 2] = [0.93, 1.27];
const ACROSS: [f64; 2] = [0.7, 1.05];
const HARDLY: [f64; 2] = [0.65, 1.35];
/// Share of the outer pole below which it is hardly covered.
const LITTLE: f64 = 0.25;
/// Shares this near to one are whole.
const WHOLE: f64 = 1.0 - 1e-9;

impl Shape {
    /// Area that it covers of a circle of a radius about the axis, m², its middle being `offset_m` away.
    fn covers_m2(self, radius_m: f64, offset_m: f64) -> f64 {
        match self {
            Self::Disc { radius_m: own } => lens(own, radius_m, offset_m),
            Self::Rectangle { half_width_m, half_length_m } => {
                strip(radius_m, half_length_m, offset_m + half_width_m)
                    - strip(radius_m, half_length_m, offset_m - half_width_m)
            }
        }
    }

    /// Its area, m².
    fn area_m2(self) -> f64 {
        match self {
            Self::Disc { radius_m } => PI * radius_m * radius_m,
            Self::Rectangle { half_width_m, half_length_m } => 4.0 * half_width_m * half_length_m,
        }
    }

    /// Radius of the largest circle about the axis that it covers, m.
    fn covered_m(self, offset_m: f64) -> f64 {
        match self {
            Self::Disc { radius_m } => radius_m - offset_m,
            Self::Rectangle { half_width_m, half_length_m } => (half_width_m - offset_m).min(half_length_m),
        }
    }

    /// Share that it covers of a ring.
    fn share(self, [from, to]: [f64; 2], offset_m: f64) -> f64 {
        (self.covers_m2(to, offset_m) - self.covers_m2(from, offset_m)) / (PI * (to * to - from * from))
    }

    /// The ring that stands for it in front of poles.
    pub(crate) fn ring(self, poles: &[Pole], offset_m: f64) -> Ring {
        let whole = |of_outer| Ring {
            x_m: [0.0, self.covered_m(offset_m)],
            factor: Factor::ONE,
            of_pole: 1.0,
            of_outer,
        };
        let Some(pole) = poles.first() else { return whole(None) };
        let outer = poles.get(1).map(|p| p.x_m);
        let of_pole = self.share(pole.x_m, offset_m).clamp(0.0, 1.0);
        let of_outer = outer.map(|x| self.share(x, offset_m).clamp(0.0, 1.0));
        let reach = outer.unwrap_or(pole.x_m)[1];
        if self.covered_m(offset_m) >= reach * WHOLE {
            return whole(of_outer);
        }
        let [hole, edge] = pole.x_m;
        let inside =
            if of_pole < WHOLE { (edge * edge - of_pole * (edge * edge - hole * hole)).sqrt() } else { 0.0 };
        let outside = match (outer, of_outer) {
            (Some([from, to]), Some(share)) if share > 0.0 => {
                (from * from + share * (to * to - from * from)).sqrt()
            }
            // It misses the outer pole, or there is none.
            _ => (inside * inside + self.area_m2() / PI).sqrt().min(outer.map_or(f64::INFINITY, |o| o[0])),
        };
        let limits = match of_outer {
            _ if of_pole < WHOLE => ACROSS,
            Some(share) if share > 0.0 && share < LITTLE => HARDLY,
            _ => COVERED,
        };
        Ring { x_m: [inside, outside], factor: Factor::between(limits), of_pole, of_outer }
    }
}

/// Area of a circle about the origin to the left of `x` and within `±half` across, m².
fn strip(radius: f64, half: f64, x: f64) -> f64 {
    if radius == 0.0 {
        return 0.0;
    }
    let x = x.clamp(-radius, radius);
    // Beyond this the circle is narrower than the strip.
    let straight = (radius * radius - half * half).max(0.0).sqrt();
    let primitive =
        |x: f64| x * (radius * radius - x * x).max(0.0).sqrt() + radius * radius * (x / radius).asin();
    let left = primitive(x.min(-straight)) - primitive(-radius);
    let middle = 2.0 * half * (x.clamp(-straight, straight) + straight);
    let right = primitive(x.max(straight)) - primitive(straight);
    left + middle.min(4.0 * half * straight) + right
}

/// Area that two circles share, m².
fn lens(a: f64, b: f64, apart: f64) -> f64 {
    if apart >= a + b {
        return 0.0;
    }
    if apart <= (a - b).abs() {
        return PI * a.min(b).powi(2);
    }
    // Circular segments on both sides of the common chord.
    let to_chord = (apart * apart + a * a - b * b) / (2.0 * apart);
    let segment = |r: f64, d: f64| r * r * (d / r).acos() - d * (r * r - d * d).max(0.0).sqrt();
    segment(a, to_chord) + segment(b, apart - to_chord)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12 + 1e-9 * b.abs(), "{a} {b}");
    }

    /// Areas by elementary geometry: the whole circle, half of it, a square inside it, and a strip whose ends it cuts off.
    #[test]
    fn areas_that_a_rectangle_covers() {
        let rectangle = |w: f64, l: f64| Shape::Rectangle { half_width_m: w, half_length_m: l };
        near(rectangle(3.0, 3.0).covers_m2(2.0, 0.0), 4.0 * PI);
        near(rectangle(3.0, 3.0).covers_m2(2.0, 3.0), 2.0 * PI);
        near(rectangle(1.0, 1.0).covers_m2(2.0, 0.0), 4.0);
        near(rectangle(1.0, 1.0).covers_m2(2.0, 0.3), 4.0);
        // Two sectors of 120° less their triangles are left out.
        near(rectangle(5.0, 1.0).covers_m2(2.0, 0.0), 4.0 * PI - 2.0 * (4.0 * PI / 3.0 - 3f64.sqrt()));
        near(rectangle(1.0, 5.0).covers_m2(2.0, 0.0), rectangle(5.0, 1.0).covers_m2(2.0, 0.0));
        near(rectangle(1.0, 1.0).covers_m2(2.0, 3.5), 0.0);
    }

    /// Two unit circles that pass through each other's middles share 2π/3 − √3/2 (Euclid I.1).
    #[test]
    fn areas_that_a_disc_covers() {
        let disc = Shape::Disc { radius_m: 1.0 };
        near(disc.covers_m2(1.0, 1.0), 2.0 * PI / 3.0 - 3f64.sqrt() / 2.0);
        near(disc.covers_m2(0.5, 0.2), 0.25 * PI);
        near(disc.covers_m2(3.0, 0.2), PI);
        near(disc.covers_m2(0.5, 1.6), 0.0);
    }
}
