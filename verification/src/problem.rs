//! Invented problems of every form, by chance: on them the solver's claims about its own error are judged.

use coilwright_fem::drawing::{Curve, Drawing, Mirror, Outline, Point, Symmetry};
use coilwright_magnet::magnet::{Factor, Iron, Magnet, Part, Plate, Substance};
use coilwright_magnet::magnetic::scene::{Scene, Stage};
use coilwright_magnet::material::SteelLaw;
use coilwright_magnet::sheet::{Form, Sheet, template};

/// A reproducible source of chance (G. L. Steele, D. Lea and C. H. Flood, OOPSLA 2014: SplitMix64, from memory).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// The source of problem `number` of the set `seed`.
    pub fn new(seed: u64, number: u64) -> Self {
        let mut chance =
            Self(seed.wrapping_mul(0x9E37_79B9).wrapping_add(number.wrapping_mul(0xD1B5_4A32_D192_ED03)));
        chance.unit();
        chance
    }

    /// Evenly in [0, 1).
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly by ratio between two positive values.
    pub fn ratio(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// One of several.
    pub fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[((self.unit() * of.len() as f64) as usize).min(of.len() - 1)]
    }
}

/// A problem: a scene, and where its field is read.
#[derive(Clone, Debug)]
pub struct Problem {
    /// The form it was made of.
    pub form: &'static str,
    /// What is solved.
    pub scene: Scene,
    /// Points in the middle of the gap and beside it, in the drawing's coordinates, m.
    pub over_face: Vec<Point>,
    /// Points on the axis (planar: a hair beside it), m.
    pub on_axis: Vec<Point>,
}

/// Problem `number` of the set `seed`: gaps of 10 µm to 20 mm, sizes of 4 mm to 1 m, drives of 0.01 to 10 times the
/// usual, iron of any permeability, by law and by table.
pub fn problem(seed: u64, number: u64) -> Problem {
    let mut chance = Chance::new(seed, number);
    let forms = Form::ALL;
    let form = forms[(number % forms.len() as u64) as usize];
    if form == Form::Profile {
        return profile(&mut chance);
    }
    let sheet = Sheet::parse(&template(form), "template").expect("the template is a sheet").0;
    let magnet = Magnet::complete(&sheet).expect("the template is complete");
    let usual_m = magnet.poles.iter().map(|p| p.x_m[1]).fold(0.0, f64::max).max(0.02);
    let size_m = chance.ratio(4e-3, 1.0);
    let by = 0.5 * size_m / usual_m;
    let by = [by, by * chance.ratio(0.6, 1.6)];
    let drive = chance.ratio(0.01, 10.0);
    let law = law(&mut chance);
    let iron = |iron: &Iron| match &law {
        Some(law) => Iron { law: law.clone(), ..iron.clone() },
        None => iron.clone(),
    };
    let mut scaled = magnet.clone();
    for part in &mut scaled.parts {
        for (p, _) in &mut part.outline.0 {
            *p = [by[0] * p[0], by[1] * p[1]];
        }
        if let Substance::Iron(own) = &part.substance {
            part.substance = Substance::Iron(iron(own));
        }
    }
    scaled.face_m *= by[1];
    for pole in &mut scaled.poles {
        pole.x_m = pole.x_m.map(|x| by[0] * x);
        pole.y_m *= by[1];
    }
    let usual = magnet.workpiece.as_ref().expect("every form but the profile has a workpiece");
    let gap_m = chance.ratio(10e-6, 20e-3f64.min(0.5 * size_m)).max(1e-5 * size_m);
    let wider = by[0] * chance.ratio(0.5, 2.0);
    let plate = Plate {
        x_m: usual.x_m.map(|x| wider * x),
        thickness_m: by[1] * usual.thickness_m * chance.ratio(0.4, 2.0),
        gap_m,
        iron: iron(&usual.iron),
        in_space: Factor::ONE,
    };
    let stage = Stage { plates: vec![plate], ampere_turns: drive * magnet.ampere_turns() * by[0] };
    let scene = scaled.scene(&stage);
    let reach = by[0] * usual_m;
    let y = scaled.face_m + 0.5 * gap_m;
    let x0 = if scene.drawing.symmetry == Symmetry::Axial { 0.0 } else { 1e-3 * reach };
    Problem {
        form: form.word(),
        over_face: vec![[chance.between(0.05, 0.9) * reach, y], [chance.between(0.9, 1.2) * reach, y]],
        on_axis: vec![
            [x0, -chance.between(0.05, 1.0) * reach],
            [x0, scaled.face_m + gap_m + stage.plates[0].thickness_m + chance.between(0.1, 1.5) * reach],
        ],
        scene,
    }
}

/// A law for all iron; none leaves the library's.
fn law(chance: &mut Chance) -> Option<SteelLaw> {
    let law = match chance.pick(&[0, 0, 1, 2, 3]) {
        1 => SteelLaw::linear(chance.ratio(1.5, 1e5)),
        2 => SteelLaw::arctangent(chance.between(1.2, 2.3), chance.ratio(50.0, 2e4)),
        3 => {
            let (h, b): (Vec<f64>, Vec<f64>) = crate::TEAM_13_STEEL.iter().copied().unzip();
            SteelLaw::table(&h, &b)
        }
        _ => return None,
    };
    Some(law.expect("a law that rises"))
}

/// A free drawing: a core with a chamfer or a round head, a coil, a plate that may be slanted.
fn profile(chance: &mut Chance) -> Problem {
    let form = Form::Profile;
    let sheet = Sheet::parse(&template(form), "template").expect("the template is a sheet").0;
    let mut magnet = Magnet::complete(&sheet).expect("the template is complete");
    magnet.symmetry =
        chance.pick(&[Symmetry::Axial, Symmetry::PlanarHalf(Mirror::FluxStays), Symmetry::Planar]);
    let s = 0.5 * chance.ratio(4e-3, 1.0);
    let gap = chance.ratio(10e-6, 20e-3f64.min(0.5 * s)).max(2e-5 * s);
    let whole = magnet.symmetry == Symmetry::Planar;
    let steel = magnet.parts.iter().find_map(|p| match &p.substance {
        Substance::Iron(iron) => Some(iron.clone()),
        _ => None,
    });
    let steel = steel.expect("the template has iron");
    let iron = match law(chance) {
        Some(law) => Iron { law, ..steel },
        None => steel,
    };
    let part = |name: &str, outline, substance, is_workpiece| Part {
        name: name.into(),
        outline,
        substance,
        is_workpiece,
    };
    let (r, h) = (chance.between(0.3, 0.7) * s, chance.between(0.8, 2.0) * s);
    let cut = chance.between(0.0, 0.5) * r;
    let left = if whole { -r } else { 0.0 };
    let core = match chance.pick(&[0, 1, 2]) {
        0 => Outline::rectangle([left, r], [-h, 0.0]),
        1 => Outline::polygon(&[[left, -h], [r, -h], [r, -cut - 0.01 * s], [r - cut, 0.0], [left, 0.0]]),
        _ => Outline(vec![
            ([left, -h], Curve::Line),
            ([r, -h], Curve::Line),
            ([r, -cut - 0.05 * s], Curve::Arc { centre: [r - cut - 0.05 * s, -cut - 0.05 * s], ccw: true }),
            ([r - cut - 0.05 * s, 0.0], Curve::Line),
            ([left, 0.0], Curve::Line),
        ]),
    };
    let drive = chance.ratio(0.01, 10.0) * 2e4 * s;
    let coil = |x: [f64; 2]| Outline::rectangle(x, [-0.9 * h, -0.15 * h]);
    magnet.parts = vec![part("core", core, Substance::Iron(iron.clone()), false)];
    magnet.parts.push(part("coil", coil([1.05 * r, 1.6 * r]), Substance::AmpereTurns(drive), false));
    if whole {
        magnet.parts.push(part("return", coil([-1.6 * r, -1.05 * r]), Substance::AmpereTurns(-drive), false));
    }
    let (wide, thick) = (chance.between(0.6, 2.2) * r, chance.between(0.1, 0.6) * s);
    let rise = chance.pick(&[0.0, 0.3]) * thick;
    let plate = [
        [if whole { -wide } else { 0.0 }, gap],
        [wide, gap + rise],
        [wide, gap + thick + rise],
        [if whole { -wide } else { 0.0 }, gap + thick],
    ];
    magnet.parts.push(part("plate", Outline::polygon(&plate), Substance::Iron(iron), true));
    let scene = magnet.scene(&magnet.open_stage());
    let x0 = if magnet.symmetry == Symmetry::Axial { 0.0 } else { 1e-3 * s };
    Problem {
        form: form.word(),
        over_face: vec![
            [chance.between(0.02, 0.2) * r, 0.5 * gap],
            [chance.between(1.1, 1.5) * r, 0.2 * gap - 0.02 * h],
        ],
        on_axis: vec![
            [x0, -h - chance.between(0.05, 1.0) * s],
            [x0, gap + thick + chance.between(0.1, 1.0) * s],
        ],
        scene,
    }
}

/// The same drawing with a mesh graded finely into every corner and to the points that are read, for a reference of higher
/// order.
pub fn finely(drawing: &Drawing, read: &[Point]) -> Drawing {
    let mut fine = drawing.clone();
    let nodes: Vec<Point> = drawing.areas.iter().flat_map(|a| a.outline.0.iter().map(|n| n.0)).collect();
    for p in &nodes {
        let apart = |q: &&Point| (q[0] - p[0]).hypot(q[1] - p[1]) > 1e-9 * drawing.radius_m;
        let nearest = nodes
            .iter()
            .filter(apart)
            .map(|q| (q[0] - p[0]).hypot(q[1] - p[1]))
            .fold(f64::INFINITY, f64::min);
        fine.grade(*p, (1e-3 * nearest).max(1e-7 * drawing.radius_m));
    }
    for p in read {
        let nearest = nodes.iter().map(|q| (q[0] - p[0]).hypot(q[1] - p[1])).fold(f64::INFINITY, f64::min);
        fine.grade(*p, (0.2 * nearest).min(0.02 * drawing.radius_m));
    }
    for g in &mut fine.gradings {
        g.size_m *= 0.5;
    }
    fine.growth = fine.growth.min(0.4);
    fine.size_max_m *= 0.4;
    fine
}
