//! Straight lines along which a field is read, and where they run inside iron.

use crate::answers::question::FieldQuestion;
use coilwright_fem::drawing::Point;

/// Places along a line where the field is read.
pub(crate) const STATIONS: usize = 281;

/// A straight line in a magnet's section.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    /// Beginning of the keys of its items.
    pub(crate) key: String,
    /// It runs along the axis and is told by heights above the face, not by distances from its start.
    pub(crate) on_axis: bool,
    /// Its start: distance from the middle and height above the face, m.
    from: Point,
    /// Unit vector to its end.
    along: [f64; 2],
    /// Where it is read: heights above the face on the axis, else distances from its start, m.
    pub(crate) stations_m: Vec<f64>,
    /// By station the name of the iron or permanent magnet that it lies in.
    pub(crate) inside: Vec<Option<String>>,
}

/// A stretch of a track inside iron.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stretch {
    /// What it is inside of.
    pub(crate) name: String,
    /// Its ends, told as stations are; m.
    pub(crate) ends_m: [f64; 2],
}

impl Track {
    /// The tracks that a question asks for: a stretch of the axis, then its lines.
    pub(crate) fn all(question: &FieldQuestion) -> Vec<Self> {
        let axis = question.axis_between_m.map(|ends| {
            let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
            let stations_m = evenly([low, high]);
            Self {
                key: "axis".into(),
                on_axis: true,
                from: [0.0, 0.0],
                along: [0.0, 1.0],
                stations_m,
                inside: Vec::new(),
            }
        });
        let lines = (1..).zip(&question.lines).map(|(number, &[(x, y), (u, v)])| {
            let length = (u - x).hypot(v - y);
            Self {
                key: format!("line_{number}"),
                on_axis: false,
                from: [x, y],
                along: [(u - x) / length, (v - y) / length],
                stations_m: evenly([0.0, length]),
                inside: Vec::new(),
            }
        });
        axis.into_iter().chain(lines).collect()
    }

    /// Distance from the middle and height above the face at a station, m.
    pub(crate) fn place(&self, station_m: f64) -> Point {
        [self.from[0] + station_m * self.along[0], self.from[1] + station_m * self.along[1]]
    }

    /// Mark what lies inside iron; `solid` names it at a place.
    pub(crate) fn mark(&mut self, solid: impl Fn(Point) -> Option<String>) {
        self.inside = self.stations_m.iter().map(|s| solid(self.place(*s))).collect();
    }

    /// The stretches inside iron, their ends found, and rounded, to a hundred-millionth of the track.
    pub(crate) fn stretches(&self, solid: impl Fn(Point) -> Option<String>) -> Vec<Stretch> {
        let last = self.stations_m.len() - 1;
        let border = |k: usize, name: &str| {
            let (mut a, mut b) = (self.stations_m[k], self.stations_m[k + 1]);
            let within = |s: f64| solid(self.place(s)).as_deref() == Some(name);
            let first = within(a);
            for _ in 0..30 {
                let middle = 0.5 * (a + b);
                if within(middle) == first { a = middle } else { b = middle }
            }
            let digit = 1e-8 * (self.stations_m[last] - self.stations_m[0]);
            (0.5 * (a + b) / digit).round() * digit
        };
        let mut found: Vec<Stretch> = Vec::new();
        for (k, name) in self.inside.iter().enumerate() {
            let Some(name) = name else { continue };
            let goes_on = k > 0 && self.inside[k - 1].as_ref() == Some(name);
            if !goes_on {
                let from = if k == 0 { self.stations_m[0] } else { border(k - 1, name) };
                found.push(Stretch { name: name.clone(), ends_m: [from, from] });
            }
            let ends = k == last || self.inside[k + 1].as_ref() != Some(name);
            if let (true, Some(stretch)) = (ends, found.last_mut()) {
                stretch.ends_m[1] = if k == last { self.stations_m[last] } else { border(k, name) };
            }
        }
        found
    }
}

fn evenly([from, to]: [f64; 2]) -> Vec<f64> {
    let at = |k: usize| match k {
        // The ends are kept exactly.
        k if k == STATIONS - 1 => to,
        _ => {
            let at = from + (to - from) * k as f64 / (STATIONS - 1) as f64;
            // What rounding leaves of zero is zero.
            if at.abs() < 1e-12 * (to - from) { 0.0 } else { at }
        }
    };
    (0..STATIONS).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line of 5 m along 3 : 4 through a plate from 1 m to 2 m high is inside it from 1.25 m to 2.5 m of its length.
    #[test]
    fn a_line_through_a_plate_is_inside_it() {
        let lines = vec![[(0.0, 0.0), (3.0, 4.0)]];
        let mut tracks = Track::all(&FieldQuestion { lines, ..FieldQuestion::default() });
        let track = &mut tracks[0];
        let plate = |p: Point| (p[1] > 1.0 && p[1] < 2.0).then(|| "plate".to_owned());
        track.mark(plate);
        assert!(track.place(5.0)[0] - 3.0 < 1e-12 && track.inside.iter().any(Option::is_some));
        let stretches = track.stretches(plate);
        assert_eq!(stretches.len(), 1);
        assert!((stretches[0].ends_m[0] - 1.25).abs() < 1e-7 && (stretches[0].ends_m[1] - 2.5).abs() < 1e-7);
    }
}
