//! The TEAM 13 steel in two problems with exact answers: a sphere in a uniform field, and a closed circuit.
//!
//! Both published-style answers below are roots of the equation named, for the table joined by straight lines;
//! the library joins it by cubics. Each test first confirms the table (straight lines give the stored answer) and
//! then states how far the cubics are from the straight lines.

use coilwright_sheet::material::{MU0, SteelLaw, soft};

/// COMPUMAG TEAM 13 (Nakata & Fujiwara), transcribed once more, apart from the library.
const H: [f64; 27] = [
    0.0, 16.0, 30.0, 54.0, 93.0, 143.0, 191.0, 210.0, 222.0, 233.0, 247.0, 258.0, 272.0, 289.0, 313.0, 342.0,
    377.0, 433.0, 509.0, 648.0, 933.0, 1228.0, 1934.0, 2913.0, 4993.0, 7189.0, 9423.0,
];
const B: [f64; 27] = [
    0.0, 0.0025, 0.005, 0.0125, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3,
    1.4, 1.5, 1.55, 1.6, 1.65, 1.7, 1.75, 1.8,
];

fn straight(b: f64) -> f64 {
    let i = B.partition_point(|x| *x <= b).clamp(1, 26);
    H[i - 1] + (H[i] - H[i - 1]) * (b - B[i - 1]) / (B[i] - B[i - 1])
}

/// Root B in 0 to 1.8 T of a rising function.
fn root(f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.8);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

fn team13() -> &'static SteelLaw {
    &soft("TEAM 13 steel").expect("TEAM 13 steel is there").law
}

#[test]
fn the_table_is_the_published_one() {
    for (h, b) in H.iter().zip(B) {
        assert!((team13().h_of_b(b) - h).abs() < 1e-9 * (1.0 + h), "B = {b}");
    }
    // Extension: B = µ0 H + a H² + b H + c to 2.22 T, then B = µ0 H + 2.16 T (TEAM 13). Between the points where
    // the library samples it, within 0.5 mT; across the published joint at 2.22 T, where the two formulas
    // differ by 1.7 mT, within 2 mT.
    for (h, tolerance) in
        [(11e3, 5e-4), (13.3e3, 5e-4), (22e3, 5e-4), (32e3, 5e-4), (43e3, 5e-4), (47e3, 2e-3)]
    {
        let b = MU0 * h - 2.381e-10 * h * h + 2.327e-5 * h + 1.59;
        assert!((team13().b_of_h(h) - b).abs() < tolerance, "H = {h}: {} against {b}", team13().b_of_h(h));
    }
    for h in [6e4, 1e5, 1e6] {
        assert!((team13().b_of_h(h) - MU0 * h - 2.16).abs() < 1e-6);
    }
}

/// B + 2 µ0 H = 3 B0 in a sphere (demagnetising factor 1/3); stored: B0, H, B.
#[test]
fn sphere_in_a_uniform_field() {
    for (b0, h, b) in [
        (0.1, 221.933, 0.299442),
        (0.3, 312.811, 0.899214),
        (0.5, 926.365, 1.497672),
        (0.6, 8471.688, 1.778708),
    ] {
        let lines = root(|x| x + 2.0 * MU0 * straight(x) - 3.0 * b0);
        assert!((lines / b - 1.0).abs() < 1e-6 && (straight(lines) / h - 1.0).abs() < 1e-4, "B0 = {b0}");
        let cubic = root(|x| x + 2.0 * MU0 * team13().h_of_b(x) - 3.0 * b0);
        // The left side rises at least as fast as B, so the roots differ by no more than 2 µ0 times the fits' H.
        let fits = (team13().h_of_b(lines) - straight(lines)).abs();
        assert!((cubic - lines).abs() <= 2.0 * MU0 * fits, "B0 = {b0}: B = {cubic}");
        // In numbers: within 3.2e-5 in B and 0.3 % in H.
        assert!((cubic / b - 1.0).abs() < 4e-5, "B0 = {b0}: B = {cubic}");
        assert!((team13().h_of_b(cubic) / h - 1.0).abs() < 3e-3, "B0 = {b0}: H = {}", team13().h_of_b(cubic));
    }
}

/// l H + g B/µ0 = NI with l = 0.30 m of steel and g = 0.5 mm, no fringing; stored: NI, H, B.
#[test]
fn closed_circuit() {
    for (ni, h, b) in [
        (200.0, 225.583, 0.33257),
        (400.0, 287.103, 0.788839),
        (600.0, 425.712, 1.186985),
        (800.0, 758.456, 1.438757),
        (1000.0, 1273.325, 1.55321),
        (2000.0, 4429.924, 1.686465),
    ] {
        let lines = root(|x| 0.3 * straight(x) + 5e-4 * x / MU0 - ni);
        assert!((lines / b - 1.0).abs() < 1e-5 && (straight(lines) / h - 1.0).abs() < 1e-4, "NI = {ni}");
        let cubic = root(|x| 0.3 * team13().h_of_b(x) + 5e-4 * x / MU0 - ni);
        // As above, with g/µ0 for the least slope; in numbers within 0.44 %, the worst at the knee (800 A-t).
        let fits = (team13().h_of_b(lines) - straight(lines)).abs();
        assert!((cubic - lines).abs() <= 0.3 * MU0 / 5e-4 * fits, "NI = {ni}: B = {cubic}");
        assert!((cubic / b - 1.0).abs() < 5e-3, "NI = {ni}: B = {cubic}");
    }
}
