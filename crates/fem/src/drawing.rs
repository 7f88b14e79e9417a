//! Plane drawings: areas painted over each other inside a disc or half-disc, and their planar graph.
//!
//! Coordinates are `[x, y]` in metres. In an axial drawing `x` is the radius and `y` the height along the axis.
//! Areas are painted in order: a later one covers an earlier one. Outlines may share edges, touch, or cross.

use thiserror::Error;

/// A point or vector in the plane, in metres.
pub type Point = [f64; 2];

/// What stands outside every painted area.
pub const BACKGROUND: usize = 0;

/// How the plane is continued to space.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symmetry {
    /// Rotation about `x = 0`; the drawing is the half-plane `x ≥ 0`.
    Axial,
    /// Translation; the drawing is the half-plane `x ≥ 0`, mirrored at `x = 0`.
    PlanarHalf(Mirror),
    /// Translation; the drawing is the whole plane.
    Planar,
}

/// What a mirror plane does to the flux.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mirror {
    /// Flux runs along the plane; nothing crosses it.
    FluxStays,
    /// Flux crosses the plane at right angles.
    FluxCrosses,
}

/// An edge's shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// Straight.
    Line,
    /// The arc about `centre`, counter-clockwise from the edge's first end if `ccw`.
    Arc {
        /// Centre of the circle.
        centre: Point,
        /// Sense.
        ccw: bool,
    },
}

/// A closed outline: nodes, each with the curve of the edge that leaves it.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline(pub Vec<(Point, Curve)>);

impl Outline {
    /// An axis-parallel rectangle.
    pub fn rectangle(x: [f64; 2], y: [f64; 2]) -> Self {
        Self::polygon(&[[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]])
    }

    /// A closed polygon through the given points.
    pub fn polygon(points: &[Point]) -> Self {
        Self(points.iter().map(|&p| (p, Curve::Line)).collect())
    }
}

/// An area filled with one region's medium.
#[derive(Clone, Debug, PartialEq)]
pub struct Area {
    /// Its boundary.
    pub outline: Outline,
    /// Number of the region it belongs to; [`BACKGROUND`] paints a hole.
    pub region: usize,
}

/// A wish for small elements at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grading {
    /// Where.
    pub at: Point,
    /// Element size there, in metres.
    pub size_m: f64,
}

/// A drawing: what is to be meshed.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// How the plane is continued to space.
    pub symmetry: Symmetry,
    /// Centre of the bounding circle, on `x = 0` unless the whole plane is drawn; beyond it is open space.
    pub centre: Point,
    /// Radius of the bounding circle, in metres.
    pub radius_m: f64,
    /// What is drawn, in painting order.
    pub areas: Vec<Area>,
    /// Where elements are to be small.
    pub gradings: Vec<Grading>,
    /// Growth of the element size with distance from a small one (dimensionless).
    pub growth: f64,
    /// Largest element size, in metres.
    pub size_max_m: f64,
}

/// Why a drawing cannot be meshed.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum DrawingError {
    /// A coordinate is NaN or infinite.
    #[error("a coordinate is not a finite number")]
    NotFinite,
    /// An outline leaves the bounding circle or crosses the axis.
    #[error("the point ({0}, {1}) lies outside the domain")]
    Outside(f64, f64),
    /// An arc's ends are at different distances from its centre.
    #[error("the arc that starts at ({0}, {1}) has ends at different distances from its centre")]
    BadArc(f64, f64),
    /// An outline has fewer than three nodes (two if one edge is an arc).
    #[error("an outline has too few nodes")]
    TooFewNodes,
    /// The bounding radius or a size is not positive.
    #[error("radius, growth and sizes must be positive")]
    BadSize,
    /// The triangulation broke down.
    #[error("the drawing could not be triangulated: {0}")]
    Triangulation(String),
    /// The drawing holds features too small for its size: the mesh would be huge.
    #[error("the drawing needs more than {0} triangles: its smallest parts are too small beside its largest")]
    TooFine(usize),
    /// A morph turned a triangle over.
    #[error("the two drawings differ too much for one mesh to serve both")]
    MorphFolds,
    /// Two drawings to be morphed into each other differ in structure.
    #[error("the two drawings have different structure")]
    DifferentStructure,
}

/// An edge of the planar graph between two vertices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edge {
    pub(crate) ends: [usize; 2],
    pub(crate) curve: Curve,
}

/// The drawing as a planar graph: no two edges cross or overlap.
#[derive(Clone, Debug)]
pub(crate) struct Graph {
    pub(crate) vertices: Vec<Point>,
    pub(crate) edges: Vec<Edge>,
    pub(crate) tolerance_m: f64,
}

pub(crate) fn sub(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}
pub(crate) fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}
pub(crate) fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}
pub(crate) fn distance(a: Point, b: Point) -> f64 {
    let d = sub(a, b);
    dot(d, d).sqrt()
}

/// Angle swept by an arc from `a` to `b` about `centre`, in (0, 2π].
pub(crate) fn sweep(a: Point, b: Point, centre: Point, ccw: bool) -> f64 {
    let (u, v) = (sub(a, centre), sub(b, centre));
    let angle = cross(u, v).atan2(dot(u, v));
    let full = 2.0 * std::f64::consts::PI;
    let swept = if ccw { angle } else { -angle };
    if swept <= 1e-12 { swept + full } else { swept }
}

impl Curve {
    /// The point at fraction `t` of the way from `a` to `b`.
    pub(crate) fn point(&self, a: Point, b: Point, t: f64) -> Point {
        match *self {
            Curve::Line => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])],
            Curve::Arc { centre, ccw } => {
                let angle = sweep(a, b, centre, ccw) * t * if ccw { 1.0 } else { -1.0 };
                let u = sub(a, centre);
                let (s, c) = angle.sin_cos();
                [centre[0] + c * u[0] - s * u[1], centre[1] + s * u[0] + c * u[1]]
            }
        }
    }

    /// Length of the edge from `a` to `b`, in metres.
    pub(crate) fn length(&self, a: Point, b: Point) -> f64 {
        match *self {
            Curve::Line => distance(a, b),
            Curve::Arc { centre, ccw } => distance(a, centre) * sweep(a, b, centre, ccw),
        }
    }

    /// Where on the edge (fraction) the point `p` lies, if it lies on it strictly between the ends.
    fn fraction_of(&self, a: Point, b: Point, p: Point, tolerance: f64) -> Option<f64> {
        if distance(a, p) < tolerance || distance(b, p) < tolerance {
            return None;
        }
        match *self {
            Curve::Line => {
                let (d, q) = (sub(b, a), sub(p, a));
                let t = dot(d, q) / dot(d, d);
                (t > 0.0 && t < 1.0 && distance(self.point(a, b, t), p) < tolerance).then_some(t)
            }
            Curve::Arc { centre, ccw } => {
                if (distance(p, centre) - distance(a, centre)).abs() > tolerance {
                    return None;
                }
                let t = sweep(a, p, centre, ccw) / sweep(a, b, centre, ccw);
                (t < 1.0).then_some(t)
            }
        }
    }
}

impl Drawing {
    /// An empty drawing with a bounding circle.
    pub fn new(symmetry: Symmetry, centre: Point, radius_m: f64) -> Self {
        Self {
            symmetry,
            centre,
            radius_m,
            areas: Vec::new(),
            gradings: Vec::new(),
            growth: 0.4,
            size_max_m: radius_m / 4.0,
        }
    }

    /// Paint an area.
    pub fn paint(&mut self, region: usize, outline: Outline) -> &mut Self {
        self.areas.push(Area { outline, region });
        self
    }

    /// Ask for small elements at a place.
    pub fn grade(&mut self, at: Point, size_m: f64) -> &mut Self {
        self.gradings.push(Grading { at, size_m });
        self
    }

    pub(crate) fn half(&self) -> bool {
        self.symmetry != Symmetry::Planar
    }

    fn check(&self) -> Result<(), DrawingError> {
        let positive = |v: f64| v.is_finite() && v > 0.0;
        let sizes_fine = positive(self.radius_m)
            && positive(self.growth)
            && positive(self.size_max_m)
            && self.gradings.iter().all(|g| positive(g.size_m));
        if !sizes_fine {
            return Err(DrawingError::BadSize);
        }
        let tolerance = 1e-9 * self.radius_m;
        let within = |p: Point| {
            distance(p, self.centre) < self.radius_m * (1.0 - 1e-6) && !(self.half() && p[0] < -tolerance)
        };
        for area in &self.areas {
            let nodes = &area.outline.0;
            let curved = nodes.iter().any(|(_, c)| *c != Curve::Line);
            if nodes.len() < if curved { 2 } else { 3 } {
                return Err(DrawingError::TooFewNodes);
            }
            for (k, &(p, curve)) in nodes.iter().enumerate() {
                if !(p[0].is_finite() && p[1].is_finite()) {
                    return Err(DrawingError::NotFinite);
                }
                if !within(p) {
                    return Err(DrawingError::Outside(p[0], p[1]));
                }
                if let Curve::Arc { centre, .. } = curve {
                    let q = nodes[(k + 1) % nodes.len()].0;
                    let radius = distance(p, centre);
                    if (radius - distance(q, centre)).abs() > 1e-6 * self.radius_m || radius < tolerance {
                        return Err(DrawingError::BadArc(p[0], p[1]));
                    }
                    // It may bulge out between its ends.
                    if let Some(out) =
                        (1..64).map(|m| curve.point(p, q, m as f64 / 64.0)).find(|p| !within(*p))
                    {
                        return Err(DrawingError::Outside(out[0], out[1]));
                    }
                }
            }
        }
        Ok(())
    }

    /// Outline of the domain, counter-clockwise.
    fn boundary(&self) -> Vec<(Point, Curve)> {
        let (c, r) = (self.centre, self.radius_m);
        let arc = Curve::Arc { centre: c, ccw: true };
        let (south, north) = ([c[0], c[1] - r], [c[0], c[1] + r]);
        if self.half() { vec![(south, arc), (north, Curve::Line)] } else { vec![(south, arc), (north, arc)] }
    }

    /// The planar graph: every outline's edges and the domain's boundary, cut where they meet.
    pub(crate) fn graph(&self) -> Result<Graph, DrawingError> {
        self.check()?;
        let mut graph = Graph { vertices: Vec::new(), edges: Vec::new(), tolerance_m: 1e-9 * self.radius_m };
        graph.add_outline(&self.boundary());
        for area in &self.areas {
            graph.add_outline(&area.outline.0);
        }
        graph.cut_crossings();
        graph.cut_at_vertices();
        Ok(graph)
    }
}

impl Graph {
    pub(crate) fn vertex(&mut self, p: Point) -> usize {
        match self.vertices.iter().position(|&q| distance(p, q) < self.tolerance_m) {
            Some(k) => k,
            None => {
                self.vertices.push(p);
                self.vertices.len() - 1
            }
        }
    }

    fn add_outline(&mut self, nodes: &[(Point, Curve)]) {
        for (k, &(p, curve)) in nodes.iter().enumerate() {
            let q = nodes[(k + 1) % nodes.len()].0;
            let ends = [self.vertex(p), self.vertex(q)];
            if ends[0] != ends[1] {
                self.push(Edge { ends, curve });
            }
        }
    }

    /// Add an edge unless it is there already, in either sense.
    fn push(&mut self, edge: Edge) {
        let reversed = Edge {
            ends: [edge.ends[1], edge.ends[0]],
            curve: match edge.curve {
                Curve::Line => Curve::Line,
                Curve::Arc { centre, ccw } => Curve::Arc { centre, ccw: !ccw },
            },
        };
        let middle = self.middle(&edge);
        let same = |other: &Edge| {
            (other.ends == edge.ends || other.ends == reversed.ends)
                && distance(self.middle(other), middle) < self.tolerance_m
        };
        if !self.edges.iter().any(same) {
            self.edges.push(edge);
        }
    }

    /// Keep one of each set of equal edges.
    pub(crate) fn drop_duplicates(&mut self) {
        for edge in std::mem::take(&mut self.edges) {
            self.push(edge);
        }
    }

    fn middle(&self, edge: &Edge) -> Point {
        edge.curve.point(self.vertices[edge.ends[0]], self.vertices[edge.ends[1]], 0.5)
    }

    /// Add the points where two edges cross as vertices.
    fn cut_crossings(&mut self) {
        let mut found = Vec::new();
        for (k, e) in self.edges.iter().enumerate() {
            for f in &self.edges[k + 1..] {
                let ends = |edge: &Edge| (self.vertices[edge.ends[0]], self.vertices[edge.ends[1]]);
                let ((a, b), (c, d)) = (ends(e), ends(f));
                match (e.curve, f.curve) {
                    (Curve::Line, Curve::Line) => found.extend(line_line(a, b, c, d)),
                    (Curve::Line, Curve::Arc { centre, .. }) => {
                        found.extend(line_circle(a, b, centre, distance(c, centre)));
                    }
                    (Curve::Arc { centre, .. }, Curve::Line) => {
                        found.extend(line_circle(c, d, centre, distance(a, centre)));
                    }
                    (Curve::Arc { centre: m, .. }, Curve::Arc { centre: n, .. }) => {
                        found.extend(circle_circle(m, distance(a, m), n, distance(c, n)));
                    }
                }
            }
        }
        // Only points that lie on two edges count; those of a circle beyond its arc drop out here.
        for p in found {
            let on = self.edges.iter().filter(|e| self.on(e, p)).count();
            if on >= 2 {
                self.vertex(p);
            }
        }
    }

    fn on(&self, edge: &Edge, p: Point) -> bool {
        let (a, b) = (self.vertices[edge.ends[0]], self.vertices[edge.ends[1]]);
        edge.curve.fraction_of(a, b, p, self.tolerance_m).is_some()
    }

    /// Cut edges at vertices that lie on them; drop the duplicates this makes.
    pub(crate) fn cut_at_vertices(&mut self) {
        let edges = std::mem::take(&mut self.edges);
        for edge in edges {
            let (a, b) = (self.vertices[edge.ends[0]], self.vertices[edge.ends[1]]);
            let mut cuts: Vec<(f64, usize)> = (0..self.vertices.len())
                .filter(|v| !edge.ends.contains(v))
                .filter_map(|v| {
                    edge.curve.fraction_of(a, b, self.vertices[v], self.tolerance_m).map(|t| (t, v))
                })
                .collect();
            cuts.sort_by(|p, q| p.0.total_cmp(&q.0));
            let mut from = edge.ends[0];
            for v in cuts.iter().map(|c| c.1).chain([edge.ends[1]]) {
                self.push(Edge { ends: [from, v], curve: edge.curve });
                from = v;
            }
        }
    }
}

fn line_line(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let (u, v, w) = (sub(b, a), sub(d, c), sub(c, a));
    let det = cross(u, v);
    if det.abs() <= 1e-12 * (dot(u, u) * dot(v, v)).sqrt() {
        return None;
    }
    let (s, t) = (cross(w, v) / det, cross(w, u) / det);
    ((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t)).then(|| [a[0] + s * u[0], a[1] + s * u[1]])
}

fn line_circle(a: Point, b: Point, centre: Point, radius: f64) -> Vec<Point> {
    let (u, w) = (sub(b, a), sub(a, centre));
    let (p, q, r) = (dot(u, u), dot(u, w), dot(w, w) - radius * radius);
    let disc = q * q - p * r;
    if disc < 0.0 {
        return Vec::new();
    }
    [-1.0, 1.0]
        .iter()
        .map(|s| (-q + s * disc.sqrt()) / p)
        .filter(|t| (0.0..=1.0).contains(t))
        .map(|t| [a[0] + t * u[0], a[1] + t * u[1]])
        .collect()
}

fn circle_circle(m: Point, r: f64, n: Point, s: f64) -> Vec<Point> {
    let d = distance(m, n);
    if d < 1e-12 * (r + s) || d > r + s || d < (r - s).abs() {
        return Vec::new();
    }
    let along = (d * d + r * r - s * s) / (2.0 * d);
    let across = (r * r - along * along).max(0.0).sqrt();
    let u = [(n[0] - m[0]) / d, (n[1] - m[1]) / d];
    [-1.0, 1.0]
        .iter()
        .map(|k| [m[0] + along * u[0] - k * across * u[1], m[1] + along * u[1] + k * across * u[0]])
        .collect()
}

/// Whether `p` lies inside a closed polygon (even–odd rule).
pub(crate) fn inside(polygon: &[Point], p: Point) -> bool {
    let mut odd = false;
    for (k, &a) in polygon.iter().enumerate() {
        let b = polygon[(k + 1) % polygon.len()];
        if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
            odd = !odd;
        }
    }
    odd
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_rectangles_share_their_cut_edges() {
        let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 1.0);
        drawing.paint(1, Outline::rectangle([0.0, 0.4], [0.0, 0.2]));
        drawing.paint(2, Outline::rectangle([0.1, 0.3], [0.2, 0.4]));
        let graph = drawing.graph().unwrap();
        // Domain: 1 arc and an axis cut in 3; first rectangle: bottom, right, top cut in 3, axis side shared;
        // second: 3 further sides.
        assert_eq!(graph.vertices.len(), 2 + 4 + 4);
        assert_eq!(graph.edges.len(), 1 + 3 + 2 + 3 + 3);
    }

    #[test]
    fn crossing_circle_and_square_are_cut() {
        let mut drawing = Drawing::new(Symmetry::Planar, [0.0, 0.0], 1.0);
        drawing.paint(1, Outline::rectangle([0.0, 0.5], [-0.5, 0.5]));
        let arc = Curve::Arc { centre: [0.0, 0.0], ccw: true };
        drawing.paint(2, Outline(vec![([0.3, 0.0], arc), ([-0.3, 0.0], arc)]));
        let graph = drawing.graph().unwrap();
        let on_left = graph.vertices.iter().filter(|v| v[0].abs() < 1e-9 && (v[1].abs() - 0.3).abs() < 1e-9);
        assert_eq!(on_left.count(), 2);
    }

    #[test]
    fn outside_is_refused() {
        let mut drawing = Drawing::new(Symmetry::Axial, [0.0, 0.0], 1.0);
        drawing.paint(1, Outline::rectangle([-0.1, 0.4], [0.0, 0.2]));
        assert!(matches!(drawing.graph(), Err(DrawingError::Outside(..))));
    }
}
