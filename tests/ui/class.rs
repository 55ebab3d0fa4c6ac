//! The page for whoever teaches: time stands still, a fault is put in, what is wrong is shown, and the sitting goes on.

use bevy_egui::egui::Key as Press;
use egui_kittest::kittest::Queryable;
use faultbay::app::state::Pace;
use faultbay::bay::instruct::Instructed;

use crate::bench::Bench;

fn instructed(bench: &Bench) -> Instructed {
    bench.harness.state().sitting.as_ref().unwrap().session.instructed()
}

fn wait_until_shown(bench: &mut Bench) {
    for _ in 0..4000 {
        bench.harness.state_mut().tick(0.0);
        if !bench.harness.state().sitting.as_ref().unwrap().state.class.wants {
            bench.harness.run();
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    panic!("it is never shown");
}

#[test]
fn a_fault_is_put_in_shown_and_the_sitting_goes_on_without_a_mark() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    bench.key(Press::F9);
    assert!(bench.shows("What is done to the vehicle here is written into the record"));
    bench.reach("Put this fault into the vehicle");
    assert!(instructed(&bench).changed && !instructed(&bench).revealed);
    assert!(!bench.shows("Filter element plugged at"), "what is wrong isn't told yet");
    // shown after a second press only
    bench.reach("Show what is wrong");
    assert!(!instructed(&bench).revealed);
    bench.reach("Yes, show what is wrong");
    wait_until_shown(&mut bench);
    assert!(instructed(&bench).revealed);
    assert!(bench.shows("Filter element plugged at filter with hand primer, severity 3.0 of 5"));
    assert!(bench.shows("The line opened at"));
    bench.reach("Close the page for whoever teaches");
    assert!(!bench.shows("What is done to the vehicle here is written into the record"));
    assert!(!bench.harness.state().sitting.as_ref().unwrap().session.is_over());
    bench.press("Let 5 min pass");
    bench.turn("Workshop");
    bench.reach("Hand the vehicle back");
    bench.reach("Yes, hand it back");
    assert!(bench.harness.state().sitting.as_ref().unwrap().session.is_over());
}

#[test]
fn time_is_stopped_and_let_go_on() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    let pace = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().state.pace;
    bench.key(Press::F9);
    let other = if pace(&bench) == Pace::Paused { "Let time go on" } else { "Stop time" };
    let before = pace(&bench);
    bench.reach(other);
    assert_ne!(pace(&bench), before);
    assert_eq!(instructed(&bench), Instructed::default(), "a pause changes nothing");
}

#[test]
fn time_stands_while_the_page_or_the_settings_lie_over_the_bay() {
    let mut bench = Bench::at("Runs out of puff on the bypass");
    let now = |bench: &Bench| bench.harness.state().sitting.as_ref().unwrap().session.now();
    bench.harness.state_mut().sitting.as_mut().unwrap().state.pace = Pace::Real;
    bench.pass(1.0);
    assert!(now(&bench) > 0, "it runs");
    for (opens, closes) in [(None, "Close the page for whoever teaches"), (Some("Settings"), "Keep the settings")] {
        let before = now(&bench);
        match opens {
            Some(button) => {
                bench.harness.get_by_label(button).click();
                bench.harness.run_steps(4);
            }
            None => bench.key(Press::F9),
        }
        bench.pass(2.0);
        assert_eq!(now(&bench), before, "{closes}");
        bench.reach(closes);
        bench.pass(1.0);
        assert!(now(&bench) > before, "{closes}");
    }
}
