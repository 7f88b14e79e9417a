//! What every answer minds, whatever was asked: hot skin, live parts, a magnet that burns, and what may be lifted.

use crate::answers::answer::{Answer, Caution, Danger, Value};
use crate::answers::caution::{self, Holding};
use crate::answers::pull::plain;
use crate::coupled::operating_point::{Driven, Feed, Pattern};
use crate::magnet::{Magnet, Substance};
use crate::sheet::Sheet;
use crate::thermal::COMPUTED;
use crate::thermal::body::Body;
use crate::thermal::setting::{Cooling, Setting};
use crate::uncertainty::measure::Measure;

/// Pulls on the workpiece that an answer may know: cold, warm, and on a backup.
const PULLS: [&str; 7] =
    ["pull", "pull_cold", "pull_hot", "pull_steady", "pull_hold_start", "pull_hold_end", "pull_hold_sagged"];

/// Beyond every thermal class of IEC 60085 in common use (250), K: no insulation lasts.
const BEYOND_ALL_CLASSES_K: f64 = 523.15;

/// Add the cautions; `lifts` says whether what is pulled is a load.
pub(crate) fn add(sheet: &Sheet, magnet: &Magnet, lifts: bool, answer: &mut Answer) {
    skin_and_live_parts(answer);
    let about = answer.groups.first().and_then(|g| g.items.first()).map_or(String::new(), |i| i.key.clone());
    if holding(magnet) == Holding::Permanent {
        answer.cautions.extend(caution::permanent(&about));
    }
    let told = answer.item("runaway").is_some();
    let ends = if told { Some(End::Burns) } else { in_the_end(sheet, magnet) };
    let burns = ends.is_some();
    let cautioned = answer.cautions.iter().any(|c| c.danger == Danger::Fire);
    // Of its heat an answer has told already.
    let tells = answer.command != "heat";
    if let Some(end) = &ends {
        if tells {
            answer.summary = format!("{} {}", answer.summary, end.sentence()).trim_start().into();
        }
        if !cautioned {
            answer.cautions.extend(end.cautions(&about));
        }
    }
    // A winding that burns holds nothing for long.
    if lifts && !burns {
        working_load(sheet, answer, holding(magnet));
    }
}

/// The usual limit for lifting anew, where an answer has one, for its bands are others now.
pub fn lift_again(sheet: &Sheet, magnet: &Magnet, answer: &mut Answer) {
    let before = answer.cautions.len();
    answer.cautions.retain(|caution| !caution.limits_lifting());
    if answer.cautions.len() < before {
        working_load(sheet, answer, holding(magnet));
    }
}

fn holding(magnet: &Magnet) -> Holding {
    let permanent = |substance: &Substance| matches!(substance, Substance::Permanent { .. });
    match magnet.parts.iter().any(|part| permanent(&part.substance)) {
        true => Holding::Permanent,
        false => Holding::Electromagnet,
    }
}

/// What skin may touch and what is live, judged by the unfavourable end of a band. What runs away within the run has
/// worse to say.
fn skin_and_live_parts(answer: &mut Answer) {
    let high = |key: &str| answer.measure(key).map(|m| m.band.as_ref().map_or(m.value, |b| b.high));
    let skin = ["surface_temperature_steady", "surface_temperature"];
    let hottest =
        skin.into_iter().filter_map(|key| Some((key, high(key)?))).max_by(|a, b| a.1.total_cmp(&b.1));
    let hottest = hottest.filter(|_| answer.item("runaway_time").is_none());
    let mut found = hottest.map_or(Vec::new(), |(key, kelvin)| caution::surface(key, kelvin));
    found.extend(high("voltage").map_or(Vec::new(), |volts| caution::supply("voltage", volts)));
    answer.cautions.extend(found);
}

/// How a magnet that is left on ends, where that is a fire.
enum End {
    /// It never settles.
    Burns,
    /// It settles where no insulation lasts.
    TooHot(f64),
}

impl End {
    /// What a sentence about anything else must not leave out.
    fn sentence(&self) -> &'static str {
        match self {
            Self::Burns => "Left on, its winding burns.",
            Self::TooHot(_) => "Left on, its winding gets hotter than any insulation bears.",
        }
    }

    fn cautions(&self, about: &str) -> Vec<Caution> {
        match self {
            Self::Burns => caution::runaway(about),
            Self::TooHot(kelvin) => caution::beyond_all_classes(about, *kelvin),
        }
    }
}

/// Whether the drive of the sheet, left on as the sheet says, ends in a fire. What cannot be told (no winding, a heat that is
/// kept in on purpose, a recorded drive) is not.
fn in_the_end(sheet: &Sheet, magnet: &Magnet) -> Option<End> {
    let mut sheet = sheet.clone();
    sheet.remove(COMPUTED);
    let driven = Driven::of(&sheet, magnet).ok()?;
    let setting = Setting::read(&sheet, magnet, false).ok()?.setting;
    let (pattern, _) = Pattern::read(&sheet).ok()?;
    let lasts = matches!(pattern, Pattern::Continuous | Pattern::Cycles { .. });
    if !lasts || setting.cooling == Cooling::Adiabatic {
        return None;
    }
    let mut body = Body::new(magnet, driven.winding, &setting).ok()?;
    let feed = Feed { driven, pattern };
    match body.steady(|k| feed.mean_square_a2(k)).ok()? {
        None => Some(End::Burns),
        Some(steady) if steady.shot.hot_k > BEYOND_ALL_CLASSES_K => Some(End::TooHot(steady.shot.hot_k)),
        Some(_) => None,
    }
}

/// Put the usual limit for lifting beside the lowest pull of an answer: of all of them the lowest end of a band. On a vertical
/// face a load slips before it breaks away: the least that friction holds then.
fn working_load(sheet: &Sheet, answer: &mut Answer, holding: Holding) {
    let known = PULLS.iter().filter_map(|key| {
        let item = answer.item(key)?;
        let Value::Number(m) = &item.value else { return None };
        Some((*key, item.label.clone(), m.clone()))
    });
    let lowest = |m: &Measure| m.band.as_ref().map_or(m.value, |b| b.low);
    let Some((key, label, m)) = known.min_by(|a, b| lowest(&a.2).total_cmp(&lowest(&b.2))) else { return };
    let end = if m.band.is_some() { ", lower end of the 95 % band" } else { "" };
    let (friction, slips) = match sheet.word("workpiece.face") {
        Some("vertical") => {
            let (mu, u) = plain::friction(sheet);
            (
                (mu - 2.0 * u).max(0.0),
                format!(", times a friction of {:.2} at least", (mu - 2.0 * u).max(0.0)),
            )
        }
        _ => (1.0, String::new()),
    };
    let of = format!("{label}{end}{slips}");
    let holds = (friction * lowest(&m), friction * m.value);
    answer.cautions.extend(caution::working_load(key, &of, holds, holding));
}
