//! The numbers of a pull without bands.

use crate::answers::answer::Numbers;
use crate::answers::pull::read::FRICTION;
use crate::answers::pull::read::USUAL_ACCURACY;
use crate::answers::pull::read::read;
use crate::answers::pull::read::stage;
use crate::answers::question::PullQuestion;
use crate::failure::Failure;
use crate::magnet::Magnet;
use crate::magnet::variation::{Varied, Way};
use crate::magnetic::solved::Solved;
use crate::quantity::Dimension;
use crate::sheet::Sheet;
use crate::uncertainty::input::{ANY, Input};

/// See [`crate::model::plain::Plain`].
#[derive(Clone, Debug)]
pub(crate) struct Plain {
    question: PullQuestion,
    solved: Solved,
}

impl Plain {
    /// With what else may differ.
    pub(crate) fn new(
        sheet: &Sheet,
        magnet: &Magnet,
        question: &PullQuestion,
    ) -> Result<(Self, Vec<Way>), Failure> {
        let accuracy = sheet.value("accuracy.pull").unwrap_or(USUAL_ACCURACY);
        let solved = Solved::for_pull(magnet.scene(&stage(sheet, magnet, question)?), accuracy)?;
        let (value, standard) = friction(sheet);
        let input = Input {
            path: "workpiece.friction".into(),
            label: "friction".into(),
            value,
            standard,
            dimension: Dimension::Ratio,
            limits: ANY,
        };
        Ok((Self { question: question.clone(), solved }, vec![Way::entry(sheet, &input)]))
    }

    /// From now on solved on the mesh for differences.
    pub(crate) fn for_differences(&mut self) -> Result<(), Failure> {
        self.solved = self.solved.for_differences()?;
        Ok(())
    }

    pub(crate) fn numbers(&mut self, at: &Varied) -> Result<Numbers, Failure> {
        let scene = at.magnet.scene(&stage(&at.sheet, &at.magnet, &self.question)?);
        let (solution, drawing) = self.solved.neighbour(&scene, None)?;
        let [pull, flux, _, inductance] = read(&at.magnet, &scene, &drawing, &solution)?;
        let all = [
            ("pull", pull),
            ("shear", friction(&at.sheet).0 * pull),
            ("flux_per_turn", flux),
            ("inductance", inductance),
        ];
        Ok(all.map(|(key, value)| (key.to_owned(), value)).into())
    }
}

/// Friction and its standard uncertainty.
pub(crate) fn friction(sheet: &Sheet) -> (f64, f64) {
    sheet.quantity("workpiece.friction").map_or(FRICTION, |q| (q.value, q.standard_uncertainty()))
}
