//! What a fit may find out, and what is known of it beforehand.

use super::observation::{Drive, Kind, Observations};
use crate::electrical::cold_kelvin;
use crate::instrument::HallProbe;
use crate::least_squares::{Estimate, Parameter};
use crate::meters::Meters;
use crate::readings::Readings;
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::magnet::{Magnet, OWN_STEEL, WORKPIECE_STEEL};
use coilwright_magnet::magnetic::effects::Sides;
use coilwright_magnet::magnetic::scene::Stage;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::measure::Measure;

/// Standard uncertainty of a gap of which the sheet gives none, m (common practice: roughness, burrs, scale).
const USUAL_GAP_M: (f64, f64) = (0.1e-3, 0.04e-3);
/// The same of a probe's height, m (common practice: where the element lies behind the tip is rarely known better).
const USUAL_HEIGHT_STANDARD_M: f64 = 0.15e-3;

/// An unknown of the model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// Turns of the winding.
    Turns,
    /// Face to workpiece with nothing between but what is always there, m.
    Gap,
    /// Field that the steel needs, as a factor; or a permanent magnet's remanence, T.
    Material,
    /// Height of the probe's element, m.
    Height,
    /// Resistance at 20 °C, Ω.
    Resistance,
    /// Temperature of the cold winding, K.
    Ambient,
    /// Supply voltage or current of the sheet, as a factor.
    Supply,
    /// Error of one reading of volts or amperes that several observations share, in standard uncertainties.
    Setting(usize),
    /// What positions along one axis have in common, m.
    Zero(usize),
    /// Gain of an instrument, in standard uncertainties.
    Gain(usize),
    /// Zero error of an instrument, in standard uncertainties.
    Offset(usize),
    /// Anything else of the magnet that may be otherwise, by index of its way.
    Way(usize),
    /// Error of a shim or a height that several readings share, by its index, m.
    Placed(usize),
    /// Tilt of the probe in the plane of the scan beside what is stated of it, in standard uncertainties.
    Tilt,
    /// Diameter of the probe's active area, m.
    Width,
}

/// An unknown with what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unknown {
    pub(super) what: What,
    /// Path in the sheet; empty for what no sheet holds.
    pub(super) path: String,
    /// What a person calls it.
    pub(super) label: String,
    /// Kind of quantity.
    pub(super) dimension: Dimension,
    /// Best value beforehand, SI.
    pub(super) mean: f64,
    /// Its standard uncertainty, SI.
    pub(super) standard: f64,
}

impl Unknown {
    pub(super) fn parameter(&self) -> Parameter {
        if self.by_factor() {
            return Parameter::new(&self.label, self.mean).with_factor(self.mean, self.standard);
        }
        let parameter = Parameter::new(&self.label, self.mean).with_prior(self.mean, self.standard);
        match self.what {
            // What is taken to first order has no bound at which that would show.
            What::Zero(_) | What::Setting(_) | What::Gain(_) | What::Offset(_) => parameter,
            _ if self.is_minor() => parameter,
            _ => parameter.positive(),
        }
    }

    /// Whether it is carried along to first order, so that what it leaves uncertain is counted.
    pub(super) fn is_minor(&self) -> bool {
        matches!(self.what, What::Way(_) | What::Placed(_) | What::Tilt | What::Width)
    }

    /// Whether it was known beforehand up to a factor: how much field a steel needs.
    fn by_factor(&self) -> bool {
        [OWN_STEEL[0], WORKPIECE_STEEL[0]].contains(&self.path.as_str())
    }

    /// So many standard uncertainties from what was known beforehand.
    pub(super) fn deviate(&self, value: f64) -> f64 {
        if self.by_factor() {
            (value / self.mean).ln() / (self.standard / self.mean).ln_1p()
        } else {
            (value - self.mean) / self.standard
        }
    }

    /// The value so many standard uncertainties from what was known beforehand.
    pub(super) fn at(&self, deviate: f64) -> f64 {
        if self.by_factor() {
            self.mean * ((self.standard / self.mean).ln_1p() * deviate).exp()
        } else {
            self.mean + deviate * self.standard
        }
    }

    /// Standard uncertainty beforehand about a value: what one standard uncertainty is worth there.
    pub(super) fn standard_at(&self, value: f64) -> f64 {
        if self.by_factor() { value * (self.standard / self.mean).ln_1p() } else { self.standard }
    }

    /// What a fit leaves of its standard uncertainty, as a share of that beforehand.
    pub(super) fn left(&self, estimate: &Estimate) -> f64 {
        estimate.standard / self.standard_at(estimate.value)
    }

    /// Whether it stands in a sheet.
    pub(super) fn is_of_sheet(&self) -> bool {
        !self.path.is_empty()
    }
}

/// Every unknown that the kinds of readings there are could speak of, with priors from the sheet's tolerances.
pub(super) fn unknowns(
    sheet: &Sheet,
    magnet: &Magnet,
    readings: &Readings,
    observations: &Observations,
    meters: &mut Meters<'_>,
) -> Result<Vec<Unknown>, Failure> {
    let (field, pull, ohm) = (
        observations.any(Kind::is_field),
        observations.any(Kind::is_pull),
        observations.any(Kind::is_resistance),
    );
    let mut list: Vec<Unknown> = Vec::new();
    let mut add = |what, path: &str, label: &str, dimension, (mean, standard): (f64, f64)| {
        if standard > 0.0 {
            list.push(Unknown { what, path: path.into(), label: label.into(), dimension, mean, standard });
        }
    };
    let winding = match magnet.excitation.as_ref().and_then(|e| e.winding.as_ref()) {
        Some(_) => Some(answer(sheet, &Question::Winding)?),
        None => None,
    };
    let of_winding = |key: &str| {
        let measure = winding.as_ref()?.measure(key)?;
        Some((measure.value, measure.standard()))
    };
    let magnetic = field || pull;
    if let (true, Some(turns)) = (magnetic, of_winding("turns")) {
        add(What::Turns, "winding.turns", "turns", Dimension::Count, turns);
    }
    if pull && !magnet.free {
        add(
            What::Gap,
            "workpiece.gap",
            "gap of the faces",
            Dimension::Length,
            gap(sheet, &mut meters.assumptions),
        );
    }
    if magnetic && magnet.excitation.is_none() {
        if let Some(q) = sheet.quantity("body.remanence").filter(|_| !magnet.free) {
            let remanence = (q.value, q.standard_uncertainty());
            add(What::Material, "body.remanence", "remanence", Dimension::FluxDensity, remanence);
        }
    } else if magnetic && let Some(scale) = steel(sheet, magnet) {
        add(What::Material, OWN_STEEL[0], "steel scale", Dimension::Ratio, scale);
    }
    if field {
        let (path, height) = height(sheet, observations, &mut meters.assumptions);
        add(What::Height, path, "height of the probe", Dimension::Length, height);
    }
    let by_volts =
        observations.list.iter().any(|o| magnetic && matches!(o.drive, Drive::Volts(..) | Drive::Sheet));
    if let (true, Some(resistance)) = (ohm || by_volts, of_winding("resistance_20")) {
        add(What::Resistance, "winding.resistance", "resistance at 20 °C", Dimension::Resistance, resistance);
        let ambient = cold_kelvin(sheet, Some((readings, meters)))?;
        add(
            What::Ambient,
            "surroundings.temperature",
            "temperature of the cold winding",
            Dimension::Temperature,
            ambient,
        );
    }
    let by_sheet = observations.list.iter().any(|o| !o.kind.is_resistance() && o.drive == Drive::Sheet);
    let supply = ["drive.voltage", "drive.current", "winding.ampere_turns", "nameplate.voltage"];
    if by_sheet && let Some(q) = supply.iter().find_map(|path| sheet.quantity(path)) {
        add(
            What::Supply,
            "",
            "supply, as a factor",
            Dimension::Ratio,
            (1.0, q.standard_uncertainty() / q.value),
        );
    }
    for (k, drive) in observations.common.iter().enumerate() {
        let (reading, dimension) = match drive {
            Drive::Amperes(i, own, _) if *own > 0.0 => (*i, Dimension::Current),
            Drive::Volts(v, own, _) if *own > 0.0 => (*v, Dimension::Voltage),
            _ => continue,
        };
        let label = format!("the reading of {}", dimension.text(reading, None, UnitSystem::Si));
        add(What::Setting(k), "", &label, Dimension::Ratio, (0.0, 1.0));
    }
    for (k, zero) in observations.zeros.iter().enumerate() {
        add(What::Zero(k), "", &zero.label, Dimension::Length, (0.0, zero.standard_m));
    }
    for (k, meter) in observations.meters.iter().enumerate() {
        if meter.of_reading > 0.0 {
            add(What::Gain(k), "", &format!("gain of {}", meter.name), Dimension::Ratio, (0.0, 1.0));
        }
        if meter.offset > 0.0 {
            add(What::Offset(k), "", &format!("zero of {}", meter.name), Dimension::Ratio, (0.0, 1.0));
        }
    }
    for (k, setting) in observations.settings.iter().enumerate() {
        add(What::Placed(k), "", &setting.label, Dimension::Length, (0.0, setting.standard_m));
    }
    if field {
        let probe = HallProbe::from_sheet(sheet);
        let tilted = probe.angle.value != 0.0 || probe.angle.half_width > 0.0;
        add(What::Tilt, "", "tilt of the probe", Dimension::Ratio, (0.0, f64::from(u8::from(tilted))));
        let width = (probe.active_diameter.value, probe.active_diameter.standard_uncertainty());
        add(What::Width, "probe.active_diameter", "width of the probe", Dimension::Length, width);
    }
    if magnetic {
        minor(sheet, magnet, [field, pull], &mut list);
    }
    Ok(list)
}

/// Everything else of the magnet that may be otherwise and that its field feels. Turns, gap, remanence and the field that
/// the magnet's own steel needs are among the unknowns already.
fn minor(sheet: &Sheet, magnet: &Magnet, [field, pull]: [bool; 2], list: &mut Vec<Unknown>) {
    let sides = Sides::new(sheet, magnet);
    // At ampere-turns that are held, what moves nothing but these changes no field.
    let held = |stage: Stage| Stage { ampere_turns: 1.0, ..stage };
    let (of_field, of_pull) =
        (sides.shapes(|m| held(m.open_stage())), sides.shapes(|m| held(at_gap(m, magnet))));
    let own = magnet.irons().next().map(|iron| iron.name.as_str());
    let workpiece = magnet.workpiece.as_ref().map(|plate| plate.iron.name.as_str());
    for (k, way) in sides.ways().iter().enumerate() {
        let (path, (mean, standard)) = match (way.of_entry(), way.of_steel()) {
            (Some(entry), _) => (way.path.clone(), entry),
            (None, Some((name, of, relative))) if Some(name) == own => {
                (OWN_STEEL[of as usize].to_owned(), (1.0, relative))
            }
            (None, Some((name, of, relative))) if Some(name) == workpiece => {
                (WORKPIECE_STEEL[of as usize].to_owned(), (1.0, relative))
            }
            _ => (String::new(), (0.0, 1.0)),
        };
        let felt = (field && of_field[k]) || (pull && of_pull[k]);
        let taken = way.path == "workpiece.gap" || list.iter().any(|u| !path.is_empty() && u.path == path);
        if felt && !taken {
            let dimension = sides.dimension(k);
            list.push(Unknown {
                what: What::Way(k),
                path,
                label: way.label.clone(),
                dimension,
                mean,
                standard,
            });
        }
    }
}

/// A varied magnet's stage with the gap of the magnet as it stands, which is an unknown of its own.
fn at_gap(varied: &Magnet, magnet: &Magnet) -> Stage {
    let mut stage = varied.stage();
    for plate in &mut stage.plates {
        plate.gap_m = magnet.workpiece.as_ref().map_or(plate.gap_m, |w| w.gap_m);
    }
    stage
}

fn assume(
    assumptions: &mut Vec<Assumption>,
    path: &str,
    label: &str,
    (value, standard): (f64, f64),
    reason: &str,
) {
    let mut budget = coilwright_magnet::uncertainty::band::Budget::new(value);
    budget.add(path, label, standard);
    let value = Some(Measure { value, dimension: Dimension::Length, band: budget.band() });
    assumptions.push(Assumption {
        path: path.into(),
        label: label.into(),
        value,
        word: String::new(),
        reason: reason.into(),
    });
}

fn gap(sheet: &Sheet, assumptions: &mut Vec<Assumption>) -> (f64, f64) {
    match sheet.quantity("workpiece.gap") {
        Some(q) if q.half_width > 0.0 => (q.value, q.standard_uncertainty()),
        given => {
            let gap = (given.map_or(USUAL_GAP_M.0, |q| q.value), USUAL_GAP_M.1);
            assume(
                assumptions,
                "workpiece.gap",
                "gap of the faces",
                gap,
                "no tolerance given: roughness and burrs (common practice)",
            );
            gap
        }
    }
}

/// The steel scale and how far it is from sure; none without steel, or where its law is the sheet's own.
fn steel(sheet: &Sheet, magnet: &Magnet) -> Option<(f64, f64)> {
    let standard = magnet.irons().next().map_or(0.0, |iron| iron.field_relative_standard);
    let given = sheet.quantity(OWN_STEEL[0]);
    let mean = given.map_or(1.0, |q| q.value);
    let calibrated = given.filter(|q| q.half_width > 0.0).map(|q| q.standard_uncertainty());
    calibrated.or((standard > 0.0).then_some(mean * standard)).map(|standard| (mean, standard))
}

/// Height of the element: above the face where the readings say nothing, behind the tip where they say the tip's.
fn height(
    sheet: &Sheet,
    observations: &Observations,
    assumptions: &mut Vec<Assumption>,
) -> (&'static str, (f64, f64)) {
    let tip = observations.any(|k| matches!(k, Kind::Field { tip_m: Some(_), .. }));
    let (path, usual) = if tip { ("probe.depth", 0.5e-3) } else { ("probe.standoff", 1e-3) };
    match sheet.quantity(path) {
        Some(q) if q.half_width > 0.0 => (path, (q.value, q.standard_uncertainty())),
        given => {
            // A depth of exactly nothing could not be varied as a positive number.
            let value = given.map(|q| q.value).filter(|v| *v > 0.0).unwrap_or(usual);
            let height = (value, USUAL_HEIGHT_STANDARD_M);
            assume(
                assumptions,
                path,
                "height of the probe's element",
                height,
                "no tolerance given (common practice)",
            );
            (path, height)
        }
    }
}
