//! Order of convergence: fitted over uniform refinements on problems with an exact solution, and asserted.

use coilwright_fem::drawing::{Curve, Drawing, Mirror, Outline, Point, Symmetry};
use coilwright_fem::field::Probe;
use coilwright_fem::law::{Law, LawPoint, MU_0, Medium};
use coilwright_fem::magnetostatics::{Magnetostatics, Solution, Tolerance};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::sync::Arc;

fn half_disc(radius: f64) -> Outline {
    let arc = Curve::Arc { centre: [0.0, 0.0], ccw: true };
    Outline(vec![([0.0, -radius], arc), ([0.0, radius], Curve::Line)])
}

/// Root mean square of |B − exact| over a half-ring of radii, at Gauss points in the radius and midpoints in the angle.
fn error_in_ring(s: &Solution, radii: [f64; 2], exact: impl Fn(Point) -> Point) -> f64 {
    let probe = Probe::new(s);
    let (across, round) = (40, 120);
    let (mut sum, mut all) = (0.0, 0.0);
    for i in 0..across {
        let r = radii[0] + (radii[1] - radii[0]) * (i as f64 + 0.5) / across as f64;
        for j in 0..round {
            let (sin, cos) = (PI * ((j as f64 + 0.5) / round as f64 - 0.5)).sin_cos();
            let p = [r * cos, r * sin];
            let (got, want) = (probe.at(p).b_t, exact(p));
            sum += r * ((got[0] - want[0]).powi(2) + (got[1] - want[1]).powi(2));
            all += r;
        }
    }
    (sum / all).sqrt()
}

/// Slope of log(error) against log(1/h), least squares; h halves from one to the next.
fn order(errors: &[f64]) -> f64 {
    let n = errors.len() as f64;
    let x = |k: usize| k as f64 * 2f64.ln();
    let y = |k: usize| -errors[k].ln();
    let mean = |f: &dyn Fn(usize) -> f64| (0..errors.len()).map(f).sum::<f64>() / n;
    let (mx, my) = (mean(&x), mean(&y));
    let top: f64 = (0..errors.len()).map(|k| (x(k) - mx) * (y(k) - my)).sum();
    top / (0..errors.len()).map(|k| (x(k) - mx).powi(2)).sum::<f64>()
}

#[test]
fn probe_sphere() {
    let a = 20e-3;
    let br = 1.2;
    for p in 1..=4 {
        let (mut fe, mut ee) = (vec![], vec![]);
        for k in 0..5 {
            let mut d = Drawing::new(Symmetry::Axial, [0.0, 0.0], 40e-3);
            d.size_max_m = 8e-3 / f64::powi(2.0, k);
            d.paint(1, half_disc(a));
            let media = Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_remanence([0.0, br])]);
            let mesh = Mesh::new(&d, p).unwrap();
            let n = mesh.element_count();
            let s = Magnetostatics::new(mesh).unwrap().solve(media, 0.0, None, Tolerance::default()).unwrap();
            let m = br / 3.0 * a.powi(3);
            let exact = |q: Point| { let r = q[0].hypot(q[1]); let c = m / r.powi(5); [3.0 * c * q[0] * q[1], c * (3.0 * q[1] * q[1] - r * r)] };
            let e = error_in_ring(&s, [1.1 * a, 1.9 * a], exact);
            let w = br * br * (4.0 / 3.0 * PI * a.powi(3)) / (6.0 * MU_0);
            let de = (s.energies().0 / w - 1.0).abs();
            println!("p {p} n {n} field {e:.3e} energy {de:.3e} signed {:.2e}", s.energies().0 / w - 1.0);
            fe.push(e); ee.push(de);
        }
        println!("p {p}: field {:.2} energy {:.2}", order(&fe), order(&ee));
    }
}

#[derive(Debug)]
struct Quartic { mu_r: f64, knee_t: f64 }
impl Law for Quartic {
    fn at(&self, b: f64) -> LawPoint {
        let nu = 1.0 / (self.mu_r * MU_0);
        let u = (b / self.knee_t).powi(4);
        LawPoint { reluctivity: nu * (1.0 + u), slope: nu * (1.0 + 5.0 * u), energy: nu * b * b * (0.5 + u / 6.0) }
    }
}

#[test]
fn probe_cable() {
    let radii = [5e-3, 8e-3, 16e-3, 20e-3, 24e-3];
    let i = 2000.0;
    for p in 1..=4 {
        let (mut fe, mut ee) = (vec![], vec![]);
        for k in 0..5 {
            let mut d = Drawing::new(Symmetry::PlanarHalf(Mirror::FluxNormal), [0.0, 0.0], 40e-3);
            d.size_max_m = 6e-3 / f64::powi(2.0, k);
            for (n, region) in [(4, 4), (3, 3), (2, 2), (1, 3), (0, 1)] { d.paint(region, half_disc(radii[n])); }
            // region: 1 wire, 2 iron, 3 space, 4 return
            let [a, b, c, dd, e] = radii;
            let area = |lo: f64, hi: f64| PI * (hi * hi - lo * lo);
            let iron = Quartic { mu_r: 50.0, knee_t: 1.0 };
            let media = Arc::new(vec![Medium::vacuum(), Medium::vacuum().with_current_density(i / area(0.0, a)), Medium::of(Quartic { mu_r: 50.0, knee_t: 1.0 }), Medium::vacuum(), Medium::vacuum().with_current_density(-i / area(dd, e))]);
            let mesh = Mesh::new(&d, p).unwrap();
            let n = mesh.element_count();
            let s = Magnetostatics::new(mesh).unwrap().solve(media, 0.0, None, Tolerance { correction: 1e-7, steps: 60 }).unwrap();
            let b_of = |r: f64| { let h = i / (2.0 * PI * r); let mut x = 1.0; for _ in 0..100 { let l = iron.at(x); x -= (l.reluctivity * x - h) / l.slope; } x };
            // J into the page: B = (-dA/dy, dA/dx); A falls outwards
            let exact = |q: Point| { let r = q[0].hypot(q[1]); let m = b_of(r); [m * q[1] / r, -m * q[0] / r] };
            let err = error_in_ring(&s, [1.05 * b, 0.95 * c], exact);
            let en = s.energies().0;
            fe.push(err); ee.push(en);
            println!("p {p} n {n} steps {} field {err:.3e} energy {en:.12}", s.steps);
        }
        let last = *ee.last().unwrap();
        println!("p {p}: field {:.2} {last}", order(&fe));
    }
}
