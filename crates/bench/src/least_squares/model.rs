//! What is fitted: predicted readings as a function of parameters.

use nalgebra::DMatrix;
use std::fmt::Display;

/// Predicts readings from parameters. Every closure `Fn(&[f64]) -> Result<Vec<f64>, E>` is one.
pub trait Model {
    /// Why a prediction failed.
    type Error: Display;

    /// One prediction for each reading, in the reading's unit.
    fn predict(&self, parameters: &[f64]) -> Result<Vec<f64>, Self::Error>;

    /// Derivatives of the predictions, a row for each reading and a column for each parameter; `None` if they are
    /// to be found by central differences.
    fn jacobian(&self, _parameters: &[f64]) -> Option<Result<DMatrix<f64>, Self::Error>> {
        None
    }
}

impl<F, E> Model for F
where
    F: Fn(&[f64]) -> Result<Vec<f64>, E>,
    E: Display,
{
    type Error = E;

    fn predict(&self, parameters: &[f64]) -> Result<Vec<f64>, E> {
        self(parameters)
    }
}

/// A model with its derivatives in closed form.
pub struct WithJacobian<F, J> {
    /// From parameters to predictions.
    pub predict: F,
    /// From parameters to derivatives, a row for each reading.
    pub jacobian: J,
}

impl<F, J, E> Model for WithJacobian<F, J>
where
    F: Fn(&[f64]) -> Result<Vec<f64>, E>,
    J: Fn(&[f64]) -> Result<DMatrix<f64>, E>,
    E: Display,
{
    type Error = E;

    fn predict(&self, parameters: &[f64]) -> Result<Vec<f64>, E> {
        (self.predict)(parameters)
    }

    fn jacobian(&self, parameters: &[f64]) -> Option<Result<DMatrix<f64>, E>> {
        Some((self.jacobian)(parameters))
    }
}
