//! Files of what stands in the page: a chart as drawn for a file of its own, as pixels, or as numbers; and the report.

use super::asked::Asked;
use super::readings::Given;
use super::settle::{self, Ready, Settled};
use crate::ask;
use crate::chart::{self, ChartError, Curves};
use crate::csv;
use crate::page::{Format, Topic};
use crate::topics;
use coilwright_magnet::answers::answer::{Answer, Series};
use coilwright_magnet::watch::Watch;
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

/// All questions answered, of which some may be known: a report.
pub(super) fn report(
    mut ready: Ready,
    asked: &Asked,
    readings: Option<&Given>,
    settled: &Settled,
) -> Result<String, ChartError> {
    let known = settled.of(&settle::key(asked, readings));
    ready.flux = ask::flux(&ready.loaded.sheet).map_err(|failure| topics::reason(&failure));
    let mut page = settle::page(&ready, asked);
    page.readings = readings.iter().map(|given| given.source.clone()).collect();
    let again = |words: &[&str], read: bool| {
        let (name, options) = words.split_first().unwrap_or((&"report", &[]));
        let mut all = vec!["coilwright".to_owned(), (*name).to_owned(), ready.loaded.file.clone()];
        all.extend(options.iter().map(|word| (*word).to_owned()));
        all.extend(ready.loaded.set.iter().flat_map(|set| ["--set".to_owned(), set.clone()]));
        let files = readings.iter().filter(|_| read).map(|given| given.source.file.clone());
        all.extend(files.flat_map(|file| ["--readings".to_owned(), file]));
        let units = [asked.units.clone()].into_iter().filter(|units| !matches!(units.as_str(), "" | "si"));
        all.extend(units.flat_map(|units| ["--units".to_owned(), units]));
        all
    };
    let mut words = again(&["report"], true);
    words.extend(["-o".to_owned(), "report.html".to_owned()]);
    page.made_by = topics::command_line(&words);
    for question in topics::questions(readings.is_some()) {
        let found = known.iter().find(|topic| topic.command == question.command).cloned();
        let topic = found.unwrap_or_else(|| settle::answered(&question, &ready, readings, &Watch::default()));
        let words = again(question.words, !matches!(question.of, topics::Of::Model(_)));
        page.topics.push(Topic { made_by: Some(topics::command_line(&words)), ..topic });
    }
    page.text(Format::Html)
}
