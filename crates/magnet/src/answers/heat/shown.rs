//! The rows of an answer about heat.

use crate::answers::answer::{Answer, Item};
use crate::answers::caution;
use crate::answers::heat::verdict;
use crate::answers::heat::verdict::Hot;
use crate::coupled::heat::bands::{COLD, ELECTRIC_KINDS, END, LOSS, PLACES, STEADY, STEADY_LOSS};
use crate::coupled::heat::warm_up::WarmUp;
use crate::coupled::operating_point::{Feed, Pattern, Strength};
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Correlation;
use crate::thermal::body::Body;
use crate::thermal::setting::Cooling;
use crate::thermal::snapshot::Snapshot;
use crate::uncertainty::band::{Band, Budget};

/// Everything an answer shows.
pub(crate) struct Shown<'a> {
    pub(crate) warm: &'a WarmUp,
    pub(crate) budgets: &'a [Budget],
    pub(crate) feed: &'a Feed<'a>,
    pub(crate) strength: &'a Strength,
    /// Of the cold pull.
    pub(crate) pull: &'a Budget,
    /// Of the cold field; none if it was not solved.
    pub(crate) field: Option<&'a Budget>,
    pub(crate) body: &'a Body,
    pub(crate) correlations: &'a [Correlation],
}

const PLACE_KEYS: [(&str, &str); PLACES] = [
    ("hot_spot", "hot spot of the winding"),
    ("winding_mean", "winding, mean by resistance"),
    ("surface_temperature", "hottest place outside"),
    ("side_temperature", "side, half-way up"),
    ("back_temperature", "back"),
    ("face_temperature", "pole face"),
];

impl Shown<'_> {
    /// Write everything down.
    pub(crate) fn fill(&self, answer: &mut Answer, end_s: f64) {
        let time = |s: f64| Dimension::Time.text(s, None, UnitSystem::Si);
        let last = self.end();
        let lasting = self.warm.lasting();
        let mut items = self.places(&last, END, "");
        if let Some(at) = self.warm.run.ran_away_s {
            items.push(
                Item::number("runaway_time", "ran away after", at, Dimension::Time)
                    .with_note("beyond 500 °C nothing is followed"),
            );
        }
        if let Some(kelvin) = self.body.setting.start_k {
            let start = Item::number("start_temperature", "at the start", kelvin, Dimension::Temperature);
            items.push(start.with_note("the whole magnet as warm as that"));
        }
        let ended = self.warm.run.last().time_s;
        items.push(
            Item::number("duration", "time of the run", ended, Dimension::Time)
                .with_note(self.feed.pattern.name()),
        );
        answer.group(&format!("After {}", time(ended.min(end_s))), items);

        let mut items = lasting.map_or(Vec::new(), |s| self.places(s, STEADY, "_steady"));
        items.push(Item::text("steady_state", "steady state", self.state()));
        if self.runs_away() {
            items.push(Item::text(
                "runaway",
                "thermal runaway",
                "the winding burns unless the current is cut",
            ));
        }
        answer.group("In the long run", items);

        answer.group("Winding, cold and hot", self.electric(&last, lasting));
        let items = self.strength_items(answer, &last, lasting);
        answer.group("Field and pull, cold and hot", items);
        let hottest_k = self.warm.run.greatest(|s| s.hot_k);
        let (hot, steady) = self.hot(lasting);
        answer.group(
            "Insulation",
            verdict::items(
                &self.body.setting.limit,
                &hot,
                last.mean_k - last.hot_k + hottest_k,
                steady.as_ref(),
                self.runs_away(),
            ),
        );
        answer.group("Times", self.times());
        answer.group("Where the heat goes", self.paths());
        let imbalance =
            self.warm.run.imbalance.max(self.warm.steady.as_ref().map_or(0.0, |s| s.imbalance.abs()));
        answer.group(
            "Checks",
            vec![
                Item::number("energy_imbalance", "energy that does not balance", imbalance, Dimension::Share)
                    .with_note(format!(
                        "{} unknowns; generated less given off and stored",
                        self.body.unknowns()
                    )),
            ],
        );
        self.series(answer);
        self.mind(answer, lasting);
    }

    /// The moment that stands for the end of the run: with cycles and short runs, the warmest.
    fn end(&self) -> Snapshot {
        match self.feed.pattern {
            Pattern::Continuous => *self.warm.run.last(),
            _ => *self.warm.run.warmest(),
        }
    }

    fn band(&self, at: usize, value: f64) -> Option<Band> {
        self.budgets.get(at).and_then(|b| b.band_about(value))
    }

    fn number(&self, key: &str, label: &str, value: f64, dimension: Dimension, at: usize) -> Item {
        let item = Item::number(key, label, value, dimension);
        match self.band(at, value) {
            Some(band) => item.with_band(band),
            None => item,
        }
    }

    fn places(&self, s: &Snapshot, at: usize, suffix: &str) -> Vec<Item> {
        let values = [s.hot_k, s.mean_k, s.surface_k, s.side_k, s.back_k, s.face_k];
        let warmest = !matches!(self.feed.pattern, Pattern::Continuous);
        PLACE_KEYS
            .iter()
            .zip(values)
            .enumerate()
            .map(|(k, ((key, label), value))| {
                let item =
                    self.number(&format!("{key}{suffix}"), label, value, Dimension::Temperature, at + k);
                match (k, warmest) {
                    (0, true) => item.with_note("at its warmest, and all below at that moment"),
                    (2, _) => item.with_note(self.place(s)),
                    _ => item,
                }
            })
            .collect()
    }

    fn place(&self, s: &Snapshot) -> String {
        format!(
            "{:.0} mm from the middle, {:.0} mm above the back",
            1e3 * s.surface_at[0],
            1e3 * s.surface_at[1]
        )
    }

    pub(crate) fn state(&self) -> String {
        match (&self.warm.steady, &self.feed.pattern) {
            (Some(_), Pattern::Cycles { on_s, cycle_s }) => {
                format!("repeats: {on_s:.0} s on in {cycle_s:.0} s, at the warmest moment of a cycle")
            }
            (Some(_), _) => "reached".into(),
            (None, Pattern::Once { .. } | Pattern::Profile { .. }) => "none asked for: it ends".into(),
            (None, _) if self.body.setting.cooling == Cooling::Adiabatic => {
                "none: nothing leaves an adiabatic magnet".into()
            }
            (None, _) => {
                "none: thermal runaway, more heat is made than can leave at any temperature to 500 °C".into()
            }
        }
    }

    /// The hot spot at its warmest in the run, and in the long run.
    pub(crate) fn hot(&self, lasting: Option<&Snapshot>) -> (Hot, Option<Hot>) {
        let of = |kelvin: f64, at: usize| {
            let band = self.band(at, kelvin).map(|mut band| {
                // Impossible correlations are a fault of the sheet, told where all bands are combined.
                band.correlate(self.correlations);
                (band.low, band.high)
            });
            Hot { kelvin, band }
        };
        (of(self.warm.run.greatest(|s| s.hot_k), END), lasting.map(|s| of(s.hot_k, STEADY)))
    }

    /// Whether the drive burns the winding, in the run or later.
    pub(crate) fn runs_away(&self) -> bool {
        let for_good = self.feed.pattern.duty() > 0.0 && self.body.setting.cooling != Cooling::Adiabatic;
        self.warm.run.ran_away_s.is_some() || (for_good && self.warm.steady.is_none())
    }

    fn electric(&self, last: &Snapshot, lasting: Option<&Snapshot>) -> Vec<Item> {
        const KEYS: [(&str, &str); 3] =
            [("resistance", "resistance"), ("current", "current"), ("power", "power")];
        let d = &self.feed.driven;
        let of = |kelvin: f64| [d.winding.resistance_ohm(kelvin), d.current_a(kelvin), d.power_w(kelvin)];
        let ambient = self.body.setting.ambient_k;
        let mut items = Vec::new();
        for (k, (key, label)) in KEYS.iter().enumerate() {
            let kind = ELECTRIC_KINDS[k];
            let cold_key = if *key == "resistance" { "resistance_cold" } else { key };
            let mut add = |key: &str, words: &str, kelvin: f64, at: usize| {
                items.push(self.number(key, &format!("{label}, {words}"), of(kelvin)[k], kind, at + k));
            };
            add(cold_key, "cold", ambient, COLD);
            add(&format!("{key}_hot"), "hot", last.mean_k, END + PLACES);
            if let Some(s) = lasting {
                add(&format!("{key}_steady"), "in the long run", s.mean_k, STEADY + PLACES);
            }
        }
        let loss = |s: &Snapshot| 1.0 - of(s.mean_k)[2] / of(ambient)[2];
        items.push(self.number("power_loss", "power lost by warming", loss(last), Dimension::Share, LOSS));
        if let Some(s) = lasting {
            items.push(self.number(
                "power_loss_steady",
                "the same in the long run",
                loss(s),
                Dimension::Share,
                STEADY_LOSS,
            ));
        }
        let volts = d.winding.voltage_v(of(ambient)[1], d.supply.lead_ohm, ambient);
        items.push(Item::number("voltage", "voltage at the supply, cold", volts, Dimension::Voltage));
        items
    }

    fn strength_items(&self, answer: &mut Answer, last: &Snapshot, lasting: Option<&Snapshot>) -> Vec<Item> {
        let d = &self.feed.driven;
        let cold = self.pull.value;
        let mut items = vec![Item::number("pull_cold", "pull, cold", cold, Dimension::Force)];
        if let Some(band) = self.pull.band() {
            items[0] = items[0].clone().with_band(band);
        }
        let mut hot = |key: &str, words: &str, s: &Snapshot, at: usize| {
            let value = self.strength.pull_n(d.current_a(s.mean_k));
            let mut item = Item::number(key, &format!("pull, {words}"), value, Dimension::Force);
            if let Some(band) = self.warmed(self.pull, value, at + 2).band() {
                item = item.with_band(band);
            }
            items.push(item);
        };
        hot("pull_hot", "hot", last, LOSS);
        if let Some(s) = lasting {
            hot("pull_steady", "in the long run", s, STEADY_LOSS);
        }
        let loss = |s: &Snapshot| 1.0 - self.strength.pull_n(d.current_a(s.mean_k)) / cold;
        items.push(self.number("pull_loss", "pull lost by warming", loss(last), Dimension::Share, LOSS + 2));
        if let Some(s) = lasting {
            items.push(self.number(
                "pull_loss_steady",
                "the same in the long run",
                loss(s),
                Dimension::Share,
                STEADY_LOSS + 2,
            ));
        }
        if let Some(field) = self.field {
            let note = format!(
                "{:.1} mm above the middle of the inner pole, nothing in front",
                1e3 * self.strength.standoff_m
            );
            let item = |key: &str, label: &str, budget: &Budget| {
                let item = Item::number(key, label, budget.value, Dimension::FluxDensity);
                match budget.band() {
                    Some(band) => item.with_band(band),
                    None => item,
                }
            };
            items.push(item("field_cold", "field, cold", field).with_note(note));
            let at = |s: &Snapshot| self.strength.field_t(d.current_a(s.mean_k)).unwrap_or(f64::NAN);
            items.push(item("field_hot", "field, hot", &self.warmed(field, at(last), LOSS + 1)));
            if let Some(s) = lasting {
                let steady = self.warmed(field, at(s), STEADY_LOSS + 1);
                items.push(item("field_steady", "field, in the long run", &steady));
            }
            items.push(self.number(
                "field_loss",
                "field lost by warming",
                1.0 - at(last) / field.value,
                Dimension::Share,
                LOSS + 1,
            ));
        }
        answer.cautions.extend(caution::pull("pull_hot", cold));
        items
    }

    /// What is left warm is what there is cold less what is lost: both budgets joined, path by path.
    fn warmed(&self, cold: &Budget, value: f64, loss_at: usize) -> Budget {
        let ratio = value / cold.value;
        let mut joined: Vec<(String, String, f64)> = Vec::new();
        let mut take = |band: Option<Band>, factor: f64| {
            for c in band.map_or(Vec::new(), |b| b.contributors) {
                match joined.iter_mut().find(|j| j.0 == c.path && j.1 == c.label) {
                    Some(j) => j.2 += factor * c.effect,
                    None => joined.push((c.path, c.label, factor * c.effect)),
                }
            }
        };
        take(cold.band(), ratio);
        take(self.budgets.get(loss_at).and_then(Budget::band), -cold.value);
        let mut budget = Budget::new(value);
        for (path, label, effect) in joined {
            budget.add(&path, &label, effect);
        }
        budget
    }

    fn times(&self) -> Vec<Item> {
        let (Some(long), Some(steady)) = (&self.warm.long, &self.warm.steady) else { return Vec::new() };
        let start = self.body.setting.ambient_k;
        let end = steady.shot;
        let share = |s: f64, from: f64, to: f64| from + s * (to - from);
        let reached = 1.0 - (-1.0f64).exp();
        let mut items = Vec::new();
        let mut add = |key: &str, label: &str, value: Option<f64>, note: &str| {
            items.extend(value.map(|v| Item::number(key, label, v, Dimension::Time).with_note(note)));
        };
        add(
            "time_constant",
            "time constant of the magnet",
            long.reaches(share(reached, start, end.back_k), |s| s.back_k),
            "the back at 63 % of its rise in the long run",
        );
        add(
            "time_constant_winding",
            "time constant of the winding against the iron",
            long.reaches(reached * (end.mean_k - end.face_k), |s| s.mean_k - s.face_k),
            "its mean over the pole face, at 63 % of what that becomes",
        );
        let at = |to: f64, value: fn(&Snapshot) -> f64| long.reaches(share(0.05, start, to), value);
        // Where the winding itself is the side, nothing lags.
        let delay =
            |outside: Option<f64>| Some(outside? - at(end.mean_k, |s| s.mean_k)?).filter(|d| *d > 0.0);
        add(
            "delay_side",
            "delay of the side behind the winding",
            delay(at(end.side_k, |s| s.side_k)),
            "between 5 % of the rise of each",
        );
        add(
            "delay_back",
            "delay of the back behind the winding",
            delay(at(end.back_k, |s| s.back_k)),
            "likewise",
        );
        items
    }

    fn paths(&self) -> Vec<Item> {
        let Some(steady) = &self.warm.steady else { return Vec::new() };
        self.body
            .paths(steady)
            .into_iter()
            .map(|(key, label, watts)| Item::number(key, label, watts, Dimension::Power))
            .collect()
    }
}
