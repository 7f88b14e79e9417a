//! A scene with its field, and what is read from it.

use crate::failure::Failure;
use crate::magnetic::scene::Scene;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::Failure as SolverFailure;
use coilwright_fem::solve::Ladder;

/// A pull known to this share of the field's energy over the drawing's size needs no finer mesh: it may well be none.
const NO_PULL: f64 = 1e-9;

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

/// Why energies are not told where a net current makes them infinite.
pub(crate) const NO_ENERGY: &str =
    "infinite: a current that does not return has a field that falls off only as 1 over the distance";

/// Why the flux of a winding and its inductance are not told, if they are infinite.
pub(crate) fn no_flux(scene: &Scene, solution: &Solution) -> Option<&'static str> {
    let open = scene.shares.iter().sum::<f64>().abs() > 1e-9;
    (open && solution.net_current() != 0.0)
        .then_some("infinite: the winding's return side is not in the drawing; draw it to get a number")
}

impl Solved {
    /// Solve a scene until the pull is known to a relative accuracy.
    pub fn for_pull(scene: Scene, accuracy: f64) -> Result<Self, Failure> {
        let moving = scene.moving.clone();
        let ladder = Ladder::climb_until(&scene.drawing, scene.media.clone(), scene.applied_t, |ladder| {
            match ladder.motion(|k| moving[k], [0.0, 1.0]) {
                Ok(motion) => {
                    let e = ladder.force(&motion);
                    // A pull far below the field's energy over the magnet's size is as good as none.
                    e.error <= accuracy * e.value.abs() || e.error <= NO_PULL * ladder.force_scale()
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
