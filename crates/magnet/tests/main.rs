//! What a magnet is and does, against handbooks, closed forms and what practice knows.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test magnet bad_geometry::` runs those of one file.

mod bad_geometry;
mod caution_texts;
mod cooling_air;
mod cooling_pot_magnet;
mod cooling_solids;
mod curve_bands;
mod field_asked;
mod form_defaults;
mod form_drawings;
mod form_faults;
mod form_winding_answer;
mod fuzz;
mod headroom_answer;
mod heat_answer;
mod heat_lumped;
mod iron_and_edges;
mod minded;
mod operating_point;
mod switch_after;
mod switch_answer;
mod switch_circuit;
mod symmetry;
mod trade;
mod watch;
mod weak_pulls;
mod winding_completion;
