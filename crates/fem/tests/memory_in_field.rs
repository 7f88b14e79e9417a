//! Iron that remembers in a field in time: a body whose field is everywhere the same repeats its law, and what a cycle
//! costs is the loop's area.

use coilwright_fem::drawing::{Drawing, Outline, Symmetry};
use coilwright_fem::field::Probe;
use coilwright_fem::hysteresis::{Cell, Hysteretic, Saturating};
use coilwright_fem::in_time::{
    Characteristic, Circuit, Energies, Event, FieldInTime, Moment, Stepping, TimeError, Winding,
};
use coilwright_fem::law::{Linear, MU_0, Medium};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::ops::ControlFlow;
use std::sync::Arc;

/// Radius of the body and height of the window between the plates, in m.
const A: f64 = 0.01;
const HEIGHT: f64 = 4e-3;
const TURNS: f64 = 100.0;
const RESISTANCE: f64 = 2.0;

/// Three cells, one of them without friction; invented.
fn iron() -> Arc<Hysteretic> {
    let cell = |friction_a_m, saturation_t, field_a_m| Cell {
        friction_a_m,
        parts: vec![Saturating { saturation_t, field_a_m }],
    };
    let cells = vec![cell(0.0, 0.2, 2000.0), cell(400.0, 0.9, 600.0), cell(900.0, 0.5, 1500.0)];
    Arc::new(Hysteretic::new(cells).expect("sound cells"))
}

/// A cylinder from plate to plate in a window of a yoke of hardly any reluctance, a winding round it: H = N i / height at
/// all places of the cylinder.
fn field() -> FieldInTime {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 2.5 * A);
    let half = 0.5 * HEIGHT;
    drawing.grade([A, half], 0.01 * A).grade([A, -half], 0.01 * A);
    drawing.paint(3, Outline::rectangle([0.0, 1.6 * A], [-2.0 * half, 2.0 * half]));
    drawing.paint(2, Outline::rectangle([A, 1.2 * A], [-half, half]));
    drawing.paint(1, Outline::rectangle([0.0, A], [-half, half]));
    let media = vec![
        Medium::vacuum(),
        Medium::of(Linear::relative(500.0)),
        Medium::vacuum(),
        Medium::of(Linear::relative(1e9)),
    ];
    let winding = Winding { turns_per_m2: vec![(2, TURNS / (0.2 * A * HEIGHT))] };
    let mesh = Mesh::new(&drawing, 2).expect("a window");
    FieldInTime::new(mesh, Arc::new(media), vec![winding], &[])
        .and_then(|f| f.with_memory(1, iron()))
        .expect("a sound problem")
}

#[test]
fn a_uniform_body_repeats_its_law() {
    let (field, law) = (field(), iron());
    // Two and a quarter periods; the peak current of 0.25 A would be a field of 6250 A/m, but the voltage does not last.
    let (period, peak) = (0.2, 0.25 * RESISTANCE);
    let voltage = |t: f64| peak * (2.0 * PI * t / period).sin();
    let circuit =
        Circuit { resistance_ohm: RESISTANCE, voltage_v: &voltage, characteristic: Characteristic::short() };
    let (mut memory, mut lost, mut worst) = (law.fresh(), 0.0, 0.0_f64);
    let (mut last, mut largest) = (Energies::default(), 0.0_f64);
    let watch = |m: &Moment| {
        let h = TURNS * m.windings[0].current_a / HEIGHT;
        // The start's current is told a little ahead: it is not a step.
        if m.time_s > 0.0 {
            let r = law.at_field([0.0, h], &memory).expect("a field");
            let solution = m.solution();
            let b = Probe::new(&solution).at([0.4 * A, 0.1 * HEIGHT]).b_t;
            worst = worst.max((b[1] - r.flux_density_t[1]).abs());
            largest = largest.max(b[1].abs());
            lost += r.loss * PI * A * A * HEIGHT;
            memory = r.memory;
        }
        last = *m.energies;
        ControlFlow::Continue(())
    };
    let stepping = Stepping { tolerance: 1e-4, ..Stepping::until(2.25 * period) };
    field.run(&[circuit], |_| 0.0, &field.empty(), &stepping, &[], watch).expect("a run");
    // In the corners of the window the elements are coarse: 10⁻⁴ is what they leave.
    assert!(largest > 0.8 && worst < 2e-4 * largest, "{worst} of {largest}");
    assert!((last.hysteresis_j / lost - 1.0).abs() < 2e-4, "{last:?}, {lost}");
    assert!(last.imbalance() < 1e-3, "{last:?}");
}

/// Magnetised and let go: with the current gone the body keeps the flux density at which its law has no field, and a later
/// run goes on from there.
#[test]
fn what_is_left_without_current_is_the_remanence() {
    let (field, law) = (field(), iron());
    let on =
        Circuit { resistance_ohm: RESISTANCE, voltage_v: &|_| 0.3, characteristic: Characteristic::short() };
    let mut start = field.empty();
    let mut peak = 0.0_f64;
    let begin = start.clone();
    let on_watch = |m: &Moment| {
        peak = peak.max(TURNS * m.windings[0].current_a / HEIGHT);
        start = m.start();
        ControlFlow::Continue(())
    };
    field
        .run(std::slice::from_ref(&on), |_| 0.0, &begin, &Stepping::until(0.5), &[], on_watch)
        .expect("a run");
    let off = Circuit { voltage_v: &|_| 0.0, characteristic: Characteristic::clamp(5.0), ..on.clone() };
    let (mut b, mut current, mut events) = (0.0, 1.0, Vec::new());
    let begin = start.clone();
    let off_watch = |m: &Moment| {
        let solution = m.solution();
        b = Probe::new(&solution).at([0.4 * A, 0.1 * HEIGHT]).b_t[1];
        current = m.windings[0].current_a;
        events.extend(m.event);
        ControlFlow::Continue(())
    };
    field.run(&[off], |_| 0.0, &begin, &Stepping::until(0.6), &[], off_watch).expect("a run");
    assert_eq!(events, [Event::Piece { winding: 0, left: 2 }]);
    assert_eq!(current, 0.0);
    let tip = law.at_field([0.0, peak], &law.fresh()).expect("a field");
    let want = law.at_field([0.0, 0.0], &tip.memory).expect("no field").flux_density_t[1];
    assert!((b / want - 1.0).abs() < 3e-4 && want > 0.5, "{b} for {want}");
    // Memories of another law are not taken.
    start.memory.truncate(3);
    let on =
        Circuit { resistance_ohm: RESISTANCE, voltage_v: &|_| 0.3, characteristic: Characteristic::short() };
    let refused =
        field.run(&[on], |_| 0.0, &start, &Stepping::until(1.0), &[], |_| ControlFlow::Continue(()));
    assert!(matches!(refused, Err(TimeError::Count { what: "memories", got: 3, .. })), "{refused:?}");
    assert!(MU_0 * peak < 0.01 * want);
}
