//! The numbers of a magnet roughly and quickly: for a search, which asks of thousands of magnets that have nothing in
//! common but their form. What is found is asked again by [`ask`](crate::model::ask), whose answer counts.
//!
//! The field is nonlinear and the heat steady and coupled to it as everywhere, each solved from nothing, so that a number
//! depends on the sheet alone. Only the field's mesh is coarser.

use crate::answers::answer::{Column, Series};
use crate::answers::field::read::{Face, SCAN_ITEMS, across, over_face, scan, scan_series, strongest};
use crate::answers::question::FieldQuestion;
use crate::coupled::operating_point::{Driven, Feed, Pattern};
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::winding::fit;
use crate::magnetic::roughly::Roughly;
use crate::magnetic::scene::Stage;
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::thermal;
use crate::thermal::body::Body;
use crate::thermal::setting::Setting;
use coilwright_fem::field::Probe;

/// What is solved of a magnet, beside what its winding alone tells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// The pull as the sheet's drive has it.
    pub pull: bool,
    /// The pull in the long run, warm.
    pub pull_warm: bool,
    /// The strongest field over the face.
    pub field: bool,
    /// Temperatures in the long run, and what follows from them.
    pub heat: bool,
}

/// How much larger than usual elements are, and the order, for the pull of a magnet whose poles face the workpiece side by
/// side: within 0.4 % of the settled one (tried on pots, horseshoes and e-cores).
const CLOSED: (f64, usize) = (2.0, 2);
/// The same of a magnet with one pole, whose flux returns through the air: within 2 %, all bars tried on the same side.
const OPEN: (f64, usize) = (2.0, 3);
/// The same for a field over the face: within 0.5 %.
const FIELD: (f64, usize) = (1.5, 3);

/// The numbers of a magnet, SI; what was not wanted, or does not exist, is not a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rough {
    /// Iron, wire and enamel, kg.
    pub mass_kg: f64,
    /// Room that it takes up, m³.
    pub volume_m3: f64,
    /// Turns, all coils together.
    pub turns: f64,
    /// Turns that find room at the most.
    pub room_for_turns: f64,
    /// Conductor alone, kg.
    pub conductor_mass_kg: f64,
    /// Length of wire, m.
    pub wire_length_m: f64,
    /// At 20 °C, Ω.
    pub resistance_20_ohm: f64,
    /// As driven, A.
    pub current_a: f64,
    /// As driven, W.
    pub power_w: f64,
    /// As driven, A.
    pub ampere_turns: f64,
    /// As driven, A/m².
    pub current_density_a_per_m2: f64,
    /// As driven, N.
    pub pull_n: f64,
    /// T.
    pub field_t: f64,
    /// Hottest place of the winding, K.
    pub hot_spot_k: f64,
    /// Hottest place of the outside, K.
    pub surface_k: f64,
    /// Current in the long run, A.
    pub current_warm_a: f64,
    /// Power in the long run, while it is on, W.
    pub power_warm_w: f64,
    /// Pull in the long run, N.
    pub pull_warm_n: f64,
    /// The insulation's limit, K.
    pub class_k: f64,
}

/// The numbers of a sheet's magnet.
///
/// # Errors
/// Faults of the sheet; a field or temperatures that cannot be solved. [`Failure::Runaway`] where heat was wanted and
/// nothing settles.
pub fn numbers(sheet: &Sheet, wanted: Wanted) -> Result<Rough, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let driven = Driven::of(sheet, &magnet)?;
    let w = driven.winding;
    let kelvin = driven.excitation.kelvin;
    let current_a = driven.current_a(kelvin);
    let mut found = Rough {
        mass_kg: magnet.mass_kg().unwrap_or(f64::NAN),
        volume_m3: magnet.envelope_m3(),
        turns: w.turns,
        room_for_turns: fit::room_for(w),
        conductor_mass_kg: w.conductor_mass_kg,
        wire_length_m: w.wire_length_m,
        resistance_20_ohm: w.resistance_20_ohm,
        current_a,
        power_w: w.power_w(current_a, kelvin),
        ampere_turns: w.ampere_turns(current_a),
        current_density_a_per_m2: w.current_density_a_per_m2(current_a),
        pull_n: f64::NAN,
        field_t: f64::NAN,
        hot_spot_k: f64::NAN,
        surface_k: f64::NAN,
        current_warm_a: f64::NAN,
        power_warm_w: f64::NAN,
        pull_warm_n: f64::NAN,
        class_k: f64::NAN,
    };
    if wanted.heat || wanted.pull_warm {
        warm(sheet, &magnet, &mut found)?;
    }
    if wanted.pull || wanted.pull_warm {
        pulls(&magnet, wanted, &mut found)?;
    }
    if wanted.field {
        found.field_t = over(sheet, &magnet)?.0;
    }
    Ok(found)
}

/// What a magnet of any form does at its face, as its sheet has it; what does not exist is none.
#[derive(Clone, Debug, PartialEq)]
pub struct AtFace {
    /// N.
    pub pull_n: Option<f64>,
    /// The strongest field over the face, T.
    pub field_t: Option<f64>,
    /// The scan of the face, without bands.
    pub scan: Option<Series>,
}

/// Pull and field of a sheet's magnet, which may be a permanent one.
///
/// # Errors
/// Faults of the sheet; a field that cannot be solved.
pub fn at_face(sheet: &Sheet) -> Result<AtFace, Failure> {
    let magnet = Magnet::complete(sheet)?;
    let pull_n = if magnet.pulls() { Some(pull(&magnet, &magnet.stage())?.pull_n()?) } else { None };
    let over = if magnet.free { None } else { Some(over(sheet, &magnet)?) };
    let (field_t, scan) = over.unzip();
    Ok(AtFace { pull_n, field_t, scan })
}

/// The field in which a magnet pulls.
fn pull(magnet: &Magnet, stage: &Stage) -> Result<Roughly, Failure> {
    let (coarser, order) = if magnet.poles.len() > 1 { CLOSED } else { OPEN };
    Roughly::solve(magnet.scene(stage), coarser, order)
}

/// The strongest field over the face, T, and its scan.
fn over(sheet: &Sheet, magnet: &Magnet) -> Result<(f64, Series), Failure> {
    let face = Face::of(sheet, &FieldQuestion::default());
    let solved = Roughly::solve(magnet.scene(&magnet.open_stage()), FIELD.0, FIELD.1)?;
    let probe = Probe::new(&solved.solution);
    let scan_m = across(magnet);
    let at = strongest(&probe, &scan_m, magnet.face_m + face.standoff_m);
    let field_t = over_face(magnet, &probe, &face, at).first().copied().unwrap_or(f64::NAN);
    let [along, size] = scan(magnet, &probe, &face, &scan_m);
    let column = |(key, label), values| Column::new(key, label, Dimension::FluxDensity, values);
    let [of_along, of_size] = SCAN_ITEMS;
    Ok((field_t, scan_series(scan_m, [column(of_along, along), column(of_size, size)])))
}

/// The long run: temperatures, current and power.
fn warm(sheet: &Sheet, magnet: &Magnet, found: &mut Rough) -> Result<(), Failure> {
    // What is computed is not taken from the sheet.
    let mut computed = sheet.clone();
    computed.remove(thermal::COMPUTED);
    let driven = Driven::of(&computed, magnet)?;
    let setting = Setting::read(&computed, magnet, false)?.setting;
    found.class_k = setting.limit.kelvin;
    let (pattern, _) = Pattern::read(&computed)?;
    if pattern.duty() == 0.0 {
        return Ok(());
    }
    let mut body = Body::new(magnet, driven.winding, &setting)?;
    let feed = Feed { driven, pattern };
    let steady = body.steady(|k| feed.mean_square_a2(k))?.ok_or(Failure::Runaway)?;
    found.hot_spot_k = steady.shot.hot_k;
    found.surface_k = steady.shot.surface_k;
    found.current_warm_a = feed.driven.current_a(steady.shot.mean_k);
    found.power_warm_w = feed.driven.power_w(steady.shot.mean_k);
    Ok(())
}

/// Pulls as driven and in the long run, the second from the field of the first.
fn pulls(magnet: &Magnet, wanted: Wanted, found: &mut Rough) -> Result<(), Failure> {
    if magnet.workpiece.is_none() {
        return Ok(());
    }
    let sign = magnet.ampere_turns().signum();
    let turns = found.turns;
    let at = |amperes: f64| Stage { ampere_turns: sign * turns * amperes, ..magnet.stage() };
    let first = if wanted.pull { found.current_a } else { found.current_warm_a };
    if first.is_nan() {
        return Ok(());
    }
    let mut solved = pull(magnet, &at(first))?;
    let pull_n = solved.pull_n()?;
    let warm = match (wanted.pull_warm, wanted.pull) {
        (true, false) => pull_n,
        (true, true) if found.current_warm_a.is_finite() => {
            solved.again(&magnet.scene(&at(found.current_warm_a)))?;
            solved.pull_n()?
        }
        _ => f64::NAN,
    };
    if wanted.pull {
        found.pull_n = pull_n;
    }
    found.pull_warm_n = warm;
    Ok(())
}
