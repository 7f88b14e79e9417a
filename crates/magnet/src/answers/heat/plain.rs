//! The numbers of a warm-up without bands.

use crate::answers::answer::Numbers;
use crate::answers::heat::answer;
use crate::answers::heat::answer::{CURRENTS, greatest_a, pattern};
use crate::answers::question::HeatQuestion;
use crate::coupled::heat::bands::{COLD, Case, ELECTRIC, END, LOSS, PLACES, STEADY, STEADY_LOSS, factors};
use crate::coupled::heat::warm_up::{correlation, warm_up};
use crate::coupled::operating_point::{Driven, Feed, Fields, Pattern, Strength, over_pole_t};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Varied, Way};
use crate::magnetic::scene::Stage;
use crate::magnetic::solved::pull_n;
use crate::sheet::Sheet;
use crate::thermal::body::Body;
use crate::thermal::setting::Setting;
use crate::uncertainty::input::{ANY, Input};

/// Keys of the temperatures.
const PLACE_KEYS: [&str; PLACES] = [
    "hot_spot",
    "winding_mean",
    "surface_temperature",
    "side_temperature",
    "back_temperature",
    "face_temperature",
];
/// Keys of what follows them.
const ELECTRIC_KEYS: [&str; ELECTRIC] = ["resistance", "current", "power"];

/// See [`crate::model::plain::Plain`]. Temperatures come from the quick computation of the bands, pulls from a field solved at
/// each current; as in the bands, what is lost of field and pull is read from the curves of the magnet as it stands.
#[derive(Clone, Debug)]
pub(crate) struct Plain {
    workpiece: bool,
    start_k: Option<f64>,
    pattern: Pattern,
    end_s: f64,
    /// The magnet as it stands has a steady state.
    settles: bool,
    strength: Strength,
    /// With the workpiece in place, and with nothing in front.
    fields: Fields,
}

impl Plain {
    /// With what else may differ.
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &Magnet,
        question: &HeatQuestion,
    ) -> Result<(Self, Vec<Way>), Failure> {
        let driven = Driven::of(sheet, magnet)?;
        let mut reading = Setting::read(sheet, magnet, question.workpiece)?;
        reading.setting.start_k = question.start_k;
        let (pattern, ..) = pattern(sheet, question, &driven)?;
        let end_s = question.duration_s.unwrap_or(answer::USUAL_RUN_S);
        let most = greatest_a(&driven, &pattern, &reading.setting);
        let (strength, fields) = Strength::solve(sheet, magnet, &driven, most, (CURRENTS, &[]), true)?;

        let mut body = Body::new(magnet, driven.winding, &reading.setting)?;
        let feed = Feed { driven, pattern: pattern.clone() };
        let warm = warm_up(&mut body, &feed, end_s)?;
        let settles = warm.steady.is_some();
        let doubt = correlation(&body, &warm).0;
        let case = Case { magnet: magnet.clone(), setting: reading.setting.clone() };
        let mut ways: Vec<Way> = reading.inputs.iter().map(|input| Way::entry(sheet, input)).collect();
        for (path, label, [_, higher]) in factors(&case, doubt)? {
            ways.push(Way::heat(path, label, higher));
        }
        if let Some(q) = sheet.quantity("probe.standoff").filter(|q| q.half_width > 0.0) {
            let (value, standard, dimension) = (q.value, q.standard_uncertainty(), q.dimension);
            let (path, label) = ("probe.standoff".into(), "height of the probe".into());
            ways.push(Way::entry(sheet, &Input { path, label, value, standard, dimension, limits: ANY }));
        }
        let HeatQuestion { workpiece, start_k, .. } = *question;
        Ok((Self { workpiece, start_k, pattern, end_s, settles, strength, fields }, ways))
    }

    /// From now on solved on the mesh for differences.
    pub(crate) fn for_differences(&mut self) -> Result<(), Failure> {
        self.fields.closed = self.fields.closed.for_differences()?;
        if let Some(open) = &mut self.fields.open {
            *open = open.for_differences()?;
        }
        Ok(())
    }

    pub(crate) fn numbers(&mut self, at: &Varied) -> Result<Numbers, Failure> {
        let mut setting = Setting::read(&at.sheet, &at.magnet, self.workpiece)?.setting;
        setting.factors = at.factors;
        setting.start_k = self.start_k;
        let case = Case { magnet: at.magnet.clone(), setting };
        let warm =
            case.numbers(&at.sheet, &self.pattern, &self.strength, self.end_s)?.ok_or(Failure::Runaway)?;
        if self.settles && warm[STEADY].is_nan() {
            return Err(Failure::Runaway);
        }
        let mut found: Numbers = Vec::new();
        for (suffix, from) in [("", END), ("_steady", STEADY)] {
            let places = PLACE_KEYS.iter().enumerate();
            found.extend(places.map(|(k, key)| (format!("{key}{suffix}"), warm[from + k])));
        }
        for (k, key) in ELECTRIC_KEYS.iter().enumerate() {
            let cold = if k == 0 { "resistance_cold" } else { key };
            found.push((cold.into(), warm[COLD + k]));
            found.push((format!("{key}_hot"), warm[END + PLACES + k]));
            found.push((format!("{key}_steady"), warm[STEADY + PLACES + k]));
        }
        let current = PLACES + 1;
        let [cold, hot, steady] = [warm[COLD + 1], warm[END + current], warm[STEADY + current]];
        found.push(("pull_cold".into(), self.pull(&at.magnet, cold)?));
        for (name, amperes) in [("field_cold", cold), ("field_hot", hot), ("field_steady", steady)] {
            found.push((name.into(), self.field(at, amperes)?));
        }
        for (suffix, name, amperes, loss) in
            [("", "pull_hot", hot, LOSS), ("_steady", "pull_steady", steady, STEADY_LOSS)]
        {
            found.push((name.into(), self.pull(&at.magnet, amperes)?));
            for (k, key) in ["power_loss", "field_loss", "pull_loss"].iter().enumerate() {
                found.push((format!("{key}{suffix}"), warm[loss + k]));
            }
        }
        Ok(found)
    }

    /// Pull at a current; not a number without one.
    fn pull(&mut self, magnet: &Magnet, amperes: f64) -> Result<f64, Failure> {
        let Some(ampere_turns) = ampere_turns(magnet, amperes) else { return Ok(f64::NAN) };
        let scene = magnet.scene(&Stage { ampere_turns, ..magnet.stage() });
        let (solution, drawing) = self.fields.closed.neighbour(&scene, None)?;
        pull_n(&scene, &drawing, &solution)
    }

    /// Field over the inner pole at a current; not a number without one.
    fn field(&mut self, at: &Varied, amperes: f64) -> Result<f64, Failure> {
        let ampere_turns = ampere_turns(&at.magnet, amperes);
        let (Some(ampere_turns), Some(open)) = (ampere_turns, &mut self.fields.open) else {
            return Ok(f64::NAN);
        };
        let scene = at.magnet.scene(&Stage { ampere_turns, ..at.magnet.open_stage() });
        let (solution, _) = open.neighbour(&scene, None)?;
        let standoff_m = at.sheet.value("probe.standoff").unwrap_or(self.strength.standoff_m);
        Ok(over_pole_t(&at.magnet, standoff_m, &solution))
    }
}

/// Ampere-turns at a current; none without one.
fn ampere_turns(magnet: &Magnet, amperes: f64) -> Option<f64> {
    let excitation = magnet.excitation.as_ref().filter(|_| amperes.is_finite())?;
    Some(excitation.ampere_turns.signum() * excitation.turns * amperes)
}
