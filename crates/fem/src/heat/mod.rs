//! Heat conduction in solids: steady and transient, on the same meshes as the field.
//!
//! `ρc ∂T/∂t = ∇·(k ∇T) + f q (1 + α (T - T₀))` in every region that has a [`Substance`]; other regions
//! conduct nothing. On the outside `-k ∂T/∂n = h (T - T∞)` with a coefficient h that depends on the surface's
//! mean temperature ([`Film`]), between bodies in contact a flux `h (T₁ - T₂)` with the temperature jumping
//! ([`Contact`]), on axes and mirrors nothing flows. The factor f is one number, given by the caller from the
//! time and the mean temperature of what generates heat: that is how a source whose power depends on its own
//! mean temperature enters, exactly.
//!
//! Axial drawings are full turns: powers in W, volumes in m³. Planar ones are per metre of depth.

mod assembly;
mod read;
mod steady;
mod transient;

pub use read::{Hottest, Thermometer};
pub use transient::{HeatEnergies, Moment, Stepping};

use crate::drawing::Point;
use crate::mesh::Mesh;
use crate::sparse::{Factor, Pattern, SparseError};
use std::sync::Arc;
use thiserror::Error;

/// What fills a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Substance {
    /// Conductivity along x and y, in W/(m K).
    pub conductivity: [f64; 2],
    /// Heat capacity per volume, in J/(m³ K).
    pub heat_capacity: f64,
    /// Heat generated per volume at the reference temperature and a factor of 1, in W/m³.
    pub generation: f64,
    /// How generation grows with local temperature, in 1/K of the value at the reference.
    pub temperature_coefficient: f64,
    /// Reference temperature, in K.
    pub reference_k: f64,
}

impl Substance {
    /// One that generates nothing and conducts alike in all directions.
    pub fn plain(conductivity: f64, heat_capacity: f64) -> Self {
        Self {
            conductivity: [conductivity; 2],
            heat_capacity,
            generation: 0.0,
            temperature_coefficient: 0.0,
            reference_k: 293.15,
        }
    }
}

/// Two regions that touch without being one: their common boundary lets heat through as a film does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// The regions.
    pub regions: [usize; 2],
    /// Conductance in W/(m² K).
    pub conductance: f64,
}

/// A side of an element that separates a substance from a region without one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// Its middle, in m.
    pub middle: Point,
    /// Unit normal there, out of the substance.
    pub outward: Point,
    /// Region of the substance.
    pub region: usize,
    /// Region on the other side.
    pub beyond: usize,
}

/// How one surface gives off heat.
#[derive(Clone, Copy)]
pub struct Film<'a> {
    /// Temperature it gives heat to, in K.
    pub ambient_k: f64,
    /// Coefficient in W/(m² K) from the surface's mean temperature in K.
    pub coefficient: &'a (dyn Fn(f64) -> f64 + Sync),
}

impl std::fmt::Debug for Film<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Film").field("ambient_k", &self.ambient_k).finish_non_exhaustive()
    }
}

/// Why there is no temperature.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum HeatError {
    /// Nothing conducts.
    #[error("no region has a substance")]
    Nothing,
    /// A property is not possible.
    #[error(
        "region {region}: conductivity and heat capacity must be positive, generation not negative, all finite"
    )]
    Substance {
        /// Which region.
        region: usize,
    },
    /// A contact's conductance is not positive.
    #[error("a contact conductance of {0} W/(m² K) is not possible")]
    Contact(f64),
    /// A surface was assigned to a film that is not there, or the number of films changed.
    #[error("film {0} does not exist")]
    NoFilm(usize),
    /// A film's coefficient is negative or not finite.
    #[error("film {film} gave a coefficient of {coefficient} W/(m² K) at {surface_k} K")]
    Film {
        /// Which.
        film: usize,
        /// What it gave.
        coefficient: f64,
        /// At this surface temperature.
        surface_k: f64,
    },
    /// The caller's factor is negative or not finite.
    #[error("a generation factor of {0} is not possible")]
    Factor(f64),
    /// More heat is generated than can get away at any temperature up to the ceiling.
    #[error("the temperature rises without a steady state, beyond {ceiling_k} K")]
    Runaway {
        /// Where it was given up, in K.
        ceiling_k: f64,
    },
    /// No step, however short, leads on, or the steady state is not met.
    #[error("no temperature balances this heat (it was still out by {correction_k:.1e} K)")]
    NotConverged {
        /// Last correction in K.
        correction_k: f64,
    },
    /// The linear algebra failed.
    #[error(transparent)]
    Sparse(#[from] SparseError),
}

/// A conduction problem made ready: unknowns numbered, matrices assembled, nothing solved.
#[derive(Debug)]
pub struct Heat {
    mesh: Arc<Mesh>,
    /// Unknown of each node of each element; bodies in contact have their own along the common boundary.
    unknown: Vec<u32>,
    pattern: Arc<Pattern>,
    factor: Factor,
    /// Conduction and contacts.
    conduction: Vec<f64>,
    capacity: Vec<f64>,
    /// Growth of generation with temperature.
    gain: Vec<f64>,
    /// Generation extrapolated to 0 K.
    source: Vec<f64>,
    /// Mean of what generates heat, weighted by generation; of everything if nothing does.
    mean: Vec<f64>,
    /// ∫ N dV for each node of each element.
    volume: Vec<f64>,
    films: Vec<Surface>,
    /// Place of each unknown.
    place: Vec<Point>,
}

/// The matrix ∫ N Nᵀ dA of one film's surface.
#[derive(Clone, Debug, Default)]
struct Surface {
    entries: Vec<SurfaceEntry>,
    /// ∫ N dA by unknown.
    load: Vec<(u32, f64)>,
    area_m2: f64,
}

#[derive(Clone, Copy, Debug)]
struct SurfaceEntry {
    row: u32,
    column: u32,
    /// Place in the matrix.
    at: u32,
    value: f64,
}

/// Heat flows at one temperature field.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Flows {
    /// Generated, in W.
    pub generated_w: f64,
    /// Given off by each film, in W.
    pub given_w: Vec<f64>,
    /// Mean temperature of each film's surface, in K; the ambient's where a film has no surface.
    pub surface_k: Vec<f64>,
    /// Coefficient of each film, in W/(m² K).
    pub coefficient: Vec<f64>,
    /// Mean temperature of what generates heat, in K.
    pub mean_k: f64,
    /// The caller's factor.
    pub factor: f64,
}

/// A steady temperature field.
#[derive(Clone, Debug, PartialEq)]
pub struct Steady {
    /// Temperature of each unknown, in K; read it with [`Heat::hottest`], [`Heat::mean_k`] and
    /// [`Thermometer`].
    pub temperature_k: Vec<f64>,
    /// Where the heat goes.
    pub flows: Flows,
}

impl Flows {
    /// What is given off less what is generated, over the larger of the two.
    pub fn imbalance(&self) -> f64 {
        let given: f64 = self.given_w.iter().sum();
        let larger = given.abs().max(self.generated_w);
        if larger == 0.0 { 0.0 } else { (given - self.generated_w) / larger }
    }
}

impl Heat {
    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.pattern.n()
    }

    /// The mesh.
    pub fn mesh(&self) -> &Arc<Mesh> {
        &self.mesh
    }

    /// A field that has one temperature everywhere.
    pub fn uniform(&self, kelvin: f64) -> Vec<f64> {
        vec![kelvin; self.unknowns()]
    }

    /// A field given by a function of place, at the nodes.
    pub fn field(&self, kelvin: impl Fn(Point) -> f64) -> Vec<f64> {
        self.place.iter().map(|&p| kelvin(p)).collect()
    }

    /// Net heat into each unknown, `out = f (s + G T) - K T - Σ h B (T - T∞)`, and the flows it is made of.
    fn flows(
        &self,
        temperature: &[f64],
        films: &[Film],
        drive: impl Fn(f64) -> f64,
        out: &mut Vec<f64>,
    ) -> Result<Flows, HeatError> {
        if films.len() != self.films.len() {
            return Err(HeatError::NoFilm(films.len()));
        }
        let mean_k = dot(&self.mean, temperature);
        let factor = drive(mean_k);
        if !(factor.is_finite() && factor >= 0.0) {
            return Err(HeatError::Factor(factor));
        }
        let mut flows = Flows { mean_k, factor, ..Flows::default() };
        out.clear();
        out.extend_from_slice(&self.source);
        self.pattern.multiply_add(&self.gain, temperature, out);
        flows.generated_w = factor * out.iter().sum::<f64>();
        let mut conducted = vec![0.0; out.len()];
        self.pattern.multiply_add(&self.conduction, temperature, &mut conducted);
        for (o, c) in out.iter_mut().zip(&conducted) {
            *o = factor * *o - c;
        }
        for (k, (surface, film)) in self.films.iter().zip(films).enumerate() {
            let (surface_k, coefficient) = if surface.area_m2 > 0.0 {
                let mean = surface.mean(temperature);
                (mean, (film.coefficient)(mean))
            } else {
                (film.ambient_k, 0.0)
            };
            if !(coefficient.is_finite() && coefficient >= 0.0) {
                return Err(HeatError::Film { film: k, coefficient, surface_k });
            }
            for e in &surface.entries {
                let (r, c) = (e.row as usize, e.column as usize);
                out[r] -= coefficient * e.value * (temperature[c] - film.ambient_k);
                if r != c {
                    out[c] -= coefficient * e.value * (temperature[r] - film.ambient_k);
                }
            }
            flows.given_w.push(coefficient * surface.area_m2 * (surface_k - film.ambient_k));
            flows.surface_k.push(surface_k);
            flows.coefficient.push(coefficient);
        }
        Ok(flows)
    }

    /// Derivative of what leaves, `capacity_scale · C + K - f G + Σ h′ B`, with h′ the derivative of h (T -
    /// T∞) by the mean temperature.
    fn tangent(&self, flows: &Flows, films: &[Film], capacity_scale: f64) -> Vec<f64> {
        let mut values: Vec<f64> = (self.conduction.iter().zip(&self.capacity).zip(&self.gain))
            .map(|((k, c), g)| k + capacity_scale * c - flows.factor * g)
            .collect();
        for (k, (surface, film)) in self.films.iter().zip(films).enumerate() {
            if surface.area_m2 == 0.0 {
                continue;
            }
            let (h, t) = (flows.coefficient[k], flows.surface_k[k]);
            let slope = ((film.coefficient)(t + SLOPE_STEP_K) - h) / SLOPE_STEP_K;
            // Only the way to the solution depends on this; keep it positive and of the right size.
            let effective = (h + slope * (t - film.ambient_k)).clamp(0.5 * h, 3.0 * h);
            if effective.is_finite() {
                surface.entries.iter().for_each(|e| values[e.at as usize] += effective * e.value);
            }
        }
        values
    }

    /// Generation at a factor of 1.
    fn unit_generation(&self, temperature: &[f64]) -> Vec<f64> {
        let mut g = self.source.clone();
        self.pattern.multiply_add(&self.gain, temperature, &mut g);
        g
    }
}

/// For numerical derivatives by temperature.
const SLOPE_STEP_K: f64 = 0.05;

impl Surface {
    /// Mean temperature; the surface must have an area.
    fn mean(&self, temperature: &[f64]) -> f64 {
        self.load.iter().map(|&(u, w)| w * temperature[u as usize]).sum::<f64>() / self.area_m2
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn largest(values: &[f64]) -> f64 {
    // A NaN must not pass for small.
    values.iter().fold(0.0, |m: f64, v| if v.is_nan() { f64::NAN } else { m.max(v.abs()) })
}

/// Solves `(A - c u wᵀ) x = r` from a factor of A: how power that follows a mean temperature enters (Sherman
/// and Morrison, Ann. Math. Stat. 21 (1950) 124). `z` is A⁻¹ u.
fn correct_rank_one(x: &mut [f64], z: &[f64], w: &[f64], c: f64) -> bool {
    let denominator = 1.0 - c * dot(w, z);
    let scale = c * dot(w, x) / denominator;
    if !(denominator > 0.0 && scale.is_finite()) {
        return false;
    }
    for (x, z) in x.iter_mut().zip(z) {
        *x += scale * z;
    }
    true
}
