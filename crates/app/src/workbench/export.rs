//! Files of what stands in the page: a chart as drawn for a file of its own, as pixels, or as numbers; and the report.

use super::asked::Asked;
use super::settle::{self, Ready, Settled, With};
use crate::ask;
use crate::beside;
use crate::chart::{self, Curves};
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
    with: With,
    settled: &Settled,
) -> Result<String, String> {
    let known = settled.known(asked, &with);
    ready.flux = ask::flux(&ready.loaded.sheet).map_err(|failure| topics::reason(&failure));
    let readings = with.readings.as_deref();
    let others = with.others.as_deref().map_err(Clone::clone)?;
    let files = |option: &str, files: &mut dyn Iterator<Item = String>| -> Vec<String> {
        files.flat_map(|file| [option.to_owned(), file]).collect()
    };
    let read = || files("--readings", &mut readings.iter().map(|given| given.source.file.clone()));
    let again = |words: &[&str], more: Vec<String>| {
        let (name, options) = words.split_first().unwrap_or((&"report", &[]));
        let mut all = vec!["coilwright".to_owned(), (*name).to_owned(), ready.loaded.file.clone()];
        all.extend(options.iter().map(|word| (*word).to_owned()));
        all.extend(files("--set", &mut ready.loaded.set.iter().cloned()));
        all.extend(more);
        let units = Some(asked.units.clone()).filter(|units| !matches!(units.as_str(), "" | "si"));
        all.extend(files("--units", &mut units.into_iter()));
        all
    };
    let mut more = read();
    more.extend(files("--beside", &mut others.iter().map(|other| other.file.clone())));
    more.extend(["-o".to_owned(), "report.html".to_owned()]);
    let mut page = settle::page(&ready, asked);
    page.readings = readings.iter().map(|given| given.source.clone()).collect();
    page.beside = others;
    page.made_by = topics::command_line(&again(&["report"], more));
    let found = |command: &str| known.iter().find(|topic| topic.command == command).cloned();
    for question in topics::questions(readings.is_some()) {
        let topic = found(question.command)
            .unwrap_or_else(|| settle::answered(&question, &ready, readings, &Watch::default()));
        let more = if matches!(question.of, topics::Of::Model(_)) { Vec::new() } else { read() };
        let words = again(question.words, more);
        page.topics.push(Topic { made_by: Some(topics::command_line(&words)), ..topic });
    }
    if with.compares() {
        let topic = found(beside::COMMAND).unwrap_or_else(|| with.compared(&ready, &Watch::default()));
        let others = others.iter().map(|other| other.file.as_str());
        let words: Vec<&str> = [beside::COMMAND].into_iter().chain(others).collect();
        let words = again(&words, Vec::new());
        page.topics.push(Topic { made_by: Some(topics::command_line(&words)), ..topic });
    }
    page.text(Format::Html).map_err(|error| error.to_string())
}
