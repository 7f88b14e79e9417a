//! How sure a number is: uncertain inputs, and what they make of a value.

pub mod band;
pub mod input;
pub mod measure;
