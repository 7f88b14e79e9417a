//! Geometry of closed outlines of straight edges and arcs: do they cross themselves, how far left do they reach.

use super::region::Node;
use std::f64::consts::{PI, TAU};

type Point = (f64, f64);

/// An edge from one node to the next.
#[derive(Clone, Copy)]
struct Edge {
    from: Point,
    to: Point,
    arc: Option<Arc>,
}

#[derive(Clone, Copy)]
struct Arc {
    centre: Point,
    radius: f64,
    /// Where it starts, and the angle it turns through (negative: clockwise).
    start: f64,
    sweep: f64,
}

/// The angle an arc turns through, counter-clockwise positive; in (0, 2π] by magnitude.
pub(super) fn sweep(from: Point, to: Point, centre: Point, ccw: bool) -> f64 {
    let angle = |p: Point| (p.1 - centre.1).atan2(p.0 - centre.0);
    let turn = (angle(to) - angle(from)).rem_euclid(TAU);
    if ccw { turn } else { turn - TAU }
}

fn edges(outline: &[Node]) -> Vec<Edge> {
    let next = outline.iter().cycle().skip(1);
    let edge = |(a, b): (&Node, &Node)| {
        let (from, to) = ((a.x, a.y), (b.x, b.y));
        let arc = a.arc_centre.map(|centre| Arc {
            centre,
            radius: distance(from, centre),
            start: (from.1 - centre.1).atan2(from.0 - centre.0),
            sweep: sweep(from, to, centre, a.arc_ccw),
        });
        Edge { from, to, arc }
    };
    outline.iter().zip(next).map(edge).collect()
}

/// The least abscissa of an outline, arcs included.
pub(super) fn least_x(outline: &[Node]) -> f64 {
    edges(outline).iter().map(|e| e.bounds().0.0).fold(f64::INFINITY, f64::min)
}

/// Indices of the first two edges that cross, touch or overlap where they should not.
pub(super) fn crossing(outline: &[Node]) -> Option<(usize, usize)> {
    let edges = edges(outline);
    let size = edges.iter().map(|e| e.reach()).fold(0.0, f64::max);
    let slack = 1e-9 * size;
    let boxes: Vec<_> = edges.iter().map(Edge::bounds).collect();
    for j in 1..edges.len() {
        for i in 0..j {
            if !overlap(boxes[i], boxes[j], slack) {
                continue;
            }
            // Neighbours meet at their common node; anything else is a crossing.
            let (a, b) = (&edges[i], &edges[j]);
            let mut shared = Vec::new();
            if j == i + 1 {
                shared.push(b.from);
            }
            if i == 0 && j == edges.len() - 1 {
                shared.push(a.from);
            }
            let stray = |p: &Point| shared.iter().all(|s| distance(*p, *s) > 1e3 * slack);
            if meetings(a, b, slack).iter().any(stray) {
                return Some((i, j));
            }
        }
    }
    None
}

impl Edge {
    fn reach(&self) -> f64 {
        let r = self.arc.map_or(0.0, |a| a.radius);
        distance(self.from, self.to).max(r)
    }

    /// Lower left and upper right corner.
    fn bounds(&self) -> (Point, Point) {
        let mut low = (self.from.0.min(self.to.0), self.from.1.min(self.to.1));
        let mut high = (self.from.0.max(self.to.0), self.from.1.max(self.to.1));
        if let Some(arc) = self.arc {
            for quarter in 0..4 {
                let angle = f64::from(quarter) * PI / 2.0;
                if arc.spans(angle, 0.0) {
                    let p = arc.at(angle);
                    low = (low.0.min(p.0), low.1.min(p.1));
                    high = (high.0.max(p.0), high.1.max(p.1));
                }
            }
        }
        (low, high)
    }
}

impl Arc {
    fn at(&self, angle: f64) -> Point {
        (self.centre.0 + self.radius * angle.cos(), self.centre.1 + self.radius * angle.sin())
    }

    fn spans(&self, angle: f64, slack: f64) -> bool {
        let turn = if self.sweep >= 0.0 { angle - self.start } else { self.start - angle }.rem_euclid(TAU);
        turn <= self.sweep.abs() + slack || turn >= TAU - slack
    }

    fn holds(&self, p: Point, slack: f64) -> bool {
        let angle = (p.1 - self.centre.1).atan2(p.0 - self.centre.0);
        (distance(p, self.centre) - self.radius).abs() <= slack && self.spans(angle, slack / self.radius)
    }
}

fn overlap(a: (Point, Point), b: (Point, Point), slack: f64) -> bool {
    a.0.0 <= b.1.0 + slack && b.0.0 <= a.1.0 + slack && a.0.1 <= b.1.1 + slack && b.0.1 <= a.1.1 + slack
}

fn distance(a: Point, b: Point) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Points that two edges have in common; of a stretch in common, its ends.
fn meetings(a: &Edge, b: &Edge, slack: f64) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    // An end of one that lies on the other covers touching and overlapping.
    points.extend([b.from, b.to].into_iter().filter(|p| on(a, *p, slack)));
    points.extend([a.from, a.to].into_iter().filter(|p| on(b, *p, slack)));
    let candidates = match (a.arc, b.arc) {
        (None, None) => line_line(a, b),
        (Some(arc), None) => circle_line(&arc, b),
        (None, Some(arc)) => circle_line(&arc, a),
        (Some(p), Some(q)) => circle_circle(&p, &q),
    };
    points.extend(candidates.into_iter().filter(|p| on(a, *p, slack) && on(b, *p, slack)));
    points
}

fn on(edge: &Edge, p: Point, slack: f64) -> bool {
    match edge.arc {
        Some(arc) => arc.holds(p, slack),
        None => {
            let (d, length) =
                ((edge.to.0 - edge.from.0, edge.to.1 - edge.from.1), distance(edge.from, edge.to));
            if length == 0.0 {
                return distance(p, edge.from) <= slack;
            }
            let v = (p.0 - edge.from.0, p.1 - edge.from.1);
            let along = (v.0 * d.0 + v.1 * d.1) / length;
            let across = (v.0 * d.1 - v.1 * d.0) / length;
            across.abs() <= slack && along >= -slack && along <= length + slack
        }
    }
}

fn line_line(a: &Edge, b: &Edge) -> Vec<Point> {
    let (d, e) = ((a.to.0 - a.from.0, a.to.1 - a.from.1), (b.to.0 - b.from.0, b.to.1 - b.from.1));
    let cross = d.0 * e.1 - d.1 * e.0;
    if cross == 0.0 {
        return Vec::new();
    }
    let w = (b.from.0 - a.from.0, b.from.1 - a.from.1);
    let t = (w.0 * e.1 - w.1 * e.0) / cross;
    vec![(a.from.0 + t * d.0, a.from.1 + t * d.1)]
}

fn circle_line(arc: &Arc, line: &Edge) -> Vec<Point> {
    let length = distance(line.from, line.to);
    if length == 0.0 {
        return Vec::new();
    }
    let d = ((line.to.0 - line.from.0) / length, (line.to.1 - line.from.1) / length);
    let w = (arc.centre.0 - line.from.0, arc.centre.1 - line.from.1);
    let along = w.0 * d.0 + w.1 * d.1;
    let across = w.0 * d.1 - w.1 * d.0;
    let square = arc.radius * arc.radius - across * across;
    // A tangent whose square comes out a hair negative still touches.
    let half = square.max(0.0).sqrt();
    [along - half, along + half].map(|t| (line.from.0 + t * d.0, line.from.1 + t * d.1)).to_vec()
}

fn circle_circle(p: &Arc, q: &Arc) -> Vec<Point> {
    let apart = distance(p.centre, q.centre);
    if apart == 0.0 {
        return Vec::new();
    }
    let d = ((q.centre.0 - p.centre.0) / apart, (q.centre.1 - p.centre.1) / apart);
    let along = (apart * apart + p.radius * p.radius - q.radius * q.radius) / (2.0 * apart);
    let half = (p.radius * p.radius - along * along).max(0.0).sqrt();
    [half, -half].map(|h| (p.centre.0 + along * d.0 - h * d.1, p.centre.1 + along * d.1 + h * d.0)).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(points: &[Point]) -> Vec<Node> {
        points.iter().map(|&(x, y)| Node { x, y, arc_centre: None, arc_ccw: false }).collect()
    }

    #[test]
    fn tells_plain_outlines_from_crossed_ones() {
        let square = polygon(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]);
        assert_eq!(crossing(&square), None);
        let bow = polygon(&[(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)]);
        assert_eq!(crossing(&bow), Some((0, 2)));
        let spike = polygon(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (1.0, 0.0), (1.0, 1.0)]);
        assert!(crossing(&spike).is_some());
        let flat = polygon(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]);
        assert!(crossing(&flat).is_some());
        let touching = polygon(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (1.0, 0.0), (0.0, 2.0)]);
        assert!(crossing(&touching).is_some());
    }

    #[test]
    fn arcs_bulge() {
        // A thin half ring: chords of its outer arc would cut its inner one.
        let node = |x: f64, y: f64, ccw| Node { x, y, arc_centre: Some((0.0, 0.0)), arc_ccw: ccw };
        let plain = |x: f64, y: f64| Node { x, y, arc_centre: None, arc_ccw: false };
        let ring = [node(0.0, -1.0, true), plain(0.0, 1.0), node(0.0, 0.99, false), plain(0.0, -0.99)];
        assert_eq!(crossing(&ring), None);
        assert!(least_x(&ring).abs() < 1e-12);
        // The other way round it reaches to x = -1 and still does not cross.
        let left = [node(0.0, -1.0, false), plain(0.0, 1.0), node(0.0, 0.99, true), plain(0.0, -0.99)];
        assert_eq!(crossing(&left), None);
        assert!((least_x(&left) + 1.0).abs() < 1e-12);
        // An arc that dives through the opposite side.
        let dive = [node(1.0, 0.0, false), plain(-1.0, 0.0), plain(-1.0, -0.5), plain(1.0, -0.5)];
        assert!(crossing(&dive).is_some());
    }
}
