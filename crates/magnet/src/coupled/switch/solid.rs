//! A magnet of solid iron as it is switched: the field with its eddies, followed in time together with the winding's
//! circuit.
//!
//! What the iron remembers is not in it: when all is over nothing is left. What is left is estimated apart.

use crate::circuit::events::{Clamp, Release};
use crate::coupled::operating_point::Driven;
use crate::coupled::switch::switched::{Row, SHARES, SwitchedOff, SwitchedOn, rises_s};
use crate::failure::Failure;
use crate::magnet::{Iron, Magnet, Part, Substance};
use crate::magnetic::scene::{Scene, Stage};
use crate::magnetic::solved::Solved;
use crate::sheet::Sheet;
use crate::watch::Watch;
use coilwright_fem::drawing::{Drawing, Mirror, Outline, Point, Symmetry};
use coilwright_fem::in_time::{
    Characteristic, Circuit, Energies, FieldInTime, Level, Moment, Start, Stepping, TimeError, Winding,
};
use coilwright_fem::law::Medium;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::Ladder;
use std::ops::ControlFlow;
use std::sync::Arc;

/// How closely a field in time is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fineness {
    /// Elements along the iron's surface, where eddies begin, over the drawing's radius.
    surface: f64,
    /// How much larger they grow away from it.
    growth: f64,
    /// Error of a step, relative to the greatest field.
    pub(crate) tolerance: f64,
}

impl Fineness {
    /// From coarse to fine; each halves the elements. One by one until the last two agree.
    pub(crate) const ALL: [Self; 3] = [
        Self { surface: 1.0 / 28.0, growth: 0.8, tolerance: 3e-3 },
        Self { surface: 1.0 / 56.0, growth: 0.6, tolerance: 2e-3 },
        Self { surface: 1.0 / 112.0, growth: 0.4, tolerance: 1e-3 },
    ];
}

/// Size at a pole's edge over the gap, and the gap that counts there at most over the drawing's radius.
const AT_EDGE: f64 = 1.0;
const AT_EDGE_MOST: f64 = 0.01;
/// First step after anything jumps, s: what is over sooner does not matter to anything that is held.
const FIRST_STEP_S: f64 = 2e-5;
/// Share of a step's error that may be left of Newton's method.
const SETTLED: f64 = 0.1;
/// How closely events are located, s.
const EVENT_S: f64 = 1e-5;
/// What has not happened by then does not happen, s.
const LONGEST_S: f64 = 3600.0;
/// Share of the pull to which it is followed at least.
const FOLLOWED: f64 = 0.02;
/// Share of the current that counts as none where it never is.
const NO_CURRENT: f64 = 1e-3;
/// Share of the energy that may be unaccounted for: more counts as an error of the times.
pub(crate) const BALANCED: f64 = 0.02;

/// Whether eddies flow anywhere in the iron of a magnet and its workpiece.
pub(crate) fn is_solid(magnet: &Magnet) -> bool {
    !crate::magnet::variation::conductors(magnet).is_empty()
}

/// A scene as a field in time wants it: small elements along the surfaces of what conducts, no others than those of the gap
/// elsewhere.
pub(crate) fn solved(magnet: &Magnet, scene: Scene, fineness: Fineness) -> Result<Solved, Failure> {
    let drawing = graded(magnet, &scene, fineness);
    let ladder = Ladder::climb(&drawing, scene.media.clone(), scene.applied_t)
        .map_err(|e| Failure::Physics(e.to_string()))?;
    Solved { scene, ladder }.for_differences()
}

fn graded(magnet: &Magnet, scene: &Scene, fineness: Fineness) -> Drawing {
    let mut drawing = Drawing::new(scene.drawing.symmetry, scene.drawing.centre, scene.drawing.radius_m);
    drawing.areas = scene.drawing.areas.clone();
    drawing.growth = fineness.growth;
    drawing.size_max_m = 0.2 * drawing.radius_m;
    let size = fineness.surface * drawing.radius_m;
    for area in &scene.drawing.areas {
        if scene.solid[area.region] {
            along(&mut drawing, &area.outline, size);
        }
    }
    if let Some(plate) = &magnet.workpiece {
        let edge = AT_EDGE * plate.gap_m.min(AT_EDGE_MOST * drawing.radius_m);
        for pole in &magnet.poles {
            for x in pole.x_m.into_iter().filter(|x| *x > 0.0) {
                drawing.grade([x, pole.y_m], edge);
                if plate.x_m[0] <= x && x <= plate.x_m[1] {
                    drawing.grade([x, magnet.face_m + plate.gap_m], edge);
                }
            }
        }
    }
    drawing
}

/// Elements of a size along the sides of an outline; one on the axis or a mirror has no surface there.
fn along(drawing: &mut Drawing, outline: &Outline, size: f64) {
    let nodes = &outline.0;
    for (k, &(p, _)) in nodes.iter().enumerate() {
        let q = nodes[(k + 1) % nodes.len()].0;
        if p[0] == 0.0 && q[0] == 0.0 && drawing.symmetry != Symmetry::Planar {
            continue;
        }
        let pieces = ((p[0] - q[0]).hypot(p[1] - q[1]) / size).ceil().max(1.0) as u32;
        for j in 0..=pieces {
            let t = f64::from(j) / f64::from(pieces);
            drawing.grade([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])], size);
        }
    }
}

/// How warm the irons are, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Warmth {
    /// The magnet's own.
    pub(crate) body_k: f64,
    /// The workpiece's.
    pub(crate) workpiece_k: f64,
}

impl Warmth {
    /// The magnet's iron as warm as its winding, the workpiece as the surroundings.
    pub(crate) fn of(sheet: &Sheet, driven: &Driven<'_>) -> Self {
        let body_k = driven.excitation.kelvin;
        Self { body_k, workpiece_k: sheet.value("surroundings.temperature").unwrap_or(body_k.min(293.15)) }
    }
}

/// A magnet of solid iron with its winding, steady at its current.
#[derive(Clone, Debug)]
pub(crate) struct Solid {
    /// Who waits for it.
    asked: Watch,
    field: FieldInTime,
    steady: Start,
    /// Without current.
    unexcited: Start,
    motion: Motion,
    pull_scale: f64,
    /// From the solver's numbers to those of the whole magnet.
    scale: f64,
    applied_t: f64,
    tolerance: f64,
    current_a: f64,
    ohm: f64,
    lead_ohm: f64,
    pull_n: f64,
    /// Energy of the steady field, in the solver's numbers; none where a current that does not return makes it infinite.
    energy_j: f64,
}

/// Until when, and how far down, a switched-off magnet is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Until {
    /// What is to be let go, N.
    pub(crate) load_n: f64,
    /// What is left anyway, N; where that holds the load nobody waits for less.
    pub(crate) residual_n: f64,
    /// For so long at least, s.
    pub(crate) time_s: f64,
    /// Until the pull is down to this at least, N.
    pub(crate) lowest_n: f64,
}

impl Solid {
    /// From a solution on a drawing, at the excitation of the magnet; `meshed` is what it is a neighbour of.
    pub(crate) fn new(
        magnet: &Magnet,
        driven: &Driven<'_>,
        warmth: Warmth,
        meshed: &Solved,
        (scene, drawing, solution): (&Scene, &Drawing, &Solution),
        tolerance: f64,
    ) -> Result<Self, Failure> {
        let ohm = driven.winding.resistance_ohm(driven.excitation.kelvin);
        let current_a = driven.excitation.current_a.unwrap_or(f64::NAN);
        let conductivities = conductivities(magnet, scene, warmth);
        let mut turns_per_m2 = Vec::new();
        let mut media: Vec<Medium> = (*scene.media).clone();
        for (region, medium) in media.iter_mut().enumerate() {
            medium.conductivity_s_m = conductivities[region];
            if scene.shares[region] != 0.0 {
                turns_per_m2.push((region, medium.current_density / current_a));
                medium.current_density = 0.0;
            }
        }
        // Legs, yoke and core are one piece; a plate in front of them is another.
        let closes_apart =
            matches!(magnet.symmetry, Symmetry::Planar | Symmetry::PlanarHalf(Mirror::FluxCrosses));
        let plates = magnet.parts.len() + 1..media.len();
        let bodies: Vec<Vec<usize>> =
            plates.filter(|r| closes_apart && conductivities[*r] > 0.0).map(|r| vec![r]).collect();
        let winding = Winding { turns_per_m2 };
        let mesh = (*solution.mesh).clone();
        let motion = Motion::of_areas(&mesh, drawing, |k| scene.moving[k], [0.0, 1.0])?;
        let field = FieldInTime::new(mesh, Arc::new(media), vec![winding], &bodies).map_err(failed)?;
        let unexcited = if has_other_sources(scene) {
            let off = magnet.scene(&Stage { ampere_turns: 0.0, ..magnet.stage() });
            Start::steady(&meshed.clone().neighbour(&off, Some(solution))?.0)
        } else {
            field.empty()
        };
        Ok(Self {
            asked: magnet.watch.clone(),
            unexcited,
            pull_n: scene.pull_scale() * solution.force(&motion),
            energy_j: Some(solution.energies().0).filter(|e| e.is_finite()).unwrap_or(0.0),
            field,
            steady: Start::steady(solution),
            motion,
            pull_scale: scene.pull_scale(),
            scale: scene.scale,
            applied_t: scene.applied_t,
            tolerance,
            current_a,
            ohm,
            lead_ohm: driven.supply.lead_ohm,
        })
    }

    /// The same with every pull times a factor: what a finer mesh knows of it better.
    pub(crate) fn pulling(self, factor: f64) -> Self {
        Self { pull_scale: factor * self.pull_scale, pull_n: factor * self.pull_n, ..self }
    }

    /// Off by a clamp; `opening_v` is what an opened contact makes with nothing to take the current over.
    pub(crate) fn off(&self, clamp: Clamp, opening_v: f64, until: Until) -> Result<SwitchedOff, Failure> {
        let (outside_ohm, stops_v) = match clamp {
            Clamp::Diode { forward_v } => (0.0, Some(forward_v)),
            Clamp::Zener { voltage_v } => (0.0, Some(voltage_v)),
            Clamp::Resistor { resistance_ohm } => (resistance_ohm, None),
            Clamp::Nothing { .. } => (0.0, Some(opening_v)),
        };
        let total_ohm = self.ohm + outside_ohm;
        let circuit = Circuit {
            resistance_ohm: total_ohm / self.scale,
            voltage_v: &|_| 0.0,
            characteristic: stops_v
                .map_or_else(Characteristic::short, |v| Characteristic::rectifier(v / self.scale)),
        };
        let no_current = if stops_v.is_some() { 1e-9 } else { NO_CURRENT } * self.current_a;
        let lowest_n = until.load_n.min((FOLLOWED * self.pull_n).max(until.residual_n));
        let lowest_n = if until.load_n <= until.residual_n { until.residual_n } else { lowest_n };
        let lowest_n = lowest_n.min(until.lowest_n);
        let held = |m: &Moment| self.pull_at(m) - until.load_n;
        let (mut rows, mut energies) = (Vec::new(), Energies::default());
        let (mut let_go, mut gone_s) = (None, None);
        let watch = |m: &Moment| {
            let row = self.row(m);
            if row.current_a > no_current {
                gone_s = None;
            } else {
                gone_s.get_or_insert(m.time_s);
            }
            if row.pull_n <= until.load_n {
                let_go.get_or_insert((m.time_s, row.current_a));
            }
            rows.push(row);
            energies = *m.energies;
            let over = row.pull_n <= lowest_n && gone_s.is_some() && m.time_s >= until.time_s;
            if over { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        self.run(circuit, &self.steady, &[&held], watch)?;
        let whole = |joule: f64| joule * self.scale;
        let release = if self.pull_n < until.load_n {
            Release::Already
        } else if until.residual_n >= until.load_n {
            Release::Never
        } else {
            let_go.map_or(Release::Never, |(time_s, current_a)| Release::After { time_s, current_a })
        };
        let gone_s = gone_s.ok_or_else(|| too_long("the current"))?;
        Ok(SwitchedOff {
            rows,
            release,
            gone_s,
            peak_coil_v: stops_v.unwrap_or(outside_ohm * self.current_a),
            coil_j: whole(energies.ohmic_j) * self.ohm / total_ohm,
            clamp_j: whole(energies.ohmic_j) * outside_ohm / total_ohm + whole(energies.taken_j),
            eddy_j: Some(whole(energies.eddy_j)),
            imbalance: energies.imbalance(),
        })
    }

    /// On, by a voltage that rises no further once the current is reached.
    pub(crate) fn on(&self, supply_v: f64) -> Result<SwitchedOn, Failure> {
        let total_ohm = self.ohm + self.lead_ohm;
        let volts = supply_v / self.scale;
        let circuit = Circuit {
            resistance_ohm: total_ohm / self.scale,
            voltage_v: &|_| volts,
            characteristic: if self.current_a < 0.999 * supply_v / total_ohm {
                Characteristic::through(&[[self.current_a, 0.0]], [1.0, 0.0], [0.0, 1.0]).map_err(failed)?
            } else {
                Characteristic::short()
            },
        };
        let pulls = self.pull_n > 0.0;
        let (mut rows, mut energies) = (Vec::new(), Energies::default());
        let watch = |m: &Moment| {
            let row = self.row(m);
            rows.push(row);
            energies = *m.energies;
            let last = SHARES[SHARES.len() - 1];
            let over = row.current_a >= last * self.current_a && (!pulls || row.pull_n >= last * self.pull_n);
            if over { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        self.run(circuit, &self.unexcited, &[], watch)?;
        let current = |share: f64| rises_s(&rows, |r| r.current_a, share * self.current_a);
        let pull = |share: f64| rises_s(&rows, |r| r.pull_n, share * self.pull_n);
        let all = |times: [Option<f64>; 3]| match times {
            [Some(a), Some(b), Some(c)] => Ok([a, b, c]),
            _ => Err(too_long("current and pull")),
        };
        let current_s = all(SHARES.map(current))?;
        let pull_s = if pulls { all(SHARES.map(pull))? } else { current_s };
        Ok(SwitchedOn { rows, current_s, pull_s, imbalance: energies.imbalance() })
    }

    /// Polarity reversed at a voltage: times to no current and to 90 % of the opposite, s; not numbers if too much of the
    /// energy is unaccounted for.
    pub(crate) fn reversed(&self, supply_v: f64) -> Result<[f64; 2], Failure> {
        let volts = -supply_v / self.scale;
        let circuit = Circuit {
            resistance_ohm: (self.ohm + self.lead_ohm) / self.scale,
            voltage_v: &|_| volts,
            characteristic: Characteristic::short(),
        };
        let opposite_a = supply_v / (self.ohm + self.lead_ohm);
        let zero = |m: &Moment| m.windings[0].current_a;
        let over = |m: &Moment| m.windings[0].current_a + 0.9 * opposite_a;
        let (mut times, mut energies) = ([f64::NAN; 2], Energies::default());
        let watch = |m: &Moment| {
            energies = *m.energies;
            for (time, level) in times.iter_mut().zip([zero(m), over(m)]) {
                if time.is_nan() && level <= 1e-9 * opposite_a {
                    *time = m.time_s;
                }
            }
            if times[1].is_nan() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        };
        self.run(circuit, &self.steady, &[&zero, &over], watch)?;
        match times[1].is_nan() {
            true => Err(too_long("the reversed current")),
            false if energies.imbalance() > BALANCED => Ok([f64::NAN; 2]),
            false => Ok(times),
        }
    }

    /// Pull, steady at the current, N.
    pub(crate) fn pull_n(&self) -> f64 {
        self.pull_n
    }

    fn pull_at(&self, m: &Moment) -> f64 {
        self.pull_scale * m.solution().force(&self.motion)
    }

    fn row(&self, m: &Moment) -> Row {
        Row { time_s: m.time_s, current_a: m.windings[0].current_a, pull_n: self.pull_at(m) }
    }

    fn run(
        &self,
        circuit: Circuit<'_>,
        start: &Start,
        levels: &[Level<'_>],
        mut watch: impl FnMut(&Moment) -> ControlFlow<()>,
    ) -> Result<(), Failure> {
        let watch = |m: &Moment| if self.asked.is_stopped() { ControlFlow::Break(()) } else { watch(m) };
        let stepping = Stepping {
            tolerance: self.tolerance,
            step_first_s: FIRST_STEP_S,
            event_s: EVENT_S,
            energy_j: self.energy_j,
            settled: SETTLED,
            ..Stepping::until(LONGEST_S)
        };
        self.field.run(&[circuit], |_| self.applied_t, start, &stepping, levels, watch).map_err(failed)?;
        self.asked.check()
    }
}

/// Whether anything but the winding makes a field: magnets, currents of their own, a field applied from outside.
fn has_other_sources(scene: &Scene) -> bool {
    let own = |(medium, share): (&Medium, &f64)| {
        medium.remanence_t != [0.0; 2] || (*share == 0.0 && medium.current_density != 0.0)
    };
    scene.applied_t != 0.0 || scene.media.iter().zip(&scene.shares).any(own)
}

/// Conductivity by region of a scene, S/m.
fn conductivities(magnet: &Magnet, scene: &Scene, warmth: Warmth) -> Vec<f64> {
    let mut found = vec![0.0; scene.media.len()];
    let conducts = |iron: &Iron, kelvin: f64, across: Option<f64>| {
        let electrical = iron.electrical?;
        Some(electrical.conductivity_s_per_m(kelvin) * across.map_or(1.0, |w| ends(w, magnet.depth_m)))
    };
    let planar = magnet.symmetry != Symmetry::Axial;
    for (k, part) in magnet.parts.iter().enumerate() {
        if let Substance::Iron(iron) = &part.substance {
            let across = planar.then(|| width_m(part, magnet.symmetry));
            found[k + 1] = conducts(iron, warmth.body_k, across).unwrap_or(0.0);
        }
    }
    if let Some((plate, own)) = magnet.workpiece.as_ref().zip(found.get_mut(magnet.parts.len() + 1)) {
        let across = planar.then_some(plate.thickness_m);
        *own = conducts(&plate.iron, warmth.workpiece_k, across).unwrap_or(0.0);
    }
    found
}

/// What eddies that close at the ends of a slice take off its conductivity: flux leaves a rectangular bar at the rate
/// π²/(µ σ) (1/w² + 1/d²) in its slowest mode (Carslaw and Jaeger, section 5.6, from memory), of which the slice has the
/// first term.
fn ends(width_m: f64, depth_m: f64) -> f64 {
    1.0 / (1.0 + (width_m / depth_m).powi(2))
}

/// The narrower extent of a part of a planar magnet, a mirrored half made whole, m.
fn width_m(part: &Part, symmetry: Symmetry) -> f64 {
    let of = |d: usize| {
        let xs = || part.outline.0.iter().map(move |n: &(Point, _)| n.0[d]);
        let (low, high) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
        let mirrored = d == 0 && low == 0.0 && symmetry != Symmetry::Planar;
        if mirrored { 2.0 * high } else { high - low }
    };
    of(0).min(of(1))
}

fn too_long(what: &str) -> Failure {
    Failure::Physics(format!("{what} does not settle within {LONGEST_S} s of switching"))
}

fn failed(e: TimeError) -> Failure {
    Failure::Physics(format!("the field in time could not be followed: {e}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coupled::switch::switched::falls_s;

    /// A pot with a disc of the same steel in front of it, so many times as large as the reference pot of
    /// `verification/cases/pot-magnet-on-disc`, at 20 °C.
    fn pot(times: f64, gap_mm: f64, clamp: Clamp, load_n: f64, fineness: Fineness) -> SwitchedOff {
        let mm = |length: f64| format!("\"{} mm\"", times * length);
        let text = format!(
            r#"
form = "pot"
[body]
outer_diameter = {}
height = {}
pole_diameter = {}
inner_diameter = {}
back = {}
material = "arctangent steel"
[winding]
turns = 1080
resistance = "{} ohm"
bobbin_wall = "0 mm"
inner_diameter = {}
outer_diameter = {}
start = {}
length = {}
[drive]
current = "{} A"
temperature = "20 °C"
[surroundings]
temperature = "20 °C"
[workpiece]
shape = "disc"
diameter = {}
thickness = {}
gap = {}
material = "arctangent steel"
[[material]]
name = "arctangent steel"
saturation = "2.1 T"
initial_permeability = 1500
resistivity = "{} ohm m"
"#,
            mm(60.0),
            mm(36.0),
            mm(24.0),
            mm(52.8),
            mm(6.0),
            12.0 / times,
            mm(25.2),
            mm(51.6),
            mm(6.6),
            mm(28.2),
            times,
            mm(72.0),
            mm(12.0),
            mm(gap_mm),
            1.0 / 6e6,
        );
        let sheet = Sheet::parse(&text, "test").unwrap_or_else(|faults| panic!("{faults:?}")).0;
        let magnet = Magnet::complete(&sheet).unwrap_or_else(|faults| panic!("{faults:?}"));
        let driven = Driven::of(&sheet, &magnet).unwrap();
        let scene = magnet.scene(&magnet.stage());
        let mut meshed = solved(&magnet, scene.clone(), fineness).unwrap();
        let (solution, drawing) = meshed.neighbour(&scene, None).unwrap();
        let seen = (&scene, &drawing, &solution);
        let warmth = Warmth::of(&sheet, &driven);
        let solid = Solid::new(&magnet, &driven, warmth, &meshed, seen, fineness.tolerance).unwrap();
        solid.off(clamp, 0.0, Until { load_n, residual_n: 0.0, time_s: 0.0, lowest_n: load_n }).unwrap()
    }

    const ZENER: Clamp = Clamp::Zener { voltage_v: 150.0 };

    fn near(got: f64, want: f64, relative: f64) {
        assert!((got / want - 1.0).abs() < relative, "{got} for {want}");
    }

    /// Source: the same pot by an independent code of second order in space and time, its current taken to nothing in
    /// 1.44 ms along a straight line: the pull is below 72 N after 28.37 ms, below 14.4 N after 68.7 ms. A zener takes the
    /// current down along another line in about that time; half a millisecond of it may be seen.
    #[test]
    fn eddies_hold_a_pot_as_an_independent_code_says() {
        let off = pot(1.0, 0.12, ZENER, 14.4, Fineness::ALL[2]);
        let (first, second) = (falls_s(&off.rows, 72.0).unwrap(), falls_s(&off.rows, 14.4).unwrap());
        assert!((0.7e-3..2.2e-3).contains(&off.gone_s), "{}", off.gone_s);
        assert!((first - 28.37e-3).abs() < 0.5e-3 + 0.01 * first, "{first}");
        assert!((second - 68.7e-3).abs() < 0.5e-3 + 0.01 * second, "{second}");
    }

    /// Twice the size with twice the gap takes four times as long (common practice, no source; exact where the current
    /// scales too, as the equations say), and a pot takes longer the smaller its gap is.
    #[test]
    fn times_grow_with_the_square_of_the_size_and_with_smaller_gaps() {
        let rough = Fineness::ALL[0];
        let one = falls_s(&pot(1.0, 0.24, ZENER, 40.0, rough).rows, 40.0).unwrap();
        let two = falls_s(&pot(2.0, 0.24, ZENER, 160.0, rough).rows, 160.0).unwrap();
        near(two, 4.0 * one, 0.01);
        let wide = falls_s(&pot(1.0, 0.6, ZENER, 40.0, rough).rows, 40.0).unwrap();
        assert!(one > 1.3 * wide, "{one} at 0.24 mm, {wide} at 0.6 mm");
    }

    /// What is told of other clamps, and bands, are of the rough mesh and brought to the finer one by their ratio for the
    /// sheet's own clamp: that holds to 2 %. Source: the finer mesh itself.
    #[test]
    fn the_ratio_of_two_meshes_is_the_same_for_every_clamp() {
        let times = |clamp: Clamp| {
            let at = |fineness| falls_s(&pot(1.0, 0.24, clamp, 40.0, fineness).rows, 40.0).unwrap();
            (at(Fineness::ALL[0]), at(Fineness::ALL[1]))
        };
        let (rough, fine) = times(Clamp::Diode { forward_v: 0.8 });
        for clamp in [ZENER, Clamp::Resistor { resistance_ohm: 60.0 }] {
            let (other_rough, other_fine) = times(clamp);
            near(other_rough * fine / rough, other_fine, 0.02);
        }
    }
}
