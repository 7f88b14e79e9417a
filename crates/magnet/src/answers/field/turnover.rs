//! Where the field along the axis changes its sign, and what a probe of some width reads there: it sees both sides, and
//! reads less than either.

use crate::answers::answer::Item;
use crate::answers::field::read::{Known, Readings};
use crate::magnet::Magnet;
use crate::quantity::Dimension;
use crate::uncertainty::band::{Band, Budget};
use coilwright_fem::drawing::Point;
use coilwright_fem::field::Probe;

/// Fields below this share of the strongest of a scan are too weak to have a sign: far from a magnet the solver's errors do.
const NONE: f64 = 1e-4;

/// A place where the field along the axis changes its sign.
#[derive(Clone, Debug)]
pub(crate) struct Turn {
    /// The scan that it lies on, by the beginning of its keys, and its number there.
    key: String,
    /// Where it is, as its scan is told: distance from the middle, from a line's start, or height above the face; m.
    at_m: f64,
    /// The same in the drawing, m.
    pub(crate) place_m: Point,
    /// How fast the field changes along the scan, T/m.
    slope_t_m: f64,
    /// The scan goes from a north pole's side to a south pole's.
    to_south: bool,
}

/// All turns of the face scan and of the tracks, in their order.
pub(crate) fn find(readings: &Readings, magnet: &Magnet, probe: &Probe<'_>) -> Vec<Turn> {
    let height = magnet.face_m + readings.face.standoff_m;
    let mut found =
        along("face", &readings.scan_m, &vec![false; readings.scan_m.len()], probe, |s| [s, height]);
    for track in &readings.tracks {
        let inside: Vec<bool> = track.inside.iter().map(Option::is_some).collect();
        let place = |s: f64| {
            let [x, y] = track.place(s);
            [x, magnet.face_m + y]
        };
        found.extend(along(&track.key, &track.stations_m, &inside, probe, place));
    }
    found
}

fn along(
    key: &str,
    stations_m: &[f64],
    inside: &[bool],
    probe: &Probe<'_>,
    place: impl Fn(f64) -> Point,
) -> Vec<Turn> {
    let read = |s: f64| probe.at(place(s)).b_t[1];
    let values: Vec<f64> = stations_m.iter().map(|s| read(*s)).collect();
    let strongest = stations_m.iter().map(|s| probe.at(place(*s)).size_t()).fold(0.0, f64::max);
    let mut found: Vec<Turn> = Vec::new();
    // The last station whose field has a sign; what lies inside iron parts what is before it from what is after.
    let mut before: Option<usize> = None;
    for k in 0..values.len() {
        if inside[k] {
            before = None;
            continue;
        }
        if values[k].abs() <= NONE * strongest {
            continue;
        }
        if let Some(from) = before.filter(|from| values[*from] * values[k] < 0.0) {
            let (mut a, mut b) = (stations_m[from], stations_m[k]);
            for _ in 0..60 {
                let middle = 0.5 * (a + b);
                if read(middle) * values[from] > 0.0 { a = middle } else { b = middle }
            }
            let (at_m, step) = (0.5 * (a + b), 1e-3 * (stations_m[k] - stations_m[from]));
            found.push(Turn {
                key: format!("{key}_turn_{}", found.len() + 1),
                at_m,
                place_m: place(at_m),
                slope_t_m: (read(at_m + step) - read(at_m - step)) / (2.0 * step),
                to_south: values[from] > 0.0,
            });
        }
        before = Some(k);
    }
    found
}

/// The rows about the turns of one scan: where it is, what the probe reads, and the most that lies under it.
pub(crate) fn rows(scan: &str, turns: &[Turn], readings: &Readings, known: &Known<'_>) -> Vec<Item> {
    let width = readings.face.width_m;
    let start = format!("{scan}_turn_");
    let mut items = Vec::new();
    for (turn, [centre, mean, inner, outer]) in turns.iter().zip(readings.of_turns()) {
        if !turn.key.starts_with(&start) {
            continue;
        }
        let (from, to) = if turn.to_south { ("north", "south") } else { ("south", "north") };
        let place = Item::number(&turn.key, "the field turns over at", turn.at_m, Dimension::Length)
            .with_note(format!("the part along the axis, from {from} to {to}"));
        items.push(match place_band(turn, &known.band(centre)) {
            Some(band) => place.with_band(band),
            None => place,
        });
        if width == 0.0 {
            continue;
        }
        let most = if known.values[inner].abs() > known.values[outer].abs() { inner } else { outer };
        items.push(
            Item::number(
                &format!("{}_reads", turn.key),
                "the probe reads there",
                known.values[mean],
                Dimension::FluxDensity,
            )
            .with_band(known.band(mean))
            .with_note(
                "the mean over its active area, which sees both sides there and so reads less than either",
            ),
        );
        items.push(
            Item::number(
                &format!("{}_edge", turn.key),
                "the most under the probe's edge",
                known.values[most],
                Dimension::FluxDensity,
            )
            .with_band(known.band(most)),
        );
    }
    items
}

/// A place is as sure as the field there over how steeply that changes.
fn place_band(turn: &Turn, of_field: &Band) -> Option<Band> {
    let mut budget = Budget::new(turn.at_m);
    for c in &of_field.contributors {
        budget.add(&c.path, &c.label, c.effect / -turn.slope_t_m);
    }
    budget.band()
}
