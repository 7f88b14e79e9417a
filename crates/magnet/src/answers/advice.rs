//! Which measurement would narrow a band most, and with which instrument.

use crate::answers::answer::Advice;
use crate::uncertainty::band::Band;

/// Shares of the variance below this are not worth a measurement.
const WORTH_MEASURING: f64 = 0.02;

/// The best measurements for a value, most useful first.
pub fn next(band: &Band) -> Vec<Advice> {
    band.contributors
        .iter()
        .filter(|c| c.share > WORTH_MEASURING)
        .filter_map(|c| {
            let how = instrument(&c.path)?;
            Some(Advice {
                path: c.path.clone(),
                text: format!("{how}: {}", c.label),
                remaining: band.standard * (1.0 - c.share).max(0.0).sqrt(),
            })
        })
        .take(4)
        .collect()
}

/// How a bench would settle an input; none where it cannot.
fn instrument(path: &str) -> Option<&'static str> {
    let key = path.rsplit('.').next().unwrap_or(path);
    Some(match (path.split('.').next().unwrap_or(path), key) {
        (_, "gap" | "coating" | "bobbin_wall") => "feeler gauge or shim of known thickness",
        ("winding", "fill_factor") => {
            "micrometer on the wire's end, which gives the turns with the resistance"
        }
        ("body", "remanence" | "grade" | "recoil_permeability") => {
            "teslameter on the face, on a shim of known thickness"
        }
        ("winding", "resistance" | "window" | "conductor" | "turns") => {
            "ohmmeter (four-wire if below 10 Ω), winding at a known temperature"
        }
        ("winding", "wire") => "micrometer on the bare wire",
        ("drive" | "nameplate", "voltage" | "lead_resistance") => "voltmeter at the magnet's terminals",
        ("drive", "current") => "ammeter in series",
        ("drive" | "surroundings", "temperature") => "thermometer on the winding",
        ("body" | "winding" | "keeper" | "workpiece", _) => "caliper",
        ("probe", _) => "teslameter on a shim of known thickness",
        ("material", _) => "pull on a scale at two known gaps, then `fit`",
        _ => return None,
    })
}
