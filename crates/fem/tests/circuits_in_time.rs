//! Windings, what closes their loops, and events: against exact solutions of the equations of circuits, whose inductances
//! are those of steady fields.

use coilwright_fem::drawing::{Drawing, Outline, Symmetry};
use coilwright_fem::in_time::{
    Characteristic, Circuit, Energies, Event, FieldInTime, Level, Moment, Start, Stepping, TimeError, Winding,
};
use coilwright_fem::law::{Law, LawPoint, Linear, MU_0, Medium};
use coilwright_fem::magnetostatics::{Magnetostatics, Solution, Stopping};
use coilwright_fem::mesh::Mesh;
use std::f64::consts::PI;
use std::ops::ControlFlow;
use std::sync::Arc;

const TURNS: [f64; 2] = [500.0, 1.0];
const RESISTANCE: f64 = 8.0;
const RING_RESISTANCE: f64 = 4e-5;

/// A core (region 1), a coil round it (2) and a ring round its end (3).
fn drawing() -> Drawing {
    let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 60e-3);
    drawing.growth = 0.5;
    drawing.paint(1, Outline::rectangle([0.0, 8e-3], [-20e-3, 20e-3]));
    drawing.paint(2, Outline::rectangle([9e-3, 14e-3], [-15e-3, 10e-3]));
    drawing.paint(3, Outline::rectangle([9e-3, 14e-3], [12e-3, 18e-3]));
    drawing
}

fn windings() -> Vec<Winding> {
    vec![
        Winding { turns_per_m2: vec![(2, TURNS[0] / (5e-3 * 25e-3))] },
        Winding { turns_per_m2: vec![(3, TURNS[1] / (5e-3 * 6e-3))] },
    ]
}

fn field(core: Medium, windings: Vec<Winding>) -> FieldInTime {
    let media = vec![Medium::vacuum(), core, Medium::vacuum(), Medium::vacuum()];
    let mesh = Mesh::new(&drawing(), 2).expect("a core in a coil");
    FieldInTime::new(mesh, Arc::new(media), windings, &[]).expect("a sound problem")
}

fn steady(field: &FieldInTime, currents_a: &[f64]) -> Solution {
    let mesh = Mesh::new(&drawing(), 2).expect("a core in a coil");
    let media = field.carrying(currents_a).expect("a current for each winding");
    let stopping = Stopping { remainder: 1e-9, ..Stopping::default() };
    Magnetostatics::new(mesh).and_then(|mut m| m.solve(media, 0.0, None, stopping)).expect("a steady field")
}

fn linear_core() -> Medium {
    Medium::of(Linear::relative(50.0))
}

/// Self-inductance of a single winding from the energy of its steady field.
fn inductance(field: &FieldInTime) -> f64 {
    2.0 * steady(field, &[1.0]).energies().0
}

fn constant(voltage: f64) -> impl Fn(f64) -> f64 {
    move |_| voltage
}

/// Follow, and keep time, first current and event of all steps, and the energies of the last.
fn followed(
    field: &FieldInTime,
    circuits: &[Circuit],
    start: &Start,
    stepping: &Stepping,
    levels: &[Level],
) -> (Vec<(f64, f64, Option<Event>)>, Energies) {
    let (mut seen, mut energies) = (Vec::new(), Energies::default());
    let watch = |m: &Moment| {
        seen.push((m.time_s, m.windings[0].current_a, m.event));
        energies = *m.energies;
        ControlFlow::Continue(())
    };
    field.run(circuits, |_| 0.0, start, stepping, levels, watch).expect("a run");
    (seen, energies)
}

fn events(seen: &[(f64, f64, Option<Event>)]) -> Vec<(f64, Event)> {
    seen.iter().filter_map(|(t, _, e)| e.map(|e| (*t, e))).collect()
}

/// i = V / R (1 − exp(−t / τ)), with τ = L / R; steps of a fixed length show the order.
#[test]
fn a_linear_coil_is_an_inductance() {
    let field = field(linear_core(), windings()[..1].to_vec());
    let tau = inductance(&field) / RESISTANCE;
    let circuit = Circuit {
        resistance_ohm: RESISTANCE,
        voltage_v: &constant(24.0),
        characteristic: Characteristic::short(),
    };
    let exact = |t: f64| 3.0 * (1.0 - (-t / tau).exp());
    let stepping = Stepping::until(3.0 * tau);
    let (seen, energies) = followed(&field, std::slice::from_ref(&circuit), &field.empty(), &stepping, &[]);
    let worst = seen.iter().map(|(t, i, _)| (i - exact(*t)).abs() / 3.0).fold(0.0, f64::max);
    assert!(worst < 1e-3, "{worst}");
    assert!(energies.imbalance() < 1e-4, "{energies:?}");

    let errors = [4.0, 8.0, 16.0, 32.0].map(|n| {
        let step = tau / n;
        let stepping =
            Stepping { tolerance: 1e6, step_first_s: step, step_max_s: step, ..Stepping::until(tau) };
        let (seen, _) = followed(&field, std::slice::from_ref(&circuit), &field.empty(), &stepping, &[]);
        (seen[seen.len() - 1].1 - exact(tau)).abs()
    });
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!((order - 3.0).abs() < 0.15, "{errors:?}: {order}");
    }
}

/// A ring that is closed in itself holds the flux up: both currents follow L di/dt + R i = V, two by two, solved exactly
/// by its decay rates.
#[test]
fn a_shorted_turn_round_the_core() {
    let field = field(linear_core(), windings());
    let energy = |currents: [f64; 2]| steady(&field, &currents).energies().0;
    let (first, second) = (2.0 * energy([1.0, 0.0]), 2.0 * energy([0.0, 1.0]));
    let mutual = energy([1.0, 500.0]) - 0.5 * first - 0.5 * 500f64.powi(2) * second;
    let mutual = mutual / 500.0;
    assert!(mutual * mutual < first * second && mutual > 0.0);

    let resistances = [RESISTANCE, RING_RESISTANCE];
    let voltage = 24.0;
    // Deviations from the end state (V / R, 0): L d' = −R d. With L⁻¹ R = [[a, b], [c, e]].
    let det = first * second - mutual * mutual;
    let [a, b] = [second * resistances[0] / det, -mutual * resistances[1] / det];
    let [c, e] = [-mutual * resistances[0] / det, first * resistances[1] / det];
    let (half, root) = (0.5 * (a + e), (0.25 * (a - e).powi(2) + b * c).sqrt());
    let rates = [half - root, half + root];
    let start = [-voltage / resistances[0], 0.0];
    let exact = |t: f64| {
        // exp(−A t) = Σ exp(−r t) (A − r′) / (r − r′).
        let mut d = [0.0; 2];
        for (r, other) in [(rates[0], rates[1]), (rates[1], rates[0])] {
            let weight = (-r * t).exp() / (r - other);
            d[0] += weight * ((a - other) * start[0] + b * start[1]);
            d[1] += weight * (c * start[0] + (e - other) * start[1]);
        }
        [d[0] - start[0], d[1]]
    };
    let circuits = [
        Circuit {
            resistance_ohm: resistances[0],
            voltage_v: &constant(voltage),
            characteristic: Characteristic::short(),
        },
        Circuit {
            resistance_ohm: resistances[1],
            voltage_v: &constant(0.0),
            characteristic: Characteristic::short(),
        },
    ];
    let (mut worst, mut largest, mut imbalance) = ([0.0_f64; 2], [0.0_f64; 2], 0.0);
    let stepping = Stepping { tolerance: 1e-5, ..Stepping::until(3.0 / rates[0]) };
    let watch = |m: &Moment| {
        for (k, want) in exact(m.time_s).iter().enumerate() {
            worst[k] = worst[k].max((m.windings[k].current_a - want).abs());
            largest[k] = largest[k].max(want.abs());
        }
        imbalance = m.energies.imbalance();
        ControlFlow::Continue(())
    };
    field.run(&circuits, |_| 0.0, &field.empty(), &stepping, &[], watch).expect("a run");
    assert!(worst[0] < 1e-4 * largest[0] && worst[1] < 1e-3 * largest[1], "{worst:?} of {largest:?}");
    assert!(imbalance < 1e-4, "{imbalance}");
}

/// An alternating voltage through a rectifier: i = V / Z (sin(ω t − φ) + sin φ exp(−t / τ)) until it is zero, then nothing
/// until the voltage is positive again (any handbook of power electronics: half-wave rectifier with an inductive load,
/// from memory).
#[test]
fn a_rectifier_opens_and_closes_by_itself() {
    let field = field(linear_core(), windings()[..1].to_vec());
    let tau = inductance(&field) / RESISTANCE;
    let (omega, peak) = (1.5 / tau, 30.0);
    let lag = (omega * tau).atan();
    let impedance = RESISTANCE * (1.0 + (omega * tau).powi(2)).sqrt();
    let exact = |t: f64| peak / impedance * ((omega * t - lag).sin() + lag.sin() * (-t / tau).exp());
    // Its zero after half a period, by halving.
    let (mut low, mut high) = (PI / omega, 2.0 * PI / omega);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if exact(middle) > 0.0 { low = middle } else { high = middle }
    }
    let extinction = low;
    let voltage = |t: f64| peak * (omega * t).sin();
    let circuit = Circuit {
        resistance_ohm: RESISTANCE,
        voltage_v: &voltage,
        characteristic: Characteristic::rectifier(0.0),
    };
    let stepping = Stepping { tolerance: 1e-5, ..Stepping::until(3.0 * PI / omega) };
    let (seen, energies) = followed(&field, &[circuit], &field.empty(), &stepping, &[]);
    assert!(energies.imbalance() < 1e-4, "{energies:?}");
    for (t, i, _) in &seen {
        let want = match *t {
            t if t < extinction => exact(t),
            t if t < 2.0 * PI / omega => 0.0,
            t => exact(t - 2.0 * PI / omega),
        };
        assert!((i - want).abs() < 1e-3 * peak / impedance, "{i} for {want} at {t}");
    }
    let events = events(&seen);
    assert_eq!(
        events.iter().map(|e| e.1).collect::<Vec<_>>(),
        [Event::Piece { winding: 0, left: 1 }, Event::Piece { winding: 0, left: 0 }]
    );
    for ((got, _), want) in events.iter().zip([extinction, 2.0 * PI / omega]) {
        assert!((got / want - 1.0).abs() < 1e-4, "{got} for {want}");
    }
}

/// Switched off into a clamp: i = (I + V / R) exp(−t / τ) − V / R down to zero at τ ln(1 + R I / V), and then nothing. On
/// the way a level of the current is passed when it says.
#[test]
fn a_clamp_empties_the_coil() {
    let field = field(linear_core(), windings()[..1].to_vec());
    let tau = inductance(&field) / RESISTANCE;
    let start = Start::steady(&steady(&field, &[3.0]));
    let clamp = 60.0;
    let circuit = Circuit {
        resistance_ohm: RESISTANCE,
        voltage_v: &constant(0.0),
        characteristic: Characteristic::clamp(clamp),
    };
    let half = |m: &Moment| m.windings[0].current_a - 1.5;
    let stepping = Stepping { tolerance: 1e-5, event_s: 1e-7 * tau, ..Stepping::until(tau) };
    let (seen, energies) = followed(&field, &[circuit], &start, &stepping, &[&half]);
    assert!(energies.imbalance() < 1e-4, "{energies:?}");
    let events = events(&seen);
    let at = |i: f64| tau * ((3.0 + clamp / RESISTANCE) / (i + clamp / RESISTANCE)).ln();
    assert_eq!(
        events.iter().map(|e| e.1).collect::<Vec<_>>(),
        [Event::Level { level: 0, rising: false }, Event::Piece { winding: 0, left: 2 }]
    );
    for ((got, _), want) in events.iter().zip([at(1.5), at(0.0)]) {
        assert!((got / want - 1.0).abs() < 1e-4, "{got} for {want}");
    }
    assert!((seen[0].1 - 3.0).abs() < 0.02, "{}", seen[0].1);
    for (t, i, _) in seen.iter().filter(|s| s.0 > at(0.0) + 1e-4 * tau) {
        assert!(i.abs() < 1e-9, "{i} at {t}");
    }
}

/// A law that bends ever more: H = B / µ (1 + (B / B₀)⁸).
#[derive(Debug)]
struct Bending;

const KNEE_T: f64 = 1.2;
const MU: f64 = 2000.0 * MU_0;

impl Law for Bending {
    fn at(&self, b_t: f64) -> LawPoint {
        let p = (b_t / KNEE_T).powi(8);
        LawPoint {
            reluctivity: (1.0 + p) / MU,
            slope: (1.0 + 9.0 * p) / MU,
            energy: b_t * b_t / MU * (0.5 + 0.1 * p),
        }
    }
}

/// Without eddies the coil follows dλ/dt = V − R i with the linkage λ(i) of steady fields. The time to reach a current is
/// ∫ dλ / (V − R i), by parts λ / (V − R i) − ∫ λ R / (V − R i)² di, by Gauss's rule on four pieces.
#[test]
fn laminated_iron_follows_its_flux_and_current() {
    let field = field(Medium::of(Bending), windings()[..1].to_vec());
    let (voltage, target) = (24.0, 2.0);
    let linkage = |i: f64| {
        let solution = steady(&field, &[i]);
        let mean = solution.region(2).expect("the coil is drawn").flux_per_turn_wb;
        TURNS[0] * mean
    };
    let rest = |i: f64| voltage - RESISTANCE * i;
    let nodes =
        [-0.861_136_311_594_053, -0.339_981_043_584_856, 0.339_981_043_584_856, 0.861_136_311_594_053];
    let weights =
        [0.347_854_845_137_454, 0.652_145_154_862_546, 0.652_145_154_862_546, 0.347_854_845_137_454];
    let mut integral = 0.0;
    for piece in 0..4 {
        let width = 0.25 * target;
        for (x, w) in nodes.iter().zip(weights) {
            let i = width * (f64::from(piece) + 0.5 + 0.5 * x);
            integral += 0.5 * width * w * linkage(i) * RESISTANCE / rest(i).powi(2);
        }
    }
    let want = linkage(target) / rest(target) - integral;
    let circuit = Circuit {
        resistance_ohm: RESISTANCE,
        voltage_v: &constant(voltage),
        characteristic: Characteristic::short(),
    };
    let reached = |m: &Moment| m.windings[0].current_a - target;
    let stepping = Stepping { event_s: 1e-6 * want, ..Stepping::until(2.0 * want) };
    let (seen, energies) = followed(&field, &[circuit], &field.empty(), &stepping, &[&reached]);
    assert!(energies.imbalance() < 1e-4, "{energies:?}");
    let (got, ..) = seen.iter().find(|s| s.2.is_some()).expect("the current is reached");
    assert!((got / want - 1.0).abs() < 5e-4, "{got} for {want}");
}

/// Solid iron, into saturation and out of it into a clamp: what is supplied is heat in wire and iron, what the clamp takes
/// and what is stored. The eddies hold the flux when the current is gone, and the field that is left decays.
#[test]
fn energy_balances_in_solid_iron() {
    let field = field(Medium::of(Bending).with_conductivity(5e6), windings()[..1].to_vec());
    let on = Circuit {
        resistance_ohm: RESISTANCE,
        voltage_v: &constant(24.0),
        characteristic: Characteristic::short(),
    };
    let off =
        Circuit { characteristic: Characteristic::clamp(60.0), voltage_v: &constant(0.0), ..on.clone() };
    let mut at_zero = Vec::new();
    // Far below the tolerance of a step for its own sake; a coarse run and a fine one also agree on what became of it.
    for (tolerance, allowed) in [(1e-3, 1e-4), (1e-4, 5e-5)] {
        let mut start = field.empty();
        for (circuit, end) in [(&on, 0.2), (&off, 0.3)] {
            let (mut last, mut linkage, mut zero) = (None, Vec::new(), None);
            let watch = |m: &Moment| {
                if m.event.is_some() {
                    zero = Some((m.time_s - 0.2, m.windings[0].linkage_wb, m.energies.eddy_j));
                }
                linkage.push(m.windings[0].linkage_wb);
                last = Some((m.start(), *m.energies));
                ControlFlow::Continue(())
            };
            let stepping = Stepping { tolerance, ..Stepping::until(end) };
            let circuits = std::slice::from_ref(circuit);
            field.run(circuits, |_| 0.0, &start, &stepping, &[], watch).expect("a run");
            let (next, energies) = last.expect("there are steps");
            assert!(energies.imbalance() < allowed, "{energies:?}: {}", energies.imbalance());
            assert!(energies.eddy_j > 0.0 && energies.ohmic_j > 0.0 && energies.taken_j >= 0.0);
            start = next;
            if let Some((time, linkage_then, eddy)) = zero {
                let decays = linkage.windows(2).all(|l| l[1] < l[0]);
                assert!(decays && linkage_then > 0.05 * linkage[0], "{linkage:?}");
                at_zero.push([time, linkage_then, eddy]);
            }
        }
    }
    let [coarse, fine] = &at_zero[..] else { panic!("the current ends in both: {at_zero:?}") };
    for (c, f) in coarse.iter().zip(fine) {
        assert!((c / f - 1.0).abs() < 5e-3, "{at_zero:?}");
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let own = windings();
    let build = |core: Medium, windings: Vec<Winding>, bodies: &[Vec<usize>]| {
        let media = vec![Medium::vacuum(), core, Medium::vacuum(), Medium::vacuum()];
        let mesh = Mesh::new(&drawing(), 1).expect("a core in a coil");
        FieldInTime::new(mesh, Arc::new(media), windings, bodies).map(|_| ())
    };
    let negative = Medium::vacuum().with_conductivity(-1.0);
    assert_eq!(
        build(negative, own.clone(), &[]),
        Err(TimeError::Conductivity { region: 1, conductivity_s_m: -1.0 })
    );
    let elsewhere = vec![Winding { turns_per_m2: vec![(9, 1.0)] }];
    assert_eq!(build(linear_core(), elsewhere, &[]), Err(TimeError::NotDrawn(9)));
    // Round an axis all eddies close by themselves.
    assert_eq!(build(linear_core().with_conductivity(1.0), own.clone(), &[vec![1]]), Err(TimeError::Body(1)));

    let field = field(linear_core(), own[..1].to_vec());
    let run = |circuits: &[Circuit]| {
        let go_on = |_: &Moment| ControlFlow::Continue(());
        field.run(circuits, |_| 0.0, &field.empty(), &Stepping::until(1e-3), &[], go_on)
    };
    assert_eq!(run(&[]), Err(TimeError::Count { what: "circuits", got: 0, wanted: 1 }));
    let circuit =
        Circuit { resistance_ohm: 0.0, voltage_v: &constant(1.0), characteristic: Characteristic::short() };
    assert_eq!(run(std::slice::from_ref(&circuit)), Err(TimeError::NoResistance(0)));
    let broken = |t: f64| if t < 5e-4 { 1.0 } else { f64::NAN };
    let circuit = Circuit { resistance_ohm: 1.0, voltage_v: &broken, ..circuit };
    assert!(matches!(run(&[circuit]), Err(TimeError::Drive(t)) if t >= 5e-4));
}
