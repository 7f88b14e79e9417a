//! What holds on when the current is gone: residual pull from the iron's coercivity and the gap left.

use crate::circuit::{SwitchError, not_negative, positive};
use crate::material::MU0;

/// Coercivity of an iron in A/m with its range. Working and annealing decide it: a factor of 2 either way is
/// usual.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coercivity {
    /// Likely value in A/m.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Coercivity {
    /// Turned low-carbon steel of which nothing is known: 100 A/m as if annealed to 800 A/m as if cold-drawn
    /// (typical, unsourced).
    pub const UNKNOWN_STEEL: Self = Self { value: 250.0, low: 100.0, high: 800.0 };

    /// From a value and the half-width of its band; the lower end never falls below a third of the value.
    pub fn with_band(value: f64, half_width: f64) -> Self {
        Self { value, low: (value - half_width).max(value / 3.0), high: value + half_width }
    }
}

/// The closed magnetic circuit of magnet and workpiece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResidualCircuit {
    /// Mean path of the flux in iron, magnet and workpiece, in m.
    pub iron_path_m: f64,
    /// Cross-section of the iron where it is narrowest, in m².
    pub iron_area_m2: f64,
    /// Area of each pole face, in m²: usually two, the centre and the rim.
    pub pole_areas_m2: [f64; 2],
    /// Gap left at each face, in m: coating, roughness, spacer.
    pub gap_m: f64,
    /// How well that gap is known: it may be smaller or larger by this factor, at least 1.
    pub gap_factor: f64,
    /// Flux density the iron keeps in a closed circuit, in T (0.7 to 1.2 T for soft iron after saturation;
    /// typical, unsourced).
    pub remanence_t: f64,
}

/// Residual pull in N, likely and between what ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResidualPull {
    /// Likely value.
    pub value_n: f64,
    /// With the softest iron and the widest gap.
    pub low_n: f64,
    /// With the hardest iron and the narrowest gap.
    pub high_n: f64,
    /// Flux density in the iron for the likely value, in T.
    pub flux_density_t: f64,
}

/// Residual pull after switch-off, from a magnetic circuit.
///
/// The iron's demagnetising branch is taken as the straight line B = Br (1 + H/Hc). Without current, Ampère's
/// law asks `H l + φ g/µ0 (1/A₁ + 1/A₂) = 0`; so `B = Br / (1 + Br A g (1/A₁ + 1/A₂) / (µ0 Hc l))`, and the
/// pull is `φ²/2µ0 (1/A₁ + 1/A₂)` with φ = B A (Maxwell's stress on the pole faces). Real branches bulge
/// above the line, fringing and the field's decay through eddy currents and ringing change the rest: an
/// estimate within a factor of 2 to 3 at best. A measurement decides. Trade practice puts it at 5 to 20 % of
/// the rated pull in full contact (common practice, no source).
///
/// # Errors
/// Dimensions, remanence or coercivity not positive, gap negative, or a gap factor below 1.
pub fn residual_pull(circuit: &ResidualCircuit, iron: &Coercivity) -> Result<ResidualPull, SwitchError> {
    let path = positive("a path", circuit.iron_path_m)?;
    let area = positive("an area", circuit.iron_area_m2)?;
    let remanence = positive("a remanence", circuit.remanence_t)?;
    let gap = not_negative("a gap", circuit.gap_m)?;
    let factor = positive("a gap factor", circuit.gap_factor)?;
    if factor < 1.0 {
        return Err(SwitchError::Value { what: "a gap factor", value: factor });
    }
    let mut inverse_area = 0.0;
    for a in circuit.pole_areas_m2 {
        inverse_area += 1.0 / positive("a pole area", a)?;
    }
    let density = |coercivity: f64, gap: f64| {
        remanence / (1.0 + remanence * area * gap * inverse_area / (MU0 * coercivity * path))
    };
    let pull = |b: f64| (b * area).powi(2) * inverse_area / (2.0 * MU0);
    let flux_density_t = density(positive("a coercivity", iron.value)?, gap);
    Ok(ResidualPull {
        value_n: pull(flux_density_t),
        low_n: pull(density(positive("a coercivity", iron.low)?, gap * factor)),
        high_n: pull(density(positive("a coercivity", iron.high)?, gap / factor)),
        flux_density_t,
    })
}

/// Pull in N while a field fades to what the iron keeps (`left_n`) from `full_n`, where the same field would have faded to
/// `pull_n` if nothing were kept. Flux adds, and pull grows with its square.
pub fn fading_to(left_n: f64, full_n: f64, pull_n: f64) -> f64 {
    if left_n >= full_n {
        return pull_n.max(left_n);
    }
    let share = 1.0 - (left_n / full_n).sqrt();
    (left_n.sqrt() + share * pull_n.max(0.0).sqrt()).powi(2)
}

/// The other way round: to what a field would have faded if nothing were kept, where it has come down to `pull_n`, in N;
/// nothing where it never comes down so far.
pub fn as_if_nothing_were_left(left_n: f64, full_n: f64, pull_n: f64) -> Option<f64> {
    let share = 1.0 - (left_n / full_n).sqrt();
    (left_n < full_n && left_n < pull_n).then(|| ((pull_n.sqrt() - left_n.sqrt()) / share).powi(2))
}
