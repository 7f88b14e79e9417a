//! An unknown of a fit: where to start, what is known beforehand, and where it may lie.
//!
//! Bounds are kept by fitting a free coordinate `u` instead of the parameter `p`: `p = u`, `p = eᵘ`, or
//! `p = low + (high − low)/(1 + e⁻ᵘ)`.

/// An unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    /// Name, such as a path in a sheet.
    pub name: String,
    /// Value to start from; inside the bounds.
    pub start: f64,
    /// What is known beforehand, if anything.
    pub prior: Option<Prior>,
    /// Where it may lie.
    pub bounds: Bounds,
    /// Size of a change that matters, in the parameter's unit. `None`: the prior's standard uncertainty, or else
    /// the magnitude of the value.
    pub scale: Option<f64>,
}

/// Gaussian knowledge of a parameter or of its logarithm beforehand, taken as one more reading of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Best estimate beforehand.
    pub mean: f64,
    /// Its standard uncertainty, above 0.
    pub standard: f64,
    /// The parameter's logarithm is Gaussian: one standard uncertainty higher is `mean + standard`, one lower as much less
    /// by the same factor.
    pub by_factor: bool,
}

impl Prior {
    /// Standard uncertainties from a value up to the best estimate.
    pub(super) fn residual(&self, value: f64) -> f64 {
        if self.by_factor {
            (self.mean / value).ln() / self.of_logarithm()
        } else {
            (self.mean - value) / self.standard
        }
    }

    /// Standard uncertainty in the parameter's unit, about a value.
    pub(super) fn standard_at(&self, value: f64) -> f64 {
        if self.by_factor { value * self.of_logarithm() } else { self.standard }
    }

    fn of_logarithm(&self) -> f64 {
        (self.standard / self.mean).ln_1p()
    }
}

/// Range of a parameter. Ends are not part of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bounds {
    /// Any number.
    Free,
    /// Above 0; fitted as its logarithm.
    Positive,
    /// Between two numbers.
    Between(f64, f64),
}

impl Parameter {
    /// A free parameter without a prior.
    pub fn new(name: impl Into<String>, start: f64) -> Self {
        Self { name: name.into(), start, prior: None, bounds: Bounds::Free, scale: None }
    }

    /// With a prior.
    #[must_use]
    pub fn with_prior(mut self, mean: f64, standard: f64) -> Self {
        self.prior = Some(Prior { mean, standard, by_factor: false });
        self
    }

    /// Above 0, with a prior of its logarithm: the standard uncertainty is that upwards.
    #[must_use]
    pub fn with_factor(mut self, mean: f64, standard: f64) -> Self {
        self.prior = Some(Prior { mean, standard, by_factor: true });
        self.positive()
    }

    /// Above 0.
    #[must_use]
    pub fn positive(mut self) -> Self {
        self.bounds = Bounds::Positive;
        self
    }

    /// Between two numbers.
    #[must_use]
    pub fn between(mut self, low: f64, high: f64) -> Self {
        self.bounds = Bounds::Between(low, high);
        self
    }

    /// With a size of change that matters; needed for a parameter that may be 0 and has no prior.
    #[must_use]
    pub fn with_scale(mut self, scale: f64) -> Self {
        self.scale = Some(scale);
        self
    }

    pub(super) fn check(&self) -> Result<(), &'static str> {
        let inside = match self.bounds {
            Bounds::Free => true,
            Bounds::Positive => self.start > 0.0,
            Bounds::Between(low, high) => {
                low.is_finite() && high.is_finite() && low < self.start && self.start < high
            }
        };
        let above_0 = |x: f64| x.is_finite() && x > 0.0;
        if !self.start.is_finite() || !inside {
            return Err("its start must be finite and inside its bounds");
        }
        if self.prior.is_some_and(|prior| !prior.mean.is_finite() || !above_0(prior.standard)) {
            return Err("its prior needs a finite mean and a standard uncertainty above 0");
        }
        if self.prior.is_some_and(|prior| prior.by_factor && prior.mean <= 0.0) {
            return Err("a prior of its logarithm needs a mean above 0");
        }
        if self.scale.is_some_and(|scale| !above_0(scale)) {
            return Err("its scale must be above 0");
        }
        if self.start == 0.0 && self.prior.is_none() && self.scale.is_none() {
            return Err("it starts at 0, so say the size of a change that matters (scale)");
        }
        Ok(())
    }

    /// Size of a change that matters at a value.
    pub(super) fn scale_at(&self, value: f64) -> f64 {
        let prior = self.prior.map(|prior| prior.standard);
        self.scale.or(prior).unwrap_or_else(|| if value == 0.0 { self.start.abs() } else { value.abs() })
    }

    /// Free coordinate of a value.
    pub(super) fn coordinate(&self, value: f64) -> f64 {
        match self.bounds {
            Bounds::Free => value,
            Bounds::Positive => value.ln(),
            Bounds::Between(low, high) => ((value - low) / (high - value)).ln(),
        }
    }

    /// Value at a free coordinate.
    pub(super) fn value(&self, coordinate: f64) -> f64 {
        match self.bounds {
            Bounds::Free => coordinate,
            Bounds::Positive => coordinate.exp(),
            Bounds::Between(low, high) => low + (high - low) / (1.0 + (-coordinate).exp()),
        }
    }

    /// `dp/du` at a value.
    pub(super) fn slope(&self, value: f64) -> f64 {
        match self.bounds {
            Bounds::Free => 1.0,
            Bounds::Positive => value,
            Bounds::Between(low, high) => (value - low) * (high - value) / (high - low),
        }
    }

    /// Step of a central difference in the free coordinate, `relative` being the step for a coordinate of size 1.
    pub(super) fn step(&self, value: f64, relative: f64) -> f64 {
        match self.bounds {
            Bounds::Free => relative * self.scale_at(value).max(value.abs()),
            Bounds::Positive | Bounds::Between(..) => relative,
        }
    }

    /// The bound that a value has run to: within a millionth of the range, or for a positive parameter to less
    /// than a millionth of what matters.
    pub(super) fn bound_reached(&self, value: f64) -> Option<f64> {
        const NEAR: f64 = 1e-6;
        match self.bounds {
            Bounds::Free => None,
            Bounds::Positive => {
                let scale = self.scale.or(self.prior.map(|p| p.standard)).unwrap_or(self.start);
                (value < NEAR * scale).then_some(0.0)
            }
            Bounds::Between(low, high) => {
                let near = NEAR * (high - low);
                let low = (value - low < near).then_some(low);
                low.or((high - value < near).then_some(high))
            }
        }
    }

    /// Interval `± half_width` in the free coordinate, so that it respects the bounds.
    pub(super) fn interval(&self, value: f64, half_width: f64) -> (f64, f64) {
        match self.bounds {
            Bounds::Free => (value - half_width, value + half_width),
            _ => {
                let (u, du) = (self.coordinate(value), half_width / self.slope(value));
                (self.value(u - du), self.value(u + du))
            }
        }
    }
}
