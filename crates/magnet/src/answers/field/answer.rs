//! Flux density: across the face, along the axis, at points, and how far away it still matters.

use crate::answers::field::keep_out;
use crate::answers::field::keep_out::Edge;
use crate::answers::field::read::{Face, Known, Readings, in_air, solid};
use crate::answers::field::read::{POINT_ITEMS, SCAN_ITEMS, USUAL_ACCURACY, scan_series, solve, stage};
use crate::answers::field::track::Track;
use crate::answers::field::turnover::{self, Turn};
use crate::answers::field::uniformity;

use crate::answers::advice;
use crate::answers::answer::{Answer, Column, Item, Series};
use crate::answers::question::FieldQuestion;
use crate::failure::Failure;
use crate::magnet::{Magnet, Substance};
use crate::magnetic::solved::{NO_ENERGY, Solved, flux_per_turn_wb, no_flux};
use crate::quantity::Dimension;
use crate::sheet::Sheet;

/// The Earth's field at its surface, T (IGRF: 25 to 65 µT).
const EARTH_T: f64 = 50e-6;

/// Answer a field question.
pub fn answer(sheet: &Sheet, magnet: &Magnet, question: &FieldQuestion) -> Result<Answer, Failure> {
    question.check()?;
    let accuracy = sheet.value("accuracy.field").unwrap_or(USUAL_ACCURACY);
    let stage = stage(sheet, magnet, question)?;
    let face = Face::of(sheet, question);
    let solved = solve(magnet, &stage, question, &face, accuracy)?;
    let edges = if question.keep_out { keep_out::edges(magnet, &solved) } else { Vec::new() };
    let places = edges.iter().map(Edge::place_m).collect();
    let probe = solved.ladder.probe();
    let scanned = in_air(sheet, magnet, (question, &face), &solved.scene, &probe)?;
    let mut readings = Readings::new(magnet, (question, scanned), face, &solved.scene, &probe, places);
    let turns = turnover::find(&readings, magnet, &probe);
    readings.turns_m = turns.iter().map(|turn| turn.place_m).collect();
    let uniform = uniformity::find(magnet, question, &solved.scene, &probe)?;
    readings.uniform = uniform.as_ref().map(uniformity::Uniformity::places);
    let inside = |p: &(f64, f64)| solid(&probe, &solved.scene, [p.0, magnet.face_m + p.1]);
    let inside: Vec<Option<&str>> = question.at.iter().map(inside).collect();
    let staged = |m: &Magnet| self::stage(sheet, m, question).unwrap_or_else(|_| m.open_stage());
    let known = Known::new(sheet, magnet, &readings, &solved, staged)?;

    let mut answer = Answer::new("field", &magnet.name);
    if let Some(at) = readings.strongest_m {
        across_face(magnet, &readings, &known, (at, &turns), &mut answer);
        let reached = known.errors[0] / known.values[0];
        if reached > accuracy && !readings.face.at_edges(magnet) {
            answer.warnings.push(format!(
                "the field at the face is known to {:.2} % numerically, not to the {:.2} % asked for; the band includes it",
                100.0 * reached,
                100.0 * accuracy
            ));
        }
    }
    if !scanned && !magnet.free {
        answer.warnings.push("the face is not scanned: at that height the scan runs inside iron".into());
    }
    let mut asked = points(question, &readings, &known, (accuracy, &inside), &mut answer);
    for k in 0..readings.tracks.len() {
        let solid =
            |[x, y]: [f64; 2]| solid(&probe, &solved.scene, [x, magnet.face_m + y]).map(str::to_owned);
        let along = track(k, &readings, &known, (&turns, &solid), &mut answer);
        asked = asked.or(along);
    }
    // Who asks for a place wants that first.
    if let Some(first) = asked {
        answer.summary = format!("{first} {}", answer.summary).trim_end().into();
    }
    if let Some(found) = &uniform {
        uniformity::tell(found, magnet, &readings, &known, &mut answer);
    }
    totals(magnet, &solved, &mut answer);
    if answer.summary.is_empty() {
        answer.summary = match (&magnet.excitation, answer.item("energy")) {
            (Some(_), _) if answer.number("flux_per_turn").is_some() => {
                "{flux_per_turn} through a turn by {ampere_turns}; ask for points to read the field.".into()
            }
            (None, Some(_)) if answer.number("energy").is_some() => {
                "{energy} stored in the field; ask for points to read it.".into()
            }
            _ => "Ask for points to read the field.".into(),
        };
    }
    if !readings.axis_m.is_empty() {
        along_axis(&readings, &known, &mut answer);
    }
    if question.keep_out {
        keep_out::tell(&edges, &readings, &known, &mut answer);
    }
    let hidden = (1..).zip(&inside).filter(|(_, name)| name.is_some()).map(|(n, _)| format!("b_abs_{n}"));
    keep_out::beside_strongest(&mut answer, &hidden.collect::<Vec<_>>());
    Ok(answer)
}

/// Greatest field over the face, field over each pole, and the scan.
fn across_face(
    magnet: &Magnet,
    readings: &Readings,
    known: &Known<'_>,
    (at, turns): (f64, &[Turn]),
    answer: &mut Answer,
) {
    let greatest = known.band(0);
    // At an edge of iron the field has no limit: what the mesh makes of it is no answer.
    let edges = readings.face.at_edges(magnet);
    answer.next_measurements = advice::next(&if edges { known.band(1) } else { greatest.clone() });
    answer.summary = match magnet.poles.first() {
        Some(pole) if edges => format!(
            "{{b_pole_1}} along the axis over the middle of the {}, {{standoff}} above the face; at an edge the field \
             has no limit so close.",
            pole.name
        ),
        _ => "Strongest {face_maximum} at {face_maximum_radius} from the middle, {standoff} above the face."
            .into(),
    };
    let note = if edges {
        "at an edge, where the field has no limit: the number is the mesh's, not the magnet's".into()
    } else {
        format!("about {:.0} times the Earth's field", known.values[0] / EARTH_T)
    };
    let strongest = vec![
        Item::number("face_maximum", "greatest flux density", known.values[0], Dimension::FluxDensity)
            .with_band(greatest)
            .with_note(note),
        Item::number("face_maximum_radius", "its distance from the middle", at, Dimension::Length),
        Item::number("standoff", "height above the face", readings.face.standoff_m, Dimension::Length),
    ];
    let mut items = Vec::new();
    for (k, pole) in magnet.poles.iter().enumerate() {
        let b = known.values[k + 1];
        items.push(
            Item::number(
                &format!("b_pole_{}", k + 1),
                &format!("{}, along the axis", pole.name),
                b,
                Dimension::FluxDensity,
            )
            .with_band(known.band(k + 1))
            .with_note(format!("{} pole, at its middle", Magnet::polarity(b))),
        );
    }
    // The main number stands first.
    let items = if edges { items.into_iter().chain(strongest) } else { strongest.into_iter().chain(items) };
    answer.group("Face", items.chain(turnover::rows("face", turns, readings, known)).collect());
    let ranges = [readings.of_scan(), readings.of_scan_size()];
    let [along, size] = SCAN_ITEMS;
    let columns = [(along, &ranges[0]), (size, &ranges[1])];
    let ys = columns.map(|((key, label), range)| known.column(key, label, range.clone()));
    answer.series.push(scan_series(readings.scan_m.clone(), ys));
}

/// The field at the points that are asked for; gives back a sentence about the first.
fn points(
    question: &FieldQuestion,
    readings: &Readings,
    known: &Known<'_>,
    (accuracy, inside): (f64, &[Option<&str>]),
    answer: &mut Answer,
) -> Option<String> {
    if question.at.is_empty() {
        return None;
    }
    let of = |n: usize| (question.at[n / 3], POINT_ITEMS[n % 3]);
    let items = readings.of_points().enumerate().map(|(n, k)| {
        let (p, (key, label)) = of(n);
        let label = format!("{label} at {:.3} mm, {:.3} mm", 1e3 * p.0, 1e3 * p.1);
        let key = format!("{key}_{}", n / 3 + 1);
        let item =
            Item::number(&key, &label, known.values[k], Dimension::FluxDensity).with_band(known.band(k));
        match inside[n / 3] {
            Some(name) => item.with_note(format!("inside the {name}, where no probe reads")),
            None => item,
        }
    });
    let items = items.collect();
    let first = match (inside.iter().position(Option::is_none), inside.len()) {
        (Some(_), 1) => "{b_abs_1} at the point asked for.".into(),
        (Some(0), _) => "{b_abs_1} at the first point asked for.".into(),
        (Some(k), _) => format!("{{b_abs_{}}} at the first point asked for that lies in air.", k + 1),
        (None, _) => "Every point asked for lies inside iron, where no probe reads.".into(),
    };
    for (n, p) in question.at.iter().enumerate() {
        let [x, y, size] = [0, 1, 2].map(|d| readings.of_points().start + 3 * n + d);
        let reached = known.errors[x].max(known.errors[y]) / known.values[size];
        if reached > accuracy {
            answer.warnings.push(format!(
                "the field at {:.3} mm, {:.3} mm is known to {:.2} % numerically, not to the {:.2} % asked for; the band includes it",
                1e3 * p.0,
                1e3 * p.1,
                100.0 * reached,
                100.0 * accuracy
            ));
        }
    }
    answer.group("Points (distance from the middle, height above the face)", items);
    Some(first)
}

/// Where a track is inside iron, what is strongest on the rest of it, and the curve; gives back a sentence about that.
fn track(
    k: usize,
    readings: &Readings,
    known: &Known<'_>,
    (turns, solid): (&[Turn], &dyn Fn([f64; 2]) -> Option<String>),
    answer: &mut Answer,
) -> Option<String> {
    let track = &readings.tracks[k];
    let [across, along, size] = readings.of_track(k);
    let key = |what: &str| format!("{}_{what}", track.key);
    let (of, from) = match track.on_axis {
        true => ("the axis".to_owned(), "height above the face"),
        false => (told(track).to_lowercase(), "distance from the start"),
    };
    let title = format!("Along {of}");
    let (mut items, mut first) = (Vec::new(), None);
    let air = (0..track.stations_m.len()).filter(|n| track.inside[*n].is_none());
    match air.max_by(|m, n| known.values[size.start + m].total_cmp(&known.values[size.start + n])) {
        None => items.push(Item::text(
            &key("none"),
            &format!("strongest on {of}"),
            "none to be read: it runs inside iron",
        )),
        Some(n) => {
            let most = known.values[size.start + n];
            items.push(
                Item::number(&key("most"), &format!("strongest on {of}"), most, Dimension::FluxDensity)
                    .with_band(known.band(size.start + n))
                    .with_note("outside iron"),
            );
            items.push(Item::number(
                &key("most_at"),
                &format!("its {from}"),
                track.stations_m[n],
                Dimension::Length,
            ));
            let of = if track.on_axis { "above the face, on the axis" } else { "from the start of the line" };
            first = Some(format!("At most {{{}}}, {{{}}} {of}.", key("most"), key("most_at")));
        }
    }
    items.extend(turnover::rows(&track.key, turns, readings, known));
    for (n, stretch) in (1..).zip(track.stretches(solid)) {
        let name = &stretch.name;
        for (what, at) in ["enters", "leaves"].into_iter().zip(stretch.ends_m) {
            let item = Item::number(
                &key(&format!("{what}_{n}")),
                &format!("{what} the {name} at"),
                at,
                Dimension::Length,
            );
            items.push(item.with_note("no probe reads inside: the curve is empty there"));
        }
    }
    answer.group(&title, items);

    let column = |key: &str, label: &str, range: std::ops::Range<usize>| {
        let mut column = known.column(key, label, range);
        for (n, _) in track.inside.iter().enumerate().filter(|(_, inside)| inside.is_some()) {
            column.values[n] = f64::NAN;
            column.bands[n] = (f64::NAN, f64::NAN);
        }
        column
    };
    let x = if track.on_axis { "height" } else { "distance" };
    let mut ys = vec![column("b_axial", "along the axis", along)];
    if !track.on_axis {
        ys.push(column("b_across", "across", across));
        ys.push(column("b_size", "magnitude", size));
    }
    answer.series.push(Series {
        key: if track.on_axis { "axis_scan".into() } else { track.key.clone() },
        title: match track.on_axis {
            true => "Flux density along the axis".into(),
            false => format!("Flux density along {of}"),
        },
        x: Column::new(x, from, Dimension::Length, track.stations_m.clone()),
        ys,
        log_x: false,
    });
    first
}

/// What a line is called.
fn told(track: &Track) -> String {
    track.key.replace("line_", "Line ")
}

fn totals(magnet: &Magnet, solved: &Solved, answer: &mut Answer) {
    let s = solved.ladder.solution();
    let mut items = Vec::new();
    if magnet.excitation.is_some() {
        let flux = flux_per_turn_wb(&solved.scene, s);
        let ampere_turns = magnet.ampere_turns();
        items.push(Item::number("ampere_turns", "ampere-turns", ampere_turns, Dimension::AmpereTurns));
        let no_flux = no_flux(&solved.scene, s);
        items.push(match no_flux {
            Some(why) => Item::text("flux_per_turn", "flux through a turn", why),
            None => Item::number("flux_per_turn", "flux through a turn", flux, Dimension::Flux),
        });
        if ampere_turns != 0.0 && no_flux.is_none() {
            items.push(Item::number(
                "inductance_per_turn2",
                "inductance of one turn",
                flux / ampere_turns,
                Dimension::Inductance,
            ));
        }
    }
    if s.net_current() != 0.0 {
        items.push(Item::text("energy", "stored energy", NO_ENERGY));
    } else if solved.scene.applied_t == 0.0 {
        let (energy, coenergy) = s.energies();
        items.push(Item::number("energy", "stored energy", solved.scene.scale * energy, Dimension::Energy));
        items.push(Item::number("coenergy", "co-energy", solved.scene.scale * coenergy, Dimension::Energy));
    }
    for part in &magnet.parts {
        if let Some(mean) = solved.scene.region(&part.name).and_then(|k| s.region(k)) {
            // In a permanent magnet what counts is the part along its magnetisation.
            let (b, along) = match part.substance {
                Substance::Permanent { remanence_t: [x, y], .. } if x != 0.0 || y != 0.0 => {
                    let [u, v] = mean.b_components_t;
                    ((u * x + v * y) / x.hypot(y), " along its magnetisation")
                }
                _ => (mean.b_t, ""),
            };
            items.push(Item::number(
                &format!("b_mean_{}", part.name),
                &format!("{}: mean flux density{along}", part.name),
                b,
                Dimension::FluxDensity,
            ));
        }
    }
    answer.group("Magnet", items);
}

fn along_axis(readings: &Readings, known: &Known<'_>, answer: &mut Answer) {
    answer.series.push(Series {
        key: "axis_scan".into(),
        title: "Flux density along the axis".into(),
        x: Column::new("height", "height above the face", Dimension::Length, readings.axis_m.clone()),
        ys: vec![known.column("b_axial", "along the axis", readings.of_axis())],
        log_x: false,
    });
}
