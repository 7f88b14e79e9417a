//! What iron remembers, at each quadrature point.

use crate::drawing::Point;
use crate::element::Element;
use crate::hysteresis::{HysteresisError, Hysteretic, Memory, Response};
use crate::mesh::Mesh;
use crate::sparse::NONE;
use std::cell::RefCell;
use std::sync::Arc;

/// Laws with memory by region, and the memories of all their quadrature points.
#[derive(Debug)]
pub(crate) struct Remembered<'a> {
    laws: &'a [Option<Arc<Hysteretic>>],
    /// First point of each element, if its region remembers.
    first: Vec<u32>,
    memories: Vec<Memory>,
    /// Field strengths last found, to find the next from.
    found: RefCell<Vec<Point>>,
}

impl<'a> Remembered<'a> {
    /// All fresh.
    pub(crate) fn fresh(mesh: &Mesh, laws: &'a [Option<Arc<Hysteretic>>]) -> Self {
        let points = Element::of_order(mesh.order).points.len();
        let (mut first, mut memories) = (Vec::with_capacity(mesh.first_exterior), Vec::new());
        for &region in &mesh.region[..mesh.first_exterior] {
            match &laws[region] {
                Some(law) => {
                    first.push(memories.len() as u32);
                    memories.extend((0..points).map(|_| law.fresh()));
                }
                None => first.push(NONE),
            }
        }
        let found = RefCell::new(vec![[0.0; 2]; memories.len()]);
        Self { laws, first, memories, found }
    }

    /// Whether a region remembers.
    pub(crate) fn has(&self, region: usize) -> bool {
        self.laws[region].is_some()
    }

    /// Number of points.
    pub(crate) fn points(&self) -> usize {
        self.memories.len()
    }

    /// Go on from other memories.
    pub(crate) fn remember(&mut self, memories: &[Memory]) {
        self.memories.clone_from_slice(memories);
    }

    /// The law at a flux density, if the element's region remembers.
    pub(crate) fn respond(
        &self,
        mesh: &Mesh,
        element: usize,
        point: usize,
        b: Point,
    ) -> Option<Result<Response, HysteresisError>> {
        let law = self.laws[mesh.region[element]].as_ref()?;
        let at = self.first[element] as usize + point;
        let mut found = self.found.borrow_mut();
        let response = law.at_from(b, &self.memories[at], found[at]);
        if let Ok(response) = &response {
            found[at] = response.field_a_m;
        }
        Some(response)
    }
}
