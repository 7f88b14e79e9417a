//! A question is watched: how far it has come is known, and one that is stopped ends soon and with nothing.
#![allow(clippy::unwrap_used, reason = "tests")]

use coilwright_magnet::answers::question::{
    FieldQuestion, HeadroomQuestion, HeatQuestion, PullQuestion, Question, SwitchQuestion,
};
use coilwright_magnet::failure::Failure;
use coilwright_magnet::model::ask;
use coilwright_magnet::model::plain::Plain;
use coilwright_magnet::sheet::{Form, Sheet, template};
use coilwright_magnet::watch::Watch;
use std::time::Duration;

fn pot() -> Sheet {
    Sheet::parse(&template(Form::Pot), "pot.sheet.toml").unwrap().0
}

fn all() -> [Question; 5] {
    let headroom = HeatQuestion { headroom: Some(HeadroomQuestion::default()), ..HeatQuestion::default() };
    [
        Question::Field(FieldQuestion::default()),
        Question::Pull(PullQuestion::default()),
        Question::Heat(HeatQuestion::default()),
        Question::Heat(headroom),
        Question::Switch(SwitchQuestion::default()),
    ]
}

#[test]
fn stopped_beforehand_nothing_is_solved() {
    let watch = Watch::new();
    watch.stop();
    for question in all() {
        assert_eq!(ask::watched(&pot(), &question, &watch), Err(Failure::Stopped), "{question:?}");
        assert!(Plain::watched(&pot(), &question, &watch).is_err(), "{question:?}");
    }
    assert_eq!(watch.share().unwrap_or(0.0), 0.0);
}

/// Stopped as soon as anything is known of how far it has come, most of what was to be done is left undone.
#[test]
fn stopped_on_the_way_there_is_no_answer() {
    for question in all() {
        let watch = Watch::new();
        let answered = std::thread::scope(|scope| {
            let asked = scope.spawn(|| ask::watched(&pot(), &question, &watch));
            while watch.share().is_none() && !asked.is_finished() {
                std::thread::sleep(Duration::from_millis(1));
            }
            watch.stop();
            asked.join().unwrap()
        });
        assert_eq!(answered, Err(Failure::Stopped), "{question:?}");
        assert!(watch.share().is_some_and(|share| share < 0.9), "{question:?}: {:?}", watch.share());
    }
}

/// Who watches makes no difference, and in the end all is done.
#[test]
fn watched_the_answer_is_the_same() {
    let question = Question::Pull(PullQuestion::default());
    let watch = Watch::new();
    assert_eq!(ask::watched(&pot(), &question, &watch), ask::answer(&pot(), &question));
    assert_eq!(watch.share(), Some(1.0));
}
