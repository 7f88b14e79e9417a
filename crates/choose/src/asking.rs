//! A magnet with its answers, number by number.

use crate::difference::{Common, difference};
use crate::gathered::reason;
use crate::need::Need;
use crate::topic::{Asked, From, TOPICS, Told, Topic, for_each, ratio, told};
use coilwright_bench::sampled;
use coilwright_magnet::answers::answer::{Answer, Danger};
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::variation::{varied, ways};
use coilwright_magnet::model::ask;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::uncertainty::band::{Band, Budget};
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;

/// A magnet with its answers, as far as it has any.
pub(crate) struct Asking {
    pub(crate) name: String,
    pub(crate) sheet: Sheet,
    pub(crate) magnet: Magnet,
    /// In the order of [`Asked::ALL`]; or why there is none, which may be nothing worth a word.
    pub(crate) answers: Vec<Result<Answer, Option<String>>>,
    /// By topic.
    pub(crate) told: Vec<Told>,
}

impl Asking {
    /// Whether it ends in a fire if it is left on as its sheet says.
    pub(crate) fn burns(&self) -> bool {
        let fire = |answer: &Answer| answer.cautions.iter().any(|c| c.danger == Danger::Fire);
        self.answers.iter().flatten().any(fire)
    }
}

pub(crate) fn same_file(a: &Sheet, b: &Sheet) -> bool {
    a.file() == b.file() && a.source_text() == b.source_text()
}

/// One answer of one magnet; what keeps it from answering, if that is worth a word.
pub(crate) fn one(
    (sheet, magnet): (&Sheet, &Magnet),
    asked: Asked,
    height_m: Option<f64>,
    gaps_m: &[f64],
    watch: &Watch,
) -> Result<Answer, Option<String>> {
    let has = match asked {
        Asked::Winding | Asked::Heat | Asked::Switch => {
            magnet.excitation.as_ref().is_some_and(|e| e.winding.is_some())
        }
        Asked::Pull => magnet.pulls(),
        Asked::Field => true,
    };
    if !has {
        return Err(None);
    }
    let gaps_m = if magnet.free { &[] } else { gaps_m };
    let question = asked.question(height_m, gaps_m);
    // What sampling mends of switching, the pull that is left without current, is not compared.
    let answered = match asked {
        Asked::Switch => ask::watched(sheet, &question, watch),
        _ => sampled::answer(sheet, &question, watch),
    };
    answered.map_err(|failure| Some(reason(failure)))
}

impl Asking {
    pub(crate) fn answer(&self, asked: Asked) -> Result<&Answer, Option<&String>> {
        let place = Asked::ALL.iter().position(|a| *a == asked).unwrap_or_default();
        self.answers[place].as_ref().map_err(Option::as_ref)
    }

    /// Its number on a topic.
    pub(crate) fn tell(&self, topic: &Topic) -> Told {
        let item = |asked: Asked, key: &str| match self.answer(asked) {
            Ok(answer) => told(answer, key, topic.lacking().0),
            Err(why) => Err(why.map_or(topic.without, String::as_str).to_owned()),
        };
        let room = || {
            let value = self.magnet.envelope_m3();
            by_size(&self.sheet, &self.magnet, value, topic.dimension, |magnet| Some(magnet.envelope_m3()))
        };
        match topic.from {
            From::Item(asked, key) => item(asked, key),
            From::Envelope => Ok(room()),
            From::Mass => mass(&self.sheet, &self.magnet).ok_or_else(|| topic.without.into()),
            From::PullPerMass => {
                let mass = mass(&self.sheet, &self.magnet).ok_or_else(|| topic.without.to_owned())?;
                Ok(ratio(&item(Asked::Pull, "pull")?, &mass, topic.dimension))
            }
            From::Entry(path) => {
                let value = self.sheet.value(path).ok_or_else(|| topic.without.to_owned())?;
                Ok(Measure { value, dimension: topic.dimension, band: None })
            }
            From::PullPer(path) => {
                let of =
                    self.sheet.value(path).filter(|v| *v > 0.0).ok_or_else(|| topic.without.to_owned())?;
                Ok(for_each(&item(Asked::Pull, "pull")?, of, topic.dimension))
            }
            From::PullPerRoom(of) => {
                let pull = item(Asked::Pull, "pull")?;
                Ok(ratio(&pull, &for_each(&room(), of, topic.dimension), topic.dimension))
            }
            From::PullPerWatt => {
                let pull = item(Asked::Pull, "pull").map_err(|_| "none: it pulls on nothing".to_owned())?;
                let power = item(Asked::Winding, "power")?;
                Ok(ratio(&pull, &power, topic.dimension))
            }
        }
    }

    /// What its numbers have in common with another's.
    fn common(&self, other: &Self, measures: [&Measure; 2]) -> Common {
        let one_sheet = same_file(&self.sheet, &other.sheet);
        let shared = |path: &str| {
            let same = self.sheet.agrees(&other.sheet, path);
            same && path != "solver" && (one_sheet || path.starts_with("workpiece."))
        };
        let parts = measures.into_iter().flat_map(|m| &m.band).flat_map(|band| &band.contributors);
        let mut paths: Vec<String> = parts.map(|c| c.path.clone()).filter(|path| shared(path)).collect();
        paths.sort();
        paths.dedup();
        let correlations = if one_sheet { self.sheet.correlations().unwrap_or_default() } else { Vec::new() };
        let names =
            if one_sheet { <[String; 2]>::default() } else { [&other.name, &self.name].map(String::clone) };
        Common { shared: paths, correlations, names }
    }

    pub(crate) fn against(&self, other: &Self, topic: usize) -> Option<Measure> {
        let (Ok(own), Ok(its)) = (&self.told[topic], &other.told[topic]) else { return None };
        if own == its && same_file(&self.sheet, &other.sheet) {
            // One and the same magnet, so far.
            let mut none = difference(its, own, &Common::default());
            none.band = None;
            return Some(none);
        }
        Some(difference(its, own, &self.common(other, [its, own])))
    }
}

impl Asking {
    /// The number that a need is about.
    pub(crate) fn needed(&self, need: &Need) -> Told {
        let topic = &TOPICS[need.topic];
        let stands_for = [(topic.without, topic.comes_to), topic.lacking()];
        if let Err(why) = &self.told[need.topic]
            && let Some((_, Some(value))) = stands_for.into_iter().find(|(words, _)| words == why)
        {
            return Ok(Measure { value, dimension: topic.dimension, band: None });
        }
        let Some(gap_m) = need.gap_m else { return self.told[need.topic].clone() };
        let without = |why: Option<&String>| why.map_or(topic.without, String::as_str).to_owned();
        let answer = self.answer(Asked::Pull).map_err(without)?;
        let curve = answer.series.iter().find(|s| s.key == "pull_gap");
        let at = curve.and_then(|s| {
            let k = s.x.values.iter().position(|x| (x / gap_m - 1.0).abs() < 1e-9)?;
            let column = s.ys.first()?;
            let (value, (low, high)) = (column.values[k], column.bands.get(k).copied()?);
            let standard = 0.25 * (high - low);
            let band = Band { standard, low, high, contributors: Vec::new() };
            Some(Measure { value, dimension: Dimension::Force, band: Some(band) })
        });
        at.ok_or_else(|| "its gap cannot be changed".into())
    }
}

/// What a magnet weighs, with its band; what is said on its plate where that cannot be told from its drawing.
fn mass(sheet: &Sheet, magnet: &Magnet) -> Option<Measure> {
    let Some(value) = magnet.mass_kg() else {
        let value = sheet.value("nameplate.mass")?;
        return Some(Measure { value, dimension: Dimension::Mass, band: None });
    };
    Some(by_size(sheet, magnet, value, Dimension::Mass, Magnet::mass_kg))
}

/// A number of the magnet's drawing with the band that all lengths and turns make of it.
fn by_size(
    sheet: &Sheet,
    magnet: &Magnet,
    value: f64,
    dimension: Dimension,
    number: impl Fn(&Magnet) -> Option<f64>,
) -> Measure {
    let mut budget = Budget::new(value);
    for way in ways(sheet, magnet) {
        let moved = |x: f64| number(&varied(sheet, magnet, std::slice::from_ref(&way), &[x]).ok()?.magnet);
        // At the edge of what is possible the other side stands for both.
        if let Some(change) = moved(1.0).map(|m| m - value).or_else(|| Some(value - moved(-1.0)?)) {
            budget.add(&way.path, &way.label, change);
        }
    }
    Measure { value, dimension, band: budget.band_about(value) }
}
