//! The numbers of a field without bands.

use crate::answers::answer::Numbers;
use crate::answers::field::read::stage;
use crate::answers::field::read::{Face, across, at_points, over_face, strongest};
use crate::answers::question::FieldQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Varied, Way};
use crate::magnetic::solved::Solved;
use crate::sheet::Sheet;
use crate::uncertainty::input::{ANY, Input};
use coilwright_fem::field::Probe;

/// See [`crate::model::plain::Plain`].
#[derive(Clone, Debug)]
pub(crate) struct Plain {
    question: FieldQuestion,
    face: Face,
    /// The sheet's own height of the probe, from which it may differ.
    standoff_m: f64,
    solved: Solved,
}

impl Plain {
    /// With what else may differ.
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &Magnet,
        question: &FieldQuestion,
    ) -> Result<(Self, Vec<Way>), Failure> {
        let face = Face::of(sheet, question);
        let accuracy = sheet.value("accuracy.field").unwrap_or(crate::answers::field::read::USUAL_ACCURACY);
        let solved = crate::answers::field::read::solve(
            magnet,
            &stage(sheet, magnet, question)?,
            question,
            &face,
            accuracy,
        )?;
        let height = sheet.quantity(STANDOFF).filter(|q| q.half_width > 0.0).map(|q| Input {
            path: STANDOFF.into(),
            label: "height of the probe".into(),
            value: q.value,
            standard: q.standard_uncertainty(),
            dimension: q.dimension,
            limits: ANY,
        });
        let ways = height.iter().map(|input| Way::entry(sheet, input)).collect();
        let standoff_m = sheet.value(STANDOFF).unwrap_or(0.0);
        Ok((Self { question: question.clone(), face, standoff_m, solved }, ways))
    }

    /// From now on solved on the mesh for differences.
    pub(crate) fn for_differences(&mut self) -> Result<(), Failure> {
        self.solved = self.solved.for_differences()?;
        Ok(())
    }

    pub(crate) fn numbers(&mut self, at: &Varied) -> Result<Numbers, Failure> {
        let magnet = &at.magnet;
        let scene = magnet.scene(&stage(&at.sheet, magnet, &self.question)?);
        let (solution, _) = self.solved.neighbour(&scene, None)?;
        let probe = Probe::new(&solution);
        let mut found = Vec::new();
        if !magnet.free {
            let higher = at.sheet.value(STANDOFF).unwrap_or(0.0) - self.standoff_m;
            let face = Face { standoff_m: self.face.standoff_m + higher, ..self.face };
            // The strongest place may be another one.
            let at = strongest(&probe, &across(magnet), magnet.face_m + face.standoff_m);
            let values = over_face(magnet, &probe, &face, at);
            let keys = (0..values.len()).map(|k| match k {
                0 => "face_maximum".to_owned(),
                _ => format!("b_pole_{k}"),
            });
            found.extend(keys.zip(values));
        }
        for (k, value) in at_points(magnet, &probe, &self.question.at).into_iter().enumerate() {
            found.push((
                format!("{}_{}", crate::answers::field::read::POINT_ITEMS[k % 3].0, k / 3 + 1),
                value,
            ));
        }
        Ok(found)
    }
}

const STANDOFF: &str = "probe.standoff";
