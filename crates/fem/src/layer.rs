//! Thin layers: strips between two long parallel edges, one element thick.
//!
//! A gap of 10 µm under a pole of 35 mm would need thousands of well-shaped triangles, although the field in it
//! hardly changes along it. Away from its ends such a strip is meshed by one row of right triangles as long as the
//! surrounding size allows; cubic shape functions carry what varies across it.

use crate::drawing::{Curve, Edge, Graph, Point, cross, distance, dot, sub};

/// A strip is worth it from this ratio of length to thickness on.
const SLENDER: f64 = 5.0;
/// Ends stay clear of corners by this multiple of the thickness, where the field is two-dimensional.
const CLEAR: f64 = 1.5;

/// A strip: two facing edges, to be cut at the same places. Vertex numbers of the graph.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layer {
    /// One long side.
    pub(crate) a: [usize; 2],
    /// The other, in the same sense.
    pub(crate) b: [usize; 2],
}

struct Candidate {
    thickness: f64,
    edges: [usize; 2],
    a: [Point; 2],
    b: [Point; 2],
}

/// Find the strips, thinnest first; cut the graph's edges at their ends and add the short sides.
pub(crate) fn find(graph: &mut Graph, half: bool, thickness_max_m: f64) -> Vec<Layer> {
    let mut layers: Vec<Layer> = Vec::new();
    while let Some(found) = thinnest(graph, &layers, half, thickness_max_m) {
        let a = found.a.map(|p| graph.vertex(p));
        let b = found.b.map(|p| graph.vertex(p));
        graph.cut_at_vertices();
        for k in 0..2 {
            graph.edges.push(Edge { ends: [a[k], b[k]], curve: Curve::Line });
        }
        graph.drop_duplicates();
        layers.push(Layer { a, b });
        debug_assert!(found.edges[0] != found.edges[1]);
    }
    layers
}

fn is_side(layers: &[Layer], edge: &Edge) -> bool {
    let same = |s: [usize; 2]| s == edge.ends || [s[1], s[0]] == edge.ends;
    layers.iter().any(|l| same(l.a) || same(l.b) || same([l.a[0], l.b[0]]) || same([l.a[1], l.b[1]]))
}

fn thinnest(graph: &Graph, layers: &[Layer], half: bool, thickness_max_m: f64) -> Option<Candidate> {
    let mut candidates = Vec::new();
    let free: Vec<usize> = (0..graph.edges.len())
        .filter(|&k| graph.edges[k].curve == Curve::Line && !is_side(layers, &graph.edges[k]))
        .collect();
    for (n, &i) in free.iter().enumerate() {
        for &j in &free[n + 1..] {
            if let Some(c) = facing(graph, i, j, half, thickness_max_m) {
                candidates.push(c);
            }
        }
    }
    candidates.sort_by(|p, q| p.thickness.total_cmp(&q.thickness));
    candidates.into_iter().find(|c| is_empty(graph, c))
}

fn facing(graph: &Graph, i: usize, j: usize, half: bool, thickness_max_m: f64) -> Option<Candidate> {
    let ends = |k: usize| graph.edges[k].ends.map(|v| graph.vertices[v]);
    let ([p, q], [r, s]) = (ends(i), ends(j));
    let length = distance(p, q);
    let along = [(q[0] - p[0]) / length, (q[1] - p[1]) / length];
    let direction = sub(s, r);
    if cross(along, direction).abs() > 1e-7 * distance(r, s) {
        return None;
    }
    let across = cross(along, sub(r, p));
    let thickness = across.abs();
    if thickness <= 10.0 * graph.tolerance_m || thickness > thickness_max_m {
        return None;
    }
    let (t, u) = (dot(along, sub(r, p)), dot(along, sub(s, p)));
    let (mut from, mut to) = (t.min(u).max(0.0), t.max(u).min(length));
    if to - from < SLENDER * thickness {
        return None;
    }
    // On the axis the strip simply ends; elsewhere it keeps clear of what happens at its ends.
    let on_axis = |w: f64| half && along[1].abs() < 1e-7 && (p[0] + w * along[0]).abs() <= graph.tolerance_m;
    if !on_axis(from) {
        from += CLEAR * thickness;
    }
    if !on_axis(to) {
        to -= CLEAR * thickness;
    }
    if to - from < 2.0 * thickness {
        return None;
    }
    let at = |w: f64, h: f64| {
        let x = p[0] + w * along[0] - h * along[1];
        let y = p[1] + w * along[1] + h * along[0];
        // A point on the axis has to be on it exactly.
        [if half && x.abs() <= graph.tolerance_m { 0.0 } else { x }, y]
    };
    Some(Candidate {
        thickness,
        edges: [i, j],
        a: [at(from, 0.0), at(to, 0.0)],
        b: [at(from, across), at(to, across)],
    })
}

/// Whether no other edge enters the strip.
fn is_empty(graph: &Graph, c: &Candidate) -> bool {
    let along = sub(c.a[1], c.a[0]);
    let across = sub(c.b[0], c.a[0]);
    let local = |p: Point| {
        let w = sub(p, c.a[0]);
        [dot(w, along) / dot(along, along), dot(w, across) / dot(across, across)]
    };
    graph.edges.iter().enumerate().filter(|(k, _)| !c.edges.contains(k)).all(|(_, e)| {
        let [p, q] = e.ends.map(|v| graph.vertices[v]);
        let pieces = if e.curve == Curve::Line { 1 } else { 16 };
        (0..pieces).all(|k| {
            let piece = [k, k + 1].map(|m| local(e.curve.point(p, q, m as f64 / pieces as f64)));
            !enters_unit_square(piece[0], piece[1])
        })
    })
}

/// Whether a segment has a part inside the open unit square (Liang–Barsky clipping).
fn enters_unit_square(p: Point, q: Point) -> bool {
    const EPS: f64 = 1e-6;
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for k in 0..2 {
        let d = q[k] - p[k];
        let (low, high) = (EPS - p[k], 1.0 - EPS - p[k]);
        if d.abs() < 1e-14 {
            if low > 0.0 || high < 0.0 {
                return false;
            }
        } else {
            let (t, u) = (low / d, high / d);
            from = from.max(t.min(u));
            to = to.min(t.max(u));
        }
    }
    from < to
}
