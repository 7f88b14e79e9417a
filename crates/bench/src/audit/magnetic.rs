//! Pull and flux density claimed, against the best that the magnet's size and steel allow.

use super::resistance::claimed;
use super::statement::{CONTRADICTION, Statement, comparison, sureness};
use super::{Finding, Ledger};
use coilwright_fem::drawing::Symmetry;
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::answers::caution;
use coilwright_magnet::answers::question::{FieldQuestion, PullQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::magnet::{Magnet, Substance};
use coilwright_magnet::material::MU0;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;

/// Gap of the best case, m: faces ground together keep as much between them (common practice, no source).
const BEST_GAP: &str = "0.01 mm";

/// Compares pull and flux density.
pub(super) fn compare(sheet: &Sheet, magnet: &Magnet, ledger: &mut Ledger) -> Result<(), Failure> {
    let (pull, field) = (claimed(sheet, "nameplate.pull"), claimed(sheet, "nameplate.flux_density"));
    if pull.is_none() && field.is_none() {
        return Ok(());
    }
    if magnet.free {
        ledger
            .unjudged
            .push(("pull, flux density".into(), "a profile has no face to bring a workpiece to".into()));
        return Ok(());
    }
    let best = best_case(sheet)?;
    let current = Magnet::complete(&best)?.excitation.and_then(|e| e.current_a);
    let question = PullQuestion {
        gaps_m: vec![1e-5],
        currents_a: current.into_iter().collect(),
        ..PullQuestion::default()
    };
    let closed = answer(&best, &Question::Pull(question))?;
    if let Some(claim) = pull {
        compare_pull(magnet, claim, &closed, ledger);
    }
    if let Some(claim) = field {
        compare_field(&best, claim, &closed, ledger)?;
    }
    Ok(())
}

/// The sheet with what would make its pull greatest: faces that all but touch, a workpiece that throttles nothing, a
/// cold winding at the nameplate's voltage.
fn best_case(sheet: &Sheet) -> Result<Sheet, Failure> {
    let mut best = sheet.clone();
    for path in [
        "workpiece.thickness",
        "workpiece.width",
        "workpiece.diameter",
        "workpiece.coating",
        "drive.temperature",
    ] {
        best.remove(path);
    }
    if best.has("nameplate.voltage") {
        for key in ["voltage", "current", "lead_resistance", "voltage_limit", "current_limit", "power_limit"]
        {
            best.remove(&format!("drive.{key}"));
        }
    }
    best.set("workpiece.gap", BEST_GAP)?;
    Ok(best)
}

fn number(answer: &Answer, key: &str) -> Option<(f64, f64)> {
    answer.measure(key).map(|measure| (measure.value, measure.standard()))
}

/// Most that saturated poles can pull, N: Js²/(2 µ0) on all pole area (Maxwell's stress; the field of the coil itself
/// adds next to nothing).
fn saturation_bound_n(magnet: &Magnet) -> Option<f64> {
    let laws = magnet.parts.iter().filter_map(|part| match &part.substance {
        Substance::Iron(iron) => iron.law.saturation_t(),
        _ => None,
    });
    let js = laws.reduce(f64::max)?;
    let area = |[from, to]: [f64; 2]| match magnet.symmetry {
        Symmetry::Axial => std::f64::consts::PI * (to * to - from * from),
        Symmetry::Planar => magnet.depth_m * (to - from),
        Symmetry::PlanarHalf(_) => 2.0 * magnet.depth_m * (to - from),
    };
    Some(js * js / (2.0 * MU0) * magnet.poles.iter().map(|p| area(p.x_m)).sum::<f64>())
}

fn compare_pull(magnet: &Magnet, (value, standard): (f64, f64), closed: &Answer, ledger: &mut Ledger) {
    let Some((best_n, u)) = number(closed, "pull") else { return };
    let claim = Statement::new("claimed", "claimed", value, standard).noted("nameplate");
    let best = Statement {
        low: 0.0,
        ..Statement::new("best", "computed, best case", best_n, u)
            .noted("gap of 10 µm, thick workpiece, cold winding; every real gap gives less")
    };
    let deviation = claim.deviation(&best);
    let mut items = vec![
        claim.item("pull", Dimension::Force),
        Statement { low: best_n, ..best.clone() }.item("pull", Dimension::Force),
    ];
    let mut note = if deviation > CONTRADICTION { "more than can be" } else { "possible at its best" };
    let sentence = |limit: &str| {
        format!(
            "The nameplate's pull of {{pull_claimed}} cannot be true for this size: {limit}; {}. A scale and a \
             thick, clean, ground workpiece settle it.",
            sureness(deviation)
        )
    };
    if deviation > CONTRADICTION {
        let sentence = sentence("with faces that all but touch it is {pull_best}");
        ledger.findings.push(Finding { deviation, sentence });
    } else if deviation > super::statement::DOUBTFUL {
        note = "doubtful even at its best";
    }
    if let Some(bound) = saturation_bound_n(magnet) {
        let bound = Statement::new("bound", "no steel pulls more", bound, 0.0)
            .noted("all pole area saturated: Js²/(2 µ0) times area");
        items.push(bound.item("pull", Dimension::Force));
    }
    items.push(comparison("deviation_pull", "beyond the best case", deviation, Some(note)));
    ledger.deviations.push(("pull claimed beyond the best case".into(), deviation));
    ledger.answer.group("Pull", items);
    ledger.answer.cautions.extend(caution::pull("pull_best", best_n));
}

fn compare_field(
    best: &Sheet,
    (value, standard): (f64, f64),
    closed: &Answer,
    ledger: &mut Ledger,
) -> Result<(), Failure> {
    let open = answer(best, &Question::Field(FieldQuestion::default()))?;
    // The fullest iron bounds what a face can carry with the workpiece on.
    let fullest = closed.groups.iter().flat_map(|g| &g.items).filter(|i| i.key.starts_with("b_mean_"));
    let fullest = fullest.filter_map(|i| number(closed, &i.key)).map(|n| n.0).fold(0.0, f64::max);
    let Some((open_t, u_open)) = number(&open, "face_maximum") else { return Ok(()) };
    let relative =
        number(closed, "flux_per_turn").map_or(0.05, |(flux, u)| u / flux.abs().max(f64::MIN_POSITIVE));
    let claim = Statement::new("claimed", "claimed", value, standard).noted("nameplate");
    let most = fullest.max(open_t);
    let most =
        Statement { low: 0.0, ..Statement::new("closed", "computed, workpiece on", most, relative * most) }
            .noted("mean of the fullest iron, gap of 10 µm");
    let standoff = number(&open, "standoff").map_or(0.0, |s| s.0);
    let open = Statement { low: 0.0, ..Statement::new("open", "computed, open face", open_t, u_open) }.noted(
        format!(
            "greatest at {} above the face",
            Dimension::Length.text(standoff, None, coilwright_magnet::quantity::UnitSystem::Si)
        ),
    );
    let (beyond_open, beyond_closed) = (claim.deviation(&open), claim.deviation(&most));
    let note = match (beyond_open > CONTRADICTION, beyond_closed > CONTRADICTION) {
        (_, true) => "more than can be",
        (true, false) => "possible with a workpiece on, not at the open face",
        (false, false) => "possible at the open face",
    };
    let row =
        |s: &Statement| Statement { low: s.value, ..s.clone() }.item("flux_density", Dimension::FluxDensity);
    let items = vec![
        row(&claim),
        row(&open),
        row(&most),
        comparison("deviation_flux_density", "beyond the most there is", beyond_closed, Some(note)),
    ];
    if beyond_closed > CONTRADICTION {
        ledger.findings.push(Finding {
            deviation: beyond_closed,
            sentence: format!(
                "The nameplate's {{flux_density_claimed}} cannot be true: even with a workpiece on, the steel carries \
                 {{flux_density_closed}}; {}. A teslameter on a shim of known thickness settles it.",
                sureness(beyond_closed)
            ),
        });
    }
    ledger.deviations.push(("flux density claimed beyond the most there can be".into(), beyond_closed));
    ledger.answer.group("Flux density at the face", items);
    Ok(())
}
