//! The chart's layout, drawing and pictures.

use super::*;
use coilwright_magnet::answers::answer::{Column, Series};
use coilwright_magnet::quantity::Dimension;

fn column(key: &str, dimension: Dimension, values: Vec<f64>, spread: f64) -> Column {
    let bands = if spread > 0.0 {
        values.iter().map(|v| (v * (1.0 - spread), v * (1.0 + spread))).collect()
    } else {
        Vec::new()
    };
    Column { key: key.into(), label: format!("A <{key}> & more"), dimension, values, bands }
}

fn series(log_x: bool) -> Series {
    let gaps: Vec<f64> = (0..25).map(|i| 5e-5 * 100f64.powf(i as f64 / 24.0)).collect();
    let pulls: Vec<f64> = gaps.iter().map(|g| 450.0 / (1.0 + g / 4e-4).powi(2)).collect();
    let fields: Vec<f64> = pulls.iter().map(|p| 0.04 * p.sqrt()).collect();
    Series {
        key: "pull".into(),
        title: "Pull against gap".into(),
        x: column("gap", Dimension::Length, gaps, 0.0),
        ys: vec![
            column("cold", Dimension::Force, pulls.clone(), 0.08),
            column("hot", Dimension::Force, pulls.iter().map(|p| p * 0.8).collect(), 0.0),
            column("field", Dimension::FluxDensity, fields, 0.0),
        ],
        log_x,
    }
}

#[test]
fn the_svg_is_well_formed_and_self_contained() {
    let series = series(true);
    let curves = [Curves { magnet: "Crane \"2\" <b>", series: &series }];
    let text = svg(&curves, UnitSystem::Si, "f7").unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let ids: Vec<&str> = document.descendants().filter_map(|n| n.attribute("id")).collect();
    assert!(!ids.is_empty() && ids.iter().all(|id| id.starts_with("f7-")), "{ids:?}");
    for node in document.descendants() {
        assert!(!node.has_tag_name("style"), "styles are global to a page");
    }
    let texts: Vec<&str> =
        document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    for expected in ["Pull against gap", "Crane \"2\" <b>", "A <gap> & more, mm", "0.05", "95 % interval"] {
        assert!(texts.contains(&expected), "{expected}: {texts:?}");
    }
    assert!(!text.contains("NaN") && !text.contains("inf"));
}

#[test]
fn kinds_of_quantity_have_panels_of_their_own() {
    let series = series(false);
    let text = svg(&[Curves { magnet: "m", series: &series }], UnitSystem::Imperial, "a").unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let heads = document.descendants().filter(|n| n.has_tag_name("text") && n.attribute("x") == Some("20"));
    let heads: Vec<&str> = heads.filter_map(|n| n.text()).collect();
    assert_eq!(heads, ["Pull against gap", "m", "Force, lbf", "A <field> & more, G"]);
}

#[test]
fn several_magnets_share_a_figure() {
    let series = series(true);
    let curves = [Curves { magnet: "bought", series: &series }, Curves { magnet: "turned", series: &series }];
    let text = svg(&curves, UnitSystem::Si, "a").unwrap();
    assert!(text.contains("bought: A &lt;cold&gt;") && text.contains("turned"));
}

#[test]
fn what_is_not_finite_breaks_the_line_and_nothing_finite_is_an_error() {
    let mut broken = series(true);
    broken.ys.truncate(1);
    broken.ys[0].values[10] = f64::NAN;
    broken.ys[0].bands[10] = (f64::NAN, f64::INFINITY);
    let text = svg(&[Curves { magnet: "m", series: &broken }], UnitSystem::Si, "a").unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let line = document.descendants().find(|n| n.attribute("stroke-width").is_some()).unwrap();
    assert_eq!(line.attribute("d").unwrap().matches('M').count(), 2);
    assert!(!text.contains("NaN"));
    broken.ys[0].values.fill(f64::NAN);
    broken.ys[0].bands.clear();
    assert!(svg(&[Curves { magnet: "m", series: &broken }], UnitSystem::Si, "a").is_err());
}

/// The size of a PNG stands in its first chunk (ISO/IEC 15948, 11.2.2).
#[test]
fn the_png_is_one_and_has_the_doubled_size() {
    let series = series(true);
    let text = svg(&[Curves { magnet: "m", series: &series }], UnitSystem::Si, "a").unwrap();
    let bytes = png(&text).unwrap();
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n");
    assert_eq!(u32::from_be_bytes(bytes[16..20].try_into().unwrap()), 1520);
}
