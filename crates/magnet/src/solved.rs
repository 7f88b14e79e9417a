//! A scene with its field, what is read from it, and how sure that is.

use crate::band::{Band, Budget};
use crate::diagnostic::Diagnostic;
use crate::magnet::Magnet;
use crate::scene::{Scene, Stage};
use crate::sheet::Sheet;
use crate::variation::{varied, ways};
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::{Failure as SolverFailure, Ladder};
use rayon::prelude::*;
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

/// A scene and its field. A clone solves neighbours of its own.
#[derive(Clone, Debug)]
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

/// Effects of everything uncertain on several outputs at once: for each output, path, label and change for one
/// standard uncertainty.
pub(crate) type Effects = Vec<Vec<(String, String, f64)>>;

/// Solutions that share one copy of a mesh. A fixed number, so that results do not depend on the number of threads.
const SHARE: usize = 4;

/// First-order effects (JCGM 100:2008, 5.1.3 note 2: half the difference of two evaluations), on all cores. `stage` puts
/// a varied magnet on stage; `outputs` reads the numbers.
pub(crate) fn effects(
    sheet: &Sheet,
    magnet: &Magnet,
    solved: &Solved,
    stage: impl Fn(&Magnet) -> Stage + Sync,
    outputs: impl Fn(&Magnet, &Scene, &Drawing, &Solution) -> Result<Vec<f64>, Failure> + Sync,
) -> Result<Effects, Failure> {
    let ways = ways(sheet, magnet);
    let mut kept = Vec::new();
    let mut sides: Vec<Magnet> = Vec::new();
    for way in &ways {
        let at = |x: f64| varied(sheet, magnet, std::slice::from_ref(way), &[x]).ok().map(|v| v.magnet);
        // At the edge of what is possible one side stands for both.
        let (low, high) = match (at(-1.0), at(1.0)) {
            (None, None) => continue,
            (low, high) => (low.unwrap_or_else(|| magnet.clone()), high.unwrap_or_else(|| magnet.clone())),
        };
        kept.push(way);
        sides.extend([low, high]);
    }
    // What does not change the scene needs no solution of its own.
    let home = stage(magnet);
    let scene = magnet.scene(&home);
    let (solution, drawing) = solved.clone().neighbour(&scene, None)?;
    let one = |own: &mut Solved, side: &Magnet| {
        let staged = stage(side);
        if looks_like(side, &staged, magnet, &home) {
            return outputs(side, &scene, &drawing, &solution);
        }
        let scene = side.scene(&staged);
        let (solution, drawing) = own.neighbour(&scene, None)?;
        outputs(side, &scene, &drawing, &solution)
    };
    let values: Vec<Vec<f64>> = sides
        .par_chunks(SHARE)
        .flat_map_iter(|chunk| {
            let mut own = solved.clone();
            chunk.iter().map(move |side| one(&mut own, side))
        })
        .collect::<Result<_, Failure>>()?;
    let mut all: Effects = vec![Vec::new(); values.first().map_or(0, Vec::len)];
    for (way, ends) in kept.iter().zip(values.chunks(2)) {
        for (k, list) in all.iter_mut().enumerate() {
            list.push((way.path.clone(), way.label.clone(), 0.5 * (ends[1][k] - ends[0][k])));
        }
    }
    Ok(all)
}

/// Whether two magnets on their stages make the same scene.
fn looks_like(a: &Magnet, on: &Stage, b: &Magnet, on_other: &Stage) -> bool {
    let same = |a: &Magnet, b: &Magnet| {
        a.symmetry == b.symmetry
            && a.depth_m == b.depth_m
            && a.face_m == b.face_m
            && a.poles == b.poles
            && a.applied_t == b.applied_t
            && a.parts == b.parts
    };
    on == on_other && same(a, b)
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
