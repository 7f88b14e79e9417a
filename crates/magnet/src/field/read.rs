//! Everything that is read of one field, in one list: across the face, at points, along the axis; and how sure it is.

use crate::answer::Column;
use crate::band::Band;
use crate::effects::{Difference, Sides, band};
use crate::magnet::Magnet;
use crate::quantity::Dimension;
use crate::question::FieldQuestion;
use crate::scene::Stage;
use crate::sheet::Sheet;
use crate::solved::{Failure, Solved};
use coilwright_fem::drawing::{Point, Symmetry};
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;
use std::ops::Range;

/// Height of the scan where the sheet names none, m.
const USUAL_STANDOFF_M: f64 = 1e-3;
/// Height over a pole's width below which its edges rule what is strongest: near a right-angled edge of iron the field
/// rises as the distance to the power −1/3 (J. D. Jackson, Classical Electrodynamics, section 2.11, from memory).
const CLOSE: f64 = 0.02;
/// Points of a scan.
const SCAN: usize = 281;

/// Where and with what a face is scanned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Face {
    pub(super) standoff_m: f64,
    /// Diameter of the probe's active area.
    pub(super) width_m: f64,
}

impl Face {
    pub(super) fn of(sheet: &Sheet, question: &FieldQuestion) -> Self {
        let standoff_m = question.standoff_m.or(sheet.value("probe.standoff")).unwrap_or(USUAL_STANDOFF_M);
        Self { standoff_m, width_m: sheet.value("probe.active_diameter").unwrap_or(0.0) }
    }

    /// Whether the scan is so close that the edges of the poles rule its greatest value.
    pub(super) fn at_edges(&self, magnet: &Magnet) -> bool {
        let narrowest = magnet.poles.iter().map(|p| p.x_m[1] - p.x_m[0]).fold(f64::INFINITY, f64::min);
        narrowest.is_finite() && self.standoff_m < CLOSE * narrowest
    }
}

/// What is read of a field, and where.
#[derive(Clone, Debug)]
pub(super) struct Readings {
    pub(super) face: Face,
    /// Distance of the strongest place over the face from the middle, m; without a face none.
    pub(super) strongest_m: Option<f64>,
    /// Distances from the middle at which the face is scanned, m.
    pub(super) scan_m: Vec<f64>,
    /// Points: distance from the middle and height above the face, m.
    points: Vec<(f64, f64)>,
    /// Heights above the face at which the axis is scanned, m.
    pub(super) axis_m: Vec<f64>,
    /// Places where a limit is just reached, m in the drawing.
    edges_m: Vec<Point>,
    poles: usize,
}

impl Readings {
    pub(super) fn new(
        magnet: &Magnet,
        question: &FieldQuestion,
        face: Face,
        probe: &Probe<'_>,
        edges_m: Vec<Point>,
    ) -> Self {
        let scan_m = if magnet.free { Vec::new() } else { across(magnet) };
        let strongest_m = (!magnet.free).then(|| strongest(probe, &scan_m, magnet.face_m + face.standoff_m));
        let far = 4.0 * reach_m(magnet).max(1e-3);
        let axis_m = if question.axis { evenly(far) } else { Vec::new() };
        Self {
            face,
            strongest_m,
            scan_m,
            points: question.at.clone(),
            axis_m,
            edges_m,
            poles: magnet.poles.len(),
        }
    }

    /// The greatest flux density over the face, then what a probe reads over each pole.
    pub(super) fn of_face(&self) -> Range<usize> {
        0..if self.strongest_m.is_some() { 1 + self.poles } else { 0 }
    }

    /// The scan as a probe reads it.
    pub(super) fn of_scan(&self) -> Range<usize> {
        after(self.of_face(), self.scan_m.len())
    }

    /// The scan's magnitude.
    pub(super) fn of_scan_size(&self) -> Range<usize> {
        after(self.of_scan(), self.scan_m.len())
    }

    /// Across, along and magnitude at each point.
    pub(super) fn of_points(&self) -> Range<usize> {
        after(self.of_scan_size(), 3 * self.points.len())
    }

    /// The scan along the axis.
    pub(super) fn of_axis(&self) -> Range<usize> {
        after(self.of_points(), self.axis_m.len())
    }

    /// Magnitude where a limit is just reached.
    pub(super) fn of_edges(&self) -> Range<usize> {
        after(self.of_axis(), self.edges_m.len())
    }

    /// All readings of a magnet's field, T.
    fn values(&self, magnet: &Magnet, solution: &Solution) -> Vec<f64> {
        let probe = Probe::new(solution);
        let mut found = Vec::new();
        if let Some(strongest_m) = self.strongest_m {
            found.extend(over_face(magnet, &probe, &self.face, strongest_m));
            let axial = magnet.symmetry == Symmetry::Axial;
            let y = magnet.face_m + self.face.standoff_m;
            let scan = self.scan_m.iter().map(|&x| reading(&probe, axial, x, y, self.face.width_m));
            let (along, size): (Vec<f64>, Vec<f64>) = scan.unzip();
            found.extend(along);
            found.extend(size);
        }
        found.extend(at_points(magnet, &probe, &self.points));
        found.extend(self.axis_m.iter().map(|h| probe.at([0.0, magnet.face_m + h]).b_t[1]));
        found.extend(self.edges_m.iter().map(|p| probe.at(*p).size_t()));
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
        found.extend(&self.edges_m);
        found
    }
}

fn after(before: Range<usize>, count: usize) -> Range<usize> {
    before.end..before.end + count
}

/// Readings with what is uncertain about them.
pub(super) struct Known<'a> {
    pub(super) values: Vec<f64>,
    /// 95 % bounds of the numerical error.
    pub(super) errors: Vec<f64>,
    sides: Sides<'a>,
    /// By way of being uncertain and reading.
    changes: Vec<Vec<f64>>,
    /// By the probe's height; none if that is exact.
    by_standoff: Option<Vec<f64>>,
}

impl<'a> Known<'a> {
    pub(super) fn new(
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
        let known = Some((solved.ladder.solution().clone(), solved.ladder.drawing().clone()));
        let changes = sides.changes(solved, known, |_| any, Difference::Both, staged, read)?;
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
    pub(super) fn band(&self, k: usize) -> Band {
        let mut effects = self.sides.named(&self.changes, k..k + 1).pop().unwrap_or_default();
        if let Some(changes) = &self.by_standoff {
            effects.push(("probe.standoff".into(), "height of the probe".into(), changes[k]));
        }
        band(self.values[k], &effects, self.errors[k])
    }

    /// Readings as a column with its bands.
    pub(super) fn column(&self, key: &str, label: &str, readings: Range<usize>) -> Column {
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

fn reach_m(magnet: &Magnet) -> f64 {
    magnet.poles.iter().map(|p| p.x_m[1]).fold(0.0, f64::max)
}

/// Distances from the middle at which a face is scanned, m.
pub(super) fn across(magnet: &Magnet) -> Vec<f64> {
    evenly(1.4 * reach_m(magnet))
}

fn evenly(end: f64) -> Vec<f64> {
    (0..SCAN).map(|k| end * k as f64 / (SCAN - 1) as f64).collect()
}

/// |B| at a distance from the middle, then what a probe reads over the middle of each pole, T.
pub(super) fn over_face(magnet: &Magnet, probe: &Probe<'_>, face: &Face, at: f64) -> Vec<f64> {
    let axial = magnet.symmetry == Symmetry::Axial;
    let y = magnet.face_m + face.standoff_m;
    let along = magnet.poles.iter().map(|p| reading(probe, axial, p.middle_m(), y, face.width_m).0);
    std::iter::once(probe.at([at, y]).size_t()).chain(along).collect()
}

/// Field across, field along and |B| at points, T.
pub(super) fn at_points(magnet: &Magnet, probe: &Probe<'_>, points: &[(f64, f64)]) -> Vec<f64> {
    let read = |p: &(f64, f64)| {
        let f = probe.at([p.0, magnet.face_m + p.1]);
        [f.b_t[0], f.b_t[1], f.size_t()]
    };
    points.iter().flat_map(read).collect()
}

/// Where along a scan |B| is greatest: the best sample, refined by golden section.
pub(super) fn strongest(probe: &Probe<'_>, xs: &[f64], y: f64) -> f64 {
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
