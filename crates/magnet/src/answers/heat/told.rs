//! The curves of an answer about heat, its sentence, what to mind and what to measure next.

use crate::answers::advice;
use crate::answers::answer::{Advice, Answer, Column, Series};
use crate::answers::caution;
use crate::answers::heat::shown::Shown;
use crate::answers::heat::verdict;
use crate::coupled::heat::bands::{END, STEADY};
use crate::coupled::operating_point::Pattern;
use crate::quantity::{Dimension, UnitSystem};
use crate::thermal::snapshot::Snapshot;
use crate::uncertainty::band::{Band, Budget};

impl Shown<'_> {
    pub(crate) fn series(&self, answer: &mut Answer) {
        let shots = &self.warm.run.shots;
        let d = &self.feed.driven;
        let column = |key: &str, label: &str, kind: Dimension, value: &dyn Fn(&Snapshot) -> f64| {
            Column::new(key, label, kind, shots.iter().map(value).collect())
        };
        let time = || column("time", "time", Dimension::Time, &|s| s.time_s);
        let kelvin = |key: &str, label: &str, value: &dyn Fn(&Snapshot) -> f64| {
            column(key, label, Dimension::Temperature, value)
        };
        // A profile is drawn as it was recorded, everything else as while on.
        let recorded = matches!(self.feed.pattern, Pattern::Profile { .. });
        let current = |s: &Snapshot| if recorded { s.square_a2.sqrt() } else { d.current_a(s.mean_k) };
        let mut add = |key: &str, title: &str, ys: Vec<Column>| {
            answer.series.push(Series { key: key.into(), title: title.into(), x: time(), ys, log_x: false });
        };
        add(
            "warm_up",
            "Warm-up",
            vec![
                kelvin("hot_spot", "hot spot", &|s| s.hot_k),
                kelvin("winding_mean", "winding, mean", &|s| s.mean_k),
                kelvin("side", "side", &|s| s.side_k),
                kelvin("back", "back", &|s| s.back_k),
                kelvin("face", "pole face", &|s| s.face_k),
            ],
        );
        let mut strength =
            vec![column("pull", "pull while on", Dimension::Force, &|s| self.strength.pull_n(current(s)))];
        if self.strength.field.is_some() {
            strength.push(column("field", "field while on", Dimension::FluxDensity, &|s| {
                self.strength.field_t(current(s)).unwrap_or(f64::NAN)
            }));
        }
        add("warm_up_pull", "Pull and field while it warms", strength);
        add(
            "warm_up_power",
            "Power, current and resistance while it warms",
            vec![
                column("power", "power while on", Dimension::Power, &|s| {
                    d.winding.power_w(current(s), s.mean_k)
                }),
                column("current", "current while on", Dimension::Current, &current),
                column("resistance", "resistance", Dimension::Resistance, &|s| {
                    d.winding.resistance_ohm(s.mean_k)
                }),
            ],
        );
    }

    pub(crate) fn mind(&self, answer: &mut Answer, lasting: Option<&Snapshot>) {
        let limit = &self.body.setting.limit;
        let text = |k: f64| Dimension::Temperature.text(k, None, UnitSystem::Si);
        let (hot, steady) = self.hot(lasting);
        let in_run = hot.kelvin > limit.kelvin;
        let for_good = steady.is_some_and(|s| s.kelvin > limit.kelvin);
        // What destroys the winding comes before all other numbers.
        let first = if self.warm.run.ran_away_s.is_some() {
            "The winding burns: thermal runaway after {runaway_time}. ".into()
        } else if self.runs_away() {
            "The winding burns in the long run: thermal runaway. ".into()
        } else if in_run {
            format!("The hot spot exceeds {} ({{class_limit}}) in this run. ", limit.name)
        } else if for_good {
            format!("In the long run the hot spot exceeds {} ({{class_limit}}). ", limit.name)
        } else {
            String::new()
        };
        let rest = match lasting {
            Some(_) => {
                "After {duration} the hot spot is at {hot_spot} and the outside at {surface_temperature}; in the long run {hot_spot_steady} and {surface_temperature_steady}. Pull {pull_cold} cold, {pull_steady} warm."
            }
            None => {
                "After {duration} the hot spot is at {hot_spot} and the outside at {surface_temperature}. Pull {pull_cold} cold, {pull_hot} hot."
            }
        };
        answer.summary = format!("{first}{rest}");
        if self.runs_away() {
            answer
                .warnings
                .push("thermal runaway: the winding burns unless something cuts the current".into());
        } else if in_run || for_good {
            answer.warnings.push(format!(
                "the hot spot exceeds {} ({}): the insulation ages fast and fails early; see `heat --headroom`",
                limit.name,
                text(limit.kelvin)
            ));
        } else if self.warm.steady.is_none() && self.feed.pattern == Pattern::Continuous {
            answer.warnings.push(format!("no steady state: {}", self.state()));
        }
        let hottest = steady.filter(|s| s.kelvin >= hot.kelvin).unwrap_or(hot);
        if let Some(doubt) = verdict::doubt(limit, &hottest) {
            answer.warnings.push(format!("{}: {doubt}", limit.name));
        }
        if self.warm.run.ran_away_s.is_some() {
            answer.cautions.extend(caution::runaway("surface_temperature"));
        }
        let main = if lasting.is_some() { STEADY } else { END };
        if let Some(band) = self.budgets.get(main).and_then(Budget::band) {
            answer.next_measurements = next(&band);
        }
    }
}

/// What a bench would measure to know the temperatures better.
fn next(band: &Band) -> Vec<Advice> {
    let warm_up = [
        "surroundings.cooling",
        "surroundings.mounting",
        "calibration.heat_capacity_scale",
        "calibration.thermal_conductance_scale",
    ];
    let inside = ["winding.impregnation", "winding.bobbin_wall"];
    let mut found: Vec<Advice> = Vec::new();
    for c in band.contributors.iter().filter(|c| c.share > 0.02) {
        let text = match c.path.as_str() {
            p if warm_up.contains(&p) => {
                "warm-up run with a thermocouple on the shell and the resistance logged, then `fit`"
            }
            p if inside.contains(&p) => {
                "mean temperature by resistance against the shell's, both when steady, then `fit`"
            }
            "surroundings.emissivity" => "radiation thermometer against a thermocouple on the same spot",
            _ => {
                let alone = Band { contributors: vec![c.clone()], ..band.clone() };
                found.extend(advice::next(&alone));
                continue;
            }
        };
        let remaining = band.standard * (1.0 - c.share).max(0.0).sqrt();
        found.push(Advice { path: c.path.clone(), text: format!("{text}: {}", c.label), remaining });
    }
    found.truncate(4);
    found
}
