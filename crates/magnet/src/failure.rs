//! Why a question has no answer.

use crate::diagnostic::Diagnostic;
use coilwright_fem::solve::Failure as SolverFailure;
use thiserror::Error;

/// Why a question has no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Failure {
    /// The sheet is wrong or does not fit the question.
    #[error("{} in the sheet", if .0.len() == 1 { "a fault" } else { "several faults" })]
    Input(Vec<Diagnostic>),
    /// The physics has no answer, or none was found; what and why.
    #[error("{0}")]
    Physics(String),
    /// The temperatures pass 500 °C and never settle.
    #[error("the temperatures run away")]
    Runaway,
    /// The answer was no longer wanted.
    #[error("stopped before it was answered")]
    Stopped,
}

impl Failure {
    /// The field could not be solved, and why.
    pub(crate) fn unsolved_field(why: impl std::fmt::Display) -> Self {
        Self::Physics(format!("the field could not be solved: {why}"))
    }
}

impl From<SolverFailure> for Failure {
    fn from(e: SolverFailure) -> Self {
        Self::unsolved_field(e)
    }
}

impl From<coilwright_fem::drawing::DrawingError> for Failure {
    fn from(e: coilwright_fem::drawing::DrawingError) -> Self {
        Self::unsolved_field(e)
    }
}

impl From<Vec<Diagnostic>> for Failure {
    fn from(d: Vec<Diagnostic>) -> Self {
        Self::Input(d)
    }
}

impl From<Diagnostic> for Failure {
    fn from(d: Diagnostic) -> Self {
        Self::Input(vec![d])
    }
}
