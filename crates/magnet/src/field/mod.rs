//! Flux density: across the face, along the axis, at points, and how far away it still matters.

mod plain;

pub(crate) use plain::Plain;

use crate::advice;
use crate::answer::{Answer, Column, Item, Series};
use crate::caution;
use crate::magnet::{Magnet, Pole, Substance};
use crate::quantity::Dimension;
use crate::question::FieldQuestion;
use crate::scene::{Scene, Stage};
use crate::sheet::Sheet;
use crate::solved::{Failure, Solved, band, effects, flux_per_turn_wb};
use coilwright_fem::drawing::{Drawing, Point, Symmetry};
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::solve::Ladder;

/// Relative accuracy asked of the solver where the sheet asks for none.
const USUAL_ACCURACY: f64 = 3e-3;
/// Height of the scan where the sheet names none, m.
const USUAL_STANDOFF_M: f64 = 1e-3;
/// Points of a scan.
const SCAN: usize = 281;
/// Mesh of a field question against that of a force: growth and largest size.
const FINER: f64 = 0.6;
/// Element size at a point where the field is asked, over the drawing's radius.
const AT_POINT: f64 = 0.02;
/// The same over the distance to the nearest corner, near which the field varies as fast as that.
const NEAR_CORNER: f64 = 0.3;
/// Limits of a static field, T, and what they are for: 2013/35/EU Annex II, table B4 (from memory).
const LIMITS: [(&str, f64, &str); 2] =
    [("keep_out_3mT", 3e-3, "flying iron"), ("keep_out_05mT", 0.5e-3, "active implants")];
/// The Earth's field at its surface, T (IGRF: 25 to 65 µT).
const EARTH_T: f64 = 50e-6;

/// Answer a field question.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &FieldQuestion) -> Result<Answer, Failure> {
    let accuracy = sheet.value("accuracy.field").unwrap_or(USUAL_ACCURACY);
    let stage = stage(sheet, magnet, question)?;
    let face = Face::of(sheet, question);
    let mut solved = solve(magnet, &stage, question, &face, accuracy)?;

    let mut answer = Answer::new("field", &magnet.name);
    if !magnet.free {
        across_face(sheet, magnet, question, &face, accuracy, &mut solved, &mut answer)?;
    }
    points(sheet, magnet, question, &mut solved, &mut answer)?;
    totals(magnet, &solved, &mut answer);
    if question.axis {
        along_axis(magnet, &solved, &mut answer);
    }
    if question.keep_out {
        keep_out(&solved, &mut answer);
    }
    Ok(answer)
}

/// Where and with what a face is scanned.
#[derive(Clone, Copy, Debug)]
struct Face {
    standoff_m: f64,
    /// Diameter of the probe's active area.
    width_m: f64,
}

impl Face {
    fn of(sheet: &Sheet, question: &FieldQuestion) -> Self {
        let standoff_m = question.standoff_m.or(sheet.value("probe.standoff")).unwrap_or(USUAL_STANDOFF_M);
        Self { standoff_m, width_m: sheet.value("probe.active_diameter").unwrap_or(0.0) }
    }
}

fn stage(sheet: &Sheet, magnet: &Magnet, question: &FieldQuestion) -> Result<Stage, Failure> {
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

/// Solve until the field at the asked points (or across the face) is known.
fn solve(
    magnet: &Magnet,
    stage: &Stage,
    question: &FieldQuestion,
    face: &Face,
    accuracy: f64,
) -> Result<Solved, Failure> {
    let mut scene = magnet.scene(stage);
    let mut wanted: Vec<Point> = question.at.iter().map(|p| [p.0, magnet.face_m + p.1]).collect();
    if !magnet.free {
        let y = magnet.face_m + face.standoff_m;
        wanted.extend(magnet.poles.iter().flat_map(|p| [[0.5 * (p.x_m[0] + p.x_m[1]), y], [p.x_m[1], y]]));
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
    let known = |ladder: &Ladder| {
        wanted.iter().all(|p| {
            let at = |s: &Solution| Probe::new(s).at(*p);
            let size = at(ladder.solution()).size_t();
            [0, 1].iter().all(|d| ladder.estimate(|s| at(s).b_t[*d]).error <= accuracy * size)
        })
    };
    let ladder = Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, known)?;
    Ok(Solved { scene, ladder })
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

fn across_face(
    sheet: &Sheet,
    magnet: &Magnet,
    question: &FieldQuestion,
    face: &Face,
    accuracy: f64,
    solved: &mut Solved,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let axial = magnet.symmetry == Symmetry::Axial;
    let base = solved.ladder.solution().clone();
    let probe = Probe::new(&base);
    let y = magnet.face_m + face.standoff_m;
    let xs = scan(magnet);
    let readings: Vec<(f64, f64)> = xs.iter().map(|&x| reading(&probe, axial, x, y, face.width_m)).collect();
    let at = strongest(&probe, &xs, y);

    let numbers = |m: &Magnet, s: &Solution| numbers(m, &Probe::new(s), face, at);
    let read = |m: &Magnet, _: &Scene, _: &Drawing, s: &Solution| Ok(numbers(m, s));
    let values = numbers(magnet, &base);
    let errors: Vec<f64> = solved.ladder.estimates(|s| numbers(magnet, s)).iter().map(|e| e.error).collect();
    if errors[0] > accuracy * values[0] {
        answer.warnings.push(format!(
            "the field at the face is known to {:.2} % numerically, not to the {:.2} % asked for; the band includes it",
            100.0 * errors[0] / values[0],
            100.0 * accuracy
        ));
    }
    let staged = |m: &Magnet| stage(sheet, m, question).unwrap_or_else(|_| m.open_stage());
    let mut effects = effects(sheet, magnet, solved, staged, read)?;
    effects.resize(values.len(), Vec::new());
    standoff_effects(sheet, magnet, face, &base, at, &mut effects);

    let greatest = band(values[0], &effects[0], errors[0]);
    answer.next_measurements = advice::next(&greatest);
    answer.summary =
        "Strongest {face_maximum} at {face_maximum_radius} from the middle, {standoff} above the face."
            .into();
    let mut items = vec![
        Item::number("face_maximum", "greatest flux density", values[0], Dimension::FluxDensity)
            .with_band(greatest)
            .with_note(format!("about {:.0} times the Earth's field", values[0] / EARTH_T)),
        Item::number("face_maximum_radius", "its distance from the middle", at, Dimension::Length),
        Item::number("standoff", "height above the face", face.standoff_m, Dimension::Length),
    ];
    for (k, pole) in magnet.poles.iter().enumerate() {
        let b = values[k + 1];
        items.push(
            Item::number(
                &format!("b_pole_{}", k + 1),
                &format!("{}, along the axis", pole.name),
                b,
                Dimension::FluxDensity,
            )
            .with_band(band(b, &effects[k + 1], errors[k + 1]))
            .with_note(format!("{} pole, at its middle", Magnet::polarity(b))),
        );
    }
    answer.group("Face", items);
    answer.series.push(Series {
        key: "face_scan".into(),
        title: "Flux density across the face".into(),
        x: Column::new("radius", "distance from the middle", Dimension::Length, xs),
        ys: vec![
            Column::new(
                "b_axial",
                "along the axis, as a probe reads",
                Dimension::FluxDensity,
                readings.iter().map(|r| r.0).collect(),
            ),
            Column::new(
                "b_size",
                "magnitude",
                Dimension::FluxDensity,
                readings.iter().map(|r| r.1).collect(),
            ),
        ],
        log_x: false,
    });
    Ok(())
}

/// Distances from the middle at which a face is scanned, m.
fn scan(magnet: &Magnet) -> Vec<f64> {
    let end = 1.4 * reach_m(magnet);
    (0..SCAN).map(|k| end * k as f64 / (SCAN - 1) as f64).collect()
}

/// |B| at a distance from the middle, then what a probe reads over the middle of each pole, T.
fn numbers(magnet: &Magnet, probe: &Probe<'_>, face: &Face, at: f64) -> Vec<f64> {
    let axial = magnet.symmetry == Symmetry::Axial;
    let y = magnet.face_m + face.standoff_m;
    let middle = |p: &Pole| 0.5 * (p.x_m[0] + p.x_m[1]);
    let along = magnet.poles.iter().map(|p| reading(probe, axial, middle(p), y, face.width_m).0);
    std::iter::once(probe.at([at, y]).size_t()).chain(along).collect()
}

/// Where along a scan |B| is greatest: the best sample, refined by golden section.
fn strongest(probe: &Probe<'_>, xs: &[f64], y: f64) -> f64 {
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

/// What an uncertain height of the probe adds.
fn standoff_effects(
    sheet: &Sheet,
    magnet: &Magnet,
    face: &Face,
    base: &Solution,
    at: f64,
    effects: &mut [Vec<(String, String, f64)>],
) {
    let Some(q) = sheet.quantity("probe.standoff").filter(|q| q.half_width > 0.0) else { return };
    let probe = Probe::new(base);
    let read = |standoff_m: f64| numbers(magnet, &probe, &Face { standoff_m, ..*face }, at);
    let u = q.standard_uncertainty();
    let (low, high) = (read(face.standoff_m - u), read(face.standoff_m + u));
    for (k, list) in effects.iter_mut().enumerate() {
        list.push(("probe.standoff".into(), "height of the probe".into(), 0.5 * (high[k] - low[k])));
    }
}

/// Keys and labels of what is told of a point.
const POINT_ITEMS: [(&str, &str); 3] = [("b_r", "across"), ("b_z", "along the axis"), ("b_abs", "magnitude")];

/// [`POINT_ITEMS`] of every point asked for, T.
fn at_points(magnet: &Magnet, probe: &Probe<'_>, question: &FieldQuestion) -> Vec<f64> {
    let read = |p: &(f64, f64)| {
        let f = probe.at([p.0, magnet.face_m + p.1]);
        [f.b_t[0], f.b_t[1], f.size_t()]
    };
    question.at.iter().flat_map(read).collect()
}

fn points(
    sheet: &Sheet,
    magnet: &Magnet,
    question: &FieldQuestion,
    solved: &mut Solved,
    answer: &mut Answer,
) -> Result<(), Failure> {
    if question.at.is_empty() {
        return Ok(());
    }
    let read = |m: &Magnet, s: &Solution| at_points(m, &Probe::new(s), question);
    let estimates = solved.ladder.estimates(|s| read(magnet, s));
    let staged = |m: &Magnet| stage(sheet, m, question).unwrap_or_else(|_| m.open_stage());
    let effects = effects(sheet, magnet, solved, staged, |m, _, _, s| Ok(read(m, s)))?;
    let mut items = Vec::new();
    for (k, p) in question.at.iter().enumerate() {
        for (d, (key, label)) in POINT_ITEMS.iter().enumerate() {
            let n = 3 * k + d;
            let (value, error) = (estimates[n].value, estimates[n].error);
            let label = format!("{label} at {:.3} mm, {:.3} mm", 1e3 * p.0, 1e3 * p.1);
            items.push(
                Item::number(&format!("{key}_{}", k + 1), &label, value, Dimension::FluxDensity)
                    .with_band(band(value, effects.get(n).map_or(&[][..], |e| e), error)),
            );
        }
    }
    if answer.summary.is_empty() {
        answer.summary = "{b_abs_1} at the first point asked for.".into();
    }
    answer.group("Points (distance from the middle, height above the face)", items);
    Ok(())
}

fn totals(magnet: &Magnet, solved: &Solved, answer: &mut Answer) {
    let s = solved.ladder.solution();
    let mut items = Vec::new();
    if magnet.excitation.is_some() {
        let flux = flux_per_turn_wb(&solved.scene, s);
        let ampere_turns = magnet.ampere_turns();
        items.push(Item::number("ampere_turns", "ampere-turns", ampere_turns, Dimension::AmpereTurns));
        items.push(Item::number("flux_per_turn", "flux through a turn", flux, Dimension::Flux));
        if ampere_turns != 0.0 {
            items.push(Item::number(
                "inductance_per_turn2",
                "inductance of one turn",
                flux / ampere_turns,
                Dimension::Inductance,
            ));
        }
    }
    if solved.scene.applied_t == 0.0 {
        let (energy, coenergy) = s.energies();
        items.push(Item::number("energy", "stored energy", solved.scene.scale * energy, Dimension::Energy));
        items.push(Item::number("coenergy", "co-energy", solved.scene.scale * coenergy, Dimension::Energy));
    }
    for part in &magnet.parts {
        if let Some(mean) = solved.scene.region(&part.name).and_then(|k| s.region(k)) {
            // In a permanent magnet what counts is the part along its magnetisation.
            let (b, along) = match part.substance {
                Substance::Permanent { remanence_t: [x, y], .. } if x != 0.0 || y != 0.0 => {
                    let [u, v] = mean.b_components_t;
                    ((u * x + v * y) / x.hypot(y), " along its magnetisation")
                }
                _ => (mean.b_t, ""),
            };
            items.push(Item::number(
                &format!("b_mean_{}", part.name),
                &format!("{}: mean flux density{along}", part.name),
                b,
                Dimension::FluxDensity,
            ));
        }
    }
    answer.group("Magnet", items);
}

fn along_axis(magnet: &Magnet, solved: &Solved, answer: &mut Answer) {
    let probe = solved.ladder.probe();
    let far = 4.0 * reach_m(magnet).max(1e-3);
    let heights: Vec<f64> = (0..SCAN).map(|k| far * k as f64 / (SCAN - 1) as f64).collect();
    let b = heights.iter().map(|h| probe.at([0.0, magnet.face_m + h]).b_t[1]).collect();
    answer.series.push(Series {
        key: "axis_scan".into(),
        title: "Flux density along the axis".into(),
        x: Column::new("height", "height above the face", Dimension::Length, heights),
        ys: vec![Column::new("b_axial", "along the axis", Dimension::FluxDensity, b)],
        log_x: false,
    });
}

/// How far from the magnet's middle, in the worst direction, the field still reaches each limit.
fn keep_out(solved: &Solved, answer: &mut Answer) {
    let probe = solved.ladder.probe();
    let drawing = solved.ladder.drawing();
    let (centre, nearest) = (drawing.centre, drawing.radius_m / 1.35);
    let mut items = Vec::new();
    for (key, limit_t, what) in LIMITS {
        let mut farthest = 0.0f64;
        for k in 0..=36 {
            let angle = std::f64::consts::PI * (f64::from(k) / 36.0 - 0.5);
            let size =
                |rho: f64| probe.at([centre[0] + rho * angle.cos(), centre[1] + rho * angle.sin()]).size_t();
            farthest = farthest.max(last_above(size, limit_t, nearest));
        }
        let mt = 1e3 * limit_t;
        items.push(
            Item::number(key, &format!("distance to {mt} mT ({what})"), farthest, Dimension::Length)
                .with_note("from the magnet's middle, in the worst direction"),
        );
        if limit_t < 1e-3 {
            answer.cautions.extend(caution::keep_out(key, farthest));
        } else {
            answer.cautions.extend(caution::stray_field(key, limit_t));
        }
    }
    answer.group("Keep-out", items);
}

/// The greatest distance at which a falling field is still above a limit; 0 if it is not beyond `nearest`.
fn last_above(size: impl Fn(f64) -> f64, limit: f64, nearest: f64) -> f64 {
    let mut far = nearest;
    while size(far) > limit && far < 1e4 * nearest {
        far *= 1.5;
    }
    if far == nearest {
        return 0.0;
    }
    let (mut low, mut high) = (far / 1.5, far);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if size(middle) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
