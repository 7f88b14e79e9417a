//! What closes a winding's loop: voltage against current as a line of straight pieces that never falls.

use super::TimeError;

/// Voltage against current: straight pieces, end to end, from minus to plus infinity, of which none falls. Level ones
/// are sources, upright ones hold a current whatever the voltage. Such a line is the slope of a convex function of the
/// current, which is why the field with its circuits still makes a functional least (J. J. Moreau, Bull. Soc. Math.
/// France 93 (1965) 273–299, from memory).
#[derive(Clone, Debug, PartialEq)]
pub struct Characteristic {
    pieces: Vec<Piece>,
}

/// From `at` in the direction `along` (both in A, V), for parameters from `from` to `to`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    at: [f64; 2],
    along: [f64; 2],
    from: f64,
    to: f64,
}

/// A loop of resistance R at one electromotive force e = R i + v(i).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Answer {
    pub(crate) piece: usize,
    pub(crate) current_a: f64,
    /// di/de in S.
    pub(crate) slope: f64,
    /// ∫ i de in W, up to a constant.
    pub(crate) content_w: f64,
}

impl Characteristic {
    /// Nothing but wire: no voltage at any current.
    pub fn short() -> Self {
        Self::line([0.0, 0.0], [1.0, 0.0])
    }

    /// No current at any voltage.
    pub fn open() -> Self {
        Self::held(0.0)
    }

    /// A current in A that is held at any voltage.
    pub fn held(current_a: f64) -> Self {
        Self::line([current_a, 0.0], [0.0, 1.0])
    }

    /// A rectifier that lets positive current pass at this voltage, in V, and none in the other direction.
    pub fn rectifier(forward_v: f64) -> Self {
        Self { pieces: join(&[[0.0, forward_v]], [0.0, 1.0], [1.0, 0.0]) }
    }

    /// A clamp that lets current of either sign pass at this voltage against it, in V, and none below.
    pub fn clamp(voltage_v: f64) -> Self {
        let points = [[0.0, -voltage_v], [0.0, voltage_v]];
        Self { pieces: join(&points, [1.0, 0.0], [1.0, 0.0]) }
    }

    /// One straight line through a point (A, V) in a direction (A, V).
    fn line(at: [f64; 2], along: [f64; 2]) -> Self {
        Self { pieces: vec![Piece { at, along, from: f64::NEG_INFINITY, to: f64::INFINITY }] }
    }

    /// Through some points (A, V), and straight on beyond the first and the last in the given directions (A, V).
    ///
    /// # Errors Points or directions along which current or voltage falls, or neither changes.
    pub fn through(points: &[[f64; 2]], before: [f64; 2], after: [f64; 2]) -> Result<Self, TimeError> {
        let rises = |d: [f64; 2]| d.iter().all(|c| c.is_finite() && *c >= 0.0) && d != [0.0; 2];
        let steps = points.windows(2).map(|p| [p[1][0] - p[0][0], p[1][1] - p[0][1]]);
        let sound = points.iter().flatten().all(|c| c.is_finite()) && !points.is_empty();
        if sound && steps.chain([before, after]).all(rises) {
            Ok(Self { pieces: join(points, before, after) })
        } else {
            Err(TimeError::Falling)
        }
    }

    /// Number of pieces.
    pub fn pieces(&self) -> usize {
        self.pieces.len()
    }

    /// Whether current may change on a piece.
    pub fn conducts(&self, piece: usize) -> bool {
        self.pieces[piece].along[0] > 0.0
    }

    /// Whether each electromotive force has its current with this resistance in the loop, in Ω.
    pub(crate) fn determined(&self, resistance: f64) -> bool {
        self.pieces.iter().all(|p| p.per_parameter(resistance) > 0.0)
    }

    /// Where a piece begins and ends, by electromotive force in V.
    pub(crate) fn range(&self, piece: usize, resistance: f64) -> [f64; 2] {
        let p = &self.pieces[piece];
        [p.from, p.to].map(|t| if t.is_finite() { p.emf(t, resistance) } else { t })
    }

    /// The loop's answer, on whichever piece it falls, or on one that is taken to go on beyond its ends.
    pub(crate) fn at(&self, emf: f64, resistance: f64, held: Option<usize>) -> Answer {
        let piece = held.unwrap_or_else(|| {
            let last = self.pieces.len() - 1;
            (0..last).find(|&k| emf <= self.range(k, resistance)[1]).unwrap_or(last)
        });
        let p = &self.pieces[piece];
        let slope = p.along[0] / p.per_parameter(resistance);
        let current_a = p.at[0] + slope * (emf - p.emf(0.0, resistance));
        // The content at the piece's foot, from those between it and the first.
        let mut content_w = 0.0;
        for k in 0..piece {
            // Feet are the ends of pieces, so that what lies between two of them is one piece.
            let (a, b) = (&self.pieces[k], &self.pieces[k + 1]);
            let rise = b.emf(0.0, resistance) - a.emf(0.0, resistance);
            content_w += 0.5 * (a.at[0] + b.at[0]) * rise;
        }
        content_w += 0.5 * (p.at[0] + current_a) * (emf - p.emf(0.0, resistance));
        Answer { piece, current_a, slope, content_w }
    }
}

impl Piece {
    fn emf(&self, parameter: f64, resistance: f64) -> f64 {
        self.at[1] + resistance * self.at[0] + parameter * self.per_parameter(resistance)
    }

    fn per_parameter(&self, resistance: f64) -> f64 {
        self.along[1] + resistance * self.along[0]
    }
}

/// Pieces through points: the first stands on its upper end, all others on their lower.
fn join(points: &[[f64; 2]], before: [f64; 2], after: [f64; 2]) -> Vec<Piece> {
    let mut pieces = vec![Piece { at: points[0], along: before, from: f64::NEG_INFINITY, to: 0.0 }];
    for p in points.windows(2) {
        let along = [p[1][0] - p[0][0], p[1][1] - p[0][1]];
        pieces.push(Piece { at: p[0], along, from: 0.0, to: 1.0 });
    }
    let at = points[points.len() - 1];
    pieces.push(Piece { at, along: after, from: 0.0, to: f64::INFINITY });
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slope of the content is the current, the slope of the current is told, and corners are met.
    #[test]
    fn contents_are_integrals() {
        let points = [[-1.0, -3.0], [0.0, -2.0], [0.0, 5.0], [2.0, 5.0], [2.5, 9.0]];
        let line = Characteristic::through(&points, [1.0, 0.0], [0.0, 1.0]).unwrap();
        let (r, d) = (0.7, 1e-6);
        for k in -80..160 {
            let emf = 0.1 * f64::from(k) + 0.003;
            let [a, b, c] = [emf - d, emf, emf + d].map(|e| line.at(e, r, None));
            assert!(((c.content_w - a.content_w) / (2.0 * d) - b.current_a).abs() < 1e-7, "{emf}");
            assert!(((c.current_a - a.current_a) / (2.0 * d) - b.slope).abs() < 1e-7, "{emf}");
            let [low, high] = line.range(b.piece, r);
            assert!(low <= emf && emf <= high);
        }
        // At the points themselves: R i + v leads back to i.
        for [i, v] in points {
            assert!((line.at(r * i + v, r, None).current_a - i).abs() < 1e-12);
        }
    }

    #[test]
    fn what_falls_is_refused() {
        let falls = Characteristic::through(&[[0.0, 1.0], [1.0, 0.5]], [1.0, 0.0], [1.0, 0.0]);
        assert_eq!(falls, Err(TimeError::Falling));
        assert_eq!(Characteristic::through(&[[0.0; 2]], [0.0; 2], [1.0, 0.0]), Err(TimeError::Falling));
        assert!(!Characteristic::short().determined(0.0));
        assert!(Characteristic::rectifier(0.7).determined(1e-3));
    }
}
