//! Safety cautions that stand beside a number, with their sources.
//!
//! Each function takes the number concerned and returns what is to be said about it, or nothing where nothing
//! is. None of this is advice on a particular installation: every text defers to local codes and licensed
//! practice.

use crate::answers::answer::{Caution, Danger};
use crate::material::CELSIUS_ZERO_K;

/// What every caution ends with.
pub const DEFER: &str = "Local codes and the judgement of a qualified person come first.";

/// Contact time after which bare metal of a temperature may burn skin: least °C and the time in words
/// (ISO 13732-1:2006, from memory; where accounts differ, the lower temperature).
const BURN: [(f64, &str); 5] =
    [(65.0, "1 s"), (55.0, "10 s"), (51.0, "1 min"), (48.0, "10 min"), (43.0, "8 h")];

/// A surface that can be touched, at a temperature in K.
pub fn surface(about: &str, kelvin: f64) -> Vec<Caution> {
    let celsius = kelvin - 273.15;
    let Some((threshold, time)) = BURN.iter().find(|(least, _)| celsius >= *least) else { return Vec::new() };
    let mut found = vec![caution(
        Danger::HotSurface,
        about,
        format!(
            "Bare metal at {celsius:.0} °C burns skin at a touch of about {time}: guard it, mark it hot."
        ),
        format!(
            "Bare metal at {celsius:.0} °C can burn skin: from {threshold:.0} °C on, a contact of about \
             {time} may be enough. Guard it, mark it hot, and let it cool before handling."
        ),
        "ISO 13732-1 burn thresholds for uncoated metal (from memory; the lower of differing accounts)",
    )];
    if celsius >= 60.0 {
        found.push(caution(
            Danger::HotSurface,
            about,
            "60 °C is a usual limit for surfaces that can be touched by accident.",
            "60 °C is a usual design limit for surfaces that can be touched by accident: second-degree \
             burns after about 5 s."
                .into(),
            "ASTM C1055 (from memory)",
        ));
    }
    found
}

/// A winding that runs away: how hot it is at some moment no longer matters.
pub fn runaway(about: &str) -> Vec<Caution> {
    vec![caution(
        Danger::Fire,
        about,
        "Fire: it heats up until something gives way. Cut the supply; never without a thermal cut-out.",
        "It gets hotter until something gives way: insulation smokes and burns, and what touches the magnet may \
         catch fire. Do not touch it; cut the supply, and never run it without a thermal cut-out or a fuse that does."
            .into(),
        "common practice, no source",
    )]
}

/// A winding that settles at a temperature, K, that no class of insulation bears.
pub fn beyond_all_classes(about: &str, kelvin: f64) -> Vec<Caution> {
    let celsius = (kelvin - CELSIUS_ZERO_K).round();
    vec![caution(
        Danger::Fire,
        about,
        format!(
            "Fire: left on, the winding reaches {celsius:.0} °C, which no insulation bears. Cut the supply."
        ),
        format!(
            "Left on as the sheet drives it, the winding reaches about {celsius:.0} °C, beyond every class of insulation: it \
             smokes and burns, and what touches the magnet may catch fire. Cut the supply, and never run it without a \
             thermal cut-out or a fuse that does."
        ),
        "IEC 60085 (classes up to 250 °C)",
    )]
}

/// A pull in N: a load that can drop, fingers that can be caught. It names no permissible load: of a pull at its best
/// there is none. [`working_load`] does, from the lowest pull that is known.
pub fn pull(about: &str, newtons: f64) -> Vec<Caution> {
    let newtons = newtons.abs();
    if newtons < WORTH_A_WORD_N {
        return Vec::new();
    }
    let mut found = vec![caution(
        Danger::DroppedLoad,
        about,
        "Not a working load: nobody may stand under a load held by a magnet.",
        "This is a computed breakaway pull, not a working load; nobody may stand under a load held by a magnet. \
         Lifting gear must be designed, proof-tested and rated under the standard that applies."
            .into(),
        "EN 13155 and ASME B30.20 (from memory; verify the clause)",
    )];
    if newtons >= 50.0 {
        found.push(caution(
            Danger::Pinching,
            about,
            "Fingers are crushed as the gap closes: keep hands off the face.",
            "The pull rises steeply as the gap closes: fingers between face and workpiece are crushed \
             before they can be drawn back. Keep hands off the face and use spacers or tools."
                .into(),
            "common practice, no source (threshold 50 N is ours)",
        ));
    }
    found
}

/// A load whose middle is beside the pull's, by a distance in m: it tips as it is lifted.
pub fn off_centre(about: &str, newtons: f64, offset_m: f64) -> Vec<Caution> {
    let millimetres = 1e3 * offset_m;
    vec![caution(
        Danger::DroppedLoad,
        about,
        format!("A load {millimetres:.0} mm off the middle peels off long before the whole pull."),
        format!(
            "The workpiece hangs {millimetres:.0} mm beside the magnet's middle: its weight tips it and peels it off from one \
             edge. Each newton of load makes {millimetres:.0} N mm; at the whole pull it would be {:.2} N m, which the face \
             does not hold.",
            newtons.abs() * offset_m
        ),
        "statics; common practice, no source",
    )]
}

/// What holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holding {
    /// A winding under current.
    Electromagnet,
    /// Permanent magnets alone.
    Permanent,
}

/// The most that is commonly lifted, from the lowest pull that is known, in N: the lower end of its band, as warm as it
/// gets; beside it what it likely is. `of` names that pull.
pub fn working_load(
    about: &str,
    of: &str,
    (lowest_n, likely_n): (f64, f64),
    holding: Holding,
) -> Vec<Caution> {
    if likely_n < WORTH_A_WORD_N {
        return Vec::new();
    }
    if lowest_n < WORTH_A_WORD_N {
        return vec![caution(
            Danger::DroppedLoad,
            about,
            format!("Lift nothing on this: the lowest pull known is {}.", force(lowest_n)),
            format!(
                "The pull is known so poorly that it may be next to nothing ({of}: {}): nothing may be lifted on the \
                 strength of this computation.",
                force(lowest_n)
            ),
            "EN 13155 and ASME B30.20 (factors from memory; verify the clause)",
        )];
    }
    let (what, share, factor) = match holding {
        Holding::Electromagnet => ("electromagnets", "half", 0.5),
        Holding::Permanent => ("permanent magnets", "a third", 1.0 / 3.0),
    };
    vec![caution(
        Danger::DroppedLoad,
        about,
        format!(
            "Lift at most {}: {share} of the lowest pull known, {}, at this gap and workpiece.",
            force(factor * lowest_n),
            force(lowest_n)
        ),
        format!(
            "For lifting, {what} are commonly limited to {share} of the breakaway pull on the actual workpiece: at \
             most {} here, from the lowest pull known ({of}: {}), at this gap and workpiece alone.",
            force(factor * lowest_n),
            force(lowest_n)
        ),
        "EN 13155 and ASME B30.20 (factors from memory; verify the clause)",
    )]
}

/// Pulls below the weight of a few hundred grams are not worth a word (our own threshold), N.
const WORTH_A_WORD_N: f64 = 5.0;

/// A permanent magnet: what a winding's switch does not do for it.
pub fn permanent(about: &str) -> Vec<Caution> {
    vec![caution(
        Danger::Pinching,
        about,
        "It cannot be switched off, splinters when it strikes, and is never to be swallowed.",
        "A permanent magnet cannot be switched off: two of them, or one and steel, meet with a speed that crushes fingers, \
         and brittle grades splinter: wear eye protection. Keep small ones from children: swallowed in pairs they pinch \
         through the gut, which is an emergency."
            .into(),
        "common practice, no source",
    )]
}

/// A load that hangs on the supply: what a power failure does.
pub fn power_failure(about: &str) -> Vec<Caution> {
    vec![
        caution(
            Danger::DroppedLoad,
            about,
            "It may drop its load as soon as the current stops: a standby supply is expected.",
            "An electromagnet drops its load when its current stops. Mains-fed lifting magnets are \
             expected to have a standby supply that cuts in at once, with warning. How long it must hold is for \
             the code to say that applies where it lifts: often 10 to 20 min."
                .into(),
            "EN 13155 (times from memory; verify the clause)",
        ),
        caution(
            Danger::DroppedLoad,
            about,
            "Supply within 10 % of its rating; unlike loads at about 60 %.",
            "A lifting magnet's supply should stay within 10 % of its rated voltage, with a standby that \
             takes over by itself; on loads unlike the test piece about 60 % of the rated load is the \
             usual limit."
                .into(),
            "ILO code of practice on safety in ports, section 18",
        ),
    ]
}

/// A stray flux density in T at a place where people or things can be.
pub fn stray_field(about: &str, tesla: f64) -> Vec<Caution> {
    let millitesla = tesla.abs() * 1e3;
    let mut found = Vec::new();
    if millitesla >= 0.5 {
        found.push(caution(
            Danger::Implants,
            about,
            format!(
                "{}, above 0.5 mT: people with pacemakers or other active implants stay away.",
                density(millitesla)
            ),
            format!(
                "{} exceeds 0.5 mT, above which pacemakers and other active implants may be disturbed: \
                 people who wear one must stay away unless their physician and the implant's maker say \
                 otherwise.",
                density(millitesla)
            ),
            "ICNIRP 2009 and Directive 2013/35/EU, Annex II (from memory)",
        ));
    }
    if millitesla >= STRONG_MT {
        found.extend(flying_steel(about, tesla));
    }
    if millitesla >= 400.0 {
        found.push(caution(
            Danger::Exposure,
            about,
            "Above 400 mT: beyond the limit for the general public, any part of the body.",
            "Above 400 mT the limit for the general public is exceeded for any part of the body.".into(),
            "ICNIRP 2009 guidelines on static magnetic fields",
        ));
    }
    if millitesla >= 2000.0 {
        found.push(caution(
            Danger::Exposure,
            about,
            "Above 2 T: beyond the limit for head and trunk at work (limbs: 8 T).",
            "Above 2 T the limit for head and trunk at work is exceeded (limbs: 8 T).".into(),
            "ICNIRP 2009 guidelines on static magnetic fields",
        ));
    }
    found
}

/// Loose steel in the fringe of a magnet whose strongest place has a flux density in T: it flies to a strong one only.
pub fn flying_steel(about: &str, strongest_t: f64) -> Vec<Caution> {
    if 1e3 * strongest_t.abs() < STRONG_MT {
        return Vec::new();
    }
    vec![caution(
        Danger::FlyingSteel,
        about,
        "Loose steel is drawn in and flies: keep tools, cards, watches and data carriers away.",
        "Above 3 mT in the fringe of a strong magnet (over 100 mT), loose steel can be drawn in and fly: keep tools and \
         parts away, and cards, watches and data carriers too."
            .into(),
        "Directive 2013/35/EU, Annex II (from memory)",
    )]
}

/// What makes a strong magnet of one whose fringe lets steel fly, mT (Directive 2013/35/EU, Annex II: over 100 mT).
const STRONG_MT: f64 = 100.0;

/// The distance in m at which the stray field has fallen to 0.5 mT.
pub fn keep_out(about: &str, metres: f64) -> Vec<Caution> {
    vec![caution(
        Danger::Implants,
        about,
        format!(
            "People with active implants stay more than {:.0} mm away on every side.",
            (metres * 1e3).ceil()
        ),
        format!(
            "People with active implants keep more than {:.0} mm away on every side, with allowance for \
             other magnets and for what this computation does not know.",
            (metres * 1e3).ceil()
        ),
        "0.5 mT: ICNIRP 2009 and Directive 2013/35/EU, Annex II (from memory)",
    )]
}

/// A voltage in V that a coil makes when its circuit is opened.
pub fn inductive(about: &str, volts: f64) -> Vec<Caution> {
    let volts = volts.abs();
    if volts <= TOUCHABLE_DC_V {
        return Vec::new();
    }
    let mut text = format!(
        "Opening the circuit makes about {volts:.0} V from a coil of whatever supply voltage: enough to \
         give a shock, burn contacts and destroy semiconductors. Never pull a connector under current; \
         fit a clamp across the coil."
    );
    if volts >= 1000.0 {
        text.push_str(" Above 1 kV the winding's and the leads' insulation is at stake as well.");
    }
    vec![caution(
        Danger::Shock,
        about,
        format!("Opening the circuit makes about {volts:.0} V: shock, burnt contacts; clamp the coil."),
        text,
        "circuit theory; 60 V DC touchable: IEC 60598-1 cl. 8.2.3 and IEC 61558-1 for SELV",
    )]
}

/// A supply voltage in V, direct current.
pub fn supply(about: &str, volts: f64) -> Vec<Caution> {
    let volts = volts.abs();
    if volts <= TOUCHABLE_DC_V {
        return Vec::new();
    }
    // To the digits that make it true: 60.05 V is not said to be 60 V above 60 V.
    let limit = if volts <= SELV_DC_V { TOUCHABLE_DC_V } else { SELV_DC_V };
    let places = (0..4).find(|p| (volts * 10f64.powi(*p)).round() > limit * 10f64.powi(*p)).unwrap_or(4);
    let said = format!("{volts:.*}", usize::try_from(places).unwrap_or(4));
    let text = if volts <= SELV_DC_V {
        format!(
            "{said} V DC is above 60 V: even from a safety supply, live parts must be out of reach. \
             Up to 120 V ripple-free it may count as safety extra-low voltage."
        )
    } else {
        format!(
            "{said} V DC is above the 120 V (ripple-free) of safety extra-low voltage: protection \
             against electric shock is required, and work on it is for electricians."
        )
    };
    let brief = if volts <= SELV_DC_V {
        format!("{said} V DC, above 60 V: live parts out of reach.")
    } else {
        format!("{said} V DC, above 120 V: protection against electric shock; work for electricians.")
    };
    vec![caution(
        Danger::Shock,
        about,
        brief,
        text,
        "IEC 61558-1 cl. 3.7.16 and IEC 60598-1 cl. 8.2.3 (from memory)",
    )]
}

/// Voltage up to which live parts of a safety supply may be touched, DC.
const TOUCHABLE_DC_V: f64 = 60.0;
/// Upper end of safety extra-low voltage, ripple-free DC.
const SELV_DC_V: f64 = 120.0;

fn caution(danger: Danger, about: &str, brief: impl Into<String>, text: String, source: &str) -> Caution {
    let (about, source, text) = (about.into(), source.into(), format!("{text} {DEFER}"));
    Caution { danger, about, brief: brief.into(), text, source }
}

/// Rounded down, as a limit should be.
fn force(newtons: f64) -> String {
    if newtons >= 1000.0 {
        format!("{:.1} kN", (newtons / 100.0).floor() / 10.0)
    } else {
        format!("{:.0} N", newtons.floor())
    }
}

fn density(millitesla: f64) -> String {
    if millitesla >= 1000.0 { format!("{:.2} T", millitesla / 1000.0) } else { format!("{millitesla:.2} mT") }
}
