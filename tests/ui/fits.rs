//! No text is cut off and nothing lies on anything, on every supported screen at every size of text, in every language.
//!
//! What is looked at are the letters as they are painted: where each text lies, what it is clipped to, and what was
//! painted over it later. A text is wrong when it was shortened, when it stands beyond the window, when a side of it is
//! clipped away (above and below only at the edge of what is scrolled, and what is scrolled is looked at up to its end),
//! when two texts lie on one another, or when one stands beyond the button or field that it was put in.
//!
//! The languages are those that a person may choose, one that is a third longer, and one that is written the other way
//! round: sentences as a whole from right to left, as far as a window can show that whose letters can't be set so.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use bevy_egui::egui::epaint::{ClippedShape, Shape};
use bevy_egui::egui::{self, Rect, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use faultbay::app::bridge::Intent;
use faultbay::app::desk::Desk;
use faultbay::app::editor::files::{Author, Checker};
use faultbay::app::editor::start::Begin;
use faultbay::app::editor::{Order, Pane, Section};
use faultbay::app::plan::View;
use faultbay::app::session::{Card, Session, Shelf};
use faultbay::app::settings::Settings;
use faultbay::app::sheet_form::Entry;
use faultbay::app::sitting::Jobs;
use faultbay::app::state::{Pace, Tab};
use faultbay::bay::action::{Action, Key, Probe, Quantity, SECOND, SafetyStep, TestEntry, TestUnit, Verdict};
use faultbay::bay::words::offer::Spot;
use faultbay::diagnosis::survey::Leg;
use faultbay::language::{Language, within};
use faultbay::marking::model::{Basis, LedgerLine, Mark, Move};
use faultbay::scenario::{Kind, Library};

/// Supported screens, pixels, and sizes of text, in 100.
const SCREENS: [(f32, f32); 4] = [(1366.0, 768.0), (1280.0, 720.0), (1920.0, 1080.0), (2560.0, 1440.0)];
const SIZES: [u16; 5] = [100, 125, 150, 175, 200];

/// A shelf whose settings are those of the test.
struct Set {
    jobs: Jobs,
    settings: Settings,
}

impl Shelf for Set {
    fn cards(&self) -> Vec<Card> {
        self.jobs.cards()
    }
    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String> {
        self.jobs.open(index)
    }
    fn settings(&self) -> Settings {
        self.settings.clone()
    }
    fn author(&mut self) -> Option<&mut dyn Author> {
        self.jobs.author()
    }
}

/// A text as it is seen.
#[derive(Clone, Debug)]
struct Text {
    words: String,
    /// Its letters.
    rect: Rect,
    /// What it is clipped to.
    clip: Rect,
    shortened: bool,
}

/// Every text that is seen, in the order of painting; what was painted over is left out, unless only in part.
struct Painted {
    texts: Vec<Text>,
    faults: Vec<String>,
}

/// Heights of what holds one line: a button, a field, an index tab; points.
const FRAME: std::ops::RangeInclusive<f32> = 22.0..=56.0;

/// A button, a field or an index tab, as far as it is one.
fn frame(shape: &Shape) -> Option<Rect> {
    let rect = match shape {
        Shape::Rect(r) if r.fill.a() > 0 || r.stroke.width > 0.0 => r.rect,
        Shape::Path(p) if p.closed && p.points.len() > 4 => Rect::from_points(&p.points),
        _ => return None,
    };
    (FRAME.contains(&rect.height()) && rect.width() > 20.0).then_some(rect)
}

/// A line of text is in the middle of a frame and wider than it.
fn beyond(text: Rect, frame: Rect) -> bool {
    let over = (frame.left() - text.left()).max(text.right() - frame.right());
    text.height() < 24.0 && over > 1.0 && frame.shrink2(vec2(0.0, 4.0)).contains(text.center())
}

/// An opaque field, as far as it is one.
fn cover(shape: &Shape) -> Option<Rect> {
    match shape {
        Shape::Rect(r) if r.fill.a() == 255 && r.blur_width == 0.0 => Some(r.rect),
        _ => None,
    }
}

/// What lies under a sheet over everything: the whole window, veiled.
fn veils(shape: &Shape, window: Rect) -> bool {
    matches!(shape, Shape::Rect(r) if r.fill.a() > 0 && r.rect.expand(1.0).contains_rect(window))
}

fn flatten(clip: Rect, shape: &Shape, out: &mut Vec<(Rect, Shape)>) {
    match shape {
        Shape::Vec(many) => many.iter().for_each(|one| flatten(clip, one, out)),
        one => out.push((clip, one.clone())),
    }
}

impl Painted {
    fn of(shapes: &[ClippedShape], window: Rect) -> Self {
        let mut flat = vec![];
        for ClippedShape { clip_rect, shape } in shapes {
            flatten(*clip_rect, shape, &mut flat);
        }
        let mut texts: Vec<Text> = vec![];
        let mut faults = vec![];
        let mut frames: Vec<Rect> = vec![];
        for (clip, shape) in &flat {
            if veils(shape, window) {
                texts.clear();
                frames.clear();
                continue;
            }
            // what is scrolled out of sight holds nothing that is seen
            frames.extend(frame(shape).map(|f| f.intersect(*clip)).filter(|f| FRAME.contains(&f.height())));
            if let Some(field) = cover(shape) {
                let field = field.intersect(*clip);
                texts.retain(|text| {
                    let seen = text.rect.intersect(text.clip);
                    let hidden = seen.intersect(field);
                    if !hidden.is_positive() {
                        return true;
                    }
                    if hidden.area() < 0.9 * seen.area() && hidden.width() > 2.0 && hidden.height() > 2.0 {
                        faults.push(format!("\"{}\" is covered in part", text.words));
                    }
                    false
                });
            }
            if let Shape::Text(text) = shape {
                let words = text.galley.text().to_owned();
                let rect = text.visual_bounding_rect();
                let seen = rect.intersect(*clip);
                // white ends of a line aren't letters
                if words.trim().is_empty() || !seen.is_positive() || text.opacity_factor == 0.0 {
                    continue;
                }
                // the letters, not what is kept free for a line that could be longer
                if let Some(frame) = frames.iter().rev().find(|f| f.contains(rect.center()))
                    && beyond(rect, *frame)
                {
                    faults.push(format!("\"{words}\" is wider than what it stands in: {rect:?} in {frame:?}"));
                }
                texts.push(Text { words, rect, clip: *clip, shortened: text.galley.elided });
            }
        }
        Self { texts, faults }
    }
}

/// Tracks of upright scroll bars: as high as the field that is scrolled, at its right. A handle is painted right after its
/// track and lies in it.
fn tracks(shapes: &[ClippedShape]) -> Vec<Rect> {
    let mut flat = vec![];
    for ClippedShape { clip_rect, shape } in shapes {
        flatten(*clip_rect, shape, &mut flat);
    }
    let bar = |shape: &Shape| match shape {
        Shape::Rect(r) if r.stroke.width == 0.0 && (3.0..14.0).contains(&r.rect.width()) => Some(r.rect),
        _ => None,
    };
    let track = |pair: &[(Rect, Shape)]| {
        let (track, handle) = (bar(&pair[0].1)?, bar(&pair[1].1)?);
        let lies = track.expand(0.5).contains_rect(handle) && handle.height() > 8.0 && handle.width() > 3.0;
        (lies && track.height() > 60.0 && handle.height() < track.height() - 1.0).then_some(track)
    };
    flat.windows(2).filter_map(track).collect()
}

/// A text may end at the upper or lower edge of a field that is scrolled, and nowhere else: not at the edge of a button in it.
fn is_at_edge(text: &Text, tracks: &[Rect]) -> bool {
    tracks.iter().filter(|t| t.left() > text.rect.center().x).any(|t| {
        let above = text.rect.top() < text.clip.top() && (text.clip.top() - t.top()).abs() < 5.0;
        let below = text.rect.bottom() > text.clip.bottom() && (text.clip.bottom() - t.bottom()).abs() < 5.0;
        above || below
    })
}

/// Everything that is wrong with what is painted.
fn faults(harness: &Harness<'static, Desk>) -> Vec<String> {
    let window = harness.ctx.viewport_rect();
    let Painted { texts, mut faults } = Painted::of(&harness.output().shapes, window);
    let tracks = tracks(&harness.output().shapes);
    for text in &texts {
        let name = text.words.replace('\n', " / ");
        if text.shortened {
            faults.push(format!("\"{name}\" is shortened"));
        }
        let (r, c) = (text.rect, text.clip.intersect(window));
        if r.left() < c.left() - 1.5 || r.right() > c.right() + 1.5 {
            faults.push(format!("\"{name}\" is cut at a side: {r:?} in {c:?}"));
        }
        let may_end = is_at_edge(text, &tracks);
        if !may_end && (r.top() < c.top() - 2.5 || r.bottom() > c.bottom() + 2.5) {
            faults.push(format!("\"{name}\" is cut above or below: {r:?} in {c:?}"));
        }
    }
    for (i, a) in texts.iter().enumerate() {
        for b in &texts[i + 1..] {
            // the letters themselves, not the room round them
            let both = a.rect.intersect(a.clip).intersect(b.rect).intersect(b.clip).shrink(0.5);
            if both.width() > 1.5 && both.height() > 3.0 {
                faults.push(format!("\"{}\" lies on \"{}\"", b.words, a.words));
            }
        }
    }
    faults
}

/// A mark with long sentences.
fn mark(labels: Vec<String>) -> Mark {
    let line = |hundredths: i64, sentence: &str| LedgerLine {
        hundredths,
        sentence: sentence.to_owned(),
        window: (60 * SECOND, 75 * SECOND),
        component: None,
        template: String::new(),
        lines: vec![],
    };
    Mark {
        total: 61.5,
        reasons: vec!["The readings bear the conclusion by 42 %; 60 % are needed, and it is close.".to_owned()],
        truth: ("Filter element plugged".to_owned(), "filter element, plugged, severity 3.4 of 5".to_owned()),
        ledger: vec![
            line(1500, "Right, and your readings speak for it: at the end it stands at 90 in 100."),
            line(-150, "Minor, at 01:15: The valve stayed shut for longer than five seconds at idle."),
            // a sitting of hours has longer times, and what rests on three lines earns the longest points
            LedgerLine {
                window: (4 * 3600 * SECOND, 4 * 3605 * SECOND),
                ..line(
                    2280,
                    "The look at the glass (bubbles) made \u{201c}A joint on the suction side lets air in\u{201d} likely.",
                )
            },
        ],
        seen_not_recorded: vec!["Air passed in the glass at idle, and no line of the sheet says so.".to_owned()],
        moves: vec![Move {
            window: (4 * 3600 * SECOND, 4 * 3605 * SECOND),
            test: "the idle reading at the filter inlet".to_owned(),
            minutes: 4.0,
            bits: 0.2,
            best: "the raised reading at the pump inlet with the filler cap open".to_owned(),
            best_bits: 0.6,
            best_minutes: 4.0,
            wasted: 2.7,
            ..Move::default()
        }],
        basis: Basis { par_minutes: 25.0, net_minutes: 51.0, wasted_minutes: 21.9, ..Basis::default() },
        labels,
        ..Mark::default()
    }
}

/// Where a window keeps what is begun in it; gone when it is closed.
struct Folder(std::path::PathBuf);

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A window of a screen at a size of text. In the harness a point is a pixel: so the window is as many points large as
/// it would be, and its pixels are finer.
fn window(screen: (f32, f32), text: u16, dark: bool) -> (Harness<'static, Desk>, Folder) {
    let zoom = f32::from(text) / 100.0;
    let marker = Arc::new(|job: &faultbay::scenario::model::Job, _: &_, _: &_| {
        Ok(mark(job.candidates.iter().map(|c| c.label.clone()).chain(["none of these".to_owned()]).collect()))
    });
    let checker: Checker = Arc::new(|_, _| Err("nothing is simulated here".to_owned()));
    static WINDOWS: AtomicUsize = AtomicUsize::new(0);
    let name = format!("faultbay-fits-{}-{}", std::process::id(), WINDOWS.fetch_add(1, Ordering::Relaxed));
    let folder = Folder(std::env::temp_dir().join(name));
    let jobs = Jobs::of(&Library::builtin(), 7, Some(folder.0.clone()), marker).writing_to(None, checker);
    let settings = Settings { dark, ..Settings::default() };
    let mut harness = Harness::builder()
        .with_size(Vec2::new(screen.0 / zoom, screen.1 / zoom))
        .with_pixels_per_point(zoom)
        .build_ui_state(
            |ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui),
            Desk::new(Box::new(Set { jobs, settings })),
        );
    harness.run();
    (harness, folder)
}

fn ask(harness: &mut Harness<'static, Desk>, intents: Vec<Intent>) {
    harness.state_mut().carry_out(intents);
    // modals and new letters come a frame later
    harness.run_steps(4);
}

fn pass(harness: &mut Harness<'static, Desk>, secs: f64) {
    ask(harness, vec![Intent::Do(Action::Wait { secs })]);
}

/// The job that has most of everything, and its place on the shelf.
const JOB: &str = "bypass-puff";
const ON_SHELF: usize = 2;

/// Goes through a whole job and looks at every screen on the way.
struct Walk {
    harness: Harness<'static, Desk>,
    _folder: Folder,
    what: String,
    faults: Vec<String>,
    /// What is scrolled is looked at up to its end, and the editor too.
    thorough: bool,
}

impl Walk {
    /// What is seen, and once more with all that can be scrolled at its end.
    fn look(&mut self, screen: &str) {
        self.see(screen);
        let tracks = tracks(&self.harness.output().shapes);
        if tracks.is_empty() || !self.thorough {
            return;
        }
        let turn = |harness: &mut Harness<'static, Desk>, by: f32| {
            for track in &tracks {
                harness.hover_at(track.left_center() - vec2(30.0, 0.0));
                harness.event(egui::Event::MouseWheel {
                    unit: egui::MouseWheelUnit::Point,
                    delta: vec2(0.0, by),
                    phase: egui::TouchPhase::Move,
                    modifiers: egui::Modifiers::NONE,
                });
                harness.run_steps(5);
            }
            // what is told about what lies under the pointer isn't looked at
            harness.remove_cursor();
            harness.run_steps(2);
        };
        turn(&mut self.harness, -20_000.0);
        self.see(&format!("{screen}, scrolled"));
        turn(&mut self.harness, 20_000.0);
    }

    fn see(&mut self, screen: &str) {
        for fault in faults(&self.harness) {
            self.faults.push(format!("{}, {screen}: {fault}", self.what));
        }
    }

    /// The same with every page of the place, and every tab of the paper.
    fn look_all_round(&mut self, screen: &str, over: bool) {
        for view in View::ALL {
            ask(&mut self.harness, vec![Intent::See(view)]);
            self.look(&format!("{screen}, {}", view.title(over)));
        }
        for tab in Tab::shown(over) {
            ask(&mut self.harness, vec![Intent::Turn(*tab)]);
            self.look(&format!("{screen}, {}", tab.title()));
        }
    }

    fn take(&mut self) {
        self.harness.state_mut().take(ON_SHELF);
        self.harness.run_steps(4);
        let taken = self.harness.state().sitting.as_ref().map(|s| s.session.job().name.clone());
        assert_eq!(taken.as_deref(), Some(JOB));
    }

    /// Every section and every pane of the editor, a job in it.
    fn write(&mut self) {
        self.harness.state_mut().write();
        self.harness.run_steps(4);
        self.look("editor, first page");
        self.harness.state_mut().begin(Begin::From(JOB.to_owned()));
        for section in Section::of_kind(Kind::Job) {
            self.harness.state_mut().write_on(vec![Order::Turn(*section), Order::Show(Pane::Form)]);
            self.rest();
            self.look(&format!("editor, {}", section.title()));
        }
        for pane in Pane::of_kind(Kind::Job) {
            self.harness.state_mut().write_on(vec![Order::Show(*pane)]);
            self.rest();
            self.look(&format!("editor, {}", pane.title()));
        }
        self.harness.state_mut().write_on(vec![Order::ThrowAway]);
        self.harness.run_steps(4);
    }

    /// Until the editor computes nothing.
    fn rest(&mut self) {
        self.harness.run_steps(4);
        for _ in 0..2000 {
            if !self.harness.state().is_writing() {
                break;
            }
            self.harness.state_mut().tick(0.05);
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        self.harness.run_steps(4);
    }

    fn fit(&mut self) {
        let steps = [
            SafetyStep::Protection,
            SafetyStep::Ventilation,
            SafetyStep::Extinguisher,
            SafetyStep::Chocks,
            SafetyStep::DripTray,
            SafetyStep::PressureAway,
        ];
        let fit = Action::FitTee { joint: "filter in".into(), new_seals: true };
        let all = steps.into_iter().map(|step| Action::MakeSafe { step }).chain([fit, Action::Purge, Action::Zero]);
        ask(&mut self.harness, all.map(Intent::Do).collect());
    }

    fn run_engine(&mut self) {
        ask(
            &mut self.harness,
            vec![Intent::Do(Action::Key { to: Key::On }), Intent::Do(Action::Crank { secs: 8.0 })],
        );
        pass(&mut self.harness, 20.0);
        let reading = |state: &str, value: f64| {
            let text = format!(
                r#"{{"do":"record","reading":{{"state":"{state}","value":{value},"unit":"mbar","verdict":"outside",
                "source":"vehicle card","remark":"read with the lever open and the cap shut, twice"}}}}"#
            );
            Intent::Do(serde_json::from_str::<Action>(&text).expect("an action"))
        };
        ask(&mut self.harness, vec![reading("idle", -118.0), reading("raised", -353.5)]);
        // and a test whose subject is longer than its column
        let place = "feed line".to_owned();
        let test = TestEntry {
            quantity: Quantity::Temperature,
            value: 21.5,
            unit: Some(TestUnit::Celsius),
            verdict: Verdict::Within,
            source: "vehicle card".to_owned(),
            remark: String::new(),
        };
        let measured =
            [Action::Measure { probe: Probe::Thermometer { place } }, Action::RecordTest { entry: test }];
        ask(&mut self.harness, measured.map(Intent::Do).to_vec());
        let sitting = self.harness.state().sitting.as_ref().expect("a sitting");
        assert_eq!(sitting.session.sheet().len(), 3, "{:?}", sitting.state.messages.all.last());
    }

    fn hand_back(&mut self) {
        // nobody takes back a vehicle whose engine turns
        ask(&mut self.harness, vec![Intent::Do(Action::Key { to: Key::Off })]);
        pass(&mut self.harness, 5.0);
        ask(&mut self.harness, vec![Intent::Do(Action::HandBack)]);
        assert!(self.harness.state().sitting.as_ref().is_some_and(|s| s.session.is_over()), "it is handed back");
        self.look("a breach explained");
        ask(&mut self.harness, vec![Intent::Understood]);
        self.look("marking");
        for _ in 0..4000 {
            self.harness.state_mut().tick(0.01);
            if !self.harness.state().is_marking() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        // who works out the cheapest way isn't there: a way with long words
        let leg = |test: &str| Leg { test: test.to_owned(), minutes: 10.0 };
        if let Some(sitting) = &mut self.harness.state_mut().sitting {
            let plugged = "pull on the starter against a plug at the filter inlet, read at the pump inlet";
            sitting.state.way.known = vec![leg("standard run at the pump inlet"), leg(plugged)];
        }
        self.harness.run_steps(4);
    }
}

fn walk(screen: (f32, f32), text: u16) -> Vec<String> {
    let what = format!("{} × {} at {text} %", screen.0, screen.1);
    let (harness, folder) = window(screen, text, false);
    // the least screens with the least and the largest letters: there most has to be scrolled
    let thorough = SCREENS[..2].contains(&screen) && (text == 100 || text == 200);
    let mut walk = Walk { harness, _folder: folder, what, faults: vec![], thorough };
    walk.look("shelf");
    ask(&mut walk.harness, vec![Intent::Settings]);
    walk.look("settings");
    ask(&mut walk.harness, vec![Intent::Settings]);
    walk.take();
    walk.look_all_round("fresh", false);
    ask(&mut walk.harness, vec![Intent::See(View::Place), Intent::Touch(Spot::Part("filter".into()))]);
    walk.look("slip of a part");
    ask(&mut walk.harness, vec![Intent::Touch(Spot::Vehicle)]);
    walk.look("slip of the vehicle");
    ask(&mut walk.harness, vec![Intent::Untouch]);
    for (sheet, name) in
        [(Intent::Keys, "keys"), (Intent::Twin, "words"), (Intent::GlassCard, "looks"), (Intent::Class, "teaching")]
    {
        ask(&mut walk.harness, vec![sheet.clone()]);
        walk.look(name);
        ask(&mut walk.harness, vec![sheet]);
    }
    walk.fit();
    walk.run_engine();
    ask(&mut walk.harness, vec![Intent::Dividers]);
    walk.look_all_round("running", false);
    ask(&mut walk.harness, vec![Intent::Hands]);
    // not the drawing: beside hands that were taken out on the smallest screens it is a strip of a hundred points, in which
    // the scene's name of the engine doesn't fit; the hands can be put away
    ask(&mut walk.harness, vec![Intent::See(View::Chart)]);
    walk.look("hands out, Chart");
    for tab in Tab::shown(false) {
        ask(&mut walk.harness, vec![Intent::Turn(*tab)]);
        walk.look(&format!("hands out, {}", tab.title()));
    }
    ask(&mut walk.harness, vec![Intent::Hands]);
    ask(&mut walk.harness, vec![Intent::Turn(Tab::Sheet)]);
    for entry in [Entry::Test, Entry::Seen, Entry::Prediction] {
        if let Some(sitting) = &mut walk.harness.state_mut().sitting {
            sitting.state.sheet.entry = entry;
        }
        walk.harness.run_steps(4);
        walk.look(&format!("{entry:?}"));
    }
    // it is as large as letters of 140 % whatever the size of text; in the harness only that is told apart
    ask(&mut walk.harness, vec![Intent::Projector]);
    walk.harness.run_steps(4);
    if text == 100 {
        walk.look("projector");
    }
    walk.harness.ctx.set_zoom_factor(1.0);
    ask(&mut walk.harness, vec![Intent::Projector]);
    walk.hand_back();
    walk.look_all_round("handed back", true);
    ask(&mut walk.harness, vec![Intent::Turn(Tab::Debrief), Intent::OtherPicture, Intent::See(View::Place)]);
    walk.look("handed back, the other picture");
    walk.faults
}

/// The same of every section and every pane of the editor.
fn walk_the_editor(screen: (f32, f32), text: u16) -> Vec<String> {
    let what = format!("{} × {} at {text} %", screen.0, screen.1);
    let (harness, folder) = window(screen, text, false);
    let mut walk = Walk { harness, _folder: folder, what, faults: vec![], thorough: true };
    walk.write();
    walk.faults
}

/// Sizes in points are what counts; several screens have the same.
fn sizes() -> Vec<((f32, f32), u16)> {
    let mut all: Vec<((f32, f32), u16)> = vec![];
    for screen in SCREENS {
        for text in SIZES {
            let points = |s: (f32, f32), t: u16| vec2(s.0, s.1) / f32::from(t);
            if !all.iter().any(|(s, t)| (points(*s, *t) - points(screen, text)).length() < 1e-4) {
                all.push((screen, text));
            }
        }
    }
    all
}

/// What is wrong, each text once for each way of being wrong, with the first place where it is.
fn hold(faults: &[String]) {
    let mut once: std::collections::BTreeMap<&str, (&str, usize)> = std::collections::BTreeMap::new();
    for fault in faults {
        let what = fault.find('"').map_or(fault.as_str(), |at| &fault[at..]);
        let what = what.split("[[").next().unwrap_or(what);
        once.entry(what).or_insert((fault, 0)).1 += 1;
    }
    let few: Vec<String> = once.values().take(80).map(|(first, n)| format!("{n} × {first}")).collect();
    assert!(faults.is_empty(), "{} texts can't be read:\n{}", once.len(), few.join("\n"));
}

/// Every screen at every size, in a language. Only this thread speaks it: other tests go on in English.
fn hold_in(language: Language, sizes: Vec<((f32, f32), u16)>) {
    within(language, || {
        let all: Vec<String> = sizes.into_iter().flat_map(|(screen, text)| walk(screen, text)).collect();
        hold(&all);
    });
}

#[test]
fn every_text_of_the_editor_can_be_read() {
    for language in [Language::English, Language::German] {
        within(language, || {
            let sizes = SCREENS[..2].iter().flat_map(|screen| [(*screen, 100), (*screen, 200)]);
            hold(&sizes.flat_map(|(screen, text)| walk_the_editor(screen, text)).collect::<Vec<_>>());
        });
    }
}

#[test]
fn every_text_can_be_read_at_every_size() {
    hold_in(Language::English, sizes());
}

#[test]
fn every_text_can_be_read_in_german() {
    hold_in(Language::German, narrow());
}

/// The least screens at the usual sizes of text, where there is least room.
fn narrow() -> Vec<((f32, f32), u16)> {
    [SCREENS[0], SCREENS[1]].into_iter().flat_map(|screen| [100, 150, 200].map(|text| (screen, text))).collect()
}

#[test]
fn every_text_can_be_read_when_it_is_a_third_longer() {
    hold_in(Language::Stretched, narrow());
}

#[test]
fn every_text_can_be_read_when_it_is_written_from_the_right() {
    hold_in(Language::Mirrored, narrow());
}

#[test]
fn a_caption_covers_nothing_of_a_drawing_that_is_zoomed() {
    let (mut harness, _folder) = window((1366.0, 768.0), 100, false);
    ask(&mut harness, vec![]);
    harness.state_mut().take(ON_SHELF);
    harness.run();
    let act = |action| Intent::Do(action);
    ask(
        &mut harness,
        vec![
            act(Action::MakeSafe { step: SafetyStep::PressureAway }),
            act(Action::FitTee { joint: "pump in".into(), new_seals: true }),
            act(Action::Purge),
            act(Action::Key { to: Key::On }),
            act(Action::Crank { secs: 8.0 }),
            act(Action::Wait { secs: 5.0 }),
            Intent::Pace(Pace::Paused),
        ],
    );
    let heard = &harness.state().sitting.as_ref().unwrap().session.observe().sounds;
    assert!(!heard.is_empty(), "the engine runs");
    let mut seen = 0;
    for zoom in [1.4, 2.0, 3.0] {
        for down in -20..=20 {
            let state = &mut harness.state_mut().sitting.as_mut().unwrap().state;
            (state.scene.zoom, state.scene.moved) = (zoom, (-60.0, 6.0 * down as f32));
            harness.run();
            let bad: Vec<String> = faults(&harness)
                .into_iter()
                .filter(|fault| fault.contains("covered in part") || fault.contains("lies on"))
                .collect();
            assert!(bad.is_empty(), "{zoom} {down}: {bad:?}");
            seen += usize::from(harness.query_all_by_label_contains("Heard: ").next().is_some());
        }
    }
    assert_eq!(seen, 3 * 41, "there was a caption each time");
}

/// Where the glass stands under the drawing, names have room in it; where a name has none, it lies on nothing.
#[test]
fn parts_are_named_in_a_small_window() {
    for screen in [(1024.0, 768.0), (1366.0, 768.0)] {
        let (mut harness, _folder) = window(screen, 100, false);
        ask(&mut harness, vec![]);
        harness.state_mut().take(ON_SHELF);
        harness.run();
        let window = harness.ctx.viewport_rect();
        let Painted { texts, .. } = Painted::of(&harness.output().shapes, window);
        for name in ["strainer", "non-return", "transfer"] {
            let named = texts.iter().any(|text| text.words == name);
            assert!(named, "{name} at {screen:?}: {:?}", texts.iter().map(|t| &t.words).collect::<Vec<_>>());
        }
    }
}

#[test]
fn what_is_cut_covered_or_laid_on_another_is_found() {
    let draw = |add: fn(&mut egui::Ui)| {
        let mut harness = Harness::builder().with_size(vec2(300.0, 200.0)).build_ui_state(
            move |ui: &mut egui::Ui, desk: &mut Desk| {
                // the desk brings its letters in its first frame
                let known = egui::Id::new("letters are there");
                if ui.data_mut(|d| std::mem::replace(d.get_temp_mut_or_default(known), true)) {
                    add(ui)
                } else {
                    desk.ui(ui)
                }
            },
            Desk::new(Box::new(Set {
                jobs: Jobs::of(&Library::default(), 1, None, Arc::new(|_, _, _| Err(String::new()))),
                settings: Settings::default(),
            })),
        );
        harness.run();
        faults(&harness)
    };
    fn put(ui: &egui::Ui, x: f32, y: f32, words: &str) -> Rect {
        let font = egui::FontId::proportional(14.0);
        ui.painter().text(egui::pos2(x, y), egui::Align2::LEFT_TOP, words, font, egui::Color32::BLACK)
    }
    let sound: [String; 0] = [];
    assert_eq!(
        draw(|ui| {
            put(ui, 20.0, 20.0, "here");
            put(ui, 20.0, 60.0, "there");
        }),
        sound
    );
    assert!(
        draw(|ui| {
            put(ui, 20.0, 20.0, "here");
            put(ui, 24.0, 22.0, "there");
        })[0]
            .contains("lies on")
    );
    assert!(
        draw(|ui| {
            put(ui, 280.0, 20.0, "beyond the edge");
        })[0]
            .contains("cut at a side")
    );
    assert!(
        draw(|ui| {
            put(ui, 20.0, 194.0, "below");
        })[0]
            .contains("cut above or below")
    );
    let hidden = |ui: &mut egui::Ui| {
        let rect = put(ui, 20.0, 20.0, "half of this is hidden");
        ui.painter().rect_filled(rect.with_max_x(rect.center().x), 0, egui::Color32::WHITE);
    };
    assert!(draw(hidden)[0].contains("covered in part"));
    let wide = |ui: &mut egui::Ui| {
        let rect = put(ui, 60.0, 20.0, "too much for a button");
        ui.painter().rect_filled(Rect::from_center_size(rect.center(), vec2(60.0, 32.0)), 2, egui::Color32::WHITE);
        put(ui, 60.0, 20.0, "too much for a button");
    };
    assert!(draw(wide).iter().any(|fault| fault.contains("wider than what it stands in")));
    // a button inside what is scrolled, lower than its words
    let low = |ui: &mut egui::Ui| {
        egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.painter().with_clip_rect(Rect::from_min_size(egui::pos2(20.0, 60.0), vec2(120.0, 8.0))).text(
                egui::pos2(24.0, 60.0),
                egui::Align2::LEFT_TOP,
                "cut",
                egui::FontId::proportional(14.0),
                egui::Color32::BLACK,
            );
            ui.set_min_height(900.0);
        });
    };
    assert!(draw(low)[0].contains("cut above or below"));
    let long = |ui: &mut egui::Ui| {
        egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            for _ in 0..60 {
                ui.label("one of many lines");
            }
        });
    };
    assert_eq!(draw(long), sound);
    let gone = |ui: &mut egui::Ui| {
        let rect = put(ui, 20.0, 20.0, "all of this is hidden");
        ui.painter().rect_filled(rect.expand(4.0), 0, egui::Color32::WHITE);
    };
    assert_eq!(draw(gone), sound);
    let shortened = |ui: &mut egui::Ui| {
        ui.set_max_width(60.0);
        ui.add(egui::Label::new("a sentence that is much too long").truncate());
    };
    assert!(draw(shortened)[0].contains("shortened"));
}
