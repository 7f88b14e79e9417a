//! Pull on the workpiece: at the sheet's gap, against gap, current and the workpiece's size, and what limits it.

use crate::answers::pull::curves::Curves;
use crate::answers::pull::plain;
use crate::answers::pull::read::{USUAL_ACCURACY, read, stage};

use crate::answers::advice;
use crate::answers::answer::{Answer, Item};
use crate::answers::caution;
use crate::answers::question::PullQuestion;
use crate::diagnostic::Diagnostic;
use crate::failure::Failure;
use crate::magnet::{Iron, Magnet, Plate, Substance};
use crate::magnetic::effects::{Difference, Sides, band};
use crate::magnetic::scene::{Scene, Stage};
use crate::magnetic::solved;
use crate::magnetic::solved::{NO_ENERGY, Solved, flux_per_turn_wb, no_flux, pull_n};
use crate::material::SteelLaw;
use crate::quantity::{Dimension, UnitSystem};
use crate::sheet::Sheet;
use coilwright_fem::drawing::Drawing;
use coilwright_fem::drawing::Symmetry;
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::Solution;
use coilwright_fem::solve::Estimate;

/// Relative permeability of iron that hinders no flux.
const IDEAL_MU_R: f64 = 1e5;
/// Below this gain no iron is worth naming as the limit.
const WORTH_NAMING: f64 = 0.03;
/// Sections of a plate that are looked at.
const SECTIONS: usize = 240;

/// Answer a pull question.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &PullQuestion) -> Result<Answer, Failure> {
    question.check()?;
    reach(magnet, question)?;
    let stage = stage(sheet, magnet, question)?;
    let accuracy = sheet.value("accuracy.pull").unwrap_or(USUAL_ACCURACY);
    let mut solved = Solved::for_pull(magnet.scene(&stage), accuracy)?;
    let mut answer = Answer::new("pull", &magnet.name);
    let sides = Sides::new(sheet, magnet);
    let staged = |m: &Magnet| self::stage(sheet, m, question).unwrap_or_else(|_| m.stage());
    let (pull, changes) = main_numbers(sheet, &sides, magnet, question, &solved, accuracy, &mut answer)?;
    if !magnet.free {
        check(magnet, &stage, &mut solved, pull, &mut answer)?;
    }
    iron(magnet, &stage, &solved, pull, &mut answer)?;
    let curves =
        Curves { magnet, sides: &sides, staged: &staged, stage: &stage, solved: &solved, changes: &changes };
    curves.all(question, &mut answer)?;
    Ok(answer)
}

/// What is asked over must be something that the magnet has.
fn reach(magnet: &Magnet, question: &PullQuestion) -> Result<(), Diagnostic> {
    let current = magnet.excitation.as_ref().and_then(|e| e.current_a);
    if !question.currents_a.is_empty() && current.is_none() {
        return Err(match magnet.excitation {
            None => Diagnostic::fault(
                "a pull against current was asked for, but the magnet has no winding: its magnetisation is permanent",
                "ask for the pull against gap, thickness or width instead",
            ),
            Some(_) => Diagnostic::fault(
                "a pull against current was asked for, but the sheet gives ampere-turns alone",
                "describe the winding and its drive, so that the current is known",
            ),
        });
    }
    Ok(())
}

/// The pull and what belongs to it; gives back the pull, and what each way of being uncertain changes of it.
fn main_numbers(
    sheet: &Sheet,
    sides: &Sides<'_>,
    magnet: &Magnet,
    question: &PullQuestion,
    solved: &Solved,
    accuracy: f64,
    answer: &mut Answer,
) -> Result<(f64, Vec<f64>), Failure> {
    let drawing = solved.ladder.drawing().clone();
    let motion = solved.ladder.motion(|k| solved.scene.moving[k], [0.0, 1.0])?;
    let (scale, to_pull) = (solved.scene.scale, solved.scene.pull_scale());
    let estimate = solved.ladder.force(&motion);
    let estimate = Estimate { value: to_pull * estimate.value, error: to_pull.abs() * estimate.error };
    let base = solved.ladder.solution().clone();
    if base.strains_matter(&motion) {
        return Err(Failure::Physics(
            "what is pulled touches something else, so no force between them is defined; leave a gap".into(),
        ));
    }
    let values = read(magnet, &solved.scene, &drawing, &base)?;
    let of_flux = solved.ladder.estimate(|s| flux_per_turn_wb(&solved.scene, s));
    let flux_error = of_flux.error / of_flux.value.abs().max(f64::MIN_POSITIVE);
    let staged = |m: &Magnet| stage(sheet, m, question).unwrap_or_else(|_| m.stage());
    let read_all = |m: &Magnet, scene: &Scene, d: &Drawing, s: &Solution| Ok(read(m, scene, d, s)?.into());
    let changes = sides.changes(solved, Some(&values), |_| true, Difference::Both, staged, read_all)?;
    let effects = sides.named(&changes, 0..values.len());
    let effect = |k: usize| effects.get(k).map_or(&[][..], |e| e.as_slice());
    let pull = estimate.value;
    let pull_band = band(pull, effect(0), estimate.error);
    answer.next_measurements = advice::next(&pull_band);
    answer.cautions.extend(caution::pull("pull", pull));
    if let Some(offset_m) = sheet.value("workpiece.offset").filter(|offset| *offset > 0.0 && !question.keeper)
    {
        answer.cautions.extend(caution::off_centre("pull", pull, offset_m));
    }

    let mut items = vec![
        Item::number("pull", "pull", pull, Dimension::Force)
            .with_band(pull_band.clone())
            .with_note(temperature(sheet, magnet)),
    ];
    if let Some(plate) = plate(magnet, question) {
        items.push(Item::number("gap", "gap", plate.gap_m, Dimension::Length));
        answer.summary = "Pulls {pull} through a gap of {gap}.".into();
    } else {
        answer.summary = "Pulls {pull}.".into();
    }
    if question.shear || sheet.has("workpiece.friction") {
        let (mu, u) = plain::friction(sheet);
        let mut parts: Vec<_> = effect(0).iter().map(|(p, l, e)| (p.clone(), l.clone(), mu * e)).collect();
        parts.push(("workpiece.friction".into(), "friction".into(), pull * u));
        items.push(
            Item::number("shear", "force along the face before it slips", mu * pull, Dimension::Force)
                .with_band(band(mu * pull, &parts, mu * estimate.error))
                .with_note(format!("friction {mu:.2}; steel on steel, common practice where not given")),
        );
    }
    answer.group("Pull", items);

    let mut items = Vec::new();
    if let Some(excitation) = &magnet.excitation {
        items.push(Item::number(
            "ampere_turns",
            "ampere-turns",
            excitation.ampere_turns,
            Dimension::AmpereTurns,
        ));
        if let Some(why) = no_flux(&solved.scene, &base) {
            items.push(Item::text("flux_per_turn", "flux through a turn", why));
        } else {
            items.push(
                Item::number("flux_per_turn", "flux through a turn", values[1], Dimension::Flux)
                    .with_band(band(values[1], effect(1), values[1] * flux_error)),
            );
            items.push(
                Item::number(
                    "inductance_per_turn2",
                    "inductance of one turn",
                    values[2],
                    Dimension::Inductance,
                )
                .with_note("flux over ampere-turns: apparent, not incremental"),
            );
            if excitation.winding.is_some() {
                items.push(
                    Item::number("inductance", "inductance", values[3], Dimension::Inductance)
                        .with_band(band(values[3], effect(3), values[3] * flux_error)),
                );
            }
        }
        if base.net_current() == 0.0 {
            let (energy, coenergy) = base.energies();
            items.push(Item::number("energy", "stored energy", scale * energy, Dimension::Energy));
            items.push(Item::number("coenergy", "co-energy", scale * coenergy, Dimension::Energy));
        } else {
            items.push(Item::text("energy", "stored energy", NO_ENERGY));
        }
    }
    answer.group("Winding and field", items);
    let reached = estimate.error / pull.abs().max(f64::MIN_POSITIVE);
    if reached > accuracy {
        answer.warnings.push(format!(
            "the pull is known to {:.2} % numerically, not to the {:.2} % asked for; the band includes it",
            100.0 * reached,
            100.0 * accuracy
        ));
    }
    let shell = solved::pull_by_stress_n(&solved.scene, &drawing, &base)?;
    answer.group(
        "Checks",
        vec![
            Item::number("pull_stress", "pull by stress on a shell", shell, Dimension::Force),
            Item::number("numerical_error", "numerical error of the pull", reached, Dimension::Share)
                .with_note(format!("{} unknowns", solved.ladder.unknowns())),
        ],
    );
    Ok((pull, changes.iter().map(|change| change[0]).collect()))
}

/// At which temperature of the winding the pull is; empty where there is no winding to warm.
fn temperature(sheet: &Sheet, magnet: &Magnet) -> String {
    let Some(excitation) = magnet.excitation.as_ref().filter(|e| e.winding.is_some()) else {
        return String::new();
    };
    let at = Dimension::Temperature.text(excitation.kelvin, None, UnitSystem::Si);
    if sheet.has("drive.temperature") {
        format!(
            "winding at {at}, as `drive.temperature` says; `heat` tells how warm it gets and what it then pulls"
        )
    } else {
        format!("winding cold, at {at}; `heat` tells the warm pull")
    }
}

fn plate<'a>(magnet: &'a Magnet, question: &PullQuestion) -> Option<&'a Plate> {
    if question.keeper { magnet.keeper.as_ref() } else { magnet.workpiece.as_ref() }
}

/// The pull once more, as the change of Π with the gap at constant current.
fn check(
    magnet: &Magnet,
    stage: &Stage,
    solved: &mut Solved,
    pull: f64,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let gap = stage.plates[0].gap_m;
    let step = 0.01 * gap;
    let mut at = |gap_m: f64| {
        let mut other = stage.clone();
        other.plates[0].gap_m = gap_m;
        let scene = magnet.scene(&other);
        let (solution, _) = solved.neighbour(&scene, None)?;
        Ok::<f64, Failure>(scene.in_space * scene.scale * solution.functional())
    };
    let slope = (at(gap + step)? - at(gap - step)?) / (2.0 * step);
    let item = Item::number("pull_coenergy", "pull by the change of co-energy", slope, Dimension::Force)
        .with_note(if pull == 0.0 {
            "the pull above is none".into()
        } else {
            format!("{:+.2} % from the pull above", 100.0 * (slope / pull - 1.0))
        });
    if let Some(group) = answer.groups.last_mut() {
        group.items.push(item);
    }
    Ok(())
}

/// How full each iron is, and what the pull would gain if it hindered no flux.
fn iron(
    magnet: &Magnet,
    stage: &Stage,
    solved: &Solved,
    pull: f64,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let base = solved.ladder.solution().clone();
    // A gain is a difference.
    let mut rough = solved.for_differences()?;
    let (solution, drawing) = rough.neighbour(&solved.scene, None)?;
    let rough_pull = pull_n(&solved.scene, &drawing, &solution)?;
    let mut items = Vec::new();
    let mut most: Option<(f64, String, String)> = None;
    // Nothing limits a pull of none.
    let all = if pull == 0.0 { Vec::new() } else { irons(magnet, stage) };
    for (name, law) in all {
        let Some(region) = solved.scene.region(&name) else { continue };
        let Some(mean) = base.region(region) else { continue };
        let (ideal, ideal_stage) = idealised(magnet, stage, &name);
        let scene = ideal.scene(&ideal_stage);
        let (solution, drawing) = rough.neighbour(&scene, None)?;
        let gain = pull_n(&scene, &drawing, &solution)? / rough_pull - 1.0;
        let full = |b_t: f64| {
            law.saturation_t()
                .map(|js| format!("{:.0} % of its saturation", 100.0 * law.polarisation(b_t) / js))
        };
        let hindrance = format!("pull {:+.1} % if it hindered no flux", 100.0 * gain);
        // The mean over a plate far wider than the magnet says nothing of the section that the flux fills.
        let section = if name == "workpiece" { fullest(magnet, stage, &base) } else { None };
        let note = match (&section, full(mean.b_t)) {
            (None, Some(full)) => format!("{full}; {hindrance}"),
            _ => hindrance.clone(),
        };
        items.push(
            Item::number(
                &format!("b_mean_{name}"),
                &format!("{name}: mean flux density"),
                mean.b_t,
                Dimension::FluxDensity,
            )
            .with_note(note),
        );
        if let Some((x_m, b_t)) = section {
            let at = Dimension::Length.text(x_m, None, UnitSystem::Si);
            let full = full(b_t).map_or(String::new(), |full| format!("; {full}"));
            items.push(
                Item::number(
                    &format!("b_section_{name}"),
                    &format!("{name}: across its fullest section"),
                    b_t,
                    Dimension::FluxDensity,
                )
                .with_note(format!("{at} from the middle{full}")),
            );
        }
        if most.as_ref().is_none_or(|m| gain > m.0) {
            most = Some((gain, name, hindrance));
        }
    }
    if let Some((gain, name, hindrance)) = most {
        let (key, label) = ("limit", "what limits the pull");
        let limit = if gain > WORTH_NAMING {
            Item::text(key, label, name).with_note(hindrance)
        } else {
            Item::text(key, label, "the gap")
        };
        items.insert(0, limit);
    }
    if let Some(leak) = leakage(magnet, stage, &base) {
        items.push(Item::number(
            "leakage",
            "flux of the inner pole that misses the workpiece",
            leak,
            Dimension::Share,
        ));
    }
    answer.group("Iron", items);
    Ok(())
}

fn irons(magnet: &Magnet, stage: &Stage) -> Vec<(String, SteelLaw)> {
    let mut found: Vec<(String, SteelLaw)> = magnet
        .parts
        .iter()
        .filter_map(|p| match &p.substance {
            Substance::Iron(i) => Some((p.name.clone(), i.law.clone())),
            _ => None,
        })
        .collect();
    if let Some(plate) = stage.plates.first() {
        found.push(("workpiece".into(), plate.iron.law.clone()));
    }
    found
}

/// The magnet and stage with one part's iron replaced by iron that hinders no flux.
fn idealised(magnet: &Magnet, stage: &Stage, name: &str) -> (Magnet, Stage) {
    let (mut magnet, mut stage) = (magnet.clone(), stage.clone());
    let ideal = |i: &mut Iron| i.law = SteelLaw::Linear { mu_r: IDEAL_MU_R };
    for part in magnet.parts.iter_mut().filter(|p| p.name == name) {
        if let Substance::Iron(i) = &mut part.substance {
            ideal(i);
        }
    }
    if let (true, Some(plate)) = (name == "workpiece", stage.plates.first_mut()) {
        ideal(&mut plate.iron);
    }
    (magnet, stage)
}

/// Where flux along the plate fills it most, m from the middle, and the mean flux density of that section, T: the flux
/// between the plate's two sides over its thickness, which a corner of the mesh has no part in.
fn fullest(magnet: &Magnet, stage: &Stage, solution: &Solution) -> Option<(f64, f64)> {
    let plate = stage.plates.first().filter(|_| !magnet.free)?;
    let probe = Probe::new(solution);
    let near = magnet.face_m + plate.gap_m;
    let [from, to] = plate.x_m;
    // Where r is the same on both sides, 2πr cancels: the same holds for both symmetries.
    let through = |x: f64| {
        let potential = |y: f64| probe.at([x, y]).potential;
        (potential(near) - potential(near + plate.thickness_m)).abs() / plate.thickness_m
    };
    let sections = (1..SECTIONS).map(|k| from + (to - from) * k as f64 / SECTIONS as f64);
    sections.map(|x| (x, through(x))).max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Share of the inner pole's greatest flux that does not reach the middle of the gap.
fn leakage(magnet: &Magnet, stage: &Stage, solution: &Solution) -> Option<f64> {
    let [inner, outer] = &magnet.poles[..] else { return None };
    let plate = stage.plates.first()?;
    let probe = Probe::new(solution);
    let axial = magnet.symmetry == Symmetry::Axial;
    let flux = |x: f64, y: f64| probe.at([x, y]).potential * if axial { x } else { 1.0 };
    let along = |k: usize| k as f64 / 40.0;
    let root = (0..40).map(|k| flux(inner.x_m[1], magnet.face_m * along(k)).abs()).fold(0.0, f64::max);
    let between = |k: usize| inner.x_m[1] + (outer.x_m[0] - inner.x_m[1]) * along(k);
    let middle = magnet.face_m + 0.5 * plate.gap_m;
    let gap = (0..=40).map(|k| flux(between(k), middle).abs()).fold(0.0, f64::max);
    (root > 0.0).then(|| (1.0 - gap / root).max(0.0))
}
