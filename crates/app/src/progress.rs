//! How far something has come, as a bar on standard error.

use coilwright_magnet::watch::Watch;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

/// What is over sooner needs no bar.
const SOON: Duration = Duration::from_millis(500);
/// Between two looks at how far it is.
const OFTEN: Duration = Duration::from_millis(100);
/// Steps of the bar.
const STEPS: u64 = 1000;

/// Shows a bar until the other end of the channel is dropped. Without a known share it turns instead of growing.
pub(crate) fn show(what: &str, watch: &Watch, until: &Receiver<()>) {
    let over = |wait| until.recv_timeout(wait) != Err(RecvTimeoutError::Timeout);
    if over(SOON) {
        return;
    }
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    bar.set_message(what.to_owned());
    bar.reset_elapsed();
    loop {
        match watch.share() {
            Some(share) if bar.length().is_none() => {
                bar.set_length(STEPS);
                bar.set_style(style("{msg} [{bar:24}] {percent} %, about {eta} left"));
                bar.set_position((share * STEPS as f64) as u64);
            }
            Some(share) => bar.set_position((share * STEPS as f64) as u64),
            None => bar.tick(),
        }
        if over(OFTEN) {
            bar.finish_and_clear();
            return;
        }
    }
}

fn style(template: &str) -> ProgressStyle {
    ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bars_template_is_one() {
        assert!(ProgressStyle::with_template("{msg} [{bar:24}] {percent} %, about {eta} left").is_ok());
    }
}
