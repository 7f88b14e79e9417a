//! From a drawing to triangles: size function, nodes on edges, constrained Delaunay triangulation, refinement.

use crate::drawing::{BACKGROUND, Curve, Drawing, DrawingError, Edge, Graph, Point, distance, inside, sub};
use crate::layer::{self, Layer};
use spade::handles::FixedVertexHandle;
use spade::{ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation, Triangulation as _};
use std::collections::{HashMap, HashSet};

/// Triangles of a drawing, straight-sided, counter-clockwise.
#[derive(Clone, Debug)]
pub(crate) struct Triangles {
    pub(crate) points: Vec<Point>,
    pub(crate) corners: Vec<[usize; 3]>,
    pub(crate) region: Vec<usize>,
    /// Number of each triangle's sides (1, 2), (2, 3), (3, 1); two triangles share one.
    pub(crate) sides: Vec<[u32; 3]>,
    pub(crate) side_count: usize,
    /// Sides that lie on an arc, by their ends (smaller number first), with the arc's centre.
    pub(crate) arcs: HashMap<[usize; 2], Point>,
    /// The first triangle that stands for space beyond the bounding circle.
    pub(crate) first_exterior: usize,
    /// Points on the axis or mirror, outside included.
    pub(crate) on_axis: Vec<bool>,
    /// The image of infinity.
    pub(crate) infinity: usize,
}

/// Element size as a function of place: cones over small elements.
struct Sizing {
    cones: Vec<(Point, f64)>,
    growth: f64,
    max_m: f64,
}

impl Sizing {
    fn at(&self, p: Point) -> f64 {
        let mut size = self.max_m;
        for &(q, h) in &self.cones {
            // Most cones are too far to matter: compare without a square root first.
            let reach = size - h;
            let d = sub(p, q);
            let square = d[0] * d[0] + d[1] * d[1];
            let g = self.growth;
            if reach > 0.0 && square * g * g < reach * reach {
                size = h + g * square.sqrt();
            }
        }
        size
    }
}

/// Largest size in the image of open space over that in the drawing.
const BEYOND: f64 = 2.25;

/// Triangulate a drawing.
pub(crate) fn triangulate(drawing: &Drawing) -> Result<Triangles, DrawingError> {
    let mut graph = drawing.graph()?;
    let sizing = Sizing {
        cones: drawing.gradings.iter().map(|g| (g.at, g.size_m)).collect(),
        growth: drawing.growth,
        max_m: drawing.size_max_m,
    };
    let outlines = polygons(drawing);
    let layers = layer::find(&mut graph, drawing.half(), 0.6 * drawing.size_max_m);
    let mut net = sample(&graph, &layers, &sizing);
    let strips: Vec<[Point; 4]> =
        layers.iter().map(|l| [l.a[0], l.a[1], l.b[1], l.b[0]].map(|v| graph.vertices[v])).collect();
    let circle = net.on_circle(drawing);
    let (points, corners) = delaunay(&net, &sizing, &strips)?;
    net.points = points;
    let (sides, side_count) = number_sides(&corners);
    let region = regions(&net, &corners, &sides, side_count, &outlines);
    let first_exterior = corners.len();
    let mut triangles = Triangles {
        on_axis: net.points.iter().map(|p| drawing.half() && p[0] == 0.0).collect(),
        points: net.points,
        corners,
        region,
        sides: Vec::new(),
        side_count: 0,
        arcs: net.arcs,
        first_exterior,
        infinity: usize::MAX,
    };
    add_exterior(drawing, &circle, &mut triangles)?;
    (triangles.sides, triangles.side_count) = number_sides(&triangles.corners);
    Ok(triangles)
}

/// Outlines as polygons for point-in-area tests; arcs in small chords.
fn polygons(drawing: &Drawing) -> Vec<(usize, Vec<Point>)> {
    let polygon = |nodes: &[(Point, Curve)]| {
        let mut points = Vec::new();
        for (k, &(p, curve)) in nodes.iter().enumerate() {
            let q = nodes[(k + 1) % nodes.len()].0;
            let pieces = if curve == Curve::Line { 1 } else { 180 };
            points.extend((0..pieces).map(|m| curve.point(p, q, m as f64 / pieces as f64)));
        }
        points
    };
    drawing.areas.iter().map(|a| (a.region, polygon(&a.outline.0))).collect()
}

impl Drawing {
    /// The regions at some points; arcs count as fine chords.
    pub fn regions_at(&self, points: &[Point]) -> Vec<usize> {
        let outlines = polygons(self);
        points.iter().map(|&p| painted(&outlines, p)).collect()
    }
}

/// The region painted last at a point.
fn painted(outlines: &[(usize, Vec<Point>)], p: Point) -> usize {
    outlines.iter().rev().find(|(_, polygon)| inside(polygon, p)).map_or(BACKGROUND, |o| o.0)
}

/// Points and straight constraint segments: the graph's edges after sampling.
struct Net {
    points: Vec<Point>,
    segments: Vec<[usize; 2]>,
    arcs: HashMap<[usize; 2], Point>,
}

impl Net {
    /// Nodes on the bounding circle, from south to north (or all round, counter-clockwise from south).
    fn on_circle(&self, drawing: &Drawing) -> Vec<usize> {
        let c = drawing.centre;
        let mut nodes: Vec<(f64, usize)> = self
            .points
            .iter()
            .enumerate()
            .filter(|(_, p)| (distance(**p, c) - drawing.radius_m).abs() < 1e-7 * drawing.radius_m)
            .map(|(k, p)| {
                let angle = (p[0] - c[0]).atan2(-(p[1] - c[1]));
                (if angle < -1e-9 { angle + 2.0 * std::f64::consts::PI } else { angle }, k)
            })
            .collect();
        nodes.sort_by(|p, q| p.0.total_cmp(&q.0));
        nodes.into_iter().map(|n| n.1).collect()
    }
}

fn key(a: usize, b: usize) -> [usize; 2] {
    [a.min(b), a.max(b)]
}

/// Put nodes on every edge, as far apart as the size function and the nearest other edge allow.
fn sample(graph: &Graph, layers: &[Layer], sizing: &Sizing) -> Net {
    let mut net = Net { points: graph.vertices.clone(), segments: Vec::new(), arcs: HashMap::new() };
    let at = |v: usize| graph.vertices[v];
    let mut fractions: HashMap<[usize; 2], Vec<f64>> = HashMap::new();
    for l in layers {
        let (a, b) = (l.a.map(at), l.b.map(at));
        let length = distance(a[0], a[1]);
        let cuts = graded(length, |t| {
            let size = |s: [Point; 2]| sizing.at(Curve::Line.point(s[0], s[1], t));
            size(a).min(size(b))
        });
        for side in [l.a, l.b] {
            let forward = side[0] < side[1];
            let cuts = if forward { cuts.clone() } else { cuts.iter().rev().map(|t| 1.0 - t).collect() };
            fractions.insert(key(side[0], side[1]), cuts);
        }
        for k in 0..2 {
            fractions.insert(key(l.a[k], l.b[k]), Vec::new());
        }
    }
    for edge in &graph.edges {
        let [v, w] = edge.ends;
        let cuts = match fractions.get(&key(v, w)) {
            Some(cuts) if v < w => cuts.clone(),
            Some(cuts) => cuts.iter().rev().map(|t| 1.0 - t).collect(),
            None => {
                let near = neighbours(graph, edge);
                let (a, b) = (at(v), at(w));
                let mut cuts = graded(edge.curve.length(a, b), |t| {
                    let p = edge.curve.point(a, b, t);
                    near.iter().fold(sizing.at(p), |h, s| h.min(0.9 * distance_to(s, p)).max(0.02 * h))
                });
                if let Curve::Arc { centre, ccw } = edge.curve {
                    // Curved elements need a modest angle each.
                    let least = (crate::drawing::sweep(a, b, centre, ccw) / 0.4).ceil() as usize;
                    if cuts.len() + 1 < least {
                        cuts = (1..least).map(|k| k as f64 / least as f64).collect();
                    }
                }
                cuts
            }
        };
        let mut from = v;
        for t in cuts.into_iter().map(Some).chain([None]) {
            let to = match t {
                Some(t) => {
                    let mut p = edge.curve.point(at(v), at(w), t);
                    if at(v)[0] == 0.0 && at(w)[0] == 0.0 && edge.curve == Curve::Line {
                        p[0] = 0.0;
                    }
                    net.points.push(p);
                    net.points.len() - 1
                }
                None => w,
            };
            net.segments.push([from, to]);
            if let Curve::Arc { centre, .. } = edge.curve {
                net.arcs.insert(key(from, to), centre);
            }
            from = to;
        }
    }
    net
}

/// Chords of the edges that do not touch `edge`.
fn neighbours(graph: &Graph, edge: &Edge) -> Vec<[Point; 2]> {
    let touches = |e: &Edge| e.ends.iter().any(|v| edge.ends.contains(v));
    graph
        .edges
        .iter()
        .filter(|e| !touches(e))
        .flat_map(|e| {
            let [a, b] = e.ends.map(|v| graph.vertices[v]);
            let pieces = if e.curve == Curve::Line { 1 } else { 12 };
            (0..pieces)
                .map(move |k| [k, k + 1].map(|m| e.curve.point(a, b, m as f64 / pieces as f64)))
                .collect::<Vec<_>>()
        })
        .collect()
}

fn distance_to(segment: &[Point; 2], p: Point) -> f64 {
    let d = sub(segment[1], segment[0]);
    let w = sub(p, segment[0]);
    let t = ((w[0] * d[0] + w[1] * d[1]) / (d[0] * d[0] + d[1] * d[1])).clamp(0.0, 1.0);
    distance(p, [segment[0][0] + t * d[0], segment[0][1] + t * d[1]])
}

/// Inner cut fractions of an edge of a given length, so that pieces follow the size `h(fraction)`.
fn graded(length_m: f64, h: impl Fn(f64) -> f64) -> Vec<f64> {
    // Integrate the density 1/h in steps that follow h itself, then invert it at whole numbers.
    let mut marks = vec![(0.0, 0.0)];
    let (mut t, mut count) = (0.0, 0.0);
    while t < 1.0 {
        let step = (0.25 * h(t) / length_m).min(1.0 - t).min(0.125);
        count += step * length_m / h(t + 0.5 * step);
        t += step;
        if 1.0 - t < 1e-12 {
            t = 1.0;
        }
        marks.push((t, count));
    }
    let pieces = (count.round() as usize).max(1);
    let mut k = 0;
    (1..pieces)
        .map(|m| {
            let wanted = count * m as f64 / pieces as f64;
            while marks[k + 1].1 < wanted {
                k += 1;
            }
            let ((t0, c0), (t1, c1)) = (marks[k], marks[k + 1]);
            t0 + (t1 - t0) * (wanted - c0) / (c1 - c0)
        })
        .collect()
}

/// Circumcentre and circumradius.
fn circumcircle(a: Point, b: Point, c: Point) -> (Point, f64) {
    let (u, v) = (sub(b, a), sub(c, a));
    let d = 2.0 * (u[0] * v[1] - u[1] * v[0]);
    let (uu, vv) = (u[0] * u[0] + u[1] * u[1], v[0] * v[0] + v[1] * v[1]);
    let w = [(v[1] * uu - u[1] * vv) / d, (u[0] * vv - v[0] * uu) / d];
    ([a[0] + w[0], a[1] + w[1]], w[0].hypot(w[1]))
}

/// Triangles with angles below about 24° are refined where nothing hinders it.
const RADIUS_TO_SIDE: f64 = 1.25;
/// Circumradius over wanted size: 0.58 for an equilateral triangle of that side.
const RADIUS_TO_SIZE: f64 = 0.72;

/// Beyond this a drawing is refused rather than meshed for minutes.
const TRIANGLES_MAX: usize = 150_000;

/// Constrained Delaunay triangulation, refined by circumcentres; edges are never cut again.
fn delaunay(
    net: &Net,
    sizing: &Sizing,
    strips: &[[Point; 4]],
) -> Result<(Vec<Point>, Vec<[usize; 3]>), DrawingError> {
    let failed = |e: spade::InsertionError| DrawingError::Triangulation(e.to_string());
    let vertices = net.points.iter().map(|p| Point2::new(p[0], p[1])).collect();
    let mut cdt =
        ConstrainedDelaunayTriangulation::<Point2<f64>>::bulk_load_cdt(vertices, net.segments.clone())
            .map_err(failed)?;
    if cdt.num_vertices() != net.points.len() {
        return Err(DrawingError::Triangulation("two nodes coincide".into()));
    }
    let xy = |p: Point2<f64>| [p.x, p.y];
    // Every triangle that an insertion makes has the new vertex as a corner, so the older ones are settled.
    let mut newest = 0;
    for _round in 0..40 {
        let mut wanted: Vec<(f64, Point, f64, FixedVertexHandle)> = Vec::new();
        for face in cdt.inner_faces() {
            let handles = face.vertices();
            if handles.iter().all(|v| v.index() < newest) {
                continue;
            }
            let [a, b, c] = handles.map(|v| xy(v.position()));
            let middle = [(a[0] + b[0] + c[0]) / 3.0, (a[1] + b[1] + c[1]) / 3.0];
            let (centre, radius) = circumcircle(a, b, c);
            let side = distance(a, b).min(distance(b, c)).min(distance(c, a));
            let coarse = radius / (RADIUS_TO_SIZE * sizing.at(middle));
            let flat = radius / (RADIUS_TO_SIDE * side);
            if coarse.max(flat) > 1.0 && !strips.iter().any(|s| inside(s, middle)) {
                wanted.push((radius, centre, side, handles[0].fix()));
            }
        }
        newest = cdt.num_vertices();
        wanted.sort_by(|p, q| q.0.total_cmp(&p.0));
        let mut inserted = 0;
        for (radius, centre, _side, hint) in wanted {
            if admissible(&cdt, centre, radius, hint, strips) {
                cdt.insert_with_hint(Point2::new(centre[0], centre[1]), hint).map_err(failed)?;
                inserted += 1;
            }
        }
        if inserted == 0 {
            break;
        }
        // Twice as many triangles as vertices.
        if 2 * cdt.num_vertices() > TRIANGLES_MAX {
            return Err(DrawingError::TooFine(TRIANGLES_MAX));
        }
    }
    let points = cdt.vertices().map(|v| xy(v.position())).collect();
    let corners = cdt.inner_faces().map(|f| f.vertices().map(|v| v.index())).collect();
    Ok((points, corners))
}

/// Whether a new vertex may stand at `p`: not too near another, not crowding an edge, not in a strip.
fn admissible(
    cdt: &ConstrainedDelaunayTriangulation<Point2<f64>>,
    p: Point,
    radius: f64,
    hint: FixedVertexHandle,
    strips: &[[Point; 4]],
) -> bool {
    let PositionInTriangulation::OnFace(face) = cdt.locate_with_hint(Point2::new(p[0], p[1]), hint) else {
        return false;
    };
    if strips.iter().any(|s| inside(s, p)) {
        return false;
    }
    let face = cdt.face(face);
    let near = face.vertices().iter().any(|v| {
        let q = v.position();
        distance(p, [q.x, q.y]) < 0.7 * radius
    });
    let crowds = face.adjacent_edges().iter().any(|e| {
        let [a, b] = [e.from().position(), e.to().position()];
        let (u, v) = ([a.x - p[0], a.y - p[1]], [b.x - p[0], b.y - p[1]]);
        let hull = e.is_outer_edge() || e.rev().is_outer_edge();
        (e.is_constraint_edge() || hull) && u[0] * v[0] + u[1] * v[1] < 0.0
    });
    !near && !crowds
}

/// Number the sides of triangles, and count them.
fn number_sides(corners: &[[usize; 3]]) -> (Vec<[u32; 3]>, usize) {
    let mut ends: Vec<([usize; 2], usize)> = (0..3 * corners.len())
        .map(|s| (key(corners[s / 3][s % 3], corners[s / 3][(s + 1) % 3]), s))
        .collect();
    ends.sort_unstable();
    let mut sides = vec![[0; 3]; corners.len()];
    let mut count = 0;
    for (k, (side, s)) in ends.iter().enumerate() {
        if k > 0 && ends[k - 1].0 != *side {
            count += 1;
        }
        sides[s / 3][s % 3] = count;
    }
    (sides, if ends.is_empty() { 0 } else { count as usize + 1 })
}

/// Region of each triangle: flood over unconstrained sides, then ask the outlines once per flood.
fn regions(
    net: &Net,
    corners: &[[usize; 3]],
    sides: &[[u32; 3]],
    side_count: usize,
    outlines: &[(usize, Vec<Point>)],
) -> Vec<usize> {
    let walls: HashSet<[usize; 2]> = net.segments.iter().map(|s| key(s[0], s[1])).collect();
    let mut across = vec![[usize::MAX; 2]; side_count];
    for (t, c) in corners.iter().enumerate() {
        for k in 0..3 {
            if !walls.contains(&key(c[k], c[(k + 1) % 3])) {
                let pair = &mut across[sides[t][k] as usize];
                pair[usize::from(pair[0] != usize::MAX)] = t;
            }
        }
    }
    let middle = |t: usize| {
        let [a, b, c] = corners[t].map(|v| net.points[v]);
        [(a[0] + b[0] + c[0]) / 3.0, (a[1] + b[1] + c[1]) / 3.0]
    };
    let area = |t: usize| {
        let [a, b, c] = corners[t].map(|v| net.points[v]);
        crate::drawing::cross(sub(b, a), sub(c, a))
    };
    let mut region = vec![usize::MAX; corners.len()];
    for seed in 0..corners.len() {
        if region[seed] != usize::MAX {
            continue;
        }
        let mut flood = vec![seed];
        region[seed] = BACKGROUND;
        let mut k = 0;
        while k < flood.len() {
            for side in sides[flood[k]] {
                for t in across[side as usize] {
                    if t != usize::MAX && region[t] == usize::MAX {
                        region[t] = BACKGROUND;
                        flood.push(t);
                    }
                }
            }
            k += 1;
        }
        let largest = flood.iter().copied().max_by(|&p, &q| area(p).total_cmp(&area(q))).unwrap_or(seed);
        let there = painted(outlines, middle(largest));
        for t in flood {
            region[t] = there;
        }
    }
    region
}

/// Append the image of open space: a disc of its own with the same nodes on the circle.
fn add_exterior(drawing: &Drawing, circle: &[usize], triangles: &mut Triangles) -> Result<(), DrawingError> {
    let (c, r) = (drawing.centre, drawing.radius_m);
    let mut net = Net {
        points: circle.iter().map(|&k| triangles.points[k]).collect(),
        segments: Vec::new(),
        arcs: HashMap::new(),
    };
    let n = net.points.len();
    let closed = !drawing.half();
    net.segments.extend((1..n).map(|k| [k - 1, k]));
    if closed {
        net.segments.push([n - 1, 0]);
    }
    net.points.push(c);
    // The solution here is smooth, but a strong far field, such as a long bar's, needs its share of refinement.
    let max_m = BEYOND * drawing.size_max_m.min(0.2 * r);
    if !closed {
        // From south to north through the image of infinity.
        let pieces = (r / (0.75 * max_m)).ceil() as i32;
        let mut from = 0;
        for k in 1 - pieces..pieces {
            let to = if k == 0 {
                n
            } else {
                net.points.push([0.0, c[1] + f64::from(k) / f64::from(pieces) * r]);
                net.points.len() - 1
            };
            net.segments.push([from, to]);
            from = to;
        }
        net.segments.push([from, n - 1]);
    }
    let sizing = Sizing { cones: Vec::new(), growth: 1.0, max_m };
    let (points, corners) = delaunay(&net, &sizing, &[])?;
    let number: Vec<usize> =
        (0..points.len()).map(|k| if k < n { circle[k] } else { triangles.points.len() + k - n }).collect();
    triangles.infinity = number[n];
    triangles.on_axis.extend(points[n..].iter().map(|p| drawing.half() && p[0] == 0.0));
    triangles.points.extend_from_slice(&points[n..]);
    triangles.region.extend(corners.iter().map(|_| BACKGROUND));
    triangles.corners.extend(corners.iter().map(|t| t.map(|v| number[v])));
    Ok(())
}
