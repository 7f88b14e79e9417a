//! A scene with its field, what is read from it, and how sure that is.

use crate::band::{Band, Budget};
use crate::diagnostic::Diagnostic;
use crate::magnet::{Iron, Magnet, Substance};
use crate::scene::{Scene, Stage};
use crate::sheet::Sheet;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::{Failure as SolverFailure, Ladder};
use thiserror::Error;

/// Why a question has no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Failure {
    /// The sheet is wrong or does not fit the question.
    #[error("{} in the sheet", if .0.len() == 1 { "a fault" } else { "several faults" })]
    Input(Vec<Diagnostic>),
    /// The field could not be solved.
    #[error("the field could not be solved: {0}")]
    Physics(String),
}

impl From<SolverFailure> for Failure {
    fn from(e: SolverFailure) -> Self {
        Self::Physics(e.to_string())
    }
}

impl From<coilwright_fem::drawing::DrawingError> for Failure {
    fn from(e: coilwright_fem::drawing::DrawingError) -> Self {
        Self::Physics(e.to_string())
    }
}

impl From<Vec<Diagnostic>> for Failure {
    fn from(d: Vec<Diagnostic>) -> Self {
        Self::Input(d)
    }
}

impl From<Diagnostic> for Failure {
    fn from(d: Diagnostic) -> Self {
        Self::Input(vec![d])
    }
}

/// A scene and its field.
#[derive(Debug)]
pub struct Solved {
    /// What was drawn.
    pub scene: Scene,
    /// Its solutions at rising order.
    pub ladder: Ladder,
}

/// Attraction in N of what moves in a scene, from a solution on a (framed) drawing.
pub fn pull_n(scene: &Scene, drawing: &Drawing, solution: &Solution) -> Result<f64, Failure> {
    let motion = Motion::of_areas(&solution.mesh, drawing, |k| scene.moving[k], [0.0, 1.0])?;
    Ok(scene.towards * scene.scale * solution.force(&motion))
}

/// The same by the stress on a shell round what moves, as a check.
pub fn pull_by_stress_n(scene: &Scene, drawing: &Drawing, solution: &Solution) -> Result<f64, Failure> {
    let motion = Motion::of_areas(&solution.mesh, drawing, |k| scene.moving[k], [0.0, 1.0])?;
    Ok(scene.towards * scene.scale * solution.force_on_shell(&motion))
}

/// Flux through a turn, averaged over the winding, in Wb.
pub fn flux_per_turn_wb(scene: &Scene, solution: &Solution) -> f64 {
    scene
        .shares
        .iter()
        .enumerate()
        .filter(|(_, share)| **share != 0.0)
        .filter_map(|(region, share)| solution.region(region).map(|m| share * m.flux_per_turn_wb))
        .sum::<f64>()
        * scene.scale
}

impl Solved {
    /// Solve a scene until the pull is known to a relative accuracy.
    pub fn for_pull(scene: Scene, accuracy: f64) -> Result<Self, Failure> {
        let moving = scene.moving.clone();
        let ladder = Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, |ladder| {
            match ladder.motion(|k| moving[k], [0.0, 1.0]) {
                Ok(motion) => {
                    let e = ladder.estimate(|s| s.force(&motion));
                    // A pull far below the field's energy over the magnet's size is as good as none.
                    e.error <= accuracy * e.value.abs() || e.error < 1e-9
                }
                Err(_) => true,
            }
        })?;
        Ok(Self { scene, ladder })
    }

    /// Solve a neighbouring scene of the same structure, or from the start if it has another.
    pub fn neighbour(
        &mut self,
        scene: &Scene,
        start: Option<&Solution>,
    ) -> Result<(Solution, Drawing), Failure> {
        match self.ladder.nearby(&scene.drawing, scene.media.clone(), scene.applied_t, start) {
            Ok(solution) => Ok((solution, self.ladder.framed(&scene.drawing))),
            Err(SolverFailure::Drawing(_)) => {
                let ladder = Ladder::climb(&scene.drawing, scene.media.clone(), scene.applied_t)?;
                Ok((ladder.solution().clone(), ladder.drawing().clone()))
            }
            Err(e) => Err(e.into()),
        }
    }
}

/// A way in which the magnet may differ from what was taken.
struct Variation {
    path: String,
    label: String,
    /// The magnet one standard uncertainty lower and higher.
    ends: [Magnet; 2],
}

/// Every independent way in which the magnet of a sheet may differ.
fn variations(sheet: &Sheet, magnet: &Magnet) -> Vec<Variation> {
    let mut found = Vec::new();
    for input in &magnet.inputs {
        let at = |value: f64| {
            let mut other = sheet.clone();
            other.set_value(&input.path, value);
            Magnet::complete(&other).ok()
        };
        let ends = [at(input.value - input.standard), at(input.value + input.standard)];
        // At the edge of what is possible one side stands for both.
        let ends = match ends {
            [Some(low), Some(high)] => [low, high],
            [Some(low), None] => [low, magnet.clone()],
            [None, Some(high)] => [magnet.clone(), high],
            [None, None] => continue,
        };
        found.push(Variation { path: input.path.clone(), label: input.label.clone(), ends });
    }
    if let Some(excitation) = &magnet.excitation {
        for (path, label, relative) in &excitation.contributors {
            let ends = [1.0 + relative, 1.0 / (1.0 + relative)].map(|factor| {
                let mut other = magnet.clone();
                if let Some(e) = &mut other.excitation {
                    e.ampere_turns /= factor;
                    e.current_a = e.current_a.map(|i| i / factor);
                }
                other
            });
            found.push(Variation { path: path.clone(), label: label.clone(), ends });
        }
    }
    for iron in irons(magnet) {
        let scaled = |field: f64, saturation: f64| {
            let mut other = magnet.clone();
            let scale = |i: &mut Iron| {
                if i.name == iron.name {
                    i.law = i.law.scaled(field, saturation);
                }
            };
            for part in &mut other.parts {
                if let Substance::Iron(i) = &mut part.substance {
                    scale(i);
                }
            }
            for plate in other.workpiece.iter_mut().chain(other.keeper.iter_mut()) {
                scale(&mut plate.iron);
            }
            other
        };
        let (u, v) = (iron.field_relative_standard, iron.saturation_relative_standard);
        if u > 0.0 {
            found.push(Variation {
                path: format!("material.{}.field", iron.name),
                label: format!("permeability of {}", iron.name),
                ends: [scaled(1.0 / (1.0 + u), 1.0), scaled(1.0 + u, 1.0)],
            });
        }
        if v > 0.0 {
            found.push(Variation {
                path: format!("material.{}.saturation", iron.name),
                label: format!("saturation of {}", iron.name),
                ends: [scaled(1.0, 1.0 - v), scaled(1.0, 1.0 + v)],
            });
        }
    }
    found
}

/// The different irons of a magnet, by name.
fn irons(magnet: &Magnet) -> Vec<Iron> {
    let of_parts = magnet.parts.iter().filter_map(|p| match &p.substance {
        Substance::Iron(i) => Some(i),
        _ => None,
    });
    let of_plates = magnet.workpiece.iter().chain(magnet.keeper.iter()).map(|p| &p.iron);
    let mut found: Vec<Iron> = Vec::new();
    for iron in of_parts.chain(of_plates) {
        if !found.iter().any(|f| f.name == iron.name) {
            found.push(iron.clone());
        }
    }
    found
}

/// Effects of everything uncertain on several outputs at once: for each output, path, label and change for one
/// standard uncertainty.
pub(crate) type Effects = Vec<Vec<(String, String, f64)>>;

/// First-order effects (JCGM 100:2008, 5.1.3 note 2: half the difference of two evaluations). `stage` puts a varied
/// magnet on stage; `outputs` reads the numbers.
pub(crate) fn effects(
    sheet: &Sheet,
    magnet: &Magnet,
    solved: &mut Solved,
    stage: impl Fn(&Magnet) -> Stage,
    outputs: impl Fn(&Magnet, &Scene, &Drawing, &Solution) -> Result<Vec<f64>, Failure>,
) -> Result<Effects, Failure> {
    let mut all: Effects = Vec::new();
    for variation in variations(sheet, magnet) {
        let mut values = Vec::new();
        for end in &variation.ends {
            let scene = end.scene(&stage(end));
            let (solution, drawing) = solved.neighbour(&scene, None)?;
            values.push(outputs(end, &scene, &drawing, &solution)?);
        }
        if all.is_empty() {
            all = vec![Vec::new(); values[0].len()];
        }
        let ends = values[0].iter().zip(&values[1]);
        for (list, (low, high)) in all.iter_mut().zip(ends) {
            list.push((variation.path.clone(), variation.label.clone(), 0.5 * (high - low)));
        }
    }
    Ok(all)
}

/// The band of a value from the effects on it and the solver's error (a 95 % bound).
pub(crate) fn band(value: f64, effects: &[(String, String, f64)], solver_error: f64) -> Band {
    let mut budget = Budget::new(value);
    for (path, label, effect) in effects {
        budget.add(path, label, *effect);
    }
    budget.add("solver", "numerical error", 0.5 * solver_error.abs());
    budget.band().unwrap_or(Band { standard: 0.0, low: value, high: value, contributors: Vec::new() })
}
