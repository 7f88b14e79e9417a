//! Describes a magnet in words and numbers; solves nothing.
//!
//! A [`sheet`] is TOML whose [`quantity`] values carry units and tolerances; it names [`material`]s and [`wire`]s from
//! the library. Whatever is wrong with one comes back all at once as [`diagnostic`]s, each with place, cause and remedy.
//!
//! ```
//! use coilwright_sheet::sheet::{Form, Sheet, template};
//!
//! let text = template(Form::Pot); // a commented starting sheet
//! let (mut sheet, remarks) = Sheet::parse(&text, "my.sheet.toml").map_err(|faults| faults[0].clone())?;
//! assert!(remarks.is_empty());
//! sheet.set("workpiece.gap", "1 mm")?;
//!
//! let fault = sheet.set("workpiece.gap", "20 V").expect_err("not a length");
//! assert!(fault.message.contains("unit of voltage"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! It knows no field, no heat and no numerics: a material's law B(H) is here as data are, a smooth function and its
//! derivative; what the function does inside a solver is not its concern. Text in, values and text out.

pub mod diagnostic;
pub mod material;
pub mod quantity;
pub mod sheet;
pub mod wire;
