//! The workbench in a browser, driven as a user would (`verification/browser/`). Without Node.js, Chromium or the packages
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
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let driver = root.join("verification/browser");
    let node = Command::new("node").arg("--version").output().is_ok_and(|found| found.status.success());
    let lacking = match (chromium(), node, driver.join("node_modules").is_dir()) {
        (Some(_), true, true) => None,
        (None, ..) => Some("there is no Chromium"),
        (_, false, _) => Some("there is no Node.js"),
        (_, _, false) => Some("`npm ci` was not run in verification/browser"),
    };
    if let Some(lacking) = lacking {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "the browser test cannot run: {lacking}");
        println!("skipped: {lacking}");
        return;
    }
    let run = Command::new("node")
        .arg(driver.join("workbench.mjs"))
        .arg(cargo_bin("coilwright"))
        .args(chromium())
        .arg(root.join("examples"))
        .output();
    let run = run.expect("node runs");
    let told = String::from_utf8_lossy(&run.stdout);
    println!("{told}");
    assert!(run.status.success(), "{told}\n{}", String::from_utf8_lossy(&run.stderr));
}
