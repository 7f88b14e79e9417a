//! The public page: every case with its source, its limits and how far the program is from them.

use crate::case::{Case, Status};
use crate::row::Row;
use std::fmt::Write;

/// Text of `docs/verification.md`.
pub fn write(cases: &[(Case, Vec<Row>)]) -> String {
    let checks: usize = cases.iter().map(|(_, rows)| rows.len()).sum();
    let mut page = format!(
        "# Verification\n\n\
         {checks} checks in {} cases, each against something outside the program. The tests make this page and fail\n\
         if a check does not hold or a case or limit here is not the one they used; `cargo run -p\n\
         coilwright-verification` writes it anew. Expected values are *found* (read at the source named), from\n\
         *memory*, or *computed* (from the exact formula, or by the code, named); sections and equations of\n\
         textbooks are cited from memory. A limit comes from the accuracy aimed at or from the source, never from\n\
         what was observed.\n",
        cases.len(),
    );
    for (case, rows) in cases {
        let status = match case.status {
            Status::Found => "found",
            Status::Memory => "memory",
            Status::Computed => "computed",
        };
        // writing to a string cannot fail
        let _ = write!(
            page,
            "\n## {}\n\n{}\n\nSource ({status}): {}.\n\nSheet: `verification/cases/{}/`\n\n\
             | quantity | expected | observed | deviation | limit | why this limit |\n|---|---|---|---|---|---|\n",
            case.title,
            case.problem.trim(),
            case.source,
            case.name,
        );
        for row in rows {
            let condition =
                if row.condition.is_empty() { String::new() } else { format!(" at {}", row.condition) };
            let _ = writeln!(
                page,
                "| `{}`{condition} | {} {} | {} | {:.0e} | {:.0e} | {} |",
                row.check.key,
                row.check.expected,
                row.check.unit,
                significant(row.observed, 7),
                row.deviation(),
                row.check.tolerance,
                row.check.why,
            );
        }
    }
    page
}

/// The page without what may differ from machine to machine: the observed values and their deviations.
pub fn limits_only(page: &str) -> String {
    page.lines()
        .map(|line| {
            if !line.starts_with("| `") {
                return line.to_owned() + "\n";
            }
            let cells: Vec<&str> = line.split('|').collect();
            let kept =
                |(i, cell): (usize, &&str)| if i == 3 || i == 4 { String::new() } else { (*cell).to_owned() };
            cells.iter().enumerate().map(kept).collect::<Vec<_>>().join("|") + "\n"
        })
        .collect()
}

/// A number to so many significant digits, plain where that is readable.
fn significant(value: f64, digits: i32) -> String {
    let magnitude = value.abs().log10().floor();
    if !(-4.0..6.0).contains(&magnitude) {
        return format!("{value:.*e}", (digits - 1).max(0) as usize);
    }
    format!("{value:.*}", (digits - 1 - magnitude as i32).max(0) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seven_digits() {
        assert_eq!(significant(312.716208, 7), "312.7162");
        assert_eq!(significant(0.0775810135, 7), "0.07758101");
        assert_eq!(significant(1.26975666e-8, 7), "1.269757e-8");
        assert_eq!(significant(-2.0, 3), "-2.00");
    }

    #[test]
    fn only_observations_are_left_out() {
        let line = "| `pull` at gap | 312.7 N | 312.8 | 3e-4 | 1e-3 | target |";
        assert_eq!(limits_only(line), "| `pull` at gap | 312.7 N ||| 1e-3 | target |\n");
        assert_eq!(limits_only("text"), "text\n");
    }
}
