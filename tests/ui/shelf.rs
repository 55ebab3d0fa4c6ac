//! The first page: what was begun, what is set; and going back in a sitting that is over.

use std::path::PathBuf;
use std::sync::Arc;

use bevy_egui::egui::{self, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use faultbay::app::desk::Desk;
use faultbay::app::sitting::Jobs;
use faultbay::bay::action::{Action, Key, SECOND};
use faultbay::marking::model::Mark;
use faultbay::scenario::Library;

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("faultbay-shelf-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        Self(path)
    }

    /// A window before this folder's shelf. Marking gives an empty mark.
    fn window(&self) -> Harness<'static, Desk> {
        let marker = Arc::new(|_: &_, attempt: &faultbay::attempt::Attempt, _: &_| {
            Ok(Mark { total: 61.5, attempt_hash: attempt.hash().to_owned(), ..Mark::default() })
        });
        let jobs = Jobs::of(&Library::builtin(), 7, Some(self.0.clone()), marker);
        let mut harness = Harness::builder()
            .with_size(Vec2::new(1366.0, 768.0))
            .build_ui_state(|ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui), Desk::new(Box::new(jobs)));
        harness.run();
        harness
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn press(window: &mut Harness<'static, Desk>, name: &str) {
    window.get_by_label_contains(name).click();
    window.run();
}

fn shows(window: &Harness<'static, Desk>, name: &str) -> bool {
    window.query_all_by_label_contains(name).next().is_some()
}

const TITLE: &str = "Runs out of puff on the bypass";

fn act(window: &mut Harness<'static, Desk>, action: Action) {
    let sitting = window.state_mut().sitting.as_mut().expect("a sitting");
    sitting.session.act(&action);
    window.run();
}

#[test]
fn a_sitting_that_was_left_goes_on_where_it_was() {
    let folder = Folder::new("left");
    let mut first = folder.window();
    press(&mut first, &format!("Take the job: {TITLE}"));
    act(&mut first, Action::Wait { secs: 200.0 });
    act(&mut first, Action::Key { to: Key::On });
    let at = first.state().sitting.as_ref().unwrap().session.now();
    drop(first);
    let mut again = folder.window();
    press(&mut again, &format!("Go on: {TITLE}"));
    let sitting = again.state().sitting.as_ref().expect("it goes on");
    assert_eq!(sitting.session.now(), at);
    assert_eq!(sitting.session.observe().key, Key::On);
}

#[test]
fn one_goes_back_in_a_sitting_that_is_over() {
    let folder = Folder::new("branch");
    let mut window = folder.window();
    press(&mut window, &format!("Take the job: {TITLE}"));
    act(&mut window, Action::Wait { secs: 100.0 });
    act(&mut window, Action::Key { to: Key::On });
    act(&mut window, Action::Wait { secs: 300.0 });
    press(&mut window, "Workshop");
    press(&mut window, "Hand the vehicle back");
    press(&mut window, "Yes, hand it back");
    for _ in 0..500 {
        window.state_mut().tick(0.01);
        if !window.state().is_marking() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
    window.run();
    assert!(shows(&window, "Go back to here"));
    window.state_mut().carry_out(vec![faultbay::app::bridge::Intent::Here(100 * SECOND)]);
    window.run();
    press(&mut window, "Go back to here");
    let sitting = window.state().sitting.as_ref().expect("a branch");
    assert!(!sitting.session.is_over(), "the branch isn't over");
    assert_eq!(sitting.session.now(), 400 * SECOND, "the wait that began at 100 s was done again to its end");
    drop(window);
    // both are found again: the one with its result, the other to go on with
    let shelf = folder.window();
    assert!(shows(&shelf, "61.5 of 100"));
    assert!(shows(&shelf, &format!("Go on: {TITLE}")));
}

#[test]
fn settings_are_kept_and_hold() {
    let folder = Folder::new("settings");
    let mut window = folder.window();
    press(&mut window, "Settings");
    press(&mut window, "units: SI: kPa");
    press(&mut window, "paper: blueprint, dark");
    press(&mut window, "untimed: the expected minutes");
    press(&mut window, "Keep the settings");
    drop(window);
    let mut again = folder.window();
    assert!(again.ctx.global_style().visuals.dark_mode);
    press(&mut again, &format!("Take the job: {TITLE}"));
    assert!(shows(&again, "Pressure at the tee, kPa gauge"));
    assert!(!shows(&again, "of about"));
}

#[test]
fn text_of_twice_the_size_hides_nothing_for_good() {
    let folder = Folder::new("large");
    std::fs::create_dir_all(&folder.0).unwrap();
    std::fs::write(folder.0.join("settings.json"), "{\"text\": 200}").unwrap();
    let mut window = folder.window();
    window.run();
    assert!((window.ctx.zoom_factor() - 2.0).abs() < 1e-3);
    window.get_by_label_contains(&format!("Take the job: {TITLE}")).scroll_to_me();
    window.run();
    window.get_by_label_contains(&format!("Take the job: {TITLE}")).click();
    window.run();
    // the desk is larger than the window and can be scrolled to its last control
    window.get_by_label_contains("Joint: filter inlet").scroll_to_me();
    window.run();
    assert!(shows(&window, "Joint: filter inlet") && shows(&window, "Start, key S"));
}
