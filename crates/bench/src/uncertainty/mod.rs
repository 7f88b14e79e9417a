//! Uncertainty arithmetic: inputs, their correlation, and what follows for what is computed from them.
//!
//! Two ways, by the same inputs: [`propagate`] to first order (JCGM 100:2008, 5) and [`monte_carlo`]
//! (JCGM 101:2008) with Latin-hypercube samples. [`Sampled::disagreement`] says where they part.

mod first_order;
mod latin_hypercube;
mod monte_carlo;
mod student;
pub mod tolerance;

pub use first_order::{Propagated, propagate, propagate_with};
pub use latin_hypercube::sample_inputs;
pub use monte_carlo::{Disagreement, Sampled, Summary, monte_carlo};
pub use student::{coverage_factor, student_quantile};

use coilwright_magnet::quantity::Quantity;
use nalgebra::DMatrix;
use std::convert::Infallible;

/// What is known about the distribution of an input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Gaussian; with finite degrees of freedom a scaled and shifted t distribution (JCGM 101:2008, 6.4.9).
    Normal,
    /// Equally likely between two limits (JCGM 100:2008, 4.3.7): half-width `√3 u`.
    Rectangular,
    /// Symmetric triangle between two limits (JCGM 100:2008, 4.3.9): half-width `√6 u`.
    Triangular,
}

/// An uncertain input quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Name, such as a path in a sheet; unique among the inputs used together.
    pub name: String,
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty, in the unit of the value; 0 for an exact number.
    pub standard: f64,
    /// Degrees of freedom of the standard uncertainty; infinite if it is taken as known.
    pub dof: f64,
    /// Distribution used for sampling.
    pub shape: Shape,
}

impl Input {
    /// A Gaussian input of known standard uncertainty.
    pub fn normal(name: impl Into<String>, value: f64, standard: f64) -> Self {
        Self { name: name.into(), value, standard, dof: f64::INFINITY, shape: Shape::Normal }
    }

    /// An input that lies within `value ± half_width`, nothing else known: `u = a/√3` (JCGM 100:2008, 4.3.7).
    pub fn rectangular(name: impl Into<String>, value: f64, half_width: f64) -> Self {
        let standard = half_width / 3f64.sqrt();
        Self { name: name.into(), value, standard, dof: f64::INFINITY, shape: Shape::Rectangular }
    }

    /// An input within `value ± half_width`, more likely near the middle: `u = a/√6` (JCGM 100:2008, 4.3.9).
    pub fn triangular(name: impl Into<String>, value: f64, half_width: f64) -> Self {
        let standard = half_width / 6f64.sqrt();
        Self { name: name.into(), value, standard, dof: f64::INFINITY, shape: Shape::Triangular }
    }

    /// A number with a tolerance, taken as rectangular.
    pub fn from_quantity(name: impl Into<String>, quantity: &Quantity) -> Self {
        Self::rectangular(name, quantity.value, quantity.half_width)
    }

    /// The same input with degrees of freedom for its standard uncertainty.
    #[must_use]
    pub fn with_dof(mut self, dof: f64) -> Self {
        self.dof = dof;
        self
    }

    /// Type A evaluation of repeated observations: mean, `s/√n`, `n − 1` degrees of freedom
    /// (JCGM 100:2008, 4.2, eqs. 3 to 5).
    pub fn observed(name: impl Into<String>, observations: &[f64]) -> Result<Self, UncertaintyError> {
        let together = Inputs::observed_together(&[(&name.into(), observations)])?;
        Ok(together.list[0].clone())
    }
}

/// Inputs with the correlation between them. Uncorrelated unless said.
#[derive(Clone, Debug, PartialEq)]
pub struct Inputs {
    list: Vec<Input>,
    correlation: DMatrix<f64>,
}

/// Why a set of inputs makes no sense.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum UncertaintyError {
    /// A value, standard uncertainty or number of degrees of freedom is not a usable number.
    #[error("`{0}` needs a finite value, a standard uncertainty of 0 or more and degrees of freedom above 0")]
    BadInput(String),
    /// Two inputs share a name.
    #[error("two inputs are named `{0}`")]
    SameName(String),
    /// A correlation names an input that is not there.
    #[error("no input is named `{0}`")]
    NoSuchInput(String),
    /// A correlation coefficient outside −1 to 1, or a matrix of wrong shape.
    #[error("a correlation coefficient must lie between -1 and 1, {0} does not")]
    BadCoefficient(f64),
    /// No quantities can have these correlations: the matrix has a negative eigenvalue.
    #[error("these correlations contradict each other (smallest eigenvalue of their matrix {0:.3})")]
    ImpossibleCorrelation(f64),
    /// A matrix does not have one row and column for each input, or observations are not paired.
    #[error("expected {expected} rows or values, found {found}")]
    WrongLength {
        /// What was needed.
        expected: usize,
        /// What was given.
        found: usize,
    },
    /// A scatter needs at least two observations; sampling needs more samples than inputs.
    #[error("{found} is too few, at least {needed} are needed")]
    TooFew {
        /// Least number that serves.
        needed: usize,
        /// What was given.
        found: usize,
    },
}

/// Why an uncertainty could not be propagated through a model that fails with `E`.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PropagationError<E> {
    /// The inputs make no sense.
    #[error(transparent)]
    Inputs(#[from] UncertaintyError),
    /// The model failed at some input values near the estimate.
    #[error("the model failed with the inputs {inputs:?}: {error}")]
    Model {
        /// Values given to the model, in the order of the inputs.
        inputs: Vec<f64>,
        /// What it said.
        error: E,
    },
    /// The model gave a number that is not finite, or another number of outputs than before.
    #[error("the model gave {outputs:?} with the inputs {inputs:?}")]
    BadOutput {
        /// Values given to the model.
        inputs: Vec<f64>,
        /// What it returned.
        outputs: Vec<f64>,
    },
}

impl Inputs {
    /// Uncorrelated inputs.
    pub fn new(list: Vec<Input>) -> Result<Self, UncertaintyError> {
        for (i, input) in list.iter().enumerate() {
            let sound = input.value.is_finite()
                && input.standard.is_finite()
                && input.standard >= 0.0
                && input.dof > 0.0;
            if !sound {
                return Err(UncertaintyError::BadInput(input.name.clone()));
            }
            if list[..i].iter().any(|other| other.name == input.name) {
                return Err(UncertaintyError::SameName(input.name.clone()));
            }
        }
        let n = list.len();
        Ok(Self { list, correlation: DMatrix::identity(n, n) })
    }

    /// Type A evaluation of quantities observed together, one slice of equal length for each:
    /// means, standard errors and the correlation of the means (JCGM 100:2008, 5.2.3, eq. 17).
    pub fn observed_together(columns: &[(&str, &[f64])]) -> Result<Self, UncertaintyError> {
        let n = columns.first().map_or(0, |(_, values)| values.len());
        if n < 2 {
            return Err(UncertaintyError::TooFew { needed: 2, found: n });
        }
        if let Some((_, values)) = columns.iter().find(|(_, values)| values.len() != n) {
            return Err(UncertaintyError::WrongLength { expected: n, found: values.len() });
        }
        let means: Vec<f64> = columns.iter().map(|(_, v)| v.iter().sum::<f64>() / n as f64).collect();
        let covariance = DMatrix::from_fn(columns.len(), columns.len(), |i, j| {
            let products = columns[i].1.iter().zip(columns[j].1);
            let sum: f64 = products.map(|(a, b)| (a - means[i]) * (b - means[j])).sum();
            sum / (n * (n - 1)) as f64
        });
        let list = columns.iter().zip(&means).enumerate().map(|(i, ((name, _), &mean))| {
            Input::normal(*name, mean, covariance[(i, i)].sqrt()).with_dof((n - 1) as f64)
        });
        Ok(Self { correlation: correlation_of(&covariance), ..Self::new(list.collect())? })
    }

    /// The same inputs with a correlation coefficient between two of them.
    pub fn correlate(mut self, a: &str, b: &str, coefficient: f64) -> Result<Self, UncertaintyError> {
        let (i, j) = (self.index(a)?, self.index(b)?);
        let in_range = coefficient.abs() <= 1.0 && (i != j || coefficient == 1.0);
        if !in_range {
            return Err(UncertaintyError::BadCoefficient(coefficient));
        }
        self.correlation[(i, j)] = coefficient;
        self.correlation[(j, i)] = coefficient;
        Ok(self)
    }

    /// Inputs from estimates and their covariance matrix, such as the parameters of a fit.
    pub fn from_covariance(
        names: &[String],
        values: &[f64],
        covariance: &DMatrix<f64>,
        dof: f64,
    ) -> Result<Self, UncertaintyError> {
        let expected = names.len();
        for found in [values.len(), covariance.nrows(), covariance.ncols()] {
            if found != expected {
                return Err(UncertaintyError::WrongLength { expected, found });
            }
        }
        let list = names.iter().zip(values).enumerate();
        let list = list.map(|(i, (name, &value))| {
            Input::normal(name.clone(), value, covariance[(i, i)].sqrt()).with_dof(dof)
        });
        let inputs = Self { correlation: correlation_of(covariance), ..Self::new(list.collect())? };
        inputs.root()?;
        Ok(inputs)
    }

    /// These inputs and others, uncorrelated with them.
    pub fn and(self, other: Self) -> Result<Self, UncertaintyError> {
        let (n, m) = (self.list.len(), other.list.len());
        let mut correlation = DMatrix::identity(n + m, n + m);
        correlation.view_mut((0, 0), (n, n)).copy_from(&self.correlation);
        correlation.view_mut((n, n), (m, m)).copy_from(&other.correlation);
        let list = self.list.into_iter().chain(other.list).collect();
        Ok(Self { correlation, ..Self::new(list)? })
    }

    /// The inputs in order.
    pub fn list(&self) -> &[Input] {
        &self.list
    }

    /// Best estimates in order.
    pub fn values(&self) -> Vec<f64> {
        self.list.iter().map(|input| input.value).collect()
    }

    /// Correlation coefficients, one row and column for each input.
    pub fn correlation(&self) -> &DMatrix<f64> {
        &self.correlation
    }

    /// Covariance matrix of the inputs, `u_i u_j r_ij` (JCGM 100:2008, 5.2.2, eq. 14).
    pub fn covariance(&self) -> DMatrix<f64> {
        let n = self.list.len();
        DMatrix::from_fn(n, n, |i, j| {
            self.correlation[(i, j)] * self.list[i].standard * self.list[j].standard
        })
    }

    fn index(&self, name: &str) -> Result<usize, UncertaintyError> {
        let place = self.list.iter().position(|input| input.name == name);
        place.ok_or_else(|| UncertaintyError::NoSuchInput(name.to_owned()))
    }

    /// A matrix `P` with `P Pᵀ` the correlation matrix; also where fully correlated inputs make that
    /// matrix singular, which a Cholesky factor would not survive.
    fn root(&self) -> Result<DMatrix<f64>, UncertaintyError> {
        let eigen = self.correlation.clone().symmetric_eigen();
        let smallest = eigen.eigenvalues.iter().copied().fold(f64::INFINITY, f64::min);
        // Coefficients rounded to ten digits must pass, contradictions must not.
        if smallest < -1e-9 {
            return Err(UncertaintyError::ImpossibleCorrelation(smallest));
        }
        let roots = eigen.eigenvalues.map(|value| value.max(0.0).sqrt());
        Ok(eigen.eigenvectors * DMatrix::from_diagonal(&roots))
    }
}

/// Correlation matrix of a covariance matrix; a quantity without scatter is uncorrelated with all.
fn correlation_of(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let n = covariance.nrows();
    DMatrix::from_fn(n, n, |i, j| {
        let scale = (covariance[(i, i)] * covariance[(j, j)]).sqrt();
        match i == j {
            true => 1.0,
            false if scale > 0.0 => (covariance[(i, j)] / scale).clamp(-1.0, 1.0),
            false => 0.0,
        }
    })
}

/// A formula with one result, in the form that [`propagate`] and [`monte_carlo`] take.
pub fn scalar(formula: impl Fn(&[f64]) -> f64) -> impl Fn(&[f64]) -> Result<Vec<f64>, Infallible> {
    move |inputs| Ok(vec![formula(inputs)])
}

/// Calls a model and insists on finite outputs, `expected` of them if that is known.
fn evaluate<E>(
    model: &impl Fn(&[f64]) -> Result<Vec<f64>, E>,
    inputs: &[f64],
    expected: Option<usize>,
) -> Result<Vec<f64>, PropagationError<E>> {
    let outputs =
        model(inputs).map_err(|error| PropagationError::Model { inputs: inputs.to_vec(), error })?;
    let sound = outputs.iter().all(|y| y.is_finite()) && expected.is_none_or(|n| n == outputs.len());
    if sound { Ok(outputs) } else { Err(PropagationError::BadOutput { inputs: inputs.to_vec(), outputs }) }
}
