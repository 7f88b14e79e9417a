//! What a backup supply must be, how long the sheet's own holds, and the pull left meanwhile.

use super::backup::Backup;
use crate::answer::{Answer, Assumption, Column, Item, Measure, Series};
use crate::magnet::Magnet;
use crate::operating_point::{Driven, Strength, on_other_voltage};
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::solved::Failure;

/// What is assumed where the sheet is silent; each (typical, unsourced) unless said.
const HOLD_S: f64 = 1200.0;
const DEPTH: f64 = 0.8;
const EFFICIENCY: f64 = 0.85;
/// Capacity left at the end of life: the ageing factor 1.25 of IEEE 485 (from memory).
const AGEING: f64 = 0.8;
/// Margin for what is not known (IEEE 485: 1.10 to 1.15; from memory). Ageing is not in it.
const MARGIN: f64 = 1.1;
/// Open-circuit voltage of a lead battery full and at the end of its usable charge, over its nominal one (12.7 and
/// 10.8 V of 12 V; from memory).
const FULL: f64 = 1.06;
const EMPTY: f64 = 0.9;

/// The backup a sheet describes.
#[derive(Clone, Debug)]
pub(super) struct Holding {
    hold_s: f64,
    voltage_v: f64,
    depth: f64,
    efficiency: f64,
    ageing: f64,
    energy_j: Option<f64>,
    assumptions: Vec<Assumption>,
}

impl Holding {
    /// From the sheet; `usual_v` is what the magnet runs on.
    pub(super) fn read(sheet: &Sheet, usual_v: f64) -> Self {
        let mut assumptions = Vec::new();
        let mut read = |path: &str, label: &str, usual: f64, dimension: Dimension, reason: &str| {
            sheet.value(path).unwrap_or_else(|| {
                assumptions.push(Assumption {
                    path: path.into(),
                    label: label.into(),
                    value: Some(Measure { value: usual, dimension, band: None }),
                    word: String::new(),
                    reason: reason.into(),
                });
                usual
            })
        };
        let hold_s = read(
            "backup.hold_time",
            "time to hold",
            HOLD_S,
            Dimension::Time,
            "20 min, as lifting magnets are expected to (EN 13155, from memory)",
        );
        let voltage_v =
            read("backup.voltage", "voltage on backup", usual_v, Dimension::Voltage, "as the supply's");
        let mut ratio = |path: &str, label: &str, usual: f64, reason: &str| {
            read(path, label, usual, Dimension::Ratio, reason)
        };
        let depth = ratio(
            "backup.depth_of_discharge",
            "share of the charge that may be taken",
            DEPTH,
            "common practice",
        );
        let efficiency =
            ratio("backup.efficiency", "efficiency of the conversion", EFFICIENCY, "common practice");
        let ageing = ratio(
            "backup.ageing",
            "capacity left at the end of life",
            AGEING,
            "IEEE 485's ageing factor of 1.25 (from memory)",
        );
        let energy_j = sheet.value("backup.energy");
        Self { hold_s, voltage_v, depth, efficiency, ageing, energy_j, assumptions }
    }

    /// The highest voltage it may give, V.
    pub(super) fn full_v(&self) -> f64 {
        FULL * self.voltage_v
    }

    /// Say what it needs and what it holds.
    #[allow(clippy::too_many_arguments, reason = "everything a backup is judged by")]
    pub(super) fn fill(
        self,
        sheet: &Sheet,
        magnet: &Magnet,
        driven: &Driven<'_>,
        strength: &Strength,
        load_n: f64,
        drops_s: Option<f64>,
        answer: &mut Answer,
    ) -> Result<(), Failure> {
        let kelvin = driven.excitation.kelvin;
        let lead = driven.supply.lead_ohm;
        let total = |kelvin: f64| driven.winding.resistance_ohm(kelvin) + lead;
        // A cold winding takes most.
        let power_w = self.voltage_v.powi(2) / total(kelvin);
        let hold = Backup {
            power_w,
            hold_s: self.hold_s,
            efficiency: self.efficiency,
            depth_of_discharge: self.depth,
            ageing: self.ageing,
            margin: MARGIN,
        };
        let need = hold.need()?;
        let percent = |r: f64| 100.0 * r;
        let mut items = Vec::new();
        items.extend(drops_s.map(|s| {
            Item::number("drop_out", "without a backup the load drops after", s, Dimension::Time)
                .with_note("its supply cut at once; capacitors in the supply add to it")
        }));
        items.extend([
            Item::number("hold_time", "time to hold", self.hold_s, Dimension::Time),
            Item::number("backup_power", "power meanwhile", power_w, Dimension::Power)
                .with_note("winding as cold as it starts, leads included"),
            Item::number("backup_at_coil", "energy the coil takes", need.at_coil_j, Dimension::StoredEnergy),
            Item::number("backup_need", "energy the store needs when new", need.nameplate_j, Dimension::StoredEnergy)
                .with_note(format!(
                    "efficiency {:.0} %, discharge {:.0} %, {:.0} % left at the end of life (ageing counted once), margin {MARGIN}",
                    percent(self.efficiency),
                    percent(self.depth),
                    percent(self.ageing)
                )),
        ]);
        if let Some(energy) = self.energy_j {
            let holds = hold.holds_s(energy)?;
            let enough = if holds >= self.hold_s { "long enough" } else { "not long enough" };
            items.push(
                Item::number("backup_holds", "time the sheet's store holds", holds, Dimension::Time)
                    .with_note(format!("{enough}; at the end of its life, margin included")),
            );
            if holds < self.hold_s {
                answer.warnings.push(format!(
                    "the store of {} holds {} at the end of its life, not the {} asked for",
                    Dimension::StoredEnergy.text(energy, None, UnitSystem::Si),
                    Dimension::Time.text(holds, None, UnitSystem::Si),
                    Dimension::Time.text(self.hold_s, None, UnitSystem::Si)
                ));
            }
        }
        let moments = on_other_voltage(sheet, magnet, driven, self.voltage_v, self.hold_s)?;
        let pull_at = |volts: f64, kelvin: f64| strength.pull_n(volts / total(kelvin));
        let (first, last) = (moments[0], moments[moments.len() - 1]);
        items.push(
            Item::number(
                "pull_hold_start",
                "pull as the backup takes over",
                pull_at(self.voltage_v, first.1),
                Dimension::Force,
            )
            .with_note("winding as warm as it is in the long run"),
        );
        let end = pull_at(self.voltage_v, last.1);
        items.push(
            Item::number("pull_hold_end", "pull at the end of the hold", end, Dimension::Force).with_note(
                format!(
                    "by a converter at {}",
                    Dimension::Voltage.text(self.voltage_v, None, UnitSystem::Si)
                ),
            ),
        );
        let sagged = pull_at(EMPTY * self.voltage_v, last.1);
        items.push(
            Item::number(
                "pull_hold_sagged",
                "the same by a battery straight on the coil",
                sagged,
                Dimension::Force,
            )
            .with_note("a lead battery, its charge spent: 90 % of its nominal voltage (from memory)"),
        );
        if sagged.min(end) < 2.0 * load_n {
            answer.warnings.push(
                "at the end of the hold the pull is less than twice the load: not enough for lifting gear, see the \
                 cautions"
                    .into(),
            );
        }
        answer.group("Power failure and backup", items);
        answer.assumptions.extend(self.assumptions);
        answer.series.push(Series {
            key: "hold_up".into(),
            title: "On backup from the operating-warm state".into(),
            x: Column::new("time", "time", Dimension::Time, moments.iter().map(|m| m.0).collect()),
            ys: vec![
                Column::new(
                    "pull",
                    "pull",
                    Dimension::Force,
                    moments.iter().map(|m| pull_at(self.voltage_v, m.1)).collect(),
                ),
                Column::new(
                    "winding_mean",
                    "winding, mean",
                    Dimension::Temperature,
                    moments.iter().map(|m| m.1).collect(),
                ),
            ],
            log_x: false,
        });
        Ok(())
    }
}
