//! A desk in a harness, and a session that notes every action.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use bevy_egui::egui::{self, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use faultbay::app::desk::Desk;
use faultbay::app::session::{Card, MarkProgress, Opening, Revealing, Session, Shelf};
use faultbay::app::sitting::{Jobs, Marker};
use faultbay::bay::action::{Action, Finding, Micros, Prediction};
use faultbay::bay::instruct::{Instructed, Instruction};
use faultbay::bay::observation::{Answer, Breach, Observation, SheetLine};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Kind, Library};
use faultbay::trace::Trace;

/// Actions in the order in which they reached the bay, with whether they were done.
pub type Log = Rc<RefCell<Vec<(Action, bool)>>>;

/// The real shelf, whose sittings tell what they are asked.
struct Watched {
    jobs: Jobs,
    log: Log,
}

impl Shelf for Watched {
    fn cards(&self) -> Vec<Card> {
        self.jobs.cards()
    }
    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String> {
        let inner = self.jobs.open(index)?;
        Ok(Box::new(Told { inner, log: self.log.clone() }))
    }
}

struct Told {
    inner: Box<dyn Session>,
    log: Log,
}

impl Session for Told {
    fn job(&self) -> &Job {
        self.inner.job()
    }
    fn observe(&self) -> Observation {
        self.inner.observe()
    }
    fn trace(&self) -> &Trace {
        self.inner.trace()
    }
    fn sheet(&self) -> &[SheetLine] {
        self.inner.sheet()
    }
    fn predictions(&self) -> &[(Micros, Prediction)] {
        self.inner.predictions()
    }
    fn points(&self) -> Option<&[u8]> {
        self.inner.points()
    }
    fn breaches(&self) -> &[Breach] {
        self.inner.breaches()
    }
    fn finding(&self) -> Option<&Finding> {
        self.inner.finding()
    }
    fn is_over(&self) -> bool {
        self.inner.is_over()
    }
    fn now(&self) -> Micros {
        self.inner.now()
    }
    fn act(&mut self, action: &Action) -> Answer {
        let answer = self.inner.act(action);
        self.log.borrow_mut().push((action.clone(), matches!(answer, Answer::Done { .. })));
        answer
    }
    fn advance(&mut self, by: Micros) {
        self.inner.advance(by);
    }
    fn open(&mut self) -> Opening {
        self.inner.open()
    }
    fn leave_opening(&mut self) {
        self.inner.leave_opening();
    }
    fn instruct(&mut self, what: &Instruction) -> Answer {
        self.inner.instruct(what)
    }
    fn instructed(&self) -> Instructed {
        self.inner.instructed()
    }
    fn reveal(&mut self) -> Revealing {
        self.inner.reveal()
    }
    fn mark(&mut self) -> MarkProgress {
        self.inner.mark()
    }
}

/// A desk under test.
pub struct Bench {
    /// The harness; its state is the desk.
    pub harness: Harness<'static, Desk>,
    /// What reached the bay.
    pub log: Log,
}

impl Bench {
    /// An empty desk before the built-in shelf, at the design size.
    pub fn before_the_shelf(marker: Marker) -> Self {
        Self::before(&Library::builtin(), marker)
    }

    fn before(library: &Library, marker: Marker) -> Self {
        let log = Log::default();
        let jobs = Jobs::of(library, 7, None, marker);
        let desk = Desk::new(Box::new(Watched { jobs, log: log.clone() }));
        let mut harness = Harness::builder()
            .with_size(Vec2::new(1366.0, 768.0))
            .build_ui_state(|ui: &mut egui::Ui, desk: &mut Desk| desk.ui(ui), desk);
        harness.run();
        Self { harness, log }
    }

    /// A job taken from the shelf by its title.
    pub fn at(title: &str) -> Self {
        let unmarked: Marker = Arc::new(|_, _, _| Err("this test doesn't mark".to_owned()));
        let mut bench = Self::before_the_shelf(unmarked);
        bench.press(&format!("Take the job: {title}"));
        bench
    }

    /// A job with nothing wrong on one of the built-in vehicles.
    pub fn on_plant(plant: &str) -> Self {
        let job = format!(
            r#"Job(title: "Try it", customer: "Dunholt Contracting", complaint: "It has no pull.", minutes: 30,
                mode: practice, plant: "{plant}", rubric: "standard", fuel_gauge: 0.67,
                questions: [(name: "since", ask: "Since when?", answer: "A week.")], looks: [],
                candidates: [
                    (name: "nothing-wrong", label: "Fuel supply sound", weight: 0.5, vehicles: []),
                    (name: "own-kit", label: "My own test kit", weight: 0.5,
                        vehicles: [(fault: "M2", severity: (1.5, 4.5))]),
                ],
                hidden: [])"#
        );
        let mut library = Library::builtin();
        library.insert(Kind::Job, "try-it", "try-it.ron", &job);
        let unmarked: Marker = Arc::new(|_, _, _| Err("this test doesn't mark".to_owned()));
        let mut bench = Self::before(&library, unmarked);
        bench.reach("Take the job: Try it");
        bench
    }

    /// Presses the one widget with this name by mouse.
    pub fn press(&mut self, name: &str) {
        self.harness.get_by_label(name).click();
        self.harness.run();
    }

    /// Turns to a tab of the paper.
    pub fn turn(&mut self, tab: &str) {
        self.press(tab);
    }

    /// Whether something with this name is on the screen.
    pub fn shows(&self, name: &str) -> bool {
        self.harness.query_all_by_label_contains(name).next().is_some()
    }

    /// Scrolls the widget into sight, then presses it.
    pub fn reach(&mut self, name: &str) {
        self.harness.get_by_label(name).scroll_to_me();
        self.harness.run();
        self.press(name);
    }

    /// Presses a key with nothing held.
    pub fn key(&mut self, key: egui::Key) {
        self.harness.key_press(key);
        self.harness.run();
    }

    /// Types into whatever has the focus.
    pub fn type_text(&mut self, text: &str) {
        self.harness.event(egui::Event::Text(text.to_owned()));
        self.harness.run();
    }

    /// Lets real seconds pass at the pace that is set, a frame at a time.
    pub fn pass(&mut self, secs: f64) {
        for _ in 0..(secs * 20.0).round() as u32 {
            self.harness.state_mut().tick(0.05);
        }
        self.harness.run();
    }

    /// Waits for the answer of the marking's thread.
    pub fn wait_for_mark(&mut self) {
        for _ in 0..10_000 {
            self.harness.state_mut().tick(0.01);
            if !self.harness.state().is_marking() {
                self.harness.run();
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(1));
        }
        panic!("the marking never answers");
    }

    /// The last action, if it was done.
    pub fn last_done(&self) -> Option<Action> {
        self.log.borrow().last().filter(|(_, done)| *done).map(|(action, _)| action.clone())
    }

    /// What can be perceived.
    pub fn seen(&self) -> Observation {
        self.harness.state().sitting.as_ref().expect("a job was taken").session.observe()
    }
}
