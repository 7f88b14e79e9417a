//! What a power failure does: what a backup supply must be, how long the sheet's own holds, and the pull left
//! meanwhile.

use crate::answers::answer::{Answer, Column, Item, Series};
use crate::circuit::SwitchError;
use crate::circuit::backup::{Battery, CHEMISTRIES, Chemistry, Converter, Shares, Store};
use crate::coupled::operating_point::Strength;
use crate::coupled::switch::course::{Course, Failing, Found, LONGEST_S, between};
use crate::failure::Failure;
use crate::magnet::assumption::Assumption;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::uncertainty::band::{Band, Budget};
use crate::uncertainty::measure::Measure;

/// What is assumed where the sheet is silent; each common practice without a source unless said.
const HOLD_S: f64 = 1200.0;
const DEPTH: f64 = 0.8;
const EFFICIENCY: f64 = 0.85;
/// Capacity left at the end of life: the ageing factor 1.25 of IEEE 485 (from memory).
const AGEING: f64 = 0.8;
/// Margin for what is not known (IEEE 485: 1.10 to 1.15; from memory). Ageing is not in it.
const MARGIN: f64 = 1.1;
/// Voltages of a lead battery over its nominal one: open circuit full (12.7 V of 12 V) and with all its charge drawn
/// (11.7 V), and at the terminals when it is cut off (10.5 V).
const FULL: f64 = 1.06;
const FLAT: f64 = 0.975;
const CUT_OFF: f64 = 0.875;
/// Internal resistance times energy over the square of the nominal voltage, s: 25 mΩ for 12 V and 7 Ah.
const INTERNAL_S: f64 = 0.025 * (12.0 * 7.0 * 3600.0) / (12.0 * 12.0);

/// Relative standard uncertainties where the sheet gives no tolerance (common practice, no source): a new battery's
/// energy, a converter's efficiency, the capacity left at the end of life, and a depth that is assumed.
const ENERGY_DOUBT: f64 = 0.05;
const EFFICIENCY_DOUBT: f64 = 0.04;
const AGEING_DOUBT: f64 = 0.07;
const DEPTH_DOUBT: f64 = 0.07;

/// How the store feeds the coil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Converter,
    Battery,
}

/// The backup a sheet describes.
#[derive(Clone, Debug)]
pub(crate) struct Holding {
    kind: Kind,
    /// Whether the sheet says so.
    kind_given: bool,
    hold_s: f64,
    voltage_v: f64,
    efficiency: f64,
    chemistry: Chemistry,
    shares: Shares,
    energy_j: Option<f64>,
    internal_ohm: Option<f64>,
    doubts: Vec<Doubt>,
    assumptions: Vec<Assumption>,
    warnings: Vec<String>,
}

/// Something about the backup that is not exactly known.
#[derive(Clone, Debug)]
struct Doubt {
    path: &'static str,
    label: &'static str,
    relative: f64,
    /// Multiplies it.
    turn: fn(&mut Holding, f64),
}

/// What is uncertain of the magnet, by path, label and relative change for one standard uncertainty.
pub(crate) struct Uncertain<'a> {
    /// Of the coil's resistance.
    pub(crate) resistance: &'a [(String, String, f64)],
    /// Of the pull at a current.
    pub(crate) pull: &'a [(String, String, f64)],
}

impl Holding {
    /// From the sheet; `usual_v` is what the magnet runs on.
    pub(crate) fn read(sheet: &Sheet, usual_v: f64) -> Self {
        let mut assumptions = Vec::new();
        let mut assume =
            |path: &str, label: &str, value: Option<(f64, Dimension)>, word: &str, reason: &str| {
                assumptions.push(Assumption {
                    path: path.into(),
                    label: label.into(),
                    value: value.map(|(value, dimension)| Measure { value, dimension, band: None }),
                    word: word.into(),
                    reason: reason.into(),
                });
            };
        let given = sheet.word("backup.kind");
        let kind = if given == Some("battery") { Kind::Battery } else { Kind::Converter };
        if given.is_none() {
            let reason = "not given; holds the coil's voltage until its energy is gone, as a UPS does";
            assume("backup.kind", "what feeds the coil on backup", None, "converter", reason);
        }
        let mut doubts: Vec<Doubt> = Vec::new();
        let mut doubt = |path: &'static str, label: &'static str, turn: fn(&mut Self, f64), usual: f64| {
            let stated = sheet.quantity(path).filter(|q| q.half_width > 0.0);
            let relative = stated.map_or(usual, |q| q.standard_uncertainty() / q.value);
            if relative > 0.0 {
                doubts.push(Doubt { path, label, relative, turn });
            }
        };
        let energy: fn(&mut Self, f64) = |h, f| h.energy_j = h.energy_j.map(|e| f * e);
        doubt("backup.energy", "energy on the nameplate", energy, ENERGY_DOUBT);
        doubt("backup.voltage", "voltage on backup", |h, f| h.voltage_v *= f, 0.0);
        doubt("backup.ageing", "capacity left at the end of life", |h, f| h.shares.ageing *= f, AGEING_DOUBT);
        // A depth that is given is a setting.
        let depth = if sheet.has("backup.depth_of_discharge") { 0.0 } else { DEPTH_DOUBT };
        doubt("backup.depth_of_discharge", "depth of discharge", |h, f| h.shares.depth *= f, depth);
        if kind == Kind::Converter {
            let turn: fn(&mut Self, f64) = |h, f| h.efficiency *= f;
            doubt("backup.efficiency", "efficiency of the conversion", turn, EFFICIENCY_DOUBT);
        }
        let mut read = |path: &str, label: &str, usual: f64, dimension: Dimension, reason: &str| {
            sheet.value(path).unwrap_or_else(|| {
                assume(path, label, Some((usual, dimension)), "", reason);
                usual
            })
        };
        let (time, ratio) = (Dimension::Time, Dimension::Share);
        let twenty = "20 min, as lifting magnets are expected to (EN 13155, from memory)";
        let hold_s = read("backup.hold_time", "time to hold", HOLD_S, time, twenty);
        let voltage_v = read(
            "backup.voltage",
            "voltage on backup",
            usual_v,
            Dimension::Voltage,
            if kind == Kind::Battery { "nominal; as the supply's" } else { "as the supply's" },
        );
        let practice = "common practice, no source";
        let depth = read(
            "backup.depth_of_discharge",
            "share of the charge that may be taken",
            DEPTH,
            ratio,
            practice,
        );
        // A battery straight on the coil converts nothing.
        let efficiency = match kind {
            Kind::Converter => {
                read("backup.efficiency", "efficiency of the conversion", EFFICIENCY, ratio, practice)
            }
            Kind::Battery => 1.0,
        };
        let ageing = read(
            "backup.ageing",
            "capacity left at the end of life",
            AGEING,
            ratio,
            "IEEE 485's ageing factor of 1.25 (from memory)",
        );
        let named =
            sheet.word("backup.chemistry").and_then(|word| CHEMISTRIES.iter().find(|c| c.name == word));
        let chemistry = *named.unwrap_or(&CHEMISTRIES[0]);
        if named.is_none() {
            let reason = "not given; a lead battery gives least of its nameplate when emptied quickly (common practice)";
            assume("backup.chemistry", "what stores the energy", None, chemistry.name, reason);
        }
        let (rate, rate_doubt) = chemistry.rate(hold_s);
        if rate_doubt > 0.0 {
            let turn: fn(&mut Self, f64) = |h, f| h.shares.rate = (h.shares.rate * f).clamp(1e-3, 1.0);
            let (path, label) = ("backup.chemistry", "what it gives when emptied so quickly");
            doubts.push(Doubt { path, label, relative: rate_doubt, turn });
        }
        let mut warnings = Vec::new();
        if kind == Kind::Battery && sheet.has("backup.efficiency") {
            warnings.push(
                "`backup.efficiency` does not count: a battery straight on the coil converts nothing".into(),
            );
        }
        Self {
            kind,
            kind_given: given.is_some(),
            hold_s,
            voltage_v,
            efficiency,
            chemistry,
            shares: Shares { depth, ageing, rate, margin: MARGIN },
            energy_j: sheet.value("backup.energy"),
            internal_ohm: sheet.value("backup.internal_resistance"),
            doubts,
            assumptions,
            warnings,
        }
    }

    /// What emptying it in a time (s) gives, in words.
    fn emptied_in(&self, seconds: f64) -> String {
        format!(
            "a {} store emptied in {} is reckoned to give {:.0} % of its nameplate of {} h",
            self.chemistry.name,
            Dimension::Time.text(seconds, None, UnitSystem::Si),
            100.0 * self.shares.rate,
            self.chemistry.rated_s / 3600.0
        )
    }

    /// The highest voltage it may give, V.
    pub(crate) fn full_v(&self) -> f64 {
        FULL * self.voltage_v
    }

    /// The band of a number of this backup, given as a function of it; `power` is the power of the coil's resistance that
    /// the number goes with.
    fn band(
        &self,
        value: f64,
        power: f64,
        magnet: &Uncertain<'_>,
        of: impl Fn(&Self) -> Option<f64>,
    ) -> Option<Band> {
        let mut budget = Budget::new(value);
        for d in &self.doubts {
            let mut less = self.clone();
            (d.turn)(&mut less, 1.0 - d.relative);
            budget.add(d.path, d.label, of(&less).map_or(f64::NAN, |then| value - then));
        }
        for (path, label, relative) in magnet.resistance {
            budget.add(path, label, power * relative * value);
        }
        budget.band()
    }

    /// A store of a nameplate energy (J), at the end of its life and less the margin.
    fn store(&self, kind: Kind, nameplate_j: f64) -> Result<Store, SwitchError> {
        let volts = self.voltage_v;
        Ok(match kind {
            Kind::Converter => Store::Converter(Converter {
                voltage_v: volts,
                usable_j: self.shares.usable_j(nameplate_j)?,
                efficiency: self.efficiency,
            }),
            Kind::Battery => Store::Battery(Battery {
                full_v: self.full_v(),
                flat_v: FLAT * volts,
                cut_off_v: CUT_OFF * volts,
                charge_c: nameplate_j * self.shares.left()? / volts,
                depth: self.shares.depth,
                internal_ohm: self.internal_ohm.unwrap_or(INTERNAL_S * volts * volts / nameplate_j),
            }),
        })
    }

    /// Nameplate energy (J) of a converter's store that gives the coil an energy (J).
    fn converter_j(&self, at_coil_j: f64) -> Result<f64, SwitchError> {
        self.shares.nameplate_j(at_coil_j / self.efficiency)
    }

    /// Nameplate energy (J) of the smallest battery that lasts over a load, about `near_j`; none if no battery does.
    fn battery_j(&self, load: &[(f64, f64)], near_j: f64) -> Result<Option<f64>, SwitchError> {
        let end_s = load.last().map_or(0.0, |l| l.0);
        let lasts = |energy: f64| -> Result<bool, SwitchError> {
            let spent = self.store(Kind::Battery, energy)?.discharge(load)?.spent_s;
            Ok(spent.is_none_or(|s| s >= end_s))
        };
        let (mut low, mut high) = ((near_j / 8.0).ln(), (near_j * 1e3).ln());
        if !lasts(high.exp())? {
            return Ok(None);
        }
        while high - low > 1e-9 {
            let middle = 0.5 * (low + high);
            if lasts(middle.exp())? { high = middle } else { low = middle }
        }
        Ok(Some(high.exp()))
    }

    /// Say what it needs and what it holds.
    pub(crate) fn fill(
        mut self,
        failing: &mut Failing<'_>,
        strength: &Strength,
        load_n: f64,
        magnet: &Uncertain<'_>,
        drops_s: Option<f64>,
        answer: &mut Answer,
    ) -> Result<(), Failure> {
        let hold_s = self.hold_s;
        // Twice what the cold coil takes: enough in any case.
        let cold_w = self.voltage_v.powi(2) / failing.cold_ohm();
        let ample = self.store(Kind::Converter, self.converter_j(2.0 * cold_w * hold_s)?)?;
        let steady = failing.course(Found::Cold, &ample, hold_s, hold_s)?;
        let by_converter_j = self.converter_j(last(&steady.discharge.delivered_j))?;
        // A battery's voltage warms the winding differently: once more over the load that it makes itself.
        let by_battery_j = match self.battery_j(&steady.load, by_converter_j)? {
            Some(about_j) => {
                let battery = self.store(Kind::Battery, about_j)?;
                let own = failing.course(Found::Cold, &battery, hold_s, hold_s)?;
                self.battery_j(&own.load, about_j)?
            }
            None => None,
        };
        let need_j = match self.kind {
            Kind::Converter => Some(by_converter_j),
            Kind::Battery => by_battery_j,
        };

        let mut items = Vec::new();
        items.extend(drops_s.map(|s| {
            Item::number("drop_out", "without a backup the load drops after", s, Dimension::Time)
                .with_note("its supply cut at once; capacitors in the supply add to it")
        }));
        let volts = Dimension::Voltage.text(self.voltage_v, None, UnitSystem::Si);
        let feeds = match self.kind {
            Kind::Converter => format!("a converter that holds {volts}"),
            Kind::Battery => format!("a battery of {volts} straight on it"),
        };
        items.push(Item::text("backup_kind", "what feeds the coil", feeds));
        items.push(Item::number("hold_time", "time to hold", hold_s, Dimension::Time));
        let store = match self.energy_j.or(need_j) {
            Some(energy) => Some(self.store(self.kind, energy)?),
            None => None,
        };
        if let Some(store) = &store {
            let cold = failing.course(Found::Cold, store, hold_s, hold_s)?;
            self.needs(&cold, by_converter_j, by_battery_j, magnet, &mut items);
            self.holds(failing, store, strength, load_n, magnet, &mut items)?;
            let warm = match self.energy_j {
                Some(_) => failing.until_spent(Found::Warm, store, hold_s)?,
                None => failing.course(Found::Warm, store, hold_s, hold_s)?,
            };
            self.left(&warm, failing.warm_as, strength, load_n, magnet, &mut items);
            answer.series.push(series(&warm, strength));
        } else {
            items.push(Item::text(
                "backup_need",
                "energy the store needs when new",
                "no battery holds it: its internal resistance takes it below its cut-off at once",
            ));
        }
        if let (false, Some(battery_j)) = (self.kind_given, by_battery_j) {
            let battery = self.store(Kind::Battery, battery_j)?;
            let sagged = failing.course(Found::Warm, &battery, hold_s, hold_s)?;
            let end_a = last(&sagged.discharge.current_a);
            items.push(
                Item::number(
                    "pull_hold_sagged",
                    "pull at the end by that battery",
                    strength.pull_n(end_a),
                    Dimension::Force,
                )
                .with_note(format!(
                    "sagged to {}",
                    Dimension::Voltage.text(last(&sagged.discharge.voltage_v), None, UnitSystem::Si)
                )),
            );
        }
        if self.energy_j.is_none() && self.shares.rate < 1.0 {
            self.warnings.push(format!(
                "{}: let its maker confirm the size for that time, the lowest temperature and the end of its life",
                self.emptied_in(hold_s)
            ));
        }
        answer.group("Power failure and backup", items);
        answer.assumptions.append(&mut self.assumptions);
        if self.kind == Kind::Battery {
            answer.assumptions.push(self.model());
        }
        answer.warnings.append(&mut self.warnings);
        Ok(())
    }

    /// What the coil takes and what the store must be, from a cold start.
    fn needs(
        &self,
        cold: &Course,
        converter_j: f64,
        battery_j: Option<f64>,
        magnet: &Uncertain<'_>,
        items: &mut Vec<Item>,
    ) {
        let d = &cold.discharge;
        let (energy, percent) = (Dimension::StoredEnergy, |r: f64| 100.0 * r);
        items.push(
            Item::number(
                "backup_power",
                "power as it takes over",
                d.voltage_v[0] * d.current_a[0],
                Dimension::Power,
            )
            .with_note("winding as cold as its surroundings, which takes most; leads included"),
        );
        if let Some(delivered) = cold.at(&d.delivered_j, self.hold_s) {
            items.push(
                Item::number("backup_at_coil", "energy the coil takes meanwhile", delivered, energy)
                    .with_note("from cold, warming as it goes"),
            );
        }
        let quickly = if self.shares.rate < 1.0 {
            format!(
                "{:.0} % of its nameplate in {}, ",
                percent(self.shares.rate),
                Dimension::Time.text(self.hold_s, None, UnitSystem::Si)
            )
        } else {
            String::new()
        };
        let counted = format!(
            "{quickly}discharge {:.0} %, {:.0} % left at the end of life (ageing counted once), margin {MARGIN}",
            percent(self.shares.depth),
            percent(self.shares.ageing)
        );
        // What the coil takes at a voltage goes as its square.
        let at_coil_j = converter_j / self.converter_j(1.0).unwrap_or(f64::NAN);
        let by_converter = |h: &Self| h.converter_j(at_coil_j * (h.voltage_v / self.voltage_v).powi(2)).ok();
        let by_battery = |h: &Self| h.battery_j(&cold.load, converter_j).ok().flatten();
        let converter = |key: &str, label: &str| {
            let item = Item::number(key, label, converter_j, energy);
            with(item, self.band(converter_j, -1.0, magnet, by_converter))
                .with_note(format!("efficiency {:.0} %, {counted}", percent(self.efficiency)))
        };
        let battery = |key: &str, label: &str| {
            battery_j.map(|j| {
                // Of the load that the store itself makes; how that differs hardly matters to a change.
                let own = by_battery(self).unwrap_or(f64::NAN);
                let band = self.band(j, -1.0, magnet, |h| by_battery(h).map(|then| j * then / own));
                with(Item::number(key, label, j, energy), band)
                    .with_note(format!("{counted}; cut off at {}", self.cut_off()))
            })
        };
        let label = "energy the store needs when new";
        match self.kind {
            Kind::Converter => items.push(converter("backup_need", label)),
            Kind::Battery => items.extend(battery("backup_need", label)),
        }
        if !self.kind_given {
            items.extend(battery("backup_need_battery", "the same, battery straight on the coil"));
        }
    }

    fn cut_off(&self) -> String {
        Dimension::Voltage.text(CUT_OFF * self.voltage_v, None, UnitSystem::Si)
    }

    /// How long the sheet's own store holds the load: from cold it is spent first, from warm it pulls least.
    fn holds(
        &mut self,
        failing: &mut Failing<'_>,
        store: &Store,
        strength: &Strength,
        load_n: f64,
        magnet: &Uncertain<'_>,
        items: &mut Vec<Item>,
    ) -> Result<(), Failure> {
        let Some(energy_j) = self.energy_j else { return Ok(()) };
        // How much it gives depends on how long it lasts, which depends on how much it gives.
        let asked_rate = self.shares.rate;
        let mut store = *store;
        for _ in 0..RATE_ROUNDS {
            let lasts_s = failing.until_spent(Found::Cold, &store, self.hold_s)?.discharge.spent_s;
            let rate = lasts_s.map_or(1.0, |s| self.chemistry.rate(s.max(1.0)).0);
            let change = (rate / self.shares.rate - 1.0).abs();
            self.shares.rate = rate;
            store = self.store(self.kind, energy_j)?;
            if change < 1e-3 {
                break;
            }
        }
        let mut best = (f64::INFINITY, "more than is followed");
        let mut band = None;
        for found in [Found::Cold, Found::Warm] {
            let course = failing.until_spent(found, &store, self.hold_s)?;
            let spent = course.discharge.spent_s.map(|s| (s, "then the store is spent"));
            let weak = lets_go_s(&course, strength, load_n).map(|s| (s, "then the pull is below the load"));
            let burnt = course.burnt.then(|| (last(&course.discharge.time_s), "then the winding burns"));
            for end in [burnt, weak].into_iter().flatten() {
                if end.0 < best.0 {
                    (best, band) = (end, None);
                }
            }
            if let Some(end) = spent.filter(|end| end.0 < best.0) {
                let load = |h: &Self| {
                    let ratio = (self.voltage_v / h.voltage_v).powi(2);
                    course.load.iter().map(|(t, ohm)| (*t, ratio * ohm)).collect::<Vec<_>>()
                };
                best = end;
                band = self.band(end.0, 1.0, magnet, |h| {
                    // A converter's power goes as the square of its voltage; a battery has its own.
                    let store = h.store(h.kind, h.energy_j?).ok()?;
                    match h.kind {
                        Kind::Converter => {
                            let same = Self { voltage_v: self.voltage_v, ..h.clone() };
                            same.store(h.kind, h.energy_j?).ok()?.discharge(&load(h)).ok()?.spent_s
                        }
                        Kind::Battery => store.discharge(&course.load).ok()?.spent_s,
                    }
                });
            }
        }
        let (seconds, why) = best;
        let enough = if seconds >= self.hold_s { "long enough" } else { "not long enough" };
        let note = format!("{why}: {enough}; at the end of its life, margin included");
        let label = "time the sheet's store holds the load";
        items.push(if seconds.is_finite() {
            with(Item::number("backup_holds", label, seconds, Dimension::Time), band).with_note(note)
        } else {
            let text = format!("more than {}", Dimension::Time.text(LONGEST_S, None, UnitSystem::Si));
            Item::text("backup_holds", label, text).with_note("at the end of its life, margin included")
        });
        if seconds < self.hold_s {
            self.warnings.push(format!(
                "the store of {} holds {} at the end of its life, not the {} asked for",
                Dimension::StoredEnergy.text(energy_j, None, UnitSystem::Si),
                Dimension::Time.text(seconds, None, UnitSystem::Si),
                Dimension::Time.text(self.hold_s, None, UnitSystem::Si)
            ));
        }
        if self.shares.rate < 1.0 && seconds.is_finite() {
            self.warnings.push(format!(
                "{}: give as `backup.energy` what its maker states for that time, and less in the cold",
                self.emptied_in(seconds)
            ));
        }
        self.shares.rate = asked_rate;
        Ok(())
    }

    /// Temperature, voltage and pull at both ends of the hold, from a warm start.
    fn left(
        &mut self,
        warm: &Course,
        warm_as: &str,
        strength: &Strength,
        load_n: f64,
        magnet: &Uncertain<'_>,
        items: &mut Vec<Item>,
    ) {
        let d = &warm.discharge;
        let start = strength.pull_n(d.current_a[0]);
        let pull = |key: &str, label: &str, newtons: f64| {
            let mut budget = Budget::new(newtons);
            for (path, label, relative) in magnet.pull {
                budget.add(path, label, relative * newtons);
            }
            with(Item::number(key, label, newtons, Dimension::Force), budget.band())
        };
        items.push(pull("pull_hold_start", "pull as the backup takes over", start).with_note(warm_as));
        let at_end = |values: &[f64]| warm.at(values, self.hold_s);
        let Some((amperes, kelvin)) = at_end(&d.current_a).zip(at_end(&warm.mean_k)) else {
            let spent = d.spent_s.map_or("over".into(), |s| Dimension::Time.text(s, None, UnitSystem::Si));
            let text = format!("none: all is over after {spent}");
            items.push(Item::text("pull_hold_end", "pull at the end of the hold", text));
            return;
        };
        let end = strength.pull_n(amperes);
        items.push(pull("pull_hold_end", "pull at the end of the hold", end));
        if let (Kind::Battery, Some(volts)) = (self.kind, at_end(&d.voltage_v)) {
            items.push(
                Item::number(
                    "voltage_hold_start",
                    "battery as it takes over",
                    d.voltage_v[0],
                    Dimension::Voltage,
                )
                .with_note("at its terminals"),
            );
            items.push(
                Item::number("voltage_hold_end", "battery at the end of the hold", volts, Dimension::Voltage)
                    .with_note(format!("at its terminals; cut off at {}", self.cut_off())),
            );
        }
        items.push(Item::number(
            "winding_hold_end",
            "winding, mean, at the end of the hold",
            kelvin,
            Dimension::Temperature,
        ));
        if end.min(start) < 2.0 * load_n {
            self.warnings.push(
                "on backup the pull is less than twice the load: not enough for lifting gear, see the cautions"
                    .into(),
            );
        }
    }

    /// What is taken for a battery's voltage.
    fn model(&self) -> Assumption {
        let volts = |share: f64| Dimension::Voltage.text(share * self.voltage_v, None, UnitSystem::Si);
        Assumption {
            path: "backup.internal_resistance".into(),
            label: "battery's voltage".into(),
            value: None,
            word: format!("{} full to {} with all its charge drawn", volts(FULL), volts(FLAT)),
            reason: match self.internal_ohm {
                Some(_) => "open circuit, falling with the charge, as a lead battery's; common practice, no source"
                    .into(),
                None => "open circuit, falling with the charge, as a lead battery's, and 25 mΩ for 12 V and 7 Ah, by \
                         the energy; common practice, no source"
                    .into(),
            },
        }
    }
}

/// Rounds of how long it lasts and how much it gives.
const RATE_ROUNDS: usize = 6;

/// When the pull first falls below a load, s.
fn lets_go_s(course: &Course, strength: &Strength, load_n: f64) -> Option<f64> {
    let d = &course.discharge;
    let pulls: Vec<f64> = d.current_a.iter().map(|i| strength.pull_n(*i)).collect();
    let k = pulls.iter().position(|p| *p < load_n)?;
    let Some(before) = k.checked_sub(1) else { return Some(0.0) };
    let rows = [(-pulls[before], d.time_s[before]), (-pulls[k], d.time_s[k])];
    Some(between(&rows, -load_n))
}

/// Everything against time, from a warm start.
fn series(course: &Course, strength: &Strength) -> Series {
    let d = &course.discharge;
    let pulls = d.current_a.iter().map(|i| strength.pull_n(*i)).collect();
    Series {
        key: "hold_up".into(),
        title: "On backup from the operating-warm state".into(),
        x: Column::new("time", "time", Dimension::Time, d.time_s.clone()),
        ys: vec![
            Column::new("pull", "pull", Dimension::Force, pulls),
            Column::new("winding_mean", "winding, mean", Dimension::Temperature, course.mean_k.clone()),
            Column::new("voltage", "voltage", Dimension::Voltage, d.voltage_v.clone()),
            Column::new("current", "current", Dimension::Current, d.current_a.clone()),
            Column::new("drawn", "taken from the store", Dimension::StoredEnergy, d.drawn_j.clone()),
        ],
        log_x: false,
    }
}

fn last(values: &[f64]) -> f64 {
    values.last().copied().unwrap_or(f64::NAN)
}

fn with(item: Item, band: Option<Band>) -> Item {
    match band {
        Some(band) => item.with_band(band),
        None => item,
    }
}
