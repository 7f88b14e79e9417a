//! Answers: numbers in rows, sentences, limits, cautions and advice.

pub mod advice;
pub mod answer;
pub mod caution;
pub mod field;
pub mod figure;
pub mod headroom;
pub mod heat;
pub(crate) mod limits;
pub mod pull;
pub mod question;
pub mod switch;
pub mod winding;
