//! Steady conduction against closed forms.

use coilwright_fem::drawing::{BACKGROUND, Curve, Drawing, Outline, Symmetry};
use coilwright_fem::heat::{Contact, Film, Heat, HeatError, Side, Substance};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::sync::Arc;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want} ± {relative}");
}

/// Rings between the given radii, 10 mm high, regions numbered from 1.
fn rings(radii: &[f64], size_m: f64, order: usize) -> Arc<Mesh> {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 0.06);
    drawing.size_max_m = size_m;
    for (k, r) in radii.windows(2).enumerate() {
        drawing.paint(k + 1, Outline::rectangle([r[0], r[1]], [-0.005, 0.005]));
    }
    Arc::new(Mesh::new(&drawing, order).expect("rings"))
}

/// 0 for the outer shell, 1 for the bore; the ends are insulated.
fn shells(side: &Side) -> Option<usize> {
    if side.outward[0] > 0.9 {
        Some(0)
    } else if side.outward[0] < -0.9 {
        Some(1)
    } else {
        None
    }
}

fn hot(generation: f64) -> Substance {
    Substance { generation, ..Substance::plain(0.5, 2e6) }
}

const AMBIENT_K: f64 = 293.15;

/// Solid cylinder with uniform generation: T₀ - Ts = q r²/4k = 20 K for 1e5 W/m³, 20 mm, 0.5 W/(m K) (any
/// text on conduction). Second-order elements hold the parabola exactly.
#[test]
fn solid_cylinder() {
    let mesh = rings(&[0.0, 0.02], 0.004, 2);
    let mut heat = Heat::new(mesh, &[None, Some(hot(1e5))], &[], 1, shells).unwrap();
    let h = |_: f64| 500.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let found = heat.steady(&films, |_| 1.0, AMBIENT_K, 2000.0).unwrap();
    let (axis, rim) = (
        heat.thermometer([0.0, 0.001], 1).unwrap().read(&found.temperature_k),
        heat.thermometer([0.02, 0.001], 1).unwrap().read(&found.temperature_k),
    );
    assert!((axis - rim - 20.0).abs() < 1e-9, "{axis} {rim}");
    // The film's own rise: q r / 2h.
    assert!((rim - AMBIENT_K - 1e5 * 0.02 / 1000.0).abs() < 1e-9);
    close(found.flows.generated_w, 1e5 * PI * 0.02f64.powi(2) * 0.01, 1e-12);
    assert!(found.flows.imbalance().abs() < 1e-10, "{}", found.flows.imbalance());
    let hottest = heat.hottest(&found.temperature_k, 1).unwrap();
    assert!((hottest.kelvin - axis).abs() < 1e-9 && hottest.place[0] < 1e-12);
    // Mean of the parabola: half-way.
    assert!((heat.mean_k(&found.temperature_k, 1).unwrap() - 0.5 * (axis + rim)).abs() < 1e-9);
    close(found.flows.mean_k, heat.mean_k(&found.temperature_k, 1).unwrap(), 1e-12);
    assert_eq!(heat.thermometer([0.03, 0.0], 1), None);
    assert_eq!(heat.hottest(&found.temperature_k, BACKGROUND), None);
}

/// Winding annulus 10 to 25 mm, 1e5 W/m³, 0.5 W/(m K): insulated bore 17.08709 K; both faces at one
/// temperature: 5.752048 K at r = 16.92575 mm (closed form, T = A + B ln r - q r²/4k). A film of 1e9 W/(m² K)
/// holds a face.
#[test]
fn annulus() {
    let mesh = rings(&[0.01, 0.025], 0.0008, 3);
    let h = |_: f64| 1e9;
    let film = Film { ambient_k: AMBIENT_K, coefficient: &h };

    let outside = |side: &Side| shells(side).filter(|f| *f == 0);
    let mut heat = Heat::new(mesh.clone(), &[None, Some(hot(1e5))], &[], 1, outside).unwrap();
    let found = heat.steady(&[film], |_| 1.0, AMBIENT_K, 2000.0).unwrap();
    close(heat.hottest(&found.temperature_k, 1).unwrap().kelvin - AMBIENT_K, 17.08709, 1e-6);

    let mut heat = Heat::new(mesh, &[None, Some(hot(1e5))], &[], 2, shells).unwrap();
    let found = heat.steady(&[film, film], |_| 1.0, AMBIENT_K, 2000.0).unwrap();
    let at = |r: f64| heat.thermometer([r, 0.0], 1).unwrap().read(&found.temperature_k) - AMBIENT_K;
    close(at(0.016_925_75), 5.752_048, 1e-6);
    assert!(at(0.0164) < at(0.016_925_75) && at(0.0174) < at(0.016_925_75));
    // Heat splits at the hottest radius.
    let inner = PI * (0.016_925_75f64.powi(2) - 0.01f64.powi(2)) * 0.01 * 1e5;
    close(found.flows.given_w[1], inner, 1e-5);
    assert!(found.flows.imbalance().abs() < 1e-6);
}

/// A ball with uniform generation and a film: T₀ - Ts = q r²/6k, Ts - T∞ = q r/3h, surface 4 π r² (any text
/// on conduction). Sides on the circle are cubic: the area is good to 1e-7.
#[test]
fn ball() {
    let r = 0.02;
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 0.06);
    drawing.size_max_m = 0.004;
    let arc = Curve::Arc { centre: [0.0, 0.0], ccw: true };
    drawing.paint(1, Outline(vec![([0.0, -r], arc), ([0.0, r], Curve::Line)]));
    let mesh = Arc::new(Mesh::new(&drawing, 3).unwrap());
    let mut heat = Heat::new(mesh, &[None, Some(hot(1e5))], &[], 1, |_| Some(0)).unwrap();
    let h = |_: f64| 50.0;
    let found =
        heat.steady(&[Film { ambient_k: AMBIENT_K, coefficient: &h }], |_| 1.0, AMBIENT_K, 2000.0).unwrap();
    close(found.flows.given_w[0], 1e5 * 4.0 / 3.0 * PI * r.powi(3), 1e-6);
    close(found.flows.surface_k[0] - AMBIENT_K, 1e5 * r / 150.0, 1e-6);
    let centre = heat.thermometer([0.0, 0.0], 1).unwrap().read(&found.temperature_k);
    close(centre - found.flows.surface_k[0], 1e5 * r * r / 3.0, 1e-5);
    assert!(heat.thermometer([r / 2f64.sqrt(), r / 2f64.sqrt()], 1).is_some());
}

/// Two rings in contact: the jump is flow over conductance, and each ring has its logarithm (closed form of a
/// composite tube).
#[test]
fn contact_resistance() {
    let (a, b, c) = (0.01f64, 0.015f64, 0.02f64);
    let mesh = rings(&[a, b, c], 0.001, 3);
    let substances = [None, Some(Substance::plain(0.4, 2e6)), Some(Substance::plain(50.0, 3.8e6))];
    let contact = Contact { regions: [2, 1], conductance: 200.0 };
    let mut heat = Heat::new(mesh, &substances, &[contact], 2, shells).unwrap();
    let h = |_: f64| 1e9;
    let hot = Film { ambient_k: 393.15, coefficient: &h };
    let cold = Film { ambient_k: 293.15, coefficient: &h };
    let found = heat.steady(&[cold, hot], |_| 1.0, 293.15, 2000.0).unwrap();
    let length = 0.01;
    let resistance = (b / a).ln() / (2.0 * PI * 0.4 * length)
        + 1.0 / (2.0 * PI * b * length * 200.0)
        + (c / b).ln() / (2.0 * PI * 50.0 * length);
    let flow = 100.0 / resistance;
    close(found.flows.given_w[0], flow, 1e-6);
    close(found.flows.given_w[1], -flow, 1e-6);
    let at = |region| heat.thermometer([b, 0.0], region).unwrap().read(&found.temperature_k);
    close(at(1) - at(2), flow / (2.0 * PI * b * length * 200.0), 1e-6);
}

/// A contact that ends inside a body (a slit): both sides share the tip, and a perfect contact is no contact
/// at all.
#[test]
fn a_slit_with_a_tip() {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 0.06);
    drawing.size_max_m = 0.002;
    drawing.paint(1, Outline::rectangle([0.005, 0.02], [-0.01, 0.01]));
    drawing.paint(2, Outline::rectangle([0.010, 0.015], [0.0, 0.01]));
    drawing.paint(3, Outline::rectangle([0.010, 0.015], [0.0, 0.004]));
    let mesh = Arc::new(Mesh::new(&drawing, 2).unwrap());
    let s = Some(hot(1e5));
    let h = |_: f64| 50.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }; 2];
    let solve = |contacts: &[Contact]| {
        let mut heat = Heat::new(mesh.clone(), &[None, s, s, s], contacts, 2, shells).unwrap();
        let found = heat.steady(&films, |_| 1.0, AMBIENT_K, 2000.0).unwrap();
        (heat.hottest(&found.temperature_k, 2).unwrap().kelvin, heat.unknowns())
    };
    let (whole, n) = solve(&[]);
    let (bonded, more) = solve(&[Contact { regions: [1, 2], conductance: 1e9 }]);
    let (loose, _) = solve(&[Contact { regions: [1, 2], conductance: 20.0 }]);
    assert!(more > n);
    assert!((whole - bonded).abs() < 1e-4, "{whole} {bonded}");
    assert!(loose > whole + 0.5, "{loose} {whole}");
}

/// A well-conducting body (Biot number 1e-4) with generation that grows with temperature: ΔT = q V/(h A - α q
/// V), and no steady state from α q V = h A on.
#[test]
fn growth_with_temperature_and_runaway() {
    let mesh = rings(&[0.0, 0.02], 0.005, 2);
    let substance = Substance {
        conductivity: [2000.0; 2],
        generation: 1e5,
        temperature_coefficient: 0.00393,
        reference_k: AMBIENT_K,
        ..Substance::plain(1.0, 2e6)
    };
    let mut heat = Heat::new(mesh, &[None, Some(substance)], &[], 1, shells).unwrap();
    let (q_v, area) = (1e5 * PI * 0.0004 * 0.01, 2.0 * PI * 0.02 * 0.01);
    let critical = 0.00393 * q_v / area;
    let steady = |heat: &mut Heat, h: f64| {
        let h = move |_: f64| h;
        heat.steady(&[Film { ambient_k: AMBIENT_K, coefficient: &h }], |_| 1.0, AMBIENT_K, 2000.0)
    };
    for above in [1.2, 3.0] {
        let h = above * critical;
        let found = steady(&mut heat, h).unwrap();
        let rise = found.flows.surface_k[0] - AMBIENT_K;
        // The body is not quite of one temperature: a Biot number h r/k of 4e-5 times the gain 1/(above - 1).
        close(rise, q_v / (h * area - 0.00393 * q_v), 5e-4);
        assert!(found.flows.imbalance().abs() < 1e-9);
    }
    assert_eq!(steady(&mut heat, 0.9 * critical), Err(HeatError::Runaway { ceiling_k: 2000.0 }));
    assert_eq!(steady(&mut heat, 0.0), Err(HeatError::Runaway { ceiling_k: 2000.0 }));
    // A million times as much heat warms it within a millisecond, and is as much a runaway.
    let h = |_: f64| critical;
    let film = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let strong = heat.steady(&film, |_| 1e6, AMBIENT_K, 2000.0);
    assert_eq!(strong, Err(HeatError::Runaway { ceiling_k: 2000.0 }));
}

/// The same body with power that falls as its mean rises, f = 1/(1 + α ΔT)², as at constant voltage: ΔT (1 +
/// α ΔT) = q V/h A.
#[test]
fn power_that_follows_the_mean_temperature() {
    let alpha = 0.00393;
    let mesh = rings(&[0.0, 0.02], 0.005, 2);
    let substance = Substance {
        conductivity: [2000.0; 2],
        generation: 1e5,
        temperature_coefficient: alpha,
        reference_k: AMBIENT_K,
        ..Substance::plain(1.0, 2e6)
    };
    let mut heat = Heat::new(mesh, &[None, Some(substance)], &[], 1, shells).unwrap();
    let h = |_: f64| 10.0;
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let drive = |mean: f64| (1.0 + alpha * (mean - AMBIENT_K)).powi(-2);
    let found = heat.steady(&films, drive, AMBIENT_K, 2000.0).unwrap();
    let rise = found.flows.mean_k - AMBIENT_K;
    close(rise * (1.0 + alpha * rise), 1e5 * 0.02 / 2.0 / 10.0, 1e-4);
    close(found.flows.factor, (1.0 + alpha * rise).powi(-2), 1e-12);
}

/// Free convection with its power law: h = c ΔT^¼, so ΔT = (q V/c A)^⅘. Its derivative is infinite at no
/// difference.
#[test]
fn a_film_with_a_power_law() {
    let mesh = rings(&[0.0, 0.02], 0.005, 2);
    let substance = Substance { conductivity: [2000.0; 2], ..hot(1e5) };
    let mut heat = Heat::new(mesh, &[None, Some(substance)], &[], 1, shells).unwrap();
    let h = |t: f64| 2.0 * (t - AMBIENT_K).abs().powf(0.25);
    let films = [Film { ambient_k: AMBIENT_K, coefficient: &h }];
    let found = heat.steady(&films, |_| 1.0, AMBIENT_K, 2000.0).unwrap();
    close(found.flows.surface_k[0] - AMBIENT_K, (1e5f64 * 0.02 / 2.0 / 2.0).powf(0.8), 1e-9);
}

/// Anisotropic conduction: u = cos(p x) cosh(m y) with kx p² = ky m² carries no source. The mirror and the
/// lower side are natural; films hold the rest at the right flux: h = -k u_n/u is constant on each side.
#[test]
fn anisotropic_conduction() {
    let (a, b, kx, ky) = (0.01f64, 0.008f64, 2.0f64, 0.5f64);
    let p: f64 = 60.0;
    let m = p * (kx / ky).sqrt();
    let mut drawing =
        Drawing::new(Symmetry::PlanarHalf(coilwright_fem::drawing::Mirror::FluxStays), [0.0, 0.0], 0.03);
    drawing.size_max_m = 0.001;
    drawing.paint(1, Outline::rectangle([0.0, a], [0.0, b]));
    let mesh = Arc::new(Mesh::new(&drawing, 3).unwrap());
    let s = Substance { conductivity: [kx, ky], ..Substance::plain(1.0, 1e6) };
    let side = |side: &Side| {
        if side.outward[0] > 0.9 {
            Some(0)
        } else if side.outward[1] > 0.9 {
            Some(1)
        } else {
            None
        }
    };
    let mut heat = Heat::new(mesh, &[None, Some(s)], &[], 2, side).unwrap();
    // Right side: -kx u_x = kx p tan(p a) u, to 0 K. Top: heat flows in, held at its mean by a film to a hot
    // ambient: only the flux profile differs, so the whole is compared through the flux balance and one point
    // against the slab average.
    let right = move |_: f64| kx * p * (p * a).tan();
    let top = |_: f64| 1e9;
    let hot = 400.0;
    let films = [Film { ambient_k: 300.0, coefficient: &right }, Film { ambient_k: hot, coefficient: &top }];
    let found = heat.steady(&films, |_| 1.0, 300.0, 2000.0).unwrap();
    // Series solution of the strip with a Robin side and a uniform top: Σ C_n cos(p_n x) cosh(m_n y)/cosh(m_n
    // b), p_n tan(p_n a) = h/kx, C_n = 4 sin(p_n a)/(2 p_n a + sin(2 p_n a)) (Carslaw and Jaeger, section
    // 5.3).
    let series = |x: f64, y: f64| {
        let target = right(0.0) / kx;
        (0..60)
            .map(|n| {
                let (mut low, mut high) = (f64::from(n) * PI / a, (f64::from(n) + 0.5) * PI / a);
                for _ in 0..200 {
                    let middle = 0.5 * (low + high);
                    if middle * (middle * a).tan() < target { low = middle } else { high = middle }
                }
                let (p, m) = (low, low * (kx / ky).sqrt());
                let c = 4.0 * (p * a).sin() / (2.0 * p * a + (2.0 * p * a).sin());
                c * (p * x).cos() * (m * y).cosh() / (m * b).cosh()
            })
            .sum::<f64>()
    };
    assert!(m > 0.0);
    for (x, y) in [(0.0, 0.0), (0.004, 0.002), (0.009, 0.001), (0.002, 0.006)] {
        let got = heat.thermometer([x, y], 1).unwrap().read(&found.temperature_k);
        let want = 300.0 + (hot - 300.0) * series(x, y);
        assert!((got - want).abs() < 1e-3, "({x}, {y}): {got} for {want}");
    }
}

#[test]
fn impossible_input_is_refused() {
    let mesh = rings(&[0.0, 0.02], 0.005, 2);
    let refused = |s: Substance, c: &[Contact], films| {
        Heat::new(mesh.clone(), &[None, Some(s)], c, films, |_| Some(0)).unwrap_err()
    };
    let good = hot(1e5);
    assert_eq!(refused(Substance { heat_capacity: 0.0, ..good }, &[], 1), HeatError::Substance { region: 1 });
    assert_eq!(refused(Substance { generation: -1.0, ..good }, &[], 1), HeatError::Substance { region: 1 });
    let loose = Contact { regions: [1, 2], conductance: 0.0 };
    assert_eq!(refused(good, &[loose], 1), HeatError::Contact(0.0));
    assert_eq!(refused(good, &[], 0), HeatError::NoFilm(0));
    assert_eq!(Heat::new(mesh.clone(), &[None], &[], 0, |_| None).unwrap_err(), HeatError::Nothing);
    let mut heat = Heat::new(mesh, &[None, Some(good)], &[], 1, |_| Some(0)).unwrap();
    let bad = |_: f64| f64::NAN;
    let films = [Film { ambient_k: 293.15, coefficient: &bad }];
    assert!(matches!(heat.steady(&films, |_| 1.0, 293.15, 2000.0), Err(HeatError::Film { film: 0, .. })));
    let fine = |_: f64| 10.0;
    let films = [Film { ambient_k: 293.15, coefficient: &fine }];
    assert_eq!(heat.steady(&films, |_| -1.0, 293.15, 2000.0), Err(HeatError::Factor(-1.0)));
    assert_eq!(heat.steady(&[], |_| 1.0, 293.15, 2000.0), Err(HeatError::NoFilm(0)));
}
