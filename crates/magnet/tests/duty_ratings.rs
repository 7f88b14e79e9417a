//! Duty: the standards' tables, and what a warm-up permits against closed forms.

use coilwright_magnet::duty::*;

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "{got} for {want}");
}

/// Preferred values and longest on-times of DIN VDE 0580, cl. 3.2.2 and 3.2.3, as cited in a solenoid maker's
/// notes.
#[test]
fn vde_0580_table() {
    let table: Vec<(f64, Option<f64>)> = PREFERRED.iter().map(|p| (100.0 * p.duty, p.longest_on_s)).collect();
    let want = [
        (5.0, Some(15.0)),
        (15.0, Some(45.0)),
        (25.0, Some(75.0)),
        (40.0, Some(120.0)),
        (60.0, Some(180.0)),
        (100.0, None),
    ];
    assert_eq!(table, want);
    // Each longest on-time is the duty times the cycle of 5 min.
    for p in PREFERRED {
        if let Some(on) = p.longest_on_s {
            close(on, p.duty * VDE_CYCLE_S, 1e-12);
        }
    }
}

/// The same notes: a single on-time beyond the row's longest asks for the next higher duty, even when the
/// average is low.
#[test]
fn a_long_on_time_raises_the_rating() {
    let short = vde0580_rating(&[(75.0, 225.0)]).unwrap();
    assert_eq!((short.duty, short.rating.duty, short.raised_by_on_time), (0.25, 0.25, false));
    let long = vde0580_rating(&[(100.0, 900.0)]).unwrap();
    assert_eq!((long.duty, long.rating.duty, long.raised_by_on_time), (0.1, 0.40, true));
    let endless = vde0580_rating(&[(600.0, 5400.0)]).unwrap();
    assert_eq!((endless.rating.duty, endless.raised_by_on_time), (1.0, true));
    // Irregular use: all on-times over all cycles.
    let mixed = vde0580_rating(&[(10.0, 20.0), (30.0, 140.0)]).unwrap();
    assert_eq!((mixed.duty, mixed.rating.duty), (0.2, 0.25));
}

/// P ~ 1/ED: power and voltage ratios for 60, 40, 25, 15 and 5 %.
#[test]
fn ideal_ratios() {
    for (duty, power, voltage) in [
        (0.60, 1.6667, 1.2910),
        (0.40, 2.5, 1.5811),
        (0.25, 4.0, 2.0),
        (0.15, 6.6667, 2.5820),
        (0.05, 20.0, 4.4721),
    ] {
        // Half of the last digit given.
        assert!((ideal_power_ratio(duty).unwrap() - power).abs() < 5e-5);
        assert!((ideal_voltage_ratio(duty).unwrap() - voltage).abs() < 5e-5);
    }
    assert_eq!(ideal_power_ratio(1.2), Err(DutyError::Duty(1.2)));
}

#[test]
fn conventions_have_names_cycles_and_sources() {
    assert_eq!(Convention::Vde0580.default_cycle_s(), Some(300.0));
    assert_eq!(Convention::IntermittentS3.default_cycle_s(), Some(600.0));
    assert_eq!(Convention::ContinuousS1.default_cycle_s(), None);
    assert!(Convention::ShortTimeS2.name().starts_with("S2"));
    assert!(Convention::IntermittentS3.source().contains("IEC 60034-1"));
    // IEC 60034-1 preferred short times (from memory): 10, 30, 60, 90 min.
    assert_eq!(short_time_rating(2000.0).preferred_s, Some(1800.0));
    assert_eq!(short_time_rating(500.0).preferred_s, None);
}

/// Closed form for one time constant: t = τ ln((θ∞ - θ₀)/(θ∞ - θ)).
#[test]
fn on_times_match_the_exponential() {
    let r = StepResponse::single(600.0).unwrap();
    let OnTime::Seconds(cold) = longest_on_time(200.0, 80.0, 0.0, &r).unwrap() else { panic!() };
    close(cold, 600.0 * (200.0f64 / 120.0).ln(), 1e-9);
    let OnTime::Seconds(warm) = longest_on_time(200.0, 80.0, 50.0, &r).unwrap() else { panic!() };
    close(warm, 600.0 * (150.0f64 / 120.0).ln(), 1e-9);
    assert_eq!(longest_on_time(60.0, 80.0, 0.0, &r).unwrap(), OnTime::Unlimited);
    assert_eq!(longest_on_time(200.0, 80.0, 80.0, &r).unwrap(), OnTime::NotAtAll);
    assert_eq!(longest_on_time(200.0, -5.0, 0.0, &r).unwrap(), OnTime::NotAtAll);
    // The same through a function, as from a computed warm-up.
    let by = longest_on_time_by(200.0, 80.0, 0.0, 1e5, |t| 1.0 - (-t / 600.0).exp()).unwrap();
    let OnTime::Seconds(by) = by else { panic!() };
    close(by, cold, 1e-9);
}

/// Permitted duty for one time constant in closed form: on = τ ln(1/(1 - s (1 - e^(-C/τ)))), s allowed over
/// steady rise.
#[test]
fn permitted_duty_matches_the_closed_form() {
    let (tau, cycle, share) = (600.0f64, 300.0f64, 0.4);
    let r = StepResponse::single(tau).unwrap();
    let found = permitted_duty(200.0, 80.0, cycle, &r).unwrap();
    close(found.on_s, -tau * (1.0 - share * (1.0 - (-cycle / tau).exp())).ln(), 1e-9);
    close(peak_rise(200.0, found.duty, cycle, &r).unwrap(), 80.0, 1e-9);
    // Always less than the ideal share, and near it for short cycles.
    assert!(found.duty < share);
    close(permitted_duty(200.0, 80.0, 0.1, &r).unwrap().duty, share, 1e-3);
    assert_eq!(permitted_duty(70.0, 80.0, cycle, &r).unwrap().duty, 1.0);
    assert_eq!(permitted_duty(70.0, -1.0, cycle, &r).unwrap().duty, 0.0);
}

/// Two exponentials: the long-run peak against the sum of many cycles, on and off, followed one by one.
#[test]
fn two_time_constants_match_cycle_by_cycle() {
    let parts = [(0.3, 60.0), (0.7, 1800.0)];
    let r = StepResponse::new(parts.to_vec()).unwrap();
    let (cycle, duty) = (300.0, 0.25);
    let mut state = [0.0; 2];
    let mut peak = 0.0;
    for _ in 0..500 {
        for (x, (w, tau)) in state.iter_mut().zip(parts) {
            *x = w + (*x - w) * (-duty * cycle / tau).exp();
        }
        peak = 100.0 * (state[0] + state[1]);
        for (x, (_, tau)) in state.iter_mut().zip(parts) {
            *x *= (-(1.0 - duty) * cycle / tau).exp();
        }
    }
    close(peak_rise(100.0, duty, cycle, &r).unwrap(), peak, 1e-9);
    let ratio = power_ratio(duty, cycle, &r).unwrap();
    close(ratio, 100.0 / peak, 1e-9);
    assert!(ratio < 4.0 && ratio > 1.0);
    close(r.at(1e9), 1.0, 1e-12);
    assert_eq!(r.at(0.0), 0.0);
}

#[test]
fn impossible_duties_are_refused() {
    assert!(matches!(StepResponse::new(vec![(0.5, 10.0)]), Err(DutyError::Weights(_))));
    assert!(matches!(StepResponse::new(vec![(1.5, 10.0), (-0.5, 1.0)]), Err(DutyError::Weights(_))));
    assert_eq!(StepResponse::single(0.0), Err(DutyError::Time(0.0)));
    let r = StepResponse::single(10.0).unwrap();
    assert_eq!(peak_rise(1.0, 1.1, 10.0, &r), Err(DutyError::Duty(1.1)));
    assert_eq!(permitted_duty(0.0, 1.0, 10.0, &r), Err(DutyError::Rise(0.0)));
    assert!(matches!(longest_on_time(f64::NAN, 1.0, 0.0, &r), Err(DutyError::Rise(_))));
    assert!(matches!(relative_duty(&[]), Err(DutyError::Time(_))));
    assert_eq!(relative_duty(&[(1.0, -1.0)]), Err(DutyError::Time(-1.0)));
}
