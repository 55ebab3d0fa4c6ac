//! A whole job by mouse, from the shelf to the debrief.

use std::sync::Arc;

use bevy_egui::egui::Key as Press;
use faultbay::bay::action::{Action, RuledOut};
use faultbay::bay::observation::{BreachClass, EngineRun};

use crate::bench::Bench;
use crate::views::fit_at_filter_inlet;

/// Writes a reading of the gauge into the sheet, as a learner would.
fn record(bench: &mut Bench, state: &str, verdict: &str) {
    let gauge = bench.seen().gauge.expect("the tee is fitted");
    bench.key(Press::R);
    bench.press(&format!("state: {state}"));
    bench.key(Press::R);
    bench.type_text(&format!("{:.0}", gauge.mbar));
    bench.press(&format!("verdict: {verdict}"));
    bench.press("Source: vehicle card");
    bench.press("Record reading");
    assert!(matches!(bench.last_done(), Some(Action::Record { .. })), "{state}: {:?}", bench.log.borrow().last());
}

#[test]
fn a_whole_job_by_clicks() {
    let marked = Arc::new(|_: &_, _: &_, _: &_| Err("this test doesn't mark".to_owned()));
    let mut bench = Bench::before_the_shelf(marked);
    bench.press("Take the job: Runs out of puff on the bypass");
    fit_at_filter_inlet(&mut bench);
    bench.press("Purge the tee");
    assert_eq!(bench.last_done(), Some(Action::Purge));
    bench.press("Zero the transducer");
    assert_eq!(bench.last_done(), Some(Action::Zero));
    record(&mut bench, "rest", "within");
    bench.press("key: on");
    bench.press("Start, key S");
    bench.pass(12.0);
    assert_eq!(bench.seen().engine, EngineRun::Steady, "time runs by itself once the starter turns");
    record(&mut bench, "idle", "within");
    bench.press("Test speed");
    bench.pass(15.0);
    record(&mut bench, "raised", "within");
    bench.press("Idle");
    bench.pass(6.0);
    bench.press("key: off");
    bench.pass(3.0);

    bench.turn("Finding");
    bench.press("Cause: Filter element plugged");
    bench.reach("Ruled out: Transfer pump worn");
    assert!(bench.shows("a rival is ruled out by no line: press its lines"));
    bench.reach("Line 2 rules out Transfer pump worn");
    bench.reach("Line 3 rules out Transfer pump worn");
    bench.press("Submit the finding");
    bench.press("Yes, submit it");
    let Some(Action::Submit { finding }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!(finding.ruled_out, [RuledOut { candidate: "worn-pump".into(), lines: vec![2, 3] }]);
    bench.press("To the workshop");
    bench.press("Part: filter with hand primer");
    bench.turn("Workshop");
    // the engine has run: pressure and heat have to go once more
    bench.reach("wait: pressure gone, cool");
    bench.reach("Repair the part");
    assert!(matches!(bench.last_done(), Some(Action::Repair { .. })), "{:?}", bench.log.borrow().last());
    bench.reach("Take the tee out");
    bench.reach("Fill and bleed the line");
    bench.reach("Check every disturbed joint");
    assert_eq!(bench.last_done(), Some(Action::LeakCheck), "{:?}", bench.log.borrow().last());
    bench.reach("Hand the vehicle back");
    bench.reach("Yes, hand it back");
    assert_eq!(bench.last_done(), Some(Action::HandBack));

    let sitting = bench.harness.state().sitting.as_ref().unwrap();
    assert!(sitting.session.is_over());
    let bad: Vec<_> = sitting.session.breaches().iter().filter(|b| b.class != BreachClass::Minor).collect();
    assert!(bad.is_empty(), "a careful sitting broke a rule: {bad:?}");
    assert_eq!(sitting.session.sheet().len(), 3);
    bench.wait_for_mark();
    assert!(bench.shows("this test doesn't mark"));
    bench.press("Back to the shelf");
    assert!(bench.shows("Take the job: Runs out of puff on the bypass"));
}
