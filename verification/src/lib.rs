//! Checks of Coilwright against what is outside it: printed tables, closed forms, other people's solvers.
//!
//! Every case is a folder in `cases/`: a sheet, and beside it the problem in words, the source, the expected
//! values and why each tolerance is what it is. The tests answer all of them and compare; the same run writes
//! `docs/verification.md`, so that the page is never ahead of the tests.

pub mod ask;
pub mod case;
pub mod closed_form;
pub mod judged;
pub mod notices;
pub mod page;
pub mod problem;
pub mod row;

/// Steel of COMPUMAG TEAM workshop problem 13 (T. Nakata and K. Fujiwara): H in A/m, B in T. From memory of
/// the workshop's table.
pub const TEAM_13_STEEL: [(f64, f64); 27] = [
    (0.0, 0.0),
    (16.0, 0.0025),
    (30.0, 0.005),
    (54.0, 0.0125),
    (93.0, 0.025),
    (143.0, 0.05),
    (191.0, 0.1),
    (210.0, 0.2),
    (222.0, 0.3),
    (233.0, 0.4),
    (247.0, 0.5),
    (258.0, 0.6),
    (272.0, 0.7),
    (289.0, 0.8),
    (313.0, 0.9),
    (342.0, 1.0),
    (377.0, 1.1),
    (433.0, 1.2),
    (509.0, 1.3),
    (648.0, 1.4),
    (933.0, 1.5),
    (1228.0, 1.55),
    (1934.0, 1.6),
    (2913.0, 1.65),
    (4993.0, 1.7),
    (7189.0, 1.75),
    (9423.0, 1.8),
];

/// Folder of this crate; the cases and peers lie below it.
pub fn root() -> &'static std::path::Path {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The page that [`page::write`] makes and the test compares.
pub fn page_path() -> std::path::PathBuf {
    root().join("../docs/verification.md")
}
