//! Thermal class and duty claimed, against the hot spot computed for them.

use super::statement::{CONTRADICTION, Statement, comparison, sureness};
use super::{Finding, Ledger};
use coilwright_magnet::answers::answer::Answer;
use coilwright_magnet::answers::question::{HeatQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::material::{ThermalClass, thermal_class};
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::quantity::Dimension;
use coilwright_magnet::sheet::Sheet;
use coilwright_magnet::thermal::setting::USUAL_CLASS;

/// Compares the class (claimed, else the winding's) with the hot spot at the claimed duty and the nameplate's voltage.
pub(super) fn compare(sheet: &Sheet, ledger: &mut Ledger) -> Result<(), Failure> {
    // Whatever is rated must be borne: a voltage or a power alone as much as a class.
    const RATED: [&str; 5] = ["voltage", "current", "power", "duty", "thermal_class"];
    if !RATED.iter().any(|leaf| sheet.has(&format!("nameplate.{leaf}"))) {
        return Ok(());
    }
    let what = || "thermal class, duty".to_owned();
    let given = ["nameplate.thermal_class", "winding.thermal_class"].iter().find_map(|path| sheet.word(path));
    let Some(class) = given.map_or(Some(USUAL_CLASS), thermal_class) else {
        ledger.unjudged.push((what(), "the class is not one of IEC 60085".into()));
        return Ok(());
    };
    let hot = match answer(&rated(sheet)?, &Question::Heat(HeatQuestion::default())) {
        Ok(hot) => hot,
        Err(Failure::Input(faults)) => {
            let why = faults.first().map_or_else(String::new, ToString::to_string);
            ledger.unjudged.push((what(), why));
            return Ok(());
        }
        Err(failure) => return Err(failure),
    };
    judge(sheet, class, &hot, ledger);
    Ok(())
}

/// The sheet as its nameplate rates it.
fn rated(sheet: &Sheet) -> Result<Sheet, Failure> {
    let mut rated = sheet.clone();
    if rated.has("nameplate.voltage") {
        for key in ["voltage", "current", "voltage_limit", "current_limit", "power_limit", "lead_resistance"]
        {
            rated.remove(&format!("drive.{key}"));
        }
    }
    if let Some(duty) = sheet.value("nameplate.duty") {
        if duty < 1.0 {
            rated.set_value("drive.duty", duty);
        } else {
            for key in ["duty", "cycle_time", "on_time"] {
                rated.remove(&format!("drive.{key}"));
            }
        }
    }
    rated.remove("drive.temperature");
    rated.remove("drive.profile");
    Ok(rated)
}

fn judge(sheet: &Sheet, class: ThermalClass, hot: &Answer, ledger: &mut Ledger) {
    let duty = sheet.value("nameplate.duty").or(sheet.value("drive.duty"));
    let class_given = sheet.has("nameplate.thermal_class") || sheet.has("winding.thermal_class");
    let assumed = |given: bool| if given { "" } else { " (assumed)" };
    let rating = format!(
        "class {}{} at {:.0} % duty{}",
        class.name,
        assumed(class_given),
        100.0 * duty.unwrap_or(1.0),
        assumed(duty.is_some())
    );
    let Some(spot) = hot.measure("hot_spot_steady") else {
        without_steady_state(sheet, &rating, hot, ledger);
        return;
    };
    let standard = spot.standard();
    let limit = Statement {
        low: 0.0,
        ..Statement::new("limit", "most that the class allows", class.limit_k, 0.0).noted(rating.clone())
    };
    let computed = Statement::new("hot_spot", "computed hot spot", spot.value, standard)
        .noted("in the long run, in the sheet's surroundings");
    let deviation = computed.deviation(&limit);
    let note = if deviation > CONTRADICTION { "hotter than the class" } else { "the class is kept" };
    ledger.answer.group(
        "Thermal class",
        vec![
            Statement { low: limit.value, ..limit.clone() }.item("thermal", Dimension::Temperature),
            computed.item("thermal", Dimension::Temperature),
            comparison("deviation_thermal", "beyond the class", deviation, Some(note)),
        ],
    );
    ledger.deviations.push(("hot spot beyond the thermal class".into(), deviation));
    if deviation > CONTRADICTION {
        let sentence = format!(
            "The nameplate's {rating} cannot be true in these surroundings: the hot spot reaches {{thermal_hot_spot}}, \
             {{thermal_limit}} is allowed; {}. The winding's resistance, cold and after hours on, settles it.",
            sureness(deviation)
        );
        ledger.findings.push(Finding { deviation, sentence });
    }
}

/// A rating at which the winding never settles; by runaway it cannot be true, whatever the class.
fn without_steady_state(sheet: &Sheet, rating: &str, hot: &Answer, ledger: &mut Ledger) {
    if hot.item("runaway_time").is_none() {
        ledger
            .unjudged
            .push((rating.to_owned(), "no steady state is reached with this drive and cooling".into()));
        return;
    }
    let adiabatic = sheet.word("surroundings.cooling") == Some("adiabatic");
    if adiabatic {
        ledger.unjudged.push((rating.to_owned(), "nothing leaves an adiabatic magnet".into()));
        return;
    }
    ledger.deviations.push(("hot spot beyond the thermal class".into(), f64::INFINITY));
    let sentence = format!(
        "The nameplate's {rating} cannot be true in these surroundings: more heat is made than can leave, and the \
         winding burns. Do not leave it on unattended; volts and amperes over the first minutes settle it."
    );
    ledger.findings.push(Finding { deviation: f64::INFINITY, sentence });
}
