//! The field at a place of the picture: at once from the picture's own field, then as `field --at` answers it.

use super::asked::Asked;
use super::settle::{Ready, lock};
use crate::ask::{Failure, FieldQuestion, Picture, Question};
use crate::input::checksum;
use crate::shown;
use crate::topics::{self, Of};
use coilwright_magnet::quantity::{Dimension, UnitSystem};
use coilwright_magnet::uncertainty::band::Band;
use coilwright_magnet::uncertainty::measure::Measure;
use coilwright_magnet::watch::Watch;
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

/// Pictures whose field is kept: of as many pages as are likely to be open.
const KEPT: usize = 2;

/// The fields of the newest pictures, by what was asked.
#[derive(Default)]
pub(super) struct Pictures(Mutex<VecDeque<(String, Arc<Picture>)>>);

impl Pictures {
    /// The field of a question's picture, solved unless it is known.
    pub(super) fn of(&self, asked: &Asked, ready: &Ready) -> Result<Arc<Picture>, Failure> {
        let key = checksum([asked.text.as_str(), &asked.set.join("\n")].join("\0").as_bytes());
        if let Some((_, picture)) = lock(&self.0).iter().find(|(known, _)| *known == key) {
            return Ok(picture.clone());
        }
        let picture = Arc::new(Picture::of(&ready.loaded.sheet)?);
        let mut all = lock(&self.0);
        all.push_front((key, picture.clone()));
        all.truncate(KEPT);
        Ok(picture)
    }
}

/// Where the field is asked for.
#[derive(Debug, Deserialize)]
pub(super) struct Place {
    /// Of which magnet.
    #[serde(flatten)]
    pub(super) asked: Asked,
    /// Across and along in the figure, m.
    place_m: [f64; 2],
}

/// The field there.
#[derive(Debug, Serialize)]
pub(super) struct Read {
    /// Where it is, in words.
    place: String,
    /// The part of steel or magnet that it lies in, where no probe reads; then there are no numbers.
    inside: Option<String>,
    /// Magnitude, and its components across and along the axis, with their unit.
    size: String,
    across: String,
    along: String,
    /// The same in T.
    si: [f64; 3],
    /// How sure the magnitude is.
    range: String,
    /// It is what `field --at` answers; before, only the numerical error is known.
    settled: bool,
}

impl Place {
    /// The field of the picture.
    pub(super) fn at_once(&self, picture: &Picture) -> Read {
        let found = picture.at(self.place_m);
        let [across, along] = found.b_t;
        let error = found.error_t;
        let measure = |value: f64| {
            let band = Band {
                standard: 0.5 * error,
                low: value - error,
                high: value + error,
                contributors: Vec::new(),
            };
            Measure { value, dimension: Dimension::FluxDensity, band: Some(band) }
        };
        let mut size = measure(across.hypot(along));
        size.band.iter_mut().for_each(|band| band.low = band.low.max(0.0));
        self.read(picture, [&measure(across), &measure(along), &size], found.inside)
    }

    /// The same as the command answers it, workpiece in place where there is one.
    pub(super) fn settled(&self, ready: &Ready, picture: &Picture, watch: &Watch) -> Result<Read, Failure> {
        let [x, y] = self.place_m;
        let question = FieldQuestion {
            at: vec![(x, y - picture.face_m)],
            workpiece: ready.loaded.sheet.has("workpiece"),
            ..FieldQuestion::default()
        };
        let answer =
            topics::ask(&ready.loaded.sheet, &Of::Model(Question::Field(question)), None, ("", watch))?;
        let inside = picture.at(self.place_m).inside;
        let measures = ["b_r_1", "b_z_1", "b_abs_1"].map(|key| answer.measure(key));
        let [Some(across), Some(along), Some(size)] = measures else {
            return Err(Failure::Physics("the field there is not told".into()));
        };
        Ok(Read { settled: true, ..self.read(picture, [across, along, size], inside) })
    }

    fn read(&self, picture: &Picture, all: [&Measure; 3], inside: Option<String>) -> Read {
        let units = self.asked.units();
        let [across, along, size] = all.map(|measure| shown::value(measure, units));
        let range = shown::parts(all[2], units).interval;
        let shown = |text: String| if inside.is_some() { String::new() } else { text };
        Read {
            place: place(self.place_m, picture, units),
            size: shown(size),
            across: shown(across),
            along: shown(along),
            range: shown(range),
            si: if inside.is_some() { [0.0; 3] } else { all.map(|measure| measure.value) },
            inside,
            settled: false,
        }
    }
}

/// A place as a person finds it again: from the middle, and from the face.
fn place([x, y]: [f64; 2], picture: &Picture, units: UnitSystem) -> String {
    let scale = shown::Scale::of(Dimension::Length, 1e-2, units);
    let length = |m: f64| format!("{:.2} {}", scale.value(m), scale.symbol);
    let height = y - picture.face_m;
    let height = match (picture.faced, height < 0.0) {
        (true, false) => format!("{} above the face", length(height)),
        (true, true) => format!("{} below the face", length(-height)),
        (false, _) => format!("at the height {}", length(height)),
    };
    format!("{} from the middle, {height}", length(x.abs()))
}
