//! What is compared: which number of which question.

use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{
    FieldQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::uncertainty::band::{Budget, Contributor};
use coilwright_magnet::uncertainty::measure::Measure;

/// Questions that every magnet is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Asked {
    Winding,
    Field,
    Pull,
    Heat,
    Switch,
}

impl Asked {
    /// In the order of the answers.
    pub(crate) const ALL: [Self; 5] = [Self::Winding, Self::Field, Self::Pull, Self::Heat, Self::Switch];

    pub(crate) fn question(self, standoff_m: Option<f64>, gaps_m: &[f64]) -> Question {
        match self {
            Self::Winding => Question::Winding,
            Self::Field => Question::Field(FieldQuestion { standoff_m, ..FieldQuestion::default() }),
            Self::Pull => Question::Pull(PullQuestion { gaps_m: gaps_m.to_vec(), ..PullQuestion::default() }),
            Self::Heat => Question::Heat(HeatQuestion::default()),
            // Of switching no more is compared than when the load is let go and how long a store holds it.
            Self::Switch => Question::Switch(SwitchQuestion { brief: true, ..SwitchQuestion::default() }),
        }
    }
}

/// A number that magnets are compared by.
#[derive(Debug)]
pub(crate) struct Topic {
    /// Start of the keys, and the word in a need.
    pub(crate) key: &'static str,
    /// What it is; stands over its rows.
    pub(crate) title: &'static str,
    pub(crate) dimension: Dimension,
    pub(crate) from: From,
    /// What a magnet without that number has instead: one without a winding, mostly.
    pub(crate) without: &'static str,
    /// What that comes to where a need asks.
    pub(crate) comes_to: Option<f64>,
}

/// Where a topic's number comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) enum From {
    /// An item of an answer.
    Item(Asked, &'static str),
    /// The room that the magnet takes up.
    Envelope,
    /// The pull for so much of that room, m³.
    PullPerRoom(f64),
    /// What the magnet weighs.
    Mass,
    /// The pull for each kilogram of that.
    PullPerMass,
    /// The pull for each watt taken up cold.
    PullPerWatt,
    /// An entry of the sheet.
    Entry(&'static str),
    /// The pull for each unit of an entry.
    PullPer(&'static str),
}

const PRICE: &str = "nameplate.price";
const UNPRICED: &str = "not said: its sheet has no `nameplate.price`";
const UNWEIGHED: &str = "not known: a magnet of no known grade or with arcs, and no `nameplate.mass`";
const NO_WINDING: &str = "none: it has no winding";

/// In the order of reading.
pub(crate) const TOPICS: [Topic; 15] = [
    Topic {
        key: "pull",
        title: "Pull",
        dimension: Dimension::Force,
        from: From::Item(Asked::Pull, "pull"),
        without: "none: it pulls on nothing",
        comes_to: Some(0.0),
    },
    Topic {
        key: "pull_warm",
        title: "Pull in the long run, warm",
        dimension: Dimension::Force,
        from: From::Item(Asked::Heat, "pull_steady"),
        without: "as cold: nothing warms it",
        comes_to: None,
    },
    Topic {
        key: "field",
        title: "Strongest field over the face",
        dimension: Dimension::FluxDensity,
        from: From::Item(Asked::Field, "face_maximum"),
        without: "none",
        comes_to: None,
    },
    Topic {
        key: "volume",
        title: "Room it takes up",
        dimension: Dimension::Volume,
        from: From::Envelope,
        without: "none",
        comes_to: None,
    },
    Topic {
        key: "pull_per_room",
        title: "Pull for every 10 cm³ of that room",
        dimension: Dimension::Force,
        from: From::PullPerRoom(10e-6),
        without: "none: it pulls on nothing",
        comes_to: Some(0.0),
    },
    Topic {
        key: "mass",
        title: "Mass of iron, magnet and wire",
        dimension: Dimension::Mass,
        from: From::Mass,
        without: UNWEIGHED,
        comes_to: None,
    },
    Topic {
        key: "pull_per_mass",
        title: "Pull for every kilogram of that",
        dimension: Dimension::Force,
        from: From::PullPerMass,
        without: UNWEIGHED,
        comes_to: None,
    },
    Topic {
        key: "power",
        title: "Power, cold",
        dimension: Dimension::Power,
        from: From::Item(Asked::Winding, "power"),
        without: NO_WINDING,
        comes_to: Some(0.0),
    },
    Topic {
        key: "pull_per_watt",
        title: "Pull for every watt",
        dimension: Dimension::Force,
        from: From::PullPerWatt,
        without: "without end: it takes no power",
        comes_to: Some(f64::INFINITY),
    },
    Topic {
        key: "current",
        title: "Current, cold",
        dimension: Dimension::Current,
        from: From::Item(Asked::Winding, "current"),
        without: NO_WINDING,
        comes_to: Some(0.0),
    },
    Topic {
        key: "temperature",
        title: "Hottest place in the long run",
        dimension: Dimension::Temperature,
        from: From::Item(Asked::Heat, "hot_spot_steady"),
        without: "as its surroundings",
        comes_to: None,
    },
    Topic {
        key: "release",
        title: "Time until it lets go of its load, once switched off",
        dimension: Dimension::Time,
        from: From::Item(Asked::Switch, "release_time"),
        without: "never: it cannot be switched off",
        comes_to: Some(f64::INFINITY),
    },
    Topic {
        key: "price",
        title: "Price, in the currency of the sheets",
        dimension: Dimension::Ratio,
        from: From::Entry(PRICE),
        without: UNPRICED,
        comes_to: None,
    },
    Topic {
        key: "pull_per_price",
        title: "Pull for every unit of that",
        dimension: Dimension::Force,
        from: From::PullPer(PRICE),
        without: UNPRICED,
        comes_to: None,
    },
    Topic {
        key: "hold_up",
        title: "Time the sheet's store holds the load when power fails",
        dimension: Dimension::Time,
        from: From::Item(Asked::Switch, "backup_holds"),
        without: "always: it needs no power",
        comes_to: Some(f64::INFINITY),
    },
];

/// What stands for a number that a magnet's own answer lacks, for want of a workpiece or of a store.
const HOLDS_NOTHING: &str = "none: it holds nothing";
const NO_STORE: &str = "none: its sheet has no store (`backup`)";

impl Topic {
    /// What a magnet has that answers the question but without this number, and what that comes to where a need asks.
    pub(crate) fn lacking(&self) -> (&'static str, Option<f64>) {
        match self.key {
            "pull_warm" | "release" => (HOLDS_NOTHING, None),
            "hold_up" => (NO_STORE, Some(0.0)),
            _ => (self.without, self.comes_to),
        }
    }
}

/// A magnet's number on a topic, or why it has none.
pub(crate) type Told = Result<Measure, String>;

/// What an answer tells under a key.
pub(crate) fn told(answer: &Answer, key: &str, without: &str) -> Told {
    match answer.item(key).map(|item| (&item.value, &item.note)) {
        Some((Value::Number(measure), _)) => Ok(measure.clone()),
        Some((Value::Text(text), note)) if note.is_empty() => Err(text.clone()),
        Some((Value::Text(text), note)) => Err(format!("{text} ({note})")),
        None if answer.item("runaway").is_some() => Err("it runs away".into()),
        None => Err(without.into()),
    }
}

/// A number for so much of another that is exactly known.
pub(crate) fn for_each(measure: &Measure, of: f64, dimension: Dimension) -> Measure {
    let mut scaled = Measure { value: measure.value / of, dimension, band: measure.band.clone() };
    if let Some(band) = &mut scaled.band {
        (band.standard, band.low, band.high) = (band.standard / of, band.low / of, band.high / of);
        band.contributors.iter_mut().for_each(|c| c.effect /= of);
    }
    scaled
}

/// First over second: what both depend on changes both (JCGM 100:2008, equation 13, with relative effects).
pub(crate) fn ratio(first: &Measure, second: &Measure, dimension: Dimension) -> Measure {
    let value = first.value / second.value;
    let parts = |m: &Measure| m.band.as_ref().map_or(Vec::new(), |b| b.contributors.clone());
    let (above, below) = (parts(first), parts(second));
    let mut budget = Budget::new(value);
    let same = |a: &str, b: &str, c: &Contributor| c.path == a && c.label == b;
    for c in &above {
        let other = below.iter().find(|o| same(&c.path, &c.label, o)).map_or(0.0, |o| o.effect);
        budget.add(&c.path, &c.label, value * (c.effect / first.value - other / second.value));
    }
    for o in below.iter().filter(|o| !above.iter().any(|c| same(&o.path, &o.label, c))) {
        budget.add(&o.path, &o.label, -value * o.effect / second.value);
    }
    Measure { value, dimension, band: budget.band_about(value) }
}
