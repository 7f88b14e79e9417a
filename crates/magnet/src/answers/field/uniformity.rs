//! How uniform a field is about a place: how far it deviates within a region, and how large a region deviates by no more
//! than so much.

use crate::answers::answer::{Answer, Item};
use crate::answers::field::read::{Known, Readings};
use crate::answers::field::region::{Places, dot, region};
use crate::answers::question::FieldQuestion;
use crate::diagnostic::Diagnostic;
use crate::magnet::Magnet;
use crate::magnetic::scene::Scene;
use crate::quantity::{Dimension, format_number};
use crate::uncertainty::band::{Band, Budget};
use coilwright_fem::drawing::{Point, Symmetry};
use coilwright_fem::field::Probe;

/// Deviations whose regions are found.
const LIMITS: [(f64, &str, &str); 2] = [(1e-2, "1pc", "1 %"), (1e-3, "01pc", "0.1 %")];
/// Places across and along a region that are looked at.
const PLACES: usize = 41;
/// Places on a side of a growing region, and steps in which it grows to the drawing's radius.
const ON_SIDE: usize = 17;
const STEPS: usize = 1000;

/// A region that grows about its middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// Up and down.
    Along,
    /// To both sides.
    Across,
    /// Both, as long as it is wide.
    Both,
}

/// How far a region can grow.
#[derive(Clone, Debug)]
struct Extent {
    kind: Kind,
    limit: (f64, &'static str, &'static str),
    /// Half its length or width, m.
    half_m: f64,
    /// Where the deviation is reached, m in the drawing; none where something else ends it, which is named.
    ends: Result<Point, String>,
    /// How the deviation there grows with the half, T/m.
    slope_t_m: f64,
}

/// The uniformity about a place.
#[derive(Clone, Debug)]
pub(crate) struct Uniformity {
    middle: Point,
    /// Direction of the field in the middle.
    along: [f64; 2],
    size_t: f64,
    /// Where in the region the deviation is largest.
    worst: Point,
    extents: Vec<Extent>,
}

/// What a place lies in where no probe can be: iron, or conductors.
fn taken<'s>(probe: &Probe<'_>, scene: &'s Scene, p: Point) -> Option<&'s str> {
    let region = probe.at(p).region;
    let medium = scene.media.get(region)?;
    (scene.solid[region] || medium.current_density != 0.0).then(|| scene.names[region].as_str())
}

/// Find it; none where it is not asked for.
pub(crate) fn find(
    magnet: &Magnet,
    question: &FieldQuestion,
    scene: &Scene,
    probe: &Probe<'_>,
) -> Result<Option<Uniformity>, Diagnostic> {
    let Some((middle, half)) = region(magnet, question) else { return Ok(None) };
    let side = |m: f64, h: f64, k: usize| m + h * (2.0 * k as f64 / (PLACES - 1) as f64 - 1.0);
    let places: Vec<Point> = (0..PLACES * PLACES)
        .map(|n| [side(middle[0], half[0], n % PLACES), side(middle[1], half[1], n / PLACES)])
        .collect();
    if let Some(name) = std::iter::once(&middle).chain(&places).find_map(|p| taken(probe, scene, *p)) {
        return Err(Diagnostic::fault(
            format!("the region whose uniformity is asked for reaches into the {name}"),
            "take a smaller one, or give two corners (distance from the axis, height above the face) that hold air \
             alone, such as 0mm,1mm..5mm,3mm",
        ));
    }
    let field = probe.at(middle);
    let size_t = field.size_t();
    if size_t == 0.0 {
        let hint = "give the magnet a current, or two corners of a region elsewhere";
        return Err(Diagnostic::fault("there is no field in the middle of the region", hint));
    }
    let along = field.b_t.map(|b| b / size_t);
    let deviation = |p: Point| dot(probe.at(p).b_t, along) / size_t - 1.0;
    let worst = places.iter().copied().max_by(|p, q| deviation(*p).abs().total_cmp(&deviation(*q).abs()));
    let most = scene.drawing.radius_m;
    let grow = |kind: Kind, limit: (f64, &'static str, &'static str)| {
        // The largest deviation on the rim at a half size, or what is in the way there.
        let rim = |half: f64| {
            let on = rim(kind, middle, half);
            match on.iter().find_map(|p| taken(probe, scene, *p)) {
                Some(name) => Err(name.to_owned()),
                None => {
                    let worst =
                        on.into_iter().max_by(|p, q| deviation(*p).abs().total_cmp(&deviation(*q).abs()));
                    Ok(worst.unwrap_or(middle))
                }
            }
        };
        let beyond = |half: f64| rim(half).map_or(true, |p| deviation(p).abs() > limit.0);
        let step = most / STEPS as f64;
        let first = (1..=STEPS).find(|k| beyond(step * *k as f64));
        let Some(first) = first else {
            let ends = Err("end of the drawing".to_owned());
            return Extent { kind, limit, half_m: most, ends, slope_t_m: 0.0 };
        };
        let (mut low, mut high) = (step * (first - 1) as f64, step * first as f64);
        for _ in 0..50 {
            let half = 0.5 * (low + high);
            if beyond(half) { high = half } else { low = half }
        }
        let half_m = 0.5 * (low + high);
        let change = 1e-3 * half_m;
        let at = |half: f64| rim(half).map_or(0.0, |p| deviation(p).abs());
        let ends = rim(high);
        let slope_t_m = size_t * (at(half_m + change) - at(half_m - change)) / (2.0 * change);
        Extent { kind, limit, half_m, ends, slope_t_m }
    };
    let kinds = [Kind::Along, Kind::Across, Kind::Both];
    let extents = LIMITS.into_iter().flat_map(|limit| kinds.map(|kind| grow(kind, limit))).collect();
    Ok(Some(Uniformity { middle, along, size_t, worst: worst.unwrap_or(middle), extents }))
}

/// Places on the rim of a region. In air each component of the field takes its extremes there (maximum principle).
fn rim(kind: Kind, [x, y]: Point, half: f64) -> Vec<Point> {
    match kind {
        Kind::Along => vec![[x, y - half], [x, y + half]],
        Kind::Across => vec![[x - half, y], [x + half, y]],
        Kind::Both => {
            let share = |k: usize| half * (2.0 * k as f64 / (ON_SIDE - 1) as f64 - 1.0);
            (0..ON_SIDE)
                .flat_map(|k| {
                    let s = share(k);
                    [[x - half, y + s], [x + half, y + s], [x + s, y - half], [x + s, y + half]]
                })
                .collect()
        }
    }
}

impl Uniformity {
    /// Where it is read: the largest deviation, then the ends of the extents that a deviation ends.
    pub(crate) fn places(&self) -> Places {
        let ends = self.extents.iter().filter_map(|extent| extent.ends.clone().ok());
        Places {
            middle: self.middle,
            along: self.along,
            size_t: self.size_t,
            at: std::iter::once(self.worst).chain(ends).collect(),
        }
    }
}

/// The rows, and the sentence.
pub(crate) fn tell(
    found: &Uniformity,
    magnet: &Magnet,
    readings: &Readings,
    known: &Known<'_>,
    answer: &mut Answer,
) {
    let range = readings.of_uniformity();
    let (middle, worst) = (range.start, range.start + 1);
    let height = |p: Point| format!("{:.3} mm, {:.3} mm", 1e3 * p[0], 1e3 * (p[1] - magnet.face_m));
    let mut items = vec![
        Item::number("uniform_field", "field in the middle", known.values[middle], Dimension::FluxDensity)
            .with_band(known.band(middle))
            .with_note(format!("at {}", height(found.middle))),
        Item::number(
            "uniform_deviation",
            "largest deviation from it",
            known.values[worst] / found.size_t,
            Dimension::Ratio,
        )
        .with_band(scaled(known.values[worst] / found.size_t, &known.band(worst), 1.0 / found.size_t))
        .with_note(format!("of the component along it, at {}", height(found.worst))),
    ];
    let round = magnet.symmetry == Symmetry::Axial && found.middle[0] == 0.0;
    let mut next = worst + 1;
    for extent in &found.extents {
        let (_, key, limit) = extent.limit;
        let (what, label) = match (extent.kind, round) {
            (Kind::Along, true) => ("axis", "length on the axis"),
            (Kind::Along, false) => ("axis", "height"),
            (Kind::Across, true) => ("disc", "disc's diameter"),
            (Kind::Across, false) => ("disc", "width"),
            (Kind::Both, true) => ("cylinder", "cylinder as long as wide"),
            (Kind::Both, false) => ("cylinder", "square"),
        };
        let item = Item::number(
            &format!("uniform_{what}_{key}"),
            &format!("within {limit}: {label}"),
            2.0 * extent.half_m,
            Dimension::Length,
        );
        items.push(match &extent.ends {
            Err(name) => item.with_note(format!("as far as the {name}; the deviation is less")),
            Ok(_) => {
                let band = known.band(next);
                next += 1;
                if extent.slope_t_m > 0.0 {
                    item.with_band(scaled(2.0 * extent.half_m, &band, -2.0 / extent.slope_t_m))
                } else {
                    item
                }
            }
        });
    }
    answer.group("Uniformity (about the middle of the region)", items);
    let share = format_number(100.0 * known.values[worst].abs() / found.size_t, None);
    answer.summary = format!(
        "{{uniform_field}} in the middle of the region; anywhere in it the field differs from that by {share} % at \
         most. {}",
        answer.summary
    )
    .trim_end()
    .into();
}

/// The band of what a reading brings with it, times so much.
fn scaled(value: f64, of: &Band, factor: f64) -> Band {
    let mut budget = Budget::new(value);
    for c in &of.contributors {
        budget.add(&c.path, &c.label, c.effect * factor);
    }
    budget.band().unwrap_or(Band { standard: 0.0, low: value, high: value, contributors: Vec::new() })
}
