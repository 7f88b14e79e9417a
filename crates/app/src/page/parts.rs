//! The page in parts, as HTML: what the workbench puts in their places one by one, in the report's own words.

use super::html;
use super::section::{Row, Section};
use super::{Page, Topic, drawing};
use crate::ask::Figure;
use crate::chart::{ChartError, Curves};
use coilwright_magnet::answers::answer::{Answer, Series};
use coilwright_magnet::quantity::UnitSystem;
use std::fmt::Write;

/// The numbers that stand first: the command that answers them and how their keys begin, the best first; and what they are
/// called until they are known.
const FIGURES: [(&str, &[&str], &str); 7] = [
    ("pull", &["pull"], "pull"),
    ("field", &["face_maximum", "b_abs_"], "greatest flux density"),
    ("winding", &["current"], "current"),
    ("winding", &["power"], "power in the winding"),
    ("heat", &["hot_spot_steady", "runaway", "hot_spot"], "hot spot of the winding"),
    ("headroom", &["class_", "runaway"], "time to the limit"),
    ("switch", &["release_time"], "drop-out time"),
];

/// How a page looks.
pub(crate) const STYLE: &str = html::STYLE;

impl Page<'_> {
    /// The question, the answer as a sentence, how sure it is.
    pub(crate) fn verdict_part(&self) -> String {
        written(|out| html::verdict(out, self))
    }

    /// The drawing; empty where there is nothing to draw.
    pub(crate) fn drawing_part(&self) -> String {
        drawing::svg(&self.figure, self.units).unwrap_or_default()
    }

    /// The picture of the field.
    pub(crate) fn picture_part(&self) -> String {
        written(|out| html::flux(out, self))
    }

    /// How limits fare, and the other answers in a sentence each.
    pub(crate) fn short_part(&self) -> String {
        written(|out| html::in_short(out, self))
    }

    /// Cautions in short, assumptions, sources.
    pub(crate) fn closing_part(&self) -> String {
        written(|out| html::closing(out, self))
    }

    /// A question with its answer.
    pub(crate) fn section_part(&self, topic: &Topic) -> Result<String, ChartError> {
        let mut out = String::new();
        html::section(&mut out, self, topic)?;
        Ok(out)
    }

    /// The few numbers that matter, in rows that keep their places; those to come are left open.
    pub(crate) fn figures_part(&self) -> String {
        let mut out = String::from("<table class=\"rows\"><tbody>\n");
        for (command, keys, label) in FIGURES {
            let topic = self.topics.iter().find(|topic| topic.command == command);
            match topic.map(|topic| topic.answer.as_ref()) {
                Some(Ok(answer)) => {
                    if let Some(row) = row(&self.section(answer), answer, keys, label) {
                        html::one_row(&mut out, command, &row);
                    }
                }
                Some(Err(_)) => {}
                None => {
                    let _ = writeln!(
                        out,
                        "<tr><th scope=\"row\">{label}</th><td class=\"value pending\" data-of=\"{command}\" \
                         data-key=\"{}\">…</td><td class=\"bar-cell\"></td><td class=\"range\"></td></tr>",
                        keys[0]
                    );
                }
            }
        }
        out.push_str("</tbody></table>\n");
        out
    }
}

/// The row of the best key that an answer has, without what belongs to its section.
fn row<'a>(section: &Section<'a>, answer: &'a Answer, keys: &[&str], label: &'a str) -> Option<Row<'a>> {
    let begins = |key: &&str| {
        let items = answer.groups.iter().flat_map(|group| &group.items);
        let limit = |found: &str| found == "class_limit";
        items.map(|item| item.key.as_str()).find(|found| found.starts_with(*key) && !limit(found))
    };
    let key = keys.iter().find_map(begins)?;
    let row = section.groups.iter().flat_map(|group| &group.rows).find(|row| row.key == key)?;
    Some(Row {
        label,
        note: "",
        cautions: Vec::new(),
        value: row.value.clone(),
        interval: row.interval.clone(),
        ..*row
    })
}

/// The scan of a face as its chart.
pub(crate) fn scan_part(magnet: &str, scan: &Series, units: UnitSystem) -> Result<String, ChartError> {
    html::chart_of("field", Curves { magnet, series: scan }, units)
}

/// Designs of a search as their chart.
pub(crate) fn front_part(front: &Series, units: UnitSystem) -> Result<String, ChartError> {
    html::chart_of("seek", Curves { magnet: "", series: front }, units)
}

/// The face of a magnet as far as it is scanned, with the room above it; empty where there is nothing to draw.
pub(crate) fn probe_part(figure: &Figure, across_m: f64, height_m: f64) -> String {
    drawing::face_svg(figure, across_m, height_m).unwrap_or_default()
}

fn written(write: impl FnOnce(&mut String)) -> String {
    let mut out = String::new();
    write(&mut out);
    out
}
