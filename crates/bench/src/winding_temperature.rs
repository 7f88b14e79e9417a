//! The mean temperature of a winding from its resistance, cold and hot (IEC 60034-1, 8.6.2; from memory).
//!
//! The mean of the whole winding: its hot spot is hotter, and its surface can be 20 K cooler (common practice, no
//! source).

use crate::uncertainty::{Input, Inputs, Propagated, PropagationError, UncertaintyError, propagate};
use std::convert::Infallible;

/// Metal of the wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conductor {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
}

impl Conductor {
    /// `k`: the resistance is proportional to `k + t`, t in °C. 234.5 for copper, 225 for aluminium, by convention
    /// of IEC 60034-1, 8.6.2.
    pub fn constant_celsius(self) -> f64 {
        match self {
            Self::Copper => 234.5,
            Self::Aluminium => 225.0,
        }
    }
}

/// `t₂ = (R₂/R₁)(t₁ + k) − k` and its rise over the coolant, both in kelvin, in this order.
///
/// `resistances` are the cold and the hot one, ohm; `temperatures` those of the winding when cold and of the coolant
/// when hot, K. Take both pairs from [`Instrument::inputs`](crate::instrument::Instrument::inputs) if one instrument
/// measured them: a gain error of the ohmmeter then cancels, as it does in truth. `k_standard` is the standard
/// uncertainty of `k`, K: 0 by the convention; a wire of 98 to 101 % IACS differs from it by a few kelvin.
pub fn winding_temperature(
    resistances: &Inputs,
    temperatures: &Inputs,
    conductor: Conductor,
    k_standard: f64,
) -> Result<Propagated, PropagationError<Infallible>> {
    for pair in [resistances, temperatures] {
        let found = pair.list().len();
        if found != 2 {
            return Err(UncertaintyError::WrongLength { expected: 2, found }.into());
        }
    }
    let k = Input::normal("k of the conductor", conductor.constant_celsius(), k_standard);
    let inputs = resistances.clone().and(temperatures.clone())?.and(Inputs::new(vec![k])?)?;
    propagate(&inputs, |x| {
        // In kelvin: R is proportional to T − (273.15 − k).
        let zero = 273.15 - x[4];
        let hot = x[1] / x[0] * (x[2] - zero) + zero;
        Ok(vec![hot, hot - x[3]])
    })
}
