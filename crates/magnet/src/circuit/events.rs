//! Switching on, off and over: times, voltages and energies of one event.

use crate::circuit::coil::{Coil, Loop, Transient};
use crate::circuit::curve::Curve;
use crate::circuit::{SwitchError, not_negative, positive};
use crate::material::MU0;

/// Least voltage of an arc between opening silver contacts in V (from memory; 10 to 15 V for common contact
/// metals).
pub const CONTACT_ARC_V: f64 = 12.0;

/// Least breakdown voltage of air between contacts, the minimum of Paschen's curve, in V (from memory).
pub const GLOW_V: f64 = 327.0;

/// Switching on at constant voltage from zero current.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnOn {
    /// Current in the end, in A.
    pub final_a: f64,
    /// Up to 99.9 % of the final current.
    pub transient: Transient,
    /// Pairs of the share of the final current (0.1, 0.5, 1 - 1/e, 0.9, 0.95, 0.99) and the time to it in s.
    pub times_s: Vec<(f64, f64)>,
}

/// Current after closing the switch on a supply of constant voltage with lead resistance.
///
/// # Errors
/// A final current beyond the linkage table; voltage not positive.
pub fn turn_on(coil: &Coil, supply_v: f64, lead_ohm: f64) -> Result<TurnOn, SwitchError> {
    let around = Loop {
        voltage_v: positive("a voltage", supply_v)?,
        resistance_ohm: not_negative("a resistance", lead_ohm)?,
    };
    let final_a = supply_v / (coil.resistance_ohm() + lead_ohm);
    let transient = coil.transient(around, 0.0, 0.999 * final_a)?;
    let mut times_s = Vec::new();
    for share in [0.1, 0.5, 1.0 - (-1f64).exp(), 0.9, 0.95, 0.99] {
        times_s.push((share, coil.time_between(around, 0.0, share * final_a)?));
    }
    Ok(TurnOn { final_a, transient, times_s })
}

/// What takes the current over when the supply is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Clamp {
    /// Free-wheel diode across the coil, with its forward voltage (0.7 to 1 V for silicon; typical,
    /// unsourced).
    Diode {
        /// V.
        forward_v: f64,
    },
    /// Resistor across the coil.
    Resistor {
        /// Ohm.
        resistance_ohm: f64,
    },
    /// Zener diode or suppressor, with whatever stands in series with it: current flows at this voltage.
    Zener {
        /// V.
        voltage_v: f64,
    },
    /// Nothing: the opening contact arcs. See [`interruption`] for the voltage, an estimate.
    Nothing {
        /// Stray capacitance of winding and leads in F.
        stray_farad: f64,
    },
}

impl Clamp {
    /// What stands in the loop while the current dies.
    fn around(self, coil: &Coil, from_a: f64) -> Result<Loop, SwitchError> {
        Ok(match self {
            Self::Diode { forward_v } => {
                Loop { voltage_v: -not_negative("a forward voltage", forward_v)?, resistance_ohm: 0.0 }
            }
            Self::Resistor { resistance_ohm } => {
                Loop { voltage_v: 0.0, resistance_ohm: positive("a resistance", resistance_ohm)? }
            }
            Self::Zener { voltage_v } => {
                Loop { voltage_v: -positive("a clamp voltage", voltage_v)?, resistance_ohm: 0.0 }
            }
            Self::Nothing { stray_farad } => {
                Loop { voltage_v: -interruption(coil, from_a, stray_farad)?.likely_v, resistance_ohm: 0.0 }
            }
        })
    }
}

/// Voltage that a coil makes across a contact that opens with nothing to take its current over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interruption {
    /// An arc that holds: [`CONTACT_ARC_V`].
    pub low_v: f64,
    /// A gap that breaks down over and over: [`GLOW_V`], or the ring if that is lower.
    pub likely_v: f64,
    /// No spark and no loss: all field energy in the stray capacitance, √(2 W / C). What insulation and a
    /// semiconductor switch must reckon with.
    pub high_v: f64,
}

/// Estimate of the voltage across an interrupted contact. It spans decades: the arc decides, and it is not
/// modelled. Eddy currents in the iron take energy out and lower the upper end.
///
/// # Errors
/// Capacitance not positive; current beyond the table.
pub fn interruption(coil: &Coil, current_a: f64, stray_farad: f64) -> Result<Interruption, SwitchError> {
    let high_v = (2.0 * coil.stored_energy(current_a)? / positive("a capacitance", stray_farad)?).sqrt();
    Ok(Interruption { low_v: CONTACT_ARC_V.min(high_v), likely_v: GLOW_V.min(high_v), high_v })
}

/// Cutting the supply off.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnOff {
    /// Current against time, to zero, or to 0.1 % of the start where zero is never reached.
    pub transient: Transient,
    /// Highest voltage across the coil, in V; opposed to the supply's.
    pub peak_coil_v: f64,
    /// Highest voltage across the opened switch, which carries the supply's on top.
    pub peak_switch_v: f64,
    /// Energy in the field at the start, in J.
    pub stored_j: f64,
    /// Part of it that heats the coil.
    pub coil_j: f64,
    /// Part of it that the clamp takes up.
    pub clamp_j: f64,
    /// When the pull falls below the load, if a load was given.
    pub release: Option<Release>,
}

/// When a load is let go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Release {
    /// The pull was below the load already.
    Already,
    /// The pull without current is still at least the load: it does not fall.
    Never,
    /// After this time, at this current.
    After {
        /// s.
        time_s: f64,
        /// A.
        current_a: f64,
    },
}

/// Current after the supply is cut, with a clamp, from a current that flows through the coil.
///
/// `load` is a pair of pull against current (A, N) and the load in N. Its pull at zero current is the
/// residual.
///
/// # Errors
/// Current not positive or beyond a table; a clamp that is not possible.
pub fn turn_off(
    coil: &Coil,
    from_a: f64,
    supply_v: f64,
    clamp: Clamp,
    load: Option<(&Curve, f64)>,
) -> Result<TurnOff, SwitchError> {
    let from_a = positive("a current", from_a)?;
    let around = clamp.around(coil, from_a)?;
    let end_a = if around.voltage_v < 0.0 { 0.0 } else { 1e-3 * from_a };
    let transient = coil.transient(around, from_a, end_a)?;
    let peak_coil_v = around.resistance_ohm * from_a - around.voltage_v;
    let release = match load {
        None => None,
        Some((pull, load_n)) => Some(release(coil, around, from_a, pull, load_n)?),
    };
    let spent = transient.energies;
    Ok(TurnOff {
        peak_coil_v,
        peak_switch_v: peak_coil_v + not_negative("a voltage", supply_v)?,
        stored_j: coil.stored_energy(from_a)?,
        coil_j: spent.coil,
        clamp_j: spent.outside - spent.from_voltage,
        release,
        transient,
    })
}

fn release(
    coil: &Coil,
    around: Loop,
    from_a: f64,
    pull: &Curve,
    load_n: f64,
) -> Result<Release, SwitchError> {
    let beyond = || SwitchError::BeyondTable { current_a: from_a, last_a: pull.range().1 };
    if pull.value(from_a).ok_or_else(beyond)? < load_n {
        return Ok(Release::Already);
    }
    if pull.value(0.0).ok_or_else(beyond)? >= load_n {
        return Ok(Release::Never);
    }
    let current_a = pull.inverse(load_n).ok_or_else(beyond)?.min(from_a);
    let time_s = coil.time_between(around, from_a, current_a)?;
    Ok(Release::After { time_s, current_a })
}

/// Changing over from one polarity to the other at the same voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Reversal {
    /// From the steady current to 99 % of the opposite one.
    pub transient: Transient,
    /// Time until the current is zero, in s.
    pub zero_s: f64,
    /// Time until it is 90 % of its opposite, in s.
    pub ninety_percent_s: f64,
}

/// Reversal by a bridge that can take current back, instantly switched, from the steady current of
/// `supply_v`.
///
/// # Errors
/// Voltage not positive; final current beyond the table.
pub fn reverse(coil: &Coil, supply_v: f64, lead_ohm: f64) -> Result<Reversal, SwitchError> {
    let around = Loop {
        voltage_v: -positive("a voltage", supply_v)?,
        resistance_ohm: not_negative("a resistance", lead_ohm)?,
    };
    let steady_a = supply_v / (coil.resistance_ohm() + lead_ohm);
    Ok(Reversal {
        zero_s: coil.time_between(around, steady_a, 0.0)?,
        ninety_percent_s: coil.time_between(around, steady_a, -0.9 * steady_a)?,
        transient: coil.transient(around, steady_a, -0.99 * steady_a)?,
    })
}

/// Time constant of flux that enters or leaves a solid round core, in s: `µ σ r² / j₀₁²` with j₀₁ = 2.4048,
/// the slowest mode of diffusion into a cylinder (Carslaw and Jaeger, section 7.6, with magnetic for thermal
/// diffusivity).
///
/// A fixed permeability stands for iron that saturates: right within a factor of 3. Where this is longer than
/// the circuit's own times, pull follows current late by about as much.
///
/// # Errors
/// Values not positive.
pub fn iron_delay_s(
    relative_permeability: f64,
    conductivity_s_m: f64,
    radius_m: f64,
) -> Result<f64, SwitchError> {
    let mu = MU0 * positive("a permeability", relative_permeability)?;
    let sigma = positive("a conductivity", conductivity_s_m)?;
    Ok(mu * sigma * positive("a radius", radius_m)?.powi(2) / 2.404_825_557_695_773f64.powi(2))
}
