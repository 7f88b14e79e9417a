//! `[[region]]` blocks: closed outlines with a material, a current or a remanence.

use super::outline;
use super::read::Reader;
use super::schema::{Key, Kind, REGION_KEYS};
use crate::quantity::Dimension;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One region of a profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// What it is.
    pub name: String,
    /// Its corners in order; the last is joined to the first.
    pub outline: Vec<Node>,
    /// What it is made of; air if not given.
    pub material: Option<String>,
    /// Total current through the region, A.
    pub ampere_turns: Option<f64>,
    /// Remanence along r|x and along z|y, T.
    pub remanence: Option<(f64, f64)>,
    /// Relative recoil permeability.
    pub recoil_permeability: Option<f64>,
    /// `workpiece` if it is the thing that is pulled.
    pub body: Option<String>,
    /// Its heading in the text.
    pub span: Range<usize>,
}

/// A corner of an outline, m: r, z or x, y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// r or x.
    pub x: f64,
    /// z or y.
    pub y: f64,
    /// The edge from this node to the next is an arc about this centre.
    pub arc_centre: Option<(f64, f64)>,
    /// That arc runs counter-clockwise.
    pub arc_ccw: bool,
}

/// Most regions, and most corners of one, that are read.
const MOST_NODES: usize = 500;

/// How unequal the two radii of an arc may be: what rounding to four or five figures makes of it.
const RADIUS_SLACK: f64 = 1e-4;

pub(super) fn read(reader: &mut Reader<'_>, table: &DeTable<'_>, span: Range<usize>) -> Option<Region> {
    let block = reader.block(REGION_KEYS, table);
    for leaf in ["name", "outline"] {
        if !block.has(leaf) {
            let hint = match leaf {
                "name" => "write `name = \"core\"`",
                _ => {
                    "write `outline = [[\"0 mm\", \"0 mm\"], [\"10 mm\", \"0 mm\"], [\"10 mm\", \"20 mm\"]]`"
                }
            };
            reader.fault(span.clone(), format!("this region has no `{leaf}`"), hint);
        }
    }
    if block.number("recoil_permeability").is_some() && !block.has("remanence") {
        reader.fault(span.clone(), "`recoil_permeability` without `remanence`", "give both or neither");
    }
    let remanence = block.lists.get("remanence").and_then(|v| vector(reader, v));
    let outline = outline_of(reader, block.lists.get("outline")?)?;
    Some(Region {
        name: block.word("name")?,
        outline,
        material: block.word("material"),
        ampere_turns: block.number("ampere_turns"),
        remanence,
        recoil_permeability: block.number("recoil_permeability"),
        body: block.word("body"),
        span,
    })
}

fn key_of(leaf: &str) -> &'static Key {
    REGION_KEYS.iter().find(|k| k.leaf() == leaf).unwrap_or(&REGION_KEYS[0])
}

/// One number along z|y, or two along r|x and z|y.
fn vector(reader: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<(f64, f64)> {
    let key = key_of("remanence");
    let Kind::Vector(dimension) = key.kind else { return None };
    let any = Key { range: super::schema::Range::Any, ..*key };
    match value.get_ref().as_array() {
        None => Some((0.0, reader.exact(&any, key.path, dimension, value)?)),
        Some(list) if list.len() == 2 => {
            let (x, y) = (
                reader.exact(&any, key.path, dimension, &list[0]),
                reader.exact(&any, key.path, dimension, &list[1]),
            );
            Some((x?, y?))
        }
        Some(list) => {
            let message = format!("`region.remanence` has {} numbers", list.len());
            reader.fault(value.span(), message, "write two, along r|x and z|y, or one alone for z|y");
            None
        }
    }
}

/// A node as it is written: place, and the word and centre of an arc that starts there.
struct Written {
    at: (f64, f64),
    arc: Option<(Sense, (f64, f64))>,
    span: Range<usize>,
}

#[derive(Clone, Copy, PartialEq)]
enum Sense {
    Shorter,
    Ccw,
    Cw,
}

fn outline_of(reader: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Vec<Node>> {
    let example = "write `outline = [[\"0 mm\", \"0 mm\"], [\"10 mm\", \"0 mm\"], [\"10 mm\", \"20 mm\"]]`";
    let Some(list) = value.get_ref().as_array() else {
        reader.fault(value.span(), "`outline` is not a list of nodes", example);
        return None;
    };
    if list.len() < 3 || list.len() > MOST_NODES {
        let message = format!("the outline has {} nodes; it needs 3 to {MOST_NODES}", list.len());
        reader.fault(value.span(), message, example);
        return None;
    }
    let count = list.len();
    let written: Vec<_> = list.iter().filter_map(|item| node(reader, item)).collect();
    if written.len() < count {
        return None;
    }
    let mut nodes = Vec::with_capacity(count);
    for (i, w) in written.iter().enumerate() {
        let next = &written[(i + 1) % count];
        if w.at == next.at {
            reader.fault(next.span.clone(), "two nodes in a row are in the same place", "remove one of them");
            return None;
        }
        nodes.push(joined(reader, w, next.at)?);
    }
    if let Some((i, j)) = outline::crossing(&nodes) {
        let message =
            format!("the outline crosses or touches itself: its edges {} and {} meet", i + 1, j + 1);
        reader.fault(written[j].span.clone(), message, "list the corners in order, once round the region");
        return None;
    }
    Some(nodes)
}

fn node(reader: &mut Reader<'_>, item: &Spanned<DeValue<'_>>) -> Option<Written> {
    let key = Key { range: super::schema::Range::Any, example: "10 mm", ..*key_of("outline") };
    let length = |reader: &mut Reader<'_>, v: &Spanned<DeValue<'_>>| {
        reader.exact(&key, key.path, Dimension::Length, v)
    };
    let hint = "write `[\"10 mm\", \"0 mm\"]`, or `[\"10 mm\", \"0 mm\", \"arc\", \"0 mm\", \"0 mm\"]` \
                where an arc about a centre starts";
    let list = item.get_ref().as_array();
    let Some(list) = list.filter(|l| l.len() == 2 || l.len() == 5) else {
        reader.fault(item.span(), "a node is two lengths, or five items where an arc starts", hint);
        return None;
    };
    let (x, y) = (length(reader, &list[0]), length(reader, &list[1]));
    let arc = match list.get(2) {
        None => None,
        Some(word) => {
            let sense = match word.get_ref().as_str() {
                Some("arc") => Sense::Shorter,
                Some("arc ccw") => Sense::Ccw,
                Some("arc cw") => Sense::Cw,
                _ => {
                    reader.fault(
                        word.span(),
                        "an edge is straight or \"arc\", \"arc ccw\", \"arc cw\"",
                        hint,
                    );
                    return None;
                }
            };
            let (cx, cy) = (length(reader, &list[3]), length(reader, &list[4]));
            Some((sense, (cx?, cy?)))
        }
    };
    Some(Written { at: (x?, y?), arc, span: item.span() })
}

/// The node with its arc's centre settled.
fn joined(reader: &mut Reader<'_>, w: &Written, next: (f64, f64)) -> Option<Node> {
    let (x, y) = w.at;
    let Some((sense, centre)) = w.arc else { return Some(Node { x, y, arc_centre: None, arc_ccw: false }) };
    let radius = |p: (f64, f64)| (p.0 - centre.0).hypot(p.1 - centre.1);
    let (start, end) = (radius(w.at), radius(next));
    if (start - end).abs() > RADIUS_SLACK * start.max(end) || start == 0.0 {
        let mm = |r: f64| Dimension::Length.text(r, None, crate::quantity::UnitSystem::Si);
        let message =
            format!("the arc's centre is {} from its start but {} from its end", mm(start), mm(end));
        reader.fault(w.span.clone(), message, "give a centre at the same distance from both nodes");
        return None;
    }
    // Move the centre onto the perpendicular bisector, so that both radii are the same number.
    let (dx, dy) = (next.0 - x, next.1 - y);
    let off =
        ((centre.0 - (x + next.0) / 2.0) * dx + (centre.1 - (y + next.1) / 2.0) * dy) / (dx * dx + dy * dy);
    let centre = (centre.0 - off * dx, centre.1 - off * dy);
    let ccw_turn = outline::sweep(w.at, next, centre, true);
    let arc_ccw = match sense {
        Sense::Ccw => true,
        Sense::Cw => false,
        Sense::Shorter => {
            if (ccw_turn - std::f64::consts::PI).abs() < 1e-6 {
                let hint = "write \"arc ccw\" or \"arc cw\"";
                reader.fault(w.span.clone(), "a half circle is equally short both ways round", hint);
                return None;
            }
            ccw_turn < std::f64::consts::PI
        }
    };
    Some(Node { x, y, arc_centre: Some(centre), arc_ccw })
}
