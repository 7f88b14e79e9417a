//! Hold-up: what a stored supply must hold to keep a load through a power failure, and what pull is left at
//! its end.

use super::curve::Curve;
use super::{SwitchError, not_negative, positive};

/// Wh in J.
const WATT_HOUR_J: f64 = 3600.0;

/// A hold by stored energy, every factor named.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Backup {
    /// Power at the coil's terminals in W (at constant voltage a cooling winding takes more: use the coldest
    /// it gets).
    pub power_w: f64,
    /// Time to hold in s.
    pub hold_s: f64,
    /// Converter efficiency from store to coil, 0 to 1.
    pub efficiency: f64,
    /// Part of the capacity that may be drawn, 0 to 1.
    pub depth_of_discharge: f64,
    /// Part of the nameplate capacity left at the end of life, 0 to 1; 0.8 corresponds to the ageing factor
    /// 1.25 of IEEE 485 (from memory).
    pub ageing: f64,
    /// Extra on top for what is not known, at least 1 (IEEE 485 asks for 1.10 to 1.15 for lead batteries;
    /// from memory).
    pub margin: f64,
}

/// What the store must be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BackupNeed {
    /// Energy the coil takes, in J.
    pub at_coil_j: f64,
    /// Nameplate capacity of the store, all factors counted, in J.
    pub nameplate_j: f64,
}

impl BackupNeed {
    /// Nameplate capacity in Wh.
    pub fn nameplate_watt_hours(&self) -> f64 {
        self.nameplate_j / WATT_HOUR_J
    }
}

impl Backup {
    /// `P t / (η · depth · ageing) · margin`.
    ///
    /// # Errors
    /// A factor outside 0 to 1, a margin below 1, power or time not positive.
    pub fn need(&self) -> Result<BackupNeed, SwitchError> {
        let at_coil_j = positive("a power", self.power_w)? * positive("a time", self.hold_s)?;
        Ok(BackupNeed { at_coil_j, nameplate_j: at_coil_j * self.margin / self.usable()? })
    }

    /// How long a store of this nameplate capacity (J) holds instead, in s.
    ///
    /// # Errors
    /// As [`Backup::need`]; capacity not positive.
    pub fn holds_s(&self, nameplate_j: f64) -> Result<f64, SwitchError> {
        Ok(positive("an energy", nameplate_j)? * self.usable()?
            / (self.margin * positive("a power", self.power_w)?))
    }

    fn usable(&self) -> Result<f64, SwitchError> {
        let factors = [
            ("an efficiency", self.efficiency),
            ("a depth of discharge", self.depth_of_discharge),
            ("an ageing factor", self.ageing),
        ];
        let mut product = 1.0;
        for (what, value) in factors {
            if positive(what, value)? > 1.0 {
                return Err(SwitchError::Value { what, value });
            }
            product *= value;
        }
        if !(self.margin.is_finite() && self.margin >= 1.0) {
            return Err(SwitchError::Value { what: "a margin", value: self.margin });
        }
        Ok(product)
    }
}

/// A battery straight on the coil, without a converter: its voltage sags in proportion to the charge drawn.
/// Real discharge curves are flatter in the middle; this errs on the low side until near the end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Battery {
    /// Open-circuit voltage when full, in V.
    pub full_v: f64,
    /// Open-circuit voltage at the end of the usable charge, in V.
    pub empty_v: f64,
    /// Usable charge in C (1 Ah is 3600 C).
    pub charge_c: f64,
    /// Internal resistance in ohm.
    pub internal_ohm: f64,
}

impl Battery {
    /// Current in A after a time on a load of constant resistance, or `None` when the usable charge is spent.
    ///
    /// The charge drawn obeys dq/dt = (U_full - (U_full - U_empty) q/Q) / R: an exponential.
    ///
    /// # Errors
    /// Voltages, charge or resistance not possible.
    pub fn current_after(&self, load_ohm: f64, seconds: f64) -> Result<Option<f64>, SwitchError> {
        let (total, sag) = self.checked(load_ohm)?;
        let t = not_negative("a time", seconds)?;
        Ok((t <= self.lasts_s(load_ohm)?)
            .then(|| self.full_v / total * (-sag * t / (self.charge_c * total)).exp()))
    }

    /// Time until the usable charge is spent, in s.
    ///
    /// # Errors
    /// As [`Battery::current_after`].
    pub fn lasts_s(&self, load_ohm: f64) -> Result<f64, SwitchError> {
        let (total, sag) = self.checked(load_ohm)?;
        // ln(full/empty)/sag tends to 1/full for a battery that does not sag.
        let inverse_v = if sag == 0.0 { 1.0 / self.full_v } else { (self.full_v / self.empty_v).ln() / sag };
        Ok(self.charge_c * total * inverse_v)
    }

    fn checked(&self, load_ohm: f64) -> Result<(f64, f64), SwitchError> {
        let total = positive("a resistance", load_ohm)? + not_negative("a resistance", self.internal_ohm)?;
        positive("a charge", self.charge_c)?;
        let sag = positive("a voltage", self.full_v)? - positive("a voltage", self.empty_v)?;
        Ok((total, not_negative("a sag", sag)?))
    }
}

/// Pull in N that a voltage still makes across a resistance (the winding's at its temperature then, leads
/// included).
///
/// # Errors
/// Current beyond the table of pull against current; values not possible.
pub fn pull_at(pull: &Curve, voltage_v: f64, resistance_ohm: f64) -> Result<f64, SwitchError> {
    let current_a = not_negative("a voltage", voltage_v)? / positive("a resistance", resistance_ohm)?;
    pull.value(current_a).ok_or(SwitchError::BeyondTable { current_a, last_a: pull.range().1 })
}
