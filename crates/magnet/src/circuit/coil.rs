//! One coil in a loop with a resistance and a constant voltage: time, energy and current without stepping.
//!
//! With total resistance R and voltage e the loop obeys dλ/dt = e - R i. It tends to i∞ = e/R. With u =
//! ln((i₀ - i∞)/(i - i∞)) as the variable, i is an exponential and dt = (dλ/di)/R du: the time to any current
//! is a plain integral of the incremental inductance, exact for a constant one. No step-size control is
//! needed, and nothing is stiff.

use crate::circuit::curve::Curve;
use crate::circuit::{SwitchError, not_negative, positive};

/// A coil as the circuit sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Coil {
    linkage: Curve,
    resistance_ohm: f64,
}

/// What closes the loop besides the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loop {
    /// Constant voltage in V, positive where it drives positive current.
    pub voltage_v: f64,
    /// Resistance outside the coil in ohm.
    pub resistance_ohm: f64,
}

/// Where the energy of a transient went, in J.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Energies {
    /// Given by the loop's voltage; negative where it took energy up (a clamp, a supply that is charged).
    pub from_voltage: f64,
    /// Heat in the coil.
    pub coil: f64,
    /// Heat in the resistance outside.
    pub outside: f64,
    /// Increase of ∫ i dλ, the energy kept in the field.
    pub stored: f64,
}

impl Energies {
    /// What does not balance, over the largest of the parts.
    pub fn imbalance(&self) -> f64 {
        let largest = [self.from_voltage, self.coil, self.outside, self.stored]
            .map(f64::abs)
            .into_iter()
            .fold(0.0, f64::max);
        if largest == 0.0 {
            0.0
        } else {
            (self.from_voltage - self.coil - self.outside - self.stored).abs() / largest
        }
    }

    fn plus(self, other: Self) -> Self {
        Self {
            from_voltage: self.from_voltage + other.from_voltage,
            coil: self.coil + other.coil,
            outside: self.outside + other.outside,
            stored: self.stored + other.stored,
        }
    }
}

/// Current against time on the way from one current to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Transient {
    /// Seconds from the start.
    pub time_s: Vec<f64>,
    /// Current in A at those times.
    pub current_a: Vec<f64>,
    /// Flux linkage in Wb at those times.
    pub linkage_wb: Vec<f64>,
    /// Voltage across the coil's terminals in V, positive where it drives positive current.
    pub terminal_v: Vec<f64>,
    /// Energies over the whole way.
    pub energies: Energies,
}

impl Coil {
    /// From a linkage table (A, Wb) that starts at the origin, and the winding's resistance. Negative
    /// currents mirror it: the iron has no hysteresis here.
    ///
    /// # Errors
    /// A table that does not start at the origin or does not rise throughout; resistance not positive.
    pub fn new(current_a: Vec<f64>, linkage_wb: Vec<f64>, resistance_ohm: f64) -> Result<Self, SwitchError> {
        let rises = linkage_wb.windows(2).all(|w| w[1] > w[0]);
        if current_a.first() != Some(&0.0) || linkage_wb.first() != Some(&0.0) || !rises {
            return Err(SwitchError::Linkage);
        }
        Ok(Self {
            linkage: Curve::new(current_a, linkage_wb)?,
            resistance_ohm: positive("a resistance", resistance_ohm)?,
        })
    }

    /// Currents of its table, in A.
    pub fn knots(&self) -> &[f64] {
        self.linkage.knots()
    }

    /// Winding resistance in ohm.
    pub fn resistance_ohm(&self) -> f64 {
        self.resistance_ohm
    }

    /// Flux linkage in Wb.
    ///
    /// # Errors
    /// Current beyond the table.
    pub fn linkage(&self, current_a: f64) -> Result<f64, SwitchError> {
        let value = self.linkage.value(current_a.abs()).ok_or_else(|| self.beyond(current_a))?;
        Ok(value.copysign(current_a))
    }

    /// Incremental inductance dλ/di in H.
    ///
    /// # Errors
    /// Current beyond the table.
    pub fn inductance(&self, current_a: f64) -> Result<f64, SwitchError> {
        self.linkage.derivative(current_a.abs()).ok_or_else(|| self.beyond(current_a))
    }

    /// Energy kept in the field, ∫ i dλ from 0, in J; ½ L i² where the linkage is straight.
    ///
    /// # Errors
    /// Current beyond the table.
    pub fn stored_energy(&self, current_a: f64) -> Result<f64, SwitchError> {
        let end = current_a.abs();
        let mut edges: Vec<f64> = self.linkage.knots().iter().copied().filter(|k| *k < end).collect();
        edges.push(end);
        let mut sum = 0.0;
        for w in edges.windows(2) {
            // Cubic integrand: five-point Gauss is exact.
            sum += gauss(w[0], w[1], |i| Ok(i * self.inductance(i)?))?;
        }
        Ok(sum)
    }

    fn beyond(&self, current_a: f64) -> SwitchError {
        SwitchError::BeyondTable { current_a, last_a: self.linkage.range().1 }
    }

    /// The way from one current to another around a loop. `to_a` must be reached in finite time: strictly
    /// between the start and the loop's final current e/R.
    ///
    /// # Errors
    /// A current that is never reached or lies beyond the table; a negative resistance.
    pub fn transient(&self, around: Loop, from_a: f64, to_a: f64) -> Result<Transient, SwitchError> {
        let outside = not_negative("a resistance", around.resistance_ohm)?;
        let total = self.resistance_ohm + outside;
        let final_a = around.voltage_v / total;
        let ratio = (from_a - final_a) / (to_a - final_a);
        if !(ratio.is_finite() && ratio >= 1.0) {
            return Err(SwitchError::NeverReached { from_a, to_a, final_a });
        }
        let terminal = |i: f64| around.voltage_v - outside * i;
        let mut way = Transient {
            time_s: vec![0.0],
            current_a: vec![from_a],
            linkage_wb: vec![self.linkage(from_a)?],
            terminal_v: vec![terminal(from_a)],
            energies: Energies::default(),
        };
        // Rounding must not carry the current past either end.
        let (least, most) = (from_a.min(to_a), from_a.max(to_a));
        let current = |u: f64| (final_a + (from_a - final_a) * (-u).exp()).clamp(least, most);
        let mut time = 0.0;
        for piece in self.pieces(from_a, to_a, final_a).windows(2) {
            let (u0, u1) = (piece[0], piece[1]);
            let rate = |u: f64| Ok(self.inductance(current(u))? / total);
            time += gauss(u0, u1, rate)?;
            let heat = gauss(u0, u1, |u| Ok(rate(u)? * current(u).powi(2)))?;
            let charge = gauss(u0, u1, |u| Ok(rate(u)? * current(u)))?;
            way.energies = way.energies.plus(Energies {
                from_voltage: around.voltage_v * charge,
                coil: self.resistance_ohm * heat,
                outside: outside * heat,
                stored: 0.0,
            });
            let i = current(u1);
            way.time_s.push(time);
            way.current_a.push(i);
            way.linkage_wb.push(self.linkage(i)?);
            way.terminal_v.push(terminal(i));
        }
        // Not as the rest of the others, so that the balance checks the integrals.
        way.energies.stored = self.stored_energy(to_a)? - self.stored_energy(from_a)?;
        Ok(way)
    }

    /// Seconds from one current to another, as in [`Coil::transient`].
    ///
    /// # Errors
    /// As [`Coil::transient`].
    pub fn time_between(&self, around: Loop, from_a: f64, to_a: f64) -> Result<f64, SwitchError> {
        let way = self.transient(around, from_a, to_a)?;
        Ok(way.time_s[way.time_s.len() - 1])
    }

    /// Edges in u: at the table's currents, where the slope of the inductance jumps, and every quarter
    /// between, where five-point Gauss on an exponential is good to 1e-12.
    fn pieces(&self, from_a: f64, to_a: f64, final_a: f64) -> Vec<f64> {
        let place = |i: f64| ((from_a - final_a) / (i - final_a)).ln();
        let end = place(to_a);
        let mut edges = vec![0.0];
        for &knot in self.linkage.knots() {
            edges.extend([knot, -knot].map(place).into_iter().filter(|u| *u > 0.0 && *u < end));
        }
        edges.push(end);
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let mut fine = vec![0.0];
        for w in edges.windows(2) {
            let parts = ((w[1] - w[0]) / 0.25).ceil().max(1.0) as u32;
            fine.extend((1..=parts).map(|k| w[0] + (w[1] - w[0]) * f64::from(k) / f64::from(parts)));
        }
        fine
    }
}

/// Five-point Gauss–Legendre integral (Abramowitz and Stegun, table 25.4).
fn gauss(a: f64, b: f64, f: impl Fn(f64) -> Result<f64, SwitchError>) -> Result<f64, SwitchError> {
    const NODES: [(f64, f64); 5] = [
        (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
        (-0.538_469_310_105_683, 0.478_628_670_499_366_5),
        (0.0, 0.568_888_888_888_888_9),
        (0.538_469_310_105_683, 0.478_628_670_499_366_5),
        (0.906_179_845_938_664, 0.236_926_885_056_189_1),
    ];
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    let mut sum = 0.0;
    for (x, w) in NODES {
        sum += w * f(middle + half * x)?;
    }
    Ok(half * sum)
}
