//! What one fault on the bench would explain: a warm winding, a plate of another voltage, a limit at work, a unit.
//!
//! A cause is only named if the numbers fit it; that they fit is no proof, so each says how to see.

use super::statement::{DOUBTFUL, Statement};
use crate::electrical::{Ohms, first};
use crate::readings::{Column, Measurand, Readings};
use coilwright_magnet::material::{CELSIUS_ZERO_K, Conductor};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::sheet::Sheet;

/// Voltages that magnets are made for, V (common practice, no source).
const USUAL_V: [f64; 15] =
    [3.0, 5.0, 6.0, 9.0, 12.0, 24.0, 36.0, 48.0, 60.0, 80.0, 96.0, 110.0, 180.0, 205.0, 220.0];
/// A plate's numbers fit another voltage within this share, and differ from its own by more than this factor's logarithm.
const NEAR: f64 = 0.02;
const OTHER: f64 = 0.25;
/// Between these a winding may have been when it was thought cold, K.
pub(super) const WARM_K: [f64; 2] = [298.15, 523.15];
/// Currents this near to each other, relative, are held by a limit.
const HELD: f64 = 0.01;
/// A supply that gives less than this share of what was set does not reach it.
const SHORT: f64 = 0.97;
/// Units mixed up are off by a thousand, within this factor.
const THOUSAND: f64 = 1.5;

/// What is compared when causes are looked for.
pub(super) struct Evidence<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) metal: &'a Conductor,
    pub(super) statements: &'a [Statement],
    pub(super) readings: Option<(&'a Readings, &'a [Ohms])>,
    /// Resistance at the temperature of the winding's class, over that at 20 °C.
    pub(super) warmest: f64,
}

impl Evidence<'_> {
    /// What would explain the contradictions among the statements, likeliest first: a label and a text each.
    pub(super) fn causes(&self) -> Vec<(String, String)> {
        let found = [
            self.thousand(),
            self.limit_at_work(),
            self.warm_meanwhile(),
            self.ohms_taken_hot(),
            self.another_voltage(),
        ];
        found.into_iter().flatten().map(|(label, text)| (label.to_owned(), text)).collect()
    }

    fn find(&self, key: &str) -> Option<&Statement> {
        self.statements.iter().find(|s| s.key == key)
    }

    /// What the winding has cold, by something else than `but`: measured rather than claimed.
    fn cold_without(&self, but: &str) -> Option<&Statement> {
        let order =
            ["readings_ohmmeter", "ohmmeter", "wire", "readings_volts_amperes", "nameplate_resistance"];
        order.iter().filter(|key| **key != but).find_map(|key| self.find(key))
    }

    /// Temperature at which a winding of a cold resistance has another, if it may have been as warm as that.
    fn as_warm_as(&self, ohm: f64, cold: &Statement) -> Option<f64> {
        let kelvin = self.metal.temperature_of_factor(ohm / cold.value);
        (WARM_K[0]..WARM_K[1]).contains(&kelvin).then_some(kelvin)
    }

    fn warm_meanwhile(&self) -> Option<(&'static str, String)> {
        let read = self.find("readings_volts_amperes")?;
        let cold = self.cold_without(read.key)?;
        let (_, rows) = self.readings?;
        if rows.iter().any(|o| o.kelvin.is_some()) {
            return None;
        }
        let most = rows.iter().map(|o| o.ohm).fold(read.value, f64::max);
        let kelvin = self.as_warm_as(most, cold).filter(|_| read.deviation(cold) > DOUBTFUL)?;
        Some((
            "a warm winding",
            format!(
                "at about {} the winding has the {} of volts over amperes, if it has {} cold: it grew warm while they were read. \
                 Read both within seconds of switching on, from cold",
                degrees(kelvin),
                ohms(most),
                ohms(cold.value)
            ),
        ))
    }

    fn ohms_taken_hot(&self) -> Option<(&'static str, String)> {
        let taken = self.find("readings_ohmmeter").or_else(|| self.find("ohmmeter"))?;
        let cold = ["wire", "readings_volts_amperes"].iter().find_map(|key| self.find(key))?;
        let told = self.sheet.value("winding.resistance_at").map_or(1.0, |k| self.metal.resistance_factor(k));
        let told = if taken.key == "ohmmeter" { told } else { 1.0 };
        let kelvin =
            self.as_warm_as(taken.value * told, cold).filter(|_| taken.deviation(cold) > DOUBTFUL)?;
        Some((
            "ohms taken hot",
            format!(
                "the ohms are true at about {}, if the winding has {} at 20 °C by {}: they were taken before it had cooled. \
                 Give `resistance_at`, or measure again after a night",
                degrees(kelvin),
                ohms(cold.value),
                cold.label.replace("readings: ", "")
            ),
        ))
    }

    /// A usual voltage that all of the plate's numbers fit, where the plate's own does not.
    fn another_voltage(&self) -> Option<(&'static str, String)> {
        let cold = self.cold_without("")?;
        let volts = self.sheet.value("nameplate.voltage")?;
        let plates: Vec<&Statement> =
            ["nameplate_power", "nameplate_current"].iter().filter_map(|key| self.find(key)).collect();
        if plates.iter().all(|plate| plate.deviation(cold).abs() <= DOUBTFUL) {
            return None;
        }
        // At another voltage V' the same watts mean V'²/P ohms, the same amperes V'/I.
        let at = |plate: &Statement, warmer: f64| {
            let ratio = warmer * cold.value / plate.value;
            volts * if plate.key == "nameplate_power" { ratio.sqrt() } else { ratio }
        };
        let fits = |u: &&f64| {
            let other = (**u / volts).ln().abs() > OTHER;
            let of = |plate: &&Statement| {
                **u > at(plate, 1.0) * (1.0 - NEAR) && **u < at(plate, self.warmest) * (1.0 + NEAR)
            };
            other && plates.iter().all(of)
        };
        let first = plates.first()?;
        let usual = USUAL_V.iter().filter(fits).min_by(|a, b| {
            let off = |u: f64| (u / at(first, 1.0)).ln().abs();
            off(**a).total_cmp(&off(**b))
        })?;
        let numbers: Vec<&str> =
            plates.iter().map(|p| if p.key == "nameplate_power" { "watts" } else { "amperes" }).collect();
        Some((
            "another voltage",
            format!(
                "the nameplate's {} fit {} on {}: they may belong to a magnet of that voltage. Look for the voltage on the \
                 winding itself",
                numbers.join(" and "),
                Dimension::Voltage.text(*usual, None, UnitSystem::Si),
                ohms(cold.value)
            ),
        ))
    }

    /// A supply that holds its current does not reach the voltage that was set.
    fn limit_at_work(&self) -> Option<(&'static str, String)> {
        let (readings, _) = self.readings?;
        let set = self.sheet.value("drive.voltage").or(self.sheet.value("nameplate.voltage"))?;
        let (volts, amperes) = (first(readings, &Measurand::Voltage)?, first(readings, &Measurand::Current)?);
        let rows: Vec<(f64, f64)> = (0..readings.rows())
            .filter_map(|k| Some((volts.get(k)?, amperes.get(k)?)))
            .filter(|(v, i)| *v > 0.0 && *i > 0.0)
            .collect();
        let most = rows.iter().map(|r| r.1).fold(0.0, f64::max);
        let held: Vec<f64> = rows.iter().filter(|r| r.1 > most * (1.0 - HELD)).map(|r| r.0).collect();
        let (low, high) =
            held.iter().fold((f64::INFINITY, 0.0), |(a, b): (f64, f64), v| (a.min(*v), b.max(*v)));
        // The same current at voltages that differ, none of which is the one that was set.
        let works = held.len() >= 2 && high < SHORT * set && high - low > HELD * high;
        works.then(|| {
            (
                "a current limit",
                format!(
                    "the supply holds {} while its voltage goes from {} to {}, below the {} that are set: its current limit \
                     is at work. Turn it up, or give `drive.current`",
                    Dimension::Current.text(most, None, UnitSystem::Si),
                    Dimension::Voltage.text(low, None, UnitSystem::Si),
                    Dimension::Voltage.text(high, None, UnitSystem::Si),
                    Dimension::Voltage.text(set, None, UnitSystem::Si)
                ),
            )
        })
    }

    /// Volts for millivolts, or amperes for milliamperes: which of the two, the drive tells.
    fn thousand(&self) -> Option<(&'static str, String)> {
        let read = self.find("readings_volts_amperes")?;
        let cold = self.cold_without(read.key)?;
        let (readings, _) = self.readings?;
        let ratio = read.value / cold.value;
        let factor = [1e3, 1e-3].into_iter().find(|f| (ratio / f).ln().abs() < THOUSAND.ln())?;
        let most = |of: &Measurand| first(readings, of).map(Column::greatest);
        let (volts, amperes) = (most(&Measurand::Voltage)?, most(&Measurand::Current)?);
        let set = self.sheet.value("drive.voltage").or(self.sheet.value("nameplate.voltage"));
        // The one that is nearer to what the drive lets expect is right.
        let off = |is: f64, want: f64| (is / want).ln().abs();
        let volts_are_right = set.is_some_and(|v| off(volts, v) < off(amperes, v / cold.value));
        let (wrong, by) = if volts_are_right {
            ("current", if factor > 1.0 { "too small" } else { "too large" })
        } else {
            ("voltage", if factor > 1.0 { "too large" } else { "too small" })
        };
        Some((
            "a unit",
            format!(
                "volts over amperes are {ratio:.3e} times the {} of {}: the {wrong} column is a thousand times {by}. Look at \
                 the unit in its header, and at the meter's range",
                ohms(cold.value),
                cold.label.replace("sheet: ", "the ")
            ),
        ))
    }
}

/// To whole degrees: a cause is no measurement.
fn degrees(kelvin: f64) -> String {
    Dimension::Temperature.text((kelvin - CELSIUS_ZERO_K).round() + CELSIUS_ZERO_K, None, UnitSystem::Si)
}

fn ohms(ohm: f64) -> String {
    Dimension::Resistance.text(ohm, None, UnitSystem::Si)
}
