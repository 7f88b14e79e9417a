//! How far away a field still matters: from the magnet's middle and from its surface, in the worst direction.

use crate::answers::answer::{Answer, Item};
use crate::answers::caution;
use crate::answers::field::read::{Known, Readings};
use crate::magnet::Magnet;
use crate::magnetic::solved::Solved;
use crate::quantity::Dimension;
use crate::uncertainty::band::{Band, Budget};
use coilwright_fem::drawing::Point;

/// Limits of a static field, T, and what they are for: 2013/35/EU Annex II, table B4 (from memory).
const LIMITS: [(&str, f64, &str); 2] =
    [("keep_out_3mT", 3e-3, "flying iron"), ("keep_out_05mT", 0.5e-3, "active implants")];
/// Directions that are tried, in the half-plane beside the axis.
const DIRECTIONS: u32 = 36;
/// Steps of the search inwards, where the field is below the limit all around.
const STEPS: u32 = 200;

/// The farthest place at which a limit is reached, counted from somewhere.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    limit: (&'static str, f64, &'static str),
    from_surface: bool,
    at_m: Point,
    distance_m: f64,
    /// How the field's size changes with that distance, T/m; below 0.
    slope_t_m: f64,
}

impl Edge {
    pub(crate) fn place_m(&self) -> Point {
        self.at_m
    }
}

/// For each limit the farthest place from the middle, and the farthest from the surface.
pub(crate) fn edges(magnet: &Magnet, solved: &Solved) -> Vec<Edge> {
    let probe = solved.ladder.probe();
    let drawing = solved.ladder.drawing();
    let (centre, nearest) = (drawing.centre, drawing.radius_m / 1.35);
    let mut found = Vec::new();
    for limit in LIMITS {
        let mut worst: [Option<(f64, Point, f64)>; 2] = [None; 2];
        for k in 0..=DIRECTIONS {
            let angle = std::f64::consts::PI * (f64::from(k) / f64::from(DIRECTIONS) - 0.5);
            let place = |rho: f64| [centre[0] + rho * angle.cos(), centre[1] + rho * angle.sin()];
            let size = |rho: f64| probe.at(place(rho)).size_t();
            let Some(rho) = last_above(size, limit.1, nearest) else { continue };
            let at = place(rho);
            let step = 0.01 * rho;
            let slope = (size(rho + step) - size(rho - step)) / (2.0 * step);
            for (most, distance) in worst.iter_mut().zip([rho, from_surface_m(magnet, at)]) {
                if most.is_none_or(|(d, ..)| distance > d) {
                    *most = Some((distance, at, slope));
                }
            }
        }
        for (from_surface, most) in [false, true].into_iter().zip(worst) {
            found.extend(most.map(|(distance_m, at_m, slope_t_m)| Edge {
                limit,
                from_surface,
                at_m,
                distance_m,
                slope_t_m,
            }));
        }
    }
    found
}

/// The rows. A distance is as sure as the field there over how steeply that falls.
pub(crate) fn tell(edges: &[Edge], readings: &Readings, known: &Known<'_>, answer: &mut Answer) {
    let mut items = Vec::new();
    for (edge, reading) in edges.iter().zip(readings.of_edges()) {
        let (key, limit_t, what) = edge.limit;
        let from = if edge.from_surface { "surface" } else { "middle" };
        let key = if edge.from_surface { format!("{key}_surface") } else { key.into() };
        let band = distance_band(edge, &known.band(reading));
        let farthest = band.as_ref().map_or(edge.distance_m, |b| b.high);
        let label = format!("distance to {} mT ({what})", 1e3 * limit_t);
        let item = Item::number(&key, &label, edge.distance_m, Dimension::Length)
            .with_note(format!("from the magnet's {from}, in the worst direction"));
        items.push(match band {
            Some(band) => item.with_band(band),
            None => item,
        });
        if edge.from_surface {
            continue;
        }
        // As far as it may be, and from the middle: the safe side of both.
        if limit_t < 1e-3 {
            answer.cautions.extend(caution::keep_out(&key, farthest));
        } else {
            let strongest = answer.number("face_maximum").unwrap_or(f64::INFINITY);
            answer.cautions.extend(caution::flying_steel(&key, strongest));
        }
    }
    for (key, limit_t, what) in LIMITS {
        if !edges.iter().any(|e| e.limit.0 == key) {
            let label = format!("distance to {} mT ({what})", 1e3 * limit_t);
            items.push(Item::text(key, &label, "not reached anywhere"));
        }
    }
    answer.group("Keep-out", items);
}

fn distance_band(edge: &Edge, of_field: &Band) -> Option<Band> {
    let mut budget = Budget::new(edge.distance_m);
    for c in &of_field.contributors {
        // More field reaches farther.
        budget.add(&c.path, &c.label, c.effect / -edge.slope_t_m);
    }
    budget.band()
}

/// The greatest distance at which a falling field is still above a limit; none if it is nowhere.
fn last_above(size: impl Fn(f64) -> f64, limit: f64, nearest: f64) -> Option<f64> {
    let mut far = nearest;
    while size(far) > limit && far < 1e4 * nearest {
        far *= 1.5;
    }
    let (mut low, mut high) = if far > nearest {
        (far / 1.5, far)
    } else {
        let step = nearest / f64::from(STEPS);
        let at = (0..STEPS).rev().map(|k| step * f64::from(k)).find(|rho| size(*rho) > limit)?;
        (at, at + step)
    };
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if size(middle) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}

/// Distance of a place from the nearest part of a magnet, m; curved edges are taken as straight.
fn from_surface_m(magnet: &Magnet, at: Point) -> f64 {
    let outlines = magnet.parts.iter().map(|p| &p.outline.0);
    let edges = outlines.flat_map(|nodes| nodes.iter().zip(nodes.iter().cycle().skip(1)));
    edges.map(|(a, b)| to_segment_m(at, a.0, b.0)).fold(f64::INFINITY, f64::min)
}

fn to_segment_m(p: Point, a: Point, b: Point) -> f64 {
    let (along, off) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
    let length2 = along[0] * along[0] + along[1] * along[1];
    let share = if length2 > 0.0 { (along[0] * off[0] + along[1] * off[1]) / length2 } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    (off[0] - share * along[0]).hypot(off[1] - share * along[1])
}

/// The caution of a field where people can be beside the strongest value of an answer; `hidden` are the keys of what lies
/// inside iron, to which nobody is exposed.
pub(crate) fn beside_strongest(answer: &mut Answer, hidden: &[String]) {
    let items = answer.groups.iter().flat_map(|g| &g.items);
    let of_size = |key: &str| key == "face_maximum" || key.starts_with("b_abs_") || key.ends_with("_most");
    let sizes = items.filter(|i| of_size(&i.key));
    let sizes = sizes.filter(|i| !hidden.contains(&i.key));
    let sizes = sizes.filter_map(|i| Some((i.key.clone(), answer.number(&i.key)?)));
    if let Some((key, tesla)) = sizes.max_by(|a, b| a.1.total_cmp(&b.1)) {
        answer.cautions.extend(caution::stray_field(&key, tesla));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A dipole's field falls as the cube of the distance: 8 mT at 1 m are 1 mT at 2 m, and half a mT at 16^(1/3) m,
    /// beyond and within the nearest place alike.
    #[test]
    fn a_dipoles_edge() {
        let dipole = |rho: f64| 8e-3 / rho.powi(3);
        for nearest in [0.5, 10.0] {
            let at = last_above(dipole, 0.5e-3, nearest).unwrap();
            assert!((at - 16f64.cbrt()).abs() < 1e-9, "{at}");
        }
        assert_eq!(last_above(|_| 1e-5, 0.5e-3, 1.0), None);
        assert!((to_segment_m([3.0, 4.0], [0.0, -1.0], [0.0, 0.0]) - 5.0).abs() < 1e-12);
        assert!((to_segment_m([3.0, 0.5], [0.0, 0.0], [0.0, 1.0]) - 3.0).abs() < 1e-12);
    }

    /// A field known to 3 % at a distance from which it falls as the cube: 1 % of the distance.
    #[test]
    fn a_distance_is_as_sure_as_the_field() {
        let (limit, d) = (0.5e-3, 0.2);
        let edge = Edge {
            limit: LIMITS[1],
            from_surface: false,
            at_m: [0.0, d],
            distance_m: d,
            slope_t_m: -3.0 * limit / d,
        };
        let mut field = Budget::new(limit);
        field.add("winding.turns", "turns", 0.03 * limit);
        let band = distance_band(&edge, &field.band().unwrap()).unwrap();
        assert!((band.standard / d - 0.01).abs() < 1e-12);
    }
}
