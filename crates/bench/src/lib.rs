//! Bench measurements and what they are worth.
//!
//! A magnet on the bench is read with meters that are a little wrong, in a hurry, into a file that is a little
//! broken. This crate turns such readings into numbers with honest uncertainties: it reads the file and names what
//! is wrong with it, knows what an instrument's accuracy means, propagates uncertainties with their correlation by
//! the GUM (JCGM 100 and 101), and fits models to readings by weighted least squares with priors, outliers flagged,
//! and a statement of what the readings cannot tell. With the magnet of a sheet as the model, [`audit`] names the claim
//! that cannot be true, and [`fit`] turns readings into a calibrated sheet.
//!
//! It does not measure (no ports, no files, no clock: text and values in, values out) and does not plot. What a magnet
//! does it asks of the model; uncertainty and least squares below know none.
//!
//! ```
//! use coilwright_bench::instrument::Instrument;
//! use coilwright_bench::winding_temperature::{Conductor, winding_temperature};
//!
//! // How hot is a winding of 10.00 ohm at 20 °C when it has 12.36 ohm? One ohmmeter, ±(0.5 % + 2 counts).
//! let ohmmeter = Instrument { of_reading: 0.005, counts: 2.0, resolution: 0.01, ..Instrument::exact("ohmmeter") };
//! let thermometer = Instrument { offset: 0.5, ..Instrument::exact("thermometer") };
//! let ohms = ohmmeter.inputs(&[("cold", 10.00), ("hot", 12.36)])?;
//! let kelvin = thermometer.inputs(&[("cold winding", 293.15), ("coolant", 295.15)])?;
//! let winding = winding_temperature(&ohms, &kelvin, Conductor::Copper, 0.0)?;
//! assert!((winding.values[0] - 273.15 - 80.06).abs() < 0.01);
//! assert!((winding.standard(0) - 0.60).abs() < 0.01); // K; the gain error of the one meter cancels
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod audit;
mod electrical;
pub mod fit;
pub mod instrument;
pub mod least_squares;
pub mod meters;
pub mod readings;
pub mod sampled;
pub mod simulate;
pub mod uncertainty;
pub mod warm_up;
pub mod winding_temperature;
pub mod written;
