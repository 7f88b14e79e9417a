//! Whether the insulation's class is kept, and by how much.

use super::setting::Limit;
use crate::answer::Item;
use crate::quantity::Dimension;

/// What the resistance method is allowed to miss of the hottest place, K: the class less 40 °C of coolant and the rise
/// that IEC 60034-1 allows by resistance (B 80, F 105, H 125 K; A 60 and E 75 K from memory).
const ALLOWANCE: [(&str, f64); 5] =
    [("class A", 5.0), ("class E", 5.0), ("class B", 10.0), ("class F", 10.0), ("class H", 15.0)];

/// Items on the insulation, from the hottest place and the mean by resistance (K) that count.
pub(super) fn items(limit: &Limit, hot_k: f64, mean_k: f64, steady: Option<f64>) -> Vec<Item> {
    let margin = limit.kelvin - hot_k;
    let worst = steady.map_or(margin, |k| limit.kelvin - k);
    let mut verdict = match (margin >= 0.0, worst >= 0.0) {
        (true, true) if steady.is_some() => format!("kept for good, with {worst:.0} K in hand"),
        (true, true) => format!("kept in this run, with {margin:.0} K in hand; there is no steady state"),
        (true, false) => format!("kept in this run, exceeded by {:.0} K in the long run", -worst),
        (false, _) => format!("exceeded by {:.0} K in this run", -margin),
    };
    if steady.is_none() && margin >= 0.0 {
        verdict = format!("kept in this run, with {margin:.0} K in hand; no steady state was found");
    }
    let allowed = ALLOWANCE.iter().find(|a| a.0 == limit.name).map(|a| a.1);
    let above = hot_k - mean_k;
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
