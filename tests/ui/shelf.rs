//! The first page: what was begun, what is set; and going back in a sitting that is over.

use std::path::PathBuf;
use std::sync::Arc;

use bevy_egui::egui::{self, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use faultbay::app::desk::Desk;
use faultbay::app::script::{Runner, Wish, parse};
use faultbay::app::session::{Begun, Card, Coming, Session, Shelf};
use faultbay::app::sitting::Jobs;
use faultbay::app::task::Task;
use faultbay::bay::action::{Action, Key, SECOND};
use faultbay::diagnosis::ensemble::Watch;
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
    window.state_mut().wait_it_out();
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
fn a_sitting_can_be_left_for_the_shelf_and_goes_on_with_all_that_was_said() {
    let folder = Folder::new("to-the-shelf");
    let mut window = folder.window();
    press(&mut window, &format!("Take the job: {TITLE}"));
    let hint = Action::Hint { level: 1 };
    let refused = Action::Crank { secs: 3.0 };
    let ask = |window: &mut Harness<'static, Desk>, action: &Action| {
        window.state_mut().carry_out(vec![faultbay::app::bridge::Intent::Do(action.clone())]);
        window.run();
    };
    for action in [&hint, &refused, &Action::Key { to: Key::On }, &Action::Crank { secs: 8.0 }] {
        ask(&mut window, action);
    }
    for _ in 0..200 {
        window.state_mut().tick(0.05);
    }
    let said = |window: &Harness<'static, Desk>| {
        let messages = &window.state().sitting.as_ref().expect("a sitting").state.messages;
        messages.all.iter().map(|m| (m.at / SECOND, m.kind, m.words.clone())).collect::<Vec<_>>()
    };
    let before = said(&window);
    assert!(before.len() >= 5, "{before:?}");
    window.key_press(egui::Key::F2);
    window.run();
    assert!(window.state().sitting.is_none());
    press(&mut window, &format!("Go on: {TITLE}"));
    let after = said(&window);
    for (at, kind, words) in &before {
        // what the engine did by itself is told again at the next whole second
        let again = after.iter().find(|m| m.1 == *kind && m.2 == *words);
        assert!(again.is_some_and(|m| m.0.abs_diff(*at) <= 1), "{at} {words}: {after:?}");
    }
}

#[test]
fn the_hands_are_where_they_were_when_a_sitting_goes_on() {
    let folder = Folder::new("hands");
    let mut first = folder.window();
    press(&mut first, &format!("Take the job: {TITLE}"));
    act(&mut first, Action::MakeSafe { step: faultbay::bay::action::SafetyStep::PressureAway });
    act(&mut first, Action::FitTee { joint: "pump in".into(), new_seals: true });
    act(&mut first, Action::Key { to: Key::On });
    act(&mut first, Action::Crank { secs: 8.0 });
    act(&mut first, Action::Speed { rpm: 2500.0 });
    act(&mut first, Action::Valve { open: 0.5 });
    act(&mut first, Action::Wait { secs: 3.0 });
    drop(first);
    let mut again = folder.window();
    press(&mut again, &format!("Go on: {TITLE}"));
    let hands = &again.state().sitting.as_ref().expect("it goes on").state.hands;
    assert_eq!((hands.speed, hands.lever), (Some(2500.0), Some(0.5)));
}

/// Every file of the folder with this ending.
fn files(folder: &Folder, ending: &str) -> Vec<PathBuf> {
    let all = std::fs::read_dir(&folder.0).unwrap().flatten().map(|e| e.path());
    all.filter(|p| p.extension().is_some_and(|x| x == ending)).collect()
}

/// Takes the job, does a little and hands back; waits for the mark.
fn handed_back(window: &mut Harness<'static, Desk>) {
    press(window, &format!("Take the job: {TITLE}"));
    act(window, Action::MakeSafe { step: faultbay::bay::action::SafetyStep::PressureAway });
    act(window, Action::FitTee { joint: "pump in".into(), new_seals: true });
    act(window, Action::Key { to: Key::On });
    act(window, Action::Crank { secs: 8.0 });
    act(window, Action::Wait { secs: 20.0 });
    act(window, Action::Key { to: Key::Off });
    act(window, Action::Wait { secs: 5.0 });
    press(window, "Workshop");
    press(window, "Hand the vehicle back");
    press(window, "Yes, hand it back");
    for _ in 0..2000 {
        window.state_mut().tick(0.01);
        if !window.state().is_marking() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
    window.run();
}

#[test]
fn the_chart_is_saved_as_table_and_as_picture() {
    let folder = Folder::new("save");
    let mut window = folder.window();
    press(&mut window, &format!("Take the job: {TITLE}"));
    assert!(shows(&window, "(not now: nothing was measured yet)"));
    act(&mut window, Action::MakeSafe { step: faultbay::bay::action::SafetyStep::PressureAway });
    act(&mut window, Action::FitTee { joint: "pump in".into(), new_seals: true });
    act(&mut window, Action::Wait { secs: 5.0 });
    press(&mut window, "Save the chart as table (CSV) and picture (PNG)");
    let [table] = &files(&folder, "csv")[..] else { panic!("one table: {:?}", files(&folder, "csv")) };
    let text = std::fs::read_to_string(table).unwrap();
    let trace = window.state().sitting.as_ref().unwrap().session.trace().clone();
    assert_eq!(text, trace.to_csv(), "the table is the trace");
    assert!(text.lines().count() > 200, "{}", text.lines().count());
    // the shell takes the picture of this part of the window
    let (path, rect) = window.state_mut().take_picture().expect("a picture is wanted");
    assert!(path.extension().is_some_and(|x| x == "png") && path.parent() == Some(folder.0.as_path()), "{path:?}");
    assert!(rect.width() > 700.0 && rect.height() > 200.0, "{rect:?}");
    assert!(window.state_mut().take_picture().is_none(), "once");
    assert!(shows(&window, "Written: "));
}

#[test]
fn the_debrief_is_written_as_pages() {
    let folder = Folder::new("pages");
    let mut window = folder.window();
    handed_back(&mut window);
    press(&mut window, "Write the debrief as pages: HTML and PDF");
    let [page] = &files(&folder, "html")[..] else { panic!("one page") };
    let page = std::fs::read_to_string(page).unwrap();
    assert!(
        page.contains("Debrief: Runs out of puff on the bypass") && page.contains("The line opened"),
        "{page:.300}"
    );
    assert!(page.trim_end().ends_with("</html>"));
    let [pdf] = &files(&folder, "pdf")[..] else { panic!("one PDF") };
    let pdf = std::fs::read(pdf).unwrap();
    assert!(pdf.starts_with(b"%PDF-") && pdf.len() > 10_000, "{}", pdf.len());
    // pressed again it writes beside them, not over them
    press(&mut window, "Write the debrief as pages: HTML and PDF");
    assert_eq!((files(&folder, "html").len(), files(&folder, "pdf").len()), (2, 2));
}

#[test]
fn the_shelf_says_what_comes_next_and_what_was_done() {
    let folder = Folder::new("next");
    let mut window = folder.window();
    assert!(shows(&window, "First steps at the tee, 7 jobs"));
    handed_back(&mut window);
    drop(window);
    let mut again = folder.window();
    assert!(shows(&again, "First steps at the tee, 1 of 7 handed back"));
    // one level at a time
    let any = |w: &Harness<'static, Desk>, title: &str| shows(w, &format!("Take the job: {title}"));
    assert!(any(&again, TITLE));
    press(&mut again, "level: expert");
    assert!(!any(&again, TITLE), "a beginner's job isn't an expert's");
    press(&mut again, "level: all levels");
    assert!(any(&again, TITLE));
}

#[test]
fn high_contrast_and_captions_are_kept_and_hold() {
    let folder = Folder::new("contrast");
    let mut window = folder.window();
    press(&mut window, "Settings");
    press(&mut window, "high contrast: stronger inks");
    press(&mut window, "Keep the settings");
    let white = window.ctx.global_style().visuals.panel_fill;
    assert_eq!(white, faultbay::app::tokens::PAPER_HIGH.ground);
    press(&mut window, &format!("Take the job: {TITLE}"));
    act(&mut window, Action::Key { to: Key::On });
    act(&mut window, Action::Crank { secs: 8.0 });
    act(&mut window, Action::Wait { secs: 3.0 });
    assert!(shows(&window, "Heard: "), "what is heard is written");
    drop(window);
    let mut again = folder.window();
    assert_eq!(again.ctx.global_style().visuals.panel_fill, white, "it was kept");
    press(&mut again, "Settings");
    press(&mut again, "captions: what is heard");
    press(&mut again, "Keep the settings");
    press(&mut again, &format!("Go on: {TITLE}"));
    assert!(!shows(&again, "Heard: "), "switched off");
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

/// Pressed, and nobody waits for what comes of it.
fn press_only(window: &mut Harness<'static, Desk>, name: &str) {
    window.get_by_label_contains(name).click();
    window.run();
}

/// What is awaited of a shelf that takes its time: it says a share and doesn't end before it is left.
struct Slow(Jobs);

impl Shelf for Slow {
    fn cards(&self) -> Vec<Card> {
        self.0.cards()
    }
    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String> {
        self.0.open(index)
    }
    fn begun(&mut self) -> Vec<Begun> {
        self.0.begun()
    }
    fn go_on(&mut self, _: usize) -> Result<Task<Coming>, String> {
        Ok(slow())
    }
    fn branch(&mut self, _: &dyn Session, _: u64) -> Result<Task<Coming>, String> {
        Ok(slow())
    }
    fn export_debrief(&self, _: &dyn Session, _: &Mark) -> Result<Task<String>, String> {
        Ok(slow())
    }
}

fn slow<T: Send + 'static>() -> Task<T> {
    Task::start(0, |watched| {
        watched.progress(0.25);
        while !watched.cancelled() {
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        Err("left".to_owned())
    })
}

#[test]
fn what_takes_its_time_says_how_far_it_is_and_can_be_left() {
    let folder = Folder::new("slow");
    let mut first = folder.window();
    press(&mut first, &format!("Take the job: {TITLE}"));
    act(&mut first, Action::Wait { secs: 200.0 });
    drop(first);
    let marker = Arc::new(|_: &_, _: &_, _: &_| Ok(Mark { total: 61.5, ..Mark::default() }));
    let jobs = Slow(Jobs::of(&Library::builtin(), 7, Some(folder.0.clone()), marker));
    let mut window = Harness::builder()
        .with_size(Vec2::new(1366.0, 768.0))
        .build_ui_state(|ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui), Desk::new(Box::new(jobs)));
    window.run();
    press_only(&mut window, &format!("Go on: {TITLE}"));
    assert!(window.state().is_waiting() && shows(&window, "The sitting is being done again"));
    assert!(shows(&window, "25 in 100 done"));
    press_only(&mut window, "Leave it: nothing is written or changed");
    assert!(!window.state().is_waiting() && !shows(&window, "in 100 done"));
    assert!(window.state().sitting.is_none(), "still at the shelf");
    handed_back(&mut window);
    for (button, words) in [
        ("Go back to here", "The sitting is being done again"),
        ("Write the debrief as pages", "The debrief is being written"),
    ] {
        press_only(&mut window, button);
        assert!(shows(&window, words) && shows(&window, "25 in 100 done"), "{button}");
        window.key_press(egui::Key::Escape);
        window.run();
        assert!(!window.state().is_waiting(), "{button}: left by its key");
        assert!(window.state().sitting.as_ref().is_some_and(|s| s.session.is_over()), "nothing has changed");
    }
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
    assert!(!shows(&again, "min to a finding"));
    again.get_by_label_contains("Settings").click();
    // the sheet over a bay takes a few frames more to find its size
    again.run_steps(8);
    press(&mut again, "untimed: the expected minutes");
    press(&mut again, "Keep the settings");
    assert!(shows(&again, "min to a finding"));
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
    // one page at a time, and the hands when they are wanted
    assert!(shows(&window, "Joint: filter inlet") && !shows(&window, "Strip chart"));
    press(&mut window, "Hands: take them out");
    assert!(shows(&window, "Start, key S") && shows(&window, "Let 5 min pass"));
    press(&mut window, "Load, cap, primer and tee");
    assert!(shows(&window, "Purge the tee") && shows(&window, "Filler cap"));
    press(&mut window, "Chart");
    assert!(shows(&window, "Strip chart") && !shows(&window, "Joint: filter inlet"));
    press(&mut window, "Test sheet");
    assert!(shows(&window, "Record reading") && !shows(&window, "Strip chart"));
}

#[test]
fn a_script_tells_what_was_refused_and_goes_on() {
    let folder = Folder::new("script");
    let mut window = folder.window();
    let steps =
        parse("take 0\ndo {\"do\":\"valve\",\"open\":0.0}\ndo {\"do\":\"key\",\"to\":\"on\"}\nexit\n").unwrap();
    let mut runner = Runner::new(steps);
    let wishes: Vec<Wish> = std::iter::repeat_with(|| runner.frame(window.state_mut(), 0.02))
        .filter(|wish| *wish != Wish::Nothing)
        .take(2)
        .collect();
    let [Wish::Refused(why), Wish::Exit] = wishes.as_slice() else { panic!("{wishes:?}") };
    assert!(why.contains("\"valve\""), "which step it was: {why}");
    let seen = window.state().sitting.as_ref().expect("a sitting").session.observe();
    assert_eq!(seen.key, Key::On, "the step after it is done");
}

#[test]
fn a_script_without_a_job_has_nothing_to_act_on() {
    let mut window = Folder::new("no-job").window();
    let mut runner = Runner::new(parse("do {\"do\":\"purge\"}\nexit\n").unwrap());
    let first = std::iter::repeat_with(|| runner.frame(window.state_mut(), 0.02)).find(|w| *w != Wish::Nothing);
    assert!(matches!(first, Some(Wish::Refused(_))), "{first:?}");
}
