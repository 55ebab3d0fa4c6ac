//! After hand-back: points, sentences, beliefs, and who decides.

use std::sync::Arc;

use bevy_egui::egui::Key as Press;
use faultbay::app::opened::Wall;
use faultbay::bay::action::SECOND;
use faultbay::marking::model::{Basis, BeliefStep, Component, ComponentMark, LedgerLine, Mark, Move, Outcome};

use crate::bench::Bench;

fn mark(labels: Vec<String>) -> Mark {
    let step = |at, top: f64, stated: Option<f64>| {
        let others = labels.len() as f64 - 1.0;
        let share = |p: f64| (0..labels.len()).map(|i| if i == 0 { p } else { (1.0 - p) / others }).collect();
        BeliefStep { at, event: "line 1".to_owned(), justified: share(top), stated: stated.map(share) }
    };
    Mark {
        job: "bypass-puff".to_owned(),
        job_hash: String::new(),
        seed: 7,
        attempt_hash: String::new(),
        trace_hash: String::new(),
        engine: String::new(),
        total: 61.25,
        outcome: Outcome::Review,
        reasons: vec!["Too close to a gate.".to_owned()],
        components: vec![ComponentMark { component: Component::Diagnosis, share: 0.5, weight: 30.0 }],
        ledger: vec![LedgerLine {
            component: Some(Component::Procedure),
            hundredths: -150,
            template: "P".to_owned(),
            window: (70 * SECOND, 75 * SECOND),
            sentence: "The valve stayed shut too long.".to_owned(),
            lines: vec![],
        }],
        beliefs: vec![step(0, 0.3, None), step(60 * SECOND, 0.9, Some(0.6))],
        submitted: None,
        truth: (labels[0].clone(), "plugged, severity 3.4 of 5".to_owned()),
        justified_in_finding: None,
        seen_not_recorded: vec!["Pressure at rest".to_owned()],
        moves: vec![Move {
            window: (60 * SECOND, 90 * SECOND),
            test: "the idle reading".to_owned(),
            minutes: 4.0,
            bits: 0.2,
            best: "the raised reading".to_owned(),
            best_bits: 0.6,
            best_minutes: 4.0,
            wasted: 2.7,
            ..Move::default()
        }],
        basis: Basis { par_minutes: 25.0, net_minutes: 51.0, wasted_minutes: 21.9, ..Basis::default() },
        labels,
        ..Mark::default()
    }
}

/// A job handed back at once, marked with the mark above.
fn handed_back() -> Bench {
    let marker = Arc::new(|job: &faultbay::scenario::model::Job, _: &_, _: &_| {
        Ok(mark(job.candidates.iter().map(|c| c.label.clone()).chain(["none of these".to_owned()]).collect()))
    });
    let mut bench = Bench::before_the_shelf(marker);
    bench.press("Take the job: Runs out of puff on the bypass");
    bench.press("Let 5 min pass");
    bench.turn("Workshop");
    bench.reach("Hand the vehicle back");
    bench.reach("Yes, hand it back");
    bench.wait_for_mark();
    bench
}

#[test]
fn the_debrief_says_what_why_and_who_decides() {
    let mut bench = handed_back();
    for words in [
        "A person must look",
        "The tool reports evidence; a person decides competence.",
        "Too close to a gate.",
        "plugged, severity 3.4 of 5",
        "Right diagnosis: 15.0 of 30 points",
        "Pressure at rest",
    ] {
        assert!(bench.shows(words), "{words}");
    }
    bench.key(Press::L);
    // the numbers are those of the moment that is picked
    for (at, words) in [(70, "at 01:10 justified 90, stated 60 in 100"), (30, "at 00:30 justified 30")] {
        bench.harness.state_mut().carry_out(vec![faultbay::app::bridge::Intent::Here(at * SECOND)]);
        bench.harness.run();
        assert!(bench.shows(&format!("Filter element plugged, what it was: {words}")), "{words}");
    }
}

#[test]
fn a_sentence_moves_the_chart_to_its_time() {
    let mut bench = handed_back();
    bench.reach("01:15, \u{2212}1.50: The valve stayed shut too long.");
    let sitting = bench.harness.state().sitting.as_ref().unwrap();
    let (from, to) = sitting.state.chart.window(sitting.session.now());
    assert!(from <= 75 * SECOND && to >= 75 * SECOND, "{from} {to}");
    assert!(sitting.state.chart.end.is_some(), "it no longer runs with the pen");
}

#[test]
fn the_line_is_opened_and_scrubbed_by_keys_and_by_mouse() {
    let mut bench = handed_back();
    assert!(bench.shows("The line opened at 00:00 · engine off."), "the first moment stands for itself");
    let here = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.here;
    let first = here(&bench);
    bench.key(Press::ArrowRight);
    let second = here(&bench);
    assert!(second > first, "{first:?} {second:?}");
    bench.key(Press::ArrowLeft);
    assert!(here(&bench) < second);
    // the rail over the chart, with the pointer in its middle
    bench.press("Moment of the opened line");
    let middle = here(&bench).unwrap();
    assert!(middle > 60 * SECOND, "{middle}");
    bench.key(Press::ArrowRight);
    assert!(here(&bench) > Some(middle), "the rail has the focus and takes the arrows");
    let words = format!(
        "The line opened at {:02}:{:02}",
        here(&bench).unwrap() / SECOND / 60,
        here(&bench).unwrap() / SECOND % 60
    );
    assert!(bench.shows(&words), "{words}");
}

#[test]
fn the_opening_says_how_far_it_is_and_can_be_left_and_asked_for_again() {
    let mut bench = handed_back();
    let wall = |bench: &mut Bench, to: Wall| {
        let state = &mut bench.harness.state_mut().sitting.as_mut().unwrap().state;
        (state.wall, state.opened_share) = (to, 0.4);
        bench.harness.run();
    };
    wall(&mut bench, Wall::Shut);
    assert!(bench.shows("The sitting is being replayed to open the line") && bench.shows("40 in 100 done"));
    bench.press("Leave the line shut; it can be opened later");
    assert!(bench.shows("The line was left shut.") && !bench.shows("in 100 done"));
    bench.pass(1.0);
    assert!(bench.shows("The line was left shut."), "it stays so");
    bench.press("Open the line: the sitting is replayed");
    bench.wait_for_mark();
    assert!(bench.shows("The line opened at"), "it was begun anew");
}

#[test]
fn belief_and_line_take_turns() {
    let mut bench = handed_back();
    assert!(!bench.shows("Filter element plugged, what it was"));
    bench.press("Picture: belief over time, key L");
    assert!(bench.shows("Filter element plugged, what it was"));
    assert!(!bench.shows("The line opened at"));
    bench.key(Press::L);
    assert!(bench.shows("The line opened at"));
}

#[test]
fn a_running_sitting_has_no_opened_line() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.pass(1.0);
    for key in [Press::L, Press::N, Press::ArrowRight] {
        bench.key(key);
    }
    assert!(!bench.shows("The line opened"));
    let sitting = bench.harness.state_mut().sitting.as_mut().unwrap();
    assert!(matches!(sitting.session.open(), faultbay::app::session::Opening::Failed(_)));
    assert_eq!(sitting.state.wall, faultbay::app::opened::Wall::Shut);
}

#[test]
fn a_test_is_told_beside_the_best_one_and_moves_the_chart() {
    let mut bench = handed_back();
    let name = "01:00: the idle reading, 0.20 × halved in 4.0 min; the best test then: the raised reading, 0.60 × halved in 4.0 min";
    assert!(bench.shows("You took 51, and lost 22"));
    bench.reach(name);
    assert_eq!(bench.harness.state().sitting.as_ref().unwrap().state.here, Some(90 * SECOND));
}

#[test]
fn nothing_can_be_done_to_the_vehicle_any_more() {
    let mut bench = handed_back();
    let before = bench.log.borrow().len();
    bench.key(Press::K);
    assert!(bench.log.borrow()[before..].iter().all(|(_, done)| !done));
    assert!(!bench.shows("Start, key S"));
}
