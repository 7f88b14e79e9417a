//! How a medium answers flux with field strength: H as a function of B.

use std::fmt::Debug;
use std::sync::Arc;

/// Permeability of free space in H/m (CODATA 2018: 1.256 637 062 12(19) × 10⁻⁶; here 4π × 10⁻⁷, the same to 6 × 10⁻¹⁰).
pub const MU_0: f64 = 4.0e-7 * std::f64::consts::PI;

/// A law at one flux density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawPoint {
    /// H / B in m/H (at B = 0 its limit).
    pub reluctivity: f64,
    /// dH / dB in m/H.
    pub slope: f64,
    /// ∫ H dB from 0, in J/m³.
    pub energy: f64,
}

/// An isotropic law. H must grow strictly with B, else nothing converges.
pub trait Law: Debug + Send + Sync {
    /// The law at the flux density `b_t` ≥ 0, in tesla.
    fn at(&self, b_t: f64) -> LawPoint;

    /// The constant permeability in H/m, if the law is a straight line.
    fn linear(&self) -> Option<f64> {
        None
    }
}

/// A straight line B = µ H.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear {
    /// µ in H/m.
    pub permeability: f64,
}

impl Linear {
    /// Free space, air, copper.
    pub const VACUUM: Linear = Linear { permeability: MU_0 };

    /// A relative permeability.
    pub fn relative(mu_r: f64) -> Self {
        Self { permeability: mu_r * MU_0 }
    }
}

impl Law for Linear {
    fn at(&self, b_t: f64) -> LawPoint {
        let nu = 1.0 / self.permeability;
        LawPoint { reluctivity: nu, slope: nu, energy: 0.5 * nu * b_t * b_t }
    }

    fn linear(&self) -> Option<f64> {
        Some(self.permeability)
    }
}

/// What fills a region.
#[derive(Clone, Debug)]
pub struct Medium {
    /// H against B − remanence.
    pub law: Arc<dyn Law>,
    /// Current density in A/m², positive along φ (axial) or into the page (planar).
    pub current_density: f64,
    /// Remanent flux density in T, by components.
    pub remanence_t: [f64; 2],
    /// Conductivity in S/m, along φ (axial) or into the page (planar): what eddies meet as the field changes in time.
    /// 0 where none can flow, as in laminations and wound wire. A steady field does not see it.
    pub conductivity_s_m: f64,
}

impl Medium {
    /// Free space, air, copper without current.
    pub fn vacuum() -> Self {
        Self::of(Linear::VACUUM)
    }

    /// A medium without current or remanence.
    pub fn of(law: impl Law + 'static) -> Self {
        Self { law: Arc::new(law), current_density: 0.0, remanence_t: [0.0; 2], conductivity_s_m: 0.0 }
    }

    /// The same medium carrying a current density in A/m².
    pub fn with_current_density(mut self, current_density: f64) -> Self {
        self.current_density = current_density;
        self
    }

    /// The same medium in one solid piece: conductivity in S/m.
    pub fn with_conductivity(mut self, conductivity_s_m: f64) -> Self {
        self.conductivity_s_m = conductivity_s_m;
        self
    }

    /// The same medium magnetised: remanent flux density in T.
    pub fn with_remanence(mut self, remanence_t: [f64; 2]) -> Self {
        self.remanence_t = remanence_t;
        self
    }
}
