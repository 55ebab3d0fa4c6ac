//! What single controls ask of the bay.

use bevy_egui::egui::Key as Press;
use egui_kittest::kittest::{NodeT, Queryable};
use faultbay::bay::action::{Action, Key, Perceived, SafetyStep, State, Verdict};
use faultbay::units::PressureUnit;

use crate::bench::Bench;

const TITLE: &str = "Runs out of puff on the bypass";

#[test]
fn the_start_page_says_what_this_is_not() {
    let bench = Bench::before_the_shelf(std::sync::Arc::new(|_, _, _| Err(String::new())));
    assert!(bench.shows("It is no procedure for a real machine"));
    assert!(bench.shows(&format!("Take the job: {TITLE}")));
}

#[test]
fn the_card_of_looks_opens_from_the_glass_and_by_its_key() {
    let mut bench = Bench::at(TITLE);
    assert!(!bench.shows("What is seen in a glass"));
    bench.press("Sight glass: no tee fitted");
    assert!(bench.shows("What is seen in a glass"));
    for look in
        ["pin-head bubbles: few, to be counted", "beads of water: round, at the foot", "falling level: runs back"]
    {
        assert!(bench.shows(look), "{look}");
    }
    bench.press("Close the card of looks");
    assert!(!bench.shows("What is seen in a glass"));
    bench.key(Press::G);
    assert!(bench.shows("What is seen in a glass"));
}

#[test]
fn the_key_turns_and_the_starter_refuses_without_it() {
    let mut bench = Bench::at(TITLE);
    assert!(bench.shows("Start, key S (not now: the key is off)"));
    bench.press("key: on");
    assert_eq!(bench.last_done(), Some(Action::Key { to: Key::On }));
    bench.press("Start, key S");
    assert_eq!(bench.last_done(), Some(Action::Crank { secs: 5.0 }));
}

#[test]
fn a_safety_step_is_ticked_once_done() {
    let mut bench = Bench::at(TITLE);
    bench.turn("Workshop");
    bench.press("drip tray and absorbent");
    assert_eq!(bench.last_done(), Some(Action::MakeSafe { step: SafetyStep::DripTray }));
    let before = bench.log.borrow().len();
    bench.press("drip tray and absorbent");
    assert_eq!(bench.log.borrow().len(), before, "a step that was taken isn't taken again");
}

#[test]
fn a_refusal_stands_on_the_line_and_in_the_history() {
    let mut bench = Bench::at(TITLE);
    bench.key(Press::S);
    assert!(!bench.log.borrow().last().unwrap().1);
    assert!(bench.shows("Not done: The key is off."));
    bench.press("History of messages");
    assert!(bench.shows("What was said"));
}

#[test]
fn a_question_is_asked_and_its_answer_stays() {
    let mut bench = Bench::at(TITLE);
    bench.reach("Ask: When does it happen?");
    assert_eq!(bench.last_done(), Some(Action::Ask { question: "when".into() }));
    assert!(bench.shows("long drag up past Northfell"));
}

#[test]
fn limits_come_with_their_caution() {
    let mut bench = Bench::at(TITLE);
    assert!(bench.shows("Vehicle card"));
    assert!(bench.shows("Training values. On a real machine use its maker's data."));
    bench.turn("Test sheet");
    assert!(bench.shows("Training values. On a real machine use its maker's data."));
}

#[test]
fn a_reading_is_typed_judged_and_recorded() {
    let mut bench = Bench::at(TITLE);
    fit_at_filter_inlet(&mut bench);
    // nothing is drawn in the moment of fitting
    bench.press("Purge the tee");
    bench.key(Press::R);
    bench.type_text("\u{2212}31,5");
    bench.press("state: idle");
    bench.press("verdict: not proven");
    bench.press("Source: vehicle card");
    bench.press("Record reading");
    let Some(Action::Record { reading }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!((reading.value, reading.unit, reading.state), (-31.5, Some(PressureUnit::Mbar), State::Idle));
    assert_eq!((reading.verdict, reading.source.as_str()), (Verdict::NotProven, "vehicle card"));
    assert!(bench.shows("Line 1: idle"));
    // and corrected
    bench.press(&line_name(&bench, "Line 1: idle"));
    bench.press("correct line 1");
    bench.press("verdict: within");
    bench.press("Correct line 1");
    let Some(Action::Amend { line: 1, reading }) = bench.last_done() else {
        panic!("{:?}", bench.log.borrow().last())
    };
    assert_eq!((reading.value, reading.verdict), (-31.5, Verdict::Within));
}

/// The whole name of the one control whose name begins like this.
fn line_name(bench: &Bench, begins: &str) -> String {
    let node = bench.harness.get_by_label_contains(begins);
    node.accesskit_node().label().expect("it was found by its label")
}

#[test]
fn what_is_seen_in_the_glass_is_noted() {
    let mut bench = Bench::at(TITLE);
    fit_at_filter_inlet(&mut bench);
    bench.turn("Test sheet");
    bench.press("write: something seen");
    bench.press("write down: clear");
    assert_eq!(bench.last_done(), Some(Action::Note { what: Perceived::Glass, seen: "clear".into() }));
}

#[test]
fn a_prediction_is_written_before_testing() {
    let mut bench = Bench::at(TITLE);
    bench.turn("Test sheet");
    bench.press("write: prediction");
    bench.press("state: raised");
    bench.press("lowest, mbar");
    bench.type_text("-400");
    bench.press("highest, mbar");
    bench.type_text("-250");
    bench.press("Write prediction");
    let Some(Action::Predict { prediction }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!((prediction.low_mbar, prediction.high_mbar, prediction.candidate), (-400.0, -250.0, None));
}

#[test]
fn stated_points_sum_to_a_hundred() {
    let mut bench = Bench::at(TITLE);
    bench.turn("Candidates");
    bench.press("Filter element plugged");
    bench.press("State these points");
    let Some(Action::Believe { points }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!(points.values().map(|p| u32::from(*p)).sum::<u32>(), 100);
    // the rail was pressed in its middle
    assert_eq!(points["plugged-filter"], 50);
}

#[test]
fn points_and_lines_are_told_in_brief_on_each_others_page() {
    let mut bench = Bench::at(TITLE);
    fit_at_filter_inlet(&mut bench);
    bench.turn("Test sheet");
    assert!(bench.shows("No points shared yet"));
    assert!(!bench.shows("State these points"));
    bench.turn("Candidates");
    assert!(!bench.shows("What was written"), "nothing was");
    bench.press("Filter element plugged");
    bench.press("State these points");
    bench.turn("Test sheet");
    bench.harness.get_by_label_contains("Points as stated last: 50 Filter element plugged").click();
    bench.harness.run();
    assert!(bench.shows("State these points"), "it turns to the points");
    bench.turn("Test sheet");
    bench.press("write: something seen");
    bench.press("write down: clear");
    bench.turn("Candidates");
    assert!(bench.shows("What was written") && bench.shows("Line 1: glass clear"));
}

#[test]
fn a_part_of_the_drawing_can_be_looked_at_and_a_joint_picked() {
    let mut bench = Bench::at(TITLE);
    bench.press("Part: filter with hand primer");
    bench.press("look, feel, smell: 2 min");
    assert_eq!(bench.last_done(), Some(Action::Look { part: "filter".into() }));
    bench.press("Joint: pump inlet");
    assert!(bench.shows("joint: pump inlet"), "the workshop opens at the joint");
}

#[test]
fn the_finding_is_asked_for_twice_and_then_stands() {
    let mut bench = Bench::at(TITLE);
    bench.turn("Finding");
    bench.press("Cause: Filter element plugged");
    bench.press("Submit the finding");
    assert!(!matches!(bench.last_done(), Some(Action::Submit { .. })), "one press isn't enough");
    bench.press("Yes, submit it");
    let Some(Action::Submit { finding }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!(finding.candidate, "plugged-filter");
    assert!(bench.shows("Submitted"));
    // what is left ticks itself off
    assert!(bench.shows("To do: bleed"));
    bench.press("To the workshop");
    bench.press("Fill and bleed the line");
    bench.turn("Finding");
    assert!(bench.shows("Done: bleed") && bench.shows("To do: check every joint"));
}

#[test]
fn a_class_sees_the_place_and_not_the_learners_paper() {
    let mut bench = Bench::at(TITLE);
    assert!(bench.shows("Candidates") && bench.shows("Sight glass"));
    bench.key(Press::F11);
    bench.harness.run();
    assert!(bench.shows("Sight glass") && bench.shows("Strip chart") && bench.shows(TITLE));
    for hidden in ["Candidates", "Test sheet", "Finding", "Workshop"] {
        assert!(!bench.shows(hidden), "{hidden}");
    }
    assert!((bench.harness.ctx.zoom_factor() - 1.4).abs() < 1e-3);
    // the work goes on by its keys
    bench.key(Press::K);
    assert_eq!(bench.last_done(), Some(Action::Key { to: Key::On }));
    bench.key(Press::F11);
    assert!(bench.shows("Candidates"));
}

#[test]
fn paper_and_blueprint() {
    let mut bench = Bench::at(TITLE);
    assert!(!bench.harness.ctx.global_style().visuals.dark_mode);
    bench.key(Press::B);
    assert!(bench.harness.ctx.global_style().visuals.dark_mode);
}

/// Makes safe and fits the tee by clicks.
pub fn fit_at_filter_inlet(bench: &mut Bench) {
    bench.turn("Workshop");
    for step in [
        "gloves and eye protection",
        "ventilation, no ignition source",
        "extinguisher within reach",
        "neutral, brake, chocks",
        "drip tray and absorbent",
        "wait: pressure gone, cool",
    ] {
        bench.press(step);
    }
    bench.press("Joint: filter inlet");
    bench.press("Fit the tee");
    assert!(
        matches!(bench.last_done(), Some(Action::FitTee { new_seals: true, .. })),
        "{:?}",
        bench.log.borrow().last()
    );
}

#[test]
fn a_critical_breach_in_practice_stops_time_until_it_was_read() {
    use faultbay::app::bridge::Intent;
    use faultbay::app::state::Pace;

    let mut bench = Bench::before_the_shelf(std::sync::Arc::new(|_, _, _| Err(String::new())));
    bench.reach("Take the job: It used to buzz");
    let pace = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.pace;
    bench.key(Press::Space);
    assert_eq!(pace(&bench), Pace::Real);
    // petrol let out without ventilation
    let fit = Action::FitTee { joint: "rail in".into(), new_seals: true };
    bench.harness.state_mut().carry_out(vec![Intent::Do(fit)]);
    bench.harness.run();
    assert_eq!(pace(&bench), Pace::Paused);
    assert!(bench.shows("Stop. Time stands still."), "it is explained");
    bench.harness.state_mut().carry_out(vec![Intent::PauseOrGo]);
    assert_eq!(pace(&bench), Pace::Paused, "not before it was read");
    bench.press("I have read this");
    bench.key(Press::Space);
    assert_eq!(pace(&bench), Pace::Real);
}

#[test]
fn the_line_tells_what_the_engine_did_by_itself() {
    // a sound vehicle fires; one that is given no time on the starter doesn't
    let mut bench = Bench::on_plant("a1-van");
    bench.key(Press::K);
    bench.key(Press::S);
    bench.pass(12.0);
    assert!(bench.shows("The engine has started."));
    bench.key(Press::K);
    bench.pass(3.0);
    assert!(!bench.shows("The engine died"), "a hand turned it off");
    bench.key(Press::K);
    let short = Action::Crank { secs: 0.5 };
    bench.harness.state_mut().carry_out(vec![faultbay::app::bridge::Intent::Do(short)]);
    bench.pass(3.0);
    assert!(bench.shows("The starter is let go; the engine has not started."));
}

#[test]
fn a_sheet_that_stops_time_swallows_the_keys() {
    use faultbay::app::bridge::Intent;
    use faultbay::app::state::Pace;

    let mut bench = Bench::before_the_shelf(std::sync::Arc::new(|_, _, _| Err(String::new())));
    bench.reach("Take the job: It used to buzz");
    let fit = Action::FitTee { joint: "rail in".into(), new_seals: true };
    bench.harness.state_mut().carry_out(vec![Intent::Do(fit)]);
    bench.harness.run();
    assert!(bench.shows("Stop. Time stands still."));
    let (done, at) = (bench.log.borrow().len(), bench.seen().at);
    for key in [Press::K, Press::S, Press::Space, Press::F1, Press::F2] {
        bench.key(key);
    }
    bench.pass(2.0);
    assert_eq!((bench.log.borrow().len(), bench.seen().at), (done, at));
    // and whatever lets time run
    bench.harness.state_mut().carry_out(vec![Intent::TurnKey]);
    let at = bench.seen().at;
    bench.pass(2.0);
    assert_eq!((bench.seen().at, bench.harness.state().sitting.as_ref().unwrap().state.pace), (at, Pace::Paused));
}

#[test]
fn a_rule_that_is_broken_while_time_runs_is_told_then() {
    let mut bench = Bench::at(TITLE);
    fit_at_filter_inlet(&mut bench);
    bench.key(Press::K);
    bench.key(Press::S);
    bench.pass(12.0);
    bench.key(Press::V);
    bench.pass(9.0);
    let sitting = bench.harness.state().sitting.as_ref().unwrap();
    let broken =
        sitting.session.breaches().iter().find(|b| b.rule == "dead-head-long").expect("it was shut too long");
    assert!(sitting.state.messages.all.iter().any(|m| m.words == broken.words), "{:?}", sitting.state.messages.all);
    assert!(bench.shows("Rule broken: "));
}

#[test]
fn a_sitting_that_nobody_records_is_left_at_the_second_press() {
    let mut bench = Bench::at(TITLE);
    bench.key(Press::F2);
    assert!(bench.shows("This sitting is recorded nowhere"));
    bench.key(Press::K);
    bench.key(Press::F2);
    assert!(bench.harness.state().sitting.is_some(), "something else was done");
    bench.key(Press::F2);
    assert!(bench.harness.state().sitting.is_none());
    assert!(bench.shows(&format!("Take the job: {TITLE}")));
}

#[test]
fn nothing_is_recorded_without_a_tee_and_the_form_follows_the_vehicle() {
    let mut bench = Bench::at(TITLE);
    bench.key(Press::R);
    bench.type_text("-5");
    assert!(bench.shows("Record reading (not now: fit the tee first)"));
    let state = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.sheet.state;
    assert_eq!(state(&bench), State::Rest);
    bench.harness.state_mut().sitting.as_mut().unwrap().state.sheet.value.clear();
    bench.key(Press::Escape);
    bench.key(Press::K);
    bench.key(Press::S);
    bench.pass(12.0);
    assert_eq!(state(&bench), State::Idle);
    bench.key(Press::K);
    bench.pass(5.0);
    assert_eq!(state(&bench), State::Hold);
}
