//! Simulated measurements: does a 95 % interval hold the truth 95 times in 100?
//!
//! The only way to check an uncertainty as a whole is to know the truth. A trial makes up a true magnet and noisy
//! readings of it, works out intervals as for real readings, and says which hold the truth; [`coverage`] counts.

use crate::uncertainty::student_quantile;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// Random numbers from a seed.
#[derive(Clone, Debug)]
pub struct Random(Pcg64);

impl Random {
    /// The same numbers for the same seed and stream; streams are independent of each other.
    pub fn new(seed: u64, stream: u64) -> Self {
        // Distinct 64-bit seeds for distinct streams: the golden ratio steps through all of them.
        Self(Pcg64::seed_from_u64(seed.wrapping_add(stream.wrapping_mul(0x9E37_79B9_7F4A_7C15))))
    }

    /// A Gaussian deviate of unit standard deviation.
    pub fn normal(&mut self) -> f64 {
        let p: f64 = self.0.random();
        student_quantile(p.max(f64::MIN_POSITIVE), f64::INFINITY)
    }

    /// A number between two limits, equally likely.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }
}

/// How many intervals held the truth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    /// Intervals that held it.
    pub held: usize,
    /// All intervals.
    pub intervals: usize,
}

impl Coverage {
    /// Fraction that held the truth.
    pub fn fraction(&self) -> f64 {
        self.held as f64 / self.intervals as f64
    }
}

/// Counts over many trials, each with random numbers of its own. A trial says, for each of its intervals, whether it
/// held the truth; the first error ends the count.
pub fn coverage<E>(
    trials: usize,
    seed: u64,
    mut trial: impl FnMut(&mut Random) -> Result<Vec<bool>, E>,
) -> Result<Coverage, E> {
    let mut total = Coverage::default();
    for stream in 0..trials {
        let held = trial(&mut Random::new(seed, stream as u64))?;
        total.held += held.iter().filter(|held| **held).count();
        total.intervals += held.len();
    }
    Ok(total)
}
