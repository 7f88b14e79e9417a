//! The one door from sheets to answers, and the one place where an answer is held against the sheet's limits.

pub use coilwright_magnet::answers::field::map::{Map, map};
pub use coilwright_magnet::answers::field::{USUAL_STANDOFF_M, scan_reach_m};
pub use coilwright_magnet::answers::figure::{Figure, Flux, Picture, figure, flux};
pub use coilwright_magnet::answers::question::{
    FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, Region, SwitchQuestion,
};
pub use coilwright_magnet::failure::Failure;
pub use coilwright_magnet::magnet::Magnet;
pub use coilwright_magnet::model::ask::watched;
pub use coilwright_magnet::model::rough::{AtFace, Rough, Wanted, at_face, numbers as rough};
pub use coilwright_magnet::sheet::{Form, LARGEST_SHEET, Sheet, json_schema, template};
