//! What is touched in the drawing says what can be done there; what is found out goes on the sheet.

use bevy_egui::egui::Key as Press;
use faultbay::bay::action::{Action, Probe, Quantity, TestUnit, Verdict};

use crate::bench::Bench;

const VAN: &str = "Runs out of puff on the bypass";

#[test]
fn a_touched_part_opens_its_slip_and_the_slip_does_it() {
    let mut bench = Bench::at(VAN);
    bench.press("Part: filter with hand primer");
    assert!(bench.log.borrow().is_empty(), "what takes time is asked for: {:?}", bench.log.borrow().last());
    bench.press("look, feel, smell: 2 min");
    assert_eq!(bench.last_done(), Some(Action::Look { part: "filter".into() }));
    assert!(bench.shows("warm air, 5 min"), "what was seen is read on the slip");
    bench.press("warm air, 5 min");
    assert_eq!(bench.last_done(), Some(Action::Treat { place: "filter".into(), warm: true }));
    assert!(!bench.shows("warm air, 5 min"), "what was asked for was done: the slip is gone");
    // touched again: no second look
    let before = bench.log.borrow().len();
    bench.press("Part: filter with hand primer");
    assert_eq!(bench.log.borrow().len(), before);
}

#[test]
fn what_cant_be_done_says_why() {
    let mut bench = Bench::at(VAN);
    bench.key(Press::O);
    assert!(bench.shows("full load (not now: the engine doesn't run)"));
    assert!(bench.shows("starter, 5 s (not now: the key is off)"));
    bench.press("key on");
    bench.key(Press::O);
    assert!(bench.shows("key on (not now: the key stands there already)"));
    bench.key(Press::Escape);
    assert!(!bench.shows("full load"));
}

#[test]
fn a_slip_is_worked_by_keyboard_alone() {
    let mut bench = Bench::at(VAN);
    bench.key(Press::O);
    // the first row that can be done has the ring
    bench.key(Press::Enter);
    assert!(bench.last_done().is_some(), "{:?}", bench.log.borrow().last());
}

#[test]
fn load_and_snap_are_under_the_hands() {
    let mut bench = Bench::at(VAN);
    assert!(bench.shows("Snap: floor the throttle for two seconds (not now: the engine doesn't run)"));
    bench.press("key: on");
    bench.press("Start, key S");
    bench.pass(12.0);
    // the rail is pressed in its middle
    bench.press("Load, %");
    assert_eq!(bench.last_done(), Some(Action::Load { share: 0.5 }));
    bench.press("Snap: floor the throttle for two seconds");
    assert_eq!(bench.last_done(), Some(Action::Snap));
}

#[test]
fn a_pump_is_clamped_and_its_current_written_down() {
    let mut bench = Bench::on_plant("a5-coupe");
    bench.press("Part: electric pump in the tank");
    bench.press("current clamp round its lead");
    assert_eq!(bench.last_done(), Some(Action::Measure { probe: Probe::Clamp { part: "fuel pump".into() } }));
    bench.turn("Test sheet");
    bench.press("write: test result");
    bench.press("quantity: current");
    assert!(bench.shows("Last: current of the electric pump in the tank"));
    bench.press("test value");
    bench.type_text("0,0");
    bench.press("verdict: not proven");
    bench.press("Record test");
    let Some(Action::RecordTest { entry }) = bench.last_done() else { panic!("{:?}", bench.log.borrow().last()) };
    assert_eq!((entry.quantity, entry.value, entry.unit), (Quantity::Current, 0.0, Some(TestUnit::Ampere)));
    assert_eq!(entry.verdict, Verdict::NotProven);
    assert!(bench.shows("Line 1: current"));
}

#[test]
fn the_pictures_are_there_in_words() {
    let mut bench = Bench::at(VAN);
    bench.key(Press::W);
    assert!(
        bench
            .shows("From the tank to the engine: tank, strainer, non-return valve, filter, transfer pump, engine.")
    );
    assert!(bench.shows("No test tee is fitted."));
    bench.press("Close the words");
    assert!(!bench.shows("From the tank to the engine"));
}

#[test]
fn every_vehicle_opens_and_names_its_parts() {
    for plant in ["a2-estate", "a4-hatchback", "a7-truck", "a8-genset", "a9-boat", "a10-tractor"] {
        let bench = Bench::on_plant(plant);
        let sitting = bench.harness.state().sitting.as_ref().expect("the job was taken");
        for part in &sitting.session.job().plant.parts {
            assert!(bench.shows(&format!("Part: {}", part.label)), "{plant}: {}", part.label);
        }
        for (_, label) in &sitting.session.job().joints {
            assert!(bench.shows(&format!("Joint: {label}")), "{plant}: {label}");
        }
    }
}

#[test]
fn two_fingers_open_the_chart_as_the_wheel_does() {
    use bevy_egui::egui::{Event, TouchDeviceId, TouchId, TouchPhase, vec2};
    use egui_kittest::kittest::Queryable;

    let mut bench = Bench::at(VAN);
    let span = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.chart.span_s;
    let before = span(&bench);
    let middle = bench.harness.get_by_label("Strip chart: no pressure on the part shown").rect().center();
    let touch = |finger: u64, phase, x: f32| Event::Touch {
        device_id: TouchDeviceId(1),
        id: TouchId(finger),
        phase,
        pos: middle + vec2(x, 0.0),
        force: None,
    };
    // as the window passes fingers on: the first one leads the pointer, too
    bench.harness.event(Event::PointerMoved(middle - vec2(30.0, 0.0)));
    bench.harness.event(touch(1, TouchPhase::Start, -30.0));
    bench.harness.event(touch(2, TouchPhase::Start, 30.0));
    bench.harness.step();
    bench.harness.event(touch(1, TouchPhase::Move, -45.0));
    bench.harness.event(touch(2, TouchPhase::Move, 45.0));
    bench.harness.step();
    let apart = span(&bench);
    assert!((before / apart - 1.5).abs() < 0.05, "{before} {apart}");
    bench.harness.event(touch(1, TouchPhase::Move, -30.0));
    bench.harness.event(touch(2, TouchPhase::Move, 30.0));
    bench.harness.step();
    assert!((span(&bench) / before - 1.0).abs() < 0.05, "{} {before}", span(&bench));
    for finger in [1, 2] {
        bench.harness.event(touch(finger, TouchPhase::End, 0.0));
    }
    bench.harness.event(Event::PointerGone);
    bench.harness.step();
}
