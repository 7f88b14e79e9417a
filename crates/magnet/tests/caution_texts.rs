//! Cautions come with the right numbers, name their source and defer.

use coilwright_magnet::answers::answer::Caution;
use coilwright_magnet::answers::caution;
use coilwright_magnet::answers::caution::Holding;

fn defers(found: &[Caution]) {
    for c in found {
        assert!(c.text.contains("Local codes"), "{}", c.text);
        assert!(!c.source.is_empty() && c.about == "item", "{c:?}");
    }
}

/// ISO 13732-1 for bare metal (from memory): 65 °C 1 s, 55 °C 10 s, 51 °C 1 min, 48 °C 10 min, 43 °C 8 h.
/// ASTM C1055: 60 °C.
#[test]
fn hot_surfaces() {
    let at = |celsius: f64| caution::surface("item", celsius + 273.15);
    assert!(at(40.0).is_empty());
    for (celsius, time) in [(43.5, "8 h"), (48.5, "10 min"), (52.0, "1 min"), (56.0, "10 s"), (90.0, "1 s")] {
        let found = at(celsius);
        assert!(found[0].text.contains(&format!("about {time}")), "{}", found[0].text);
        assert!(found[0].source.contains("ISO 13732-1") && found[0].source.contains("from memory"));
        assert_eq!(found.len(), if celsius >= 60.0 { 2 } else { 1 });
        defers(&found);
    }
    assert!(at(61.0)[1].source.contains("ASTM C1055"));
    defers(&caution::runaway("item"));
}

/// EN 13155 (from memory): a half for electromagnets, a third for permanent ones; rounded down.
#[test]
fn pulls() {
    assert!(caution::pull("item", 1.0).is_empty());
    let light = caution::pull("item", 31.0);
    assert_eq!(light.len(), 1);
    let strong = caution::pull("item", -2590.0);
    assert_eq!(strong.len(), 2);
    // A pull at its best has no permissible load.
    assert!(!strong.iter().any(|c| c.text.contains("half") || c.text.contains("third")));
    assert!(strong[0].source.contains("EN 13155") && strong[0].source.contains("B30.20"));
    let load = |n: f64, holding| caution::working_load("item", "pull, hot", (n, n), holding);
    let (wound, permanent) = (load(2590.0, Holding::Electromagnet), load(2590.0, Holding::Permanent));
    assert!(wound[0].text.contains("half") && wound[0].text.contains("1.2 kN"), "{}", wound[0].text);
    assert!(!wound[0].text.contains("third") && !permanent[0].text.contains("half"));
    assert!(permanent[0].text.contains("a third") && permanent[0].text.contains("863 N"));
    assert!(load(-3.0, Holding::Electromagnet).is_empty());
    // A pull that may be next to nothing has no working load, and that is said.
    let poor = caution::working_load("item", "pull", (0.0, 14.0), Holding::Electromagnet);
    assert!(poor[0].brief.contains("Lift nothing"), "{}", poor[0].brief);
    defers(&poor);
    for found in [&light, &strong, &wound, &permanent] {
        defers(found);
    }
    defers(&caution::power_failure("item"));
    let permanent = caution::permanent("item");
    assert!(permanent[0].text.contains("switched off") && permanent[0].text.contains("swallowed"));
    defers(&permanent);
    assert!(caution::power_failure("item")[0].text.contains("20 min"));
}

/// 0.5 mT implants, 3 mT projectiles, 400 mT public, 2 T head and trunk (ICNIRP 2009; Directive 2013/35/EU).
#[test]
fn stray_fields() {
    for (tesla, count) in [(0.4e-3, 0), (0.6e-3, 1), (-5e-3, 1), (0.12, 2), (0.5, 3), (2.1, 4)] {
        let found = caution::stray_field("item", tesla);
        assert_eq!(found.len(), count, "{tesla} T");
        defers(&found);
    }
    assert!(caution::stray_field("item", 0.6e-3)[0].text.contains("0.60 mT"));
    let far = caution::keep_out("item", 0.1431);
    assert!(far[0].text.contains("144 mm"), "{}", far[0].text);
    defers(&far);
}

/// 60 V touchable, 120 V ripple-free safety extra-low voltage (IEC 61558-1, IEC 60598-1).
#[test]
fn voltages() {
    assert!(caution::supply("item", 24.0).is_empty());
    assert!(caution::supply("item", 110.0)[0].text.contains("60 V"));
    assert!(caution::supply("item", 205.0)[0].text.contains("electricians"));
    defers(&caution::supply("item", 205.0));
    assert!(caution::inductive("item", 48.0).is_empty());
    let arc = caution::inductive("item", -327.0);
    assert!(arc[0].text.contains("327 V") && !arc[0].text.contains("1 kV"));
    assert!(caution::inductive("item", 8000.0)[0].text.contains("1 kV"));
    defers(&arc);
}
