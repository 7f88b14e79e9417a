//! Plane drawings to meshes to fields.
pub mod drawing;
pub mod element;
mod exterior;
pub mod field;
pub mod heat;
pub mod law;
mod layer;
pub mod magnetostatics;
pub mod mesh;
pub mod morph;
pub mod solve;
mod sparse;
mod triangulate;
