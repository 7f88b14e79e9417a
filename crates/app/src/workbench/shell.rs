//! The page before anything is answered: every part has its place.

use super::keep::Beginning;
use crate::beside;
use crate::page::{escaped, units_in_words};
use crate::topics;
use coilwright_choose::seek::number::Number;
use coilwright_magnet::quantity::UnitSystem;
use std::fmt::Write;

/// What is said where no sheet was named.
const WELCOME: [&str; 3] = [
    "This is an invented pot magnet that a sorting gantry lifts steel blanks with; the sheet beside the drawing says what is known of it.",
    "Move a slider, drag a dimension or change the sheet, and every number follows, with how sure it is.",
    "Save it under a name of your own to keep it, or open yours with <code>coilwright open FILE</code>.",
];

/// The document; it has neither script nor style of its own.
pub(super) fn document(begins: &Beginning, drawing: &str, name: &str, demo: bool) -> String {
    let mut out = String::from(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<link rel=\"icon\" href=\"data:,\">\n\
         <link rel=\"stylesheet\" href=\"assets/page.css\">\n<link rel=\"stylesheet\" href=\"assets/workbench.css\">\n\
         <script type=\"module\" src=\"assets/workbench.js\"></script>\n",
    );
    let _ = write!(out, "<title>{}</title>\n</head>\n<body class=\"alive\">\n", escaped(name));
    header(&mut out, begins, name);
    if demo {
        let _ = writeln!(out, "<p class=\"welcome\">{}</p>", WELCOME.join(" "));
    }
    out.push_str(
        "<main>\n<div id=\"verdict\" class=\"pending\"><p class=\"question\">What does this magnet do, as its sheet \
         describes it, and how sure is that?</p><h1>Solving …</h1></div>\n",
    );
    let _ = writeln!(
        out,
        "<div class=\"bench\">\n<div class=\"left\">\n<figure class=\"drawing\" id=\"drawing\">{drawing}</figure>\n\
         <p class=\"soft hint\" id=\"hint\" role=\"status\">Click a dimension to type over it, drag it, or use the arrow keys on it.</p>\n\
         <form id=\"sliders\" aria-label=\"What if\"></form>\n\
         <div id=\"figures\" role=\"group\" aria-label=\"The numbers that matter\"></div>\n</div>"
    );
    editor(&mut out, begins);
    out.push_str("</div>\n<div id=\"short\"></div>\n");
    for question in topics::questions(true) {
        let hidden = if question.command == "fit" { " hidden" } else { "" };
        let _ = writeln!(
            out,
            "<section id=\"{}\" class=\"pending\"{hidden}>\n<h2>{}</h2>\n<p class=\"soft\">…</p></section>",
            question.command, question.title
        );
    }
    let _ = writeln!(
        out,
        "<section id=\"{}\" class=\"pending\" hidden>\n<h2>{}</h2>\n<p class=\"soft\">…</p></section>",
        beside::COMMAND,
        beside::TITLE
    );
    out.push_str(OTHERS);
    seek(&mut out);
    out.push_str(READINGS);
    out.push_str("<div id=\"closing\"></div>\n</main>\n</body>\n</html>\n");
    out
}

const OTHERS: &str = "\
<section id=\"others\">\n<h2>Beside others</h2>\n<ul id=\"others-list\"></ul>\n<p class=\"soft\"><label>Put a sheet beside it, to see \
which of them does more: <select id=\"others-choice\"></select></label> <span id=\"others-none\" hidden>Another sheet in this \
one's folder can be put beside it, to see which of them does more; there is none yet.</span></p>\n</section>\n";

const READINGS: &str = "\
<section id=\"readings\">\n<h2>Readings</h2>\n<p class=\"soft\">Drop a CSV of bench readings anywhere on this page, or <label \
class=\"file\">choose one<input type=\"file\" id=\"readings-file\" accept=\".csv,text/csv\"></label>: they are held against the \
sheet, and it is said what they tell. <button type=\"button\" id=\"readings-away\" hidden>Take them away</button></p>\n\
<p id=\"readings-told\" role=\"status\"></p>\n</section>\n";

/// Aims and limits, in a form that reads as a sentence.
fn seek(out: &mut String) {
    let aim = |which: &str, more: &str, chosen: [&str; 2]| {
        let option = |value: &str, label: &str, chosen: &str| {
            let selected = if value == chosen { " selected" } else { "" };
            format!("<option value=\"{value}\"{selected}>{label}</option>")
        };
        let ways = ["most", "least"].map(|way| option(way, way, chosen[0])).concat();
        let numbers: String =
            Number::all().iter().map(|number| option(number.key, number.label, chosen[1])).collect();
        format!(
            "<select id=\"seek-way-{which}\" aria-label=\"Most or least, {which} aim\">{ways}</select> <select \
             id=\"seek-number-{which}\" aria-label=\"Number, {which} aim\">{more}{numbers}</select>"
        )
    };
    let first = aim("first", "", ["most", "pull"]);
    let second = aim("second", "<option value=\"\">nothing else</option>", ["least", ""]);
    let _ = writeln!(
        out,
        "<section id=\"seek\">\n<h2>Seek a better one</h2>\n<form id=\"seek-form\"><p class=\"sentence\">Of magnets like this one \
         find the one with the {first} and the {second}, <label>within <input id=\"seek-within\" placeholder=\"hot spot &lt;= 120 \
         degC; mass &lt;= 0.6 kg\"></label> and the sheet's own limits, <label>by changing <input id=\"seek-vary\" \
         placeholder=\"all inside a pot, its wire too\"></label>, <label>looking at <input id=\"seek-designs\" inputmode=\"numeric\" \
         value=\"200\"></label> designs. <button id=\"seek-go\">Seek</button> <button type=\"button\" id=\"seek-stop\" \
         hidden>Stop</button></p></form>\n<p id=\"seek-told\" class=\"soft\" role=\"status\"></p>\n<figure class=\"chart\" \
         id=\"seek-front\"></figure>\n<div id=\"seek-found\"></div>\n</section>"
    );
}

fn header(out: &mut String, begins: &Beginning, name: &str) {
    let _ = write!(
        out,
        "<header>\n<b id=\"name\">{}</b>\n<span id=\"file\">{}</span>\n<span id=\"saved\" role=\"status\"></span>\n\
         <span class=\"soft\"><span id=\"progress\" role=\"status\"></span> <span id=\"share\" aria-hidden=\"true\"></span></span>\n<span class=\"does\">\
         <button type=\"button\" id=\"undo\" disabled>Undo</button>\
         <button type=\"button\" id=\"redo\" disabled>Redo</button>\
         <button type=\"button\" id=\"save\">Save</button>\
         <button type=\"button\" id=\"save-as\">Save as</button>\
         <button type=\"button\" id=\"report\">Report</button></span>\n\
         <label class=\"units\"><span class=\"unseen\">Units</span><select id=\"units\">",
        escaped(name),
        escaped(&begins.file)
    );
    for (word, units) in
        [("si", UnitSystem::Si), ("gauss", UnitSystem::GaussKgf), ("imperial", UnitSystem::Imperial)]
    {
        let _ = write!(out, "<option value=\"{word}\">{}</option>", units_in_words(units));
    }
    out.push_str(
        "</select></label>\n</header>\n<div id=\"asks\" role=\"alert\"></div>\n<div id=\"said\" class=\"unseen\" role=\"status\"></div>\n",
    );
}

fn editor(out: &mut String, begins: &Beginning) {
    let _ = writeln!(
        out,
        "<div class=\"right\">\n<p class=\"form\"><label>Form <select id=\"form\"></select></label></p>\n<div class=\"editor\"><div class=\"gutter\" id=\"gutter\" aria-hidden=\"true\"></div>\
         <div class=\"lines\"><pre id=\"shade\" aria-hidden=\"true\"></pre>\
         <textarea id=\"text\" spellcheck=\"false\" autocomplete=\"off\" autocapitalize=\"off\" wrap=\"off\" \
         aria-label=\"The sheet's text\" aria-describedby=\"diagnostics\">\n{}</textarea>\
         </div></div>\n<p id=\"key\" class=\"soft\"></p>\n<ul id=\"diagnostics\" role=\"status\" aria-label=\"What is wrong in the sheet\"></ul>\n\
         <details class=\"open\" open><summary>Assumed: type over it to give it</summary><ul id=\"assumed\"></ul></details>\n</div>",
        kept_lines(&begins.text)
    );
}

/// Text in which only markup is escaped: it is to come back as it is.
fn kept_lines(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
