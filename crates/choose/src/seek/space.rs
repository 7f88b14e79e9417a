//! From a point of the search to a sheet, and to its numbers.

use crate::gathered::reason;
use crate::seek::search::Point;
use crate::seek::vary::{Axis, TURNS, Values, WIRE, text};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::Magnet;
use coilwright_magnet::model::rough::{Rough, Wanted, numbers};
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::wire::Wire;
use rayon::prelude::*;

/// What the search may reach.
#[derive(Clone, Debug)]
pub(crate) struct Space {
    base: Sheet,
    /// Entries of the sheet that would contradict what changes.
    pub(crate) removed: Vec<&'static str>,
    pub(crate) axes: Vec<Axis>,
    /// The winding is wound anew: as many turns of the wire as find room, or a share of them.
    rewound: bool,
    wanted: Wanted,
}

/// Why a point has no numbers.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Lack {
    /// There is no such magnet, or it was not solved; why.
    NoMagnet(String),
    /// It never settles.
    RunsAway,
}

/// The numbers of a point.
pub(crate) type Outcome = Result<Rough, Lack>;

/// What says how an old winding was wound.
const OLD_WINDING: [&str; 5] = [
    "winding.turns",
    "winding.resistance",
    "winding.resistance_at",
    "winding.layers",
    "winding.ampere_turns",
];

impl Space {
    pub(crate) fn new(sheet: &Sheet, axes: Vec<Axis>, wanted: Wanted) -> Self {
        let varied = |path: &str| axes.iter().any(|axis| axis.path == path);
        let free_turns = axes.iter().any(|axis| matches!(axis.values, Values::Turns(_)));
        let rewound = free_turns || (varied(WIRE) && !varied(TURNS));
        let mut base = sheet.clone();
        let mut removed = Vec::new();
        let mut take = |path: &'static str| {
            if base.has(path) {
                base.remove(path);
                removed.push(path);
            }
        };
        if varied(WIRE) || varied(TURNS) {
            OLD_WINDING.into_iter().filter(|path| !varied(path)).for_each(&mut take);
        }
        ["calibration.correlation", "calibration.before"].into_iter().for_each(&mut take);
        if varied("body.wall") {
            take("body.inner_diameter");
        }
        if varied("body.inner_diameter") {
            take("body.wall");
        }
        Self { base, removed, axes, rewound, wanted }
    }

    /// Places on each axis.
    pub(crate) fn counts(&self) -> Vec<u32> {
        self.axes.iter().map(Axis::count).collect()
    }

    /// The sheet of a point.
    pub(crate) fn sheet(&self, point: &[u32]) -> Result<Sheet, String> {
        let mut sheet = self.base.clone();
        let mut share = 1.0;
        for (axis, &place) in self.axes.iter().zip(point) {
            match &axis.values {
                Values::Numbers(values, _) => sheet.set_value(&axis.path, values[place as usize]),
                Values::Wires(wires) => {
                    sheet.set(WIRE, &wires[place as usize].name).map_err(|fault| fault.message)?;
                }
                Values::Turns(shares) => share = shares[place as usize],
            }
        }
        if self.rewound {
            let first = |faults: Vec<_>| reason(Failure::Input(faults));
            let full = Magnet::complete(&sheet).map_err(first)?;
            let turns = full.excitation.as_ref().and_then(|e| e.winding.as_ref()).map_or(0.0, |w| w.turns);
            // A winding has whole turns, each coil as many.
            let turns = (share * turns).floor();
            if turns < 1.0 {
                return Err("not a single turn of the wire finds room".into());
            }
            sheet.set_value(TURNS, turns);
        }
        Ok(sheet)
    }

    /// What has to stand in a sheet's text for a point, path by path; no text takes an entry out.
    pub(crate) fn entries(&self, point: &[u32]) -> Result<Vec<(String, String)>, String> {
        let sheet = self.sheet(point)?;
        let mut found: Vec<(String, String)> =
            self.removed.iter().map(|path| ((*path).to_owned(), String::new())).collect();
        for (axis, &place) in self.axes.iter().zip(point) {
            let said = match &axis.values {
                Values::Numbers(values, dimension) => {
                    let half_width = self.base.quantity(&axis.path).map_or(0.0, |q| q.half_width);
                    text(values[place as usize], half_width, *dimension)
                }
                Values::Wires(wires) => wires[place as usize].name.clone(),
                Values::Turns(_) => continue,
            };
            found.push((axis.path.clone(), said));
        }
        if self.rewound {
            found.retain(|(path, _)| path != TURNS);
            found.push((TURNS.into(), text(sheet.value(TURNS).unwrap_or(0.0), 0.0, Dimension::Count)));
        }
        Ok(found)
    }

    /// The numbers of points, on all cores.
    pub(crate) fn outcomes(&self, points: &[Point]) -> Vec<Outcome> {
        points.par_iter().with_max_len(1).map(|point| self.outcome(point)).collect()
    }

    fn outcome(&self, point: &[u32]) -> Outcome {
        let sheet = self.sheet(point).map_err(Lack::NoMagnet)?;
        numbers(&sheet, self.wanted).map_err(|failure| match failure {
            Failure::Runaway => Lack::RunsAway,
            other => Lack::NoMagnet(reason(other)),
        })
    }

    /// The point nearest to a sheet as it stands; none if it lacks an entry that changes.
    pub(crate) fn nearest(&self, sheet: &Sheet) -> Option<Point> {
        let magnet = Magnet::complete(sheet).ok();
        let own = magnet.as_ref().and_then(|m| m.excitation.as_ref()).and_then(|e| e.winding.as_ref());
        let nearest = |values: &[f64], to: f64| {
            (0..values.len()).min_by(|&a, &b| (values[a] - to).abs().total_cmp(&(values[b] - to).abs()))
        };
        let place = |axis: &Axis| match &axis.values {
            Values::Numbers(values, _) => {
                let assumed = || {
                    let all = magnet.iter().flat_map(|m| &m.assumptions);
                    all.filter(|a| a.path == axis.path).find_map(|a| a.value.as_ref()).map(|m| m.value)
                };
                let value = sheet.value(&axis.path).or_else(assumed);
                let value = value.or_else(|| own.filter(|_| axis.path == TURNS).map(|w| w.turns))?;
                nearest(values, value)
            }
            Values::Wires(wires) => {
                let bare: Vec<f64> = wires.iter().map(|w: &Wire| w.diameter_m.ln()).collect();
                nearest(&bare, own?.wire.diameter_m.ln())
            }
            Values::Turns(shares) => Some(shares.len() - 1),
        };
        self.axes.iter().map(|axis| place(axis).map(|k| k as u32)).collect()
    }
}
