//! Warm-up logs: temperatures and resistance against time, read off, and what they tell.
//!
//! Two ways, which check each other: the curve looks at one log alone and says where it is heading for; the heat model fits
//! the magnet's own heat model to all logs at once and says how well it gives off, passes on and stores heat.

mod curve;
pub(crate) mod heat;
mod model;

pub use curve::WarmUp;

use crate::electrical;
use crate::meters::Meters;
use crate::readings::{Measurand, Readings};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;

/// Where a thermometer was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    Back,
    Face,
    Side,
    /// The hottest place outside.
    Surface,
    HotSpot,
}

/// One temperature against time, as logged.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Log {
    pub(crate) label: String,
    /// Time in s, temperature in K.
    pub(crate) points: Vec<(f64, f64)>,
    /// A place that the heat model knows; none for others, and for the winding by its resistance.
    pub(crate) place: Option<Place>,
    /// Standard uncertainty of each reading for itself, K.
    pub(crate) own_k: f64,
    /// Standard uncertainty that all its readings share, K.
    pub(crate) shared_k: f64,
}

impl Place {
    /// The place that a column's name means.
    fn named(name: &str) -> Option<Self> {
        Some(match name {
            "back" | "back plate" => Self::Back,
            "face" | "pole" | "pole face" => Self::Face,
            "side" | "shell" | "body" => Self::Side,
            "surface" | "outside" | "case" => Self::Surface,
            "hot spot" | "hot_spot" => Self::HotSpot,
            _ => return None,
        })
    }
}

/// Every temperature in the readings that is not of the surroundings, and the winding's by its resistance.
pub(crate) fn logs(
    readings: &Readings,
    magnet: &Magnet,
    meters: &mut Meters<'_>,
) -> Result<Vec<Log>, Failure> {
    let Some(time) = electrical::first(readings, &Measurand::Time) else { return Ok(Vec::new()) };
    let mut logs: Vec<Log> = Vec::new();
    for column in &readings.columns {
        let Measurand::Temperature(name) = &column.measurand else { continue };
        if matches!(name.as_str(), "ambient" | "coolant" | "room" | "air") {
            continue;
        }
        let points = (0..readings.rows()).filter_map(|k| Some((time.get(k)?, column.get(k)?))).collect();
        let meter = meters.of(column)?;
        logs.push(Log {
            label: name.clone(),
            points,
            place: Place::named(name),
            own_k: meter.own_uncertainty(0.0),
            shared_k: electrical::shared(&meter, 0.0),
        });
    }
    logs.extend(by_resistance(readings, magnet, meters)?);
    Ok(logs)
}

/// Where each log that rises is heading for, by its curve alone.
pub(crate) fn extrapolated(logs: &[Log]) -> Vec<WarmUp> {
    logs.iter().filter_map(curve::extrapolated).collect()
}

/// Mean temperature of the winding from volts over amperes, the first row being cold.
fn by_resistance(
    readings: &Readings,
    magnet: &Magnet,
    meters: &mut Meters<'_>,
) -> Result<Option<Log>, Failure> {
    let Some(winding) = magnet.excitation.as_ref().and_then(|e| e.winding.as_ref()) else { return Ok(None) };
    let Some(time) = electrical::first(readings, &Measurand::Time) else { return Ok(None) };
    let all = electrical::resistances(readings, meters)?;
    let rows = if all.volts_over_amperes.is_empty() { all.ohmmeter } else { all.volts_over_amperes };
    let Some(first) = rows.first() else { return Ok(None) };
    let ambient = Measurand::Temperature("ambient".into());
    let (cold, u_cold) =
        match electrical::first(readings, &ambient).and_then(|c| c.get(first.row).map(|k| (c, k))) {
            Some((column, kelvin)) => (kelvin, meters.of(column)?.standard_uncertainty(kelvin)),
            None => (magnet.excitation.as_ref().map_or(293.15, |e| e.kelvin), 2.0),
        };
    let cold_factor = winding.conductor.resistance_factor(cold);
    let kelvin = |ohm: f64| winding.conductor.temperature_of_factor(cold_factor * ohm / first.ohm);
    let points: Vec<(f64, f64)> =
        rows.iter().filter_map(|o| Some((time.get(o.row)?, kelvin(o.ohm)))).collect();
    // The gain of the meters cancels in the ratio; what the first reading is off by scales all the others.
    let hottest = points.iter().map(|p| p.1).fold(cold, f64::max);
    let zero_k = winding.conductor.temperature_of_factor(0.0);
    let own_k = (hottest - zero_k) * first.own / first.ohm;
    let shared_k = (u_cold * (hottest - zero_k) / (cold - zero_k)).hypot(own_k);
    Ok(Some(Log { label: "winding by its resistance".into(), points, place: None, own_k, shared_k }))
}

/// Time from the first point and value; means of equal shares of the points where there are more than `most`.
pub(crate) fn thin(points: &[(f64, f64)], most: usize) -> (Vec<f64>, Vec<f64>) {
    let every = points.len().div_ceil(most).max(1);
    let start = points.first().map_or(0.0, |p| p.0);
    let mean = |chunk: &[(f64, f64)], part: fn(&(f64, f64)) -> f64| {
        chunk.iter().map(part).sum::<f64>() / chunk.len() as f64
    };
    points.chunks(every).map(|c| (mean(c, |p| p.0) - start, mean(c, |p| p.1))).unzip()
}
