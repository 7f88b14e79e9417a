//! Headroom as it is shown.

use crate::answers::answer::{Answer, Column, Item, Series};
use crate::answers::caution;
use crate::answers::headroom::permit::Drive;
use crate::answers::headroom::permit::Permit;
use crate::answers::headroom::permit::{Place, Row};
use crate::coupled::operating_point::Strength;
use crate::coupled::switch::clamps::opening_v;
use crate::failure::Failure;
use crate::quantity::{Dimension, UnitSystem};
use crate::thermal::duty::{VDE_CYCLE_S, short_time_rating_s};
use crate::uncertainty::band::Band;

/// A temperature of a row in the long run with its 95 % interval, K.
type Settled = fn(&Row) -> (f64, (f64, f64));

/// What is asked.
pub(crate) struct Frame<'a> {
    pub(crate) drive: &'a Drive<'a>,
    pub(crate) levels: &'a [f64],
    /// The sheet's own level.
    pub(crate) set: f64,
    pub(crate) cycle_s: f64,
    /// The sheet's own drive is on all the time.
    pub(crate) steady: bool,
}

/// Curves over the levels, and the numbers at the sheet's own and at the highest.
pub(crate) fn show(
    permits: &[Permit],
    frame: &Frame<'_>,
    strength: &Strength,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let Frame { drive, levels, set, cycle_s, steady } = *frame;
    let what = if drive.by_current { "current" } else { "voltage" };
    let x = || Column::new(what, what, drive.kind(), levels.to_vec());
    let rows =
        |key: &str, of: &dyn Fn(&Permit, usize) -> f64, kind: Dimension, suffix: &str| -> Vec<Column> {
            permits
                .iter()
                .map(|p| {
                    let values = (0..levels.len()).map(|k| of(p, k)).collect();
                    let name = p.word.replace(' ', "_");
                    Column::new(&format!("{key}_{name}"), &format!("{}{suffix}", p.word), kind, values)
                })
                .collect()
        };
    let limit = &permits[0].setting.limit;
    // What never settles has no temperature in the long run: not a number.
    let places: [(Place, &str, Settled); 2] = [
        (Place::HotSpot, "hot_spot", |r| (r.hot_k, r.hot_band_k)),
        (Place::Surface, "surface", |r| (r.surface_k, r.surface_band_k)),
    ];
    let drawn = |place: Place, key: &str, of: Settled| {
        let bound = permits[0].bounds.iter().find(|b| b.place == place)?;
        let mut columns = rows(key, &|p, k| of(&p.rows[k]).0, Dimension::Temperature, "");
        for (column, p) in columns.iter_mut().zip(permits) {
            column.bands = p.rows.iter().map(|r| of(r).1).collect();
        }
        let binds = permits.iter().all(|p| p.tightest().place == place);
        columns.push(Column::new(
            "limit",
            &format!(
                "limit, {}{}",
                bound.name.trim_start_matches("the hot spot, "),
                if binds { ": safe below" } else { "" }
            ),
            Dimension::Temperature,
            vec![bound.limit_k; levels.len()],
        ));
        Some(columns)
    };
    // Nothing runs hotter than the limit for long: what exceeds it is shown at the limit.
    let lasting = |p: &Permit, row: &Row| if row.kept { row.mean_k } else { p.tightest().heat.mean_k };
    let cold = |p: &Permit, level: f64| strength.pull_n(drive.current_a(level, p.setting.ambient_k));
    let warm = |p: &Permit, level: f64, row: &Row| strength.pull_n(drive.current_a(level, lasting(p, row)));
    let warm_pull = |p: &Permit, k: usize| warm(p, levels[k], &p.rows[k]);
    let mut pulls = vec![Column::new(
        "cold",
        "cold",
        Dimension::Force,
        levels.iter().map(|l| cold(&permits[0], *l)).collect(),
    )];
    pulls.extend(rows("hot", &warm_pull, Dimension::Force, ", hot"));
    let mut add = |key: &str, title: String, ys: Vec<Column>| {
        answer.series.push(Series { key: key.into(), title, x: x(), ys, log_x: false });
    };
    let titles = ["Hot spot in the long run", "Hottest place outside in the long run"];
    let keys = ["headroom", "headroom_surface"];
    let mut charts: Vec<_> = places.into_iter().zip(keys.into_iter().zip(titles)).collect();
    // What binds comes first.
    charts.sort_by_key(|((place, ..), _)| permits[0].tightest().place != *place);
    for ((place, key, of), (series, title)) in charts {
        if let Some(columns) = drawn(place, key, of) {
            add(series, title.into(), columns);
        }
    }
    add(
        "duty",
        format!("Permitted duty in cycles of {}", Dimension::Time.text(cycle_s, None, UnitSystem::Si)),
        rows("duty", &|p, k| p.rows[k].duty, Dimension::Share, ""),
    );
    add("headroom_pull", "Pull, cold and as warm as it may get".into(), pulls);

    for p in permits {
        let limited: Vec<usize> = (0..levels.len())
            .filter(|k| p.rows[*k].cold_s.is_finite() && p.rows[*k].warm_s.is_finite())
            .collect();
        if !limited.is_empty() {
            let of =
                |value: fn(&Row) -> f64| limited.iter().map(|k| value(&p.rows[*k])).collect::<Vec<f64>>();
            answer.series.push(Series {
                key: format!("on_time_{}", p.word.replace(' ', "_")),
                title: format!("Longest time on with {}, where it is limited", p.word),
                x: Column::new(what, what, drive.kind(), limited.iter().map(|k| levels[*k]).collect()),
                ys: vec![
                    Column::new("cold", "from cold", Dimension::Time, of(|r| r.cold_s)),
                    Column::new("warm", "from warm", Dimension::Time, of(|r| r.warm_s)),
                ],
                log_x: false,
            });
        }
    }

    let own = if steady { "" } else { "; at 100 % duty, though the sheet's own drive is intermittent" };
    let mut items = Vec::new();
    for p in permits {
        let key = |what: &str| format!("{what}_{}", p.word.replace(' ', "_"));
        let (row, level) = (&p.own, set);
        let at = drive.kind().text(level, None, UnitSystem::Si);
        if row.hot_k.is_finite() {
            let kind = Dimension::Temperature;
            let hot = Item::number(&key("hot_spot"), &format!("hot spot with {}", p.word), row.hot_k, kind);
            items.push(between(hot, row.hot_band_k).with_note(format!("at {at}, in the long run{own}")));
            let outside = Item::number(&key("surface_own"), "hottest place outside", row.surface_k, kind);
            items.push(between(outside, row.surface_band_k).with_note(format!("likewise{own}")));
            let worst_k = row.surface_k.max(row.surface_band_k.1);
            answer.cautions.extend(caution::surface(&key("surface_own"), worst_k));
        } else {
            let burns = "thermal runaway: the winding burns unless the current is cut";
            items.push(Item::text(&key("runaway_in"), &format!("{at} with {}", p.word), burns));
        }
        let names: Vec<&str> = p.bounds.iter().map(|b| b.name.as_str()).collect();
        let kept = if row.kept { "kept continuously".into() } else { on_times(row) };
        items.push(
            Item::text(&key("class"), &format!("{} with {}", names.join(" and "), p.word), kept)
                .with_note(format!("at {at}, at the unfavourable end of the band{own}")),
        );
        items.push(Item::number(&key("pull_cold"), "pull, cold", cold(p, level), Dimension::Force));
        items.push(
            Item::number(&key("pull_hot"), "pull, hot", warm(p, level, row), Dimension::Force)
                .with_note(own.trim_start_matches("; ")),
        );
        // At the highest level.
        let last = levels.len() - 1;
        if !p.rows[last].kept {
            let at = drive.kind().text(levels[last], None, UnitSystem::Si);
            items.push(
                Item::text(
                    &key("at_most"),
                    &format!("{at} with {}", p.word),
                    format!("{}; {:.0} % ED in cycles", on_times(&p.rows[last]), 100.0 * p.rows[last].duty),
                )
                .with_note("at the unfavourable end of the band"),
            );
        }
    }
    items.push(Item::number(
        "class_limit",
        &format!("limit of the hot spot, {}", limit.name),
        limit.kelvin,
        Dimension::Temperature,
    ));
    items.push(
        Item::number("cycle_time", "cycle for the duty", cycle_s, Dimension::Time).with_note(
            if (cycle_s - VDE_CYCLE_S).abs() < 1e-9 { "DIN VDE 0580's" } else { "IEC 60034-1, S3" },
        ),
    );
    answer.group("At the sheet's own drive and at the highest", items);
    let level_of = |p: &Permit| {
        let bound = p.tightest();
        p.capped(p.safe * drive.level_for(bound.heat.power_w, bound.heat.mean_k), &bound.name)
    };
    let best = permits.iter().max_by(|a, b| level_of(a).0.total_cmp(&level_of(b).0)).unwrap_or(&permits[0]);
    let word = best.word.replace([' ', '-'], "_");
    let best_key = format!("level_safe_{word}");
    let with = match best.word.as_str() {
        "adiabatic" => "Where no heat leaves".into(),
        word => format!("With {word}"),
    };
    answer.summary = match level_of(best) {
        (level, _) if level <= 0.0 => format!(
            "{with} no drive is safe continuously: {{none_{word}}}. As the sheet drives it: {{class_{word}}}."
        ),
        (_, by) => format!(
            "{with} the drive is safe up to {{{best_key}}} continuously, the lower end of {{level_{word}}}; what binds \
             then is {by}."
        ),
    };
    // The highest level shown anywhere, permitted at a short duty or asked for.
    let shown: Vec<(String, f64)> = answer
        .groups
        .iter()
        .flat_map(|g| &g.items)
        .filter(|i| i.key.starts_with("level_"))
        .filter_map(|i| Some((i.key.clone(), answer.number(&i.key)?)))
        .collect();
    let asked = levels[levels.len() - 1];
    let top = shown.into_iter().chain([(best_key, asked)]).max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((key, top)) = top {
        let coldest_k = best.setting.coldest_k();
        if !drive.by_current {
            answer.cautions.extend(caution::supply(&key, top));
        }
        let (_, most_a) = strength.linkage.range();
        let current_a = drive.current_a(top, coldest_k).min(most_a);
        let ohm = drive.winding().resistance_ohm(coldest_k);
        answer.cautions.extend(caution::inductive(&key, opening_v(&strength.linkage, ohm, current_a)?));
    }
    answer
        .warnings
        .push("permitted duty and on-times are followed in full, at the unfavourable end of the band".into());
    Ok(())
}

/// With the 95 % interval, where both of its ends settle.
fn between(item: Item, (low, high): (f64, f64)) -> Item {
    if low.is_finite() && high.is_finite() {
        item.with_band(Band { standard: 0.25 * (high - low), low, high, contributors: Vec::new() })
    } else {
        item
    }
}

fn on_times(row: &Row) -> String {
    let time = |s: f64| match s {
        0.0 => "not at all".to_string(),
        s if s.is_infinite() => "continuously".into(),
        s => Dimension::Time.text(s, None, UnitSystem::Si),
    };
    let preferred = short_time_rating_s(row.cold_s);
    let rating = preferred.map_or(String::new(), |s| format!(" (S2 {:.0} min)", s / 60.0));
    format!("{} from cold{rating}, {} from warm", time(row.cold_s), time(row.warm_s))
}
