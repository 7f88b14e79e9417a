//! `[[material]]` blocks: the user's own steels.

use super::read::{Block, Reader};
use super::schema::{Key, MATERIAL_KEYS};
use crate::quantity::Dimension;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A material of the user's own; its name serves wherever a material is named.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnMaterial {
    /// How other keys name it.
    pub name: String,
    /// How it magnetises.
    pub law: OwnLaw,
    /// Relative half-width of the field strength it needs, if given.
    pub field_tolerance: Option<f64>,
    /// Relative half-width of its saturation, if given.
    pub saturation_tolerance: Option<f64>,
    /// Resistivity at 20 °C, Ω m, if given.
    pub resistivity_ohm_m: Option<f64>,
    /// Relative half-width of its resistivity, if given.
    pub resistivity_tolerance: Option<f64>,
    /// Whether it is stacked of sheets or so, such that no eddies flow.
    pub laminated: bool,
    /// Its heading in the text.
    pub span: Range<usize>,
}

/// How B follows H.
#[derive(Clone, Debug, PartialEq)]
pub enum OwnLaw {
    /// Points of the curve, both rising.
    Table {
        /// Field strength, A/m.
        h: Vec<f64>,
        /// Flux density, T.
        b: Vec<f64>,
    },
    /// B = µ0 H + Js (2/π) atan(π (µr0 − 1) µ0 H / (2 Js)).
    Arctangent {
        /// Saturation polarisation, T.
        js: f64,
        /// Relative permeability at no field.
        mu_r0: f64,
    },
    /// B = µr µ0 H.
    Linear {
        /// Relative permeability.
        mu_r: f64,
    },
}

/// Most rows of a table that are read.
const MOST_ROWS: usize = 2000;

const LAWS: &str = "give `table`, or `saturation` with `initial_permeability`, or `permeability`";

pub(super) fn read(reader: &mut Reader<'_>, table: &DeTable<'_>, span: Range<usize>) -> Option<OwnMaterial> {
    let block = reader.block(MATERIAL_KEYS, table);
    if !block.has("name") {
        reader.fault(span.clone(), "this material has no `name`", "write `name = \"my steel\"`");
    }
    let law = law(reader, &block, &span);
    let (field_tolerance, saturation_tolerance) =
        (block.number("field_tolerance"), block.number("saturation_tolerance"));
    let (resistivity_ohm_m, resistivity_tolerance) =
        (block.number("resistivity"), block.number("resistivity_tolerance"));
    if resistivity_tolerance.is_some() && !block.has("resistivity") {
        reader.fault(
            span.clone(),
            "`material.resistivity_tolerance` is given, but no `resistivity`",
            "add `resistivity = \"0.17 uohm m\"`, or leave both out",
        );
    }
    let laminated = block.flag("laminated").unwrap_or(false);
    Some(OwnMaterial {
        name: block.word("name")?,
        law: law?,
        field_tolerance,
        saturation_tolerance,
        resistivity_ohm_m,
        resistivity_tolerance,
        laminated,
        span,
    })
}

fn law(reader: &mut Reader<'_>, block: &Block<'_, '_>, span: &Range<usize>) -> Option<OwnLaw> {
    let arctangent = block.has("saturation") || block.has("initial_permeability");
    let given = [block.has("table"), arctangent, block.has("permeability")];
    match given.iter().filter(|g| **g).count() {
        0 => {
            reader.fault(span.clone(), "this material does not say how it magnetises", LAWS);
            None
        }
        1 if given[0] => curve(reader, block.lists.get("table")?),
        1 if arctangent => {
            for leaf in ["saturation", "initial_permeability"] {
                if !block.has(leaf) {
                    reader.fault(span.clone(), format!("`material.{leaf}` is missing"), LAWS);
                }
            }
            let (js, mu_r0) = (block.number("saturation")?, block.number("initial_permeability")?);
            if mu_r0 <= 1.0 {
                let message =
                    format!("`material.initial_permeability` must be greater than 1; it is {mu_r0}");
                reader.fault(span.clone(), message, "relative, at no field, such as 1500");
                return None;
            }
            Some(OwnLaw::Arctangent { js, mu_r0 })
        }
        1 => Some(OwnLaw::Linear { mu_r: block.number("permeability")? }),
        _ => {
            reader.fault(span.clone(), "this material says twice how it magnetises", LAWS);
            None
        }
    }
}

fn curve(reader: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<OwnLaw> {
    let example =
        "write `table = [[\"0 A/m\", \"0 T\"], [\"100 A/m\", \"0.3 T\"], [\"1000 A/m\", \"1.3 T\"]]`";
    let Some(list) = value.get_ref().as_array() else {
        reader.fault(value.span(), "`material.table` is not a list of pairs of H and B", example);
        return None;
    };
    if list.len() < 2 || list.len() > MOST_ROWS {
        let message = format!("`material.table` has {} rows; it needs 2 to {MOST_ROWS}", list.len());
        reader.fault(value.span(), message, example);
        return None;
    }
    let key = MATERIAL_KEYS.iter().find(|k| k.leaf() == "table")?;
    let h_key =
        Key { range: super::schema::Range::NotNegative, example: "100 A/m", doc: "field strength", ..*key };
    let b_key = Key { example: "0.3 T", doc: "flux density", ..h_key };
    let (mut h, mut b) = (Vec::new(), Vec::new());
    let mut sound = true;
    for (row, item) in list.iter().enumerate() {
        let Some(pair) = item.get_ref().as_array().filter(|p| p.len() == 2) else {
            reader.fault(
                item.span(),
                format!("row {} of the table is not a pair of H and B", row + 1),
                example,
            );
            sound = false;
            continue;
        };
        let place = format!("row {} of the table", row + 1);
        let h_now = reader.exact(&h_key, &place, Dimension::FieldStrength, &pair[0]);
        let b_now = reader.exact(&b_key, &place, Dimension::FluxDensity, &pair[1]);
        let (Some(h_now), Some(b_now)) = (h_now, b_now) else {
            sound = false;
            continue;
        };
        for (name, now, before) in [("H", h_now, h.last()), ("B", b_now, b.last())] {
            if before.is_some_and(|before| now <= *before) {
                let message = format!("{name} does not rise in row {} of the table", row + 1);
                reader.fault(
                    item.span(),
                    message,
                    "H and B must both be greater in each row than in the one above",
                );
                sound = false;
            }
        }
        h.push(h_now);
        b.push(b_now);
    }
    sound.then_some(OwnLaw::Table { h, b })
}
