//! The coach: asked while practising, he shows ranges of other vehicles, and can be stopped.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use bevy_egui::egui::{self, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use faultbay::app::coach::Coach;
use faultbay::app::desk::Desk;
use faultbay::app::sitting::Jobs;
use faultbay::bay::action::State;
use faultbay::diagnosis::ensemble::Watch;
use faultbay::diagnosis::expected::{Expected, Place, Range};
use faultbay::scenario::model::{Job, Mode};
use faultbay::scenario::{Kind, Library};

const TITLE: &str = "Runs out of puff on the bypass";

fn window(library: &Library, coach: Coach) -> Harness<'static, Desk> {
    let unmarked = Arc::new(|_: &_, _: &_, _: &_| Err("this test doesn't mark".to_owned()));
    let jobs = Jobs::of(library, 7, None, unmarked).coached_by(coach);
    let mut harness = Harness::builder()
        .with_size(Vec2::new(1366.0, 768.0))
        .build_ui_state(|ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui), Desk::new(Box::new(jobs)));
    harness.run();
    harness
}

fn press(window: &mut Harness<'static, Desk>, name: &str) {
    window.get_by_label_contains(name).click();
    window.run();
}

fn shows(window: &Harness<'static, Desk>, name: &str) -> bool {
    window.query_all_by_label_contains(name).next().is_some()
}

/// Ranges that have nothing to do with any vehicle.
fn made_up(job: &Job) -> Expected {
    let ranges = (0..job.candidates.len()).map(|candidate| Range {
        candidate,
        low: -200.0 - 10.0 * candidate as f64,
        middle: -150.0,
        high: -100.0,
    });
    let place = |(joint, _): &(String, String)| Place {
        joint: joint.clone(),
        state: State::Idle,
        ranges: ranges.clone().collect(),
    };
    Expected { places: job.joints.iter().map(place).collect() }
}

fn ask(window: &mut Harness<'static, Desk>) {
    press(window, &format!("Take the job: {TITLE}"));
    press(window, "Candidates");
    press(window, "What could each candidate show?");
}

fn wait(window: &mut Harness<'static, Desk>) {
    for _ in 0..4000 {
        window.state_mut().tick(0.0);
        if !window.state().is_asking() {
            window.run();
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    panic!("the coach never answers");
}

#[test]
fn every_candidate_has_its_range_and_the_card_is_beside_it() {
    let coach: Coach = Arc::new(|job, _| Ok(made_up(job)));
    let mut window = window(&Library::builtin(), coach);
    ask(&mut window);
    wait(&mut window);
    assert!(shows(&window, "Filter element plugged: −"), "a row in words");
    assert!(shows(&window, "Training values. On a real machine use its maker's data."));
    // a state that the run doesn't read there
    press(&mut window, "asked in state: hold");
    assert!(shows(&window, "No reference vehicle is read here"));
    press(&mut window, "Back to the points");
    assert!(shows(&window, "State these points"));
}

#[test]
fn the_work_never_holds_the_window_up_and_can_be_stopped() {
    let stopped = Arc::new(AtomicBool::new(false));
    let told = stopped.clone();
    let coach: Coach = Arc::new(move |_, watched| {
        watched.progress(0.25);
        while !watched.cancelled() {
            std::thread::yield_now();
        }
        told.store(true, Ordering::Relaxed);
        Err("cancelled".to_owned())
    });
    let mut window = window(&Library::builtin(), coach);
    ask(&mut window);
    for _ in 0..2000 {
        window.step();
        if shows(&window, "25 in 100 done") {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    assert!(shows(&window, "25 in 100 done"));
    // meanwhile everything else goes on
    press(&mut window, "Job card");
    assert!(shows(&window, "Ask the customer"));
    press(&mut window, "Candidates");
    press(&mut window, "Stop driving reference vehicles");
    for _ in 0..2000 {
        if stopped.load(Ordering::Relaxed) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    assert!(stopped.load(Ordering::Relaxed), "the work was told to stop");
    assert!(shows(&window, "State these points"));
}

#[test]
fn there_is_no_coach_in_an_assessment() {
    let mut library = Library::builtin();
    let text = library
        .text(Kind::Job, "bypass-puff")
        .expect("it is built in")
        .replace("mode: practice", "mode: assessment");
    library.insert(Kind::Job, "bypass-puff", "bypass-puff.ron", &text);
    let (job, _) = faultbay::scenario::load_job(&library, "bypass-puff").unwrap_or_else(|_| panic!("it loads"));
    assert_eq!(job.mode, Mode::Assessment);
    let coach: Coach = Arc::new(|job, _| Ok(made_up(job)));
    let mut window = window(&library, coach);
    press(&mut window, &format!("Take the job: {TITLE}"));
    press(&mut window, "Candidates");
    assert!(shows(&window, "State these points") && !shows(&window, "What could each candidate show?"));
    // nor by another way
    window.state_mut().carry_out(vec![faultbay::app::bridge::Intent::Coach(true)]);
    window.run();
    assert!(!window.state().is_asking() && shows(&window, "State these points"));
}
