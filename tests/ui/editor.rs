//! A job is written in the window from a blank page, checked, saved, sat and marked; nothing that was typed is lost.

use std::path::PathBuf;
use std::sync::Arc;

use bevy_egui::egui::{self, Modifiers, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use faultbay::app::desk::{Desk, Writing};
use faultbay::app::editor::files::Checker;
use faultbay::app::editor::{Editor, Pane, Section, fairness, preview};
use faultbay::app::sitting::{Jobs, Marker, Watched};
use faultbay::attempt::Attempt;
use faultbay::authoring::diagnosability;
use faultbay::authoring::draft::Page;
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::diagnosis::store::Nowhere;
use faultbay::marking::mark::mark_by;
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};

/// Few reference vehicles: the way is tried here, not the figures.
const FEW: usize = 12;

pub(crate) struct Desktop {
    pub(crate) folder: PathBuf,
    pub(crate) window: Harness<'static, Desk>,
}

impl Drop for Desktop {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

fn window(folder: &std::path::Path, size: Vec2) -> Harness<'static, Desk> {
    let marker: Marker =
        Arc::new(|job: &Job, attempt: &Attempt, watch: &Watched| mark_by(job, attempt, FEW, &Nowhere, watch));
    let checker: Checker = Arc::new(|job, watch| diagnosability::check(job, FEW, &Nowhere, watch));
    let jobs = Jobs::of(&Library::builtin(), 7, Some(folder.to_owned()), marker).writing_to(None, checker);
    let mut window = Harness::builder()
        .with_size(size)
        .build_ui_state(|ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui), Desk::new(Box::new(jobs)));
    window.run();
    window
}

impl Desktop {
    pub(crate) fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("faultbay-editor-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        let window = window(&folder, Vec2::new(1366.0, 768.0));
        Self { folder, window }
    }

    /// A blank page with this title.
    pub(crate) fn writing(name: &str, title: &str) -> Self {
        let mut desktop = Self::new(name);
        desktop.press("Write a job");
        desktop.fill("title of the new job", title);
        desktop.press("Begin with a blank page");
        desktop
    }

    /// The window is closed and opened again.
    fn again(&mut self) {
        let new = window(&self.folder, Vec2::new(1366.0, 768.0));
        drop(std::mem::replace(&mut self.window, new));
        // what was kept while the old one closed
        self.window = window(&self.folder, Vec2::new(1366.0, 768.0));
    }

    /// A section of the form; its name says, too, how many places in it are to be looked at.
    pub(crate) fn section(&mut self, name: &str) {
        self.window.get_by(|node| node.label().is_some_and(|label| label.starts_with(name))).click();
        self.run();
    }

    pub(crate) fn press(&mut self, name: &str) {
        let node = self.window.get_by_label(name);
        node.scroll_to_me();
        self.window.run();
        self.window.get_by_label(name).click();
        self.run();
    }

    /// Frames until nothing moves, and the check of the last change is there.
    fn run(&mut self) {
        self.window.run();
        while matches!(&self.window.state().writing, Some(Writing::Job(editor)) if editor.is_proving()) {
            std::thread::sleep(std::time::Duration::from_millis(1));
            self.window.state_mut().tick(0.0);
        }
        self.window.run();
    }

    pub(crate) fn key(&mut self, modifiers: Modifiers, key: egui::Key) {
        self.window.key_press_modifiers(modifiers, key);
        self.run();
    }

    /// Types into the field with this name, in the place of what stood there.
    pub(crate) fn fill(&mut self, name: &str, text: &str) {
        self.press(name);
        self.key(Modifiers::COMMAND, egui::Key::A);
        self.window.event(egui::Event::Text(text.to_owned()));
        self.run();
    }

    pub(crate) fn pick(&mut self, name_begins: &str, option: &str) {
        let name = {
            let node = self.window.get_by_label_contains(name_begins);
            node.scroll_to_me();
            node.accesskit_node().label().expect("found by its label")
        };
        self.press(&name);
        self.press(option);
    }

    pub(crate) fn shows(&self, words: &str) -> bool {
        self.window.query_all_by_label_contains(words).next().is_some()
    }

    pub(crate) fn editor(&self) -> &Editor {
        match &self.window.state().writing {
            Some(Writing::Job(editor)) => editor,
            _ => panic!("no job is being written"),
        }
    }

    pub(crate) fn text(&self) -> &str {
        self.editor().draft.text(Page::File).expect("a job has a text")
    }

    /// Lets time pass until nothing is computed any more.
    pub(crate) fn wait(&mut self) {
        for _ in 0..60_000 {
            self.window.state_mut().tick(0.25);
            if !self.window.state().is_writing() && !self.window.state().is_marking() {
                self.window.run();
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        panic!("it never comes to rest");
    }

    /// Does what a careful learner would, a line a time; a reading is written as the gauge shows it.
    fn sit(&mut self, script: &str) {
        let sitting = self.window.state_mut().sitting.as_mut().expect("a sitting");
        let terms = Terms::of(sitting.session.job());
        for line in script.lines() {
            let shown = sitting.session.observe().gauge.map_or(String::new(), |g| format!("{:.0}", g.mbar));
            let line = line.replace("SHOWN", &shown);
            let now = sitting.session.now();
            match words::read(&line, &terms, now).unwrap_or_else(|e| panic!("{line}: {e:?}")) {
                Some(Said::Do(action)) => match sitting.session.act(&action) {
                    Answer::Done { breach, .. } => assert!(breach.is_none(), "{line}: {breach:?}"),
                    Answer::Refused { because } => panic!("{line}: {because}"),
                },
                _ => panic!("{line} does nothing"),
            }
        }
        self.window.run();
    }
}

const CAREFUL: &str = "ask since
ask uphill
safe protection
safe ventilation
safe extinguisher
safe chocks
safe drip-tray
safe pressure-away
fit pump-in
purge
zero
wait 5
record rest SHOWN mbar within from \"vehicle card\"
key on
crank 8
wait 60
record idle SHOWN mbar outside from \"vehicle card\" window -3s
speed raised
wait 30
record raised SHOWN mbar outside from \"vehicle card\" window -3s
idle
wait 15
key off
safe pressure-away
fit filter-in
purge
zero
wait 5
key on
crank 8
wait 60
record idle SHOWN mbar within from \"vehicle card\" window -3s
speed raised
wait 30
record raised SHOWN mbar within from \"vehicle card\" window -3s
idle
wait 15
key off
submit plugged-filter 90 because 3 5 \"Much more is lost across the filter than before it, and it grows with the flow.\"
safe pressure-away
repair filter replace
remove
bleed
key on
crank 10
wait 60
key off
leakcheck
handback";

#[test]
fn a_job_from_a_blank_page_is_checked_saved_sat_and_marked() {
    let mut d = Desktop::writing("whole", "Slow on the hill");
    // the complaint
    d.fill("whose vehicle", "Quillan Vale Parcels, van 6");
    d.fill("complaint, in the customer's voice", "She won't pull up the \"Northfell\" drag.");
    d.press("Add a fact");
    d.fill("fact 3", "Filter not changed for two years");
    // questions: one is changed, one is added
    d.press("Questions");
    d.press("Add a question");
    d.fill("question 3", "Uphill only?");
    d.fill("answer 3", "Only uphill, never in town.");
    d.fill("short name 3, used in files", "uphill");
    // what is wrong
    d.press("Hidden fault");
    d.pick("fault: F15", "F26  Transfer pump worn");
    assert!(d.text().contains("fault: \"F26\""), "{}", d.text());
    d.key(Modifiers::COMMAND, egui::Key::Z);
    assert!(d.text().contains("(fault: \"F15\", at: \"filter\", severity: 3.2)"));
    // text beside the form: the same job
    let text = d.text().replace("severity: 3.2", "severity: 3.6");
    d.window.state_mut().write_on(vec![faultbay::app::editor::Order::Write(Page::File, text)]);
    d.run();
    assert!(d.shows("severity 3.6: the customer complains"));
    // teaching
    d.section("Goals, hints, traps");
    d.fill("goal 1", "Read one run before and behind the filter");
    assert!(d.shows("A trap is still the one of the blank page"), "{:?}", d.editor().proof.findings);
    d.fill("trap 1", "Changing the pump that the customer has heard of");
    d.fill("hint 1", "Compare what you read at rest and at speed");
    // a slip is told as it is typed, leads to its field, and is mended there
    d.press("Vehicle and day");
    d.fill("about how long, min", "4000");
    assert!(d.shows("It can't be used yet: 1 wrong"));
    d.press("Complaint");
    d.key(Modifiers::NONE, egui::Key::F8);
    assert_eq!(d.editor().section, Section::Setting);
    d.fill("about how long, min", "35");
    assert!(d.shows("The check has nothing to say"), "{:?}", d.editor().proof.findings);
    // what it shows
    d.press("What it shows");
    assert_eq!(d.editor().pane, Pane::Preview);
    d.wait();
    let shown = d.editor().preview.shown.as_ref().expect("a preview");
    let raised = shown.rows.iter().find(|r| r.state == "raised").expect("read");
    assert!(raised.is_outside(), "{}", preview::row_words(raised));
    // saved
    d.press("Save, Ctrl S");
    assert!(d.editor().draft.is_saved());
    let file = d.folder.join("own/jobs/slow-on-the-hill.ron");
    let written = std::fs::read_to_string(&file).expect("the file is there");
    assert_eq!(written, d.text());
    assert!(written.contains("the gentlest first; without this line"), "remarks stay");
    // fair?
    d.press("Check fairness, F5");
    d.wait();
    let (of, found) = d.editor().fair.found.as_ref().expect("checked");
    assert_eq!(*of, d.editor().draft.revision());
    assert_eq!(found.labels.len(), 5);
    assert!(d.shows(fairness::verdict(found)));
    // sat and marked
    d.press("Save it and sit it now, F6");
    d.sit(CAREFUL);
    d.wait();
    let sitting = d.window.state().sitting.as_ref().expect("still there");
    let mark = sitting.state.mark.as_ref().unwrap_or_else(|| panic!("{:?}", sitting.state.unmarked));
    assert_eq!(mark.truth.0, "Filter element plugged");
    assert!(mark.total > 40.0, "{} {:?}", mark.total, mark.reasons);
    // back to the editor, and from there to a shelf that has the job
    d.press("Back to the editor");
    d.press("Close the editor");
    assert!(d.shows("Take the job: Slow on the hill"));
    d.again();
    assert!(d.shows("Take the job: Slow on the hill"));
}

#[test]
fn what_was_typed_survives_a_window_that_is_closed() {
    let mut d = Desktop::writing("crash", "Half a job");
    d.fill("whose vehicle", "Saltmere Harbour, launch");
    let text = d.text().to_owned();
    d.again();
    assert!(!d.folder.join("own").exists(), "nothing was saved");
    d.press("Write a job");
    d.press("Go on with the draft: half-a-job");
    assert_eq!(d.text(), text);
    assert!(!d.editor().draft.is_saved());
    // left on purpose: asked first, then kept or thrown away
    d.press("Close the editor");
    assert!(d.shows("This isn't saved."));
    d.press("Go on writing");
    d.press("Close the editor");
    d.press("Throw it away");
    d.press("Write a job");
    assert!(!d.shows("Go on with the draft"));
}

#[test]
fn a_draft_of_a_saved_job_comes_first_and_can_be_undone() {
    let mut d = Desktop::writing("older", "Older");
    d.press("Save, Ctrl S");
    let saved = d.text().to_owned();
    d.fill("whose vehicle", "Saltmere Harbour, launch");
    let newer = d.text().to_owned();
    d.again();
    d.press("Write a job");
    d.press("Open the job: Older");
    assert_eq!(d.text(), newer);
    d.key(Modifiers::COMMAND, egui::Key::Z);
    assert_eq!(d.text(), saved);
    assert!(d.editor().draft.is_saved());
    // and then there is nothing left to go on with
    d.press("Close the editor");
    d.again();
    d.press("Write a job");
    assert!(!d.shows("Go on with the draft"));
}

#[test]
fn a_text_on_its_way_to_being_right_stops_the_form_only() {
    let mut d = Desktop::writing("typing", "Typing");
    let whole = d.text().to_owned();
    let broken = whole.replacen("customer:", "customer", 1).replacen("questions: [", "questions: [(", 1);
    d.window.state_mut().write_on(vec![faultbay::app::editor::Order::Write(Page::File, broken)]);
    d.run();
    assert!(d.shows("The form waits for the text"));
    assert!(d.shows("Sit it now") || d.shows("Save it and sit it now, F6 (not now: the job has an error)"));
    d.key(Modifiers::COMMAND, egui::Key::Z);
    assert_eq!(d.text(), whole);
    assert!(d.shows("whose vehicle"));
}

#[test]
fn a_job_that_is_built_in_is_copied_and_brings_its_own_scheme() {
    let mut d = Desktop::new("copy");
    d.press("Write a job");
    d.press("Copy the job: Runs out of puff on the bypass");
    assert_eq!(d.editor().draft.name(), "bypass-puff-copy");
    d.press("Mark scheme");
    d.press("Give this job its own scheme");
    d.fill("gate: points in 100 that a pass needs", "75");
    assert_eq!(d.editor().proof.job.as_ref().expect("usable").rubric.cut, 75.0);
    d.press("Save, Ctrl S");
    let author = Jobs::of(&Library::builtin(), 1, Some(d.folder.clone()), Arc::new(|_, _, _| Err(String::new())));
    let mut author = author.writing_to(None, Arc::new(|_, _| Err(String::new())));
    let library = faultbay::app::session::Shelf::author(&mut author).expect("writes").library().clone();
    let (job, _) = load_job(&library, "bypass-puff-copy").expect("usable");
    assert_eq!(job.rubric.cut, 75.0);
    assert_eq!(load_job(&library, "bypass-puff").expect("usable").0.rubric.cut, 60.0);
}

#[test]
fn every_control_of_every_section_has_a_name_and_lies_in_the_window() {
    for (size, narrow) in [(Vec2::new(1366.0, 768.0), false), (Vec2::new(910.0, 512.0), true)] {
        let mut d = Desktop::writing("names", "Names");
        d.window.set_size(size);
        d.window.run();
        if narrow {
            d.press("Form");
        }
        for section in Section::ALL {
            d.window.state_mut().write_on(vec![faultbay::app::editor::Order::Turn(section)]);
            d.window.run();
            let mut found = Vec::new();
            crate::names::nameless(d.window.root(), &mut found);
            assert!(found.is_empty(), "{section:?}: {found:#?}");
        }
        for name in ["Undo, Ctrl Z", "Save, Ctrl S", "Close the editor", "List of keys, F1"] {
            let rect = d.window.get_by_label_contains(name).rect();
            assert!(rect.min.x >= 0.0 && rect.max.x <= size.x + 0.5, "{name} at {rect:?} in {size:?}");
        }
    }
}

#[test]
fn a_vehicle_is_built_from_parts_drawn_checked_read_and_its_card_filled() {
    let mut d = Desktop::new("vehicle");
    d.press("Write a job");
    d.press("what is written: vehicle");
    d.fill("title of the new vehicle", "Mower, diesel, tank under the seat");
    d.press("Begin with a blank page");
    assert_eq!(d.editor().pane, Pane::Vehicle);
    assert!(d.editor().proof.plant.is_some(), "{:?}", d.editor().proof.findings);
    // a part is put into the way: what left the node leaves the new part now
    d.press("Parts");
    d.pick("kind of the new part", "sediment bowl");
    d.pick("node of the new part", "filter in (joint: filter inlet)");
    d.press("Put it into the way there");
    assert!(d.editor().proof.plant.is_some(), "{:?}", d.editor().proof.findings);
    assert_eq!(d.editor().picked.as_deref(), Some("sediment bowl"));
    assert!(d.text().contains("from: \"filter in\", to: \"sediment bowl out\""), "{}", d.text());
    assert!(d.text().contains("Heights are above the bottom of the tank"), "remarks stay");
    // a number out of its range is told at its field, and the part is marked in the drawing
    d.fill("the bowl, bowl", "90000");
    assert!(d.editor().proof.marked().contains(&("sediment bowl".to_owned(), true)));
    assert!(d.shows("It can't be used yet: 1 wrong"));
    d.key(Modifiers::COMMAND, egui::Key::Z);
    assert!(d.editor().proof.marked().is_empty(), "{:?}", d.editor().proof.findings);
    // a node that nothing is joined to is told by name; it is drawn all the same
    d.press("Nodes and joints");
    d.press("Add a node by itself");
    assert!(d.editor().proof.plant.is_none() && d.editor().proof.drawn.is_some());
    assert!(d.shows("Joined to nothing:"));
    d.press("Remove the node node");
    assert!(d.editor().proof.plant.is_some(), "{:?}", d.editor().proof.findings);
    // a node is renamed with everything that names it
    d.press("Node: pump in");
    d.fill("name; parts and card follow when the field is left", "pump inlet");
    d.key(Modifiers::NONE, egui::Key::Tab);
    assert!(!d.text().contains("\"pump in\"") && d.editor().proof.plant.is_some(), "{}", d.text());
    // what a sound one reads, and a card made of it
    d.press("What it reads");
    d.wait();
    let shown = d.editor().readings.shown.as_ref().expect("readings");
    assert_eq!(shown.joints.len(), 2);
    let lacking =
        faultbay::app::editor::readings::card_edits(shown, d.editor().proof.vehicle.as_ref().unwrap()).len();
    assert!(lacking >= 10);
    d.press(&format!("Put what the card lacks into it ({lacking})"));
    d.wait();
    assert_eq!(d.editor().proof.card.len(), lacking, "{:?}", d.editor().proof.findings);
    let shown = d.editor().readings.shown.as_ref().expect("readings");
    assert!(
        shown.joints.iter().flat_map(|j| j.reads.as_ref().unwrap()).all(|r| r.limit.is_some() && !r.is_outside())
    );
    // saved, and there for the next job
    d.press("Save, Ctrl S");
    assert!(d.folder.join("own/plants/mower-diesel-tank-under-the-seat.ron").is_file());
    let text = d.text().to_owned();
    d.press("Close the editor");
    d.press("Write a job");
    d.fill("title of the new job", "Mows in fits and starts");
    d.press("Begin with a blank page");
    d.press("Vehicle and day");
    d.pick("vehicle: ", "Mower, diesel, tank under the seat");
    assert!(d.editor().proof.plant.as_ref().is_some_and(|p| p.title.starts_with("Mower")));
    assert!(text.contains("card: ["));
}

#[test]
fn a_part_is_taken_out_and_every_step_can_be_undone_to_the_byte() {
    let mut d = Desktop::new("undo-vehicle");
    d.press("Write a job");
    d.press("what is written: vehicle");
    d.press("Copy the vehicle: Light van, 2.2 l diesel, suction supply, tank 70 l");
    let first = d.text().to_owned();
    d.press("Parts");
    d.press("Part: short line");
    d.press("Remove it, close the gap: short line");
    assert!(d.editor().proof.plant.is_some(), "{:?}", d.editor().proof.findings);
    assert!(!d.text().contains("\"filter out\"") && d.text().contains("joint: \"pump in\", state: \"idle\""));
    d.press("Part: filter");
    d.press("Turn it round: filter");
    assert!(d.editor().proof.plant.is_none());
    assert!(!d.editor().proof.marked().is_empty());
    d.key(Modifiers::COMMAND, egui::Key::Z);
    d.key(Modifiers::COMMAND, egui::Key::Z);
    assert_eq!(d.text(), first);
    d.key(Modifiers::COMMAND, egui::Key::Y);
    assert!(!d.text().contains("\"filter out\""));
    // what was left unsaved is a vehicle again when the window is opened anew
    let text = d.text().to_owned();
    d.again();
    d.press("Write a job");
    d.press("Go on with the draft: a1-van-copy");
    assert_eq!(d.text(), text);
    assert_eq!(d.editor().draft.kind(), faultbay::scenario::Kind::Plant);
}

#[test]
fn a_course_and_a_scheme_are_written_in_forms() {
    let mut d = Desktop::new("course");
    d.press("Write a job");
    d.press("what is written: course");
    d.fill("title of the new course", "Evening class");
    d.press("Begin with a blank page");
    d.fill("aim of the course", "For working people. Afterwards they read one run at two joints.");
    d.press("Jobs in order");
    d.press("Add a job");
    let course = d.editor().proof.course.clone().expect("a course");
    assert_eq!(course.stages.len(), 3);
    d.press("Remove job 3");
    d.press("Save, Ctrl S");
    assert!(d.folder.join("own/courses/evening-class.ron").is_file());
    d.press("Close the editor");
    d.press("Write a job");
    d.press("what is written: mark scheme");
    d.fill("title of the new mark scheme", "First term");
    d.press("Begin with a blank page");
    d.fill("gate: points in 100 that a pass needs", "70");
    assert!(
        d.editor().proof.rubric.as_ref().is_some_and(|r| (r.cut - 70.0).abs() < 1e-9),
        "{:?}",
        d.editor().proof.findings
    );
    d.fill("gate: points in 100 that a pass needs", "700");
    assert!(d.editor().proof.rubric.is_none() && d.shows("It can't be used yet"));
}

#[test]
fn blends_companions_and_what_else_is_right_are_filled_in_forms() {
    let mut d = Desktop::writing("more", "More fields");
    d.press("Vehicle and day");
    d.pick("fuel of the season: ", "a blend …");
    d.fill("part 1 of the blend, in 100", "93");
    assert!(d.editor().proof.job.is_none(), "shares that don't add up pass");
    d.fill("part 2 of the blend, in 100", "7");
    assert!(d.editor().proof.job.is_some(), "{:?}", d.editor().proof.findings);
    assert!(d.text().contains("fuel: Blend([(Diesel, 0.93), (Biodiesel, 0.07)])"), "{}", d.text());
    d.press("Candidates");
    let name = d.editor().proof.form.as_ref().unwrap().candidates[1].label.clone();
    d.press(&format!("also right: {name}"));
    assert!(d.text().contains("also_right: ["));
    assert!(d.editor().proof.job.is_some(), "{:?}", d.editor().proof.findings);
    d.press(&format!("also right: {name}"));
    assert!(!d.text().contains("also_right: ["));
}

#[test]
fn enter_leads_from_one_line_of_a_list_to_the_next() {
    let mut d = Desktop::writing("enter", "Line by line");
    let facts = |d: &Desktop| {
        d.text().split("facts: [").nth(1).unwrap().split(']').next().unwrap().matches('"').count() / 2
    };
    let before = facts(&d);
    d.fill("fact 1", "Gauge at a third");
    d.key(Modifiers::NONE, egui::Key::Enter);
    assert_eq!(facts(&d), before + 1, "a new line, {}", d.text());
    // it is the one below, and it has the keyboard
    d.window.event(egui::Event::Text("Stood since Friday".to_owned()));
    d.run();
    let text = d.text();
    let (first, second) = (text.find("Gauge at a third").unwrap(), text.find("Stood since Friday").unwrap());
    assert!(first < second && !text[first..second].contains("\",\n        \"\""), "{text}");
    // Enter in an empty line leaves no second one behind
    d.key(Modifiers::NONE, egui::Key::Enter);
    d.key(Modifiers::NONE, egui::Key::Enter);
    d.key(Modifiers::NONE, egui::Key::Enter);
    assert_eq!(facts(&d), before + 2);
}
