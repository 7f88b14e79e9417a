//! The model of a fit: from trial values of the unknowns to every reading, at as few solutions of the field as serve.
//!
//! A trial solves each station's nodes from their last solutions. What only scales, moves the probe or belongs to a
//! meter needs no new solution. Derivatives by ampere-turns, steels and gap are differences of neighbouring solutions; they
//! are kept while the trial stays near where they were taken. All else that may be otherwise (dimensions, shims, the probe)
//! is carried along to first order.

use super::observation::{Drive, Kind, Observation, Observations};
use super::place::Spot;
use super::station::{ACCURACY, Arrangement, Geometry, State, Station};
use super::unknown::{Unknown, What};
use crate::instrument::HallProbe;
use crate::least_squares::Model;
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::magnet::variation::{Way, varied, ways};
use coilwright_magnet::magnetic::effects::{Difference, Sides};
use coilwright_magnet::sheet::Sheet;
use nalgebra::DMatrix;
use rayon::prelude::*;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Relative steps of the differences: large against the error of a solution, small against what curves.
const STEP: f64 = 0.02;
const MATERIAL_STEP: f64 = 0.05;
/// The same of a steel otherwise, in standard uncertainties.
const STEEL_STEP: f64 = 0.25;
/// Moves up to which derivatives are kept: ampere-turns and material relative, the gap against its step, and the steels in
/// standard uncertainties.
const KEEP: [f64; 4] = [0.01, 0.1, 2.0, 0.3];
/// So many times as far they are kept while all is taken roughly.
const ROUGHLY: f64 = 6.0;

/// A magnet on the bench.
#[derive(Debug)]
pub(super) struct Bench<'a> {
    sheet: &'a Sheet,
    magnet: Magnet,
    /// Every way in which it may differ.
    ways: Vec<Way>,
    observations: &'a Observations,
    unknowns: &'a [Unknown],
    probe: HallProbe,
    /// −1 if the probe was held the other way round.
    pub(super) sign: f64,
    stations: Vec<Mutex<Solved>>,
    /// Station, node and place in the node of each observation; none for resistances.
    homes: Vec<Option<(usize, usize, usize)>>,
    minor: Minor,
    closeness: Closeness,
}

/// What dimensions, shims, heights and the probe do to the readings, to first order.
#[derive(Debug, Default)]
struct Minor {
    /// By unknown: its index, and the change of each reading for one standard uncertainty of it.
    effects: Vec<(usize, Vec<f64>)>,
    /// The readings, and their ampere-turns, for which these are.
    readings: Vec<f64>,
    ampere_turns: Vec<f64>,
}

/// How closely the minor unknowns are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Closeness {
    /// To a tenth or so, to begin with.
    Roughly,
    /// So that what goes with what is right.
    Closely,
}

/// A station with the states of its nodes, and their derivatives.
#[derive(Debug)]
struct Solved {
    station: Station,
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
    /// Standard uncertainties by which steels are moved, by way of the magnet.
    moved: Vec<f64>,
}

/// Derivatives of a station's readings, node by node in their order.
#[derive(Clone, Debug)]
struct Slopes {
    at: Point,
    /// d ln y / d ln NI.
    exponent: Vec<Vec<f64>>,
    /// d ln y / d ln of the steel scale or remanence.
    material: Vec<Vec<f64>>,
    /// d ln y / d ln gap.
    gap: Vec<Vec<f64>>,
    gap_step_m: f64,
    /// d ln y for one standard uncertainty of what else is not sure of the steels, with the way of the magnet.
    steels: Vec<(usize, Vec<Vec<f64>>)>,
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
            ways: ways(sheet, magnet),
            observations,
            unknowns,
            probe: HallProbe::from_sheet(sheet),
            sign: 1.0,
            stations: Vec::new(),
            homes: vec![None; observations.list.len()],
            minor: Minor::default(),
            closeness: Closeness::Roughly,
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
            let solved = Solved { station, states: Vec::new(), at: None, slopes: None };
            bench.stations.push(Mutex::new(solved));
        }
        bench.turn_probe(&start)?;
        bench.about(&start, Closeness::Roughly)?;
        Ok(bench)
    }

    /// Takes the minor unknowns to first order about a trial.
    pub(super) fn about(&mut self, p: &[f64], closeness: Closeness) -> Result<(), Failure> {
        self.minor = Minor::default();
        self.closeness = closeness;
        self.bring_up(p)?;
        let readings = self.predict(p)?;
        self.differentiate(p)?;
        let by_way = self.by_way(p, closeness)?;
        let effect = |unknown: &Unknown| match unknown.what {
            What::Way(way) if !self.is_steel(way) => {
                Some(by_way.iter().map(|of| of.get(way).copied().unwrap_or(0.0)).collect())
            }
            What::Placed(k) => Some(self.of_setting(k, p)),
            What::Tilt => {
                let tilt = (self.probe.angle.value.abs() + self.probe.angle.half_width).sin() / 3f64.sqrt();
                Some(self.crossed(p).into_iter().map(|b| self.sign * tilt * b).collect())
            }
            What::Width => Some(self.of_width(p, unknown.standard)),
            _ => None,
        };
        let effects = self.unknowns.iter().enumerate().filter_map(|(k, unknown)| Some((k, effect(unknown)?)));
        let effects = effects.collect();
        let ampere_turns = self.observations.list.iter().map(|o| self.ampere_turns(o, p)).collect();
        self.minor = Minor { effects, readings, ampere_turns };
        Ok(())
    }

    /// Brings every station to what the finest mesh says at a trial.
    fn bring_up(&self, p: &[f64]) -> Result<(), Failure> {
        let moved = self.moved(p);
        let magnet = self.magnet(p, &moved)?;
        (0..self.stations.len()).into_par_iter().try_for_each(|s| {
            let mut guard = self.lock(s);
            let geometry = self.geometry(p, guard.station.arrangement.gap_zero());
            let factors = self.point(&guard.station, p, &moved).factors;
            (guard.at, guard.slopes) = (None, None);
            guard.station.bring_up(&magnet, &geometry, &factors, &self.observations.list)
        })
    }

    /// Whether what it says serves only to find where to look closely.
    pub(super) fn is_rough(&self) -> bool {
        self.closeness == Closeness::Roughly && self.unknowns.iter().any(Unknown::is_minor)
    }

    fn is_steel(&self, way: usize) -> bool {
        self.ways[way].of_steel().is_some()
    }

    /// Changes of each reading for one standard uncertainty of every way of the magnet that is carried along, at the
    /// ampere-turns that it has. Roughly, they are taken to one side and at the ends of the currents alone, and lie between;
    /// of fields that is close enough.
    fn by_way(&self, p: &[f64], closeness: Closeness) -> Result<Vec<Vec<f64>>, Failure> {
        let all = &self.observations.list;
        let mut found = vec![Vec::new(); all.len()];
        let wanted =
            |way: usize| !self.is_steel(way) && self.unknowns.iter().any(|u| u.what == What::Way(way));
        if !(0..self.ways.len()).any(wanted) {
            return Ok(found);
        }
        let (sheet, magnet) = self.with_material(self.of(What::Material, p).unwrap_or(1.0))?;
        let sides = Sides::about(&sheet, &magnet, &self.moved(p))?;
        for s in 0..self.stations.len() {
            let guard = self.lock(s);
            let geometry = self.geometry(p, guard.station.arrangement.gap_zero());
            let (station, states) = (&guard.station, &guard.states);
            let closely = closeness == Closeness::Closely && station.arrangement != Arrangement::Open;
            let difference = if closely { Difference::Both } else { Difference::Upper };
            let at =
                |n: usize| station.changes(&sides, (n, &states[n]), &geometry, (wanted, difference), all);
            let by_node = if closely {
                (0..states.len()).map(at).collect::<Result<_, _>>()?
            } else {
                let last = states.len() - 1;
                between(station.arrangement, states, [at(0)?, at(last)?])
            };
            let of_nodes = station.nodes.iter().zip(&by_node);
            let places = of_nodes.flat_map(|(node, of)| node.observations.iter().map(move |k| (*k, of)));
            for (place, (k, changes)) in places.enumerate() {
                let y = |change: f64| self.read(&all[k], change, p);
                found[k] = changes.iter().map(|of| y(of[place]) - y(0.0)).collect();
            }
        }
        Ok(found)
    }

    /// Changes of each reading with one shim or height a standard uncertainty larger.
    fn of_setting(&self, setting: usize, p: &[f64]) -> Vec<f64> {
        let all = &self.observations.list;
        let standard_m = self.observations.settings[setting].standard_m;
        if self.observations.settings[setting].gap {
            let at = |k: usize| if all[k].spots.gap.setting == Some(setting) { standard_m } else { 0.0 };
            let readings = self.compose(p);
            return (0..all.len()).map(|k| readings[k] * self.by_gap(k).unwrap_or(0.0) * at(k)).collect();
        }
        self.half_difference(p, &|o| {
            [0.0, if o.spots.height.setting == Some(setting) { standard_m } else { 0.0 }]
        })
    }

    /// Changes of each reading by a probe that is wider.
    fn of_width(&self, p: &[f64], standard_m: f64) -> Vec<f64> {
        let at = |width_m: f64| {
            let geometry = Geometry { width_m: width_m.max(0.0), ..self.geometry(p, None) };
            self.afresh(&geometry, &self.observations.list)
        };
        let width_m = self.probe.active_diameter.value;
        let (low, high) = (at(width_m - standard_m), at(width_m + standard_m));
        let read = |(k, (low, high)): (usize, (f64, f64))| {
            let o = &self.observations.list[k];
            0.5 * (self.read(o, high, p) - self.read(o, low, p))
        };
        low.into_iter().zip(high).enumerate().map(read).collect()
    }

    /// Readings with what is carried along: added to a field in proportion to its ampere-turns, to a pull as a factor.
    fn with_minor(&self, mut readings: Vec<f64>, p: &[f64]) -> Vec<f64> {
        let all = &self.observations.list;
        let moved = self.minor.effects.iter().map(|(k, effects)| (self.unknowns[*k].deviate(p[*k]), effects));
        let by: Vec<(f64, &Vec<f64>)> = moved.filter(|(deviate, _)| *deviate != 0.0).collect();
        if by.is_empty() {
            return readings;
        }
        for (k, y) in readings.iter_mut().enumerate() {
            let change: f64 = by.iter().map(|(deviate, effects)| deviate * effects[k]).sum();
            let (before, now) = (self.minor.ampere_turns[k], self.ampere_turns(&all[k], p));
            if all[k].kind.is_pull() && self.minor.readings[k] != 0.0 {
                *y *= (change / self.minor.readings[k]).exp();
            } else {
                *y += change * if before == 0.0 { 1.0 } else { now / before };
            }
        }
        readings
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

    /// The magnet of a trial.
    fn magnet(&self, p: &[f64], moved: &[f64]) -> Result<Magnet, Failure> {
        let (sheet, magnet) = self.with_material(self.of(What::Material, p).unwrap_or(1.0))?;
        if moved.iter().all(|x| *x == 0.0) {
            return Ok(magnet);
        }
        Ok(varied(&sheet, &magnet, &self.ways, moved)?.magnet)
    }

    /// How far a trial moves the steels, by way of the magnet, in standard uncertainties.
    fn moved(&self, p: &[f64]) -> Vec<f64> {
        let mut moved = vec![0.0; self.ways.len()];
        for (unknown, value) in self.unknowns.iter().zip(p) {
            if let What::Way(way) = unknown.what
                && self.is_steel(way)
            {
                moved[way] = unknown.deviate(*value);
            }
        }
        moved
    }

    /// The magnet of the sheet with another steel scale or remanence, and its sheet.
    fn with_material(&self, material: f64) -> Result<(Sheet, Magnet), Failure> {
        let mut other = self.sheet.clone();
        match self.unknowns.iter().find(|u| u.what == What::Material) {
            Some(unknown) if material != unknown.mean => other.set_value(&unknown.path, material),
            _ => return Ok((other, self.magnet.clone())),
        }
        let magnet = Magnet::complete(&other)?.watched(&self.magnet.watch);
        Ok((other, magnet))
    }

    fn lock(&self, station: usize) -> MutexGuard<'_, Solved> {
        // A panic in another thread ends the process's answer anyhow.
        self.stations[station].lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn point(&self, station: &Station, p: &[f64], moved: &[f64]) -> Point {
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
            gap_shift_m: match station.arrangement {
                Arrangement::Open => 0.0,
                Arrangement::Workpiece { gap_zero, .. } => self.geometry(p, gap_zero).gap_shift_m,
            },
            moved: moved.to_vec(),
        }
    }

    /// Solve every station at a trial, if it is not solved there already.
    fn solve(&self, p: &[f64]) -> Result<(), Failure> {
        let moved = self.moved(p);
        let magnet = self.magnet(p, &moved)?;
        let all = &self.observations.list;
        (0..self.stations.len()).into_par_iter().try_for_each(|s| {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            let geometry = self.geometry(p, solved.station.arrangement.gap_zero());
            let point = self.point(&solved.station, p, &moved);
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
        let by_gap = self.of(What::Gap, p).is_some()
            || self.observations.list.iter().any(|o| o.spots.gap != Spot::default());
        let moved = self.moved(p);
        let magnet = self.magnet(p, &moved)?;
        let material = |factor: f64| {
            let of = |(unknown, value): (&Unknown, &f64)| match unknown.what {
                What::Material => value * factor,
                _ => *value,
            };
            let other: Vec<f64> = self.unknowns.iter().zip(p).map(of).collect();
            self.magnet(&other, &moved)
        };
        let other = match self.of(What::Material, p) {
            Some(_) => Some([material(1.0 - MATERIAL_STEP)?, material(1.0 + MATERIAL_STEP)?]),
            None => None,
        };
        let steels = self.unknowns.iter().filter_map(|u| match u.what {
            What::Way(way) if self.is_steel(way) => Some(way),
            _ => None,
        });
        let otherwise = |way: usize| {
            let [low, high] = [-STEEL_STEP, STEEL_STEP].map(|step| {
                let mut moved = moved.clone();
                moved[way] += step;
                self.magnet(p, &moved)
            });
            Ok((way, [low?, high?]))
        };
        let steels: Vec<(usize, [Magnet; 2])> = steels.map(otherwise).collect::<Result<_, Failure>>()?;
        let all = &self.observations.list;
        (0..self.stations.len()).into_par_iter().try_for_each(|s| {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            let geometry = self.geometry(p, solved.station.arrangement.gap_zero());
            let Some(at) = solved.at.clone() else { return Ok(()) };
            if solved.slopes.as_ref().is_some_and(|slopes| slopes.serve(&at, self.closeness)) {
                return Ok(());
            }
            let open = solved.station.arrangement == Arrangement::Open;
            let gap = self.gap_m(&solved.station, geometry.gap_shift_m);
            let mut slopes = Slopes {
                at: at.clone(),
                exponent: Vec::new(),
                material: Vec::new(),
                gap: Vec::new(),
                gap_step_m: STEP * gap,
                steels: steels.iter().map(|(way, _)| (*way, Vec::new())).collect(),
            };
            for (node, factor) in at.factors.iter().enumerate() {
                let Solved { station, states, .. } = solved;
                let home = &states[node];
                let mut at = |magnet: &Magnet, geometry: &Geometry, factor: f64| {
                    station.solve(node, magnet, geometry, factor, Some(home), all).map(|state| state.values)
                };
                // d ln y from one side to the other, over how far these are apart.
                let slope = |[low, high]: [Vec<f64>; 2], apart: f64| -> Vec<f64> {
                    let one = |(low, high): (&f64, &f64)| match low * high {
                        product if product > 0.0 => (high / low).ln() / apart,
                        _ => 0.0,
                    };
                    low.iter().zip(&high).map(one).collect()
                };
                let none = || vec![0.0; home.values.len()];
                let apart = |step: f64| step.ln_1p() - (-step).ln_1p();
                slopes.exponent.push(if home.ampere_turns == 0.0 {
                    none()
                } else {
                    let [low, high] = [1.0 - STEP, 1.0 + STEP].map(|by| at(&magnet, &geometry, factor * by));
                    slope([low?, high?], apart(STEP))
                });
                slopes.material.push(match &other {
                    Some([low, high]) => {
                        let [low, high] = [low, high].map(|other| at(other, &geometry, *factor));
                        slope([low?, high?], apart(MATERIAL_STEP))
                    }
                    None => none(),
                });
                for ((_, [low, high]), (_, slopes)) in steels.iter().zip(&mut slopes.steels) {
                    // The workpiece's steel is not there where fields are read.
                    if open && low.parts == magnet.parts {
                        slopes.push(none());
                        continue;
                    }
                    let [low, high] = [low, high].map(|other| at(other, &geometry, *factor));
                    slopes.push(slope([low?, high?], 2.0 * STEEL_STEP));
                }
                slopes.gap.push(if open || !by_gap {
                    none()
                } else {
                    let step = slopes.gap_step_m;
                    let beside = [-step, step].map(|step| Geometry {
                        gap_shift_m: geometry.gap_shift_m + step,
                        ..geometry.clone()
                    });
                    let [low, high] = beside.map(|geometry| at(&magnet, &geometry, *factor));
                    slope([low?, high?], apart(STEP))
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
        let all = self.observations.list.iter().zip(self.magnetic(p, geometry));
        self.with_minor(all.map(|(o, y)| self.read(o, y, p)).collect(), p)
    }

    /// Fields and pulls at a trial from the solutions there are.
    fn magnetic(&self, p: &[f64], geometry: &Geometry) -> Vec<f64> {
        let all = &self.observations.list;
        let mut magnetic = vec![0.0; all.len()];
        for s in 0..self.stations.len() {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            for (n, state) in solved.states.iter_mut().enumerate() {
                let probed = solved.station.read(n, &self.magnet, state, geometry, all);
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
        magnetic
    }

    /// What is read of a field or a pull, or of the winding's resistance.
    fn read(&self, o: &Observation, y: f64, p: &[f64]) -> f64 {
        let tilt = self.probe.angle;
        let cosine = tilt.value.cos() * (1.0 - tilt.half_width.powi(2) / 6.0);
        match o.kind {
            Kind::Field { .. } => self.shown(o.meter, self.sign * cosine * y, p),
            Kind::Pull { .. } => self.shown(o.meter, y, p),
            Kind::Resistance(kelvin) => self.shown(o.meter, self.resistance_ohm(kelvin, p), p),
            Kind::VoltsOverAmperes(kelvin, ammeter) => {
                let gain = |meter| self.shown(meter, 1.0, p) - self.shown(meter, 0.0, p);
                self.resistance_ohm(kelvin, p) * gain(o.meter) / gain(ammeter)
            }
        }
    }

    /// Standard uncertainty of each reading at the values beforehand: its own, its current's, its place's, and the
    /// numerical error.
    pub(super) fn noise(&self) -> Result<Vec<f64>, Failure> {
        let start: Vec<f64> = self.unknowns.iter().map(|u| u.mean).collect();
        let predicted = self.predict(&start)?;
        self.differentiate(&start)?;
        let of_place = self.of_place(&start);
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
                [o.own, of_current, of_place[k], numerical].iter().fold(0.0, |sum, u| f64::hypot(sum, *u))
            })
            .collect())
    }

    /// What each reading's place adds by the uncertainty that it has for itself: half the difference between the
    /// readings on both sides.
    fn of_place(&self, p: &[f64]) -> Vec<f64> {
        let all = &self.observations.list;
        let across = self.half_difference(p, &|o| [o.spots.across.own_m, 0.0]);
        let up = self.half_difference(p, &|o| [0.0, o.spots.height.own_m]);
        let readings = self.compose(p);
        (0..all.len())
            .map(|k| {
                let gap = readings[k] * self.by_gap(k).unwrap_or(0.0) * all[k].spots.gap.own_m;
                across[k].hypot(up[k]).hypot(gap)
            })
            .collect()
    }

    /// Half the difference between the readings with the probe on both sides of where it is, along the face and up.
    fn half_difference(&self, p: &[f64], moved_m: &dyn Fn(&Observation) -> [f64; 2]) -> Vec<f64> {
        let beside = |side: f64| {
            let mut geometry = self.geometry(p, None);
            for (moved, o) in geometry.moved_m.iter_mut().zip(&self.observations.list) {
                let [x, y] = moved_m(o);
                *moved = [moved[0] + side * x, moved[1] + side * y];
            }
            self.compose_in(p, &geometry)
        };
        beside(1.0).into_iter().zip(beside(-1.0)).map(|(a, b)| 0.5 * (a - b)).collect()
    }

    /// The gap of a station; 0 without a workpiece.
    fn gap_m(&self, station: &Station, shift_m: f64) -> f64 {
        match station.arrangement {
            Arrangement::Workpiece { gap_m, .. } => {
                gap_m.or(self.magnet.workpiece.as_ref().map(|w| w.gap_m)).unwrap_or(0.0) + shift_m
            }
            Arrangement::Open => 0.0,
        }
    }

    /// Relative derivative of a pull by its gap, 1/m.
    fn by_gap(&self, k: usize) -> Option<f64> {
        let (s, n, place) = self.homes[k].filter(|_| self.observations.list[k].kind.is_pull())?;
        let guard = self.lock(s);
        let (slopes, at) = (guard.slopes.as_ref()?, guard.at.as_ref()?);
        Some(slopes.gap[n][place] / self.gap_m(&guard.station, at.gap_shift_m))
    }

    /// Flux density across the direction that each field reading is meant for, T.
    fn crossed(&self, p: &[f64]) -> Vec<f64> {
        let mut across = self.observations.list.clone();
        for o in &mut across {
            if let Kind::Field { axial, .. } = &mut o.kind {
                *axial = !*axial;
            }
        }
        self.afresh(&self.geometry(p, None), &across)
    }

    /// Fields of all observations from the solutions there are, not from what was read off these before.
    fn afresh(&self, geometry: &Geometry, all: &[Observation]) -> Vec<f64> {
        let mut found = vec![0.0; all.len()];
        for s in 0..self.stations.len() {
            let mut guard = self.lock(s);
            let solved = &mut *guard;
            for (n, state) in solved.states.iter_mut().enumerate() {
                let probed = solved.station.afresh(n, &self.magnet, state, geometry, all);
                for (&k, b) in solved.station.nodes[n].observations.iter().zip(probed) {
                    found[k] = b;
                }
            }
        }
        found
    }

    /// Derivative of a reading that needs a solution of its own, by an unknown; none if it does not.
    fn slope(&self, k: usize, (unknown, value): (&Unknown, f64), y: f64) -> Option<f64> {
        let (s, n, place) = self.homes[k]?;
        let by_gap = self.by_gap(k).unwrap_or(0.0);
        let guard = self.lock(s);
        let slopes = guard.slopes.as_ref()?;
        match unknown.what {
            What::Material => Some(y * slopes.material[n][place] / value),
            What::Gap => Some(y * by_gap),
            What::Zero(zero) if self.observations.list[k].spots.gap.zero == Some(zero) => Some(y * by_gap),
            What::Way(way) => {
                let (_, slopes) = slopes.steels.iter().find(|(of, _)| *of == way)?;
                Some(y * slopes[n][place] / unknown.standard_at(value))
            }
            _ => None,
        }
    }
}

/// Changes by way and place at every state of a station, between those at the first and the last: of a pull as a share of
/// itself, of a field as it goes with the ampere-turns.
fn between(arrangement: Arrangement, states: &[State], ends: [Vec<Vec<f64>>; 2]) -> Vec<Vec<Vec<f64>>> {
    let size = |state: &State| match arrangement {
        Arrangement::Workpiece { .. } => state.values[0],
        Arrangement::Open if state.ampere_turns == 0.0 => 1.0,
        Arrangement::Open => state.ampere_turns,
    };
    let [first, last] = [&states[0], &states[states.len() - 1]];
    let (low, high) = (first.ampere_turns, last.ampere_turns);
    let of_state = |state: &State| {
        let share = if high == low { 0.0 } else { (state.ampere_turns - low) / (high - low) };
        let one = |(a, b): (&f64, &f64)| {
            let (a, b) = (a / size(first), b / size(last));
            size(state) * (a + share * (b - a))
        };
        let of_way = |(a, b): (&Vec<f64>, &Vec<f64>)| a.iter().zip(b).map(one).collect();
        ends[0].iter().zip(&ends[1]).map(of_way).collect()
    };
    states.iter().map(of_state).collect()
}

impl Slopes {
    fn serve(&self, at: &Point, closeness: Closeness) -> bool {
        let keep = match closeness {
            Closeness::Roughly => KEEP.map(|limit| ROUGHLY * limit),
            Closeness::Closely => KEEP,
        };
        let factors = self.at.factors.iter().zip(&at.factors);
        let near = |a: f64, b: f64, limit: f64| (a / b - 1.0).abs() <= limit;
        factors.into_iter().all(|(a, b)| near(*a, *b, keep[0]))
            && near(self.at.material, at.material, keep[1])
            && (self.at.gap_shift_m - at.gap_shift_m).abs() <= keep[2] * self.gap_step_m
            && self.at.moved.iter().zip(&at.moved).all(|(a, b)| (a - b).abs() <= keep[3])
    }
}

impl Model for &Bench<'_> {
    type Error = Failure;

    fn predict(&self, p: &[f64]) -> Result<Vec<f64>, Failure> {
        self.magnet.watch.check()?;
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
            let needs_solution = match unknown.what {
                What::Material | What::Gap => true,
                What::Way(way) => self.is_steel(way),
                _ => false,
            };
            // A place is moved so far that it does not matter in which element it is.
            let share = if matches!(unknown.what, What::Zero(_)) || unknown.is_minor() { 0.1 } else { 1e-3 };
            let step = share * unknown.standard;
            let sides = [p[j] + step, p[j] - step].map(|x| {
                let mut moved = p.to_vec();
                moved[j] = x;
                if needs_solution { base.clone() } else { self.compose(&moved) }
            });
            for k in 0..base.len() {
                jacobian[(k, j)] = match self.slope(k, (unknown, p[j]), base[k]) {
                    Some(slope) => slope,
                    None if needs_solution => 0.0,
                    None => (sides[0][k] - sides[1][k]) / (2.0 * step),
                };
            }
        }
        Ok(jacobian)
    }
}
