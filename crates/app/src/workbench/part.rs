//! What is sent to the page: one part a line, as JSON.

use serde::Serialize;

/// A part.
#[derive(Debug, Serialize)]
#[serde(tag = "part", rename_all = "snake_case")]
pub(super) enum Part {
    /// What the text says, before anything is solved.
    Sheet(Box<SheetPart>),
    /// What stands in a place of the page from now on.
    Put {
        /// Id of the element.
        id: String,
        /// What it holds.
        html: String,
        /// There is no answer: what stood there may stay, greyed.
        failed: bool,
    },
    /// Numbers that are right to a per cent or so; their settled values come later.
    Quick {
        /// The numbers.
        values: Vec<QuickValue>,
    },
    /// What is being worked on.
    Progress {
        /// In words.
        text: String,
        /// How much of it is done, where that is known.
        share: Option<f64>,
    },
    /// Designs that a search has found so far.
    Front {
        /// Designs that are solved, and that will be.
        solved: usize,
        of: usize,
        /// One aim against the other; empty of one aim, or of one design.
        chart: String,
        /// In the order of the chart's points.
        designs: Vec<Candidate>,
    },
    /// Everything that was asked is there.
    Settled,
}

/// A design that may become the sheet.
#[derive(Debug, Serialize)]
pub(super) struct Candidate {
    /// What it does, provisionally.
    pub(super) label: String,
    /// What is to stand in the sheet.
    pub(super) entries: Vec<(String, String)>,
}

/// What the text of a sheet says.
#[derive(Debug, Default, Serialize)]
pub(super) struct SheetPart {
    /// Name of the magnet; empty if the text is no sheet.
    pub(super) name: String,
    /// What is wrong or odd.
    pub(super) diagnostics: Vec<Told>,
    /// What may be moved.
    pub(super) sliders: Vec<Slider>,
    /// Numbers that may become sliders.
    pub(super) numbers: Vec<Choice>,
    /// What the sheet leaves open.
    pub(super) assumed: Vec<Assumed>,
    /// Lengths in the drawing, as they would stand in the sheet.
    pub(super) lengths: Vec<Entry>,
    /// The word of its form.
    pub(super) form: &'static str,
    /// How high its face is scanned; none without a face.
    pub(super) probe: Option<Probe>,
}

/// The height at which a face is scanned, to be moved.
#[derive(Debug, Serialize)]
pub(super) struct Probe {
    pub(super) slider: Slider,
    /// The slider's value in m.
    pub(super) value_m: f64,
    /// The face with the room above it; empty where it cannot be drawn.
    pub(super) svg: String,
    /// How far the scan goes from the middle, and how much room above the face is shown, m.
    #[serde(skip)]
    pub(super) across_m: f64,
    #[serde(skip)]
    pub(super) height_m: f64,
}

/// A diagnostic for the page.
#[derive(Debug, Serialize)]
pub(super) struct Told {
    /// `fault` or `remark`.
    pub(super) severity: &'static str,
    /// Line from 1; 0 if it has no place in the text.
    pub(super) line: usize,
    /// Character in the line, from 1.
    pub(super) column: usize,
    /// The what-if that it is about; empty if it is about the text.
    pub(super) path: String,
    /// What is wrong.
    pub(super) message: String,
    /// How to mend it.
    pub(super) hint: String,
}

/// A number that may be moved without touching the sheet.
#[derive(Debug, Serialize)]
pub(super) struct Slider {
    /// Where it stands in a sheet.
    pub(super) path: String,
    /// What a person calls it.
    pub(super) label: String,
    /// In the unit of the slider.
    pub(super) value: f64,
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) step: f64,
    /// Symbol of the unit.
    pub(super) unit: String,
    /// As the sheet has it behind the value, ` ± 2 %`.
    pub(super) tolerance: String,
}

/// A number of the sheet.
#[derive(Debug, Serialize)]
pub(super) struct Choice {
    pub(super) path: String,
    pub(super) label: String,
}

/// What a sheet leaves open.
#[derive(Debug, Serialize)]
pub(super) struct Assumed {
    pub(super) path: String,
    pub(super) label: String,
    /// As it would stand in a sheet.
    pub(super) text: String,
    pub(super) reason: String,
}

/// An entry of the sheet.
#[derive(Debug, Serialize)]
pub(super) struct Entry {
    pub(super) path: String,
    pub(super) label: String,
    pub(super) text: String,
    /// It does not stand in the sheet.
    pub(super) assumed: bool,
}

/// A number that is not settled.
#[derive(Debug, Serialize)]
pub(super) struct QuickValue {
    /// The command that settles it.
    pub(super) of: &'static str,
    /// Name of the item in its answer.
    pub(super) key: &'static str,
    /// With its unit.
    pub(super) text: String,
    /// In SI.
    pub(super) si: f64,
}
