//! Predicts what a DC electromagnet does, from the sheet that describes it.
//!
//! A [`sheet`] says in TOML what a practitioner knows of a magnet: form and dimensions, winding, drive, workpiece, each
//! with a tolerance or not at all. [`magnet::Magnet::complete`] decides what it leaves open and lists every such
//! assumption; [`magnetic`] draws the result and finds its field, [`thermal`] its temperatures, [`circuit`] what its coil does, and
//! [`model::ask::answer`] turns a [`Question`](answers::question::Question) into an
//! [`Answer`](answers::answer::Answer): numbers in SI, each with its dimension and, where anything is uncertain, a [band](uncertainty::band) that names what
//! contributes most, with warnings and cautions beside them. That is the only way from a sheet to an answer.
//!
//! What is wrong with a sheet comes back all at once, as [`diagnostic`]s with place, cause and remedy.
//!
//! ```
//! use coilwright_magnet::model::ask;
//! use coilwright_magnet::answers::question::{PullQuestion, Question};
//! use coilwright_magnet::sheet::{Form, Sheet, template};
//!
//! let text = template(Form::Pot); // a commented starting sheet, ready to be asked
//! let (mut sheet, remarks) = Sheet::parse(&text, "my.sheet.toml").map_err(|faults| faults[0].clone())?;
//! assert!(remarks.is_empty());
//!
//! let question = Question::Pull(PullQuestion { gaps_m: vec![0.5e-3, 1e-3], ..PullQuestion::default() });
//! let answer = ask::answer(&sheet, &question)?;
//! let pull = answer.number("pull").expect("every such answer has one"); // in N
//! assert!(pull > 100.0);
//! assert!(!answer.assumptions.is_empty() && !answer.cautions.is_empty());
//!
//! // What if? The same checks as in the file.
//! sheet.set("workpiece.gap", "1 mm")?;
//! assert!(ask::answer(&sheet, &question)?.number("pull") < Some(pull));
//! let fault = sheet.set("body.pole_diameter", "20 V").expect_err("not a length");
//! assert!(fault.message.contains("unit of voltage"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Text and values in, text and values out: no file, clock, terminal or chance. It knows nothing of measurements; a
//! calibration reaches it only as an explicit table of the sheet.

pub use coilwright_sheet::{diagnostic, material, quantity, sheet, wire};

pub mod answers;
pub mod circuit;
pub mod coupled;
pub mod failure;
pub mod magnet;
pub mod magnetic;
pub mod model;
pub mod thermal;
pub mod uncertainty;
pub mod watch;
