//! Where jobs are written: forms and the text beside it, what the check says as one types, what the fault shows, and
//! whether the job is fair.
//!
//! The text is the job. Forms read it and change it in place (`scenario::patch`), so that both ways are one. Views push
//! [`Order`]s; [`Editor::carry_out`] is the one place where something comes of them. It speaks to an author, who
//! knows the answer; no sitting is seen from here.
//!
//! | file | what it draws or does |
//! |---|---|
//! | `start` | the first page: blank, from a job, what was left unsaved |
//! | `layout` | top line, sections, panes, what the check says |
//! | `fields` | a line, a number, a choice, a list: each with what is wrong with it |
//! | `card`, `asking`, `faults`, `rivals`, `limits` | the forms |
//! | `text`, `preview`, `fairness`, `vehicle` | the panes beside them |
//! | `files` | the folder of own jobs, drafts that survive a crash |

pub mod asking;
pub mod card;
pub mod fairness;
pub mod faults;
pub mod fields;
pub mod files;
pub mod layout;
pub mod limits;
pub mod preview;
pub mod rivals;
pub mod start;
pub mod text;
pub mod vehicle;

use std::ops::Range;

use super::scene::SceneState;
use super::task::Task;
use crate::authoring::diagnosability::Diagnosability;
use crate::authoring::draft::{Draft, Page, Proof, is_within, name_trouble};
use crate::authoring::preview::{Preview, of_job};
use crate::bay::words::offer::Spot;
use crate::scenario::patch::{self, Edit, quoted};
use files::Author;

/// Time without a change after which the preview is made anew, s, and after which the draft is kept.
const PREVIEW_AFTER_S: f64 = 0.6;
const KEPT_AFTER_S: f64 = 0.4;

/// A part of the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// Title, customer, complaint, facts.
    #[default]
    Card,
    /// Vehicle, level, minutes, mode, fuel and weather.
    Setting,
    /// Questions to the customer.
    Questions,
    /// What looking at parts shows.
    Looks,
    /// What is really wrong.
    Fault,
    /// What the learner may hold likely.
    Candidates,
    /// What the bay doesn't offer.
    Tests,
    /// Goals, hints, traps.
    Teaching,
    /// Limits on the vehicle card.
    Limits,
    /// How it is marked.
    Marking,
}

impl Section {
    /// Every section, in the order of work.
    pub const ALL: [Self; 10] = [
        Self::Card,
        Self::Setting,
        Self::Questions,
        Self::Looks,
        Self::Fault,
        Self::Candidates,
        Self::Tests,
        Self::Teaching,
        Self::Limits,
        Self::Marking,
    ];

    /// What is written on it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Card => "Complaint",
            Self::Setting => "Vehicle and day",
            Self::Questions => "Questions",
            Self::Looks => "Looks at parts",
            Self::Fault => "Hidden fault",
            Self::Candidates => "Candidates",
            Self::Tests => "Tests and tools",
            Self::Teaching => "Goals, hints, traps",
            Self::Limits => "Vehicle card",
            Self::Marking => "Mark scheme",
        }
    }

    /// Fields of the file that it shows.
    const fn fields(self) -> &'static [&'static str] {
        match self {
            Self::Card => &["title", "customer", "complaint", "facts"],
            Self::Setting => &[
                "plant",
                "level",
                "minutes",
                "mode",
                "fuel_gauge",
                "gauge_lies",
                "fill",
                "stood",
                "temperature",
                "altitude",
                "fuel",
            ],
            Self::Questions => &["questions"],
            Self::Looks => &["looks"],
            Self::Fault => &["hidden"],
            Self::Candidates => &["candidates", "also_right"],
            Self::Tests => &["withheld"],
            Self::Teaching => &["goals", "hints", "traps"],
            Self::Limits => &["limits"],
            Self::Marking => &["rubric"],
        }
    }

    /// The section that shows a place of the job.
    pub fn of(place: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.fields().iter().any(|f| is_within(place, f)))
    }
}

/// What stands beside the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pane {
    /// The form itself, where the window is too narrow for both.
    Form,
    /// The text of the file.
    #[default]
    Text,
    /// What the fault shows.
    Preview,
    /// The vehicle, drawn.
    Vehicle,
    /// Whether the job is fair.
    Fairness,
}

impl Pane {
    /// What is written on it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Form => "Form",
            Self::Text => "Text of the file",
            Self::Preview => "What it shows",
            Self::Vehicle => "Vehicle",
            Self::Fairness => "Fairness",
        }
    }
}

/// What a view asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// Changes of places of a text, together.
    Edit(Page, Vec<Edit>),
    /// A whole text as typed.
    Write(Page, String),
    /// The field was left: what comes next is a change of its own.
    Settle,
    /// A change back, or forth again.
    Undo,
    /// Forth again.
    Redo,
    /// Another section of the form.
    Turn(Section),
    /// Another pane.
    Show(Pane),
    /// Another text in the pane of texts.
    Open(Page),
    /// To what the check found, by its number.
    Jump(usize),
    /// To a field.
    Focus(String),
    /// A mark scheme of the job's own.
    OwnScheme,
    /// A mark scheme that others use, too.
    SharedScheme(String),
    /// Writes the files.
    Save,
    /// Asks for another name.
    SaveAs,
    /// Writes them under this name.
    SaveUnder(String),
    /// Closes the question.
    NotNow,
    /// Simulates whether the job is fair.
    Fair,
    /// Stops that.
    StopFair,
    /// Saves it and sits it.
    Sit,
    /// Leaves; asks when something isn't saved.
    Close,
    /// Leaves and keeps what isn't saved to go on with.
    KeepAndClose,
    /// Leaves and throws away what isn't saved.
    ThrowAway,
    /// Joint of the preview.
    Joint(Option<String>),
    /// The preview shows faults as if they showed always.
    Always(bool),
    /// Something was touched in the drawing.
    Touched(Spot),
    /// The list of keys.
    Keys,
}

/// Where one goes from here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Leave {
    /// To the shelf.
    Shelf,
    /// Into a sitting of the job with this name.
    Sit(String),
}

/// A question that waits for an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// Under which name?
    Name(String),
    /// Leave what isn't saved?
    Leave,
}

/// A field whose typed text isn't a value yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Typing {
    /// Its place.
    pub place: String,
    /// As typed.
    pub text: String,
}

/// The preview and its making.
#[derive(Default)]
pub struct PreviewState {
    /// Under way.
    pub task: Option<Task<Preview>>,
    /// As made last.
    pub shown: Option<Preview>,
    /// Why there is none.
    pub trouble: Option<String>,
    /// Joint asked for; none for the usual one.
    pub joint: Option<String>,
    /// As if the faults showed always.
    pub always: bool,
    /// Of which change it is; none when it must be made anew.
    made_of: Option<u64>,
}

/// The check of fairness and its making.
#[derive(Default)]
pub struct FairState {
    /// Under way.
    pub task: Option<Task<Diagnosability>>,
    /// As found last, and of which change.
    pub found: Option<(u64, Box<Diagnosability>)>,
    /// Why there is nothing.
    pub trouble: Option<String>,
}

/// A job on the desk of its author.
pub struct Editor {
    /// The job.
    pub draft: Draft,
    /// As it stands.
    pub proof: Proof,
    /// Section on top.
    pub section: Section,
    /// Pane beside it.
    pub pane: Pane,
    /// Text in the pane of texts.
    pub page: Page,
    /// A field with something that isn't a value yet.
    pub typing: Option<Typing>,
    /// A field that is to get the keyboard.
    pub focus: Option<String>,
    /// Bytes of the text that are to be shown.
    pub reveal: Option<Range<usize>>,
    /// Preview.
    pub preview: PreviewState,
    /// Fairness.
    pub fair: FairState,
    /// How the drawing is looked at.
    pub scene: SceneState,
    /// What is asked.
    pub question: Option<Question>,
    /// What was said last, and whether it is trouble.
    pub note: (String, bool),
    /// The list of keys is open.
    pub keys: bool,
    /// What was jumped to last.
    pub jumped: Option<usize>,
    /// Change that was kept or saved last, and time since the last change, s.
    kept: u64,
    still_s: f64,
}

impl Editor {
    /// Opens a draft.
    pub fn open(draft: Draft, author: &dyn Author) -> Self {
        let proof = draft.proof(author.library());
        Self {
            kept: draft.revision(),
            draft,
            proof,
            section: Section::default(),
            pane: Pane::default(),
            page: Page::default(),
            typing: None,
            focus: None,
            reveal: None,
            preview: PreviewState::default(),
            fair: FairState::default(),
            scene: SceneState::default(),
            question: None,
            note: (String::new(), false),
            keys: false,
            jumped: None,
            still_s: 0.0,
        }
    }

    /// Something is computed, or waits for a moment of rest: more frames are wanted.
    pub fn is_busy(&self) -> bool {
        self.preview.task.is_some()
            || self.fair.task.is_some()
            || self.kept != self.draft.revision()
            || self.wants_preview()
    }

    fn wants_preview(&self) -> bool {
        self.pane == Pane::Preview && self.preview.made_of != Some(self.draft.revision())
    }

    /// The preview belongs to the job as it stands.
    pub fn is_preview_fresh(&self) -> bool {
        self.preview.made_of == Some(self.draft.revision()) && self.preview.task.is_none()
    }

    /// Lets real time pass: keeps the draft, makes the preview, looks for answers.
    pub fn tick(&mut self, real_s: f64, author: &mut dyn Author) {
        self.still_s += real_s.max(0.0);
        if self.kept != self.draft.revision() && self.still_s >= KEPT_AFTER_S {
            self.keep(author);
        }
        if let Some(answer) = self.preview.task.as_ref().and_then(Task::poll) {
            let asked = self.preview.task.take().map_or(0, |t| t.about());
            // an answer to an old question is dropped
            if Some(asked) == self.preview.made_of {
                match answer {
                    Ok(shown) => (self.preview.shown, self.preview.trouble) = (Some(shown), None),
                    Err(why) => self.preview.trouble = Some(why),
                }
            }
        }
        if let Some(answer) = self.fair.task.as_ref().and_then(Task::poll) {
            let asked = self.fair.task.take().map_or(0, |t| t.about());
            match answer {
                Ok(found) => (self.fair.found, self.fair.trouble) = (Some((asked, Box::new(found))), None),
                Err(why) => self.fair.trouble = Some(why),
            }
        }
        if self.wants_preview() && self.still_s >= PREVIEW_AFTER_S {
            self.start_preview();
        }
    }

    fn start_preview(&mut self) {
        let about = self.draft.revision();
        self.preview.made_of = Some(about);
        self.preview.task = None;
        match &self.proof.job {
            None => {
                self.preview.trouble = Some("The job has an error: put it right and this is shown again.".into())
            }
            Some(job) => {
                let (job, joint, always) = (job.clone(), self.preview.joint.clone(), self.preview.always);
                self.preview.task =
                    Some(Task::start(about, move |watch| of_job(&job, joint.as_deref(), always, watch)));
            }
        }
    }

    /// Keeps the draft where a crash doesn't reach it; a draft that stands in its file needs no keeping.
    pub fn keep(&mut self, author: &mut dyn Author) {
        let done = if self.draft.is_saved() { author.forget(self.draft.name()) } else { author.keep(&self.draft) };
        self.kept = self.draft.revision();
        if let Err(why) = done {
            self.note = (format!("The draft can't be kept: {why}"), true);
        }
    }

    fn changed(&mut self, author: &dyn Author) {
        self.still_s = 0.0;
        self.proof = self.draft.proof(author.library());
        if self.draft.text(self.page).is_none() {
            self.page = Page::Job;
        }
        if self.preview.task.is_some() && self.preview.made_of != Some(self.draft.revision()) {
            self.preview.task = None;
        }
    }

    /// Carries out orders; gives where to go when it is left.
    pub fn carry_out(&mut self, orders: Vec<Order>, author: &mut dyn Author) -> Option<Leave> {
        let mut leave = None;
        for order in orders {
            let before = self.draft.revision();
            leave = self.one(order, author).or(leave);
            if self.draft.revision() != before {
                self.changed(author);
            }
        }
        leave
    }

    fn one(&mut self, order: Order, author: &mut dyn Author) -> Option<Leave> {
        match order {
            Order::Edit(page, edits) => {
                let done = self.draft.edit(page, &edits);
                self.told(done);
            }
            Order::Write(page, text) => self.draft.write(page, &text),
            Order::Settle => self.draft.settle(),
            Order::Undo => self.draft.undo(),
            Order::Redo => self.draft.redo(),
            Order::OwnScheme => {
                let done = self.draft.own_scheme(author.library());
                self.told(done);
            }
            Order::SharedScheme(name) => {
                let done = self.draft.shared_scheme(&name);
                self.told(done);
            }
            Order::Save => self.save(author),
            Order::SaveUnder(name) => self.save_under(&name, author),
            Order::Fair => self.start_fair(author),
            Order::Sit => {
                if self.proof.job.is_some() {
                    self.save(author);
                    if self.draft.is_saved() {
                        return Some(Leave::Sit(self.draft.name().to_owned()));
                    }
                }
            }
            Order::Close if self.draft.is_saved() => {
                // a draft that is as it stands in its file needs no keeping
                self.keep(author);
                return Some(Leave::Shelf);
            }
            Order::Close => self.question = Some(Question::Leave),
            Order::KeepAndClose => {
                self.keep(author);
                return Some(Leave::Shelf);
            }
            Order::ThrowAway => {
                let _ = author.forget(self.draft.name());
                self.kept = self.draft.revision();
                self.draft.saved();
                return Some(Leave::Shelf);
            }
            other => self.look(other),
        }
        None
    }

    /// What changes only how it is looked at.
    fn look(&mut self, order: Order) {
        match order {
            Order::Turn(section) => {
                self.draft.settle();
                self.section = section;
                // the text beside the form turns to the same place
                let text = self.draft.text(Page::Job).unwrap_or_default();
                let first = section.fields().iter().find(|f| patch::value(text, f).is_some());
                self.reveal = first.and_then(|f| patch::span(text, f)).map(|s| s.start..s.start);
                if self.reveal.is_some() {
                    self.page = Page::Job;
                }
                if self.pane == Pane::Form {
                    self.typing = None;
                }
            }
            Order::Show(pane) => self.pane = pane,
            Order::Open(page) => self.page = page,
            Order::Jump(i) => self.jump(i),
            Order::Focus(place) => self.focus(place),
            Order::SaveAs => self.question = Some(Question::Name(self.draft.name().to_owned())),
            Order::NotNow => self.question = None,
            Order::StopFair => self.fair.task = None,
            Order::Joint(joint) => {
                self.preview.joint = joint;
                self.preview.made_of = None;
            }
            Order::Always(always) => {
                self.preview.always = always;
                self.preview.made_of = None;
            }
            Order::Touched(spot) => self.touched(&spot),
            Order::Keys => self.keys = !self.keys,
            _ => {}
        }
    }

    fn told(&mut self, done: Result<(), String>) {
        self.note = match done {
            Ok(()) => (String::new(), false),
            Err(why) => (why, true),
        };
    }

    fn focus(&mut self, place: String) {
        if let Some(section) = Section::of(&place) {
            self.section = section;
        }
        self.focus = Some(place);
    }

    fn jump(&mut self, i: usize) {
        let Some(found) = self.proof.findings.get(i).cloned() else { return };
        self.jumped = Some(i);
        let Some(page) = found.page else { return };
        self.page = page;
        self.reveal = Some(found.span.clone());
        match page {
            Page::Job => self.focus(found.place),
            Page::Scheme => self.section = Section::Marking,
        }
        // where form and text stand beside one another, the text shows the place, too
        if self.pane != Pane::Form || self.proof.form.is_err() {
            self.pane = Pane::Text;
        }
    }

    /// A part or joint of the drawing: what looking at it shows is written, or the tee of the preview goes there.
    fn touched(&mut self, spot: &Spot) {
        match spot {
            Spot::Part(part) => {
                let Ok(form) = &self.proof.form else { return };
                let place = match form.looks.iter().position(|(p, _)| p == part) {
                    Some(i) => format!("looks[{i}].sees"),
                    None => {
                        let entry = format!("(part: {}, sees: \"\")", quoted(part));
                        let count = form.looks.len();
                        let done = self.draft.edit(Page::Job, &[Edit::insert("looks", count, entry)]);
                        self.told(done);
                        format!("looks[{count}].sees")
                    }
                };
                self.focus(place);
            }
            Spot::Joint(joint) => {
                self.preview.joint = Some(joint.clone());
                self.preview.made_of = None;
                self.pane = Pane::Preview;
            }
            Spot::Vehicle => {}
        }
    }

    fn save(&mut self, author: &mut dyn Author) {
        if !self.draft.is_saved() && author.is_taken(self.draft.name()) && !author.is_own(self.draft.name()) {
            self.question = Some(Question::Name(self.draft.name().to_owned()));
            return;
        }
        self.write_files(author);
    }

    fn save_under(&mut self, name: &str, author: &mut dyn Author) {
        if name_trouble(name).is_some() {
            return;
        }
        let before = self.draft.name().to_owned();
        self.draft.rename(name);
        self.question = None;
        self.write_files(author);
        if before != name && self.draft.is_saved() {
            let _ = author.forget(&before);
        }
    }

    fn write_files(&mut self, author: &mut dyn Author) {
        match author.save(&self.draft) {
            Ok(words) => {
                self.draft.saved();
                self.keep(author);
                self.note = (words, false);
                self.changed(author);
            }
            Err(why) => self.note = (format!("It couldn't be saved: {why}"), true),
        }
    }

    fn start_fair(&mut self, author: &dyn Author) {
        self.pane = Pane::Fairness;
        let Some(job) = self.proof.job.clone() else {
            self.fair.trouble = Some("The job has an error: put it right first.".to_owned());
            return;
        };
        let checker = author.checker();
        self.fair.trouble = None;
        self.fair.task = Some(Task::start(self.draft.revision(), move |watch| checker(&job, watch)));
    }
}
