//! What is left after switch-off, and what a backup must hold.

use coilwright_magnet::circuit::backup::*;
use coilwright_magnet::circuit::curve::*;
use coilwright_magnet::circuit::residual::*;
use coilwright_magnet::circuit::*;
use proptest::prelude::*;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want}");
}

/// 8 W for 20 min at efficiency 0.9, depth 0.8 and 80 % left at the end of life: 2.667 Wh at the coil, 4.63
/// Wh of nameplate; the ageing factor 1/0.8 = 1.25 of IEEE 485 (from memory).
#[test]
fn a_nameplate_counts_every_share_once() {
    let shares = Shares { depth: 0.8, ageing: 0.8, rate: 1.0, margin: 1.0 };
    let need = shares.nameplate_j(9600.0 / 0.9).unwrap();
    close(need, 9600.0 / (0.9 * 0.8 * 0.8), 1e-12);
    close(need / 3600.0, 4.63, 1e-3);
    close(shares.usable_j(need).unwrap(), 9600.0 / 0.9, 1e-12);
    let wary = Shares { margin: 1.25, ..shares };
    close(wary.nameplate_j(9600.0).unwrap(), 1.25 * shares.nameplate_j(9600.0).unwrap(), 1e-12);
    for wrong in [
        Shares { depth: 0.0, ..shares },
        Shares { depth: 1.1, ..shares },
        Shares { ageing: f64::NAN, ..shares },
        Shares { margin: 0.9, ..shares },
    ] {
        assert!(matches!(wrong.nameplate_j(1.0), Err(SwitchError::Value { .. })), "{wrong:?}");
    }
    assert!(shares.usable_j(-1.0).is_err());
}

/// A fixed load, in `parts` steps up to `end_s`.
fn fixed(ohm: f64, end_s: f64, parts: u32) -> Vec<(f64, f64)> {
    (0..=parts).map(|k| (end_s * f64::from(k) / f64::from(parts), ohm)).collect()
}

/// A resistance that rises as R₀ (1 + b t): s, Ω.
fn rising(ohm: f64, rate: f64, end_s: f64, parts: u32) -> Vec<(f64, f64)> {
    fixed(1.0, end_s, parts).iter().map(|(t, _)| (*t, ohm * (1.0 + rate * t))).collect()
}

/// Closed forms: on a fixed resistance a converter lasts t = E η / P with P = V²/R; on one that rises as R₀ (1 + b t)
/// the energy is V² ln(1 + b t) / (b R₀ η).
#[test]
fn a_converter_lasts_energy_over_power() {
    let converter = Converter { voltage_v: 24.0, usable_j: 36_000.0, efficiency: 0.9 };
    let store = Store::Converter(converter);
    let power = 24.0 * 24.0 / 48.0;
    let end = 36_000.0 * 0.9 / power;
    let d = store.discharge(&fixed(48.0, 1e4, 7)).unwrap();
    close(d.spent_s.unwrap(), end, 1e-12);
    close(*d.time_s.last().unwrap(), end, 1e-12);
    close(*d.drawn_j.last().unwrap(), 36_000.0, 1e-12);
    close(*d.delivered_j.last().unwrap(), 36_000.0 * 0.9, 1e-12);
    close(store.about_s(48.0), end, 1e-12);
    assert!(d.voltage_v.iter().all(|v| *v == 24.0) && d.current_a.iter().all(|i| *i == 0.5));

    let rate = 1e-4;
    let warming = store.discharge(&rising(48.0, rate, 1e4, 3)).unwrap();
    close(warming.spent_s.unwrap(), ((rate * end).exp() - 1.0) / rate, 1e-12);
    let short = store.discharge(&rising(48.0, rate, 1000.0, 3)).unwrap();
    assert_eq!(short.spent_s, None);
    close(*short.drawn_j.last().unwrap(), 576.0 * 1.1f64.ln() / (rate * 48.0 * 0.9), 1e-12);
}

const LEAD: Battery =
    Battery { full_v: 12.7, flat_v: 11.7, cut_off_v: 10.5, charge_c: 3600.0, depth: 0.8, internal_ohm: 0.1 };

/// Closed form: with an open-circuit voltage linear in the charge drawn, dq/dt = (U − s q)/(R + Rᵢ) with s the sag per
/// charge, so the current falls as exp(−s t/(R + Rᵢ)), and the charge q is drawn after (R + Rᵢ)/s · ln(U/(U − s q)).
/// On a resistance that makes R + Rᵢ = A (1 + b t), as the power (1 + b t)^(−s/(A b)).
#[test]
fn a_battery_sags() {
    let stiff = Battery { flat_v: 12.7, ..LEAD };
    let d = Store::Battery(stiff).discharge(&fixed(12.6, 1e5, 5)).unwrap();
    close(d.spent_s.unwrap(), 0.8 * 3600.0, 1e-12);
    assert!(d.current_a.iter().all(|i| (i - 1.0).abs() < 1e-12));

    let (all, sag) = (12.1, 1.0 / 3600.0);
    let d = Store::Battery(LEAD).discharge(&fixed(12.0, 1e5, 50)).unwrap();
    close(d.spent_s.unwrap(), all / sag * (12.7f64 / (12.7 - 0.8)).ln(), 1e-12);
    for (t, i) in d.time_s.iter().zip(&d.current_a) {
        close(*i, 12.7 / all * (-sag * t / all).exp(), 1e-12);
    }
    close(*d.voltage_v.last().unwrap(), 11.9 * 12.0 / all, 1e-12);
    // Energy: the mean open-circuit voltage times the charge, of which the load takes its share.
    close(*d.drawn_j.last().unwrap(), 12.3 * 0.8 * 3600.0, 1e-12);
    close(*d.delivered_j.last().unwrap(), 12.3 * 0.8 * 3600.0 * 12.0 / all, 1e-12);

    let (a, b) = (10.0, 2e-4);
    let load: Vec<(f64, f64)> = rising(a, b, 2000.0, 4).iter().map(|(t, r)| (*t, r - 0.1)).collect();
    let d = Store::Battery(LEAD).discharge(&load).unwrap();
    for (t, i) in d.time_s.iter().zip(&d.current_a) {
        let open = 12.7 * (1.0 + b * t).powf(-sag / (a * b));
        close(*i, open / (a * (1.0 + b * t)), 1e-12);
    }
}

/// Cut off when the terminals fall to the voltage set: at U R/(R + Rᵢ), in closed form.
#[test]
fn a_battery_is_cut_off() {
    let weak = Store::Battery(Battery { internal_ohm: 1.0, cut_off_v: 11.5, ..LEAD });
    let d = weak.discharge(&fixed(12.0, 1e5, 9)).unwrap();
    let at = 11.5 * 13.0 / 12.0;
    close(d.spent_s.unwrap(), 13.0 * 3600.0 * (12.7f64 / at).ln(), 1e-9);
    close(*d.voltage_v.last().unwrap(), 11.5, 1e-9);
    // Too much for it from the first moment.
    let d = weak.discharge(&fixed(5.0, 1e5, 9)).unwrap();
    assert_eq!((d.spent_s, d.time_s.len()), (Some(0.0), 1));
}

#[test]
fn stores_and_loads_that_cannot_be() {
    let load = fixed(12.0, 100.0, 2);
    for wrong in [
        Battery { flat_v: 13.0, ..LEAD },
        Battery { depth: 1.2, ..LEAD },
        Battery { charge_c: 0.0, ..LEAD },
        Battery { internal_ohm: -0.1, ..LEAD },
    ] {
        assert!(
            matches!(Store::Battery(wrong).discharge(&load), Err(SwitchError::Value { .. })),
            "{wrong:?}"
        );
    }
    let converter = Converter { voltage_v: 24.0, usable_j: 1.0, efficiency: 1.2 };
    assert!(Store::Converter(converter).discharge(&load).is_err());
    for wrong in [vec![(0.0, 12.0)], vec![(0.0, 12.0), (0.0, 12.0)], vec![(0.0, 12.0), (1.0, 0.0)]] {
        assert!(Store::Battery(LEAD).discharge(&wrong).is_err(), "{wrong:?}");
    }
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

/// Flux adds and pull grows with its square: where the iron keeps a tenth of the flux, a field that has lost half of the rest is
/// at 0.55 of it, with 0.3025 of the pull (arithmetic).
#[test]
fn a_field_fades_to_what_the_iron_keeps() {
    close(fading_to(1.0, 100.0, 25.0), 30.25, 1e-12);
    close(as_if_nothing_were_left(1.0, 100.0, 30.25).unwrap(), 25.0, 1e-12);
    close(fading_to(1.0, 100.0, 0.0), 1.0, 1e-12);
    close(fading_to(1.0, 100.0, 100.0), 100.0, 1e-12);
    close(fading_to(9.0, 4.0, 4.0), 9.0, 1e-12);
    assert_eq!(as_if_nothing_were_left(1.0, 100.0, 0.9), None);
}
