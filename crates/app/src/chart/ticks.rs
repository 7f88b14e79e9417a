//! Round numbers along an axis.

/// Ticks of an axis: where numbers stand, and where only lines.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Axis {
    /// Lower end, in shown units.
    pub(super) low: f64,
    /// Upper end.
    pub(super) high: f64,
    /// Logarithmic.
    pub(super) log: bool,
    /// Labelled ticks, ascending.
    pub(crate) major: Vec<f64>,
    /// Further lines without numbers (logarithmic axes only).
    pub(super) minor: Vec<f64>,
}

impl Axis {
    /// 0 at the lower end, 1 at the upper.
    pub(crate) fn position(&self, value: f64) -> f64 {
        if self.log {
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// A tick's number: all ticks of a linear axis have the same places after the point.
    pub(crate) fn label(&self, tick: f64) -> String {
        if self.log {
            let plain = (1e-5..1e6).contains(&tick);
            return if plain { tick.to_string() } else { format!("{tick:e}").replace('-', "\u{2212}") };
        }
        let step = match self.major.as_slice() {
            [a, b, ..] => b - a,
            _ => tick.abs().max(f64::MIN_POSITIVE),
        };
        let largest = self.low.abs().max(self.high.abs());
        if largest >= 1e6 || (largest > 0.0 && step < 1e-5) {
            return format!("{tick:e}").replace('-', "\u{2212}");
        }
        let places = (-(step * (1.0 + 1e-9)).log10().floor()).max(0.0) as usize;
        let text = format!("{tick:.places$}");
        let zero = !text.contains(|c: char| ('1'..='9').contains(&c));
        if zero { text.replace('-', "") } else { text.replace('-', "\u{2212}") }
    }
}

/// The step of 1, 2 or 5 times a power of ten that divides `span` into about `wanted` parts.
fn step(span: f64, wanted: f64) -> f64 {
    let rough = span / wanted.max(1.0);
    let power = 10f64.powf(rough.log10().floor());
    let leading = rough / power;
    // Boundaries are the geometric means of neighbours: 1|2|5|10.
    let nice = match leading {
        l if l < 2f64.sqrt() => 1.0,
        l if l < 10f64.sqrt() => 2.0,
        l if l < 50f64.sqrt() => 5.0,
        _ => 10.0,
    };
    nice * power
}

/// A linear axis that holds `low..high`. With `whole` its ends are ticks.
pub(super) fn linear(low: f64, high: f64, wanted: f64, whole: bool) -> Axis {
    let (mut low, mut high) = if low <= high { (low, high) } else { (high, low) };
    if high - low <= 1e-12 * high.abs().max(low.abs()) {
        // One value only: some room on both sides.
        let room = if high == 0.0 { 1.0 } else { 0.1 * high.abs() };
        (low, high) = (low - room, high + room);
    }
    let step = step(high - low, wanted);
    // A millionth of a step of slack, lest rounding lose or add a tick.
    let mut first = (low / step - 1e-6).ceil();
    let mut last = (high / step + 1e-6).floor();
    if whole {
        first = (low / step + 1e-6).floor();
        last = (high / step - 1e-6).ceil();
        (low, high) = (first * step, last * step);
    }
    let ticks = 0..=(last - first).max(0.0) as usize;
    let major = ticks.map(|i| round_to(step, first + i as f64)).collect();
    Axis { low, high, log: false, major, minor: Vec::new() }
}

/// `count × step` without the tail that binary fractions leave (0.30000000000000004).
fn round_to(step: f64, count: f64) -> f64 {
    let value = step * count;
    format!("{value:.12e}").parse().unwrap_or(value)
}

/// A logarithmic axis from `low` to `high`, both above zero.
pub(super) fn logarithmic(low: f64, high: f64) -> Axis {
    let (low, high) = if high / low < 1.0 + 1e-9 { (low / 2.0, high * 2.0) } else { (low, high) };
    let (first, last) = (low.log10().floor() as i32, high.log10().ceil() as i32);
    let decades = (high / low).log10();
    let inside = |value: &f64| *value >= low * (1.0 - 1e-9) && *value <= high * (1.0 + 1e-9);
    let grid = |leading: &[f64]| -> Vec<f64> {
        (first..=last)
            .flat_map(|power| leading.iter().map(move |l| round_to(10f64.powi(power), *l)))
            .filter(inside)
            .collect()
    };
    let all = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0];
    let major = match decades {
        d if d < 0.7 => return Axis { log: true, minor: Vec::new(), ..linear(low, high, 5.0, false) },
        d if d < 3.2 => grid(&[1.0, 2.0, 5.0]),
        d if d < 8.0 => grid(&[1.0]),
        d => {
            let every = (d / 6.0).ceil() as i32;
            grid(&[1.0]).into_iter().filter(|v| (v.log10().round() as i32) % every == 0).collect()
        }
    };
    let minor = if decades < 8.0 { grid(&all) } else { Vec::new() };
    let minor = minor.into_iter().filter(|value| !major.contains(value)).collect();
    Axis { low, high, log: true, major, minor }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn linear_ticks_are_round_and_inside() {
        assert_eq!(linear(0.0, 412.0, 5.0, true).major, [0.0, 100.0, 200.0, 300.0, 400.0, 500.0]);
        assert_eq!(linear(-0.31, 0.29, 6.0, false).major, [-0.3, -0.2, -0.1, 0.0, 0.1, 0.2]);
        assert_eq!(linear(0.0, 0.3, 3.0, false).major, [0.0, 0.1, 0.2, 0.3]);
        assert_eq!(linear(5.0, 5.0, 5.0, false).major, [4.6, 4.8, 5.0, 5.2, 5.4]);
        assert!(linear(0.0, 0.0, 5.0, true).major.contains(&0.0));
    }

    #[test]
    fn logarithmic_ticks_are_one_two_five() {
        assert_eq!(logarithmic(0.05, 5.0).major, [0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0]);
        assert_eq!(logarithmic(1.0, 1e5).major, [1.0, 10.0, 100.0, 1e3, 1e4, 1e5]);
        assert_eq!(logarithmic(1.0, 3.0).major, [1.0, 1.5, 2.0, 2.5, 3.0]);
    }

    #[test]
    fn positions_follow_the_scale() {
        let axis = logarithmic(0.01, 100.0);
        assert!((axis.position(1.0) - 0.5).abs() < 1e-12);
        assert!((linear(0.0, 10.0, 5.0, true).position(2.5) - 0.25).abs() < 1e-12);
    }

    #[test]
    fn labels_have_the_places_of_the_step() {
        let axis = linear(-0.5, 1.0, 3.0, true);
        let labels: Vec<String> = axis.major.iter().map(|t| axis.label(*t)).collect();
        assert_eq!(labels, ["\u{2212}0.5", "0.0", "0.5", "1.0"]);
        let axis = logarithmic(0.05, 5.0);
        let labels: Vec<String> = axis.major.iter().map(|t| axis.label(*t)).collect();
        assert_eq!(labels, ["0.05", "0.1", "0.2", "0.5", "1", "2", "5"]);
        let axis = logarithmic(1.0, 3.0);
        assert_eq!(axis.label(1.5), "1.5");
    }
}
