//! Everything that is read of one field, in one list: across the face, at points, along the axis; and how sure it is.

use crate::answers::answer::{Column, Series};
use crate::answers::field::region::{Places, region};
use crate::answers::field::track::Track;
use crate::answers::question::FieldQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnetic::effects::{Difference, Sides, band};
use crate::magnetic::scene::{Scene, Stage};
use crate::magnetic::solved::Solved;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use crate::uncertainty::band::Band;
use coilwright_fem::drawing::Point;
use coilwright_fem::drawing::Symmetry;
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::solve::{Estimate, Ladder};
use std::ops::Range;

/// Height of the scan where the sheet names none, m.
pub const USUAL_STANDOFF_M: f64 = 1e-3;
/// Height over a pole's width below which its edges rule what is strongest: near a right-angled edge of iron the field
/// rises as the distance to the power −1/3 (J. D. Jackson, Classical Electrodynamics, section 2.11, from memory).
const CLOSE: f64 = 0.02;
/// Points of a scan.
const SCAN: usize = 281;

/// Where and with what a face is scanned.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Face {
    pub(crate) standoff_m: f64,
    /// Diameter of the probe's active area.
    pub(crate) width_m: f64,
}

impl Face {
    pub(crate) fn of(sheet: &Sheet, question: &FieldQuestion) -> Self {
        let standoff_m = question.standoff_m.or(sheet.value("probe.standoff")).unwrap_or(USUAL_STANDOFF_M);
        Self { standoff_m, width_m: sheet.value("probe.active_diameter").unwrap_or(0.0) }
    }

    /// Whether the scan is so close that the edges of the poles rule its greatest value.
    pub(crate) fn at_edges(&self, magnet: &Magnet) -> bool {
        let narrowest = magnet.poles.iter().map(|p| p.x_m[1] - p.x_m[0]).fold(f64::INFINITY, f64::min);
        narrowest.is_finite() && self.standoff_m < CLOSE * narrowest
    }
}

/// What is read of a field, and where.
#[derive(Clone, Debug)]
pub(crate) struct Readings {
    pub(crate) face: Face,
    /// Distance of the strongest place over the face from the middle, m; without a face none.
    pub(crate) strongest_m: Option<f64>,
    /// Distances from the middle at which the face is scanned, m.
    pub(crate) scan_m: Vec<f64>,
    /// Points: distance from the middle and height above the face, m.
    points: Vec<(f64, f64)>,
    /// Heights above the face at which the axis is scanned, m.
    pub(crate) axis_m: Vec<f64>,
    /// Lines along which it is read.
    pub(crate) tracks: Vec<Track>,
    /// Places where a limit is just reached, m in the drawing.
    edges_m: Vec<Point>,
    /// Places where the field along the axis turns over, m in the drawing.
    pub(crate) turns_m: Vec<Point>,
    /// Places at which uniformity is read, if it is asked for.
    pub(crate) uniform: Option<Places>,
    poles: usize,
}

impl Readings {
    pub(crate) fn new(
        magnet: &Magnet,
        (question, scanned): (&FieldQuestion, bool),
        face: Face,
        scene: &Scene,
        probe: &Probe<'_>,
        edges_m: Vec<Point>,
    ) -> Self {
        let scan_m = if scanned { across(magnet) } else { Vec::new() };
        let strongest_m = scanned.then(|| strongest(probe, &scan_m, magnet.face_m + face.standoff_m));
        let far = 4.0 * reach_m(magnet).max(1e-3);
        // Inside iron nothing is read: the scan along the axis leaves it out.
        let axis_m =
            if question.axis && question.axis_between_m.is_none() { evenly(far) } else { Vec::new() };
        let axis_m =
            axis_m.into_iter().filter(|h| solid(probe, scene, [0.0, magnet.face_m + h]).is_none()).collect();
        let mut tracks = Track::all(question);
        for track in &mut tracks {
            track.mark(|[x, y]| solid(probe, scene, [x, magnet.face_m + y]).map(str::to_owned));
        }
        Self {
            face,
            strongest_m,
            scan_m,
            points: question.at.clone(),
            axis_m,
            tracks,
            edges_m,
            turns_m: Vec::new(),
            uniform: None,
            poles: magnet.poles.len(),
        }
    }

    /// The greatest flux density over the face, then what a probe reads over each pole.
    pub(crate) fn of_face(&self) -> Range<usize> {
        0..if self.strongest_m.is_some() { 1 + self.poles } else { 0 }
    }

    /// The scan as a probe reads it.
    pub(crate) fn of_scan(&self) -> Range<usize> {
        after(self.of_face(), self.scan_m.len())
    }

    /// The scan's magnitude.
    pub(crate) fn of_scan_size(&self) -> Range<usize> {
        after(self.of_scan(), self.scan_m.len())
    }

    /// Across, along and magnitude at each point.
    pub(crate) fn of_points(&self) -> Range<usize> {
        after(self.of_scan_size(), 3 * self.points.len())
    }

    /// The scan along the axis.
    pub(crate) fn of_axis(&self) -> Range<usize> {
        after(self.of_points(), self.axis_m.len())
    }

    /// Across, along and magnitude over a track.
    pub(crate) fn of_track(&self, track: usize) -> [Range<usize>; 3] {
        let count = |t: &Track| t.stations_m.len();
        let start = self.of_axis().end + self.tracks[..track].iter().map(|t| 3 * count(t)).sum::<usize>();
        let n = count(&self.tracks[track]);
        [0, 1, 2].map(|d| start + d * n..start + (d + 1) * n)
    }

    fn of_tracks(&self) -> Range<usize> {
        after(self.of_axis(), self.tracks.iter().map(|t| 3 * t.stations_m.len()).sum())
    }

    /// Magnitude where a limit is just reached.
    pub(crate) fn of_edges(&self) -> Range<usize> {
        after(self.of_tracks(), self.edges_m.len())
    }

    /// At each turn the field along the axis, what a probe reads there, and the field under its inner and outer edge.
    pub(crate) fn of_turns(&self) -> impl Iterator<Item = [usize; 4]> {
        let start = self.of_edges().end;
        (0..self.turns_m.len()).map(move |k| [0, 1, 2, 3].map(|d| start + 4 * k + d))
    }

    /// The field in the middle of a region, then deviations from it.
    pub(crate) fn of_uniformity(&self) -> Range<usize> {
        let start = self.of_edges().end + 4 * self.turns_m.len();
        start..start + self.uniform.as_ref().map_or(0, Places::count)
    }

    /// All readings of a magnet's field, T.
    fn values(&self, magnet: &Magnet, solution: &Solution) -> Vec<f64> {
        let probe = Probe::new(solution);
        let mut found = Vec::new();
        if let Some(strongest_m) = self.strongest_m {
            found.extend(over_face(magnet, &probe, &self.face, strongest_m));
            let [along, size] = scan(magnet, &probe, &self.face, &self.scan_m);
            found.extend(along);
            found.extend(size);
        }
        found.extend(at_points(magnet, &probe, &self.points));
        found.extend(self.axis_m.iter().map(|h| probe.at([0.0, magnet.face_m + h]).b_t[1]));
        for track in &self.tracks {
            let [across, along, size] = field_along(magnet, &probe, track);
            found.extend(across.into_iter().chain(along).chain(size));
        }
        found.extend(self.edges_m.iter().map(|p| probe.at(*p).size_t()));
        let half = 0.5 * self.face.width_m;
        for &[x, y] in &self.turns_m {
            let along = |x: f64| probe.at([x, y]).b_t[1];
            let mean = reading(&probe, magnet.symmetry == Symmetry::Axial, x, y, self.face.width_m).0;
            found.extend([along(x), mean, along(x - half), along(x + half)]);
        }
        found.extend(self.uniform.iter().flat_map(|places| places.values(&probe)));
        found
    }

    /// Where each of the [`Readings::values`] is read, m in the drawing.
    fn places_m(&self, magnet: &Magnet) -> Vec<Point> {
        let y = magnet.face_m + self.face.standoff_m;
        let mut found = Vec::new();
        if let Some(strongest_m) = self.strongest_m {
            found.push([strongest_m, y]);
            found.extend(magnet.poles.iter().map(|p| [p.middle_m(), y]));
            for _ in 0..2 {
                found.extend(self.scan_m.iter().map(|&x| [x, y]));
            }
        }
        for p in &self.points {
            found.extend([[p.0, magnet.face_m + p.1]; 3]);
        }
        found.extend(self.axis_m.iter().map(|h| [0.0, magnet.face_m + h]));
        for track in &self.tracks {
            for _ in 0..3 {
                found.extend(track.stations_m.iter().map(|s| {
                    let [x, y] = track.place(*s);
                    [x, magnet.face_m + y]
                }));
            }
        }
        found.extend(&self.edges_m);
        let half = 0.5 * self.face.width_m;
        for &[x, y] in &self.turns_m {
            found.extend([[x, y], [x, y], [x - half, y], [x + half, y]]);
        }
        found.extend(self.uniform.iter().flat_map(Places::all));
        found
    }
}

fn after(before: Range<usize>, count: usize) -> Range<usize> {
    before.end..before.end + count
}

/// Readings with what is uncertain about them.
pub(crate) struct Known<'a> {
    pub(crate) values: Vec<f64>,
    /// 95 % bounds of the numerical error.
    pub(crate) errors: Vec<f64>,
    sides: Sides<'a>,
    /// By way of being uncertain and reading.
    changes: Vec<Vec<f64>>,
    /// By the probe's height; none if that is exact.
    by_standoff: Option<Vec<f64>>,
}

impl<'a> Known<'a> {
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &'a Magnet,
        readings: &Readings,
        solved: &Solved,
        staged: impl Fn(&Magnet) -> Stage + Sync,
    ) -> Result<Self, Failure> {
        let mut estimates = solved.ladder.estimates(|s| readings.values(magnet, s));
        // What is read of a field is no surer than the field itself where it is read.
        let fields = solved.ladder.fields(&readings.places_m(magnet));
        for (of_reading, [of_field, _]) in estimates.iter_mut().zip(fields) {
            of_reading.error = of_reading.error.max(of_field.error);
        }
        let sides = Sides::new(sheet, magnet);
        let read = |m: &Magnet, _: &_, _: &_, s: &Solution| Ok(readings.values(m, s));
        let any = !estimates.is_empty();
        let known: Vec<f64> = estimates.iter().map(|e| e.value).collect();
        let changes = sides.changes(solved, Some(&known), |_| any, Difference::Apart, staged, read)?;
        let height = sheet.quantity("probe.standoff").filter(|q| q.half_width > 0.0);
        let by_standoff = height.map(|q| {
            let at = |higher: f64| {
                let face = Face { standoff_m: readings.face.standoff_m + higher, ..readings.face };
                Readings { face, ..readings.clone() }.values(magnet, solved.ladder.solution())
            };
            let u = q.standard_uncertainty();
            at(-u).iter().zip(at(u)).map(|(low, high)| 0.5 * (high - low)).collect()
        });
        Ok(Self {
            values: estimates.iter().map(|e| e.value).collect(),
            errors: estimates.iter().map(|e| e.error).collect(),
            sides,
            changes,
            by_standoff,
        })
    }

    /// The band of a reading.
    pub(crate) fn band(&self, k: usize) -> Band {
        let mut effects = self.sides.named(&self.changes, k..k + 1).pop().unwrap_or_default();
        if let Some(changes) = &self.by_standoff {
            effects.push(("probe.standoff".into(), "height of the probe".into(), changes[k]));
        }
        band(self.values[k], &effects, self.errors[k])
    }

    /// Readings as a column with its bands.
    pub(crate) fn column(&self, key: &str, label: &str, readings: Range<usize>) -> Column {
        let values = self.values[readings.clone()].to_vec();
        let one = |k: usize| {
            let changes = self.changes.iter().map(|change| change[k]);
            let by_standoff = self.by_standoff.as_ref().map(|change| ("probe.standoff", change[k]));
            self.sides.interval(self.values[k], changes, by_standoff, self.errors[k])
        };
        Column {
            bands: readings.map(one).collect(),
            ..Column::new(key, label, Dimension::FluxDensity, values)
        }
    }
}

/// What a probe of some active width reads of the field along the axis: the mean over its disc (a rule of degree 5,
/// A. H. Stroud, Approximate Calculation of Multiple Integrals, 1971, S2 5-1), with |B| at its centre.
fn reading(probe: &Probe<'_>, axial: bool, x: f64, y: f64, width_m: f64) -> (f64, f64) {
    let centre = probe.at([x, y]);
    if width_m == 0.0 {
        return (centre.b_t[1], centre.size_t());
    }
    let ring = 0.5 * width_m * (2.0f64 / 3.0).sqrt();
    let mut mean = 0.25 * centre.b_t[1];
    for k in 0..6 {
        let angle = std::f64::consts::FRAC_PI_3 * f64::from(k);
        let (u, v) = (x + ring * angle.cos(), ring * angle.sin());
        mean += 0.125 * probe.at([if axial { u.hypot(v) } else { u }, y]).b_t[1];
    }
    (mean, centre.size_t())
}

/// What a probe reads across the face, and |B| there, T.
pub(crate) fn scan(magnet: &Magnet, probe: &Probe<'_>, face: &Face, scan_m: &[f64]) -> [Vec<f64>; 2] {
    let axial = magnet.symmetry == Symmetry::Axial;
    let y = magnet.face_m + face.standoff_m;
    let (along, size) = scan_m.iter().map(|&x| reading(probe, axial, x, y, face.width_m)).unzip();
    [along, size]
}

/// The name of the iron or permanent magnet that a point lies in; none in air and windings.
pub(crate) fn solid<'s>(probe: &Probe<'_>, scene: &'s Scene, p: Point) -> Option<&'s str> {
    let region = probe.at(p).region;
    let inside = scene.solid.get(region).is_some_and(|solid| *solid);
    inside.then(|| scene.names[region].as_str())
}

/// How far above the face is no longer on it, over the magnet's reach.
const JUST_ABOVE: f64 = 1e-6;

/// Whether the face can be scanned: not if that runs inside a plate, where what is computed is no reading. Refused, unless
/// points are asked for, which stand on their own.
pub(crate) fn in_air(
    sheet: &Sheet,
    magnet: &Magnet,
    (question, face): (&FieldQuestion, &Face),
    scene: &Scene,
    probe: &Probe<'_>,
) -> Result<bool, Failure> {
    if magnet.free {
        return Ok(false);
    }
    // On the face itself the probe touches iron, and reads what is just above it.
    let y = magnet.face_m + face.standoff_m + JUST_ABOVE * reach_m(magnet);
    let Some(inside) = across(magnet).into_iter().find_map(|x| solid(probe, scene, [x, y])) else {
        return Ok(true);
    };
    if !question.at.is_empty() {
        return Ok(false);
    }
    let height = |m: f64| Dimension::Length.text(m, None, UnitSystem::Si);
    let message = format!("the scan, {} above the face, runs inside the {inside}", height(face.standoff_m));
    let plates = [&magnet.workpiece, &magnet.keeper];
    let gap_m = plates.into_iter().flatten().map(|p| p.gap_m).fold(f64::INFINITY, f64::min);
    let hint = if gap_m.is_finite() && gap_m > 0.0 {
        format!(
            "no probe reads inside iron: scan in the gap, such as with `--standoff {}`, or without the plate",
            height(0.5 * gap_m)
        )
    } else {
        "no probe reads inside iron: scan without the plate".into()
    };
    Err(sheet.fault("probe.standoff", message, hint).into())
}

fn reach_m(magnet: &Magnet) -> f64 {
    magnet.poles.iter().map(|p| p.x_m[1]).fold(0.0, f64::max)
}

/// How far from the middle a face is scanned, m.
pub fn scan_reach_m(magnet: &Magnet) -> f64 {
    1.4 * reach_m(magnet)
}

/// Distances from the middle at which a face is scanned, m.
pub(crate) fn across(magnet: &Magnet) -> Vec<f64> {
    evenly(scan_reach_m(magnet))
}

fn evenly(end: f64) -> Vec<f64> {
    (0..SCAN).map(|k| end * k as f64 / (SCAN - 1) as f64).collect()
}

/// |B| at a distance from the middle, then what a probe reads over the middle of each pole, T.
pub(crate) fn over_face(magnet: &Magnet, probe: &Probe<'_>, face: &Face, at: f64) -> Vec<f64> {
    let axial = magnet.symmetry == Symmetry::Axial;
    let y = magnet.face_m + face.standoff_m;
    let along = magnet.poles.iter().map(|p| reading(probe, axial, p.middle_m(), y, face.width_m).0);
    std::iter::once(probe.at([at, y]).size_t()).chain(along).collect()
}

/// Field across, field along and |B| at points, T.
pub(crate) fn at_points(magnet: &Magnet, probe: &Probe<'_>, points: &[(f64, f64)]) -> Vec<f64> {
    let read = |p: &(f64, f64)| {
        let f = probe.at([p.0, magnet.face_m + p.1]);
        [f.b_t[0], f.b_t[1], f.size_t()]
    };
    points.iter().flat_map(read).collect()
}

/// Field across, field along and |B| at the stations of a track, T.
fn field_along(magnet: &Magnet, probe: &Probe<'_>, track: &Track) -> [Vec<f64>; 3] {
    let mut found: [Vec<f64>; 3] = Default::default();
    for s in &track.stations_m {
        let [x, y] = track.place(*s);
        let f = probe.at([x, magnet.face_m + y]);
        for (list, value) in found.iter_mut().zip([f.b_t[0], f.b_t[1], f.size_t()]) {
            list.push(value);
        }
    }
    found
}

/// Where along a scan |B| is greatest: the best sample, refined by golden section.
pub(crate) fn strongest(probe: &Probe<'_>, xs: &[f64], y: f64) -> f64 {
    let size = |x: f64| probe.at([x, y]).size_t();
    let best = (0..xs.len()).max_by(|&i, &j| size(xs[i]).total_cmp(&size(xs[j]))).unwrap_or(0);
    let (mut low, mut high) = (xs[best.saturating_sub(1)], xs[(best + 1).min(xs.len() - 1)]);
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    for _ in 0..40 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if size(a) > size(b) {
            high = b;
        } else {
            low = a;
        }
    }
    let refined = 0.5 * (low + high);
    if size(refined) >= size(xs[best]) { refined } else { xs[best] }
}

/// Relative accuracy asked of the solver where the sheet asks for none.
pub(crate) const USUAL_ACCURACY: f64 = 3e-3;

pub(crate) fn stage(sheet: &Sheet, magnet: &Magnet, question: &FieldQuestion) -> Result<Stage, Failure> {
    let mut stage = magnet.open_stage();
    if question.workpiece {
        stage.plates.extend(magnet.workpiece.clone());
    }
    if question.keeper {
        let Some(keeper) = &magnet.keeper else {
            let hint = "add a [keeper] with its thickness, diameters and gap";
            return Err(sheet.fault("keeper", "the sheet has no keeper", hint).into());
        };
        stage.plates.push(keeper.clone());
    }
    Ok(stage)
}

/// Mesh of a field question against that of a force: growth and largest size.
const FINER: f64 = 0.6;

/// Element size at a point where the field is asked, over the drawing's radius.
const AT_POINT: f64 = 0.02;

/// The same over the distance to the nearest corner, near which the field varies as fast as that.
const NEAR_CORNER: f64 = 0.3;

/// Relative accuracy of a field whose uniformity is asked for: a tenth of the deviations that are told apart.
const OF_UNIFORM: f64 = 1e-4;

/// Solve until the field at the asked points (or across the face) is known.
pub(crate) fn solve(
    magnet: &Magnet,
    stage: &Stage,
    question: &FieldQuestion,
    face: &Face,
    accuracy: f64,
) -> Result<Solved, Failure> {
    let accuracy = if question.uniform.is_some() { accuracy.min(OF_UNIFORM) } else { accuracy };
    let mut scene = magnet.scene(stage);
    let mut wanted: Vec<Point> = question.at.iter().map(|p| [p.0, magnet.face_m + p.1]).collect();
    wanted.extend(in_air_of(magnet, &scene, question));
    if !magnet.free {
        let y = magnet.face_m + face.standoff_m;
        wanted.extend(magnet.poles.iter().map(|p| [p.middle_m(), y]));
        if !face.at_edges(magnet) {
            wanted.extend(magnet.poles.iter().map(|p| [p.x_m[1], y]));
        }
    }
    if wanted.is_empty() {
        wanted.push([0.0, magnet.face_m]);
    }
    // A field at a point needs smaller elements there than a force does.
    scene.drawing.growth *= FINER;
    scene.drawing.size_max_m *= FINER;
    let mut wishes = Vec::new();
    for p in &wanted {
        let corners = scene.drawing.areas.iter().flat_map(|a| a.outline.0.iter().map(|n| n.0));
        let nearest = corners.map(|c| (c[0] - p[0]).hypot(c[1] - p[1])).fold(f64::INFINITY, f64::min);
        let size = (AT_POINT * scene.drawing.radius_m).min(NEAR_CORNER * nearest);
        wishes.push((*p, size.max(1e-4 * scene.drawing.radius_m)));
    }
    for (p, size) in wishes {
        scene.drawing.grade(p, size);
    }
    scene.watch.check()?;
    let error = |ladder: &Ladder| {
        if scene.watch.is_stopped() {
            return 0.0;
        }
        let of =
            |[x, y]: &[Estimate; 2]| x.error.max(y.error) / x.value.hypot(y.value).max(f64::MIN_POSITIVE);
        ladder.fields(&wanted).iter().map(of).fold(0.0, f64::max)
    };
    let ladder = Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, accuracy, error)?;
    scene.watch.check()?;
    Ok(Solved { scene, ladder })
}

/// Places on a track at which its field is to be as well known as at a point.
const ON_TRACK: usize = 8;

/// Some places of all tracks, and of the region whose uniformity is asked for, that lie in no iron.
fn in_air_of(magnet: &Magnet, scene: &Scene, question: &FieldQuestion) -> Vec<Point> {
    let tracks = Track::all(question);
    let stations = tracks.iter().flat_map(|track| {
        let every = track.stations_m.len() / ON_TRACK;
        track.stations_m.iter().step_by(every).map(|s| track.place(*s))
    });
    // A half drawing is mirrored.
    let whole = magnet.symmetry == Symmetry::Planar;
    let places = stations.map(|[x, y]| [x, magnet.face_m + y]).chain(in_region(magnet, question));
    let places: Vec<Point> = places.map(|[x, y]| [if whole { x } else { x.abs() }, y]).collect();
    let regions = scene.drawing.regions_at(&places);
    places
        .into_iter()
        .zip(regions)
        .filter(|(_, region)| !scene.solid[*region])
        .map(|(place, _)| place)
        .collect()
}

/// The middle of the region whose uniformity is asked for, and its rim.
fn in_region(magnet: &Magnet, question: &FieldQuestion) -> Vec<Point> {
    let found = region(magnet, question);
    let places = found.into_iter().flat_map(|([x, y], [u, v])| {
        [[x, y], [x + u, y], [x, y + v], [x, y - v], [x + u, y + v], [x + u, y - v]]
    });
    places.collect()
}

/// Keys and labels of what is told across the face.
pub(crate) const SCAN_ITEMS: [(&str, &str); 2] =
    [("b_axial", "along the axis, as a probe reads"), ("b_size", "magnitude")];

/// A scan of the face as a series.
pub(crate) fn scan_series(scan_m: Vec<f64>, ys: [Column; 2]) -> Series {
    let x = Column::new("radius", "distance from the middle", Dimension::Length, scan_m);
    let title = "Flux density across the face".into();
    Series { key: "face_scan".into(), title, x, ys: ys.into(), log_x: false }
}

/// Keys and labels of what is told of a point.
pub(crate) const POINT_ITEMS: [(&str, &str); 3] =
    [("b_r", "across"), ("b_z", "along the axis"), ("b_abs", "magnitude")];
