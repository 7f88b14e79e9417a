//! The model of a fit: from trial values of the unknowns to every reading, at as few solutions of the field as serve.
//!
//! A trial solves each station's nodes from their last solutions. What only scales, moves the probe or belongs to a
//! meter needs no new solution. Derivatives by ampere-turns, material and gap are differences of neighbouring solutions;
//! they are kept while the trial stays near where they were taken.

use super::observation::{Drive, Kind, Observation, Observations};
use super::place::Spot;
use super::station::{ACCURACY, Arrangement, Geometry, State, Station};
use super::unknown::{Unknown, What};
use crate::instrument::HallProbe;
use crate::least_squares::Model;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::sheet::Sheet;
use nalgebra::DMatrix;
use rayon::prelude::*;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Relative steps of the differences: large against the error of a solution, small against what curves.
const STEP: f64 = 0.02;
const MATERIAL_STEP: f64 = 0.05;
/// Relative moves up to which derivatives are kept: ampere-turns, material, and gap against its step.
const KEEP: [f64; 3] = [0.005, 0.05, 1.0];

/// A magnet on the bench.
#[derive(Debug)]
pub(super) struct Bench<'a> {
    sheet: &'a Sheet,
    magnet: Magnet,
    observations: &'a Observations,
    unknowns: &'a [Unknown],
    probe: HallProbe,
    /// −1 if the probe was held the other way round.
    pub(super) sign: f64,
    stations: Vec<Mutex<Solved>>,
    /// Station, node and place in the node of each observation; none for resistances.
    homes: Vec<Option<(usize, usize, usize)>>,
}

/// A station with the states of its nodes, and their derivatives.
#[derive(Debug)]
struct Solved {
    station: Station,
    /// The same on the mesh for differences, once derivatives were asked for.
    rough: Option<Station>,
    states: Vec<State>,
    at: Option<Point>,
    slopes: Option<Slopes>,
}

/// The part of a trial that needs solutions.
#[derive(Clone, Debug, PartialEq)]
struct Point {
    /// Factor on each node's ampere-turns.
    factors: Vec<f64>,
    material: f64,
    gap_shift_m: f64,
}

/// Derivatives of a station's readings, node by node in their order.
#[derive(Clone, Debug)]
struct Slopes {
    at: Point,
    /// d ln y / d ln NI.
    exponent: Vec<Vec<f64>>,
    /// d ln y / d ln of the steel scale or remanence.
    material: Vec<Vec<f64>>,
    /// dy / d gap, N/m.
    gap: Vec<Vec<f64>>,
    gap_step_m: f64,
}

impl<'a> Bench<'a> {
    /// Mesh every arrangement that was read and solve it at the values beforehand.
    pub(super) fn new(
        sheet: &'a Sheet,
        magnet: &Magnet,
        observations: &'a Observations,
        unknowns: &'a [Unknown],
    ) -> Result<Self, Failure> {
        let mut bench = Self {
            sheet,
            magnet: magnet.clone(),
            observations,
            unknowns,
            probe: HallProbe::from_sheet(sheet),
            sign: 1.0,
            stations: Vec::new(),
            homes: vec![None; observations.list.len()],
        };
        let start: Vec<f64> = unknowns.iter().map(|u| u.mean).collect();
        let mut groups: Vec<(Arrangement, Vec<(usize, f64)>)> = Vec::new();
        for (k, o) in observations.list.iter().enumerate() {
            let Some(arrangement) = Arrangement::of(o) else { continue };
            let here = (k, bench.ampere_turns(o, &start));
            match groups.iter_mut().find(|g| g.0 == arrangement) {
                Some(group) => group.1.push(here),
                None => groups.push((arrangement, vec![here])),
            }
        }
        // At the values beforehand nothing is off its place.
        let geometry = bench.geometry(&start, None);
        let stations: Result<Vec<Station>, Failure> = groups
            .par_iter()
            .map(|(arrangement, observed)| {
                Station::new(*arrangement, magnet, &geometry, observed, &observations.list)
            })
            .collect();
        for (s, station) in stations?.into_iter().enumerate() {
            for (n, node) in station.nodes.iter().enumerate() {
                for (place, &k) in node.observations.iter().enumerate() {
                    bench.homes[k] = Some((s, n, place));
                }
            }
            let solved = Solved { station, rough: None, states: Vec::new(), at: None, slopes: None };
            bench.stations.push(Mutex::new(solved));
        }
        bench.turn_probe(&start)?;
        Ok(bench)
    }

    /// Notice a probe that was held the other way round: most readings of the field have the wrong sign.
    fn turn_probe(&mut self, start: &[f64]) -> Result<(), Failure> {
        let predicted = self.predict(start)?;
        let along = |(o, y): (&Observation, &f64)| if o.kind.is_field() { o.value * y } else { 0.0 };
        if self.observations.list.iter().zip(&predicted).map(along).sum::<f64>() < 0.0 {
            self.sign = -1.0;
        }
        Ok(())
    }

    fn of(&self, what: What, p: &[f64]) -> Option<f64> {
        self.unknowns.iter().position(|u| u.what == what).map(|k| p[k])
    }

    /// What a reading of a meter is for a true value.
    fn shown(&self, meter: usize, value: f64, p: &[f64]) -> f64 {
        let instrument = &self.observations.meters[meter];
        let gain = self.of(What::Gain(meter), p).unwrap_or(0.0) * instrument.of_reading / 3f64.sqrt();
        let zero = self.of(What::Offset(meter), p).unwrap_or(0.0) * instrument.offset / 3f64.sqrt();
        value * (1.0 + gain) + zero
    }

    /// The true value for a reading.
    fn meant(&self, meter: usize, reading: f64, p: &[f64]) -> f64 {
        let (gain, zero) = (self.shown(meter, 1.0, p) - self.shown(meter, 0.0, p), self.shown(meter, 0.0, p));
        (reading - zero) / gain
    }

    /// Resistance at a temperature, or at that of the cold winding, Ω.
    fn resistance_ohm(&self, kelvin: Option<f64>, p: &[f64]) -> f64 {
        let Some(winding) = self.magnet.excitation.as_ref().and_then(|e| e.winding.as_ref()) else {
            return f64::NAN;
        };
        let at_20 = self.of(What::Resistance, p).unwrap_or(winding.resistance_20_ohm);
        let cold = self.magnet.excitation.as_ref().map_or(293.15, |e| e.kelvin);
        let kelvin = kelvin.or(self.of(What::Ambient, p)).unwrap_or(cold);
        at_20 * winding.conductor.resistance_factor(kelvin)
    }

    /// Ampere-turns during an observation, with their sign.
    fn ampere_turns(&self, o: &Observation, p: &[f64]) -> f64 {
        let Some(excitation) = &self.magnet.excitation else { return 0.0 };
        let supply = self.of(What::Supply, p).unwrap_or(1.0);
        let (Some(_), Some(source)) = (&excitation.winding, &excitation.supply) else {
            return excitation.ampere_turns * supply;
        };
        let error = o.common.and_then(|k| self.of(What::Setting(k), p)).unwrap_or(0.0);
        let amperes = match o.drive {
            Drive::Amperes(i, own, meter) => self.meant(meter, i - error * own, p),
            Drive::Volts(v, own, meter) => {
                self.meant(meter, v - error * own, p) / self.resistance_ohm(None, p)
            }
            Drive::Sheet => supply * source.current_a(self.resistance_ohm(Some(excitation.kelvin), p)),
        };
        let turns = self.of(What::Turns, p).unwrap_or(excitation.turns);
        turns * amperes * excitation.ampere_turns.signum()
    }

    fn geometry(&self, p: &[f64], gap_zero: Option<usize>) -> Geometry {
        let sheet_gap = self.unknowns.iter().find(|u| u.what == What::Gap).map_or(0.0, |u| u.mean);
        let zero = |k: Option<usize>| k.and_then(|k| self.of(What::Zero(k), p)).unwrap_or(0.0);
        let moved = |o: &Observation| [zero(o.spots.across.zero), zero(o.spots.height.zero)];
        Geometry {
            gap_shift_m: self.of(What::Gap, p).map_or(0.0, |gap| gap - sheet_gap) + zero(gap_zero),
            height_m: self.of(What::Height, p).unwrap_or(0.0),
            width_m: self.probe.active_diameter.value,
            moved_m: self.observations.list.iter().map(moved).collect(),
        }
    }

    /// The magnet with another steel scale or remanence.
    fn magnet(&self, material: f64) -> Result<Magnet, Failure> {
        let mut other = self.sheet.clone();
        match self.unknowns.iter().find(|u| u.what == What::Material) {
            Some(unknown) if material != unknown.mean => other.set_value(unknown.path, material),
            _ => return Ok(self.magnet.clone()),
        }
        Ok(Magnet::complete(&other)?)
    }

    fn lock(&self, station: usize) -> MutexGuard<'_, Solved> {
        // A panic in another thread ends the process's answer anyhow.
        self.stations[station].lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn point(&self, station: &Station, p: &[f64]) -> Point {
        let start: Vec<f64> = self.unknowns.iter().map(|u| u.mean).collect();
        let all = &self.observations.list;
        let factors = station.nodes.iter().map(|node| {
            let ratios = node.observations.iter().map(|&k| {
                let before = self.ampere_turns(&all[k], &start);
                if before == 0.0 { 1.0 } else { self.ampere_turns(&all[k], p) / before }
            });
            ratios.sum::<f64>() / node.observations.len() as f64
        });
        Point {
            factors: factors.collect(),
            material: self.of(What::Material, p).unwrap_or(1.0),
            gap_shift_m: self.geometry(p, station.arrangement.gap_zero()).gap_shift_m,
        }
    }

    /// Solve every station at a trial, if it is not solved there already.
    fn solve(&self, p: &[f64]) -> Result<(), Failure> {
        let magnet = self.magnet(self.of(What::Material, p).unwrap_or(1.0))?;
        let all = &self.observations.list;
        (0..self.stations.len()).into_par_iter().try_for_each(|s| {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            let geometry = self.geometry(p, solved.station.arrangement.gap_zero());
            let point = self.point(&solved.station, p);
            if solved.at.as_ref() == Some(&point) {
                return Ok(());
            }
            let mut states = Vec::with_capacity(point.factors.len());
            for (node, factor) in point.factors.iter().enumerate() {
                let start = solved.states.get(node).or(states.last());
                states.push(solved.station.solve(node, &magnet, &geometry, *factor, start, all)?);
            }
            solved.states = states;
            solved.at = Some(point);
            Ok(())
        })
    }

    /// Derivatives at the trial that is solved, kept from an earlier one if that was near.
    fn differentiate(&self, p: &[f64]) -> Result<(), Failure> {
        let scale = self.of(What::Material, p).unwrap_or(1.0);
        let has = |what| self.of(what, p).is_some();
        let by_gap = has(What::Gap) || self.observations.list.iter().any(|o| o.spots.gap != Spot::default());
        let magnet = self.magnet(scale)?;
        let other =
            if has(What::Material) { Some(self.magnet(scale * (1.0 + MATERIAL_STEP))?) } else { None };
        let all = &self.observations.list;
        (0..self.stations.len()).into_par_iter().try_for_each(|s| {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            let geometry = self.geometry(p, solved.station.arrangement.gap_zero());
            let Some(at) = solved.at.clone() else { return Ok(()) };
            if solved.slopes.as_ref().is_some_and(|slopes| slopes.serve(&at)) {
                return Ok(());
            }
            let open = solved.station.arrangement == Arrangement::Open;
            let gap = match solved.station.arrangement {
                Arrangement::Workpiece { gap_m, .. } => {
                    gap_m.or(magnet.workpiece.as_ref().map(|w| w.gap_m)).unwrap_or(0.0) + geometry.gap_shift_m
                }
                Arrangement::Open => 0.0,
            };
            let mut slopes = Slopes {
                at: at.clone(),
                exponent: Vec::new(),
                material: Vec::new(),
                gap: Vec::new(),
                gap_step_m: STEP * gap,
            };
            for (node, factor) in at.factors.iter().enumerate() {
                let Solved { station, rough, states, .. } = solved;
                let rough = match rough {
                    Some(rough) => rough,
                    None => rough.insert(station.for_differences()?),
                };
                let base = &mut states[node];
                // Where the probe is now, which may not be where it was when this was solved.
                let probed = station.probe(node, &magnet, base, &geometry, all);
                let base = &*base;
                let values = if probed.is_empty() { &base.values } else { &probed };
                let home = rough.solve(node, &magnet, &geometry, *factor, None, all)?;
                let mut near = |magnet: &Magnet, geometry: &Geometry, factor: f64| {
                    rough.solve(node, magnet, geometry, factor, Some(&home), all).map(|state| state.values)
                };
                let relative = |moved: &[f64], step: f64| -> Vec<f64> {
                    let pairs = moved.iter().zip(&home.values);
                    pairs
                        .map(|(y, y0)| if *y0 == 0.0 { 0.0 } else { (y / y0).abs().ln() / step.ln_1p() })
                        .collect()
                };
                slopes.exponent.push(if base.ampere_turns == 0.0 {
                    vec![0.0; base.values.len()]
                } else {
                    relative(&near(&magnet, &geometry, factor * (1.0 + STEP))?, STEP)
                });
                slopes.material.push(match &other {
                    Some(other) => relative(&near(other, &geometry, *factor)?, MATERIAL_STEP),
                    None => vec![0.0; base.values.len()],
                });
                slopes.gap.push(if open || !by_gap {
                    vec![0.0; base.values.len()]
                } else {
                    let step = slopes.gap_step_m;
                    let wider = Geometry { gap_shift_m: geometry.gap_shift_m + step, ..geometry.clone() };
                    let moved = near(&magnet, &wider, *factor)?;
                    let triples = moved.iter().zip(&home.values).zip(values);
                    let slope = |y: &f64, y0: &f64, value: &f64| match *y0 {
                        0.0 => 0.0,
                        y0 => (y / y0 - 1.0) * value / step,
                    };
                    triples.map(|((y, y0), value)| slope(y, y0, value)).collect()
                });
            }
            solved.slopes = Some(slopes);
            Ok(())
        })
    }

    /// Readings at a trial from the solutions there are; only what needs no new one is taken from the trial.
    fn compose(&self, p: &[f64]) -> Vec<f64> {
        self.compose_in(p, &self.geometry(p, None))
    }

    /// The same with the probe where a geometry has it. The gaps are those that were solved.
    fn compose_in(&self, p: &[f64], geometry: &Geometry) -> Vec<f64> {
        let all = &self.observations.list;
        // Magnetic values first, station by station.
        let mut magnetic = vec![0.0; all.len()];
        for s in 0..self.stations.len() {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            for (n, state) in solved.states.iter_mut().enumerate() {
                let probed = solved.station.probe(n, &self.magnet, state, geometry, all);
                let values = if probed.is_empty() { &state.values } else { &probed };
                for (place, (&k, value)) in
                    solved.station.nodes[n].observations.iter().zip(values).enumerate()
                {
                    let usual = if all[k].kind.is_pull() { 2.0 } else { 1.0 };
                    let exponent = solved.slopes.as_ref().map_or(usual, |slopes| slopes.exponent[n][place]);
                    let ratio = self.ampere_turns(&all[k], p) / state.ampere_turns;
                    let carried = if state.ampere_turns == 0.0 { 1.0 } else { ratio.abs().powf(exponent) };
                    magnetic[k] = value * carried;
                }
            }
        }
        let tilt = self.probe.angle;
        let cosine = tilt.value.cos() * (1.0 - tilt.half_width.powi(2) / 6.0);
        all.iter()
            .zip(magnetic)
            .map(|(o, y)| match o.kind {
                Kind::Field { .. } => self.shown(o.meter, self.sign * cosine * y, p),
                Kind::Pull { .. } => self.shown(o.meter, y, p),
                Kind::Resistance(kelvin) => self.shown(o.meter, self.resistance_ohm(kelvin, p), p),
                Kind::VoltsOverAmperes(kelvin, ammeter) => {
                    let gain = |meter| self.shown(meter, 1.0, p) - self.shown(meter, 0.0, p);
                    self.resistance_ohm(kelvin, p) * gain(o.meter) / gain(ammeter)
                }
            })
            .collect()
    }

    /// Standard uncertainty of each reading at the values beforehand: its own, its current's, its place's, the probe's
    /// tilt, and the numerical error.
    pub(super) fn noise(&self) -> Result<Vec<f64>, Failure> {
        let start: Vec<f64> = self.unknowns.iter().map(|u| u.mean).collect();
        let predicted = self.predict(&start)?;
        self.differentiate(&start)?;
        let crossed: Vec<f64> = self.crossed(&start);
        let of_place = self.of_place(&start);
        let tilt = (self.probe.angle.value.abs() + self.probe.angle.half_width).sin() / 3f64.sqrt();
        Ok((0..predicted.len())
            .map(|k| {
                let o = &self.observations.list[k];
                let (y, home) = (predicted[k], self.homes[k]);
                let exponent = home.map_or(0.0, |(s, n, place)| {
                    self.lock(s).slopes.as_ref().map_or(1.0, |slopes| slopes.exponent[n][place])
                });
                let of_current = match o.drive {
                    Drive::Amperes(x, own, _) | Drive::Volts(x, own, _) if x != 0.0 && o.common.is_none() => {
                        exponent * y * own / x
                    }
                    _ => 0.0,
                };
                let numerical = if home.is_some() { 0.5 * ACCURACY * y } else { 0.0 };
                [o.own, of_current, of_place[k], numerical, tilt * crossed[k]]
                    .iter()
                    .fold(0.0, |sum, u| f64::hypot(sum, *u))
            })
            .collect())
    }

    /// What each reading's place adds by the uncertainty that it has for itself: half the difference between the
    /// readings on both sides.
    fn of_place(&self, p: &[f64]) -> Vec<f64> {
        let all = &self.observations.list;
        let beside = |side: f64, own_m: &dyn Fn(&Observation) -> [f64; 2]| {
            let mut geometry = self.geometry(p, None);
            for (moved, o) in geometry.moved_m.iter_mut().zip(all) {
                let [x, y] = own_m(o);
                *moved = [moved[0] + side * x, moved[1] + side * y];
            }
            self.compose_in(p, &geometry)
        };
        let half = |own_m: &dyn Fn(&Observation) -> [f64; 2]| {
            let (up, down) = (beside(1.0, own_m), beside(-1.0, own_m));
            up.into_iter().zip(down).map(|(a, b)| 0.5 * (a - b)).collect::<Vec<f64>>()
        };
        let across = half(&|o| [o.spots.across.own_m, 0.0]);
        let up = half(&|o| [0.0, o.spots.height.own_m]);
        (0..all.len())
            .map(|k| {
                let gap = self.by_gap(k).unwrap_or(0.0) * all[k].spots.gap.own_m;
                across[k].hypot(up[k]).hypot(gap)
            })
            .collect()
    }

    /// Derivative of a pull by its gap, N/m.
    fn by_gap(&self, k: usize) -> Option<f64> {
        let (s, n, place) = self.homes[k]?;
        Some(self.lock(s).slopes.as_ref()?.gap[n][place])
    }

    /// Flux density across the direction that each field reading is meant for, T.
    fn crossed(&self, p: &[f64]) -> Vec<f64> {
        let mut across = self.observations.list.clone();
        for o in &mut across {
            if let Kind::Field { axial, .. } = &mut o.kind {
                *axial = !*axial;
            }
        }
        let geometry = self.geometry(p, None);
        let mut found = vec![0.0; across.len()];
        for s in 0..self.stations.len() {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            for (n, state) in solved.states.iter_mut().enumerate() {
                let probed = solved.station.probe(n, &self.magnet, state, &geometry, &across);
                for (&k, b) in solved.station.nodes[n].observations.iter().zip(probed) {
                    found[k] = b;
                }
            }
        }
        found
    }

    /// Derivative of a reading that needs a solution of its own, by an unknown; none if it does not.
    fn slope(&self, k: usize, what: What, p: &[f64], y: f64) -> Option<f64> {
        let (s, n, place) = self.homes[k]?;
        let guard = self.lock(s);
        let slopes = guard.slopes.as_ref()?;
        match what {
            What::Material => Some(y * slopes.material[n][place] / self.of(What::Material, p)?),
            What::Gap => Some(slopes.gap[n][place]),
            What::Zero(zero) if self.observations.list[k].spots.gap.zero == Some(zero) => {
                Some(slopes.gap[n][place])
            }
            _ => None,
        }
    }
}

impl Slopes {
    fn serve(&self, at: &Point) -> bool {
        let factors = self.at.factors.iter().zip(&at.factors);
        let near = |a: f64, b: f64, limit: f64| (a / b - 1.0).abs() <= limit;
        factors.into_iter().all(|(a, b)| near(*a, *b, KEEP[0]))
            && near(self.at.material, at.material, KEEP[1])
            && (self.at.gap_shift_m - at.gap_shift_m).abs() <= KEEP[2] * self.gap_step_m
    }
}

impl Model for &Bench<'_> {
    type Error = Failure;

    fn predict(&self, p: &[f64]) -> Result<Vec<f64>, Failure> {
        self.solve(p)?;
        Ok(self.compose(p))
    }

    fn jacobian(&self, p: &[f64]) -> Option<Result<DMatrix<f64>, Failure>> {
        Some(self.derivatives(p))
    }
}

impl Bench<'_> {
    /// Predictions at a trial.
    pub(super) fn predict(&self, p: &[f64]) -> Result<Vec<f64>, Failure> {
        Model::predict(&self, p)
    }

    /// What is observed.
    pub(super) fn observations(&self) -> &Observations {
        self.observations
    }

    /// Derivatives of all predictions.
    pub(super) fn derivatives(&self, p: &[f64]) -> Result<DMatrix<f64>, Failure> {
        self.solve(p)?;
        self.differentiate(p)?;
        let base = self.compose(p);
        let mut jacobian = DMatrix::zeros(base.len(), p.len());
        for (j, unknown) in self.unknowns.iter().enumerate() {
            let needs_solution = matches!(unknown.what, What::Material | What::Gap);
            // A place is moved so far that it does not matter in which element it is.
            let share = if matches!(unknown.what, What::Zero(_)) { 0.1 } else { 1e-3 };
            let step = share * unknown.standard;
            let sides = [p[j] + step, p[j] - step].map(|x| {
                let mut moved = p.to_vec();
                moved[j] = x;
                if needs_solution { base.clone() } else { self.compose(&moved) }
            });
            for k in 0..base.len() {
                jacobian[(k, j)] = match self.slope(k, unknown.what, p, base[k]) {
                    Some(slope) => slope,
                    None if needs_solution => 0.0,
                    None => (sides[0][k] - sides[1][k]) / (2.0 * step),
                };
            }
        }
        Ok(jacobian)
    }
}
