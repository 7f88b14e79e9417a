//! Which magnet: comparisons, needs and sweeps against the single answers.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test choose compare::` runs those of one file.

mod adjust;
mod compare;
mod lot;
mod seek;
mod sweep;
