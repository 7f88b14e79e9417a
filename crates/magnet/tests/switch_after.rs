//! What is left after switch-off, and what a backup must hold.

use coilwright_magnet::switch::*;
use proptest::prelude::*;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want}");
}

/// 8 W for 20 min at efficiency 0.9, depth 0.8 and 80 % left at the end of life: 2.667 Wh at the coil, 4.63
/// Wh of nameplate; the ageing factor 1/0.8 = 1.25 of IEEE 485 (from memory).
#[test]
fn backup_energy_counts_every_factor() {
    let hold = Backup {
        power_w: 8.0,
        hold_s: 1200.0,
        efficiency: 0.9,
        depth_of_discharge: 0.8,
        ageing: 0.8,
        margin: 1.0,
    };
    let need = hold.need().unwrap();
    close(need.at_coil_j, 9600.0, 1e-12);
    close(need.nameplate_watt_hours(), 8.0 / 3.0 / (0.9 * 0.8 * 0.8), 1e-12);
    close(hold.holds_s(need.nameplate_j).unwrap(), 1200.0, 1e-12);
    let wary = Backup { margin: 1.25, ..hold };
    close(wary.need().unwrap().nameplate_j, 1.25 * need.nameplate_j, 1e-12);
    for wrong in [
        Backup { efficiency: 1.1, ..hold },
        Backup { depth_of_discharge: 0.0, ..hold },
        Backup { ageing: f64::NAN, ..hold },
        Backup { margin: 0.9, ..hold },
        Backup { power_w: -1.0, ..hold },
    ] {
        assert!(matches!(wrong.need(), Err(SwitchError::Value { .. })), "{wrong:?}");
    }
}

/// Closed forms: without sag the time is charge over current; with it the charge drawn is the integral of the
/// current.
#[test]
fn a_battery_sags() {
    let stiff = Battery { full_v: 12.0, empty_v: 12.0, charge_c: 3600.0, internal_ohm: 1.0 };
    close(stiff.lasts_s(11.0).unwrap(), 3600.0, 1e-12);
    close(stiff.current_after(11.0, 1000.0).unwrap().unwrap(), 1.0, 1e-12);

    let soft = Battery { full_v: 12.7, empty_v: 10.8, charge_c: 3600.0, internal_ohm: 0.1 };
    let lasts = soft.lasts_s(12.0).unwrap();
    close(soft.current_after(12.0, 0.0).unwrap().unwrap(), 12.7 / 12.1, 1e-12);
    close(soft.current_after(12.0, lasts).unwrap().unwrap(), 10.8 / 12.1, 1e-9);
    assert_eq!(soft.current_after(12.0, 1.001 * lasts).unwrap(), None);
    let n = 2000;
    let charge: f64 = (0..n)
        .map(|k| soft.current_after(12.0, (f64::from(k) + 0.5) * lasts / f64::from(n)).unwrap().unwrap())
        .sum::<f64>()
        * lasts
        / f64::from(n);
    close(charge, 3600.0, 1e-7);
    let wrong = Battery { empty_v: 13.0, ..soft };
    assert!(matches!(wrong.lasts_s(12.0), Err(SwitchError::Value { .. })));
}

#[test]
fn pull_left_follows_the_current() {
    let pull = Curve::new(vec![0.0, 1.0, 2.0], vec![0.0, 100.0, 300.0]).unwrap();
    close(pull_at(&pull, 12.0, 12.0).unwrap(), 100.0, 1e-12);
    assert!(matches!(pull_at(&pull, 36.0, 12.0), Err(SwitchError::BeyondTable { .. })));
}

/// Limits in closed form: without a gap the iron keeps its remanence; with a wide one B = µ0 Hc l / (A g
/// (1/A₁ + 1/A₂)).
#[test]
fn residual_pull_has_the_right_limits() {
    let mu0 = 4e-7 * std::f64::consts::PI;
    let area = 3.14e-4;
    let circuit = ResidualCircuit {
        iron_path_m: 0.12,
        iron_area_m2: area,
        pole_areas_m2: [area, area],
        gap_m: 0.0,
        gap_factor: 1.0,
        remanence_t: 0.9,
    };
    let iron = Coercivity { value: 200.0, low: 100.0, high: 400.0 };
    let shut = residual_pull(&circuit, &iron).unwrap();
    close(shut.flux_density_t, 0.9, 1e-12);
    // Maxwell's stress: 0.9² / 2µ0 on both faces.
    close(shut.value_n, 0.81 / (2.0 * mu0) * 2.0 * area, 1e-12);
    assert_eq!((shut.low_n, shut.high_n), (shut.value_n, shut.value_n));

    let wide = residual_pull(&ResidualCircuit { gap_m: 0.01, gap_factor: 2.0, ..circuit }, &iron).unwrap();
    close(wide.flux_density_t, mu0 * 200.0 * 0.12 / (2.0 * 0.01), 0.01);
    assert!(wide.low_n < wide.value_n && wide.value_n < wide.high_n);
    // Twice the coercivity and half the gap: sixteen times the pull.
    close(wide.high_n / wide.value_n, 16.0, 0.05);
}

/// Trade practice: 5 to 20 % or more of the rated pull in full contact, much less with a spacer of 0.1 mm
/// (common practice, no source). Rated here: 1.5 T on both faces.
#[test]
fn residual_pull_is_of_the_usual_order() {
    let mu0 = 4e-7 * std::f64::consts::PI;
    let area = 3.14e-4;
    let circuit = ResidualCircuit {
        iron_path_m: 0.12,
        iron_area_m2: area,
        pole_areas_m2: [area, area],
        gap_m: 30e-6,
        gap_factor: 2.0,
        remanence_t: 0.9,
    };
    let rated = 1.5f64.powi(2) / (2.0 * mu0) * 2.0 * area;
    let contact = residual_pull(&circuit, &Coercivity::UNKNOWN_STEEL).unwrap();
    assert!(contact.low_n < 0.20 * rated && contact.high_n > 0.05 * rated, "{contact:?} of {rated}");
    let spaced =
        residual_pull(&ResidualCircuit { gap_m: 130e-6, ..circuit }, &Coercivity::UNKNOWN_STEEL).unwrap();
    assert!(spaced.value_n < 0.2 * contact.value_n);
    let banded = Coercivity::with_band(100.0, 90.0);
    close(banded.low, 100.0 / 3.0, 1e-12);
    close(banded.high, 190.0, 1e-12);
    assert!(residual_pull(&ResidualCircuit { gap_factor: 0.5, ..circuit }, &banded).is_err());
}

proptest! {
    /// A monotone table makes a monotone curve that passes through its points and that its inverse undoes.
    #[test]
    fn curves_are_monotone(steps in prop::collection::vec((0.01f64..1.0, 0.0f64..2.0), 2..12)) {
        let (mut x, mut y) = (vec![0.0], vec![0.0]);
        for (dx, dy) in steps {
            x.push(x[x.len() - 1] + dx);
            y.push(y[y.len() - 1] + dy);
        }
        let curve = Curve::new(x.clone(), y.clone()).unwrap();
        for (x, y) in x.iter().zip(&y) {
            prop_assert!((curve.value(*x).unwrap() - y).abs() < 1e-12);
        }
        let end = x[x.len() - 1];
        let mut last = 0.0;
        for k in 0..=500 {
            let at = (end * f64::from(k) / 500.0).min(end);
            let v = curve.value(at).unwrap();
            prop_assert!(v >= last - 1e-12, "{v} after {last}");
            prop_assert!(curve.derivative(at).unwrap() >= -1e-9);
            last = v;
            let back = curve.inverse(v.min(y[y.len() - 1])).unwrap();
            prop_assert!((curve.value(back).unwrap() - v).abs() < 1e-9);
        }
        prop_assert_eq!(curve.value(end + 0.1), None);
        prop_assert_eq!(curve.value(f64::NAN), None);
    }
}
