//! A field solved quickly, for a search: on a coarser mesh, known to a per cent or two rather than a thousandth, with no
//! estimate of its error.

use crate::failure::Failure;
use crate::magnetic::scene::Scene;
use crate::magnetic::solved::pull_n;
use coilwright_fem::magnetostatics::{Magnetostatics, Solution, SolveError, Stopping};
use coilwright_fem::mesh::Mesh;

/// Growth of the element size at most.
const GROWTH_MOST: f64 = 1.5;
/// What may remain of Newton's corrections at the first order, which only sets out.
const SETS_OUT: f64 = 3e-2;
/// When the other orders are solved.
const LAST: Stopping = Stopping { remainder: 1e-3, steps: 300 };

/// A scene and its field.
#[derive(Debug)]
pub(crate) struct Roughly {
    scene: Scene,
    level: Magnetostatics,
    pub(crate) solution: Solution,
}

fn unsolved(e: SolveError) -> Failure {
    Failure::unsolved_field(e)
}

impl Roughly {
    /// Solve a scene on elements so many times as large as usual, up to an order.
    pub(crate) fn solve(mut scene: Scene, coarser: f64, order: usize) -> Result<Self, Failure> {
        let drawing = &mut scene.drawing;
        drawing.gradings.iter_mut().for_each(|grading| grading.size_m *= coarser);
        drawing.growth = (drawing.growth * coarser).min(GROWTH_MOST);
        drawing.size_max_m *= coarser;
        let base = Mesh::new(drawing, 1)?;
        let mut level = Magnetostatics::new(base.clone()).map_err(unsolved)?;
        let first = Stopping { remainder: SETS_OUT, ..Stopping::default() };
        let mut solution =
            level.solve(scene.media.clone(), scene.applied_t, None, first).map_err(unsolved)?;
        for order in 2..=order {
            let mesh = base.with_order(order);
            let start = mesh.interpolate(&solution.mesh, &solution.potential);
            level = Magnetostatics::new(mesh).map_err(unsolved)?;
            solution =
                level.solve(scene.media.clone(), scene.applied_t, Some(&start), LAST).map_err(unsolved)?;
        }
        Ok(Self { scene, level, solution })
    }

    /// The same scene under another current, from this field.
    pub(crate) fn again(&mut self, scene: &Scene) -> Result<(), Failure> {
        self.scene.media = scene.media.clone();
        let start = Some(self.solution.potential.as_slice());
        let solved = self.level.solve(scene.media.clone(), scene.applied_t, start, LAST);
        self.solution = solved.map_err(unsolved)?;
        Ok(())
    }

    /// Attraction of what moves, N.
    pub(crate) fn pull_n(&self) -> Result<f64, Failure> {
        pull_n(&self.scene, &self.scene.drawing, &self.solution)
    }
}
