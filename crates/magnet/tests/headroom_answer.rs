//! Headroom against what the warm-up itself says.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use coilwright_magnet::answers::answer::{Answer, Value};
use coilwright_magnet::answers::question::{HeadroomQuestion, HeatQuestion, Question};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask::answer;
use coilwright_magnet::sheet::Sheet;

const POT: &str = r#"
form = "pot"
body.outer_diameter = "60 mm"
body.height = "36 mm"
body.pole_diameter = "24 mm"
body.wall = "3.5 mm"
body.back = "6 mm"
body.material = "low-carbon steel"
winding.resistance = "72 ohm"
winding.impregnation = "epoxy"
winding.thermal_class = "B"
drive.voltage = "24 V"
surroundings.temperature = "24 °C"
surroundings.emissivity = 0.85
surroundings.mounting = "hanging"
"#;

fn sheet(sets: &[(&str, &str)]) -> Sheet {
    let mut sheet = Sheet::parse(POT, "test").unwrap().0;
    for (path, value) in sets {
        sheet.set(path, value).unwrap_or_else(|fault| panic!("{path}: {fault}"));
    }
    sheet
}

fn headroom(sheet: &Sheet, question: HeadroomQuestion) -> Result<Answer, Failure> {
    answer(sheet, &Question::Heat(HeatQuestion { headroom: Some(question), ..HeatQuestion::default() }))
}

fn heat(sheet: &Sheet, duration_s: f64) -> Answer {
    let question = HeatQuestion { duration_s: Some(duration_s), ..HeatQuestion::default() };
    answer(sheet, &Question::Heat(question)).unwrap()
}

fn column<'a>(answer: &'a Answer, series: &str, key: &str) -> (&'a [f64], &'a [f64]) {
    let series = answer.series.iter().find(|s| s.key == series).unwrap_or_else(|| panic!("no {series}"));
    let column = series.ys.iter().find(|c| c.key == key).unwrap_or_else(|| panic!("no {key}"));
    (&series.x.values, &column.values)
}

fn volts(v: f64) -> String {
    format!("{v} V")
}

/// At the highest voltage that heat permits the warm-up's own steady state is at the limit; the longest time on brings it just
/// there at the unfavourable end of the band; and cycles of the permitted duty keep it there, to one per cent of the rise.
#[test]
fn headroom_is_what_the_warm_up_says() {
    let base = sheet(&[]);
    let question =
        HeadroomQuestion { levels: vec![24.0, 40.0, 48.0], cycle_s: Some(300.0), ..Default::default() };
    let a = headroom(&base, question).unwrap();
    let limit = a.number("class_limit").unwrap();
    let rise = limit - 297.15;

    let most = a.number("level_still_air").unwrap();
    let at_most = heat(&sheet(&[("drive.voltage", &volts(most))]), 60.0);
    assert!((at_most.number("hot_spot_steady").unwrap() - limit).abs() < 0.05);
    assert!(
        (at_most.number("power_steady").unwrap() / a.number("permitted_power_still_air").unwrap() - 1.0)
            .abs()
            < 1e-3
    );

    // A voltage by which the power is higher as by the band of what is permitted.
    let safe = a.number("level_safe_still_air").unwrap() / most;
    assert!((0.7..0.99).contains(&safe), "{safe}");
    let harder = |level: f64| volts(level / safe);

    let (levels, from_cold) = column(&a, "on_time_still_air", "cold");
    let (_, from_warm) = column(&a, "on_time_still_air", "warm");
    for ((level, cold), warm) in levels.iter().zip(from_cold).zip(from_warm) {
        let run = heat(&sheet(&[("drive.voltage", &harder(*level))]), *cold);
        let hot = run.number("hot_spot").unwrap();
        assert!((hot - limit).abs() < 0.005 * rise, "{hot} K after {cold} s at {level} V");
        assert!(warm < cold, "{warm} s from warm, {cold} s from cold");
    }

    let (levels, duties) = column(&a, "duty", "duty_still_air");
    for (level, duty) in levels.iter().zip(duties).filter(|d| *d.1 < 1.0) {
        let duty = format!("{} %", 100.0 * duty);
        let cycling = sheet(&[
            ("drive.voltage", &harder(*level)),
            ("drive.duty", &duty),
            ("drive.cycle_time", "5 min"),
        ]);
        let hot = heat(&cycling, 60.0).number("hot_spot_steady").unwrap();
        assert!((hot - limit).abs() < 0.01 * rise, "{hot} K at {duty} of {level} V");
    }
    assert!(duties[0] == 1.0 && duties[2] < duties[1], "{duties:?}");
}

/// Better cooling permits more; a thinner duty permits more, and never more than the ideal power ratio 1/ED of DIN VDE
/// 0580's trade notes, with copper at one temperature: √(1/ED) of the voltage.
#[test]
fn more_cooling_and_less_duty_permit_more() {
    let question = HeadroomQuestion {
        coolings: ["still air", "forced air", "cold plate"].map(String::from).to_vec(),
        ..HeadroomQuestion::default()
    };
    let a = headroom(&sheet(&[("surroundings.coolant_temperature", "20 °C")]), question).unwrap();
    let level = |key: &str| a.number(key).unwrap_or_else(|| panic!("no {key}"));
    assert!(level("level_still_air") < level("level_forced_air"));
    assert!(level("level_forced_air") < level("level_cold_plate"));
    for cooling in ["still_air", "forced_air", "cold_plate"] {
        let mut last = level(&format!("level_{cooling}"));
        let good = last;
        for (ed, duty) in [("60", 0.6f64), ("40", 0.4), ("25", 0.25), ("15", 0.15), ("5", 0.05)] {
            let now = level(&format!("level_{ed}_{cooling}"));
            assert!(now > last && now < good * (1.0 / duty).sqrt() * (1.0 + 1e-6), "{cooling} {ed}: {now} V");
            last = now;
        }
        let Value::Number(m) = &a.item(&format!("level_{cooling}")).unwrap().value else { panic!() };
        assert!(m.band.as_ref().is_some_and(|b| b.standard > 0.0));
    }
    let (levels, hot) = column(&a, "headroom", "hot_spot_still_air");
    let (_, limit) = column(&a, "headroom", "limit");
    assert_eq!((levels.len(), levels[0], levels[19]), (20, 12.0, 48.0));
    assert!(hot.windows(2).all(|w| w[1] > w[0]));
    // The crossing of the curve and the limit is the highest level.
    let above = hot.iter().zip(limit).position(|(h, l)| h > l).unwrap();
    assert!((levels[above - 1]..=levels[above]).contains(&level("level_still_air")));
    let values = a.series.iter().flat_map(|s| s.ys.iter().flat_map(|c| &c.values));
    assert!(values.into_iter().all(|v| v.is_finite()));
}

/// At constant current the hot spot may never settle: no level is permitted by that, and on-times end.
#[test]
fn constant_current_has_headroom_too() {
    let mut at = sheet(&[]);
    at.remove("drive.voltage");
    at.set("drive.current", "0.3 A").unwrap();
    let a = headroom(&at, HeadroomQuestion { levels: vec![0.2, 0.4, 1.5], ..Default::default() }).unwrap();
    let (levels, hot) = column(&a, "headroom", "hot_spot_still_air");
    assert_eq!(levels, [0.2, 0.4, 1.5]);
    assert!(hot[0].is_finite() && hot[2].is_nan(), "what never settles has no temperature: {hot:?}");
    let (_, cold) = column(&a, "on_time_still_air", "cold");
    assert!(cold.last().unwrap() > &10.0 && cold.last().unwrap() < &600.0);
}

#[test]
fn nothing_is_permitted_beyond_the_limit_and_words_are_checked() {
    let hot = sheet(&[("surroundings.temperature", "120 °C"), ("winding.thermal_class", "A")]);
    let a = headroom(&hot, HeadroomQuestion::default()).unwrap();
    assert_eq!(a.number("level_still_air"), Some(0.0));
    let Value::Text(why) = &a.item("none_still_air").unwrap().value else { panic!() };
    assert!(why.contains("as warm as the limit"), "{why}");
    assert!(a.summary.starts_with("With still air no drive is safe continuously"), "{}", a.summary);
    let (_, duties) = column(&a, "duty", "duty_still_air");
    assert!(duties.iter().all(|d| *d == 0.0));

    let coolings = vec!["still air".to_string(), "ice".to_string()];
    let bad = headroom(&sheet(&[]), HeadroomQuestion { coolings, ..Default::default() });
    assert!(matches!(bad, Err(Failure::Input(ref f)) if f[0].to_string().contains("ice")), "{bad:?}");
    let none = headroom(&sheet(&[]), HeadroomQuestion { levels: vec![0.0], ..Default::default() });
    assert!(matches!(none, Err(Failure::Input(_))));
    let adiabatic = HeadroomQuestion { coolings: vec!["adiabatic".into()], ..Default::default() };
    let a = headroom(&sheet(&[]), adiabatic).unwrap();
    let Value::Text(why) = &a.item("none_adiabatic").unwrap().value else { panic!() };
    assert!(why.contains("no heat"), "{why}");
    assert!(a.summary.starts_with("Where no heat leaves no drive is safe continuously"), "{}", a.summary);
    // And hardly anything is as unsure as itself, but never less than nothing.
    let near =
        sheet(&[("surroundings.temperature", "24 °C ± 2 K"), ("limits.surface_temperature", "24.5 °C")]);
    let a = headroom(&near, HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
    let band = a.measure("level_still_air").and_then(|m| m.band.clone()).unwrap();
    assert!(band.low >= 0.0 && band.high > a.number("level_still_air").unwrap(), "{band:?}");
}

/// The magnet's own inputs count. A voltage for good is the root of permitted power times resistance: for a resistance
/// known to 3 %, half of its standard uncertainty, while the power hardly knows the resistance (Joule).
#[test]
fn the_magnet_itself_is_in_the_bands() {
    let own = sheet(&[("winding.resistance", "72 ohm ± 3 %"), ("body.outer_diameter", "50 mm ± 0.5 mm")]);
    let a = headroom(&own, HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
    let relative = |key: &str, path: &str| {
        let Value::Number(m) = &a.item(key).unwrap().value else { panic!("{key}") };
        let band = m.band.as_ref().unwrap();
        band.contributors.iter().filter(|c| c.path == path).map(|c| c.effect / m.value).sum::<f64>()
    };
    let u = 0.03 / 3f64.sqrt();
    let level = relative("level_still_air", "winding.resistance") / u;
    assert!((level - 0.5).abs() < 0.05, "{level}");
    assert!(relative("permitted_power_still_air", "winding.resistance").abs() < 0.1 * u);
    // A shell one per cent wider gives off between one and two per cent more, for shell and back are that much larger.
    let wider = relative("permitted_power_still_air", "body.outer_diameter") / (0.01 / 3f64.sqrt());
    assert!((0.7..2.2).contains(&wider), "{wider}");
    // What only the drive has is what is asked for.
    assert_eq!(relative("level_still_air", "drive.voltage"), 0.0);
}

fn note<'a>(answer: &'a Answer, key: &str) -> &'a str {
    &answer.item(key).unwrap_or_else(|| panic!("no {key}")).note
}

/// A sheet's own limits bind where they come before the insulation's, and are named; the warm-up itself then says that
/// they are just met.
#[test]
fn the_sheets_limits_bind_and_are_named() {
    let level = |sets: &[(&str, &str)], by: &str| {
        let a =
            headroom(&sheet(sets), HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
        assert!(note(&a, "level_still_air").contains(by), "{by}: {}", note(&a, "level_still_air"));
        let level = a.number("level_still_air").unwrap();
        (a, heat(&sheet(&[&[("drive.voltage", &*volts(level))], sets].concat()), 60.0))
    };
    let (a, at) = level(&[("limits.surface_temperature", "55 °C")], "limits.surface_temperature");
    assert!((at.number("surface_temperature_steady").unwrap() - 328.15).abs() < 0.05);
    assert!(a.number("level_40_still_air").unwrap() > a.number("level_still_air").unwrap());
    let (a, at) = level(&[("limits.current", "0.35 A")], "limits.current");
    assert!((at.number("current").unwrap() / 0.35 - 1.0).abs() < 1e-6);
    assert_eq!(a.number("level_5_still_air"), a.number("level_still_air"));
    let (_, at) = level(&[("limits.power", "8.5 W")], "limits.power");
    assert!((at.number("power").unwrap() / 8.5 - 1.0).abs() < 1e-6);
    // What the supply cannot give is not promised at a short duty, which leaves the winding nearly cold.
    let (a, _) = level(&[("drive.current_limit", "0.5 A")], "hot spot");
    assert!(note(&a, "level_5_still_air").contains("supply's current limit"));
    let most = a.number("level_5_still_air").unwrap();
    let short = [
        ("drive.current_limit", "0.5 A"),
        ("drive.voltage", &*volts(most)),
        ("drive.duty", "5 %"),
        ("drive.cycle_time", "5 min"),
    ];
    let ohm = heat(&sheet(&short), 60.0).number("resistance_steady").unwrap();
    // The cycles' warmest moment has the resistance that is told there, and their mean the one that the supply is reckoned by.
    assert!(most < 0.5 * ohm && most > 0.98 * 0.5 * ohm, "{most} V for {ohm} ohm");
}

/// What a supply holds at a tenth of an ampere leaves the winding cold: its limit is reached at so many volts as that needs then.
/// And what is safe at a duty is what keeps the limit at the unfavourable end of the warm-up's own band.
#[test]
fn safe_is_the_unfavourable_end() {
    let held = sheet(&[("drive.current_limit", "0.1 A")]);
    let a = headroom(&held, HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
    let reached = a.number("level_safe_still_air").unwrap();
    let ohm = heat(&held, 60.0).number("resistance_steady").unwrap();
    assert!((reached / (0.1 * ohm) - 1.0).abs() < 1e-3, "{reached} V for 0.1 A in {ohm} ohm");
    let a = headroom(&sheet(&[]), HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
    let safe = volts(a.number("level_safe_40_still_air").unwrap());
    let on = [("drive.voltage", &*safe), ("drive.duty", "40 %"), ("drive.cycle_time", "5 min")];
    let warm = heat(&sheet(&on), 60.0);
    let high = warm.measure("hot_spot_steady").and_then(|m| m.band.as_ref()).unwrap().high;
    assert!(high < 403.15 && high > 396.0, "{high} K");
}

/// Where no heat leaves, the time is what is unsure: told is what keeps the limit at the upper end of the warm-up's band.
#[test]
fn adiabatic_times_keep_the_limit_at_the_unfavourable_end() {
    let closed = sheet(&[("surroundings.cooling", "adiabatic")]);
    let a = headroom(&closed, HeadroomQuestion { levels: vec![48.0], ..Default::default() }).unwrap();
    let (_, cold) = column(&a, "on_time_adiabatic", "cold");
    let at = sheet(&[("surroundings.cooling", "adiabatic"), ("drive.voltage", "48 V")]);
    let high = heat(&at, cold[0]).measure("hot_spot").and_then(|m| m.band.as_ref()).map(|b| b.high).unwrap();
    assert!(high < 403.65 && high > 392.0, "{high} K after {} s", cold[0]);
}

/// How warm the magnet's own drive makes it is as sure here as where it is asked for itself, inside and outside.
#[test]
fn temperatures_are_as_sure_as_in_the_warm_up() {
    let own = sheet(&[("winding.resistance", "72 ohm ± 3 %"), ("surroundings.emissivity", "0.5 ± 0.1")]);
    let a = headroom(&own, HeadroomQuestion { levels: vec![24.0], ..Default::default() }).unwrap();
    let b = heat(&own, 60.0);
    for (ours, asked) in [("hot_spot", "hot_spot_steady"), ("surface_own", "surface_temperature_steady")] {
        let width = |answer: &Answer, key: &str| {
            let band = answer.measure(key).and_then(|m| m.band.clone()).unwrap_or_else(|| panic!("no {key}"));
            band.high - band.low
        };
        let ratio = width(&a, &format!("{ours}_still_air")) / width(&b, asked);
        assert!((ratio - 1.0).abs() < 0.12, "{ours}: {ratio}");
    }
}

/// Beside the numbers stand the cautions for what the highest level does; a drive with pauses is told apart.
#[test]
fn cautions_and_duty_stand_beside_the_numbers() {
    let cycling = sheet(&[("drive.duty", "40 %")]);
    let a = headroom(&cycling, HeadroomQuestion { levels: vec![24.0, 130.0], ..Default::default() }).unwrap();
    let of = |word: &str| a.cautions.iter().any(|c| c.text.contains(word) && a.item(&c.about).is_some());
    assert!(of("electricians") && of("Opening the circuit") && of("burn skin"), "{:?}", a.cautions);
    assert!(note(&a, "hot_spot_still_air").contains("100 % duty"));
    assert!(
        !note(&headroom(&sheet(&[]), HeadroomQuestion::default()).unwrap(), "hot_spot_still_air")
            .contains("duty")
    );
}

/// Where the surface's limit binds, its chart comes first and says so; the class's no longer calls safe what is not. The
/// headline is the lower end of the band, and the sheet's own duty is among the columns, all with bands.
#[test]
fn the_headline_is_safe_and_the_chart_shows_what_binds() {
    let own = sheet(&[
        ("limits.surface_temperature", "60 °C"),
        ("drive.duty", "33 %"),
        ("drive.cycle_time", "5 min"),
    ]);
    let a =
        headroom(&own, HeadroomQuestion { levels: vec![12.0, 24.0, 36.0], ..Default::default() }).unwrap();
    let charts: Vec<&str> = a.series.iter().map(|s| s.key.as_str()).collect();
    assert_eq!(charts[..2], ["headroom_surface", "headroom"]);
    let label = |k: usize| &a.series[k].ys.last().unwrap().label;
    assert!(label(0).contains("safe below") && !label(1).contains("safe below"), "{} {}", label(0), label(1));
    assert!(a.series[..2].iter().all(|s| s.ys[0].bands.len() == 3));
    let band = |key: &str| {
        let Value::Number(m) = &a.item(key).unwrap().value else { panic!("{key}") };
        (m.value, m.band.clone().unwrap_or_else(|| panic!("{key} has no band")))
    };
    let (_, most) = band("level_still_air");
    assert!((a.number("level_safe_still_air").unwrap() / most.low - 1.0).abs() < 1e-9);
    assert!(a.summary.contains("{level_safe_still_air}"), "{}", a.summary);
    for key in ["level_33_still_air", "level_25_still_air", "hot_spot_still_air", "surface_own_still_air"] {
        let (value, band) = band(key);
        assert!(band.low < value && value < band.high, "{key}");
    }
    // At the safe level the surface keeps its limit even where everything is unfavourable.
    let safe = volts(a.number("level_safe_still_air").unwrap());
    let hot = heat(&sheet(&[("drive.voltage", &safe)]), 60.0);
    let Value::Number(m) = &hot.item("surface_temperature_steady").unwrap().value else { panic!() };
    assert!((m.band.as_ref().unwrap().high - 333.15).abs() < 3.0, "{:?}", m.band);
}
