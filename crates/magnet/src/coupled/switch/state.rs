//! A coil in its circuit with what it holds, as it is and as it might be.

use crate::circuit::SwitchError;
use crate::circuit::coil::{Coil, Loop};
use crate::circuit::curve::Curve;
use crate::circuit::events::{Clamp, Release, turn_off};
use crate::coupled::operating_point::Strength;
use crate::coupled::switch::clamps::Named;
use crate::coupled::switch::switched::{SHARES, SwitchedOff, SwitchedOn, rows_of};
use crate::failure::Failure;

/// Relative numerical error of what follows from the curves.
const CURVES: f64 = 0.01;

/// Keys of the numbers that every uncertain input is tried on, with their relative numerical error; the incremental
/// inductance is not among them, for a varied magnet's curves are taken to keep their shape.
pub(crate) const MAIN: [(&str, f64); 13] = [
    ("rise_time", CURVES),
    ("release_time", CURVES),
    ("peak_voltage", 0.0),
    ("rise_half", CURVES),
    ("rise_99", CURVES),
    ("pull_rise", CURVES),
    ("pull_rise_half", CURVES),
    ("pull_rise_99", CURVES),
    ("current", 0.0),
    ("pull", CURVES),
    ("inductance_apparent", CURVES),
    ("stored_energy", CURVES),
    ("resistance", 0.0),
];

/// A coil in its circuit, and what it holds.
pub(crate) struct State<'a> {
    pub(crate) coil: &'a Coil,
    /// Pull against current, the residual included.
    pub(crate) pull: Curve,
    pub(crate) current: f64,
    pub(crate) supply_v: f64,
    pub(crate) lead: f64,
    pub(crate) load_n: f64,
    pub(crate) own: Named,
}

impl State<'_> {
    /// Time to a share of the current, s.
    pub(crate) fn rise_s(&self, share: f64) -> Result<f64, SwitchError> {
        let around = Loop { voltage_v: self.supply_v, resistance_ohm: self.lead };
        self.coil.time_between(around, 0.0, share * self.current)
    }

    /// Off by a clamp.
    pub(crate) fn off(&self, clamp: Clamp) -> Result<SwitchedOff, SwitchError> {
        let off = turn_off(self.coil, self.current, self.supply_v, clamp, Some((&self.pull, self.load_n)))?;
        let pull_n = |current: f64| self.pull.value(current.max(0.0)).unwrap_or(f64::NAN);
        Ok(SwitchedOff {
            rows: rows_of(&off.transient, pull_n),
            release: off.release.unwrap_or(Release::Already),
            gone_s: off.transient.time_s[off.transient.time_s.len() - 1],
            peak_coil_v: off.peak_coil_v,
            coil_j: off.coil_j,
            clamp_j: off.clamp_j,
            eddy_j: None,
            imbalance: 0.0,
        })
    }

    /// On, without what the iron kept.
    pub(crate) fn on(&self, strength: &Strength) -> Result<SwitchedOn, SwitchError> {
        let around = Loop { voltage_v: self.supply_v, resistance_ohm: self.lead };
        let way = self.coil.transient(around, 0.0, 0.995 * self.current)?;
        let ([mut current_s, mut pull_s], shares) = ([[0.0; 3]; 2], SHARES.into_iter().enumerate());
        for (k, share) in shares {
            current_s[k] = self.rise_s(share)?;
            pull_s[k] = self.pull_rise_s(share)?;
        }
        Ok(SwitchedOn { rows: rows_of(&way, |i| strength.pull_n(i)), current_s, pull_s, imbalance: 0.0 })
    }

    /// Time to a share of the pull on the workpiece at its gap, s.
    pub(crate) fn pull_rise_s(&self, share: f64) -> Result<f64, SwitchError> {
        let pull = self.pull_n();
        let at = self.pull.inverse(share * pull).unwrap_or(self.current).min(0.999 * self.current);
        self.rise_s(at / self.current)
    }

    /// Pull at the current, N.
    pub(crate) fn pull_n(&self) -> f64 {
        let (first, last) = self.pull.range();
        self.pull.value(self.current.clamp(first, last)).unwrap_or(f64::NAN)
    }

    /// The numbers of [`MAIN`].
    pub(crate) fn main(&self) -> Result<Vec<f64>, SwitchError> {
        let off = self.off(self.own.clamp)?;
        let release = match off.release {
            Release::After { time_s, .. } => time_s,
            Release::Already => 0.0,
            Release::Never => f64::NAN,
        };
        Ok(vec![
            self.rise_s(0.95)?,
            release,
            off.peak_coil_v,
            self.rise_s(0.5)?,
            self.rise_s(0.99)?,
            self.pull_rise_s(0.95)?,
            self.pull_rise_s(0.5)?,
            self.pull_rise_s(0.99)?,
            self.current,
            self.pull_n(),
            self.coil.linkage(self.current)? / self.current,
            self.coil.stored_energy(self.current)?,
            self.coil.resistance_ohm(),
        ])
    }

    /// The same of a varied magnet, whose curves are taken to keep their shape.
    pub(crate) fn varied(
        &self,
        current: f64,
        ohm: f64,
        linkage: f64,
        pull: f64,
        (supply_v, lead): (f64, f64),
    ) -> Result<Vec<f64>, Failure> {
        let last = self.pull.range().1;
        let (along, across) = (current / self.current, linkage / self.coil.linkage(self.current)?);
        let stretched = |knots: &[f64]| knots.iter().map(|i| i * along).collect::<Vec<_>>();
        let rated = self.pull.value(self.current.min(last)).unwrap_or(f64::NAN);
        let mut linkages = Vec::new();
        for i in self.coil.knots() {
            linkages.push(across * self.coil.linkage(*i)?);
        }
        let coil = Coil::new(stretched(self.coil.knots()), linkages, ohm)?;
        // Where nothing is pulled there is nothing to scale.
        let scale = if rated == 0.0 { 0.0 } else { pull / rated };
        let scaled = |i: &f64| scale * self.pull.value(*i).unwrap_or(f64::NAN);
        let pulls = self.pull.knots().iter().map(scaled).collect();
        let pull = Curve::new(stretched(self.pull.knots()), pulls).map_err(SwitchError::from)?;
        let supply_v = if supply_v.is_finite() { supply_v } else { self.supply_v };
        let state = State { coil: &coil, pull, current, supply_v, lead, own: self.own.clone(), ..*self };
        Ok(state.main()?)
    }
}

/// Pull against current that never falls below the residual.
pub(crate) fn with_residual(strength: &Strength, residual_n: f64) -> Result<Curve, SwitchError> {
    let knots = strength.pull.knots().to_vec();
    let pulls = knots.iter().map(|i| strength.pull_n(*i).max(residual_n)).collect();
    Ok(Curve::new(knots, pulls)?)
}
