//! The same by keyboard only: no pointer event is ever sent.

use bevy_egui::egui::{Key as Press, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use faultbay::bay::action::{Action, Key, SafetyStep, Verdict};
use faultbay::bay::observation::EngineRun;

use crate::bench::Bench;

/// Tabs on until the control with this name has the focus; fails after a full round.
fn tab_to(bench: &mut Bench, name: &str) {
    for _ in 0..160 {
        let there = bench.harness.query_all_by_label(name).any(|node| node.accesskit_node().is_focused());
        if there {
            return;
        }
        bench.key(Press::Tab);
    }
    panic!("Tab never reaches \"{name}\"");
}

fn tab_and_press(bench: &mut Bench, name: &str) {
    tab_to(bench, name);
    bench.key(Press::Enter);
}

#[test]
fn a_job_by_keyboard_only() {
    let mut bench = Bench::before_the_shelf(std::sync::Arc::new(|_, _, _| Err(String::new())));
    tab_and_press(&mut bench, "Take the job: Runs out of puff on the bypass");
    bench.key(Press::Num4);
    tab_and_press(&mut bench, "gloves and eye protection");
    assert_eq!(bench.last_done(), Some(Action::MakeSafe { step: SafetyStep::Protection }));
    tab_and_press(&mut bench, "wait: pressure gone, cool");
    tab_and_press(&mut bench, "Joint: filter inlet");
    tab_and_press(&mut bench, "Fit the tee");
    assert!(matches!(bench.last_done(), Some(Action::FitTee { .. })), "{:?}", bench.log.borrow().last());
    tab_and_press(&mut bench, "Purge the tee");
    tab_and_press(&mut bench, "Zero the transducer");
    bench.key(Press::K);
    assert_eq!(bench.last_done(), Some(Action::Key { to: Key::On }));
    bench.key(Press::S);
    bench.pass(12.0);
    assert_eq!(bench.seen().engine, EngineRun::Steady);
    bench.key(Press::Plus);
    assert!(matches!(bench.last_done(), Some(Action::Speed { .. })));
    bench.key(Press::V);
    assert_eq!(bench.last_done(), Some(Action::Valve { open: 0.0 }));
    bench.key(Press::V);
    assert_eq!(bench.last_done(), Some(Action::Valve { open: 1.0 }));

    // a reading: into the field, value, verdict, record
    bench.key(Press::R);
    bench.type_text("-60");
    tab_and_press(&mut bench, "verdict: outside");
    tab_and_press(&mut bench, "Record reading");
    let Some(Action::Record { reading }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!((reading.value, reading.verdict), (-60.0, Verdict::Outside));

    // points by the arrows
    bench.key(Press::Num3);
    tab_to(&mut bench, "Filter element plugged");
    for _ in 0..3 {
        bench.harness.key_press_modifiers(Modifiers::SHIFT, Press::ArrowRight);
        bench.harness.run();
    }
    tab_and_press(&mut bench, "State these points");
    let Some(Action::Believe { points }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!(points["plugged-filter"], 13 + 30);

    // the finding
    bench.key(Press::Num5);
    tab_and_press(&mut bench, "Cause: Filter element plugged");
    tab_and_press(&mut bench, "Submit the finding");
    tab_and_press(&mut bench, "Yes, submit it");
    assert!(matches!(bench.last_done(), Some(Action::Submit { .. })), "{:?}", bench.log.borrow().last());

    // engine off, tee out, leak check, hand-back
    bench.key(Press::K);
    assert_eq!(bench.last_done(), Some(Action::Key { to: Key::Off }));
    bench.pass(5.0);
    bench.key(Press::Num4);
    tab_and_press(&mut bench, "wait: pressure gone, cool");
    tab_and_press(&mut bench, "Take the tee out");
    assert_eq!(bench.last_done(), Some(Action::RemoveTee { new_seals: true }));
    tab_and_press(&mut bench, "Check every disturbed joint");
    assert_eq!(bench.last_done(), Some(Action::LeakCheck));
    tab_and_press(&mut bench, "Hand the vehicle back");
    tab_and_press(&mut bench, "Yes, hand it back");
    assert_eq!(bench.last_done(), Some(Action::HandBack));
}

#[test]
fn typing_is_not_taken_for_shortcuts() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::R);
    let before = bench.log.borrow().len();
    bench.key(Press::K);
    bench.key(Press::S);
    assert_eq!(bench.log.borrow().len(), before);
}

#[test]
fn space_pauses_and_goes_on_when_nothing_has_the_ring() {
    use faultbay::app::state::Pace;
    let mut bench = Bench::at("Runs out of puff on the bypass");
    let pace = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.pace;
    bench.key(Press::Space);
    assert_eq!(pace(&bench), Pace::Real);
    bench.key(Press::Space);
    assert_eq!(pace(&bench), Pace::Paused);
}

#[test]
fn dividers_move_by_arrows() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::Space);
    bench.pass(60.0);
    bench.key(Press::Space);
    bench.key(Press::D);
    let feet = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.chart.feet.unwrap();
    let before = feet(&bench);
    for _ in 0..160 {
        let on_foot = bench
            .harness
            .query_all_by_label_contains("Dividers, first foot")
            .any(|n| n.accesskit_node().is_focused());
        if on_foot {
            break;
        }
        bench.key(Press::Tab);
    }
    bench.key(Press::ArrowLeft);
    assert_eq!(feet(&bench), [before[0] - 100_000, before[1]]);
}
