//! Iron that remembers: polarisation held by dry friction.
//!
//! The iron is thought of as a few cells side by side. Each has a polarisation J with an energy U(J) without memory, and a
//! friction that takes κ |ΔJ| from every change. In a step from the polarisations J⁰ all cells together make
//!
//! W(B) = min over J of |B − Σ J|² / 2 µ₀ + Σ (U(J) + κ |J − J⁰|)
//!
//! as small as can be. W is convex, H is its slope, and so whatever is true of laws without memory is true of one step of
//! this one: Newton's method finds the field that makes the whole energy least. A cell's own field h = U′(J) trails the
//! applied one at a distance of at most κ: it stays where it is until it is pulled. Source: A. Bergqvist, Physica B 233
//! (1997) 342–347; F. Henrotte, A. Nicolet and K. Hameyer, COMPEL 25 (2006) 71–80 (both from memory); here the direction
//! of the friction is the minimum's, not that of the pull.
//!
//! The law does not know time: eddies are a matter of conductivity. Turning a saturated piece costs it as much as
//! any other turn, which real iron, whose domain walls are gone by then, does not.

mod identified;

use crate::drawing::{Point, cross, dot, sub};
use crate::law::MU_0;
use thiserror::Error;

/// Why there is no such law, or no answer of it.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum HysteresisError {
    /// A cell has negative friction, or polarises backwards, or nothing saturates.
    #[error("friction, saturation and its field must be finite, and not negative")]
    Cell,
    /// Field strengths or flux densities do not rise, or are too few.
    #[error("a commutation curve must rise from point to point, in at least three")]
    Table,
    /// No cells give the table back.
    #[error("the nearest law still misses a flux density of the table by {0:.1e} of it")]
    NotFitted(f64),
    /// A memory of another law.
    #[error("a memory of {0} cells is not of this law")]
    Foreign(usize),
    /// The cells do not come to rest.
    #[error("no polarisation found at {0:?} T")]
    NotConverged(Point),
}

/// A part of a cell's polarisation without memory: J = Js h / √(a² + h²), which is the slope of Js (√(a² + h²) − a).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Saturating {
    /// Js in T.
    pub saturation_t: f64,
    /// a in A/m.
    pub field_a_m: f64,
}

/// A cell: what it does without friction, and its friction.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// κ in A/m.
    pub friction_a_m: f64,
    /// Parts that sum up to its polarisation.
    pub parts: Vec<Saturating>,
}

/// What one place remembers: the field that each cell is in equilibrium with, in A/m.
#[derive(Clone, Debug, PartialEq)]
pub struct Memory {
    cells: Vec<Point>,
    field: Point,
}

/// A symmetric matrix [xx, xy, yy].
pub type Symmetric = [f64; 3];

/// The law at one flux density or field strength, after a step from a memory.
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    /// H in A/m.
    pub field_a_m: Point,
    /// B in T.
    pub flux_density_t: Point,
    /// ∂B/∂H in H/m.
    pub permeability: Symmetric,
    /// ∂H/∂B in m/H.
    pub reluctivity: Symmetric,
    /// W in J/m³: stored, and lost in this step. Its slope by B is H.
    pub energy: f64,
    /// Lost in this step, in J/m³.
    pub loss: f64,
    /// What is remembered from here on.
    pub memory: Memory,
}

/// A law with memory.
#[derive(Clone, Debug, PartialEq)]
pub struct Hysteretic {
    cells: Vec<Cell>,
}

/// Newton's method may take so many steps.
const STEPS_MAX: usize = 100;
/// Flux densities agree to this, in T.
const SETTLED_T: f64 = 1e-13;
/// Directions of friction agree to this, in radians.
const SETTLED_ANGLE: f64 = 1e-13;
/// Below this they may be no better for rounding.
const SMALL_ANGLE: f64 = 1e-8;

impl Hysteretic {
    /// Of given cells.
    ///
    /// # Errors Cells that cannot be.
    pub fn new(cells: Vec<Cell>) -> Result<Self, HysteresisError> {
        let sound = |c: &Cell| {
            let parts = c.parts.iter().all(|p| {
                p.saturation_t >= 0.0
                    && p.saturation_t.is_finite()
                    && p.field_a_m > 0.0
                    && p.field_a_m.is_finite()
            });
            c.friction_a_m >= 0.0 && c.friction_a_m.is_finite() && parts
        };
        if cells.iter().all(sound) { Ok(Self { cells }) } else { Err(HysteresisError::Cell) }
    }

    /// The cells.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Iron that has never been magnetised, or has been demagnetised since.
    pub fn fresh(&self) -> Memory {
        Memory { cells: vec![[0.0; 2]; self.cells.len()], field: [0.0; 2] }
    }

    /// The step to a field strength, in A/m.
    ///
    /// # Errors Cells that do not come to rest; a memory of another law.
    pub fn at_field(&self, field: Point, memory: &Memory) -> Result<Response, HysteresisError> {
        if memory.cells.len() != self.cells.len() {
            return Err(HysteresisError::Foreign(memory.cells.len()));
        }
        let mut next = Memory { cells: Vec::with_capacity(self.cells.len()), field };
        let mut b = [MU_0 * field[0], MU_0 * field[1]];
        let mut permeability = [MU_0, 0.0, MU_0];
        let (mut coenergy, mut loss) = (0.5 * MU_0 * dot(field, field), 0.0);
        for (cell, &own) in self.cells.iter().zip(&memory.cells) {
            let before = cell.at(own).polarisation;
            let Some(pulled) = cell.pulled(field, own, before) else {
                return Err(HysteresisError::NotConverged(b));
            };
            b = [b[0] + pulled.polarisation[0], b[1] + pulled.polarisation[1]];
            (0..3).for_each(|k| permeability[k] += pulled.slope[k]);
            coenergy += pulled.coenergy;
            loss += cell.friction_a_m * size(sub(pulled.polarisation, before));
            next.cells.push(pulled.own);
        }
        Ok(Response {
            field_a_m: field,
            flux_density_t: b,
            permeability,
            reluctivity: inverse(permeability),
            energy: dot(b, field) - coenergy,
            loss,
            memory: next,
        })
    }

    /// The step to a flux density, in T: the field strength H makes ∫ B(H) dH − B H least, which Newton's method with a
    /// line search finds.
    ///
    /// # Errors Cells that do not come to rest; a memory of another law.
    pub fn at(&self, flux_density: Point, memory: &Memory) -> Result<Response, HysteresisError> {
        self.at_from(flux_density, memory, memory.field)
    }

    /// The same, from a guess of the field strength, in A/m.
    pub(crate) fn at_from(
        &self,
        flux_density: Point,
        memory: &Memory,
        guess: Point,
    ) -> Result<Response, HysteresisError> {
        let of = |response: &Response| {
            let excess = sub(response.flux_density_t, flux_density);
            // Φ = coenergy − B H, with the coenergy from the energy at the response's own flux density.
            (excess, dot(response.field_a_m, excess) - response.energy)
        };
        let mut now = self.at_field(guess, memory)?;
        let tolerance = SETTLED_T * size(flux_density).max(1.0);
        for _ in 0..STEPS_MAX {
            let (excess, functional) = of(&now);
            if size(excess) <= tolerance {
                return Ok(now);
            }
            let d = times(now.reluctivity, [-excess[0], -excess[1]]);
            let decrement = -dot(d, excess);
            let mut t = 1.0;
            let next = loop {
                let field = [now.field_a_m[0] + t * d[0], now.field_a_m[1] + t * d[1]];
                let next = self.at_field(field, memory)?;
                let (after, value) = of(&next);
                let fall = functional - value;
                let parts = next.energy.abs() + dot(next.field_a_m, next.flux_density_t).abs();
                let lost_in_rounding = fall.abs() <= 1e-12 * parts;
                // Where the functional is lost in rounding, its slope still tells.
                let slope = dot(after, d);
                if slope <= 0.0
                    || fall >= 1e-4 * t * decrement
                    || lost_in_rounding && slope <= 0.9 * decrement
                {
                    break Some(next);
                }
                let parabola = 0.5 * t * t * decrement / (t * decrement - fall);
                t = parabola.clamp(0.1 * t, 0.5 * t);
                if t < 1e-12 {
                    break None;
                }
            };
            match next {
                Some(next) => now = next,
                None => break,
            }
        }
        // Nothing but rounding is left, or the search has failed.
        let left = size(of(&now).0);
        if left <= 100.0 * tolerance { Ok(now) } else { Err(HysteresisError::NotConverged(flux_density)) }
    }
}

/// A cell without friction at its own field.
struct Free {
    polarisation: Point,
    slope: Symmetric,
    /// ∫ J dh in J/m³.
    coenergy: f64,
}

/// A cell pulled by a field.
struct Pulled {
    own: Point,
    polarisation: Point,
    slope: Symmetric,
    /// ∫ J dH of the step, in J/m³, from where there is no field.
    coenergy: f64,
}

impl Cell {
    fn at(&self, own: Point) -> Free {
        let mut free = Free { polarisation: [0.0; 2], slope: [0.0; 3], coenergy: 0.0 };
        let square = dot(own, own);
        for part in &self.parts {
            let length = (part.field_a_m * part.field_a_m + square).sqrt();
            let share = part.saturation_t / length;
            let fall = share / (length * length);
            free.polarisation =
                [free.polarisation[0] + share * own[0], free.polarisation[1] + share * own[1]];
            free.slope[0] += share - fall * own[0] * own[0];
            free.slope[1] -= fall * own[0] * own[1];
            free.slope[2] += share - fall * own[1] * own[1];
            // √(a² + h²) − a without the difference.
            free.coenergy += part.saturation_t * square / (length + part.field_a_m);
        }
        free
    }

    /// Where a field leaves the cell that was in equilibrium with the field `before`, at the polarisation `held`.
    ///
    /// By duality the friction p, |p| ≤ κ, makes U*(H − p) + p J⁰ least. If that is so inside, the cell stays where it is;
    /// else it is on the circle, p = κ n, and one angle is to be found.
    fn pulled(&self, field: Point, before: Point, held: Point) -> Option<Pulled> {
        let kappa = self.friction_a_m;
        if kappa == 0.0 {
            let Free { polarisation, slope, coenergy } = self.at(field);
            return Some(Pulled { own: field, polarisation, slope, coenergy });
        }
        let pull = sub(field, before);
        let far = size(pull);
        if far <= kappa {
            let coenergy = self.at(before).coenergy + dot(pull, held);
            return Some(Pulled { own: before, polarisation: held, slope: [0.0; 3], coenergy });
        }
        let mut n = [pull[0] / far, pull[1] / far];
        let on_circle = |n: Point| {
            let own = [field[0] - kappa * n[0], field[1] - kappa * n[1]];
            let free = self.at(own);
            let functional = free.coenergy + kappa * dot(n, held);
            (own, free, functional)
        };
        let (mut own, mut free, mut functional) = on_circle(n);
        let mut turn_before = f64::INFINITY;
        for _ in 0..STEPS_MAX {
            let across = [-n[1], n[0]];
            let change = sub(free.polarisation, held);
            let bend = kappa * dot(across, times(free.slope, across));
            let stiff = dot(n, change) + bend;
            let off = cross(n, change);
            // Downhill even where the functional is not convex along the circle.
            let turn = if stiff > 0.0 { (off / stiff).clamp(-0.5, 0.5) } else { 0.3 * off.signum() };
            // Newton's steps shrink ever faster until only rounding is left. Where the cell hardly resists a turn, the
            // polarisation is known long before the angle.
            let rounding = 4.0 * f64::EPSILON * (size(free.polarisation) + size(held));
            let small = turn.abs() < SMALL_ANGLE || off.abs() <= 100.0 * rounding;
            let shrinks = turn.abs() < 0.1 * turn_before;
            let mut settled = turn.abs() <= SETTLED_ANGLE || off.abs() <= rounding || small && !shrinks;
            turn_before = turn.abs();
            let mut t = 1.0;
            while !settled {
                let (sin, cos) = (t * turn).sin_cos();
                let turned = [cos * n[0] - sin * n[1], sin * n[0] + cos * n[1]];
                let (next_own, next, value) = on_circle(turned);
                // Where the functional is lost in rounding, its slope still tells.
                let parts = next.coenergy + (value - next.coenergy).abs();
                let lost_in_rounding = (value - functional).abs() <= 1e-12 * parts;
                let off_there = cross(turned, sub(next.polarisation, held));
                if value < functional || lost_in_rounding && off_there.abs() <= off.abs() {
                    (n, own, free, functional) = (turned, next_own, next, value);
                    break;
                }
                t *= 0.5;
                if t < 1e-12 {
                    if !small {
                        return None;
                    }
                    settled = true;
                }
            }
            if settled {
                // The direction follows the field: what changes across it turns the friction instead.
                let bent = times(free.slope, across);
                let resisting = dot(n, change).max(0.0) + bend;
                let weight = if resisting > 0.0 { kappa / resisting } else { 0.0 };
                let slope = [
                    free.slope[0] - weight * bent[0] * bent[0],
                    free.slope[1] - weight * bent[0] * bent[1],
                    free.slope[2] - weight * bent[1] * bent[1],
                ];
                return Some(Pulled { own, polarisation: free.polarisation, slope, coenergy: functional });
            }
        }
        None
    }
}

fn size(v: Point) -> f64 {
    v[0].hypot(v[1])
}

fn times(m: Symmetric, v: Point) -> Point {
    [m[0] * v[0] + m[1] * v[1], m[1] * v[0] + m[2] * v[1]]
}

fn inverse([xx, xy, yy]: Symmetric) -> Symmetric {
    let det = xx * yy - xy * xy;
    [yy / det, -xy / det, xx / det]
}
