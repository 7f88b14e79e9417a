//! What a sheet says: quantities, faults, materials and wires against their standards.
//!
//! One program for all, so that they share the cores: `cargo test --workspace --test sheet material_laws::` runs those of one file.

mod material_laws;
mod material_library;
mod material_reference;
mod sheet_faults;
mod sheet_files;
mod sheet_quantity;
mod wire_sizes;
