//! Hold-up: stores of energy, and what each gives a load whose resistance changes in time.
//!
//! Between two moments the load's resistance is taken as linear in time. With that everything is exact: what a
//! store gives follows from `g = ∫ dt / (R + Rᵢ)`, which is a logarithm.

use crate::circuit::{SwitchError, not_negative, positive};

/// What of a store's nameplate energy can be counted on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares {
    /// Part of the capacity that may be drawn, 0 to 1.
    pub depth: f64,
    /// Part of the nameplate capacity left at the end of life, 0 to 1; 0.8 corresponds to the ageing factor
    /// 1.25 of IEEE 485 (from memory).
    pub ageing: f64,
    /// Part of the nameplate that a discharge as quick as this gives, 0 to 1; see [`Chemistry::rate`].
    pub rate: f64,
    /// Extra on top for what is not known, at least 1 (IEEE 485 asks for 1.10 to 1.15 for lead batteries;
    /// from memory).
    pub margin: f64,
}

/// How much less of its nameplate a store gives when it is emptied quickly.
///
/// Peukert's law: the current times the time to the power 1/k is constant, so that emptied in t instead of the rated time
/// it gives (t/rated)^(1 − 1/k) of its charge (W. Peukert, Elektrotechn. Z. 20 (1897) 287, from memory). The exponents are
/// common practice without a source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chemistry {
    /// As in a sheet.
    pub name: &'static str,
    /// Peukert's k.
    pub exponent: f64,
    /// Its standard uncertainty from one make and age to another.
    pub exponent_standard: f64,
    /// The discharge that a nameplate is for, s.
    pub rated_s: f64,
}

/// Chemistries that a sheet may name. A capacitor gives its nameplate at any rate that matters here.
pub const CHEMISTRIES: [Chemistry; 4] = [
    Chemistry { name: "lead", exponent: 1.25, exponent_standard: 0.05, rated_s: 20.0 * 3600.0 },
    Chemistry { name: "nickel", exponent: 1.10, exponent_standard: 0.04, rated_s: 5.0 * 3600.0 },
    Chemistry { name: "lithium", exponent: 1.05, exponent_standard: 0.03, rated_s: 5.0 * 3600.0 },
    Chemistry { name: "capacitor", exponent: 1.0, exponent_standard: 0.0, rated_s: 1.0 },
];

impl Chemistry {
    /// Part of the nameplate that it gives when emptied in a time (s), and that part's relative standard uncertainty.
    pub fn rate(&self, time_s: f64) -> (f64, f64) {
        let quicker = (self.rated_s / time_s).max(1.0).ln();
        let share = (-quicker * (1.0 - 1.0 / self.exponent)).exp();
        (share, quicker * self.exponent_standard / self.exponent.powi(2))
    }
}

/// A store of energy, and how it feeds the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Store {
    /// By a converter, which holds the voltage until its energy is gone.
    Converter(Converter),
    /// Straight on the coil, whose voltage sags with it.
    Battery(Battery),
}

/// A store behind a converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Converter {
    /// Voltage held, V.
    pub voltage_v: f64,
    /// Energy that may be taken from the store, J.
    pub usable_j: f64,
    /// From the store to the coil, 0 to 1.
    pub efficiency: f64,
}

/// A battery straight on the coil.
///
/// Its open-circuit voltage falls in proportion to the charge drawn, and an internal resistance lowers what its
/// terminals give. Real curves are flatter in the middle and depend on temperature and age.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Battery {
    /// Open-circuit voltage when full, V.
    pub full_v: f64,
    /// Open-circuit voltage with all its charge drawn, V.
    pub flat_v: f64,
    /// Voltage at the terminals at which it is cut off, V.
    pub cut_off_v: f64,
    /// All its charge, C (1 Ah is 3600 C).
    pub charge_c: f64,
    /// Part of the charge that may be drawn, 0 to 1.
    pub depth: f64,
    /// Internal resistance, Ω.
    pub internal_ohm: f64,
}

/// What a store gave, moment by moment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Discharge {
    /// s; the last is the end of the load's table or when the store is spent.
    pub time_s: Vec<f64>,
    /// At the terminals, V.
    pub voltage_v: Vec<f64>,
    /// A.
    pub current_a: Vec<f64>,
    /// Energy taken from the store up to then, J.
    pub drawn_j: Vec<f64>,
    /// Part of it that the load took, J.
    pub delivered_j: Vec<f64>,
    /// When the store may give no more, s.
    pub spent_s: Option<f64>,
}

impl Shares {
    /// Nameplate energy of a new store of which this much may be taken at the end of its life, J.
    ///
    /// # Errors
    /// A share outside 0 to 1, a margin below 1.
    pub fn nameplate_j(&self, usable_j: f64) -> Result<f64, SwitchError> {
        Ok(usable_j / (self.left()? * self.depth))
    }

    /// What may be taken at the end of its life from a store of this nameplate energy (J), J.
    ///
    /// # Errors
    /// As [`Shares::nameplate_j`]; energy not positive.
    pub fn usable_j(&self, nameplate_j: f64) -> Result<f64, SwitchError> {
        Ok(positive("an energy", nameplate_j)? * self.left()? * self.depth)
    }

    /// Part of the nameplate that is counted on at the end of life, all of it drawn.
    ///
    /// # Errors
    /// As [`Shares::nameplate_j`].
    pub fn left(&self) -> Result<f64, SwitchError> {
        share("a depth of discharge", self.depth)?;
        if !(self.margin.is_finite() && self.margin >= 1.0) {
            return Err(SwitchError::Value { what: "a margin", value: self.margin });
        }
        Ok(share("an ageing factor", self.ageing)? * share("a rate's share", self.rate)? / self.margin)
    }
}

impl Store {
    /// Feed a load: pairs of time (s, rising) and resistance (Ω), linear between.
    ///
    /// # Errors
    /// A load of fewer than two moments, or with times that do not rise; a store that is not possible.
    pub fn discharge(&self, load: &[(f64, f64)]) -> Result<Discharge, SwitchError> {
        self.check()?;
        let rises = load.windows(2).all(|w| w[1].0 > w[0].0);
        if load.len() < 2 || !rises {
            return Err(SwitchError::Value { what: "a load's number of moments", value: load.len() as f64 });
        }
        for &(_, ohm) in load {
            positive("a resistance", ohm)?;
        }
        let mut state = State::default();
        let mut out = Discharge::default();
        self.note(&mut out, load[0], &state);
        if self.exhausted(&state, load[0].1) {
            out.spent_s = Some(load[0].0);
            return Ok(out);
        }
        for w in load.windows(2) {
            let (from, to) = (w[0], w[1]);
            let span = to.0 - from.0;
            let at = |s: f64| (from.0 + s * span, from.1 + s * (to.1 - from.1));
            let after = |s: f64| self.after(&state, span * s, from.1, at(s).1);
            if !self.exhausted(&after(1.0), to.1) {
                state = after(1.0);
                self.note(&mut out, to, &state);
                continue;
            }
            let (mut low, mut high) = (0.0, 1.0);
            loop {
                let middle = 0.5 * (low + high);
                if middle <= low || middle >= high {
                    break;
                }
                if self.exhausted(&after(middle), at(middle).1) { high = middle } else { low = middle }
            }
            let (spent, end) = (at(high), after(high));
            if high > 0.0 {
                self.note(&mut out, spent, &end);
            }
            out.spent_s = Some(spent.0);
            break;
        }
        Ok(out)
    }

    /// Voltage at the terminals of a full store under a load, V.
    pub fn first_v(&self, ohm: f64) -> f64 {
        self.terminal_v(&State::default(), ohm)
    }

    /// About how long it lasts on a fixed resistance, s.
    pub fn about_s(&self, ohm: f64) -> f64 {
        match self {
            Self::Converter(c) => c.usable_j * c.efficiency * ohm / c.voltage_v.powi(2),
            Self::Battery(b) => b.charge_c * b.depth * (ohm + b.internal_ohm) / b.full_v,
        }
    }

    fn terminal_v(&self, state: &State, ohm: f64) -> f64 {
        match self {
            Self::Converter(c) => c.voltage_v,
            Self::Battery(b) => b.open_v(state.gone) * ohm / (ohm + b.internal_ohm),
        }
    }

    fn exhausted(&self, state: &State, ohm: f64) -> bool {
        match self {
            Self::Converter(c) => state.drawn_j >= c.usable_j,
            Self::Battery(b) => {
                state.gone >= b.charge_c * b.depth || self.terminal_v(state, ohm) <= b.cut_off_v
            }
        }
    }

    /// The state a time later, while the load's resistance went from one value to another.
    fn after(&self, state: &State, seconds: f64, from_ohm: f64, to_ohm: f64) -> State {
        match self {
            Self::Converter(c) => {
                let energy = c.voltage_v.powi(2) * conducted(seconds, from_ohm, to_ohm) / c.efficiency;
                State {
                    gone: 0.0,
                    drawn_j: state.drawn_j + energy,
                    delivered_j: state.delivered_j + c.efficiency * energy,
                }
            }
            Self::Battery(b) => {
                let g = conducted(seconds, from_ohm + b.internal_ohm, to_ohm + b.internal_ohm);
                let (volts, sag) = (b.open_v(state.gone), (b.full_v - b.flat_v) / b.charge_c);
                // du/dt = -sag i and i = u / R: an exponential in g.
                let charge = if sag * g < 1e-12 { volts * g } else { -volts * (-sag * g).exp_m1() / sag };
                let gone = state.gone + charge;
                let drawn = 0.5 * (volts + b.open_v(gone)) * charge;
                let ohm = 0.5 * (from_ohm + to_ohm);
                State {
                    gone,
                    drawn_j: state.drawn_j + drawn,
                    delivered_j: state.delivered_j + drawn * ohm / (ohm + b.internal_ohm),
                }
            }
        }
    }

    fn note(&self, out: &mut Discharge, (time_s, ohm): (f64, f64), state: &State) {
        let volts = self.terminal_v(state, ohm);
        out.time_s.push(time_s);
        out.voltage_v.push(volts);
        out.current_a.push(volts / ohm);
        out.drawn_j.push(state.drawn_j);
        out.delivered_j.push(state.delivered_j);
    }

    fn check(&self) -> Result<(), SwitchError> {
        match self {
            Self::Converter(c) => {
                positive("a voltage", c.voltage_v)?;
                positive("an energy", c.usable_j)?;
                share("an efficiency", c.efficiency)?;
            }
            Self::Battery(b) => {
                positive("a charge", b.charge_c)?;
                share("a depth of discharge", b.depth)?;
                not_negative("a resistance", b.internal_ohm)?;
                not_negative("a cut-off voltage", b.cut_off_v)?;
                not_negative("a sag", positive("a voltage", b.full_v)? - positive("a voltage", b.flat_v)?)?;
            }
        }
        Ok(())
    }
}

impl Battery {
    fn open_v(&self, gone_c: f64) -> f64 {
        self.full_v - (self.full_v - self.flat_v) * gone_c / self.charge_c
    }
}

/// What a store has given.
#[derive(Clone, Copy, Default)]
struct State {
    /// Charge, C; batteries only.
    gone: f64,
    /// J.
    drawn_j: f64,
    /// J.
    delivered_j: f64,
}

/// `∫ dt / R` for a resistance that goes linearly from one value to another, s/Ω.
fn conducted(seconds: f64, from_ohm: f64, to_ohm: f64) -> f64 {
    let change = to_ohm / from_ohm - 1.0;
    // ln(1 + x)/x, by its series where the quotient would lose digits.
    let mean = if change.abs() < 1e-6 { 1.0 - 0.5 * change } else { change.ln_1p() / change };
    seconds / from_ohm * mean
}

fn share(what: &'static str, value: f64) -> Result<f64, SwitchError> {
    if positive(what, value)? > 1.0 { Err(SwitchError::Value { what, value }) } else { Ok(value) }
}
