//! The colours of a field: a straight line in OKLab (B. Ottosson, A perceptual color space for image processing, 2020, from
//! memory), on which equal steps look equally large. Lightness falls all the way, so that it serves all eyes, and grey print.

/// Lightness, and the two opponent colours, of nothing: the paper's; and of the strongest field: that of dull copper.
const PALE: [f64; 3] = [0.982, 0.002, 0.010];
const DEEP: [f64; 3] = [0.640, 0.110, 0.085];

/// The colour of a share from 0 to 1, as `#rrggbb`.
pub(super) fn colour(share: f64) -> String {
    let t = share.clamp(0.0, 1.0);
    let lab = [0, 1, 2].map(|k| PALE[k] + t * (DEEP[k] - PALE[k]));
    let [r, g, b] = srgb(lab).map(|c| (255.0 * c.clamp(0.0, 1.0)).round() as u8);
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// From OKLab to sRGB (IEC 61966-2-1), 0 to 1 where a screen can show it.
fn srgb([l, a, b]: [f64; 3]) -> [f64; 3] {
    let long = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let medium = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let short = (l - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    let linear = [
        4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short,
        -1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short,
        -0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short,
    ];
    linear.map(|c| if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a colour (WCAG 2.1, from memory).
    fn luminance(colour: &str) -> f64 {
        let channel = |k: usize| {
            let c = f64::from(u8::from_str_radix(&colour[k..k + 2], 16).unwrap()) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// White is (1, 0, 0) and the red of sRGB is (0.62796, 0.22486, 0.12585) in OKLab, by its author's table.
    #[test]
    fn known_colours_come_out() {
        assert!(srgb([1.0, 0.0, 0.0]).iter().all(|c| (c - 1.0).abs() < 1e-3));
        let red = srgb([0.627_96, 0.224_86, 0.125_85]);
        assert!((red[0] - 1.0).abs() < 2e-3 && red[1].abs() < 5e-3 && red[2].abs() < 5e-3, "{red:?}");
    }

    /// Every colour can be shown; each is darker than the one before, by steps of lightness (CIE 1976 L*) that are alike; and
    /// lines in the ink of flux lines stand out against the deepest by 3 : 1.
    #[test]
    fn lightness_falls_evenly() {
        let lightness: Vec<f64> = (0..=20)
            .map(|k| {
                let share = f64::from(k) / 20.0;
                let lab = [0, 1, 2].map(|k| PALE[k] + share * (DEEP[k] - PALE[k]));
                assert!(srgb(lab).iter().all(|c| (0.0..=1.0).contains(c)), "{share}: {:?}", srgb(lab));
                116.0 * luminance(&colour(share)).cbrt() - 16.0
            })
            .collect();
        let steps: Vec<f64> = lightness.windows(2).map(|pair| pair[0] - pair[1]).collect();
        let mean = steps.iter().sum::<f64>() / steps.len() as f64;
        assert!(mean > 1.5 && steps.iter().all(|s| (s / mean - 1.0).abs() < 0.35), "{steps:?}");
        let contrast = (luminance(&colour(1.0)) + 0.05) / (luminance(super::super::map::FLUX) + 0.05);
        assert!(contrast > 3.0, "{contrast}");
    }
}
