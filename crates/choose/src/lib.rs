//! Magnets side by side, and one magnet as it would be otherwise.
//!
//! [`compare`](compare::compare) asks several magnets the same questions, in front of the same workpiece, and says of every
//! number which magnet has more of it and whether that is sure. The difference of two numbers has a band of its own: what
//! both share, such as the workpiece's thickness, falls out of it, so that a difference may be sure where neither number is.
//! A [`need`] is held against every magnet. A [`sweep`] asks one magnet over a range of one entry of its sheet. A
//! [`lot`](lot::lot) is many made alike. [`seek`](mod@seek) looks for the best of all that may change of one.
//!
//! It asks the model as every other command does and computes no physics; it draws and prints nothing.
//!
//! ```
//! use coilwright_choose::compare::{Question, Subject, compare};
//! use coilwright_magnet::sheet::{Form, Sheet, template};
//!
//! let sheet = |gap: &str| {
//!     let (mut sheet, _) = Sheet::parse(&template(Form::Disc), "disc.sheet.toml").map_err(|f| f[0].clone())?;
//!     sheet.set("workpiece.gap", gap)?;
//!     Ok::<_, coilwright_magnet::diagnostic::Diagnostic>(sheet)
//! };
//! let near = Subject { name: "near".into(), sheet: sheet("0.2 mm")? };
//! let far = Subject { name: "far".into(), sheet: sheet("1 mm")? };
//! // Two what-ifs of one sheet keep their gaps.
//! let answer = compare(&[near, far], &Question::default())?;
//! assert!(answer.number("pull_1") > answer.number("pull_2"));
//! assert!(answer.number("pull_2_more").is_some_and(|more| more < 0.0));
//! assert!(!answer.cautions.is_empty());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod adjust;
mod alike;
mod asking;
pub mod compare;
pub mod difference;
pub mod equal;
mod gathered;
pub mod lot;
pub mod nearest;
pub mod need;
mod needs;
pub mod seek;
pub mod sweep;
mod topic;
