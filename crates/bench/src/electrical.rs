//! The winding's resistance as readings tell it: an ohmmeter's, and volts over amperes, row by row.

use crate::instrument::Instrument;
use crate::meters::Meters;
use crate::readings::{Column, Measurand, Readings};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::sheet::Sheet;
use std::collections::HashSet;

/// A resistance from one row of readings.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ohms {
    /// Row of the readings.
    pub(crate) row: usize,
    /// Ω, at the winding's temperature then.
    pub(crate) ohm: f64,
    /// Standard uncertainty of this reading alone, Ω.
    pub(crate) own: f64,
    /// Standard uncertainty common to all rows by the same meters (gain, offset), Ω.
    pub(crate) shared: f64,
    /// Temperature of the winding if a thermometer says it, K.
    pub(crate) kelvin: Option<f64>,
}

/// The rows of one way to measure.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Resistances {
    /// By an ohmmeter.
    pub(crate) ohmmeter: Vec<Ohms>,
    /// Volts over amperes.
    pub(crate) volts_over_amperes: Vec<Ohms>,
}

/// Currents smaller than this share of the largest do not make a resistance worth having.
const LEAST_CURRENT: f64 = 0.05;

/// Every resistance in the readings.
pub(crate) fn resistances(readings: &Readings, meters: &mut Meters<'_>) -> Result<Resistances, Failure> {
    let mut found = Resistances::default();
    for column in readings.columns_of(&Measurand::Resistance) {
        let meter = meters.of(column)?;
        for row in 0..readings.rows() {
            if let Some(ohm) = column.get(row).filter(|ohm| *ohm > 0.0) {
                let (own, shared) = (meter.own_uncertainty(ohm), shared(&meter, ohm));
                found.ohmmeter.push(Ohms { row, ohm, own, shared, kelvin: winding_kelvin(readings, row) });
            }
        }
    }
    let (volts, amperes) = (first(readings, &Measurand::Voltage), first(readings, &Measurand::Current));
    if let (Some(volts), Some(amperes)) = (volts, amperes) {
        let (voltmeter, ammeter) = (meters.of(volts)?, meters.of(amperes)?);
        let most = amperes.greatest();
        // A supply that is set once and written beside many other readings was read once.
        let mut seen: HashSet<[u64; 2]> = HashSet::new();
        for row in 0..readings.rows() {
            let (Some(v), Some(i)) = (volts.get(row), amperes.get(row)) else { continue };
            if !readings.timed(row) && !seen.insert([v.to_bits(), i.to_bits()]) {
                continue;
            }
            if i.abs() < LEAST_CURRENT * most || i == 0.0 || v / i <= 0.0 {
                continue;
            }
            let ohm = v / i;
            let relative =
                |f: fn(&Instrument, f64) -> f64| ohm * (f(&voltmeter, v) / v).hypot(f(&ammeter, i) / i);
            let (own, shared) = (relative(Instrument::own_uncertainty), relative(shared));
            found.volts_over_amperes.push(Ohms {
                row,
                ohm,
                own,
                shared,
                kelvin: winding_kelvin(readings, row),
            });
        }
    }
    Ok(found)
}

/// The first column of a kind.
pub(crate) fn first<'a>(readings: &'a Readings, measurand: &'a Measurand) -> Option<&'a Column> {
    readings.columns_of(measurand).next()
}

/// Part of a reading's standard uncertainty that all readings of the instrument share.
pub(crate) fn shared(meter: &Instrument, reading: f64) -> f64 {
    meter.components(reading).iter().filter(|c| c.shared).fold(0.0, |sum, c| f64::hypot(sum, c.standard))
}

fn winding_kelvin(readings: &Readings, row: usize) -> Option<f64> {
    first(readings, &Measurand::Temperature("winding".into()))?.get(row)
}

impl Resistances {
    /// Those of one way that were taken with the winding cold, as far as one can see: of a log the first moment, of other
    /// rows the lowest ones that agree with each other. Rows whose winding temperature was measured all count.
    pub(crate) fn cold<'a>(readings: &Readings, all: &'a [Ohms]) -> Vec<&'a Ohms> {
        if all.iter().any(|o| o.kelvin.is_some()) {
            return all.iter().filter(|o| o.kelvin.is_some()).collect();
        }
        let (log, apart): (Vec<&Ohms>, Vec<&Ohms>) = all.iter().partition(|o| readings.timed(o.row));
        let lowest = apart.iter().min_by(|a, b| a.ohm.total_cmp(&b.ohm)).copied();
        let agrees = |o: &&&Ohms| lowest.is_some_and(|l| o.ohm - l.ohm <= 3.0 * o.own.hypot(l.own));
        log.first().copied().into_iter().chain(apart.iter().filter(agrees).copied()).collect()
    }
}

/// Temperature of a winding that has not been under current: that of its surroundings as first read, or as the sheet
/// says; and its standard uncertainty (2 K where nothing says it: common practice, no source), K.
pub(crate) fn cold_kelvin(
    sheet: &Sheet,
    readings: Option<(&Readings, &mut Meters<'_>)>,
) -> Result<(f64, f64), Failure> {
    const USUAL: (f64, f64) = (293.15, 2.0);
    if let Some((readings, meters)) = readings {
        let ambient = Measurand::Temperature("ambient".into());
        if let Some(column) = first(readings, &ambient)
            && let Some(kelvin) = column.iter().flatten().next()
        {
            return Ok((kelvin, meters.of(column)?.standard_uncertainty(kelvin)));
        }
    }
    Ok(sheet
        .quantity("surroundings.temperature")
        .map_or(USUAL, |q| (q.value, if q.half_width > 0.0 { q.standard_uncertainty() } else { USUAL.1 })))
}

/// Mean of resistances weighted by their own uncertainties: value, standard uncertainty with what is shared, Ω.
pub(crate) fn mean(rows: &[&Ohms]) -> Option<(f64, f64)> {
    let weight = |o: &Ohms| 1.0 / o.own.max(1e-9 * o.ohm).powi(2);
    let total: f64 = rows.iter().map(|o| weight(o)).sum();
    if rows.is_empty() || total <= 0.0 {
        return None;
    }
    let ohm = rows.iter().map(|o| weight(o) * o.ohm).sum::<f64>() / total;
    let shared = rows.iter().map(|o| o.shared).fold(0.0, f64::max);
    Some((ohm, (1.0 / total).sqrt().hypot(shared)))
}
