//! The kit is dragged from its rack to a joint, from joint to joint, and back.

use bevy_egui::egui::{Key as Press, Pos2, vec2};
use egui_kittest::kittest::Queryable;
use faultbay::app::dragging::Item;
use faultbay::bay::action::{Action, SafetyStep};

use crate::bench::Bench;

const TITLE: &str = "Runs out of puff on the bypass";

fn safe() -> Bench {
    let mut bench = Bench::at(TITLE);
    for step in [
        SafetyStep::Protection,
        SafetyStep::Ventilation,
        SafetyStep::Extinguisher,
        SafetyStep::Chocks,
        SafetyStep::DripTray,
        SafetyStep::PressureAway,
    ] {
        let intent = faultbay::app::bridge::Intent::Do(Action::MakeSafe { step });
        bench.harness.state_mut().carry_out(vec![intent]);
    }
    bench.harness.run();
    bench
}

fn middle(bench: &Bench, name: &str) -> Pos2 {
    bench.harness.get_by_label_contains(name).rect().center()
}

/// Takes hold at a place and goes to another, without letting go.
fn pull(bench: &mut Bench, from: Pos2, to: Pos2) {
    bench.harness.hover_at(from);
    bench.harness.run();
    bench.harness.drag_at(from);
    bench.harness.run();
    // as a hand does, in steps
    for k in 1..=4 {
        bench.harness.hover_at(from + (to - from) * (k as f32 / 4.0));
        bench.harness.run();
    }
}

fn drag(bench: &mut Bench, from: Pos2, to: Pos2) {
    pull(bench, from, to);
    bench.harness.drop_at(to);
    bench.harness.run();
}

fn held(bench: &Bench) -> Option<Item> {
    bench.harness.state().sitting.as_ref().unwrap().state.dragging.item
}

#[test]
fn the_tee_is_fitted_moved_and_taken_out_by_hand() {
    let mut bench = safe();
    let (rack, inlet) = (middle(&bench, "Rack: test tee"), middle(&bench, "Joint: filter inlet"));
    pull(&mut bench, rack, inlet);
    assert_eq!(held(&bench), Some(Item::Tee));
    bench.harness.drop_at(inlet);
    bench.harness.run();
    assert_eq!(held(&bench), None);
    let Some(Action::FitTee { joint, new_seals: true }) = bench.last_done() else {
        panic!("{:?}", bench.log.borrow().last())
    };
    assert_eq!(bench.seen().tee.map(|t| t.joint), Some(joint));
    // taken at its gauge, over the joint
    let outlet = middle(&bench, "Joint: pump inlet");
    let gauge = middle(&bench, "Joint: filter inlet") - bevy_egui::egui::vec2(0.0, 36.0);
    drag(&mut bench, gauge, outlet);
    assert!(matches!(bench.last_done(), Some(Action::FitTee { .. })), "{:?}", bench.log.borrow().last());
    let gauge = middle(&bench, "Joint: pump inlet") - bevy_egui::egui::vec2(0.0, 36.0);
    drag(&mut bench, gauge, rack);
    assert_eq!(bench.last_done(), Some(Action::RemoveTee { new_seals: true }));
}

#[test]
fn let_go_beside_a_joint_or_given_up_nothing_is_done() {
    let mut bench = safe();
    let (rack, inlet) = (middle(&bench, "Rack: test tee"), middle(&bench, "Joint: filter inlet"));
    let before = bench.log.borrow().len();
    let beside = inlet - bevy_egui::egui::vec2(0.0, 70.0);
    drag(&mut bench, rack, beside);
    pull(&mut bench, rack, inlet);
    bench.key(Press::Escape);
    assert_eq!(held(&bench), None);
    bench.harness.drop_at(inlet);
    bench.harness.run();
    assert_eq!(bench.log.borrow().len(), before);
}

#[test]
fn what_cant_be_done_is_refused_with_its_reason() {
    let mut bench = safe();
    bench.press("key: on");
    bench.press("Start, key S");
    bench.pass(12.0);
    let (rack, inlet) = (middle(&bench, "Rack: test tee"), middle(&bench, "Joint: filter inlet"));
    drag(&mut bench, rack, inlet);
    let last = bench.log.borrow().last().cloned();
    assert!(matches!(last, Some((Action::FitTee { .. }, false))), "{last:?}");
    assert!(bench.shows("Not done: "));
}

#[test]
fn the_containers_hose_is_dragged_too() {
    let mut bench = safe();
    let (rack, inlet) = (middle(&bench, "Rack: container's hose"), middle(&bench, "Joint: pump inlet"));
    drag(&mut bench, rack, inlet);
    assert!(
        matches!(bench.last_done(), Some(Action::Container { joint: Some(_) })),
        "{:?}",
        bench.log.borrow().last()
    );
    assert!(bench.shows("Rack: container's hose, sits at the pump inlet"));
}

#[test]
fn the_second_transducer_is_dragged_to_a_joint_and_back() {
    let mut bench = safe();
    let (rack, inlet) = (middle(&bench, "Rack: second transducer"), middle(&bench, "Joint: filter inlet"));
    drag(&mut bench, rack, inlet);
    assert_eq!(bench.last_done(), Some(Action::SecondGauge { joint: Some("filter in".into()) }));
    assert!(bench.shows("Rack: second transducer, sits at the filter inlet"));
    // it hangs below its joint
    drag(&mut bench, inlet + vec2(0.0, 30.0), rack);
    assert_eq!(bench.last_done(), Some(Action::SecondGauge { joint: None }));
    assert!(bench.shows("Rack: second transducer, drag it to a joint"));
}

#[test]
fn a_press_on_the_rack_opens_the_workshop() {
    let mut bench = Bench::at(TITLE);
    let name = "Rack: test tee, drag it to a joint; pressed, the workshop opens";
    bench.press(name);
    assert!(bench.shows("Test tee and external container"));
}
