//! Headroom: how far the drive may be raised, and for how long, before the insulation's limit, for each way of cooling.

pub mod answer;
pub(crate) mod duty;
pub(crate) mod permit;
pub(crate) mod show;
