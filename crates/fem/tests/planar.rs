//! Long straight conductors in the plane, against Ampère: field, force per metre, and the two kinds of mirror.

use coilwright_fem::drawing::{Curve, Drawing, Mirror, Outline, Point, Symmetry};
use coilwright_fem::law::{Linear, MU_0, Medium};
use coilwright_fem::solve::Ladder;
use std::f64::consts::PI;
use std::sync::Arc;

/// Side of the wires' square section.
const SIDE: f64 = 2e-3;
const CURRENT: f64 = 1000.0;

fn disc(at: Point, radius: f64) -> Outline {
    let arc = Curve::Arc { centre: at, ccw: true };
    Outline(vec![([at[0], at[1] - radius], arc), ([at[0], at[1] + radius], arc)])
}

/// Square wires (place, current) in a drawing of some symmetry; only those it shows.
fn line(symmetry: Symmetry, wires: &[(Point, f64)]) -> Ladder {
    let mut drawing = Drawing::new(symmetry, [0.0, 0.0], 30e-3);
    drawing.growth = 0.08;
    drawing.size_max_m = 0.9e-3;
    let h = 0.5 * SIDE;
    let mut media = vec![Medium::vacuum()];
    for &(at, current) in wires.iter().filter(|w| symmetry == Symmetry::Planar || w.0[0] > 0.0) {
        drawing.paint(media.len(), Outline::rectangle([at[0] - h, at[0] + h], [at[1] - h, at[1] + h]));
        for corner in [[-h, -h], [h, -h], [h, h], [-h, h]] {
            drawing.grade([at[0] + corner[0], at[1] + corner[1]], 0.2e-3);
        }
        media.push(Medium::vacuum().with_current_density(current / (SIDE * SIDE)));
    }
    Ladder::climb(&drawing, Arc::new(media), 0.0).expect("a solution")
}

/// The nine filaments that stand for a square wire: Gauss' product rule of three.
fn filaments(wires: &[(Point, f64)]) -> Vec<(Point, f64)> {
    let rule = [(-0.6f64.sqrt(), 5.0 / 18.0), (0.0, 8.0 / 18.0), (0.6f64.sqrt(), 5.0 / 18.0)];
    let split = |&(at, current): &(Point, f64)| {
        rule.map(|(u, p)| {
            rule.map(|(v, q)| ([at[0] + 0.5 * SIDE * u, at[1] + 0.5 * SIDE * v], p * q * current))
        })
    };
    wires.iter().flat_map(split).flatten().collect()
}

/// Superposed fields µ0 I / 2πr of currents into the page, which turn clockwise.
fn field(filaments: &[(Point, f64)], p: Point) -> Point {
    filaments.iter().fold([0.0; 2], |b, (at, current)| {
        let d = [p[0] - at[0], p[1] - at[1]];
        let k = MU_0 * current / (2.0 * PI * (d[0] * d[0] + d[1] * d[1]));
        [b[0] + k * d[1], b[1] - k * d[0]]
    })
}

/// Force per metre on one wire by all the others: J × B, the current into the page.
fn force(wires: &[(Point, f64)], on: usize) -> Point {
    let mut others = wires.to_vec();
    others.remove(on);
    let others = filaments(&others);
    filaments(&wires[on..=on]).iter().fold([0.0; 2], |f, &(at, current)| {
        let b = field(&others, at);
        [f[0] + current * b[1], f[1] - current * b[0]]
    })
}

fn must_match(ladder: &Ladder, wires: &[(Point, f64)], moved: (usize, usize)) {
    let probe = ladder.probe();
    for p in [[0.0, 2e-3], [3e-3, -7e-3], [-14e-3, 9e-3], [25e-3, 14e-3], [33e-3, 0.0], [-0.2, 0.3]] {
        let (got, want) = (probe.at(p).b_t, field(&filaments(wires), p));
        let error = (got[0] - want[0]).hypot(got[1] - want[1]) / want[0].hypot(want[1]);
        assert!(error < 1e-4, "{p:?}: {got:?} for {want:?}");
    }
    let want = force(wires, moved.1);
    let size = want[0].hypot(want[1]);
    for (d, direction) in [[1.0, 0.0], [0.0, 1.0]].into_iter().enumerate() {
        let motion = ladder.motion(|k| k == moved.0, direction).expect("a motion");
        let got = ladder.solution().force(&motion);
        assert!((got - want[d]).abs() < 1e-5 * size, "{direction:?}: {got} for {}", want[d]);
    }
}

/// Go and return: they repel by µ0 I² / 2πd per metre (the definition of the ampere before 2019). Between them flux
/// runs along the mirror. Square wires differ from round ones by 2 · 10⁻⁵ at this distance.
#[test]
fn two_wires_and_half_of_them() {
    let spacing = 20e-3;
    let wires = [([0.5 * spacing, 0.0], CURRENT), ([-0.5 * spacing, 0.0], -CURRENT)];
    let per_metre = MU_0 * CURRENT * CURRENT / (2.0 * PI * spacing);
    assert!((force(&wires, 0)[0] / per_metre - 1.0).abs() < 3e-5, "{:?}", force(&wires, 0));
    must_match(&line(Symmetry::Planar, &wires), &wires, (0, 0));
    must_match(&line(Symmetry::PlanarHalf(Mirror::FluxStays), &wires), &wires, (0, 0));
}

/// Two parallel pairs, so that equal currents face each other across a mirror that flux crosses.
#[test]
fn two_pairs_and_half_of_them() {
    let wires = [
        ([8e-3, 6e-3], CURRENT),
        ([8e-3, -9e-3], -CURRENT),
        ([-8e-3, 6e-3], CURRENT),
        ([-8e-3, -9e-3], -CURRENT),
    ];
    must_match(&line(Symmetry::Planar, &wires), &wires, (1, 1));
    must_match(&line(Symmetry::PlanarHalf(Mirror::FluxCrosses), &wires), &wires, (1, 1));
}

/// A permeable cylinder in a uniform field: B = 2 µr / (µr + 1) B₀ inside; outside a dipole line
/// (µr − 1)/(µr + 1) B₀ (a/ρ)² (W. R. Smythe, Static and Dynamic Electricity, 4.03, by analogy). Along the mirror.
#[test]
fn cylinder_in_a_uniform_field() {
    let (radius, mu_r, applied) = (12e-3, 50.0, 0.2);
    for symmetry in [Symmetry::Planar, Symmetry::PlanarHalf(Mirror::FluxStays)] {
        let mut drawing = Drawing::new(symmetry, [0.0, 0.0], 20e-3);
        drawing.size_max_m = 1e-3;
        let outline = if symmetry == Symmetry::Planar {
            disc([0.0, 0.0], radius)
        } else {
            let arc = Curve::Arc { centre: [0.0, 0.0], ccw: true };
            Outline(vec![([0.0, -radius], arc), ([0.0, radius], Curve::Line)])
        };
        drawing.paint(1, outline);
        let media = Arc::new(vec![Medium::vacuum(), Medium::of(Linear::relative(mu_r))]);
        let ladder = Ladder::climb(&drawing, media, applied).unwrap();
        let probe = ladder.probe();
        for p in [[0.0, 0.0], [3e-3, -9e-3], [-8e-3, 4e-3]] {
            let b = probe.at(p).b_t;
            assert!((b[1] / (applied * 2.0 * mu_r / (mu_r + 1.0)) - 1.0).abs() < 1e-5, "{p:?}: {b:?}");
            assert!(b[0].abs() < 1e-5 * applied, "{p:?}: {b:?}");
        }
        for [x, y] in [[0.0, 14e-3], [-13e-3, 5e-3], [18e-3, 30e-3]] {
            let k = applied * (mu_r - 1.0) / (mu_r + 1.0) * (radius / (x * x + y * y)).powi(2);
            let want = [2.0 * k * x * y, applied + k * (y * y - x * x)];
            let got = probe.at([x, y]).b_t;
            assert!((got[0] - want[0]).hypot(got[1] - want[1]) < 1e-4 * applied, "{got:?} for {want:?}");
        }
    }
}

/// Two wires the same way: a net current, whose field falls as 1/ρ only. Also as a half that flux crosses. They attract.
#[test]
fn two_wires_the_same_way_and_half_of_them() {
    // Not at the height of a point that is read: between them the field vanishes.
    let wires = [([8e-3, -1e-3], CURRENT), ([-8e-3, -1e-3], CURRENT)];
    for symmetry in [Symmetry::Planar, Symmetry::PlanarHalf(Mirror::FluxCrosses)] {
        let ladder = line(symmetry, &wires);
        must_match(&ladder, &wires, (0, 0));
        let s = ladder.solution();
        assert!((s.net_current() / (2.0 * CURRENT) - 1.0).abs() < 1e-12, "{}", s.net_current());
        assert_eq!(s.energies(), (f64::INFINITY, f64::INFINITY));
        // A kilometre away: nothing but Ampère's law.
        let far = ladder.probe().at([0.6e3, 0.8e3]).size_t();
        assert!((far / (MU_0 * 2.0 * CURRENT / (2.0 * PI * 1e3)) - 1.0).abs() < 1e-6, "{far}");
    }
    let halves = line(Symmetry::PlanarHalf(Mirror::FluxStays), &[([8e-3, -1e-3], CURRENT)]);
    assert_eq!(halves.solution().net_current(), 0.0);
}

/// A wire over a permeable cylinder of radius a, a distance d from its axis: outside it the images are
/// I (µr − 1)/(µr + 1) at a²/d from the axis and the opposite in the axis (W. R. Smythe, Static and Dynamic Electricity,
/// 4.05, by analogy, from memory). The force is that of the images on the wire.
#[test]
fn a_wire_over_iron_by_its_images() {
    let (radius, d, mu_r) = (10e-3, 16e-3, 200.0);
    let mut drawing = Drawing::new(Symmetry::Planar, [0.0, 4e-3], 34e-3);
    drawing.growth = 0.08;
    drawing.size_max_m = 0.9e-3;
    let h = 0.5 * SIDE;
    for corner in [[-h, -h], [h, -h], [h, h], [-h, h]] {
        drawing.grade([corner[0], d + corner[1]], 0.2e-3);
    }
    drawing.paint(1, Outline::rectangle([-h, h], [d - h, d + h]));
    drawing.paint(2, disc([0.0, 0.0], radius));
    let media = vec![
        Medium::vacuum(),
        Medium::vacuum().with_current_density(CURRENT / (SIDE * SIDE)),
        Medium::of(Linear::relative(mu_r)),
    ];
    let ladder = Ladder::climb(&drawing, Arc::new(media), 0.0).expect("a solution");
    let k = (mu_r - 1.0) / (mu_r + 1.0);
    let image = |at: Point, current: f64| {
        let square = at[0] * at[0] + at[1] * at[1];
        let s = radius * radius / square;
        [([at[0] * s, at[1] * s], k * current), ([0.0, 0.0], -k * current)]
    };
    let wire = filaments(&[([0.0, d], CURRENT)]);
    let images: Vec<_> = wire.iter().flat_map(|w| image(w.0, w.1)).collect();
    let all: Vec<_> = wire.iter().chain(&images).copied().collect();
    let probe = ladder.probe();
    for p in [[0.0, 12e-3], [9e-3, 9e-3], [-14e-3, -3e-3], [0.0, -30e-3], [40e-3, 20e-3], [-0.5, 0.2]] {
        let (got, want) = (probe.at(p).b_t, field(&all, p));
        let error = (got[0] - want[0]).hypot(got[1] - want[1]) / want[0].hypot(want[1]);
        assert!(error < 1e-4, "{p:?}: {got:?} for {want:?}");
    }
    let want: f64 = wire.iter().map(|w| -w.1 * field(&images, w.0)[0]).sum();
    let motion = ladder.motion(|area| area == 0, [0.0, 1.0]).expect("a motion");
    let got = ladder.solution().force(&motion);
    assert!((got / want - 1.0).abs() < 1e-4, "{got} for {want}");
}

/// The slope of the functional is the force, with a net current and in an applied field, where the energies have none.
#[test]
fn force_is_the_slope_of_the_functional() {
    for (symmetry, applied) in [(Symmetry::Planar, 0.0), (Symmetry::PlanarHalf(Mirror::FluxStays), 0.5)] {
        let planar = symmetry == Symmetry::Planar;
        let drawn = |y: f64| {
            let mut drawing = Drawing::new(symmetry, [0.0, 4e-3], 34e-3);
            drawing.growth = 0.1;
            drawing.size_max_m = 1.2e-3;
            let left = if planar { -3e-3 } else { 0.0 };
            drawing.paint(1, Outline::rectangle([left, 4e-3], [y, y + 4e-3]));
            drawing.paint(2, Outline::rectangle([if planar { -12e-3 } else { 0.0 }, 12e-3], [0.0, 9e-3]));
            drawing
        };
        // In the plane a conductor moves, with the mirror a piece of iron in an applied field.
        let mover = if planar {
            Medium::vacuum().with_current_density(5e7)
        } else {
            Medium::of(Linear::relative(50.0))
        };
        let media = Arc::new(vec![Medium::vacuum(), mover, Medium::of(Linear::relative(200.0))]);
        let mut ladder = Ladder::climb(&drawn(14e-3), media.clone(), applied).expect("a solution");
        let motion = ladder.motion(|area| area == 0, [0.0, 1.0]).expect("a motion");
        let want = ladder.solution().force(&motion);
        let mut at = |dy: f64| {
            let near = ladder.nearby(&drawn(14e-3 + dy), media.clone(), applied, None);
            near.expect("a neighbour").functional()
        };
        let step = 0.05e-3;
        let slope = -(at(step) - at(-step)) / (2.0 * step);
        assert!((slope / want - 1.0).abs() < 1e-3, "{symmetry:?}: {slope} for {want}");
    }
}
