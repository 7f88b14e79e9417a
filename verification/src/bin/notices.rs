//! Writes `THIRD-PARTY.md`: what the program is built from, and under which licences.

use coilwright_verification::{notices, root};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    std::fs::write(root().join("../THIRD-PARTY.md"), notices::text()?)?;
    Ok(())
}
