//! Whether the insulation's class is kept, and by how much.

use crate::answers::answer::Item;
use crate::material::CELSIUS_ZERO_K;
use crate::quantity::Dimension;
use crate::thermal::setting::Limit;
use statrs::distribution::ContinuousCDF;
use statrs::distribution::Normal;

/// What the resistance method is allowed to miss of the hottest place, K: the class less 40 °C of coolant and the rise
/// that IEC 60034-1 allows by resistance (B 80, F 105, H 125 K; A 60 and E 75 K from memory).
const ALLOWANCE: [(&str, f64); 5] =
    [("class A", 5.0), ("class E", 5.0), ("class B", 10.0), ("class F", 10.0), ("class H", 15.0)];

/// The hot spot at some moment.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hot {
    pub(crate) kelvin: f64,
    /// Ends of its 95 % band, K; none where it is not known.
    pub(crate) band: Option<(f64, f64)>,
}

impl Hot {
    /// Chance that a limit is exceeded, for a Gaussian error (JCGM 100:2008, G.1.3); none where the band lies on one
    /// side of the limit.
    fn chance(&self, limit_k: f64) -> Option<f64> {
        let (low, high) = self.band.filter(|(low, high)| (*low..*high).contains(&limit_k))?;
        // Ends of the band are two standard uncertainties away.
        Some(Normal::standard().sf((limit_k - self.kelvin) / (0.25 * (high - low))))
    }
}

/// What is to be said of a limit that the band straddles; nothing where it does not.
pub(crate) fn doubt(limit: &Limit, hot: &Hot) -> Option<String> {
    let chance = hot.chance(limit.kelvin)?;
    let (low, high) = hot.band?;
    let text = |k: f64| format!("{:.1}", k - CELSIUS_ZERO_K);
    Some(format!(
        "the band of the hot spot ({} to {} °C) straddles the limit: the chance of exceeding it is {:.0} %",
        text(low),
        text(high),
        100.0 * chance
    ))
}

/// Items on the insulation, from the hottest place and the mean by resistance (K) that count; `burns` if the drive runs
/// away sooner or later.
pub(crate) fn items(limit: &Limit, hot: &Hot, mean_k: f64, steady: Option<&Hot>, burns: bool) -> Vec<Item> {
    let margin = limit.kelvin - hot.kelvin;
    let worst = steady.map_or(margin, |s| limit.kelvin - s.kelvin);
    let mut verdict = match (margin >= 0.0, worst >= 0.0) {
        _ if burns && margin >= 0.0 => {
            format!("kept in this run, with {margin:.0} K in hand; then the winding burns")
        }
        _ if burns => "exceeded, and the winding burns: thermal runaway".into(),
        (true, true) if steady.is_some() => format!("kept continuously, with {worst:.0} K in hand"),
        (true, true) => format!("kept in this run, with {margin:.0} K in hand; no steady state was found"),
        (true, false) => format!("kept in this run, exceeded by {:.0} K in the long run", -worst),
        (false, _) => format!("exceeded by {:.0} K in this run", -margin),
    };
    let hottest = steady.filter(|s| s.kelvin >= hot.kelvin).unwrap_or(hot);
    if let Some(doubt) = doubt(limit, hottest) {
        verdict = format!("{verdict}, by the best estimate; {doubt}");
    }
    let allowed = ALLOWANCE.iter().find(|a| a.0 == limit.name).map(|a| a.1);
    let above = hot.kelvin - mean_k;
    let note = match allowed {
        Some(k) => format!("IEC 60034-1 reckons with {k:.0} K for {}", limit.name),
        None => "above the mean by resistance".into(),
    };
    vec![
        Item::text("thermal_class", &format!("{} (IEC 60085)", limit.name), verdict),
        Item::number("class_limit", "temperature of the class", limit.kelvin, Dimension::Temperature),
        Item::number(
            "hot_spot_allowance",
            "hot spot above the mean",
            above,
            Dimension::TemperatureDifference,
        )
        .with_note(note),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One-sided Gaussian tails: 15.87 % beyond one standard deviation, 20 % beyond 0.8416 (from memory; tables of the
    /// normal distribution).
    #[test]
    fn a_limit_within_the_band_has_a_chance() {
        let hot = |kelvin: f64, u: f64| Hot { kelvin, band: Some((kelvin - 2.0 * u, kelvin + 2.0 * u)) };
        assert!((hot(370.0, 4.0).chance(374.0).unwrap() - 0.1587).abs() < 1e-4);
        assert!((hot(370.0, 5.0).chance(374.208).unwrap() - 0.2).abs() < 1e-4);
        assert!((hot(370.0, 4.0).chance(366.0).unwrap() - 0.8413).abs() < 1e-4);
        assert_eq!(hot(370.0, 1.0).chance(374.0), None);
        assert_eq!(Hot { kelvin: 370.0, band: None }.chance(371.0), None);
    }

    #[test]
    fn a_verdict_says_what_it_does_not_know() {
        let limit = Limit { name: "class A".into(), kelvin: 378.15 };
        let text = |hot: Hot, burns: bool| match items(&limit, &hot, 370.0, Some(&hot), burns)
            .swap_remove(0)
            .value
        {
            crate::answers::answer::Value::Text(text) => text,
            crate::answers::answer::Value::Number(m) => panic!("{m:?}"),
        };
        // 100.9 °C (91.4 to 110.5) against 105: 0.86 standard uncertainties, a chance of 20 %.
        let doubtful = text(Hot { kelvin: 374.05, band: Some((364.55, 383.65)) }, false);
        assert!(
            doubtful.contains("straddles") && doubtful.contains("20 %") && doubtful.contains("4 K"),
            "{doubtful}"
        );
        let sure = text(Hot { kelvin: 350.0, band: Some((345.0, 355.0)) }, false);
        assert_eq!(sure, "kept continuously, with 28 K in hand");
        assert!(text(Hot { kelvin: 350.0, band: None }, true).contains("burns"));
    }
}
