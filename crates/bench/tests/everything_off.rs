//! A fit's intervals hold the truth when everything that the sheet states is off at once, not only what the fit frees, and
//! what it predicts narrows. The benchmark `fit_coverage` asks the same of hundreds of benches; these are two of them.

use crate::invented_bench::{self, Found, SHEET, fitted, parsed};

/// What the readings leave of what was uncertain. The meters alone: pulls by a gauge of 0.5 % and shims of 2 µm tell the pull
/// at a gap of 0.12 mm to about 1 %, where the sheet lets it be 30 % off.
const LEFT: [(&str, f64); 3] = [("winding.turns", 0.25), ("workpiece.gap", 0.25), ("pull", 0.15)];

#[test]
fn intervals_hold_the_truth_with_everything_off() {
    for case in [100, 105] {
        let found = invented_bench::one(case).unwrap();
        assert_eq!(found.len(), 5, "{found:?}");
        for number in &found {
            let Found { name, held, off, .. } = number;
            assert!(*held, "case {case}: {name} is off by {off:.1} standard uncertainties");
        }
        for (name, left) in LEFT {
            let number = found.iter().find(|number| number.name == name).unwrap();
            assert!(number.width < left, "case {case}: {number:?}");
        }
    }
}

/// A body of another steel than the sheet says (free-machining for low-carbon: both within what is sold as mild steel) is
/// noticed: the readings do not go with it.
#[test]
fn a_body_of_another_steel_is_noticed() {
    let other = SHEET.replacen("material = \"low-carbon steel\"", "material = \"free-machining steel\"", 1);
    assert_ne!(other, SHEET);
    let (sheet, other) = (parsed(SHEET).unwrap(), parsed(&other).unwrap());
    let (_, fitted) = fitted(&sheet, &other, 101).unwrap();
    assert!(fitted.answer.number("plausibility").unwrap() < 0.01);
    assert!(!fitted.answer.summary.contains("They fit"), "{}", fitted.answer.summary);
    let said = fitted.answer.warnings.join(" ");
    assert!(said.contains("disagree by more than the stated uncertainties explain"), "{said}");
    assert!(said.contains("steel: the readings say"), "{said}");
}
