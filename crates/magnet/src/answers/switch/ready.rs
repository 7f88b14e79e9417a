//! What an answer about switching starts from: the curves of coil and pull, and what the main times become of them.

use crate::answers::answer::Numbers;
use crate::answers::question::SwitchQuestion;
use crate::answers::switch::hold_up::Holding;
use crate::circuit::SwitchError;
use crate::circuit::coil::Coil;
use crate::circuit::curve::Curve;
use crate::circuit::events::{interruption, reverse};
use crate::circuit::residual::{ResidualPull, as_if_nothing_were_left};
use crate::coupled::operating_point::{Driven, Strength};
use crate::coupled::switch::clamps::{Named, STRAY_F, own_clamp, usual_diode};
use crate::coupled::switch::in_field::{Bands, Conditions, InField, off_by_all};
use crate::coupled::switch::iron::residual;
use crate::coupled::switch::solid::{Until, Warmth, is_solid};
use crate::coupled::switch::state::{MAIN, State, with_residual};
use crate::coupled::switch::switched::{SwitchedOff, SwitchedOn, TIMES};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::assumption::Assumption;
use crate::magnet::variation::{Varied, Way};
use crate::magnetic::scene::Scene;
use crate::magnetic::solved::{Solved, flux_per_turn_wb, pull_n};
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::thermal::cooling::GRAVITY;
use crate::uncertainty::input::{ANY, Input};
use crate::uncertainty::measure::Measure;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;

/// Currents at which the field is solved.
const CURRENTS: usize = 13;
/// Currents in a table's finer part, over the most that a store drives.
const STORED: [f64; 4] = [0.6, 0.75, 0.9, 1.02];
/// Share of the pull that counts as released where no load is known.
const RELEASED: f64 = 0.05;
/// Share of the pull below which nobody follows it.
const LEAST_SHARE: f64 = 1e-3;

/// Everything that a varied magnet is compared with.
#[derive(Clone, Debug)]
pub(crate) struct Ready {
    pub(crate) strength: Strength,
    pub(crate) solved: Solved,
    pub(crate) residual: Option<ResidualPull>,
    /// Voltage while the current rises.
    pub(crate) supply_v: f64,
    /// Voltage that the current needs in the end.
    pub(crate) steady_v: f64,
    /// Whether the supply holds a voltage.
    pub(crate) holds_voltage: bool,
    pub(crate) lead: f64,
    pub(crate) current: f64,
    pub(crate) load_n: f64,
    /// Where the load comes from.
    pub(crate) load_note: &'static str,
    pub(crate) own: Named,
    pub(crate) coil: Coil,
    /// Pull against current, the residual included.
    pull: Curve,
    /// Whether eddies flow in its iron.
    pub(crate) solid: bool,
    pub(crate) assumptions: Vec<Assumption>,
}

impl Ready {
    /// `least_ohm`: the least that a backup may meet, leads included, so that the curves reach its current.
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &Magnet,
        driven: &Driven<'_>,
        question: &SwitchQuestion,
        least_ohm: f64,
    ) -> Result<Self, Failure> {
        let ohm = driven.winding.resistance_ohm(driven.excitation.kelvin);
        let lead = driven.supply.lead_ohm;
        let current = driven.current_a(driven.excitation.kelvin);
        let steady_v = current * (ohm + lead);
        let mut assumptions = Vec::new();
        let holds_voltage = driven.supply.voltage_v.is_finite();
        let supply_v = if holds_voltage {
            driven.supply.voltage_v
        } else {
            assumptions.push(Assumption {
                path: "drive.voltage_limit".into(),
                label: "voltage of the supply while the current rises".into(),
                value: Some(Measure { value: steady_v, dimension: Dimension::Voltage, band: None }),
                word: String::new(),
                reason: "not given; no more than the current needs in the end, the slowest case".into(),
            });
            steady_v
        };
        // Where a store drives much less than the supply, the table is as fine there.
        let stored = Holding::read(sheet, steady_v).full_v() / least_ohm;
        let more: &[f64] = if stored < 0.5 * current { &STORED } else { &[] };
        let more: Vec<f64> = more.iter().map(|share| share * stored).collect();
        let most = current.max(stored);
        let (strength, fields) = Strength::solve(sheet, magnet, driven, most, (CURRENTS, &more), false)?;
        let residual = residual(magnet, &strength, driven)?;
        let (load_n, load_note) = load(sheet, question, strength.pull_n(current));
        let own = own_clamp(sheet, steady_v, current, &mut assumptions);
        let knots = strength.linkage.knots().to_vec();
        let linkage = knots.iter().map(|i| strength.linkage.value(*i).unwrap_or(f64::NAN)).collect();
        let coil = Coil::new(knots, linkage, ohm)?;
        let residual_n = residual.as_ref().map_or(0.0, |r| r.value_n);
        Ok(Self {
            coil,
            solid: is_solid(magnet),
            pull: with_residual(&strength, residual_n)?,
            strength,
            solved: fields.closed,
            residual,
            supply_v,
            steady_v,
            holds_voltage,
            lead,
            current,
            load_n,
            load_note,
            own,
            assumptions,
        })
    }

    /// The coil in its circuit with a clamp.
    pub(crate) fn state(&self, own: Named) -> State<'_> {
        State {
            coil: &self.coil,
            pull: self.pull.clone(),
            current: self.current,
            supply_v: self.supply_v,
            lead: self.lead,
            load_n: self.load_n,
            own,
        }
    }

    /// Switched in its field, where the iron is solid; on as well, and with curves, unless the question is a brief one.
    pub(crate) fn in_field(
        &self,
        sheet: &Sheet,
        magnet: &Magnet,
        driven: &Driven<'_>,
        brief: bool,
    ) -> Result<Option<InField>, Failure> {
        if !self.solid {
            return Ok(None);
        }
        let pull_n = self.strength.pull_n(self.current);
        // The field in time fades to nothing, the magnet's to what its iron keeps.
        let likely_n = self.residual.as_ref().map_or(0.0, |r| r.value_n);
        let (load_n, residual_n) = match as_if_nothing_were_left(likely_n, pull_n, self.load_n) {
            Some(load_n) => (load_n, 0.0),
            None => (self.load_n, likely_n),
        };
        let most_n = self.residual.as_ref().map_or(0.0, |r| r.high_n);
        let lowest_n = as_if_nothing_were_left(most_n, pull_n, self.load_n);
        let lowest_n = lowest_n.map_or(f64::INFINITY, |lowest_n| lowest_n.max(LEAST_SHARE * pull_n));
        let conditions = Conditions {
            warmth: Warmth::of(sheet, driven),
            clamp: self.own.clamp,
            opening_v: interruption(&self.coil, self.current, STRAY_F)?.likely_v,
            until: Until { load_n, residual_n, time_s: 0.0, lowest_n },
            supply_v: self.holds_voltage.then_some(self.supply_v),
            on: !brief,
        };
        InField::new(magnet, driven, conditions, pull_n, usual_diode(&self.own)).map(Some)
    }

    /// Off by the sheet's clamp.
    pub(crate) fn own_off(&self, field: Option<&InField>) -> Result<SwitchedOff, Failure> {
        match field {
            Some(field) => Ok(field.off.clone()),
            None => Ok(self.state(self.own.clone()).off(self.own.clamp)?),
        }
    }

    /// Off by several clamps.
    pub(crate) fn off_by(
        &self,
        field: Option<&InField>,
        clamps: &[Named],
    ) -> Result<Vec<SwitchedOff>, Failure> {
        let all: Vec<_> = clamps.iter().map(|c| c.clamp).collect();
        match field {
            Some(field) => off_by_all(field, &all),
            None => all.iter().map(|c| Ok(self.state(self.own.clone()).off(*c)?)).collect(),
        }
    }

    /// On.
    pub(crate) fn on(&self, field: Option<&InField>) -> Result<Option<SwitchedOn>, Failure> {
        match field {
            Some(field) => Ok(field.on.clone()),
            None => Ok(Some(self.state(self.own.clone()).on(&self.strength)?)),
        }
    }

    /// Polarity reversed at a voltage: times to no current and to 90 % of the opposite, s.
    pub(crate) fn reversed(&self, field: Option<&InField>, volts: f64) -> Result<[f64; 2], Failure> {
        match field {
            Some(field) => field.reversed(volts),
            None => {
                let over = reverse(&self.coil, volts, self.lead)?;
                Ok([over.zero_s, over.ninety_percent_s])
            }
        }
    }

    /// Bands of the times and of the pull at the curves' moments by the field; `moved` is what every uncertain input of the
    /// magnet makes of each of [`MAIN`], whose values are `main`.
    pub(crate) fn bands(
        &self,
        field: &InField,
        (sheet, magnet): (&Sheet, &Magnet),
        moved: &[Vec<(String, String, f64)>],
        main: &[f64],
    ) -> Result<Bands, Failure> {
        let telling = ["current", "pull", "inductance_apparent", "resistance"];
        let of = |(k, (key, _)): (usize, &(&str, f64))| {
            let relative = || moved[k].iter().map(|(.., effect)| effect / main[k]).collect::<Vec<f64>>();
            (telling.contains(key) && main[k] != 0.0).then(relative)
        };
        let known: Vec<Vec<f64>> = MAIN.iter().enumerate().filter_map(of).collect();
        field.bands(sheet, magnet, &known)
    }

    /// What one standard uncertainty of the clamp, and of what the iron keeps, makes of the drop-out time by the field, relative.
    pub(crate) fn besides(
        &self,
        field: &InField,
        sheet: &Sheet,
    ) -> Result<Vec<(String, String, f64)>, Failure> {
        let mut found = Vec::new();
        if let Some((path, label, other)) = self.own.a_little_more(sheet) {
            let change = field.change_by(other.clamp)?;
            found.extend(change.map(|change| (path.into(), label.into(), change)));
        }
        let pull_n = self.strength.pull_n(self.current);
        let falls =
            |left_n: f64| field.roughly_falls_s(as_if_nothing_were_left(left_n, pull_n, self.load_n)?);
        if let Some(r) = &self.residual
            && let (Some(now), Some(low)) = (falls(r.value_n), falls(r.low_n))
        {
            // Where the most that may be left holds the load, that is warned of; the lower side stands for both.
            let change = falls(r.high_n).map_or(0.5 * (now - low), |high| 0.25 * (high - low)) / now;
            found.push(("residual_pull".into(), "pull left without current".into(), change));
        }
        Ok(found)
    }

    /// [`State::main`] of a varied magnet with its field, whose curves are taken to keep their shape.
    pub(crate) fn varied(
        &self,
        state: &State<'_>,
        sheet: &Sheet,
        magnet: &Magnet,
        (scene, drawing, solution): (&Scene, &Drawing, &Solution),
    ) -> Result<Vec<f64>, Failure> {
        let varied = Driven::of(sheet, magnet)?;
        let current = varied.excitation.current_a.unwrap_or(self.current);
        let ohm = varied.winding.resistance_ohm(varied.excitation.kelvin);
        // A supply of current has as much voltage as the current needs in the end, whatever the resistance is.
        let lead = varied.supply.lead_ohm;
        let supply_v = if self.holds_voltage { varied.supply.voltage_v } else { current * (ohm + lead) };
        let flux = varied.excitation.turns * flux_per_turn_wb(scene, solution).abs();
        state.varied(current, ohm, flux, pull_n(scene, drawing, solution)?, (supply_v, lead))
    }
}

/// What is to be let go, N, and where that comes from.
fn load(sheet: &Sheet, question: &SwitchQuestion, pull: f64) -> (f64, &'static str) {
    match (question.load_n, sheet.value("workpiece.mass")) {
        (Some(n), _) => (n, "as asked"),
        (None, Some(kg)) => (kg * GRAVITY, "the workpiece's weight"),
        (None, None) => (RELEASED * pull, "5 % of the pull, for the workpiece's mass is not given"),
    }
}

impl From<SwitchError> for Failure {
    fn from(e: SwitchError) -> Self {
        Self::Physics(format!("the circuit could not be followed: {e}"))
    }
}

/// See [`crate::model::plain::Plain`]. As in the bands the curves keep their shape, and the load is exact; there are no times
/// of solid iron.
#[derive(Clone, Debug)]
pub(crate) struct Plain(Ready);

impl Plain {
    /// With what else may differ.
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &Magnet,
        question: &SwitchQuestion,
    ) -> Result<(Self, Vec<Way>), Failure> {
        let driven = Driven::of(sheet, magnet)?;
        let least_ohm = driven.winding.resistance_ohm(driven.excitation.kelvin) + driven.supply.lead_ohm;
        let ready = Ready::new(sheet, magnet, &driven, question, least_ohm)?;
        let clamp = ready.own.entry().and_then(|(path, label)| {
            let q = sheet.quantity(path).filter(|q| q.half_width > 0.0)?;
            let (value, standard) = (q.value, q.standard_uncertainty());
            let (path, label) = (path.into(), label.into());
            Some(Way::entry(
                sheet,
                &Input { path, label, value, standard, dimension: q.dimension, limits: ANY },
            ))
        });
        Ok((Self(ready), clamp.into_iter().collect()))
    }

    /// From now on solved on the mesh for differences.
    pub(crate) fn for_differences(&mut self) -> Result<(), Failure> {
        self.0.solved = self.0.solved.for_differences()?;
        Ok(())
    }

    pub(crate) fn numbers(&mut self, at: &Varied) -> Result<Numbers, Failure> {
        let ready = &mut self.0;
        let scene = at.magnet.scene(&at.magnet.stage());
        let (solution, drawing) = ready.solved.neighbour(&scene, None)?;
        let own = match ready.own.entry() {
            Some((path, _)) if at.sheet.has(path) => {
                own_clamp(&at.sheet, ready.steady_v, ready.current, &mut Vec::new())
            }
            _ => ready.own.clone(),
        };
        let main = ready.varied(&ready.state(own), &at.sheet, &at.magnet, (&scene, &drawing, &solution))?;
        // Times of solid iron take a field in time each: their bands are not sampled.
        let told = |key: &str| !(ready.solid && TIMES.contains(&key));
        let numbers = MAIN.iter().map(|(key, _)| key.to_string()).zip(main);
        Ok(numbers.filter(|(key, _)| told(key)).collect())
    }
}
