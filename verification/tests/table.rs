//! Every case holds, and the public page says what was checked.

use coilwright_verification::{case, page, page_path, root, row};

#[test]
fn every_case_holds_and_the_page_says_so() {
    let mut answered = Vec::new();
    let mut faults = Vec::new();
    for case in case::load_all(&root().join("cases")).expect("cases can be read") {
        match row::rows(&case) {
            Err(error) => faults.push(error.to_string()),
            Ok(rows) => {
                for row in &rows {
                    println!(
                        "{}: {} {} expected {} {} observed {} deviation {:.1e} limit {:.0e}",
                        case.name,
                        row.check.key,
                        row.condition,
                        row.check.expected,
                        row.check.unit,
                        row.observed,
                        row.deviation(),
                        row.check.tolerance
                    );
                    if !row.holds() {
                        faults.push(format!(
                            "{}: {} {} is {}, expected {} {}: deviation {:.1e} over {:.0e}",
                            case.name,
                            row.check.key,
                            row.condition,
                            row.observed,
                            row.check.expected,
                            row.check.unit,
                            row.deviation(),
                            row.check.tolerance
                        ));
                    }
                }
                answered.push((case, rows));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));

    let committed = std::fs::read_to_string(page_path()).expect("docs/verification.md is there");
    assert!(
        page::limits_only(&committed) == page::limits_only(&page::write(&answered)),
        "docs/verification.md is not what the cases say: run `cargo run -p coilwright-verification`"
    );
}
