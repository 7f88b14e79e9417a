//! What a sheet limits, held against the numbers of an answer.

use crate::answers::answer::{Answer, Item, Limit, State, Value};
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::thermal::CEILING_K;

/// What may be limited, and the numbers that it limits: at the end of a run and in the long run alike.
const UPPER: [(&str, Dimension, &[&str]); 5] = [
    ("limits.current", Dimension::Current, &["current", "current_hot", "current_steady"]),
    ("limits.power", Dimension::Power, &["power", "power_hot", "power_steady"]),
    ("limits.mass", Dimension::Mass, &["mass"]),
    ("limits.temperature", Dimension::Temperature, &["hot_spot", "hot_spot_steady"]),
    (
        "limits.surface_temperature",
        Dimension::Temperature,
        &["surface_temperature", "surface_temperature_steady"],
    ),
];

/// Hold the limits of a sheet against an answer about it; what the answer does not know, `others` may.
pub(crate) fn judge(sheet: &Sheet, answer: &Answer, others: &[Item]) -> Vec<Limit> {
    let find = |key: &str| answer.item(key).or_else(|| others.iter().find(|i| i.key == key));
    let mut found = Vec::new();
    for (path, dimension, keys) in UPPER {
        let stated = sheet.value(path);
        // A winding's class limits it whether or not the sheet says so once more.
        let class = || answer.number("class_limit").filter(|_| path == "limits.temperature");
        let Some(limit) = stated.or_else(class) else { continue };
        let by = if stated.is_some() { path } else { "thermal class" };
        let judged =
            keys.iter().filter_map(|key| against(find(key)?, by, limit, Side::Above)).collect::<Vec<_>>();
        if judged.is_empty() && stated.is_some() {
            let (key, label) = (String::new(), String::new());
            found.push(Limit {
                by: by.into(),
                key,
                label,
                limit,
                value: None,
                dimension,
                state: State::NotJudged,
            });
        }
        found.extend(judged);
    }
    for item in answer.groups.iter().flat_map(|g| &g.items).filter(|i| i.key == "runaway") {
        found.push(Limit {
            by: "runaway".into(),
            key: item.key.clone(),
            label: item.label.clone(),
            limit: CEILING_K,
            value: None,
            dimension: Dimension::Temperature,
            state: State::Exceeded,
        });
    }
    for (path, key) in [("backup.hold_time", "backup_holds"), ("limits.safety_factor", "lot_factor")] {
        let limited = sheet.value(path).zip(find(key));
        found.extend(limited.and_then(|(least, item)| against(item, path, least, Side::Below)));
    }
    found
}

/// On which side of a limit a number exceeds it.
#[derive(Clone, Copy)]
enum Side {
    Above,
    Below,
}

fn against(item: &Item, by: &str, limit: f64, side: Side) -> Option<Limit> {
    let Value::Number(m) = &item.value else { return None };
    let beyond = |value: f64| match side {
        Side::Above => value > limit,
        Side::Below => value < limit,
    };
    let state = match &m.band {
        _ if beyond(m.value) => State::Exceeded,
        Some(band) if beyond(band.low) || beyond(band.high) => State::Doubtful,
        _ => State::Kept,
    };
    Some(Limit {
        by: by.into(),
        key: item.key.clone(),
        label: item.label.clone(),
        limit,
        value: Some(m.clone()),
        dimension: m.dimension,
        state,
    })
}
