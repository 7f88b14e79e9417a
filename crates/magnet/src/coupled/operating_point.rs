//! Where field, winding and heat meet: what the supply drives through the winding at its temperature, and what that
//! current makes of pull, field and flux linkage.
//!
//! The field is solved once for a row of currents; everything that follows current in time reads the curves.

use crate::circuit::curve::Curve;
use crate::diagnostic::Diagnostic;
use crate::failure::Failure;
use crate::magnet::assumption::Assumption;
use crate::magnet::winding::Winding;
use crate::magnet::{Excitation, Magnet, Pole, Supply};
use crate::magnetic::scene::Stage;
use crate::magnetic::solved::{Solved, flux_per_turn_wb, no_flux, pull_n};
use crate::quantity::Dimension;
use crate::sheet::{Form, Sheet};
use crate::thermal::duty::VDE_CYCLE_S;
use crate::uncertainty::measure::Measure;
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;

/// Relative accuracy asked of the field solver where the sheet asks for none.
const ACCURACY: f64 = 3e-3;
/// How far beyond the greatest current wanted the curves go.
const BEYOND: f64 = 1.02;

/// Parts into which every interval of the pull's table is cut.
const REFINED: u32 = 8;
/// Currents nearer to each other, over the greatest, are one.
const CLOSEST: f64 = 1e-6;
/// Exponent of the currents' spacing.
const SPACING: f64 = 1.7;

/// Pull, flux density and flux linkage against current (A); all start at 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Strength {
    /// Pull on the workpiece at its gap, N.
    pub pull: Curve,
    /// Flux linkage with the workpiece at its gap, Wb.
    pub linkage: Curve,
    /// Flux density over the middle of the inner pole with nothing in front of it, T; none if not asked for.
    pub field: Option<Curve>,
    /// Co-energy with the workpiece at its gap, J, at the table's currents.
    pub coenergy_j: Vec<f64>,
    /// Height above the face at which the field is taken, m.
    pub standoff_m: f64,
    /// Relative numerical error of the pull at the greatest current.
    pub error: f64,
    /// The same of the field; 0 if it was not asked for.
    pub field_error: f64,
}

/// What the curves of a [`Strength`] were read from, at the greatest current, for whatever else is to be varied.
#[derive(Clone, Debug)]
pub struct Fields {
    /// With the workpiece at its gap.
    pub closed: Solved,
    /// With nothing in front of it; none if not asked for.
    pub open: Option<Solved>,
}

/// The winding of a magnet and its supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Driven<'a> {
    /// The winding.
    pub winding: &'a Winding,
    /// The supply.
    pub supply: Supply,
    /// Turns and sense.
    pub excitation: &'a Excitation,
}

impl<'a> Driven<'a> {
    /// The winding and supply of a magnet.
    ///
    /// # Errors
    /// Permanent magnets, profiles and ampere-turns alone have none; said as a fault of the sheet.
    pub fn of(sheet: &Sheet, magnet: &'a Magnet) -> Result<Self, Diagnostic> {
        let none = || {
            let hint = match sheet.form() {
                Form::Profile => {
                    "a profile's regions carry ampere-turns only; describe a wound magnet by its form"
                }
                _ => "it is a permanent magnet: ask for its field or pull",
            };
            sheet.fault("form", format!("a \"{}\" has no winding that warms or switches", sheet.form()), hint)
        };
        let excitation = magnet.excitation.as_ref().ok_or_else(none)?;
        let known = excitation.winding.as_ref().zip(excitation.supply);
        let (winding, supply) = known.ok_or_else(|| {
            sheet.fault(
                "winding.ampere_turns",
                "ampere-turns alone say nothing of resistance, power or voltage",
                "replace `ampere_turns` by two of `turns`, `wire` and `resistance`, and `drive.voltage` or `drive.current`",
            )
        })?;
        let current = supply.current_a(winding.resistance_ohm(excitation.kelvin));
        if !(current.is_finite() && current > 0.0) {
            let path = if sheet.has("drive.current") { "drive.current" } else { "drive.voltage" };
            return Err(sheet.fault(
                path,
                "no current flows",
                "nothing warms and nothing switches without one",
            ));
        }
        Ok(Self { winding, supply, excitation })
    }

    /// Current at a mean temperature of the winding (K), A.
    pub fn current_a(&self, mean_k: f64) -> f64 {
        self.supply.current_a(self.winding.resistance_ohm(mean_k))
    }

    /// Power in the winding at a mean temperature (K), W.
    pub fn power_w(&self, mean_k: f64) -> f64 {
        self.winding.power_w(self.current_a(mean_k), mean_k)
    }
}

impl Strength {
    /// Solve the field at `count` currents up to `most_a` and at some `more` below, each from the one before, and join them by
    /// monotone curves. Gives back the fields at the greatest current.
    ///
    /// # Errors
    /// The field cannot be solved, or a pull that does not rise with current.
    pub fn solve(
        sheet: &Sheet,
        magnet: &Magnet,
        driven: &Driven<'_>,
        most_a: f64,
        (count, more): (usize, &[f64]),
        with_field: bool,
    ) -> Result<(Self, Fields), Failure> {
        let most_a = BEYOND * most_a;
        let turns = driven.excitation.turns;
        let sign = driven.excitation.ampere_turns.signum();
        let at =
            |stage: &Stage, current_a: f64| Stage { ampere_turns: sign * turns * current_a, ..stage.clone() };
        let stage = magnet.stage();
        let accuracy = sheet.value("accuracy.pull").unwrap_or(ACCURACY);
        let mut closed = Solved::for_pull(magnet.scene(&at(&stage, most_a)), accuracy)?;
        let moving = closed.scene.moving.clone();
        let motion = closed.ladder.motion(|k| moving[k], [0.0, 1.0])?;
        let estimate = closed.ladder.force(&motion);
        if let Some(why) = no_flux(&closed.scene, closed.ladder.solution()) {
            return Err(Failure::Physics(format!("the winding's inductance is {why}")));
        }
        let error = (estimate.error / estimate.value).abs();

        // Closer at little current, where pull starts as its square.
        let share = |k: usize| (k as f64 / (count - 1) as f64).powf(SPACING);
        let mut currents: Vec<f64> =
            (0..count).map(|k| most_a * share(k)).chain(more.iter().copied()).collect();
        currents.sort_by(f64::total_cmp);
        currents.dedup_by(|a, b| (*a - *b).abs() < CLOSEST * most_a);
        let count = currents.len();
        let mut rows = vec![(0.0, 0.0, 0.0); count];
        let mut before = Some(closed.ladder.solution().clone());
        for k in (1..count).rev() {
            let scene = magnet.scene(&at(&stage, currents[k]));
            let (solution, drawing) = closed.neighbour(&scene, before.as_ref())?;
            let (_, coenergy) = solution.energies();
            rows[k] = (
                pull_n(&scene, &drawing, &solution)?,
                turns * sign * flux_per_turn_wb(&scene, &solution),
                scene.scale * coenergy,
            );
            before = Some(solution);
        }
        let curve = |values: Vec<f64>, what: &str| {
            Curve::new(currents.clone(), values).map_err(|e| {
                Failure::Physics(format!(
                    "the {what} does not rise with the current ({e}); an applied field opposes it?"
                ))
            })
        };
        let standoff_m = sheet.value("probe.standoff").unwrap_or(1e-3);
        let (mut field, mut field_error, mut opened) = (None, 0.0, None);
        if with_field {
            let open = magnet.open_stage();
            let mut solved = Solved::for_pull(magnet.scene(&at(&open, most_a)), accuracy)?;
            let read = |s: &Solution| over_pole_t(magnet, standoff_m, s);
            let estimate = solved.ladder.estimate(read);
            field_error = (estimate.error / estimate.value).abs();
            let mut values = vec![0.0; count];
            let mut before = Some(solved.ladder.solution().clone());
            for k in (1..count).rev() {
                let scene = magnet.scene(&at(&open, currents[k]));
                let (solution, _) = solved.neighbour(&scene, before.as_ref())?;
                values[k] = read(&solution);
                before = Some(solution);
            }
            field = Some(curve(values, "field")?);
            opened = Some(solved);
        }
        Ok((
            Self {
                pull: by_roots(&curve(rows.iter().map(|r| r.0.max(0.0).sqrt()).collect(), "pull")?)?,
                linkage: curve(rows.iter().map(|r| r.1).collect(), "flux")?,
                field,
                coenergy_j: rows.iter().map(|r| r.2).collect(),
                standoff_m,
                error,
                field_error,
            },
            Fields { closed, open: opened },
        ))
    }

    /// Pull at a current, N; the curve's end beyond it.
    pub fn pull_n(&self, current_a: f64) -> f64 {
        read(&self.pull, current_a)
    }

    /// Flux density at a current, T; none if it was not solved.
    pub fn field_t(&self, current_a: f64) -> Option<f64> {
        self.field.as_ref().map(|f| read(f, current_a))
    }
}

/// Flux density over the middle of the inner pole, T.
pub(crate) fn over_pole_t(magnet: &Magnet, standoff_m: f64, solution: &Solution) -> f64 {
    let place = [magnet.poles.first().map_or(0.0, Pole::middle_m), magnet.face_m + standoff_m];
    Probe::new(solution).at(place).size_t()
}

/// Pull from its root, which is nearly straight where pull itself is not: sampled finely, then squared.
fn by_roots(roots: &Curve) -> Result<Curve, Failure> {
    let mut fine = vec![0.0];
    for w in roots.knots().windows(2) {
        fine.extend((1..=REFINED).map(|k| w[0] + (w[1] - w[0]) * f64::from(k) / f64::from(REFINED)));
    }
    let pulls = fine.iter().map(|i| read(roots, *i).powi(2)).collect();
    Curve::new(fine, pulls).map_err(|e| Failure::Physics(e.to_string()))
}

fn read(curve: &Curve, current_a: f64) -> f64 {
    let (first, last) = curve.range();
    curve.value(current_a.clamp(first, last)).unwrap_or(f64::NAN)
}

/// When the supply is on.
#[derive(Clone, Debug, PartialEq)]
pub enum Pattern {
    /// All the time: S1 of IEC 60034-1.
    Continuous,
    /// Once, from cold: S2.
    Once {
        /// s.
        on_s: f64,
    },
    /// Over and over, on first: S3.
    Cycles {
        /// s.
        on_s: f64,
        /// s.
        cycle_s: f64,
    },
    /// As was recorded: time in s and what the supply gave, V or A, held until the next time; nothing before the first, nor
    /// from the last on.
    /// Below nothing is reversed, of which heat and the pull of soft iron know the size only.
    Profile {
        /// In the order of time.
        rows: Vec<(f64, f64)>,
        /// What was recorded.
        of: Recorded,
    },
}

/// What a profile holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Recorded {
    /// V at the supply.
    Voltage,
    /// A.
    Current,
}

impl Pattern {
    /// What a sheet's drive says; where a duty lacks its cycle, that of DIN VDE 0580 is assumed.
    ///
    /// # Errors
    /// Times that contradict each other.
    pub fn read(sheet: &Sheet) -> Result<(Self, Vec<Assumption>), Diagnostic> {
        let (duty, cycle, on) =
            (sheet.value("drive.duty"), sheet.value("drive.cycle_time"), sheet.value("drive.on_time"));
        let mut assumptions = Vec::new();
        let pattern = match (duty, cycle, on) {
            (Some(duty), _, None) if duty >= 1.0 => Self::Continuous,
            (None, _, None) => Self::Continuous,
            (None, None, Some(on_s)) => Self::Once { on_s },
            (None, Some(cycle_s), Some(on_s)) => Self::Cycles { on_s, cycle_s },
            (Some(duty), Some(cycle_s), None) => Self::Cycles { on_s: duty * cycle_s, cycle_s },
            (Some(duty), None, None) => {
                assumptions.push(Assumption {
                    path: "drive.cycle_time".into(),
                    label: "cycle time".into(),
                    value: Some(Measure { value: VDE_CYCLE_S, dimension: Dimension::Time, band: None }),
                    word: String::new(),
                    reason: "5 min, as DIN VDE 0580 assumes where none is given".into(),
                });
                Self::Cycles { on_s: duty * VDE_CYCLE_S, cycle_s: VDE_CYCLE_S }
            }
            (Some(duty), None, Some(on_s)) => Self::Cycles { on_s, cycle_s: on_s / duty },
            (Some(duty), Some(cycle_s), Some(on_s)) => {
                if (on_s / cycle_s - duty).abs() > 0.01 * duty {
                    return Err(sheet.fault(
                        "drive.duty",
                        format!("{on_s} s on in {cycle_s} s is a duty of {:.1} %", 100.0 * on_s / cycle_s),
                        "two of `duty`, `cycle_time` and `on_time` are enough",
                    ));
                }
                Self::Cycles { on_s, cycle_s }
            }
        };
        match pattern {
            Self::Cycles { on_s, cycle_s } if on_s > cycle_s * (1.0 + 1e-9) => Err(sheet.fault(
                "drive.on_time",
                format!("{on_s} s on do not fit into a cycle of {cycle_s} s: a duty above 100 %"),
                "a cycle is one on and one off together",
            )),
            Self::Cycles { on_s, cycle_s } if on_s >= cycle_s * (1.0 - 1e-9) => {
                Ok((Self::Continuous, assumptions))
            }
            pattern => Ok((pattern, assumptions)),
        }
    }

    /// What a supply gives at a time (s) under this pattern; none while it is off.
    pub fn supply_at(&self, time_s: f64, supply: Supply) -> Option<Supply> {
        let on = match self {
            Self::Continuous => true,
            Self::Once { on_s } => time_s < *on_s,
            // What lies a rounding error before a cycle's end belongs to the next.
            Self::Cycles { on_s, cycle_s } => (time_s / cycle_s + 1e-12).fract() * cycle_s < *on_s,
            Self::Profile { rows, of } => {
                let at = rows.partition_point(|r| r.0 <= time_s);
                // Nobody recorded how long the last value lasted.
                if at == rows.len() && rows.last().is_some_and(|last| time_s >= last.0) {
                    return None;
                }
                let value = at.checked_sub(1).map_or(0.0, |k| rows[k].1.abs());
                let recorded = match of {
                    Recorded::Voltage => Supply { voltage_v: value, ..supply },
                    Recorded::Current => Supply { voltage_v: f64::INFINITY, current_a: value, ..supply },
                };
                return (value > 0.0).then_some(recorded);
            }
        };
        on.then_some(supply)
    }

    /// The largest of a profile's values by size, if it is one.
    pub fn greatest(&self) -> Option<(f64, Recorded)> {
        let Self::Profile { rows, of } = self else { return None };
        Some((rows.iter().map(|r| r.1.abs()).fold(0.0, f64::max), *of))
    }

    /// Whether it is a profile that drives the magnet both ways.
    pub fn reverses(&self) -> bool {
        let Self::Profile { rows, .. } = self else { return false };
        rows.iter().any(|r| r.1 > 0.0) && rows.iter().any(|r| r.1 < 0.0)
    }

    /// Times at which it jumps, up to an end, s.
    pub fn breaks_s(&self, end_s: f64) -> Vec<f64> {
        let mut breaks = match self {
            Self::Continuous => Vec::new(),
            Self::Once { on_s } => vec![*on_s],
            Self::Cycles { on_s, cycle_s } => {
                let cycles = (end_s / cycle_s).ceil() as usize;
                (0..cycles).flat_map(|k| [k as f64 * cycle_s, k as f64 * cycle_s + on_s]).collect()
            }
            Self::Profile { rows, .. } => rows.iter().map(|r| r.0).collect(),
        };
        breaks.retain(|t| *t > 0.0 && *t < end_s);
        breaks
    }

    /// Share of the power that it gives on average in the long run; 0 for what ends.
    pub fn duty(&self) -> f64 {
        match self {
            Self::Continuous => 1.0,
            Self::Once { .. } => 0.0,
            Self::Cycles { on_s, cycle_s } => on_s / cycle_s,
            Self::Profile { .. } => 0.0,
        }
    }

    /// Its name by the conventions of the trade.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Continuous => "continuous (S1)",
            Self::Once { .. } => "short-time, then off (S2)",
            Self::Cycles { .. } => "intermittent (S3)",
            Self::Profile { .. } => "by a recorded profile",
        }
    }
}

/// A supply switched by a pattern, driving a winding.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed<'a> {
    /// What drives what.
    pub driven: Driven<'a>,
    /// When.
    pub pattern: Pattern,
}

impl Feed<'_> {
    /// Square of the current (A²) at a time (s) and mean temperature of the winding (K).
    pub fn square_a2(&self, time_s: f64, mean_k: f64) -> f64 {
        let supply = self.pattern.supply_at(time_s, self.driven.supply);
        supply.map_or(0.0, |s| s.current_a(self.driven.winding.resistance_ohm(mean_k)).powi(2))
    }

    /// The same, averaged over cycles.
    pub fn mean_square_a2(&self, mean_k: f64) -> f64 {
        self.pattern.duty() * self.driven.current_a(mean_k).powi(2)
    }
}
