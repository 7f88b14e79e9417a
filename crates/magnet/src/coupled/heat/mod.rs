//! Temperatures under a drive, and how sure they are.

pub(crate) mod bands;
pub mod profile;
pub(crate) mod warm_up;
