//! An answer's numbers without bands, for a magnet that differs in anything at once: what sampling asks again and again.
//!
//! The meshes are made once. Every magnet is solved as a neighbour of the one as it stands, from that one's field, so
//! that a number depends on nothing but the question and the deviates. How magnets differ from each other is taken on
//! a rougher mesh than what the one as it stands does ([`Ladder::for_differences`](coilwright_fem::solve::Ladder::for_differences)).

use crate::answers::question::Question;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Way, varied, ways};
use crate::sheet::Sheet;
use crate::thermal as heat;
use crate::watch::Watch;

/// A question about a sheet, made ready to be asked of many magnets that differ a little. Clones are independent.
#[derive(Clone, Debug)]
pub struct Plain {
    sheet: Sheet,
    magnet: Magnet,
    ways: Vec<Way>,
    kind: Kind,
    /// What brings each number from the mesh on which differences are taken to the finest, relative.
    scales: Vec<(String, f64)>,
}

/// Numbers on the two meshes that differ by less, relatively, have changes that are alike relatively.
const ALIKE: f64 = 0.1;

#[derive(Clone, Debug)]
enum Kind {
    Winding,
    Field(Box<crate::answers::field::plain::Plain>),
    Pull(Box<crate::answers::pull::plain::Plain>),
    Heat(Box<crate::answers::heat::plain::Plain>),
    Switch(Box<crate::answers::switch::ready::Plain>),
}

impl Plain {
    /// Mesh and solve what the question needs of the magnet as it stands.
    ///
    /// # Errors
    /// As [`crate::model::ask::answer`]. Of heat there are only the numbers of a warm-up, not those of headroom.
    pub fn new(sheet: &Sheet, question: &Question) -> Result<Self, Failure> {
        Self::watched(sheet, question, &Watch::default())
    }

    /// The same for somebody who may stop it, then and whenever it is asked.
    ///
    /// # Errors
    /// As [`Plain::new`], and [`Failure::Stopped`].
    pub fn watched(sheet: &Sheet, question: &Question, watch: &Watch) -> Result<Self, Failure> {
        let mut sheet = sheet.clone();
        if matches!(question, Question::Heat(_)) {
            sheet.remove(heat::COMPUTED);
        }
        let magnet = Magnet::complete(&sheet)?.watched(watch);
        let (kind, more) = match question {
            Question::Winding => (Kind::Winding, Vec::new()),
            Question::Field(q) => {
                let (plain, more) = crate::answers::field::plain::Plain::new(&sheet, &magnet, q)?;
                (Kind::Field(Box::new(plain)), more)
            }
            Question::Pull(q) => {
                let (plain, more) = crate::answers::pull::plain::Plain::new(&sheet, &magnet, q)?;
                (Kind::Pull(Box::new(plain)), more)
            }
            Question::Heat(q) => {
                let (plain, more) = crate::answers::heat::plain::Plain::new(&sheet, &magnet, q)?;
                (Kind::Heat(Box::new(plain)), more)
            }
            Question::Switch(q) => {
                let (plain, more) = crate::answers::switch::ready::Plain::new(&sheet, &magnet, q)?;
                (Kind::Switch(Box::new(plain)), more)
            }
        };
        let mut ways = ways(&sheet, &magnet);
        for way in more {
            if !ways.iter().any(|known| known.name() == way.name()) {
                ways.push(way);
            }
        }
        let mut plain = Self { sheet, magnet, ways, kind, scales: Vec::new() };
        let home = vec![0.0; plain.ways.len()];
        let finest = plain.numbers(&home)?;
        match &mut plain.kind {
            Kind::Winding => {}
            Kind::Field(plain) => plain.for_differences()?,
            Kind::Pull(plain) => plain.for_differences()?,
            Kind::Heat(plain) => plain.for_differences()?,
            Kind::Switch(plain) => plain.for_differences()?,
        }
        let rough = plain.numbers(&home)?;
        plain.scales = (finest.into_iter().zip(rough))
            .map(|((key, finest), (_, rough))| {
                let ratio = finest / rough;
                (key, if (ratio - 1.0).abs() < ALIKE { ratio } else { 1.0 })
            })
            .collect();
        Ok(plain)
    }

    /// Everything that may differ.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// The numbers, by the keys of the answer's items, with everything moved by so many standard uncertainties in the
    /// order of the ways.
    ///
    /// # Errors
    /// There is no such magnet, or it cannot be solved.
    pub fn numbers(&mut self, deviates: &[f64]) -> Result<Vec<(String, f64)>, Failure> {
        self.magnet.watch.check()?;
        let at = varied(&self.sheet, &self.magnet, &self.ways, deviates)?;
        let mut numbers = match &mut self.kind {
            Kind::Winding => crate::answers::winding::plain(&at),
            Kind::Field(plain) => plain.numbers(&at)?,
            Kind::Pull(plain) => plain.numbers(&at)?,
            Kind::Heat(plain) => plain.numbers(&at)?,
            Kind::Switch(plain) => plain.numbers(&at)?,
        };
        for ((key, value), (known, scale)) in numbers.iter_mut().zip(&self.scales) {
            debug_assert_eq!(key, known, "the numbers of a question are the same for every magnet");
            *value *= scale;
        }
        Ok(numbers)
    }
}
