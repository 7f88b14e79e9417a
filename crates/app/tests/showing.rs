//! Whole answers as they stand in a terminal, and as charts.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use crate::fixture;
use coilwright::chart::{self, Curves};
use coilwright::terminal::{Extent, Layout, render};
use coilwright_magnet::quantity::UnitSystem;

fn shown(width: usize, units: UnitSystem) -> String {
    let styled = render(&fixture::pull(), Extent::Everything, Layout { width, units });
    anstream::adapter::strip_str(&styled).to_string()
}

#[test]
fn a_wide_terminal() {
    insta::assert_snapshot!(shown(100, UnitSystem::Si));
}

#[test]
fn a_narrow_terminal_in_gauss() {
    insta::assert_snapshot!(shown(60, UnitSystem::GaussKgf));
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    use unicode_width::UnicodeWidthStr;
    for width in [60, 80, 100, 120] {
        for line in shown(width, UnitSystem::Imperial).lines() {
            assert!(line.width() <= width, "{width}: {line}");
            assert_eq!(line, line.trim_end(), "no idle spaces");
        }
    }
}

#[test]
fn nothing_is_left_out() {
    let text = shown(100, UnitSystem::Si);
    let answer = fixture::pull();
    for item in answer.groups.iter().flat_map(|g| &g.items) {
        assert!(text.contains(&item.label), "{}", item.label);
    }
    for expected in ["Fingers get pinched", "EN 13155, from memory", "± 24", "body.back", "14 W", "feeler"] {
        assert!(text.contains(expected), "{expected}");
    }
}

#[test]
fn control_characters_of_a_sheet_do_not_reach_the_terminal() {
    let mut answer = fixture::pull();
    answer.magnet = "evil\u{1b}[2J\u{7}".into();
    answer.warnings = vec!["\u{1b}]0;title\u{7}".into()];
    let styled = render(&answer, Extent::Everything, Layout { width: 80, units: UnitSystem::Si });
    assert!(!styled.contains("\u{1b}[2J") && !styled.contains('\u{7}') && !styled.contains("\u{1b}]"));
}

#[test]
fn charts_of_the_answer_are_well_formed() {
    let answer = fixture::pull();
    for (index, series) in answer.series.iter().enumerate() {
        let curves = [Curves { magnet: &answer.magnet, series }];
        let svg = chart::svg(&curves, UnitSystem::Si, &format!("c{index}")).unwrap();
        roxmltree::Document::parse(&svg).unwrap();
        let png = chart::png(&svg).unwrap();
        assert!(png.len() > 4000);
        if let Some(folder) = std::env::var_os("CHARTS_TO") {
            let folder = std::path::Path::new(&folder);
            std::fs::write(folder.join(format!("{}.png", series.key)), png).unwrap();
            std::fs::write(folder.join(format!("{}.svg", series.key)), svg).unwrap();
        }
    }
}
