//! What was measured: instruments, readings, audits and fits against published examples and invented benches.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test bench audit::` runs those of one file.

mod audit;
mod coverage;
mod disagreement;
mod everything_off;
mod fit;
mod gum;
mod instrument;
mod invented_bench;
mod least_squares;
mod nist;
mod readings;
mod sampled;
mod second_fit;
mod warm_up;
