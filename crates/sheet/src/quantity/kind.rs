//! Quantities that share a unit and must not be mixed, each with a type of its own.
//!
//! A temperature is not a temperature rise:
//! ```compile_fail,E0308
//! use coilwright_sheet::quantity::kind::{Temperature, TemperatureDifference};
//! let rise: TemperatureDifference = Temperature::new(353.15);
//! ```
//! two temperatures have no sum:
//! ```compile_fail,E0308
//! use coilwright_sheet::quantity::kind::Temperature;
//! let sum = Temperature::new(293.15) + Temperature::new(60.0);
//! ```
//! H is not M:
//! ```compile_fail,E0308
//! use coilwright_sheet::quantity::kind::{FieldStrength, Magnetisation, flux_density_t};
//! let b = flux_density_t(Magnetisation::new(1e6), FieldStrength::new(1e3));
//! ```
//! and the two are added in B = µ0 (H + M) only:
//! ```compile_fail,E0369
//! use coilwright_sheet::quantity::kind::{FieldStrength, Magnetisation};
//! let sum = FieldStrength::new(1e3) + Magnetisation::new(1e6);
//! ```
//! the flux of one turn is not the flux linkage of the winding:
//! ```compile_fail,E0308
//! use coilwright_sheet::quantity::kind::{FluxLinkage, FluxPerTurn};
//! let linkage: FluxLinkage = FluxPerTurn::new(1e-4);
//! ```
//! and what was predicted was not measured:
//! ```compile_fail,E0308
//! use coilwright_sheet::quantity::kind::{Measured, Predicted};
//! let reading: Measured<f64> = Predicted(0.31);
//! ```
//! nor are the two compared unless it is said which is which:
//! ```compile_fail,E0369
//! use coilwright_sheet::quantity::kind::{Measured, Predicted};
//! let difference = Measured(0.30) - Predicted(0.31);
//! ```
//! What may be done:
//! ```
//! use coilwright_sheet::quantity::kind::*;
//! let rise: TemperatureDifference = Temperature::new(353.15) - Temperature::new(293.15);
//! assert_eq!(rise.si(), 60.0);
//! assert_eq!((Temperature::new(293.15) + rise).si(), 353.15);
//! let linkage: FluxLinkage = FluxPerTurn::new(2e-4).linked_with(900.0);
//! assert!((linkage.si() - 0.18).abs() < 1e-15);
//! let deviation: f64 = Measured(0.30).deviation_from(Predicted(0.31));
//! assert!((deviation + 0.01).abs() < 1e-15);
//! ```

use std::ops::{Add, Sub};

/// Magnetic constant µ0, H/m (CODATA 2018; relative standard uncertainty 1.5e-10).
pub const MU_0: f64 = 1.256_637_062_12e-6;

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From a value in SI.
            pub const fn new(si: f64) -> Self {
                Self(si)
            }

            /// The value in SI.
            pub const fn si(self) -> f64 {
                self.0
            }
        }
    )*};
}

kinds! {
    /// Absolute temperature, K.
    Temperature,
    /// Temperature rise or difference, K.
    TemperatureDifference,
    /// Magnetic field strength H, A/m.
    FieldStrength,
    /// Magnetisation M, A/m.
    Magnetisation,
    /// Flux through one turn, Wb.
    FluxPerTurn,
    /// Flux linkage of a whole winding, Wb.
    FluxLinkage,
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Self) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Self;
    fn add(self, rise: TemperatureDifference) -> Self {
        Self(self.0 + rise.0)
    }
}

impl Sub<TemperatureDifference> for Temperature {
    type Output = Self;
    fn sub(self, fall: TemperatureDifference) -> Self {
        Self(self.0 - fall.0)
    }
}

impl FluxPerTurn {
    /// Linkage of a winding whose turns all carry this flux.
    pub fn linked_with(self, turns: f64) -> FluxLinkage {
        FluxLinkage(self.0 * turns)
    }
}

impl FluxLinkage {
    /// Mean flux of one turn.
    pub fn per_turn(self, turns: f64) -> FluxPerTurn {
        FluxPerTurn(self.0 / turns)
    }
}

/// Flux density B = µ0 (H + M), in tesla.
pub fn flux_density_t(h: FieldStrength, m: Magnetisation) -> f64 {
    MU_0 * (h.0 + m.0)
}

/// What the model says.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Predicted<T>(pub T);

/// What an instrument says.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Measured<T>(pub T);

impl<T: Sub> Measured<T> {
    /// Measured less predicted.
    pub fn deviation_from(self, predicted: Predicted<T>) -> T::Output {
        self.0 - predicted.0
    }
}
