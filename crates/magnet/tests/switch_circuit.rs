//! Switching against the closed forms of a linear coil and an independent integration of a saturating one.

use coilwright_magnet::circuit::coil::*;
use coilwright_magnet::circuit::curve::*;
use coilwright_magnet::circuit::events::*;
use coilwright_magnet::circuit::*;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want}");
}

const L: f64 = 0.5;
const R: f64 = 12.0;

/// 0.5 H and 12 Ω, straight up to 10 A.
fn linear() -> Coil {
    Coil::new(vec![0.0, 3.0, 10.0], vec![0.0, 1.5, 5.0], R).expect("a straight table")
}

/// λ = 0.8 atan(i) + 0.02 i: a coil that saturates.
fn saturating() -> Coil {
    let i: Vec<f64> = (0..=60).map(|k| f64::from(k) * 0.1).collect();
    let linkage = i.iter().map(|i| 0.8 * i.atan() + 0.02 * i).collect();
    Coil::new(i, linkage, 6.0).expect("a rising table")
}

/// i = V/R (1 - e^(-t R/L)): the times to a share s are -L/R ln(1 - s).
#[test]
fn turn_on_of_a_linear_coil() {
    let on = turn_on(&linear(), 24.0, 0.0).unwrap();
    close(on.final_a, 2.0, 1e-14);
    for (share, t) in &on.times_s {
        close(*t, -L / R * (1.0 - share).ln(), 1e-12);
    }
    for (t, i) in on.transient.time_s.iter().zip(&on.transient.current_a).skip(1) {
        close(*i, 2.0 * (1.0 - (-t * R / L).exp()), 1e-9);
    }
    assert!(on.transient.energies.imbalance() < 1e-12);
    // Lead resistance: lower current, shorter time constant, less voltage at the coil.
    let led = turn_on(&linear(), 24.0, 4.0).unwrap();
    close(led.final_a, 1.5, 1e-14);
    close(led.times_s[2].1, L / (R + 4.0), 1e-12);
    close(*led.transient.terminal_v.last().unwrap(), 24.0 - 4.0 * 0.999 * 1.5, 1e-12);
}

/// Stored energy ½ L i², and Fitzgerald and Umans's example 1.1 core (0.56068 H, 0.8026 A: 0.18058 J;
/// textbook 0.56 H and 0.18 J, from memory).
#[test]
fn stored_energy_of_a_linear_coil() {
    close(linear().stored_energy(2.0).unwrap(), 1.0, 1e-12);
    let core = Coil::new(vec![0.0, 1.0], vec![0.0, 0.560_68], 1.0).unwrap();
    close(core.stored_energy(0.802_60).unwrap(), 0.180_58, 1e-4);
}

/// Free-wheel diode without drop, clamp and resistor: L/R ln(...) in closed form.
#[test]
fn turn_off_of_a_linear_coil() {
    let pull = Curve::new(vec![0.0, 1.0, 2.0, 4.0], vec![0.0, 1.0, 4.0, 16.0]).unwrap();
    let i0 = 2.0;

    // Clamp at V: zero after (L/R) ln(1 + I R/V); peak V.
    let zener = turn_off(&linear(), i0, 24.0, Clamp::Zener { voltage_v: 48.0 }, None).unwrap();
    close(*zener.transient.time_s.last().unwrap(), L / R * (1.0 + i0 * R / 48.0).ln(), 1e-12);
    assert_eq!(*zener.transient.current_a.last().unwrap(), 0.0);
    close(zener.peak_coil_v, 48.0, 1e-12);
    close(zener.peak_switch_v, 72.0, 1e-12);
    // Clamp energy V ∫ i dt = V/R (L I - V t).
    let t = L / R * (1.0f64 + i0 * R / 48.0).ln();
    close(zener.clamp_j, 48.0 / R * (L * i0 - 48.0 * t), 1e-10);
    close(zener.clamp_j + zener.coil_j, zener.stored_j, 1e-12);
    close(zener.stored_j, 0.5 * L * i0 * i0, 1e-12);

    // Ideal diode: e^(-t R/L); all the energy heats the coil. 3 τ to 5 % of the current.
    let ideal = turn_off(&linear(), i0, 24.0, Clamp::Diode { forward_v: 0.0 }, None).unwrap();
    close(ideal.coil_j, ideal.stored_j * (1.0 - 1e-6), 1e-9);
    let around = Loop { voltage_v: 0.0, resistance_ohm: 0.0 };
    close(linear().time_between(around, i0, 0.05 * i0).unwrap(), -(0.05f64.ln()) * L / R, 1e-12);

    // Resistor: peak I Rx, energy shared as the resistances.
    let off =
        turn_off(&linear(), i0, 24.0, Clamp::Resistor { resistance_ohm: 100.0 }, Some((&pull, 1.0))).unwrap();
    close(off.peak_coil_v, 200.0, 1e-12);
    close(off.clamp_j / off.coil_j, 100.0 / R, 1e-10);
    // Pull falls below 1 N at 1 A: half the current, ln 2 time constants.
    let Some(Release::After { time_s, current_a }) = off.release else { panic!("{:?}", off.release) };
    close(current_a, 1.0, 1e-12);
    close(time_s, L / (R + 100.0) * 2f64.ln(), 1e-10);

    // A diode with drop is a clamp of its forward voltage.
    let diode = turn_off(&linear(), i0, 24.0, Clamp::Diode { forward_v: 0.8 }, None).unwrap();
    close(*diode.transient.time_s.last().unwrap(), L / R * (1.0 + i0 * R / 0.8).ln(), 1e-12);
    for found in [&zener, &ideal, &off, &diode] {
        assert!(found.transient.energies.imbalance() < 1e-11);
    }
}

#[test]
fn a_load_may_be_gone_already_or_never_go() {
    let stuck = Curve::new(vec![0.0, 1.0, 4.0], vec![3.0, 10.0, 100.0]).unwrap();
    let clamp = Clamp::Diode { forward_v: 0.7 };
    let at = |load| turn_off(&linear(), 2.0, 24.0, clamp, Some((&stuck, load))).unwrap().release.unwrap();
    assert_eq!(at(2.0), Release::Never);
    assert_eq!(at(1000.0), Release::Already);
    assert!(matches!(at(10.0), Release::After { .. }));
    // A load so small that the current is far below the transient's shown end is still timed.
    let soft = Curve::new(vec![0.0, 1.0, 4.0], vec![0.0, 10.0, 100.0]).unwrap();
    let resistor = Clamp::Resistor { resistance_ohm: 12.0 };
    let late = turn_off(&linear(), 2.0, 24.0, resistor, Some((&soft, 1e-3))).unwrap();
    let Some(Release::After { time_s, .. }) = late.release else { panic!() };
    assert!(time_s > *late.transient.time_s.last().unwrap());
}

/// The saturating coil by the classical fourth-order Runge–Kutta method on dλ/dt = V - R i(λ) with the
/// analytic λ(i), 20 000 steps: independent of the table, its cubics and the change of variable. The table's
/// spacing of 0.1 A is good to 1e-4.
#[test]
fn a_saturating_coil_matches_runge_kutta() {
    let linkage = |i: f64| 0.8 * i.atan() + 0.02 * i;
    let inductance = |i: f64| 0.8 / (1.0 + i * i) + 0.02;
    let (v, r) = (24.0, 6.0);
    let rate = |i: f64| (v - r * i) / inductance(i);
    let (steps, end) = (20_000, 0.15);
    let h = end / f64::from(steps);
    let mut i = 0.0;
    for _ in 0..steps {
        let k1 = rate(i);
        let k2 = rate(i + 0.5 * h * k1);
        let k3 = rate(i + 0.5 * h * k2);
        let k4 = rate(i + h * k3);
        i += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
    }
    let coil = saturating();
    close(coil.linkage(3.0).unwrap(), linkage(3.0), 1e-4);
    let t = coil.time_between(Loop { voltage_v: v, resistance_ohm: 0.0 }, 0.0, i).unwrap();
    close(t, end, 3e-4);
    // ∫ i dλ in closed form: 0.8 ln(1 + i²)/2 + 0.01 i².
    close(coil.stored_energy(3.0).unwrap(), 0.4 * 10f64.ln() + 0.09, 1e-3);
}

/// Every event of the saturating coil balances its energy to far better than the 0.1 % asked for.
#[test]
fn energy_balances_in_every_event() {
    let coil = saturating();
    let on = turn_on(&coil, 24.0, 0.5).unwrap().transient;
    let over = reverse(&coil, 24.0, 0.5).unwrap().transient;
    let mut all = vec![on, over];
    for clamp in [
        Clamp::Diode { forward_v: 0.9 },
        Clamp::Resistor { resistance_ohm: 60.0 },
        Clamp::Zener { voltage_v: 60.0 },
        Clamp::Nothing { stray_farad: 2e-10 },
    ] {
        let off = turn_off(&coil, 4.0, 24.0, clamp, None).unwrap();
        assert!(off.coil_j > 0.0 && off.clamp_j > 0.0);
        all.push(off.transient);
    }
    for t in all {
        assert!(t.energies.imbalance() < 1e-9, "{:?}", t.energies);
        assert!(t.time_s.windows(2).all(|w| w[1] > w[0]));
    }
}

/// A harder clamp is faster: the reason for fitting one.
#[test]
fn harder_clamps_release_sooner() {
    let coil = saturating();
    let time = |clamp| *turn_off(&coil, 4.0, 24.0, clamp, None).unwrap().transient.time_s.last().unwrap();
    let diode = time(Clamp::Diode { forward_v: 0.9 });
    let soft = time(Clamp::Zener { voltage_v: 24.0 });
    let hard = time(Clamp::Zener { voltage_v: 100.0 });
    assert!(hard < soft && soft < diode);
}

/// Reversal of a linear coil: i = -I + 2 I e^(-t R/L); zero after ln 2, 90 % after ln 20 time constants.
#[test]
fn reversal_of_a_linear_coil() {
    let over = reverse(&linear(), 24.0, 0.0).unwrap();
    close(over.zero_s, L / R * 2f64.ln(), 1e-12);
    close(over.ninety_percent_s, L / R * 20f64.ln(), 1e-12);
    assert!(over.transient.current_a.windows(2).all(|w| w[1] < w[0]));
}

/// Nothing across the contact: √(2W/C) without loss.
#[test]
fn an_interrupted_contact() {
    let found = interruption(&linear(), 2.0, 1e-9).unwrap();
    close(found.high_v, 2.0 * (L / 1e-9f64).sqrt(), 1e-12);
    assert_eq!((found.low_v, found.likely_v), (CONTACT_ARC_V, GLOW_V));
    // A tiny coil cannot make what it has no energy for.
    let tiny = interruption(&linear(), 1e-4, 1e-6).unwrap();
    assert!(tiny.high_v < CONTACT_ARC_V && tiny.likely_v == tiny.high_v && tiny.low_v == tiny.high_v);
}

/// Slowest mode of diffusion into a cylinder: µ σ r²/2.4048². Iron of µr 500 and 5 MS/m, 10 mm radius: 54 ms.
#[test]
fn iron_follows_late() {
    let mu = 500.0 * 4e-7 * std::f64::consts::PI;
    close(iron_delay_s(500.0, 5e6, 0.01).unwrap(), mu * 5e6 * 1e-4 / 2.404_825_557_7f64.powi(2), 1e-9);
    close(iron_delay_s(500.0, 5e6, 0.01).unwrap(), 0.0543, 1e-3);
}

#[test]
fn impossible_circuits_are_refused() {
    assert_eq!(Coil::new(vec![0.0, 1.0], vec![0.1, 1.0], 1.0), Err(SwitchError::Linkage));
    assert_eq!(Coil::new(vec![0.0, 1.0, 2.0], vec![0.0, 1.0, 1.0], 1.0), Err(SwitchError::Linkage));
    assert!(matches!(Coil::new(vec![0.0, 1.0], vec![0.0, 1.0], 0.0), Err(SwitchError::Value { .. })));
    assert!(matches!(Coil::new(vec![0.0, f64::NAN], vec![0.0, 1.0], 1.0), Err(SwitchError::Curve(_))));
    // 240 V on 12 Ω would need the table up to 20 A.
    assert!(matches!(turn_on(&linear(), 240.0, 0.0), Err(SwitchError::BeyondTable { .. })));
    let around = Loop { voltage_v: 24.0, resistance_ohm: 0.0 };
    assert!(matches!(linear().transient(around, 0.0, 2.0), Err(SwitchError::NeverReached { .. })));
    assert!(matches!(linear().transient(around, 0.0, -1.0), Err(SwitchError::NeverReached { .. })));
    assert!(matches!(linear().transient(around, 2.0, 2.0), Err(SwitchError::NeverReached { .. })));
    assert!(turn_off(&linear(), -1.0, 24.0, Clamp::Diode { forward_v: 0.7 }, None).is_err());
}
