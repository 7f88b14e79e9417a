//! The solver against closed forms, tables and published references.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test fem circuits_in_time::` runs those of one file.

mod circuits_in_time;
mod closed_forms;
mod convergence;
mod curved;
mod drawings;
mod field_in_time;
mod gap;
mod heat_steady;
mod heat_transient;
mod hysteresis;
mod loops;
mod memory_in_field;
mod newton;
mod planar;
