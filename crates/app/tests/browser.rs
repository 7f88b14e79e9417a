//! The workbench and a report in a browser, as their users see them (`verification/browser/`). Without Node.js, Chromium or the packages
//! that drive it the test says that it is skipped; with `CI=true` it fails.

use assert_cmd::cargo::cargo_bin;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Where Chromium may be; `CHROMIUM` names another place.
const PLACES: [&str; 3] = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/snap/bin/chromium"];

fn chromium() -> Option<PathBuf> {
    let named = std::env::var_os("CHROMIUM").map(PathBuf::from);
    named.into_iter().chain(PLACES.map(PathBuf::from)).find(|path| path.exists())
}

#[test]
fn the_workbench_does_what_its_user_does() {
    driven("workbench.mjs", |chromium| {
        vec![cargo_bin("coilwright"), chromium.to_owned(), root().join("examples")]
    });
}

#[test]
fn a_report_is_fit_for_people_and_paper() {
    // That it is what its command writes is a test of its own.
    driven("report.mjs", |chromium| vec![chromium.to_owned(), root().join("docs/gallery/lighter-pot.html")]);
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Runs a script of `verification/browser` with what it is given.
#[allow(clippy::print_stdout, reason = "what was looked at, or why nothing was, is told")]
fn driven(script: &str, given: impl Fn(&Path) -> Vec<PathBuf>) {
    let driver = root().join("verification/browser");
    let node = Command::new("node").arg("--version").output().is_ok_and(|found| found.status.success());
    let (chromium, packages) = (chromium(), driver.join("node_modules").is_dir());
    let lacking = match (&chromium, node, packages) {
        (None, ..) => "there is no Chromium",
        (_, false, _) => "there is no Node.js",
        (_, _, false) => "`npm ci` was not run in verification/browser",
        (Some(chromium), true, true) => {
            let run = Command::new("node").arg(driver.join(script)).args(given(chromium)).output();
            let run = run.expect("node runs");
            let told = String::from_utf8_lossy(&run.stdout);
            println!("{told}");
            assert!(run.status.success(), "{told}\n{}", String::from_utf8_lossy(&run.stderr));
            return;
        }
    };
    assert!(std::env::var("CI").as_deref() != Ok("true"), "the browser test cannot run: {lacking}");
    println!("skipped: {lacking}");
}
