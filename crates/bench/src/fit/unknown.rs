//! What a fit may find out, and what is known of it beforehand.

use super::observation::{Drive, Kind, Observations};
use crate::electrical::cold_kelvin;
use crate::least_squares::Parameter;
use crate::meters::Meters;
use crate::readings::Readings;
use coilwright_magnet::answers::answer::Value;
use coilwright_magnet::answers::question::Question;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::assumption::Assumption;
use coilwright_magnet::magnet::{Magnet, Substance};
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
}

/// An unknown with what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unknown {
    pub(super) what: What,
    /// Path in the sheet; empty for what no sheet holds.
    pub(super) path: &'static str,
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
        let parameter = Parameter::new(&self.label, self.mean).with_prior(self.mean, self.standard);
        match self.what {
            What::Zero(_) | What::Setting(_) | What::Gain(_) | What::Offset(_) => parameter,
            _ => parameter.positive(),
        }
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
    let mut add = |what, path, label: &str, dimension, (mean, standard): (f64, f64)| {
        if standard > 0.0 {
            list.push(Unknown { what, path, label: label.into(), dimension, mean, standard });
        }
    };
    let winding = match magnet.excitation.as_ref().and_then(|e| e.winding.as_ref()) {
        Some(_) => Some(answer(sheet, &Question::Winding)?),
        None => None,
    };
    let of_winding = |key: &str| match &winding.as_ref()?.item(key)?.value {
        Value::Number(m) => Some((m.value, m.band.as_ref().map_or(0.0, |b| b.standard))),
        Value::Text(_) => None,
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
        add(What::Material, "calibration.steel_scale", "steel scale", Dimension::Ratio, scale);
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
    Ok(list)
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
    let irons = magnet.parts.iter().filter_map(|p| match &p.substance {
        Substance::Iron(iron) => Some(iron.field_relative_standard),
        _ => None,
    });
    let standard = irons.fold(0.0, f64::max);
    let given = sheet.quantity("calibration.steel_scale");
    let mean = given.map_or(1.0, |q| q.value);
    let calibrated = given.filter(|q| q.half_width > 0.0).map(|q| q.standard_uncertainty());
    (standard > 0.0).then(|| (mean, calibrated.unwrap_or(mean * standard)))
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
