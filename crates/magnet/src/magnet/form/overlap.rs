//! Whether two outlines of a free profile overlap.

use coilwright_fem::drawing::Curve;
use coilwright_fem::drawing::Outline;
use coilwright_fem::drawing::Point;
use std::f64::consts::TAU;

/// Points per edge that are looked at.
const SAMPLES: usize = 24;
/// How far inside its own outline a point is looked at, over the outline's size: touching is no overlap.
const INSET: f64 = 1e-5;

/// Whether the outlines share an area. Seen at points just inside the edges of each, so that an overlap much smaller
/// than an edge may pass.
pub(crate) fn overlap(a: &Outline, b: &Outline) -> bool {
    let (p, q) = (traced(a), traced(b));
    reaches_into(&p, &q) || reaches_into(&q, &p)
}

fn reaches_into(from: &[Point], into: &[Point]) -> bool {
    let size = from.iter().fold(0.0, |s: f64, p| s.max((p[0] - from[0][0]).hypot(p[1] - from[0][1])));
    from.iter().enumerate().any(|(k, &p)| {
        let q = from[(k + 1) % from.len()];
        let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
        let step = INSET * size / dx.hypot(dy).max(f64::MIN_POSITIVE);
        let (x, y) = (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]));
        [1.0, -1.0].into_iter().any(|side| {
            let just = [x - side * step * dy, y + side * step * dx];
            inside(from, just) && inside(into, just)
        })
    })
}

/// The outline as a polygon, every edge in equal pieces.
fn traced(outline: &Outline) -> Vec<Point> {
    let nodes = &outline.0;
    let mut points = Vec::with_capacity(nodes.len() * SAMPLES);
    for (k, &(p, curve)) in nodes.iter().enumerate() {
        let q = nodes[(k + 1) % nodes.len()].0;
        for i in 0..SAMPLES {
            let t = i as f64 / SAMPLES as f64;
            points.push(match curve {
                Curve::Line => [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])],
                Curve::Arc { centre: [x, y], ccw } => {
                    let from = (p[1] - y).atan2(p[0] - x);
                    let turn = (q[1] - y).atan2(q[0] - x) - from;
                    let turn = if ccw { turn.rem_euclid(TAU) } else { -(-turn).rem_euclid(TAU) };
                    let radius = (p[0] - x).hypot(p[1] - y);
                    let (sin, cos) = (from + t * turn).sin_cos();
                    [x + radius * cos, y + radius * sin]
                }
            });
        }
    }
    points
}

/// Even–odd rule.
fn inside(polygon: &[Point], p: Point) -> bool {
    let crosses = |(k, a): (usize, &Point)| {
        let b = polygon[(k + 1) % polygon.len()];
        (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    };
    polygon.iter().enumerate().filter(|e| crosses(*e)).count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_is_not_overlapping() {
        let square = Outline::rectangle([0.0, 1.0], [0.0, 1.0]);
        assert!(!overlap(&square, &Outline::rectangle([1.0, 2.0], [0.0, 1.0])));
        assert!(!overlap(&square, &Outline::rectangle([1.0, 2.0], [0.5, 3.0])));
        assert!(overlap(&square, &Outline::rectangle([0.9, 2.0], [0.0, 1.0])));
        assert!(overlap(&square, &Outline::rectangle([0.4, 0.6], [0.4, 0.6])), "one within the other");
        assert!(overlap(&square, &Outline::rectangle([0.4, 0.6], [-1.0, 2.0])), "a cross");
        assert!(overlap(&square, &square));
        // A half-disc on the square's right side, and one that bulges into it.
        let half_disc = |ccw| {
            Outline(vec![([1.0, 0.2], Curve::Arc { centre: [1.0, 0.5], ccw }), ([1.0, 0.8], Curve::Line)])
        };
        assert!(!overlap(&square, &half_disc(true)));
        assert!(overlap(&square, &half_disc(false)));
    }
}
