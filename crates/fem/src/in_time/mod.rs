//! Magnetic fields in time: eddies in what conducts, windings with what closes their loops, events.
//!
//! Unknown is the potential of [`crate::magnetostatics`], now with σ ∂A/∂t as a current against it wherever a medium
//! conducts. Displacement currents are left out. A [`Winding`] carries the same current i through every turn, and
//! V(t) = R i + v(i) + dλ/dt with the linkage λ of its own turns and a [`Characteristic`] v(i); it is solved together
//! with the field, not in turns with it. With implicit steps all this is again a convex function of the potential that is made
//! least: the field's energy, half the eddies' dissipation over the step and the contents of the circuits. So Newton's
//! method with a line search finds it from anywhere, as it does for a steady field.
//!
//! In the plane currents close far away: conductors that have no mirror image of opposite current belong to bodies, in
//! each of which the eddies sum to nothing (a potential difference along each body sees to that).
//!
//! Axial drawings are full turns. Planar ones are per metre of depth: so are then linkages, voltages, resistances and
//! powers; a half drawing counts its own half.

mod characteristic;
mod matter;
mod run;
mod stage;

pub use characteristic::Characteristic;

use crate::drawing::Point;
use crate::hysteresis::{Hysteretic, Memory};
use crate::law::Medium;
use crate::magnetostatics::{Magnetostatics, Solution, SolveError};
use crate::mesh::Mesh;
use crate::sparse::SparseError;
use matter::Matter;
use std::sync::Arc;
use thiserror::Error;

/// Why there is no field in time.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum TimeError {
    /// The field equations could not be solved at the start or at any step.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// A conductivity is negative or not finite.
    #[error("region {region} has a conductivity of {conductivity_s_m} S/m")]
    Conductivity {
        /// Which region.
        region: usize,
        /// What it has.
        conductivity_s_m: f64,
    },
    /// The turns of a winding, or a body, are in a region that is not drawn.
    #[error("region {0} is not drawn")]
    NotDrawn(usize),
    /// Current would have to close infinitely far away, through an infinite inductance.
    #[error("the turns of winding {0} do not return within the plane")]
    NoReturn(usize),
    /// A body of conductors that needs none, or shares a region with another.
    #[error(
        "region {0} cannot belong to a body: all bodies are in the plane, of solid conductors, and apart"
    )]
    Body(usize),
    /// Voltage or current falls along a characteristic.
    #[error("a characteristic must rise from point to point, in current or voltage or both")]
    Falling,
    /// A loop without resistance has no current for its electromotive force.
    #[error("the loop of winding {0} needs a resistance")]
    NoResistance(usize),
    /// As many circuits as windings, a potential for each node.
    #[error("{got} {what} for {wanted}")]
    Count {
        /// Of what.
        what: &'static str,
        /// So many were given.
        got: usize,
        /// So many are needed.
        wanted: usize,
    },
    /// A voltage, an applied field or a level is not a number.
    #[error("what drives the field is not finite at {0} s")]
    Drive(f64),
    /// The steps became too short.
    #[error("no step is short enough at {time_s} s")]
    Stuck {
        /// When.
        time_s: f64,
    },
    /// Events follow each other without end.
    #[error("events follow each other without end at {time_s} s")]
    Chattering {
        /// When.
        time_s: f64,
    },
}

impl From<SparseError> for TimeError {
    fn from(error: SparseError) -> Self {
        Self::Solve(error.into())
    }
}

/// Turns in series.
#[derive(Clone, Debug, PartialEq)]
pub struct Winding {
    /// Turns per area of section in m⁻² by region; negative where a positive current runs against φ (axial) or out of
    /// the page (planar).
    pub turns_per_m2: Vec<(usize, f64)>,
}

/// What a winding is connected to.
#[derive(Clone)]
pub struct Circuit<'a> {
    /// Resistance of the loop, in Ω (planar: per metre of depth).
    pub resistance_ohm: f64,
    /// Voltage in the loop by time in s, in V (planar: per metre of depth), positive if it drives positive current.
    pub voltage_v: &'a dyn Fn(f64) -> f64,
    /// Voltage against the current by everything else.
    pub characteristic: Characteristic,
}

impl std::fmt::Debug for Circuit<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Circuit")
            .field("resistance_ohm", &self.resistance_ohm)
            .field("characteristic", &self.characteristic)
            .finish_non_exhaustive()
    }
}

/// Where a field in time begins: all that lasts through a jump of what drives it.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Time in s.
    pub time_s: f64,
    /// Potential by node, in Wb/m, without that of an applied field.
    pub potential: Vec<f64>,
    /// Applied field that belongs to it, in T.
    pub applied_t: f64,
    /// What each quadrature point of the regions that remember does remember, in the order of elements; nothing if it was
    /// fresh before it came to this field.
    pub memory: Vec<Memory>,
}

impl Start {
    /// A field that has been steady until the time 0.
    pub fn steady(solution: &Solution) -> Self {
        Self {
            time_s: 0.0,
            potential: solution.potential.clone(),
            applied_t: solution.applied_t,
            memory: Vec::new(),
        }
    }
}

/// How to step.
#[derive(Clone, Debug, PartialEq)]
pub struct Stepping {
    /// End, in s.
    pub end_s: f64,
    /// Error allowed in one step, in the norm of the field's energy, relative to the largest field so far.
    pub tolerance: f64,
    /// First step to be tried, at the start and after each break, in s.
    pub step_first_s: f64,
    /// Longest step, in s.
    pub step_max_s: f64,
    /// Times at which what drives the field jumps, rising; steps end there.
    pub breaks_s: Vec<f64>,
    /// How closely events are located, in s.
    pub event_s: f64,
    /// Energy in J (planar: per metre of depth) of the field that errors are relative to, while no larger one was there. A
    /// field that grows from nothing is else followed closely long before it amounts to anything.
    pub energy_j: f64,
    /// Share of the tolerance that a stage may be left from where Newton's method would end.
    pub settled: f64,
}

impl Stepping {
    /// Until a time, to 10⁻⁴ a step, the first a thousandth of the time, without breaks, events to a millionth of it, errors
    /// relative to whatever field there was, stages to a hundredth of the tolerance.
    pub fn until(end_s: f64) -> Self {
        Self {
            end_s,
            tolerance: 1e-4,
            step_first_s: 1e-3 * end_s.abs(),
            step_max_s: f64::INFINITY,
            breaks_s: Vec::new(),
            event_s: 1e-6 * end_s.abs(),
            energy_j: 0.0,
            settled: 0.01,
        }
    }
}

/// What happened at the end of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// A winding left a piece of its characteristic: its current reached zero, its clamp starts to conduct or stops.
    Piece {
        /// Which winding.
        winding: usize,
        /// The piece it was on.
        left: usize,
    },
    /// A level was crossed.
    Level {
        /// Which.
        level: usize,
        /// Upwards.
        rising: bool,
    },
}

/// Energies since the start, in J (planar: per metre of depth).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energies {
    /// Given by the voltages.
    pub supplied_j: f64,
    /// Heat in the resistances of the loops.
    pub ohmic_j: f64,
    /// Taken up by the characteristics.
    pub taken_j: f64,
    /// Heat of the eddies.
    pub eddy_j: f64,
    /// Heat of iron that remembers.
    pub hysteresis_j: f64,
    /// By which the field's functional has grown (energy stored, less the work of currents that media carry by
    /// themselves).
    pub stored_j: f64,
}

impl Energies {
    /// What does not balance, over the largest of the parts. An applied field does work that is not counted while it
    /// changes.
    pub fn imbalance(&self) -> f64 {
        let out = [self.ohmic_j, self.taken_j, self.eddy_j, self.hysteresis_j, self.stored_j];
        let largest = out.iter().fold(self.supplied_j.abs(), |m, e| m.max(e.abs()));
        if largest == 0.0 { 0.0 } else { (self.supplied_j - out.iter().sum::<f64>()).abs() / largest }
    }
}

/// One winding at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WindingState {
    /// Current in A.
    pub current_a: f64,
    /// Linkage in Wb (planar: per metre of depth).
    pub linkage_wb: f64,
    /// Voltage by its characteristic, in V (planar: per metre of depth).
    pub voltage_v: f64,
    /// The piece of its characteristic that it is on.
    pub piece: usize,
}

/// One moment.
#[derive(Debug)]
pub struct Moment<'a> {
    /// Time in s.
    pub time_s: f64,
    /// Potential by node, in Wb/m, without that of the applied field.
    pub potential: &'a [f64],
    /// Applied field in T.
    pub applied_t: f64,
    /// By winding. At a start, as far as it can be told: currents and voltages are those just after.
    pub windings: &'a [WindingState],
    /// Power of the eddies, in W (planar: per metre of depth).
    pub eddy_w: f64,
    /// Balance so far.
    pub energies: &'a Energies,
    /// What happened here.
    pub event: Option<Event>,
    memory: &'a [Memory],
    field: &'a FieldInTime,
}

impl Moment<'_> {
    /// The field as it is, to be read as a steady one.
    pub fn solution(&self) -> Solution {
        let currents = self.windings.iter().map(|w| w.current_a);
        Solution {
            mesh: self.field.statics.mesh().clone(),
            potential: self.potential.to_vec(),
            media: self.field.with_currents(currents),
            applied_t: self.applied_t,
            steps: 0,
            correction: 0.0,
        }
    }

    /// Where to go on from, with other circuits or another applied field.
    pub fn start(&self) -> Start {
        Start {
            time_s: self.time_s,
            potential: self.potential.to_vec(),
            applied_t: self.applied_t,
            memory: self.memory.to_vec(),
        }
    }
}

/// A quantity that is watched for crossing zero.
pub type Level<'a> = &'a dyn Fn(&Moment) -> f64;

/// A mesh with media and windings, made ready for fields in time.
#[derive(Clone, Debug)]
pub struct FieldInTime {
    statics: Magnetostatics,
    media: Arc<Vec<Medium>>,
    windings: Vec<Winding>,
    /// By region.
    memory: Vec<Option<Arc<Hysteretic>>>,
    matter: Matter,
}

impl FieldInTime {
    /// Make ready. Media by region carry what currents they have besides those of the windings. Each of `bodies` is a
    /// list of regions that are joined at both ends, far away, so that their eddies sum to nothing; in the plane all
    /// other conductors make one more such body, unless their mirror images carry the opposite.
    ///
    /// # Errors What is not drawn, or cannot be; winding currents that do not return within the plane.
    pub fn new(
        mesh: Mesh,
        media: Arc<Vec<Medium>>,
        windings: Vec<Winding>,
        bodies: &[Vec<usize>],
    ) -> Result<Self, TimeError> {
        let statics = Magnetostatics::new(mesh)?;
        let matter = Matter::new(&statics, &media, &windings, bodies)?;
        let memory = vec![None; media.len()];
        Ok(Self { statics, media, windings, memory, matter })
    }

    /// The same with a region whose iron remembers. The law of its medium then only tells how large the field's energy is
    /// about; what the medium has of remanence stays.
    ///
    /// # Errors A region that is not drawn.
    pub fn with_memory(mut self, region: usize, law: Arc<Hysteretic>) -> Result<Self, TimeError> {
        *self.memory.get_mut(region).ok_or(TimeError::NotDrawn(region))? = Some(law);
        Ok(self)
    }

    /// Number of unknown potentials.
    pub fn unknowns(&self) -> usize {
        self.statics.unknowns()
    }

    /// No field at all, at the time 0.
    pub fn empty(&self) -> Start {
        let potential = vec![0.0; self.statics.mesh().nodes.len()];
        Start { time_s: 0.0, potential, applied_t: 0.0, memory: Vec::new() }
    }

    /// The potential by node of a function of the place, in Wb/m; it is told whether that is in the image of open space.
    pub fn potential_of(&self, value: impl Fn(Point, bool) -> f64) -> Vec<f64> {
        let mesh = self.statics.mesh();
        let mut potential = vec![0.0; mesh.nodes.len()];
        // Nodes on the circle belong to both; there both say the same.
        for k in 0..mesh.element_count() {
            for &node in mesh.element(k) {
                potential[node as usize] = value(mesh.nodes[node as usize], k >= mesh.first_exterior);
            }
        }
        potential
    }

    /// Media with these currents in the windings, in A: what a steady field begins from.
    ///
    /// # Errors Another number of currents than of windings.
    pub fn carrying(&self, currents_a: &[f64]) -> Result<Arc<Vec<Medium>>, TimeError> {
        counted("currents", currents_a.len(), self.windings.len())?;
        Ok(self.with_currents(currents_a.iter().copied()))
    }

    fn with_currents(&self, currents_a: impl Iterator<Item = f64>) -> Arc<Vec<Medium>> {
        let mut media = (*self.media).clone();
        for (winding, current) in self.windings.iter().zip(currents_a) {
            for &(region, turns) in &winding.turns_per_m2 {
                media[region].current_density += turns * current;
            }
        }
        Arc::new(media)
    }
}

fn counted(what: &'static str, got: usize, wanted: usize) -> Result<(), TimeError> {
    if got == wanted { Ok(()) } else { Err(TimeError::Count { what, got, wanted }) }
}
