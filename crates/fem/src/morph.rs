//! Moving a drawing's parts and its mesh with them.
//!
//! A coarse triangulation of the drawing's own vertices carries each vertex's displacement; the nodes of the mesh
//! follow by linear interpolation. The same field is the virtual displacement from which forces are computed.

use crate::drawing::{BACKGROUND, Curve, Drawing, DrawingError, Graph, Point, cross, distance, sub};
use crate::mesh::Mesh;
use spade::{
    ConstrainedDelaunayTriangulation, HasPosition, Point2, PositionInTriangulation, Triangulation as _,
};
use std::sync::Arc;

/// Chords that stand for an arc in the coarse triangulation.
const CHORDS: usize = 16;

/// Displacement of every corner of a mesh's triangles, in metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    pub(crate) at_points: Vec<Point>,
}

#[derive(Clone, Copy)]
struct Carrier {
    at: Point2<f64>,
    moves: Point,
}

impl HasPosition for Carrier {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

impl Motion {
    /// The motion that turns `from`, which the mesh was made of, into `to`, which has the same structure.
    pub fn between(mesh: &Mesh, from: &Drawing, to: &Drawing) -> Result<Self, DrawingError> {
        let (old, new) = (from.graph()?, to.graph()?);
        let same_edges = old.edges.len() == new.edges.len()
            && old.edges.iter().zip(&new.edges).all(|(e, f)| {
                e.ends == f.ends && std::mem::discriminant(&e.curve) == std::mem::discriminant(&f.curve)
            });
        let same_circle = from.centre == to.centre && from.radius_m == to.radius_m;
        if !same_edges || old.vertices.len() != new.vertices.len() || !same_circle {
            return Err(DrawingError::DifferentStructure);
        }
        Self::carried(
            mesh,
            &old,
            |k| sub(new.vertices[k], old.vertices[k]),
            |k, t| {
                let (e, f) = (&old.edges[k], &new.edges[k]);
                let at = |g: &Graph, e: &crate::drawing::Edge| {
                    e.curve.point(g.vertices[e.ends[0]], g.vertices[e.ends[1]], t)
                };
                sub(at(&new, f), at(&old, e))
            },
        )
    }

    /// A rigid unit translation of some areas (by number in the drawing) along `direction`; all else stays.
    pub fn of_areas(
        mesh: &Mesh,
        drawing: &Drawing,
        moves: impl Fn(usize) -> bool,
        direction: Point,
    ) -> Result<Self, DrawingError> {
        let mut graph = drawing.graph()?;
        let mut moving = vec![false; graph.vertices.len()];
        for area in drawing.areas.iter().enumerate().filter(|(k, _)| moves(*k)).map(|(_, a)| a) {
            for &(p, _) in &area.outline.0 {
                let v = graph.vertex(p);
                moving[v] = true;
            }
        }
        let step = |yes: bool| if yes { direction } else { [0.0; 2] };
        let mut motion = Self::carried(
            mesh,
            &graph,
            |k| step(moving[k]),
            |k, _| {
                let [a, b] = graph.edges[k].ends;
                step(moving[a] && moving[b])
            },
        )?;
        // Nodes on an arc lie beside the chords that stood for it: a body is to stay rigid all the same.
        for wanted in [false, true] {
            for (k, corners) in mesh.triangles.corners[..mesh.first_exterior].iter().enumerate() {
                if mesh.region[k] == BACKGROUND {
                    continue;
                }
                let mut of = drawing
                    .areas
                    .iter()
                    .enumerate()
                    .filter(|(_, a)| a.region == mesh.region[k])
                    .map(|(n, _)| moves(n))
                    .peekable();
                if of.peek().is_some() && of.all(|m| m == wanted) {
                    corners.iter().for_each(|&v| motion.at_points[v] = step(wanted));
                }
            }
        }
        Ok(motion)
    }

    /// The part of a rigid unit motion that strains only the elements which touch the moving body.
    pub(crate) fn of_shell(&self) -> Self {
        let step = |v: usize| if self.moves_fully(v) { self.at_points[v] } else { [0.0; 2] };
        Self { at_points: (0..self.at_points.len()).map(step).collect() }
    }

    /// Whether a corner moves by the whole unit.
    pub(crate) fn moves_fully(&self, v: usize) -> bool {
        self.at_points[v][0].hypot(self.at_points[v][1]) > 1.0 - 1e-9
    }

    fn carried(
        mesh: &Mesh,
        graph: &Graph,
        of_vertex: impl Fn(usize) -> Point,
        on_edge: impl Fn(usize, f64) -> Point,
    ) -> Result<Self, DrawingError> {
        let failed = |e: spade::InsertionError| DrawingError::Triangulation(e.to_string());
        let carrier = |at: Point, moves| Carrier { at: Point2::new(at[0], at[1]), moves };
        let mut carriers: Vec<Carrier> =
            graph.vertices.iter().enumerate().map(|(k, &p)| carrier(p, of_vertex(k))).collect();
        let mut segments = Vec::new();
        for (k, e) in graph.edges.iter().enumerate() {
            let [a, b] = e.ends.map(|v| graph.vertices[v]);
            let mut from = e.ends[0];
            if e.curve != Curve::Line {
                for m in 1..CHORDS {
                    let t = m as f64 / CHORDS as f64;
                    carriers.push(carrier(e.curve.point(a, b, t), on_edge(k, t)));
                    segments.push([from, carriers.len() - 1]);
                    from = carriers.len() - 1;
                }
            }
            segments.push([from, e.ends[1]]);
        }
        let coarse =
            ConstrainedDelaunayTriangulation::<Carrier>::bulk_load_cdt(carriers, segments).map_err(failed)?;
        let inner =
            mesh.triangles.corners[..mesh.first_exterior].iter().flatten().copied().max().unwrap_or(0);
        let mut hint = spade::handles::FixedVertexHandle::from_index(0);
        let mut at_points = vec![[0.0; 2]; mesh.triangles.points.len()];
        for (k, moves) in at_points.iter_mut().enumerate().take(inner + 1) {
            let p = mesh.triangles.points[k];
            let place = coarse.locate_with_hint(Point2::new(p[0], p[1]), hint);
            *moves = match place {
                PositionInTriangulation::OnVertex(v) => coarse.vertex(v).data().moves,
                PositionInTriangulation::OnEdge(e) => {
                    let [a, b] = coarse.directed_edge(e).vertices().map(|v| *v.data());
                    let (length, t) = (distance(xy(&a), xy(&b)), distance(xy(&a), p));
                    mix(&[(a.moves, 1.0 - t / length), (b.moves, t / length)])
                }
                PositionInTriangulation::OnFace(f) => {
                    let [a, b, c] = coarse.face(f).vertices().map(|v| *v.data());
                    hint = coarse.face(f).vertices()[0].fix();
                    let area = |p: Point, q: Point, r: Point| cross(sub(q, p), sub(r, p));
                    let all = area(xy(&a), xy(&b), xy(&c));
                    let (u, v) = (area(p, xy(&b), xy(&c)) / all, area(xy(&a), p, xy(&c)) / all);
                    mix(&[(a.moves, u), (b.moves, v), (c.moves, 1.0 - u - v)])
                }
                // Between the bounding circle and its chords nothing moves.
                PositionInTriangulation::OutsideOfConvexHull(_)
                | PositionInTriangulation::NoTriangulation => [0.0; 2],
            };
        }
        Ok(Self { at_points })
    }
}

fn xy(c: &Carrier) -> Point {
    [c.at.x, c.at.y]
}

fn mix(parts: &[(Point, f64)]) -> Point {
    [0, 1].map(|d| parts.iter().map(|(m, w)| m[d] * w).sum())
}

impl Mesh {
    /// This mesh after a motion: same elements, other nodes.
    pub fn moved(&self, motion: &Motion) -> Result<Mesh, DrawingError> {
        let old = &*self.triangles;
        let mut triangles = old.clone();
        for (k, (p, m)) in triangles.points.iter_mut().zip(&motion.at_points).enumerate() {
            *p = [p[0] + m[0], p[1] + m[1]];
            if old.on_axis[k] {
                p[0] = 0.0;
            }
        }
        for (side, centre) in &mut triangles.arcs {
            // An arc may be carried along but not change its radius: its mesh would not fit the new circle.
            let [p, q] = side.map(|v| motion.at_points[v]);
            if distance(p, q) > 1e-9 * self.radius_m {
                return Err(DrawingError::DifferentStructure);
            }
            *centre = [centre[0] + p[0], centre[1] + p[1]];
        }
        let folded = triangles.corners.iter().zip(&old.corners).any(|(t, _)| {
            let [a, b, c] = t.map(|v| triangles.points[v]);
            cross(sub(b, a), sub(c, a)) <= 0.0
        });
        if folded {
            return Err(DrawingError::MorphFolds);
        }
        Ok(Mesh::build(self.symmetry, self.centre, self.radius_m, Arc::new(triangles), self.order))
    }
}
