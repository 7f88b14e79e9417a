//! The program as its user runs it.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test app audit::` runs those of one file.

mod audit;
mod browser;
mod commands;
mod compare;
mod fit;
mod fixture;
mod gallery;
mod heat;
mod in_examples;
mod readme;
mod report;
mod same_number;
mod schemas;
mod screen;
mod seek;
mod showing;
mod workbench;
