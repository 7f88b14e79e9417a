//! Diameters of wire: gauges by formula, preferred sizes and their enamel by table.

use super::Grade;
use serde::Deserialize;
use std::sync::LazyLock;

/// Thinnest and thickest conductor accepted, m.
pub(super) const SMALLEST_M: f64 = 1e-5;
pub(super) const LARGEST_M: f64 = 15e-3;

/// Diameter of AWG `number` (0, −1, −2, −3 for 0, 00, 000, 0000), m: 0.005 in · 92^((36 − n)/39), ASTM B258.
pub fn awg_diameter_m(number: i32) -> f64 {
    0.005 * 0.0254 * 92f64.powf(f64::from(36 - number) / 39.0)
}

/// How a gauge number is written: `27`, `0`, `00`.
pub(super) fn awg_name(number: i32) -> String {
    if number > 0 { number.to_string() } else { "0".repeat((1 - number).unsigned_abs() as usize) }
}

/// Diameters of the British gauges 0 to 50 in thousandths of an inch (BS 3737:1964, from memory).
const SWG_MIL: [f64; 51] = [
    324.0, 300.0, 276.0, 252.0, 232.0, 212.0, 192.0, 176.0, 160.0, 144.0, 128.0, 116.0, 104.0, 92.0, 80.0,
    72.0, 64.0, 56.0, 48.0, 40.0, 36.0, 32.0, 28.0, 24.0, 22.0, 20.0, 18.0, 16.4, 14.8, 13.6, 12.4, 11.6,
    10.8, 10.0, 9.2, 8.4, 7.6, 6.8, 6.0, 5.2, 4.8, 4.4, 4.0, 3.6, 3.2, 2.8, 2.4, 2.0, 1.6, 1.2, 1.0,
];

/// Diameter of the British gauge `number`, m; none outside 0 to 50.
pub(super) fn swg_diameter_m(number: i32) -> Option<f64> {
    SWG_MIL.get(usize::try_from(number).ok()?).map(|mil| mil * 25.4e-6)
}

/// A diameter in millimetres with the digits that matter.
pub(super) fn millimetres(diameter_m: f64) -> String {
    let text = format!("{:.4}", 1e3 * diameter_m);
    let short = text.strip_suffix('0').unwrap_or(&text);
    short.to_string()
}

/// Nominal conductor diameters of IEC 60317-0-1 (the R 20 series), m, ascending.
pub fn preferred_diameters_m() -> impl Iterator<Item = f64> {
    TABLE.size.iter().map(|row| row.0 * 1e-3)
}

/// Half-width of the tolerance of the conductor diameter, m: 1 %, and not less than 3 µm
/// (IEC 60317-0-1, from memory; finer than 0.063 mm the standard limits the resistance instead, to about 5 %
/// to 10 %, which is 1 µm to 1.5 µm of diameter).
pub(super) fn conductor_tolerance_m(diameter_m: f64) -> f64 {
    if diameter_m < 0.0635e-3 { 0.025 * diameter_m } else { (0.01 * diameter_m).max(3e-6) }
}

pub(super) struct Overall {
    pub(super) least_m: f64,
    pub(super) greatest_m: f64,
    pub(super) source: String,
}

/// Least and greatest diameter over the enamel. The greatest is the table's, or interpolated in it; the least is
/// the greatest of the grade below, and for grade 1 half the greatest increase (common practice, no source).
pub(super) fn overall(diameter_m: f64, grade: Grade) -> Overall {
    let mm = 1e3 * diameter_m;
    let (increases, how) = TABLE.increases_mm(mm);
    let (least, greatest) = match grade {
        Grade::Bare => {
            return Overall { least_m: diameter_m, greatest_m: diameter_m, source: "no enamel".into() };
        }
        Grade::One => (0.5 * increases[0], increases[0]),
        Grade::Two => (increases[0], increases[1]),
        Grade::Three => (increases[1], increases[2]),
    };
    Overall {
        least_m: diameter_m + 1e-3 * least,
        greatest_m: diameter_m + 1e-3 * greatest,
        source: format!("{how}{}", TABLE.source),
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    source: String,
    /// Conductor, greatest overall diameter in grades 1, 2, 3; mm.
    size: Vec<(f64, f64, f64, f64)>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    toml::from_str(include_str!("../../data/wire.toml")).expect("data/wire.toml is well formed")
});

impl Table {
    /// Greatest increase of the diameter by the enamel in grades 1, 2, 3 (mm), and how it was found.
    fn increases_mm(&self, mm: f64) -> ([f64; 3], &'static str) {
        let increase = |row: &(f64, f64, f64, f64)| [row.1 - row.0, row.2 - row.0, row.3 - row.0];
        if let Some(row) = self.size.iter().find(|row| (row.0 - mm).abs() < 1e-6) {
            return (increase(row), "");
        }
        let above = self.size.partition_point(|row| row.0 < mm);
        if above == 0 || above == self.size.len() {
            let end = &self.size[above.min(self.size.len() - 1)];
            // Thinner than the table the enamel shrinks with the wire; thicker, it stays.
            let shrink = (mm / end.0).min(1.0);
            return (increase(end).map(|i| i * shrink), "extrapolated from ");
        }
        let (low, high) = (&self.size[above - 1], &self.size[above]);
        let t = (mm / low.0).ln() / (high.0 / low.0).ln();
        let (a, z) = (increase(low), increase(high));
        (std::array::from_fn(|g| a[g].powf(1.0 - t) * z[g].powf(t)), "interpolated in ")
    }
}
