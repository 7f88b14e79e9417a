//! The minimiser: residual rows in free coordinates, handed to the Levenberg–Marquardt solver, and the check of
//! what it returns.

use super::rows::{Converged, Rows};
use super::{FitError, Model, identifiability::Identifiability, scaled_columns};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::{DMatrix, DVector, Dyn, U1, storage::Owned};
use std::cell::RefCell;

impl<M: Model> Rows<'_, M> {
    /// Minimises the weighted sum of squares from a start, and insists on convergence.
    pub(super) fn minimise(
        &self,
        start: &[f64],
        weights: &[f64],
        estimated: bool,
    ) -> Result<Converged, FitError<M::Error>> {
        const RESTARTS: usize = 5;
        let mut u = self.coordinates(start);
        let mut evaluations = 0;
        let mut remaining = f64::INFINITY;
        for _ in 0..RESTARTS {
            let problem = Problem::new(self, weights, u)?;
            let error = 4.0 * self.settings.model_error.max(f64::EPSILON);
            // What a step of the wanted precision takes off a sum of squares that is as large as it should be.
            let gain = self.settings.precision.powi(2) / problem.residuals.len() as f64;
            let solver = LevenbergMarquardt::new()
                .with_ftol(error.max(gain))
                .with_xtol(error)
                .with_gtol(4.0 * f64::EPSILON)
                .with_patience(self.settings.patience);
            let (problem, report) = solver.minimize(problem);
            evaluations += report.number_of_evaluations;
            if let Some(error) = problem.error.into_inner() {
                return Err(error);
            }
            u = problem.u;
            let dof = (problem.residuals.len() - u.len()).max(1) as f64;
            // Where readings contradict each other by far more than is known of them, no minimum is sharper than that.
            let scatter = problem.residuals.norm() / dof.sqrt();
            let unit = if estimated { scatter } else { scatter.max(1.0) };
            // The solver stops where the sum of squares no longer changes, which is at half the digits that the
            // parameters can have: a few Gauss–Newton steps give the rest, as long as each is clearly shorter.
            let mut shortest = f64::INFINITY;
            loop {
                let point = self.values(&u);
                self.check_bounds(&point)?;
                let converged = self.linearise(point, evaluations)?;
                let step = self.step_left(&converged, weights)?;
                remaining =
                    (self.stacked(&converged.jacobian, &converged.parameters, weights) * &step).norm();
                // A perfect fit has no scatter to compare with: then the step itself must be negligible.
                if remaining <= self.settings.precision * unit
                    || self.negligible(&step, &converged.parameters)
                {
                    return Ok(converged);
                }
                if remaining > 0.9 * shortest {
                    break;
                }
                shortest = remaining;
                let slopes =
                    self.parameters.iter().zip(&converged.parameters).map(|(p, &value)| p.slope(value));
                u += step.component_div(&DVector::from_iterator(step.len(), slopes));
                evaluations += 1;
            }
            remaining /= unit;
            if report.termination == TerminationReason::LostPatience {
                break;
            }
        }
        Err(FitError::NotConverged { parameters: self.values(&u), remaining, evaluations })
    }

    /// Whether a change is lost in the model's own error.
    pub(super) fn negligible(&self, change: &DVector<f64>, parameters: &[f64]) -> bool {
        let limit = 1e3 * self.settings.model_error;
        change
            .iter()
            .zip(parameters)
            .zip(self.parameters)
            .all(|((dp, &value), parameter)| dp.abs() <= limit * parameter.scale_at(value).max(value.abs()))
    }

    /// Standardised residuals and Jacobian at parameters that are taken as the minimum.
    fn linearise(&self, parameters: Vec<f64>, evaluations: usize) -> Result<Converged, FitError<M::Error>> {
        let predictions = self.predict(&parameters)?;
        let slopes: Vec<f64> =
            self.parameters.iter().zip(&parameters).map(|(p, &value)| 1.0 / p.slope(value)).collect();
        let jacobian = scaled_columns(&self.jacobian(&self.coordinates(&parameters))?, &slopes);
        let standardised = self.standardised(&predictions);
        Ok(Converged { parameters, predictions, standardised, jacobian, evaluations })
    }

    /// The Gauss–Newton step from a point, in the parameters themselves.
    fn step_left(&self, at: &Converged, weights: &[f64]) -> Result<DVector<f64>, FitError<M::Error>> {
        let scale = self.scales(&at.parameters);
        let scaled = scaled_columns(&self.stacked(&at.jacobian, &at.parameters, weights), &scale);
        let residuals = self.residuals(&at.standardised, &at.parameters, weights);
        let svd = scaled.svd(true, true);
        let floor = self.noise_floor(at);
        if svd.singular_values.min() <= floor {
            return Err(FitError::Unidentifiable(Identifiability::new(self, at, 1.0)));
        }
        // The SVD was asked for both factors, so solving cannot fail; an error would be reported, not hidden.
        let step = svd.solve(&residuals, 0.0).map_err(|_| FitError::NotConverged {
            parameters: at.parameters.clone(),
            remaining: f64::INFINITY,
            evaluations: at.evaluations,
        })?;
        Ok(step.component_mul(&DVector::from_vec(scale)))
    }

    /// Singular values of the scaled Jacobian (in standard uncertainties) up to this size may be nothing but the
    /// model's own error, magnified by differences.
    pub(super) fn noise_floor(&self, at: &Converged) -> f64 {
        const MARGIN: f64 = 100.0;
        let size = at.predictions.iter().zip(self.sigma).map(|(y, s)| (y / s).powi(2)).sum::<f64>().sqrt();
        let relative = self.relative_step();
        let magnified = self.parameters.iter().zip(&at.parameters).map(|(parameter, &value)| {
            let step = parameter.step(value, relative) * parameter.slope(value);
            parameter.scale_at(value) / step
        });
        let analytic = self.model.jacobian(&at.parameters).is_some();
        let magnified = if analytic { 1.0 } else { magnified.fold(1.0, f64::max) };
        MARGIN * self.settings.model_error * magnified * size.max(f64::MIN_POSITIVE)
    }

    pub(super) fn scales(&self, values: &[f64]) -> Vec<f64> {
        self.parameters.iter().zip(values).map(|(p, &value)| p.scale_at(value)).collect()
    }

    /// Central differences are best with the cube root of the function's relative error as step.
    fn relative_step(&self) -> f64 {
        self.settings.model_error.cbrt()
    }

    fn coordinates(&self, values: &[f64]) -> DVector<f64> {
        let u = self.parameters.iter().zip(values).map(|(p, &value)| p.coordinate(value));
        DVector::from_iterator(values.len(), u)
    }

    fn values(&self, u: &DVector<f64>) -> Vec<f64> {
        self.parameters.iter().zip(u.iter()).map(|(p, &u)| p.value(u)).collect()
    }

    fn check_bounds(&self, values: &[f64]) -> Result<(), FitError<M::Error>> {
        for (parameter, &value) in self.parameters.iter().zip(values) {
            if let Some(bound) = parameter.bound_reached(value) {
                return Err(FitError::AtBound { name: parameter.name.clone(), bound });
            }
        }
        Ok(())
    }

    fn predict(&self, values: &[f64]) -> Result<Vec<f64>, FitError<M::Error>> {
        let predictions = self
            .model
            .predict(values)
            .map_err(|error| FitError::Model { parameters: values.to_vec(), error })?;
        let (expected, found) = (self.readings.len(), predictions.iter().filter(|y| y.is_finite()).count());
        if found != expected || predictions.len() != expected {
            return Err(FitError::BadPrediction { parameters: values.to_vec(), expected, found });
        }
        Ok(predictions)
    }

    fn standardised(&self, predictions: &[f64]) -> Vec<f64> {
        let pairs = self.readings.iter().zip(predictions).zip(self.sigma);
        pairs.map(|((reading, prediction), sigma)| (reading - prediction) / sigma).collect()
    }

    /// Derivatives of the predictions divided by σ, by the free coordinates.
    fn jacobian(&self, u: &DVector<f64>) -> Result<DMatrix<f64>, FitError<M::Error>> {
        let values = self.values(u);
        let (n, m) = (self.readings.len(), values.len());
        let mut jacobian = DMatrix::zeros(n, m);
        if let Some(given) = self.model.jacobian(&values) {
            let given = given.map_err(|error| FitError::Model { parameters: values.clone(), error })?;
            let found = given.iter().filter(|d| d.is_finite()).count();
            if given.shape() != (n, m) || found != n * m {
                return Err(FitError::BadPrediction { parameters: values, expected: n * m, found });
            }
            for (j, parameter) in self.parameters.iter().enumerate() {
                for i in 0..n {
                    jacobian[(i, j)] = given[(i, j)] * parameter.slope(values[j]) / self.sigma[i];
                }
            }
            return Ok(jacobian);
        }
        let mut moved = values.clone();
        for (j, parameter) in self.parameters.iter().enumerate() {
            let step = parameter.step(values[j], self.relative_step());
            let (above, below) = (u[j] + step, u[j] - step);
            moved[j] = parameter.value(above);
            let high = self.predict(&moved)?;
            moved[j] = parameter.value(below);
            let low = self.predict(&moved)?;
            moved[j] = values[j];
            for i in 0..n {
                jacobian[(i, j)] = (high[i] - low[i]) / (above - below) / self.sigma[i];
            }
        }
        Ok(jacobian)
    }

    /// The Jacobian's rows with the square roots of the weights, and below them a row for each prior.
    /// `jacobian` is by the parameters themselves, at `values` of them.
    pub(super) fn stacked(&self, jacobian: &DMatrix<f64>, values: &[f64], weights: &[f64]) -> DMatrix<f64> {
        let n = jacobian.nrows();
        let mut all = jacobian.clone().resize_vertically(n + self.priors().count(), 0.0);
        for (i, weight) in weights.iter().enumerate() {
            all.row_mut(i).scale_mut(weight.sqrt());
        }
        for (row, (j, prior)) in self.priors().enumerate() {
            all[(n + row, j)] = 1.0 / prior.standard_at(values[j]);
        }
        all
    }

    /// Weighted standardised residuals of the readings, then those of the priors.
    pub(super) fn residuals(&self, standardised: &[f64], values: &[f64], weights: &[f64]) -> DVector<f64> {
        let readings = standardised.iter().zip(weights).map(|(z, weight)| z * weight.sqrt());
        let priors = self.priors().map(|(j, prior)| prior.residual(values[j]));
        DVector::from_vec(readings.chain(priors).collect())
    }

    fn priors(&self) -> impl Iterator<Item = (usize, super::Prior)> {
        self.parameters.iter().enumerate().filter_map(|(j, p)| p.prior.map(|prior| (j, prior)))
    }
}

/// The rows in the form that the solver wants. It knows no errors: the first one is kept here.
struct Problem<'a, M: Model> {
    rows: &'a Rows<'a, M>,
    weights: &'a [f64],
    u: DVector<f64>,
    residuals: DVector<f64>,
    error: RefCell<Option<FitError<M::Error>>>,
}

impl<'a, M: Model> Problem<'a, M> {
    fn new(rows: &'a Rows<'a, M>, weights: &'a [f64], u: DVector<f64>) -> Result<Self, FitError<M::Error>> {
        let residuals = DVector::zeros(0);
        let mut problem = Self { rows, weights, u: u.clone(), residuals, error: RefCell::new(None) };
        problem.set_params(&u);
        match problem.error.take() {
            Some(error) => Err(error),
            None => Ok(problem),
        }
    }
}

impl<M: Model> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, M> {
    type ResidualStorage = Owned<f64, Dyn, U1>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn, U1>;

    fn set_params(&mut self, u: &DVector<f64>) {
        self.u.copy_from(u);
        let values = self.rows.values(u);
        match self.rows.predict(&values) {
            // The solver minimises prediction − reading, hence the sign.
            Ok(predictions) => {
                let standardised = self.rows.standardised(&predictions);
                self.residuals = -self.rows.residuals(&standardised, &values, self.weights);
            }
            Err(error) => *self.error.borrow_mut() = Some(error),
        }
    }

    fn params(&self) -> DVector<f64> {
        self.u.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.error.borrow().is_none().then(|| self.residuals.clone())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let values = self.rows.values(&self.u);
        match self.rows.jacobian(&self.u) {
            Ok(jacobian) => {
                let slopes: Vec<f64> =
                    self.rows.parameters.iter().zip(&values).map(|(p, &value)| p.slope(value)).collect();
                let inverse: Vec<f64> = slopes.iter().map(|slope| 1.0 / slope).collect();
                let stacked = self.rows.stacked(&scaled_columns(&jacobian, &inverse), &values, self.weights);
                Some(scaled_columns(&stacked, &slopes))
            }
            Err(error) => {
                *self.error.borrow_mut() = Some(error);
                None
            }
        }
    }
}
