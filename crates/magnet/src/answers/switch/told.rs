//! The rows and curves of an answer about switching.

use crate::answers::answer::{Answer, Column, Item, Series};
use crate::answers::caution;
use crate::answers::switch::ready::Ready;
use crate::circuit::events::{Clamp, Release, interruption};
use crate::circuit::residual::{ResidualPull, fading_to};
use crate::coupled::switch::clamps::Named;
use crate::coupled::switch::in_field::{Bands, InField};
use crate::coupled::switch::state::{MAIN, State};
use crate::coupled::switch::switched::{POINTS, Row, SwitchedOff, SwitchedOn, TIMES, at};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::assumption::Assumption;
use crate::magnet::variation::conductors;
use crate::magnetic::effects::band;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::uncertainty::band::Band;
use crate::uncertainty::measure::Measure;
use coilwright_fem::drawing::Symmetry;

/// What is told.
pub(crate) struct Told<'a> {
    pub(crate) ready: &'a Ready,
    pub(crate) state: &'a State<'a>,
    /// What every uncertain input makes of each of [`MAIN`], by the circuit.
    pub(crate) moved: &'a [Vec<(String, String, f64)>],
    /// The field in time where the iron is solid, with what it makes of the times.
    pub(crate) field: Option<(&'a InField, &'a Bands)>,
    /// What the clamp and the pull that is left make of the drop-out time by the field, relative.
    pub(crate) besides: Vec<(String, String, f64)>,
}

impl Told<'_> {
    /// A number with its band, if it is one of [`MAIN`]; words where the field in time is not known well enough.
    fn number(&self, key: &str, label: &str, value: f64, dimension: Dimension) -> Item {
        let item = Item::number(key, label, value, dimension);
        if let Some((field, bands)) = self.field.filter(|_| TIMES.contains(&key)) {
            if let Some(error) = field.poor(key) {
                return Item::text(key, label, not_told(error));
            }
            let besides: &[_] = if key == "release_time" { &self.besides } else { &[] };
            let band = bands.of_time(key, value, besides);
            return match band {
                Some(band) => item.with_band(band),
                None => item,
            };
        }
        match MAIN.iter().position(|(name, _)| *name == key) {
            Some(k) => item.with_band(band(value, &self.moved[k], MAIN[k].1 * value)),
            None => item,
        }
    }

    /// Switching on.
    pub(crate) fn on(&self, on: &SwitchedOn, answer: &mut Answer) {
        use Dimension::{Current, Force, Time, Voltage};
        let (state, current) = (self.state, self.state.current);
        let ([half, most, all], [pull_half, pull_most, pull_all]) = (on.current_s, on.pull_s);
        let mut items = vec![
            self.number("rise_time", "time to 95 % of the current", most, Time),
            self.number("rise_half", "time to 50 % of the current", half, Time),
            self.number("rise_99", "time to 99 % of the current", all, Time),
            self.number("pull_rise", "time to 95 % of the pull", pull_most, Time),
            self.number("pull_rise_half", "time to 50 % of the pull", pull_half, Time),
            self.number("pull_rise_99", "time to 99 % of the pull", pull_all, Time),
        ];
        if self.field.is_some() && self.ready.strength.pull_n(current) > 0.0 {
            // Behind solid iron the pull follows the current late: it is what is waited for.
            items.rotate_left(3);
        }
        let pull_n = self.ready.strength.pull_n(current);
        items.extend([
            self.number("current", "current", current, Current),
            self.number("voltage", "voltage at the supply", state.supply_v, Voltage),
            self.number("pull", "pull on the workpiece at its gap", pull_n, Force),
        ]);
        answer.group("Switching on, workpiece in place", items);
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
    pub(crate) fn off(&self, own_off: &SwitchedOff, load_note: &str, answer: &mut Answer) {
        let (own, load_n) = (&self.state.own, self.state.load_n);
        let (label, peak_v) = (PEAK, own_off.peak_coil_v);
        let release = match own_off.release {
            Release::After { time_s, .. } => {
                self.number("release_time", DROP_OUT, time_s, Dimension::Time).with_note(self.eddies())
            }
            release => in_words("release_time", release),
        };
        let items = vec![
            Item::number("load", "what is to be let go", load_n, Dimension::Force).with_note(load_note),
            Item::text("clamp", "clamp of the sheet", own.label.clone()),
            release,
            match own.clamp {
                Clamp::Nothing { .. } => Item::number("peak_voltage", label, peak_v, Dimension::Voltage)
                    .with_note("a guess, see below"),
                _ => self.number("peak_voltage", label, peak_v, Dimension::Voltage),
            },
            Item::number(
                "peak_switch",
                "highest voltage across the switch",
                peak_v + self.state.supply_v,
                Dimension::Voltage,
            ),
        ];
        answer.group("Switching off", items);
    }

    /// Where the times come from.
    fn eddies(&self) -> &'static str {
        match self.field {
            Some(_) => "eddy currents in the solid iron included",
            None => "no eddies: the iron is laminated, or there is none",
        }
    }

    /// Switching off by one clamp.
    pub(crate) fn off_by(
        &self,
        clamp: &Named,
        off: &SwitchedOff,
        answer: &mut Answer,
    ) -> Result<(), Failure> {
        let state = self.state;
        let key = |what: &str| format!("{what}_{}", clamp.key);
        let release = match off.release {
            Release::After { time_s, .. } => match self.field.and_then(|(field, _)| field.poor_by(off)) {
                Some(error) => Item::text(&key("release_time"), DROP_OUT, not_told(error)),
                None => Item::number(&key("release_time"), DROP_OUT, time_s, Dimension::Time),
            },
            release => in_words(&key("release_time"), release),
        };
        let mut items = vec![release];
        items.push(
            Item::number(&key("off_time"), "time until the current is gone", off.gone_s, Dimension::Time)
                .with_note(if matches!(clamp.clamp, Clamp::Resistor { .. }) { "to 0.1 %" } else { "" }),
        );
        let peak = Item::number(&key("peak_voltage"), PEAK, off.peak_coil_v, Dimension::Voltage);
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
        if let Some(eddy_j) = off.eddy_j {
            let (label, seconds) =
                ("energy that heats the iron by eddies", off.rows.last().map(|r| r.time_s));
            let item = Item::number(&key("eddy_energy"), label, eddy_j, Dimension::Energy);
            items.push(match seconds {
                Some(s) => item.with_note(format!("in {}", Dimension::Time.text(s, None, UnitSystem::Si))),
                None => item,
            });
        }
        answer.group(&format!("Off by {}", clamp.label), items);
        answer.cautions.extend(caution::inductive(&key("peak_voltage"), off.peak_coil_v));
        Ok(())
    }

    /// What is left without current, and reversal.
    pub(crate) fn left(
        &self,
        residual: Option<&ResidualPull>,
        reversal: bool,
        answer: &mut Answer,
    ) -> Result<(), Failure> {
        let (state, load_n) = (self.state, self.state.load_n);
        let pull = self.ready.strength.pull_n(state.current);
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
                let left = "what is left without current may hold the load: a spacer or a short reversed pulse lets it go";
                answer.warnings.push(left.into());
            }
        }
        if reversal && self.ready.holds_voltage {
            let field = self.field.map(|(field, _)| field);
            let [zero_s, over_s] = self.ready.reversed(field, state.supply_v.min(self.ready.steady_v))?;
            let mut add = |key: &str, label: &str, time_s: f64| {
                items.push(match time_s.is_finite() {
                    true => Item::number(key, label, time_s, Dimension::Time),
                    false => Item::text(key, label, "not told: the field in time does not balance"),
                });
            };
            add("reversal_zero", "polarity reversed: time to no current", zero_s);
            add("reversal_time", "polarity reversed: time to 90 % of the opposite", over_s);
        }
        answer.group(if reversal { "What is left, and reversal" } else { "What is left" }, items);
        Ok(())
    }

    /// The curves; `moments_s` are those at which the pull's band is known.
    pub(crate) fn series(
        &self,
        on: &SwitchedOn,
        curves: &[(Named, SwitchedOff)],
        moments_s: &[f64],
        answer: &mut Answer,
    ) {
        let end = on.rows.last().map_or(0.0, |r| r.time_s);
        let times: Vec<f64> = (0..POINTS).map(|k| end * k as f64 / (POINTS - 1) as f64).collect();
        let rows: Vec<Row> = times.iter().map(|t| at(&on.rows, *t)).collect();
        answer.series.push(Series {
            key: "turn_on".into(),
            title: "Switching on".into(),
            x: Column::new("time", "time", Dimension::Time, times),
            ys: vec![
                Column::new(
                    "current",
                    "current",
                    Dimension::Current,
                    rows.iter().map(|r| r.current_a).collect(),
                ),
                Column::new("pull", "pull", Dimension::Force, rows.iter().map(|r| r.pull_n).collect()),
            ],
            log_x: false,
        });
        let residual = self.ready.residual.as_ref();
        let left_n = residual.map_or(0.0, |r| r.value_n);
        let (mut currents, mut pulls) = (Vec::new(), Vec::new());
        for (clamp, off) in curves {
            let rows: Vec<Row> = moments_s.iter().map(|t| at(&off.rows, *t)).collect();
            let current = rows.iter().map(|r| r.current_a.max(0.0)).collect();
            currents.push(Column::new(clamp.key, &clamp.label, Dimension::Current, current));
            let full_n = self.ready.strength.pull_n(self.state.current);
            let with = |left_n: f64, pull_n: f64| match self.field {
                Some(_) => fading_to(left_n, full_n, pull_n),
                None => pull_n.max(left_n),
            };
            let pull = rows.iter().map(|r| with(left_n, r.pull_n)).collect();
            let mut column = Column::new(clamp.key, &clamp.label, Dimension::Force, pull);
            if let Some((_, bands)) = self.field.filter(|_| clamp.key == self.state.own.key) {
                let [least_n, most_n] = residual.map_or([0.0; 2], |r| [r.low_n, r.high_n]);
                let known = bands.of_pulls(rows.iter().map(|row| row.pull_n)).into_iter();
                column.bands = known.map(|(low, high)| (with(least_n, low), with(most_n, high))).collect();
            }
            pulls.push(column);
        }
        for (key, title, ys) in [
            ("turn_off", "Current after switching off", currents),
            ("turn_off_pull", "Pull after switching off, the residual included", pulls),
        ] {
            let x = Column::new("time", "time", Dimension::Time, moments_s.to_vec());
            answer.series.push(Series { key: key.into(), title: title.into(), x, ys, log_x: true });
        }
    }

    /// What was taken for the irons' eddies.
    pub(crate) fn conduction(&self, sheet: &Sheet, magnet: &Magnet, answer: &mut Answer) {
        if self.field.is_none() {
            return;
        }
        for (iron, electrical) in conductors(magnet) {
            let own = sheet.own_materials().iter().find(|m| m.name == iron.name);
            if own.is_some_and(|m| m.resistivity_ohm_m.is_some()) {
                continue;
            }
            let (value, relative) = (electrical.resistivity_20_ohm_m, electrical.relative_standard);
            let factor = relative.ln_1p().exp().powi(2);
            answer.assumptions.push(Assumption {
                path: format!("material.{}.resistivity", iron.name),
                label: format!("resistivity of {}", iron.name),
                value: Some(Measure {
                    value,
                    dimension: Dimension::Resistivity,
                    band: Some(Band {
                        standard: relative * value,
                        low: value / factor,
                        high: value * factor,
                        contributors: Vec::new(),
                    }),
                }),
                word: String::new(),
                reason: "at 20 °C; typical of the name, unsourced: the alloy decides, and a maker's certificate tells it".into(),
            });
        }
        answer.assumptions.push(Assumption {
            path: "drive.temperature".into(),
            label: "iron's temperature".into(),
            value: None,
            word: "as warm as the winding, the workpiece as its surroundings".into(),
            reason: "warm iron conducts eddies less".into(),
        });
        if magnet.symmetry != Symmetry::Axial {
            answer.assumptions.push(Assumption {
                path: "body.depth".into(),
                label: "eddies in a body of finite depth".into(),
                value: None,
                word: "by a smaller conductivity in the slice that is drawn".into(),
                reason: "they close at its ends; three dimensions are not solved".into(),
            });
        }
    }
}

/// What a person calls the time until the load falls.
const DROP_OUT: &str = "drop-out time";

/// And the voltage that its clamp lets the coil make.
const PEAK: &str = "highest voltage as the coil is cut off";

/// Why a time is not told.
fn not_told(error: f64) -> String {
    format!("not told: its numerical error is {:.0} %", 100.0 * error)
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

/// A load that does not drop out, or was not held.
fn in_words(key: &str, release: Release) -> Item {
    let text = match release {
        Release::Already => "the pull is below the load already",
        _ => "most likely never: the pull left without current holds it",
    };
    Item::text(key, DROP_OUT, text)
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
