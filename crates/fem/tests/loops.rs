//! Coaxial loops in open space, against Maxwell's formulas in elliptic integrals, near and far.

use coilwright_fem::drawing::{Drawing, Outline, Point, Symmetry};
use coilwright_fem::law::{MU_0, Medium};
use coilwright_fem::solve::Ladder;
use std::f64::consts::PI;
use std::sync::Arc;

/// Complete elliptic integrals K and E of the parameter m = k² (Abramowitz and Stegun 17.6, arithmetic–geometric mean).
fn elliptic(m: f64) -> (f64, f64) {
    let (mut a, mut g, mut sum, mut power) = (1.0, (1.0 - m).sqrt(), 0.5 * m, 0.5);
    for _ in 0..30 {
        let c: f64 = 0.5 * (a - g);
        power *= 2.0;
        sum += power * c * c;
        (a, g) = (0.5 * (a + g), (a * g).sqrt());
    }
    let k = PI / (2.0 * a);
    (k, k * (1.0 - sum))
}

/// Flux density per ampere of a loop of radius `a` at height 0 (J. D. Jackson, Classical Electrodynamics, problem
/// 5.34; W. R. Smythe, Static and Dynamic Electricity, 7.10).
fn loop_field(a: f64, [r, z]: Point) -> Point {
    if r == 0.0 {
        return [0.0, 0.5 * MU_0 * a * a / (a * a + z * z).powf(1.5)];
    }
    let far = (a + r).powi(2) + z * z;
    let near = (a - r).powi(2) + z * z;
    let (k, e) = elliptic(4.0 * a * r / far);
    let common = MU_0 / (2.0 * PI * far.sqrt());
    [
        common * z / r * ((a * a + r * r + z * z) / near * e - k),
        common * ((a * a - r * r - z * z) / near * e + k),
    ]
}

/// A conductor of square section, seen as filaments at the points of Gauss' product rule of three: their radii,
/// heights and shares.
fn filaments(radius: f64, height: f64, side: f64) -> Vec<(f64, f64, f64)> {
    let rule = [(-0.6f64.sqrt(), 5.0 / 18.0), (0.0, 8.0 / 18.0), (0.6f64.sqrt(), 5.0 / 18.0)];
    rule.iter()
        .flat_map(|(u, p)| {
            rule.iter().map(move |(v, q)| (radius + 0.5 * side * u, height + 0.5 * side * v, p * q))
        })
        .collect()
}

/// The axial force per A² that the second conductor feels: −2π r B_r for every pair of filaments.
fn force_on_second(first: &[(f64, f64, f64)], second: &[(f64, f64, f64)]) -> f64 {
    let pair = |&(a, y, p): &(f64, f64, f64), &(b, z, q): &(f64, f64, f64)| {
        -2.0 * PI * b * p * q * loop_field(a, [b, z - y])[0]
    };
    first.iter().flat_map(|f| second.iter().map(move |s| pair(f, s))).sum()
}

fn square(radius: f64, height: f64, side: f64) -> Outline {
    let h = 0.5 * side;
    Outline::rectangle([radius - h, radius + h], [height - h, height + h])
}

#[test]
fn formulas_give_tabulated_values() {
    // K and E at m = 0.5 (Abramowitz and Stegun, table 17.1).
    let (k, e) = elliptic(0.5);
    assert!((k - 1.854074677301372).abs() < 1e-14 && (e - 1.350643881047675).abs() < 1e-14);
    // Forces per A², computed from the elliptic formula and by differencing the mutual inductance, independently.
    for (a, b, z, want) in
        [(0.1, 0.1, 0.05, 2.0693744e-6), (0.2, 0.25, 0.1, 1.8509047e-6), (0.05, 0.1, 0.03, 5.1481667e-7)]
    {
        let got = -force_on_second(&[(a, 0.0, 1.0)], &[(b, z, 1.0)]);
        assert!((got / want - 1.0f64).abs() < 1e-7, "{a} {b} {z}: {got} for {want}");
    }
}

#[test]
fn far_field_of_a_loop_off_the_middle() {
    // Off the circle's middle, so that every multipole takes part.
    let (radius, height, side, current) = (20e-3, 6e-3, 2e-3, 1000.0);
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
    drawing.size_max_m = 2.5e-3;
    drawing.growth = 0.15;
    drawing.paint(1, square(radius, height, side));
    drawing.grade([radius, height], 0.5e-3);
    let media =
        Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_current_density(current / (side * side))]);
    let ladder = Ladder::climb(&drawing, media, 0.0).unwrap();
    let probe = ladder.probe();
    let exact = |p: Point| {
        let mut b = [0.0; 2];
        for (a, y, share) in filaments(radius, height, side) {
            let f = loop_field(a, [p[0], p[1] - y]);
            b = [b[0] + current * share * f[0], b[1] + current * share * f[1]];
        }
        b
    };
    // From the circle (40 mm) to 4 m away, where the field is 10⁻⁷ of that in the loop.
    for distance in [41e-3, 60e-3, 0.1, 0.4, 4.0] {
        for degrees in [-90.0f64, -50.0, 0.0, 35.0, 90.0] {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let p = [if degrees.abs() == 90.0 { 0.0 } else { distance * cos }, distance * sin];
            let (got, want) = (probe.at(p).b_t, exact(p));
            let error = (got[0] - want[0]).hypot(got[1] - want[1]) / want[0].hypot(want[1]);
            assert!(error < 1e-5, "{distance} m at {degrees}°: {got:?} for {want:?}");
        }
    }
}

#[test]
fn force_between_coaxial_loops() {
    let side = 2e-3;
    let places = [(20e-3, -5e-3), (25e-3, 5e-3)];
    let currents = [1000.0, -700.0];
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 45e-3);
    drawing.size_max_m = 2e-3;
    drawing.growth = 0.15;
    let mut media = vec![Medium::vacuum()];
    for (k, (radius, height)) in places.into_iter().enumerate() {
        drawing.paint(k + 1, square(radius, height, side));
        drawing.grade([radius, height], 0.4e-3);
        media.push(Medium::vacuum().with_current_density(currents[k] / (side * side)));
    }
    let ladder = Ladder::climb(&drawing, Arc::new(media), 0.0).unwrap();
    let [first, second] = places.map(|(radius, height)| filaments(radius, height, side));
    let want = currents[0] * currents[1] * force_on_second(&first, &second);
    assert!(want > 0.0, "opposite currents repel");
    let force = |moved: usize| {
        let motion = ladder.motion(|k| k == moved, [0.0, 1.0]).unwrap();
        assert!(!ladder.solution().strains_matter(&motion));
        let shell = ladder.estimate(|s| s.force_on_shell(&motion));
        (ladder.force(&motion), shell)
    };
    // The section seen as 9 filaments is good to (side / distance)⁶, some 10⁻⁶.
    for (moved, sign) in [(1, 1.0), (0, -1.0)] {
        let (by_work, by_shell) = force(moved);
        let value = sign * by_work.value;
        assert!((value / want - 1.0).abs() < 1e-5, "{value} for {want}");
        assert!(
            (value - want).abs() < by_work.error + 1e-6 * want,
            "{} for {want} ± {}",
            value,
            by_work.error
        );
        // The stress on one layer of elements converges by half the order only.
        assert!((sign * by_shell.value / want - 1.0).abs() < 1e-3, "{} for {want}", by_shell.value);
    }
}
