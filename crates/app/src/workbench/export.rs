//! A chart of the page as a file: as drawn for a file of its own, as pixels, or as numbers.

use super::asked::Asked;
use crate::chart::{self, Curves};
use crate::csv;
use crate::page::Topic;
use coilwright_magnet::answers::answer::{Answer, Series};
use serde::Deserialize;

/// Which chart.
#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    /// Of which question.
    #[serde(flatten)]
    pub(super) asked: Asked,
    /// The command that answers it.
    of: String,
    /// Key of the series.
    series: String,
    /// `svg`, `png` or `csv`.
    format: String,
}

impl Wanted {
    /// Kind and bytes of the file, from answers that are settled.
    pub(super) fn file(&self, topics: &[Topic]) -> Result<(&'static str, Vec<u8>), String> {
        let (answer, series) = self.find(topics).ok_or("This chart is not settled yet.")?;
        let units = self.asked.units();
        if self.format == "csv" {
            let text = csv::text(&[(answer.magnet.as_str(), series)], units);
            return text
                .map(|text| ("text/csv; charset=utf-8", text.into_bytes()))
                .map_err(|e| e.to_string());
        }
        let curves = Curves { magnet: &answer.magnet, series };
        let svg = chart::svg(&[curves], units, "chart").map_err(|error| error.to_string())?;
        match self.format.as_str() {
            "png" => chart::png(&svg).map(|bytes| ("image/png", bytes)).map_err(|error| error.to_string()),
            _ => Ok(("image/svg+xml", svg.into_bytes())),
        }
    }

    fn find<'a>(&self, topics: &'a [Topic]) -> Option<(&'a Answer, &'a Series)> {
        let topic = topics.iter().find(|topic| topic.command == self.of)?;
        let answer = topic.answer.as_ref().ok()?;
        Some((answer, answer.series.iter().find(|series| series.key == self.series)?))
    }
}
