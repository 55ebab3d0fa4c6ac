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

/// Whatever has the ring, as a screen reader calls it.
fn focused(bench: &Bench) -> String {
    fn below(node: egui_kittest::Node<'_>) -> Option<String> {
        if node.accesskit_node().is_focused() {
            return Some(node.accesskit_node().label().unwrap_or_default());
        }
        node.children().find_map(below)
    }
    below(bench.harness.root()).unwrap_or_default()
}

#[test]
fn under_a_sheet_over_all_only_its_own_key_is_heard() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    for (key, words) in [(Press::F1, "Keys"), (Press::W, "The place"), (Press::G, "What is seen in a glass")] {
        bench.key(key);
        assert!(bench.shows(words), "{words}");
        bench.key(Press::K);
        bench.key(Press::S);
        bench.key(Press::Num4);
        assert!(bench.log.borrow().is_empty(), "{words}: {:?}", bench.log.borrow());
        bench.key(key);
        assert!(!bench.shows("gloves and eye protection"), "{words}: no page was turned");
    }
    bench.key(Press::K);
    assert_eq!(bench.last_done(), Some(Action::Key { to: Key::On }));
}

#[test]
fn the_head_is_gone_through_from_left_to_right() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    let mut seen = vec![];
    for _ in 0..7 {
        bench.key(Press::Tab);
        seen.push(focused(&bench));
    }
    let wanted = [
        "To the shelf; the sitting is kept, key F2",
        "Settings",
        "Drawing, glass and chart in words, key W",
        "For whoever teaches, key F9",
        "Projector view, key F11",
        "List of keys, F1",
        "Blueprint, key B",
    ];
    assert_eq!(seen, wanted);
}

#[test]
fn the_ring_stays_where_a_field_was_left() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    for leave in [Press::Enter, Press::Escape] {
        bench.key(Press::R);
        bench.type_text("-60");
        bench.key(leave);
        bench.key(Press::Tab);
        assert_eq!(focused(&bench), "Unit: mbar", "{leave:?}");
    }
}

#[test]
fn whoever_turns_a_page_by_its_number_is_in_it() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::Num4);
    assert_eq!(focused(&bench), "Page: Workshop");
    bench.key(Press::Tab);
    assert_eq!(focused(&bench), "gloves and eye protection");
    // where a page begins the space bar is still that of time
    bench.key(Press::Num2);
    bench.key(Press::Space);
    assert_eq!(bench.harness.state().sitting.as_ref().unwrap().state.pace, faultbay::app::state::Pace::Real);
}

#[test]
fn enter_picks_from_a_list_and_closes_it() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::Num2);
    tab_and_press(&mut bench, "Unit: mbar");
    tab_and_press(&mut bench, "kPa");
    assert_eq!(focused(&bench), "Unit: kPa");
    assert!(!bench.shows("psi"), "the list is closed");
}

#[test]
fn esc_closes_the_history_and_leaves_the_view_for_a_class() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::S);
    bench.press("History of messages");
    assert!(bench.shows("What was said"));
    bench.key(Press::Escape);
    assert!(!bench.shows("What was said"));
    bench.key(Press::F11);
    assert!(!bench.shows("Candidates"));
    bench.key(Press::Escape);
    assert!(bench.shows("Candidates"));
    bench.key(Press::F11);
    bench.press("Leave the projector view, Esc");
    assert!(bench.shows("Candidates"));
}

#[test]
fn handing_back_is_asked_anew_after_anything_else_and_after_a_while() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::Num4);
    for forget in [(|bench: &mut Bench| bench.key(Press::K)) as fn(&mut Bench), |bench| bench.pass(40.0)] {
        bench.reach("Hand the vehicle back");
        assert!(bench.shows("Yes, hand it back"));
        forget(&mut bench);
        bench.harness.run();
        assert!(!bench.shows("Yes, hand it back"));
    }
}
