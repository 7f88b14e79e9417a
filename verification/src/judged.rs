//! What the solver claims of its error beside what it is: claims of ordinary runs against a run of order 4 on a mesh graded
//! finely into every corner.

use crate::problem::{Problem, finely};
use coilwright_fem::field::Probe;
use coilwright_fem::magnetostatics::{Magnetostatics, Solution, Stopping};
use coilwright_fem::mesh::Mesh;
use coilwright_fem::morph::Motion;
use coilwright_fem::solve::Estimate;
use coilwright_magnet::magnetic::solved::{Solved, flux_per_turn_wb};
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write;

/// Accuracies of the pull that are asked for.
pub const ASKED: [f64; 3] = [1e-2, 1e-3, 1e-4];
/// What is judged, in the order it is read.
const QUANTITIES: [&str; 5] = ["pull", "flux", "energy", "field in the gap", "field on the axis"];

/// One number of one problem. Errors are relative: to the number, at points to |B| there.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Number of the problem.
    pub number: u64,
    /// Form of the magnet.
    pub form: String,
    /// Accuracy of the pull that was asked for.
    pub asked: f64,
    /// What was judged: pull, flux, energy, field in the gap or on the axis (each component for itself).
    pub quantity: usize,
    /// Unknowns of the run, and of the reference.
    pub unknowns: [usize; 2],
    /// True error.
    pub truly: f64,
    /// Claimed error.
    pub claimed: f64,
    /// What order 3 and 4 of the reference differ by.
    pub doubt: f64,
}

impl Judged {
    /// As a line of a file.
    pub fn line(&self) -> String {
        let [own, reference] = self.unknowns;
        let errors = format!("{:.4e} {:.4e} {:.4e}", self.truly, self.claimed, self.doubt);
        format!("{} {} {:e} {} {own} {reference} {errors}", self.number, self.form, self.asked, self.quantity)
    }

    /// From a line of a file; nothing from any other.
    pub fn parse(line: &str) -> Option<Self> {
        let words: Vec<&str> = line.split_whitespace().collect();
        let [number, form, asked, quantity, own, reference, truly, claimed, doubt] = words[..] else {
            return None;
        };
        Some(Self {
            number: number.parse().ok()?,
            form: form.into(),
            asked: asked.parse().ok()?,
            quantity: quantity.parse().ok()?,
            unknowns: [own.parse().ok()?, reference.parse().ok()?],
            truly: truly.parse().ok()?,
            claimed: claimed.parse().ok()?,
            doubt: doubt.parse().ok()?,
        })
    }

    /// Whether the claim holds: the true error is within it.
    pub fn holds(&self) -> bool {
        self.truly <= self.claimed
    }
}

/// Pull, flux, energy; then fields at points.
fn read(problem: &Problem, motion: &Motion, s: &Solution) -> Vec<f64> {
    let probe = Probe::new(s);
    let mut found = vec![s.force(motion), flux_per_turn_wb(&problem.scene, s), s.energies().0];
    found.extend(places(problem).iter().flat_map(|p| probe.at(*p).b_t));
    found
}

fn places(problem: &Problem) -> Vec<[f64; 2]> {
    problem.over_face.iter().chain(&problem.on_axis).copied().collect()
}

/// Solve a problem as its pull is asked for to each of the accuracies, and once as a reference.
pub fn judge(problem: &Problem, number: u64, accuracies: &[f64]) -> Result<Vec<Judged>, Box<dyn Error>> {
    let scene = &problem.scene;
    let points = places(problem);
    let fine = finely(&scene.drawing, &points);
    let base = Mesh::new(&fine, 2)?;
    let mut below: Option<(Mesh, Vec<f64>)> = None;
    let mut reference = Vec::new();
    let mut of_reference = 0;
    for order in 2..=4 {
        let mesh = base.with_order(order);
        let motion = Motion::of_areas(&mesh, &fine, |k| scene.moving[k], [0.0, 1.0])?;
        let start = below.take().map(|(m, a)| mesh.interpolate(&m, &a));
        let mut level = Magnetostatics::new(mesh.clone())?;
        of_reference = level.unknowns();
        let stopping = Stopping { remainder: if order == 2 { 1e-2 } else { 1e-6 }, steps: 300 };
        let s = level.solve(scene.media.clone(), scene.applied_t, start.as_deref(), stopping)?;
        if order > 2 {
            reference.push(read(problem, &motion, &s));
        }
        below = Some((mesh, s.potential));
    }
    let [third, fourth] = &reference[..] else { return Err("a reference has two orders".into()) };
    let mut found = Vec::new();
    for &asked in accuracies {
        let solved = Solved::for_pull(scene.clone(), asked)?;
        let ladder = &solved.ladder;
        let motion = ladder.motion(|k| scene.moving[k], [0.0, 1.0])?;
        let mut claims = vec![
            ladder.force(&motion),
            ladder.estimate(|s| flux_per_turn_wb(scene, s)),
            ladder.estimate(|s| s.energies().0),
        ];
        claims.extend(ladder.fields(&points).into_iter().flatten());
        for (n, claim) in claims.iter().enumerate() {
            // At points, both components over the size of the vector.
            let size = match n {
                0..3 => fourth[n].abs(),
                _ => fourth[n - (n - 3) % 2].hypot(fourth[n - (n - 3) % 2 + 1]),
            };
            let &Estimate { value, error } = claim;
            if size == 0.0 || fourth[n].abs() < 1e-9 * size {
                continue;
            }
            found.push(Judged {
                number,
                form: problem.form.into(),
                asked,
                quantity: match n {
                    0..3 => n,
                    3..7 => 3,
                    _ => 4,
                },
                unknowns: [ladder.unknowns(), of_reference],
                truly: (value - fourth[n]).abs() / size,
                claimed: error / size,
                doubt: (fourth[n] - third[n]).abs() / size,
            });
        }
    }
    Ok(found)
}

/// The table: by accuracy and quantity for all forms, then by form for the pull.
pub fn page(all: &[Judged], failed: usize) -> String {
    let problems: std::collections::BTreeSet<u64> = all.iter().map(|j| j.number).collect();
    let mut page = format!(
        "# The solver's own error: claimed and true\n\n\
         {} invented problems of every form ({failed} more could not be solved): gaps of 10 µm to 20 mm, sizes of 4 mm to\n\
         1 m, drives of 0.01 to 10 times the usual, iron by constant permeability, by law and by table. Each is asked\n\
         for its pull to three accuracies; what is claimed of pull, flux, energy and fields at points is compared with a\n\
         run of order 4 on a mesh graded finely into every corner. Fields are read from the mesh that the pull asked\n\
         for, which a `field` question makes finer at its points. Errors are relative, at points to |B| there.\n\
         *Doubt* is what orders 3 and 4 of the reference differ by. The factors of the estimate were tuned on problems\n\
         of another seed.\n\n\
         Written by `cargo run --release -p coilwright-verification --bin error_estimate SEED FROM COUNT FILE`.\n",
        problems.len(),
    );
    let head = "| true ≤ claimed | median true | worst true | median claimed | median claimed / true | worst true / claimed | claimed ≤ asked | median doubt |";
    let rule = "|---|---|---|---|---|---|---|---|";
    let mut table = |title: &str, key: &str, rows: BTreeMap<(usize, String), Vec<&Judged>>| {
        // writing to a string cannot fail
        let _ = write!(page, "\n## {title}\n\n| asked | {key} | numbers {head}\n|---|---|---{rule}\n");
        for ((asked, what), of) in rows {
            let _ = writeln!(page, "| {:.0e} | {what} | {} {}", ASKED[asked], of.len(), summary(&of));
        }
    };
    let at = |j: &Judged| ASKED.iter().position(|a| *a == j.asked).unwrap_or(0);
    let mut by_quantity: BTreeMap<(usize, String), Vec<&Judged>> = BTreeMap::new();
    let mut by_form: BTreeMap<(usize, String), Vec<&Judged>> = BTreeMap::new();
    for j in all {
        by_quantity.entry((at(j), QUANTITIES[j.quantity].into())).or_default().push(j);
        if j.quantity == 0 {
            by_form.entry((at(j), j.form.clone())).or_default().push(j);
        }
    }
    table("All forms", "quantity", by_quantity);
    table("The pull, by form", "form", by_form);
    page
}

fn summary(of: &[&Judged]) -> String {
    let share = |holds: &dyn Fn(&Judged) -> bool| {
        100.0 * of.iter().filter(|j| holds(j)).count() as f64 / of.len() as f64
    };
    let sorted = |value: &dyn Fn(&Judged) -> f64| {
        let mut values: Vec<f64> = of.iter().map(|j| value(j)).collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let median = |value: &dyn Fn(&Judged) -> f64| sorted(value)[of.len() / 2];
    let worst = |value: &dyn Fn(&Judged) -> f64| sorted(value)[of.len() - 1];
    let least = f64::MIN_POSITIVE;
    format!(
        "| {:.1} % | {:.0e} | {:.0e} | {:.0e} | {:.1} | {:.1} | {:.0} % | {:.0e} |",
        share(&Judged::holds),
        median(&|j| j.truly),
        worst(&|j| j.truly),
        median(&|j| j.claimed),
        median(&|j| j.claimed / j.truly.max(least)),
        worst(&|j| j.truly / j.claimed.max(least)),
        share(&|j| j.claimed <= j.asked),
        median(&|j| j.doubt),
    )
}
