//! The rows and curves of an answer about switching.

use crate::answers::answer::{Answer, Column, Item, Series};
use crate::answers::caution;
use crate::circuit::SwitchError;
use crate::circuit::coil::Loop;
use crate::circuit::curve::Curve;
use crate::circuit::events::{Clamp, Release, TurnOff, interruption, reverse};
use crate::circuit::residual::ResidualPull;
use crate::coupled::operating_point::Strength;
use crate::coupled::switch::clamps::Named;
use crate::coupled::switch::state::{MAIN, State};
use crate::failure::Failure;
use crate::magnetic::effects::band;
use crate::quantity::{Dimension, UnitSystem};
use crate::uncertainty::band::Band;

/// Points of a curve.
const POINTS: usize = 161;
/// Where the curves after switching off begin, unless all is over soon after, s.
const FIRST_S: f64 = 1e-4;

/// What is told.
pub(crate) struct Told<'a> {
    pub(crate) state: &'a State<'a>,
    pub(crate) strength: &'a Strength,
    /// What every uncertain input makes of each of [`MAIN`].
    pub(crate) moved: &'a [Vec<(String, String, f64)>],
}

impl Told<'_> {
    /// A number with its band, if it is one of [`MAIN`].
    fn number(&self, key: &str, label: &str, value: f64, dimension: Dimension) -> Item {
        let item = Item::number(key, label, value, dimension);
        match MAIN.iter().position(|(name, _)| *name == key) {
            Some(k) => item.with_band(band(value, &self.moved[k], MAIN[k].1 * value)),
            None => item,
        }
    }

    /// Switching on.
    pub(crate) fn on(&self, answer: &mut Answer) -> Result<(), Failure> {
        use Dimension::{Current, Force, Time, Voltage};
        let (state, current) = (self.state, self.state.current);
        let items = vec![
            self.number("rise_time", "time to 95 % of the current", state.rise_s(0.95)?, Time),
            self.number("rise_half", "time to 50 % of the current", state.rise_s(0.5)?, Time),
            self.number("rise_99", "time to 99 % of the current", state.rise_s(0.99)?, Time),
            self.number("pull_rise", "time to 95 % of the pull", state.pull_rise_s()?, Time),
            self.number("current", "current", current, Current),
            self.number("voltage", "voltage at the supply", state.supply_v, Voltage),
            self.number("pull", "pull on the workpiece at its gap", self.strength.pull_n(current), Force),
        ];
        answer.group("Switching on, workpiece in place", items);
        Ok(())
    }

    /// The coil itself.
    pub(crate) fn coil(&self, ohm: f64, answer: &mut Answer) -> Result<(), Failure> {
        use Dimension::{Energy, Inductance, Resistance};
        let (coil, current) = (self.state.coil, self.state.current);
        let (low, high) = (coil.inductance(0.05 * current)?, coil.inductance(current)?);
        let (linkage, stored) = (coil.linkage(current)?, coil.stored_energy(current)?);
        let straight = Energy.text(0.5 * linkage * current, None, UnitSystem::Si);
        let items = vec![
            self.number("resistance", "resistance as driven", ohm, Resistance),
            self.number("inductance_low", "incremental inductance near no current", low, Inductance),
            self.number("inductance_incremental", "incremental inductance at the current", high, Inductance),
            self.number("inductance_apparent", "flux linkage over current", linkage / current, Inductance),
            self.number("stored_energy", "energy in the field", stored, Energy)
                .with_note(format!("½ L I² with the apparent inductance: {straight}")),
        ];
        answer.group("Coil", items);
        Ok(())
    }

    /// Switching off by the sheet's own clamp.
    pub(crate) fn off(&self, own_off: &TurnOff, load_note: &str, answer: &mut Answer) -> Result<(), Failure> {
        let (own, load_n) = (&self.state.own, self.state.load_n);
        let mut items = vec![
            Item::number("load", "what is to be let go", load_n, Dimension::Force).with_note(load_note),
            Item::text("clamp", "clamp of the sheet", own.label.clone()),
        ];
        items.extend(release_item("release_time", "time to let go", own_off, |item, v| {
            item.with_band(band(v, &self.moved[1], MAIN[1].1 * v))
        }));
        let (label, peak_v) = ("highest voltage across the coil", own_off.peak_coil_v);
        items.push(match own.clamp {
            Clamp::Nothing { .. } => Item::number("peak_voltage", label, peak_v, Dimension::Voltage)
                .with_note("a guess, see below"),
            _ => self.number("peak_voltage", label, peak_v, Dimension::Voltage),
        });
        items.push(Item::number(
            "peak_switch",
            "highest voltage across the switch",
            own_off.peak_switch_v,
            Dimension::Voltage,
        ));
        answer.group("Switching off", items);
        Ok(())
    }

    /// Switching off by one clamp.
    pub(crate) fn off_by(&self, clamp: &Named, answer: &mut Answer) -> Result<TurnOff, Failure> {
        let state = self.state;
        let off = state.off(clamp.clamp)?;
        let key = |what: &str| format!("{what}_{}", clamp.key);
        let mut items = Vec::new();
        items.extend(release_item(&key("release_time"), "time to let go", &off, |item, _| item));
        let end = off.transient.time_s[off.transient.time_s.len() - 1];
        items.push(
            Item::number(&key("off_time"), "time until the current is gone", end, Dimension::Time)
                .with_note(if matches!(clamp.clamp, Clamp::Resistor { .. }) { "to 0.1 %" } else { "" }),
        );
        let peak = Item::number(
            &key("peak_voltage"),
            "highest voltage across the coil",
            off.peak_coil_v,
            Dimension::Voltage,
        );
        let peak = match clamp.clamp {
            Clamp::Nothing { stray_farad } => {
                let spark = interruption(state.coil, state.current, stray_farad)?;
                items.push(
                    Item::number(
                        &key("peak_most"),
                        "the same without any spark",
                        spark.high_v,
                        Dimension::Voltage,
                    )
                    .with_note(
                        "all energy in 300 pF of stray capacitance; insulation and semiconductors face this",
                    ),
                );
                peak.with_note(format!(
                    "a guess, gap sparking over and over; a steady arc makes {:.0} V",
                    spark.low_v
                ))
            }
            _ => peak,
        };
        items.push(peak);
        items.push(Item::number(
            &key("clamp_energy"),
            "energy the clamp takes",
            off.clamp_j,
            Dimension::Energy,
        ));
        items.push(Item::number(
            &key("coil_energy"),
            "energy that heats the coil",
            off.coil_j,
            Dimension::Energy,
        ));
        answer.group(&format!("Off by {}", clamp.label), items);
        answer.cautions.extend(caution::inductive(&key("peak_voltage"), off.peak_coil_v));
        Ok(off)
    }

    /// What is left without current, how late the iron follows, and reversal.
    pub(crate) fn left(
        &self,
        residual: Option<&ResidualPull>,
        delay_s: Option<f64>,
        reversed_v: Option<f64>,
        answer: &mut Answer,
    ) -> Result<(), Failure> {
        let (state, load_n) = (self.state, self.state.load_n);
        let pull = self.strength.pull_n(state.current);
        let mut items = Vec::new();
        if let Some(r) = residual {
            let of = |n: f64| n / pull;
            items.push(
                Item::number("residual_pull", "pull left without current", r.value_n, Dimension::Force)
                    .with_band(Band {
                        standard: 0.25 * (r.high_n - r.low_n),
                        low: r.low_n,
                        high: r.high_n,
                        contributors: Vec::new(),
                    })
                    .with_note(left_note(of(r.low_n), of(r.value_n), of(r.high_n))),
            );
            if r.high_n > load_n {
                answer.warnings.push(format!(
                    "the pull left without current may hold the load of {}: a spacer or a short reversed pulse lets it go",
                    Dimension::Force.text(load_n, None, UnitSystem::Si)
                ));
            }
        }
        if let Some(delay) = delay_s {
            items.push(
                Item::number("eddy_delay", "delay of the flux in solid iron", delay, Dimension::Time)
                    .with_band(Band {
                        standard: 0.5 * delay,
                        low: delay / 3.0,
                        high: 3.0 * delay,
                        contributors: Vec::new(),
                    })
                    .with_note("eddy currents; within a factor of 3, and not in the times above"),
            );
        }
        if let Some(volts) = reversed_v {
            let over = reverse(state.coil, volts, state.lead)?;
            items.push(Item::number(
                "reversal_zero",
                "polarity reversed: time to no current",
                over.zero_s,
                Dimension::Time,
            ));
            items.push(Item::number(
                "reversal_time",
                "polarity reversed: time to 90 % of the opposite",
                over.ninety_percent_s,
                Dimension::Time,
            ));
        }
        answer.group("What is left, and reversal", items);
        Ok(())
    }

    /// The curves.
    pub(crate) fn series(&self, curves: &[(Named, TurnOff)], answer: &mut Answer) -> Result<(), Failure> {
        let (state, strength) = (self.state, self.strength);
        let around = Loop { voltage_v: state.supply_v, resistance_ohm: state.lead };
        let on = state.coil.transient(around, 0.0, 0.995 * state.current)?;
        let way = Curve::new(on.time_s.clone(), on.current_a.clone()).map_err(SwitchError::from)?;
        let end = on.time_s[on.time_s.len() - 1];
        let times: Vec<f64> = (0..POINTS).map(|k| end * k as f64 / (POINTS - 1) as f64).collect();
        let currents: Vec<f64> =
            times.iter().map(|t| way.value(*t).unwrap_or(0.995 * state.current)).collect();
        let pulls = currents.iter().map(|i| strength.pull_n(*i)).collect();
        answer.series.push(Series {
            key: "turn_on".into(),
            title: "Switching on".into(),
            x: Column::new("time", "time", Dimension::Time, times),
            ys: vec![
                Column::new("current", "current", Dimension::Current, currents),
                Column::new("pull", "pull", Dimension::Force, pulls),
            ],
            log_x: false,
        });
        // The slowest clamp's fall to 2 % is the picture's width.
        let fallen = |off: &TurnOff| {
            let at = off.transient.current_a.iter().position(|i| *i <= 0.02 * state.current);
            at.map_or(0.0, |k| off.transient.time_s[k])
        };
        let width = curves.iter().map(|(_, off)| fallen(off)).fold(0.0, f64::max);
        // A diode is slower than a voltage by orders of magnitude: the times rise by a ratio.
        let first = FIRST_S.min(1e-3 * width);
        let ratio = if first > 0.0 { width / first } else { 1.0 };
        let times: Vec<f64> =
            (0..POINTS).map(|k| first * ratio.powf(k as f64 / (POINTS - 1) as f64)).collect();
        let (mut currents, mut pulls) = (Vec::new(), Vec::new());
        for (clamp, off) in curves {
            let way = Curve::new(
                off.transient.time_s.clone(),
                off.transient.current_a.iter().map(|i| -i).collect(),
            )
            .map_err(SwitchError::from)?;
            let row: Vec<f64> = times.iter().map(|t| way.value(*t).map_or(0.0, |i| -i)).collect();
            let pull = row.iter().map(|i| state.pull.value(i.max(0.0)).unwrap_or(f64::NAN)).collect();
            currents.push(Column::new(clamp.key, &clamp.label, Dimension::Current, row));
            pulls.push(Column::new(clamp.key, &clamp.label, Dimension::Force, pull));
        }
        for (key, title, ys) in [
            ("turn_off", "Current after switching off", currents),
            ("turn_off_pull", "Pull after switching off, the residual included", pulls),
        ] {
            let x = Column::new("time", "time", Dimension::Time, times.clone());
            answer.series.push(Series { key: key.into(), title: title.into(), x, ys, log_x: true });
        }
        Ok(())
    }
}

/// How much of the pull is left, likely and between what ends.
fn left_note(low: f64, likely: f64, high: f64) -> String {
    let known = if high < LEAST_SHARE {
        "by all that is known of the iron and the gap".into()
    } else if low < LEAST_SHARE {
        format!("{} at most by what is known of the iron and the gap", percent(high))
    } else {
        format!("{} to {} by what is known of the iron and the gap", percent(low), percent(high))
    };
    let comma = if high < LEAST_SHARE { "" } else { "," };
    format!("{} of the pull{comma} {known}; only a scale tells", percent(likely))
}

/// Smaller shares are not worth their digits.
const LEAST_SHARE: f64 = 1e-3;

/// A share as a person writes it.
fn percent(share: f64) -> String {
    let p = 100.0 * share;
    if share < LEAST_SHARE {
        "less than 0.1 %".into()
    } else if p < 10.0 {
        format!("{p:.1} %")
    } else {
        format!("{p:.0} %")
    }
}

fn release_item(key: &str, label: &str, off: &TurnOff, dress: impl Fn(Item, f64) -> Item) -> Option<Item> {
    Some(match off.release? {
        Release::After { time_s, .. } => dress(Item::number(key, label, time_s, Dimension::Time), time_s),
        Release::Already => Item::text(key, label, "the pull is below the load already"),
        Release::Never => Item::text(key, label, "never: the pull left without current holds it"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_told_once() {
        assert_eq!(
            left_note(1e-6, 1e-5, 1e-4),
            "less than 0.1 % of the pull by all that is known of the iron and the gap; only a scale tells"
        );
        assert_eq!(
            left_note(1e-6, 1e-4, 0.013),
            "less than 0.1 % of the pull, 1.3 % at most by what is known of the iron and the gap; only a scale tells"
        );
        assert!(left_note(0.02, 0.05, 0.12).starts_with("5.0 % of the pull, 2.0 % to 12 % by what"));
    }
}
