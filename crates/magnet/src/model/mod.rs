//! The one way from a sheet to numbers and answers.

pub mod ask;
pub mod minded;
pub mod plain;
pub mod rough;
