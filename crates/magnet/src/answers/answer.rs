//! What every command returns: numbers with unit, band and origin; series; assumptions; cautions.
//!
//! An answer is data. It is shown by the terminal, as JSON, on a page or in a report, and none of those
//! computes anything: every number they show already stands here.

use crate::magnet::assumption::Assumption;
use crate::quantity::Dimension;
use crate::uncertainty::band::{Band, ROUNDING};
use crate::uncertainty::measure::Measure;
use schemars::JsonSchema;
use serde::Serialize;

/// Version of the format below; a change of meaning raises it.
pub const ANSWER_VERSION: u32 = 2;

/// The answer of one command about one magnet.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Answer {
    /// Which question was asked: `winding`, `field`, `pull`, ...
    pub command: String,
    /// Name of the magnet, from its sheet.
    pub magnet: String,
    /// The answer in one sentence, for a person in a hurry; `{key}` stands for the item of that key, to be shown in
    /// the reader's units. May be empty.
    pub summary: String,
    /// Single numbers and facts, in groups with headings.
    pub groups: Vec<Group>,
    /// Curves.
    pub series: Vec<Series>,
    /// The sheet's limits, and the numbers that they limit.
    pub limits: Vec<Limit>,
    /// What the sheet did not say and was assumed.
    pub assumptions: Vec<Assumption>,
    /// What to mind; nothing that invalidates the answer.
    pub warnings: Vec<String>,
    /// Safety: shown beside the number it belongs to (`about` names the item's key).
    pub cautions: Vec<Caution>,
    /// Which measurements would narrow the main number most, best first.
    pub next_measurements: Vec<Advice>,
}

/// Items under one heading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Group {
    /// Heading.
    pub title: String,
    /// Rows.
    pub items: Vec<Item>,
}

/// One row: a number or a fact.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Item {
    /// Stable name, such as `pull` or `resistance_20`; unique within the answer.
    pub key: String,
    /// What a person reads.
    pub label: String,
    /// The value.
    pub value: Value,
    /// A short remark (where, at which temperature, by which method). May be empty.
    pub note: String,
}

/// A number with its dimension, or a fact in words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Value {
    /// A number in SI (temperatures in kelvin).
    Number(Measure),
    /// A word or two, such as `north` or `shell wall`.
    Text(String),
}

/// A curve or several over one abscissa.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Series {
    /// Stable name, such as `face_scan`.
    pub key: String,
    /// Title of the chart.
    pub title: String,
    /// The abscissa.
    pub x: Column,
    /// The curves, each as long as `x`.
    pub ys: Vec<Column>,
    /// Draw the abscissa on a logarithmic scale.
    pub log_x: bool,
}

/// One column of a series, in SI.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Column {
    /// Stable name, such as `gap`.
    pub key: String,
    /// Label of the axis or curve.
    pub label: String,
    /// Kind of quantity.
    pub dimension: Dimension,
    /// The values in SI; not a number (`null` as JSON) where there is none, as of what runs away.
    #[schemars(with = "Vec<Option<f64>>")]
    pub values: Vec<f64>,
    /// 95 % intervals, empty or as long as `values`; not numbers where there is no value.
    #[schemars(with = "Vec<(Option<f64>, Option<f64>)>")]
    pub bands: Vec<(f64, f64)>,
}

/// What a caution warns of, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Danger {
    /// What burns or runs away.
    Fire,
    /// A voltage.
    Shock,
    /// A load that drops, or is more than may be held.
    DroppedLoad,
    /// Active implants.
    Implants,
    /// Fingers between face and workpiece.
    Pinching,
    /// A hot surface.
    HotSurface,
    /// Steel that flies in.
    FlyingSteel,
    /// A field beyond what people may be exposed to.
    Exposure,
}

/// A safety caution with its source.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Caution {
    /// What it warns of.
    pub danger: Danger,
    /// Key of the item it belongs beside.
    pub about: String,
    /// The same on one line, for where it stands among others.
    pub brief: String,
    /// One or two sentences; defers to local codes and licensed practice.
    pub text: String,
    /// Where it comes from; says `from memory` where it is.
    pub source: String,
}

/// A limit and how one number fares against it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Limit {
    /// Where the limit stands in the sheet, or what sets it.
    pub by: String,
    /// Key of the number that it limits; empty where this question has no such number.
    pub key: String,
    /// What that number is; empty without one.
    pub label: String,
    /// The limit, in SI.
    pub limit: f64,
    /// The number with its band; none without one, and of what runs away.
    pub value: Option<Measure>,
    /// Its dimension.
    pub dimension: Dimension,
    /// How it fares.
    pub state: State,
}

/// How a number fares against a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Within it, all of its band.
    Kept,
    /// Within it, but not all of its 95 % band.
    Doubtful,
    /// Beyond it.
    Exceeded,
    /// This question has no such number.
    NotJudged,
}

/// A measurement worth taking.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Advice {
    /// Path in the sheet that the measurement would settle.
    pub path: String,
    /// What to do, with which instrument.
    pub text: String,
    /// Standard uncertainty of the main number if it were done, in that number's unit.
    pub remaining: f64,
}

impl Item {
    /// A number.
    pub fn number(key: &str, label: &str, value: f64, dimension: Dimension) -> Self {
        let value = Value::Number(Measure { value, dimension, band: None });
        Self { key: key.into(), label: label.into(), value, note: String::new() }
    }

    /// A fact in words.
    pub fn text(key: &str, label: &str, text: impl Into<String>) -> Self {
        Self { key: key.into(), label: label.into(), value: Value::Text(text.into()), note: String::new() }
    }

    /// The same with a band, unless that is nothing but rounding.
    pub fn with_band(mut self, band: Band) -> Self {
        if let Value::Number(m) = &mut self.value {
            m.band = Some(band).filter(|b| b.standard > ROUNDING * m.value.abs());
        }
        self
    }

    /// The same with a remark.
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }
}

impl Column {
    /// A column without bands.
    pub fn new(key: &str, label: &str, dimension: Dimension, values: Vec<f64>) -> Self {
        Self { key: key.into(), label: label.into(), dimension, values, bands: Vec::new() }
    }
}

impl Caution {
    /// It says what may be lifted.
    pub fn limits_lifting(&self) -> bool {
        self.danger == Danger::DroppedLoad && self.brief.starts_with("Lift")
    }
}

impl Answer {
    /// An empty answer of a command about a magnet.
    pub fn new(command: &str, magnet: &str) -> Self {
        Self {
            command: command.into(),
            magnet: magnet.into(),
            summary: String::new(),
            groups: Vec::new(),
            series: Vec::new(),
            limits: Vec::new(),
            assumptions: Vec::new(),
            warnings: Vec::new(),
            cautions: Vec::new(),
            next_measurements: Vec::new(),
        }
    }

    /// Append a group unless it is empty.
    pub fn group(&mut self, title: &str, items: Vec<Item>) {
        if !items.is_empty() {
            self.groups.push(Group { title: title.into(), items });
        }
    }

    /// The item of that key.
    pub fn item(&self, key: &str) -> Option<&Item> {
        self.groups.iter().flat_map(|g| &g.items).find(|i| i.key == key)
    }

    /// The number of that key with its band.
    pub fn measure(&self, key: &str) -> Option<&Measure> {
        match &self.item(key)?.value {
            Value::Number(measure) => Some(measure),
            Value::Text(_) => None,
        }
    }

    /// The number of that key, in SI.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.measure(key).map(|measure| measure.value)
    }
}

/// Numbers by the keys of their items.
pub(crate) type Numbers = Vec<(String, f64)>;
