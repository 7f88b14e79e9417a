//! A scene with its field, and what is read from it.

use crate::failure::Failure;
use crate::magnetic::scene::Scene;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::law::Medium;
use coilwright_fem::magnetostatics::{Solution, SolveError};
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::Failure as SolverFailure;
use coilwright_fem::solve::Ladder;

/// A pull known to this share of the field's energy over the drawing's size needs no finer mesh: it may well be none.
const NO_PULL: f64 = 1e-9;
/// Flux densities at which a law is looked at, up to 3 T, and the slope over the least that belongs to the same step.
const STEPS: usize = 600;
const AS_STEEP: f64 = 4.0;

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
    Ok(scene.pull_scale() * solution.force(&motion))
}

/// The same by the stress on a shell round what moves, as a check.
pub fn pull_by_stress_n(scene: &Scene, drawing: &Drawing, solution: &Solution) -> Result<f64, Failure> {
    let motion = Motion::of_areas(&solution.mesh, drawing, |k| scene.moving[k], [0.0, 1.0])?;
    Ok(scene.pull_scale() * solution.force_on_shell(&motion))
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

/// Why energies are not told where a net current makes them infinite.
pub(crate) const NO_ENERGY: &str =
    "infinite: a current that does not return has a field that falls off only as 1 over the distance";

/// Why the flux of a winding and its inductance are not told, if they are infinite.
pub(crate) fn no_flux(scene: &Scene, solution: &Solution) -> Option<&'static str> {
    let open = scene.shares.iter().sum::<f64>().abs() > 1e-9;
    (open && solution.net_current() != 0.0)
        .then_some("infinite: the winding's return side is not in the drawing; draw it to get a number")
}

/// What to mend if Newton's method gets nowhere: the law that turns from steepest to flat.
fn failed(e: &SolverFailure, scene: &Scene) -> Failure {
    if !matches!(e, SolverFailure::Solve(SolveError::NotConverged { .. })) {
        return Failure::unsolved_field(e);
    }
    let steepest =
        scene.names.iter().zip(scene.media.iter()).filter_map(|(name, m)| steepest(m).map(|s| (name, s)));
    match steepest.min_by(|p, q| p.1.2.total_cmp(&q.1.2)) {
        Some((name, ([from_t, to_t], [from_h, to_h], _))) => Failure::unsolved_field(format_args!(
            "{e}; the B-H curve of \"{name}\" is nearly vertical from {from_t:.3} T to {to_t:.3} T, where H goes from \
                 {from_h:.4} to {to_h:.4} A/m only: give that step of its table a slope"
        )),
        None => Failure::unsolved_field(e),
    }
}

/// Where a law is steepest: B and H from and to, and dH/dB there; nothing for a straight line.
fn steepest(medium: &Medium) -> Option<([f64; 2], [f64; 2], f64)> {
    if medium.law.linear().is_some() {
        return None;
    }
    let b = |k: usize| 3.0 * (k as f64 + 0.5) / STEPS as f64;
    let slopes: Vec<f64> = (0..STEPS).map(|k| medium.law.at(b(k)).slope).collect();
    let at = (0..STEPS).min_by(|&i, &j| slopes[i].total_cmp(&slopes[j]))?;
    let like = |k: &usize| slopes[*k] < AS_STEEP * slopes[at];
    let from = (0..=at).rev().take_while(like).last()?;
    let to = (at..STEPS).take_while(like).last()?;
    let h = |k: usize| b(k) * medium.law.at(b(k)).reluctivity;
    Some(([b(from), b(to)], [h(from), h(to)], slopes[at]))
}

impl Solved {
    /// Solve a scene until the pull is known to a relative accuracy.
    pub fn for_pull(scene: Scene, accuracy: f64) -> Result<Self, Failure> {
        let (moving, watch) = (scene.moving.clone(), scene.watch.clone());
        watch.check()?;
        let error = |ladder: &Ladder| match ladder.motion(|k| moving[k], [0.0, 1.0]) {
            Ok(motion) => {
                let e = ladder.force(&motion);
                // A pull far below the field's energy over the magnet's size is as good as none.
                let none = e.error <= NO_PULL * ladder.force_scale();
                if none { 0.0 } else { e.error / e.value.abs().max(f64::MIN_POSITIVE) }
            }
            Err(_) => 0.0,
        };
        // Nobody waits for a finer mesh of what is no longer wanted.
        let error = |ladder: &Ladder| if watch.is_stopped() { 0.0 } else { error(ladder) };
        let ladder =
            Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, accuracy, error);
        let ladder = ladder.map_err(|e| failed(&e, &scene))?;
        watch.check()?;
        Ok(Self { scene, ladder })
    }

    /// The same, whose neighbours are good for their differences.
    pub fn for_differences(&self) -> Result<Self, Failure> {
        let ladder = self.ladder.for_differences().map_err(|e| failed(&e, &self.scene))?;
        Ok(Self { scene: self.scene.clone(), ladder })
    }

    /// The same, whose neighbours are solved one order lower on the same mesh.
    pub fn lower(&self) -> Result<Self, Failure> {
        let ladder = self.ladder.lower().map_err(|e| failed(&e, &self.scene))?;
        Ok(Self { scene: self.scene.clone(), ladder })
    }

    /// The same, whose neighbours repeat to this, relatively, however they are reached.
    #[must_use]
    pub fn settled_to(mut self, remainder: f64) -> Self {
        self.ladder = self.ladder.settled_to(remainder);
        self
    }

    /// Solve a neighbouring scene of the same structure, or from the start if it has another.
    pub fn neighbour(
        &mut self,
        scene: &Scene,
        start: Option<&Solution>,
    ) -> Result<(Solution, Drawing), Failure> {
        scene.watch.check()?;
        match self.ladder.nearby(&scene.drawing, scene.media.clone(), scene.applied_t, start) {
            Ok(solution) => Ok((solution, self.ladder.framed(&scene.drawing))),
            Err(SolverFailure::Drawing(_)) => {
                let ladder = Ladder::climb(&scene.drawing, scene.media.clone(), scene.applied_t)
                    .map_err(|e| failed(&e, scene))?;
                Ok((ladder.solution().clone(), ladder.drawing().clone()))
            }
            Err(e) => Err(failed(&e, scene)),
        }
    }
}
