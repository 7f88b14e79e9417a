//! Outlines: both halves, what of their edges shows, and paths.

use super::View;
use crate::svg::px;
use coilwright_magnet::answers::figure::{Arc, Continued, Corner, Figure, Fill};
use std::fmt::Write;

/// A plate wider than this many times the magnet is broken off at [`CUT`] times.
const WIDE: f64 = 1.35;
const CUT: f64 = 1.08;
/// Distance below which points are one, m.
const SAME_M: f64 = 1e-9;

/// A part, or the other half of one.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    /// What it is of.
    pub(crate) fill: Fill,
    /// It is what is pulled, not the magnet.
    pub(crate) workpiece: bool,
    /// Which way it is hatched: neighbours differ.
    pub(super) hatch: &'static str,
    /// Its corners in turn.
    pub(crate) outline: Vec<Corner>,
}

/// What holds some pieces, m.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(super) x: [f64; 2],
    pub(super) y: [f64; 2],
}

/// Least and greatest coordinate of points along an axis.
pub(crate) fn span(points: impl Iterator<Item = [f64; 2]>, axis: usize) -> [f64; 2] {
    points.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p[axis]), high.max(p[axis])])
}

impl Frame {
    /// None of nothing.
    pub(super) fn of(pieces: &[Piece]) -> Option<Self> {
        let points = || pieces.iter().flat_map(|piece| extremes(&piece.outline));
        let frame = Self { x: span(points(), 0), y: span(points(), 1) };
        (frame.width() > 0.0 && frame.height() > 0.0).then_some(frame)
    }

    pub(super) fn width(&self) -> f64 {
        self.x[1] - self.x[0]
    }

    pub(super) fn height(&self) -> f64 {
        self.y[1] - self.y[0]
    }

    pub(super) fn middle(&self) -> [f64; 2] {
        [0.5 * (self.x[0] + self.x[1]), 0.5 * (self.y[0] + self.y[1])]
    }
}

/// All parts of a figure, both halves.
pub(crate) fn pieces(figure: &Figure) -> Vec<Piece> {
    let mut materials: Vec<&str> = Vec::new();
    let mut pieces = Vec::new();
    for shape in &figure.parts {
        if let (Fill::Iron(name), false) = (&shape.fill, shape.workpiece)
            && !materials.contains(&name.as_str())
        {
            materials.push(name);
        }
        let first = matches!(&shape.fill, Fill::Iron(name) if materials.first() == Some(&name.as_str()));
        let hatch = match (shape.workpiece, first) {
            (true, _) => "hatch-b",
            (false, true) => "hatch-a",
            (false, false) => "hatch-c",
        };
        let piece = Piece {
            fill: shape.fill.clone(),
            workpiece: shape.workpiece,
            hatch,
            outline: shape.outline.clone(),
        };
        let other = (figure.continued != Continued::Whole).then(|| mirrored(&piece));
        pieces.push(piece);
        pieces.extend(other);
    }
    pieces
}

fn mirrored(piece: &Piece) -> Piece {
    let other = |[x, y]: [f64; 2]| [-x, y];
    let corner = |corner: &Corner| Corner {
        at: other(corner.at),
        arc: corner.arc.map(|arc| Arc { centre: other(arc.centre), ccw: !arc.ccw }),
    };
    let fill = match piece.fill {
        Fill::Permanent([across, along]) => Fill::Permanent([-across, along]),
        ref fill => fill.clone(),
    };
    Piece { fill, outline: piece.outline.iter().map(corner).collect(), ..piece.clone() }
}

/// Cuts plates that are much wider than the magnet; gives back where.
pub(crate) fn cut_wide_plates(pieces: &mut [Piece]) -> Option<f64> {
    let reach = |workpiece: bool| {
        let points =
            pieces.iter().filter(|piece| piece.workpiece == workpiece).flat_map(|p| extremes(&p.outline));
        points.fold(0.0f64, |most, [x, _]| most.max(x.abs()))
    };
    let (magnet, plate) = (reach(false), reach(true));
    let cut = CUT * magnet;
    if magnet == 0.0 || plate <= WIDE * magnet {
        return None;
    }
    for corner in pieces.iter_mut().filter(|piece| piece.workpiece).flat_map(|piece| &mut piece.outline) {
        corner.at[0] = corner.at[0].clamp(-cut, cut);
    }
    Some(cut)
}

/// The ends of a bore, from wall to wall, m; none without one.
pub(crate) fn bore(figure: &Figure, pieces: &[Piece]) -> Vec<[[f64; 2]; 2]> {
    if figure.continued != Continued::Turned {
        return Vec::new();
    }
    let body = pieces.iter().filter(|piece| !piece.workpiece && piece.fill != Fill::Other);
    let right: Vec<Frame> = body.filter_map(|piece| Frame::of(std::slice::from_ref(piece))).collect();
    let right: Vec<&Frame> = right.iter().filter(|frame| frame.x[1] > 0.0).collect();
    let inner = right.iter().map(|frame| frame.x[0]).fold(f64::INFINITY, f64::min);
    if !(inner > 0.0 && inner.is_finite()) {
        return Vec::new();
    }
    let walls = || right.iter().filter(|frame| frame.x[0] == inner);
    let low = walls().map(|frame| frame.y[0]).fold(f64::INFINITY, f64::min);
    let high = walls().map(|frame| frame.y[1]).fold(f64::NEG_INFINITY, f64::max);
    [low, high].map(|y| [[-inner, y], [inner, y]]).into()
}

/// Corners, and the farthest points of arcs to all sides.
fn extremes(outline: &[Corner]) -> Vec<[f64; 2]> {
    let mut points: Vec<[f64; 2]> = outline.iter().map(|corner| corner.at).collect();
    for (from, to) in edges(outline) {
        let Some(arc) = from.arc else { continue };
        let [cx, cy] = arc.centre;
        let radius = (from.at[0] - cx).hypot(from.at[1] - cy);
        let quarters = [[radius, 0.0], [0.0, radius], [-radius, 0.0], [0.0, -radius]];
        let on = |d: &[f64; 2]| turn(from.at, [cx + d[0], cy + d[1]], arc) <= turn(from.at, to.at, arc);
        points.extend(quarters.iter().filter(|d| on(d)).map(|d| [cx + d[0], cy + d[1]]));
    }
    points
}

/// Angle of an arc from one point to another, in 0 to a whole turn.
fn turn(from: [f64; 2], to: [f64; 2], arc: Arc) -> f64 {
    let angle = |p: [f64; 2]| (p[1] - arc.centre[1]).atan2(p[0] - arc.centre[0]);
    let turned = angle(to) - angle(from);
    (if arc.ccw { turned } else { -turned }).rem_euclid(2.0 * std::f64::consts::PI)
}

fn edges(outline: &[Corner]) -> impl Iterator<Item = (Corner, Corner)> {
    (0..outline.len()).map(|k| (outline[k], outline[(k + 1) % outline.len()]))
}

/// The edges of a piece that are not joints with others of the same stuff.
pub(crate) fn visible_edges(piece: &Piece, all: &[Piece]) -> Vec<[Corner; 2]> {
    let alike = |other: &&Piece| {
        !std::ptr::eq(*other, piece) && other.fill == piece.fill && other.workpiece == piece.workpiece
    };
    let others: Vec<(Corner, Corner)> =
        all.iter().filter(alike).flat_map(|other| edges(&other.outline)).collect();
    let mut visible = Vec::new();
    for (from, to) in edges(&piece.outline) {
        if from.arc.is_some() {
            visible.push([from, to]);
            continue;
        }
        let along = |t: f64| Corner {
            at: [from.at[0] + t * (to.at[0] - from.at[0]), from.at[1] + t * (to.at[1] - from.at[1])],
            arc: None,
        };
        let shared: Vec<[f64; 2]> = others.iter().filter_map(|other| shared(from.at, to.at, other)).collect();
        visible.extend(rest(shared).into_iter().map(|[a, b]| [along(a), along(b)]));
    }
    visible
}

/// From where to where of a straight edge another runs along it, as shares of its length.
fn shared(from: [f64; 2], to: [f64; 2], (a, b): &(Corner, Corner)) -> Option<[f64; 2]> {
    let d = [to[0] - from[0], to[1] - from[1]];
    let length = d[0].hypot(d[1]);
    if a.arc.is_some() || length < SAME_M {
        return None;
    }
    let beside = |p: [f64; 2]| (d[0] * (p[1] - from[1]) - d[1] * (p[0] - from[0])).abs() / length < SAME_M;
    let share = |p: [f64; 2]| (d[0] * (p[0] - from[0]) + d[1] * (p[1] - from[1])) / (length * length);
    let (s, t) = (share(a.at), share(b.at));
    let (low, high) = (s.min(t).max(0.0), s.max(t).min(1.0));
    (beside(a.at) && beside(b.at) && (high - low) * length > SAME_M).then_some([low, high])
}

/// What some stretches leave of 0 to 1.
fn rest(mut stretches: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    stretches.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut left = Vec::new();
    let mut from = 0.0;
    for [low, high] in stretches {
        if low > from + 1e-9 {
            left.push([from, low]);
        }
        from = high.max(from);
    }
    if from < 1.0 - 1e-9 {
        left.push([from, 1.0]);
    }
    left
}

/// Corners as a path, closed or not.
pub(crate) fn path(corners: &[Corner], view: View, closed: bool) -> String {
    let mut path = String::new();
    let mut before: Option<&Corner> = None;
    let again = closed.then(|| corners.first()).flatten();
    for corner in corners.iter().chain(again) {
        let [x, y] = view.at(corner.at).map(px);
        let _ = match before.map(|before| (before, before.arc)) {
            None => write!(path, "M{x} {y}"),
            Some((_, None)) => write!(path, "L{x} {y}"),
            Some((before, Some(arc))) => {
                let radius =
                    px(view.scale * (before.at[0] - arc.centre[0]).hypot(before.at[1] - arc.centre[1]));
                let large = u8::from(turn(before.at, corner.at, arc) > std::f64::consts::PI);
                // The drawing's y runs down: counter-clockwise is the negative sense.
                write!(path, "A{radius} {radius} 0 {large} {} {x} {y}", u8::from(!arc.ccw))
            }
        };
        before = Some(corner);
    }
    if closed {
        path.push('Z');
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x: [f64; 2], y: [f64; 2]) -> Piece {
        let corner = |x: f64, y: f64| Corner { at: [x, y], arc: None };
        let outline = vec![corner(x[0], y[0]), corner(x[1], y[0]), corner(x[1], y[1]), corner(x[0], y[1])];
        Piece { fill: Fill::Iron("steel".into()), workpiece: false, hatch: "hatch-a", outline }
    }

    /// A wall on a back: the joint is not drawn, and all the rest is.
    #[test]
    fn one_piece_has_no_joints() {
        let all = [rectangle([0.0, 3.0], [0.0, 1.0]), rectangle([2.0, 3.0], [1.0, 4.0])];
        let length = |piece: &Piece| -> f64 {
            let edges = visible_edges(piece, &all);
            edges.iter().map(|[a, b]| (a.at[0] - b.at[0]).hypot(a.at[1] - b.at[1])).sum()
        };
        assert!((length(&all[0]) - 7.0).abs() < 1e-9 && (length(&all[1]) - 7.0).abs() < 1e-9);
    }

    #[test]
    fn a_wide_plate_is_cut_and_a_narrow_one_is_not() {
        let plate = |half: f64| Piece { workpiece: true, ..rectangle([-half, half], [2.0, 3.0]) };
        let mut wide = [rectangle([-1.0, 1.0], [0.0, 2.0]), plate(3.0)];
        assert_eq!(cut_wide_plates(&mut wide), Some(CUT));
        assert_eq!(Frame::of(&wide).expect("a frame").width(), 2.0 * CUT);
        assert_eq!(cut_wide_plates(&mut [rectangle([-1.0, 1.0], [0.0, 2.0]), plate(1.2)]), None);
    }

    #[test]
    fn an_arc_reaches_beyond_its_ends() {
        let arc = |ccw| Some(Arc { centre: [0.0, 0.0], ccw });
        let half =
            |ccw| vec![Corner { at: [0.0, -1.0], arc: arc(ccw) }, Corner { at: [0.0, 1.0], arc: None }];
        let piece = |ccw| Piece { outline: half(ccw), ..rectangle([0.0, 1.0], [0.0, 1.0]) };
        assert!((Frame::of(&[piece(true)]).expect("a frame").x[1] - 1.0).abs() < 1e-12);
        assert!((Frame::of(&[piece(false)]).expect("a frame").x[0] + 1.0).abs() < 1e-12);
    }
}
