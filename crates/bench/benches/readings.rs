//! How fast a long log is read: a million rows of eight columns in at most 1 s and 200 MB, with seconds and with dates.
//! Run with `cargo bench -p coilwright-bench`. Fails if a target is missed.

use coilwright_bench::readings::{Options, read};
use std::fmt::Write;
use std::time::Instant;

const ROWS: usize = 1_000_000;
const MOST_SECONDS: f64 = 1.0;
const MOST_MEGABYTES: f64 = 200.0;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    log("seconds", "time s", |tenths| format!("{}.{}", tenths / 10, tenths % 10))?;
    // The peak of memory is the process's, so that the second log shows only what it takes beyond the first.
    log("dates", "time", |tenths| {
        let (s, m, h) = (tenths / 10 % 60, tenths / 600 % 60, tenths / 36_000 % 24);
        format!("2025-01-{:02}T{h:02}:{m:02}:{s:02}.{}", 1 + tenths / 864_000, tenths % 10)
    })
}

#[allow(clippy::print_stdout, reason = "a benchmark prints")]
fn log(name: &str, head: &str, time: impl Fn(usize) -> String) -> Result<(), Box<dyn std::error::Error>> {
    let mut csv = format!(
        "{head};voltage V;current A;back °C;shell °C;ambient °C;field mT @ r=0mm z=1mm;field mT @ r=10mm z=1mm\n",
    );
    for row in 0..ROWS {
        let t = row as f64 * 0.1;
        let warm = 1.0 - (-t / 4000.0f64).exp();
        let (current, back, field) = (0.5 - 0.08 * warm, 21.5 + 40.0 * warm, 81.0 - 9.0 * warm);
        writeln!(
            csv,
            "{};24,02;{current:.5};{back:.2};{:.2};21,4;{field:.3};{:.3}",
            time(row),
            back - 3.0,
            0.6 * field
        )?;
    }
    let csv = csv.replace('.', ",");
    let before = peak_megabytes();
    let mut best = f64::INFINITY;
    for _ in 0..3 {
        let start = Instant::now();
        let readings = read(csv.as_bytes(), &Options::default())?;
        best = best.min(start.elapsed().as_secs_f64());
        assert_eq!(readings.rows(), ROWS);
    }
    let megabytes = csv.len() as f64 / 1e6;
    println!(
        "{ROWS} rows with {name}, {megabytes:.0} MB of text: {best:.3} s ({:.0} MB/s)",
        megabytes / best
    );
    if let (Some(before), Some(after)) = (before, peak_megabytes()) {
        println!("memory for the readings: {:.0} MB", after - before);
        assert!(after - before <= MOST_MEGABYTES);
    }
    assert!(best <= MOST_SECONDS, "slower than {MOST_SECONDS} s");
    Ok(())
}

/// Most memory that this process has held; `None` where the system does not tell.
fn peak_megabytes() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kib| kib / 1e3)
}
