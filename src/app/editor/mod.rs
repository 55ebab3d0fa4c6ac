//! Where jobs, vehicles, mark schemes and courses are written: forms and the text beside it, what the check says as one
//! types, what the fault shows or a sound vehicle reads, and whether the job is fair.
//!
//! The text is the file. Forms read it and change it in place (`scenario::patch`), so that both ways are one. Views push
//! [`Order`]s; [`Editor::carry_out`] is the one place where something comes of them. It speaks to an author, who
//! knows the answer; no sitting is seen from here.
//!
//! | file | what it draws or does |
//! |---|---|
//! | `start` | the first page: blank, from a job, what was left unsaved |
//! | `orders` | sections, panes, and what a view may ask for |
//! | `layout` | top line, sections, panes, what the check says |
//! | `fields` | a line, a number, a choice, a list: each with what is wrong with it |
//! | `card`, `asking`, `faults`, `rivals`, `fellows`, `limits`, `fuel`, `snares`, `codes`, `shown`, `variants` | the forms of a job |
//! | `scheme` | the rarer fields of a mark scheme |
//! | `plant`, `supply`, `circuit` | the forms of a vehicle: what it is, its parts and nodes |
//! | `course` | the form of a course |
//! | `text`, `preview`, `readings`, `fairness`, `vehicle` | the panes beside them |
//! | `files` | the folder of own jobs, drafts that survive a crash |

pub mod asking;
pub mod card;
pub mod circuit;
pub mod codes;
pub mod course;
pub mod fairness;
pub mod faults;
pub mod fellows;
pub mod fields;
pub mod files;
pub mod fuel;
pub mod layout;
pub mod limits;
mod orders;
mod part_words;
mod place_words;
pub mod plant;
pub mod preview;
pub mod readings;
pub mod rivals;
pub mod scheme;
pub mod shown;
pub mod snares;
pub mod start;
pub mod supply;
pub mod text;
pub mod variants;
pub mod vehicle;

use std::ops::Range;

use super::scene::SceneState;
use super::task::Task;
use crate::authoring::diagnosability::Diagnosability;
use crate::authoring::draft::{Draft, Page, Proof, name_trouble};
use crate::authoring::preview::Preview;
use crate::authoring::readings::{Readings, sound_readings};
use crate::authoring::silent::preview_of;
use crate::bay::words::offer::Spot;
use crate::language::said;
use crate::scenario::patch::{self, Edit, quoted};
use crate::scenario::vehicle_form::plant_form;
use crate::scenario::{Kind, plumbing};
use crate::tell;
use files::Author;
pub use orders::{Order, Pane, Plumb, Section};

/// Time without a change after which the preview is made anew, s, and after which the draft is kept.
const PREVIEW_AFTER_S: f64 = 0.6;
const KEPT_AFTER_S: f64 = 0.4;

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

/// What a sound vehicle reads, and its making.
#[derive(Default)]
pub struct ReadingsState {
    /// Under way.
    pub task: Option<Task<Readings>>,
    /// As made last.
    pub shown: Option<Readings>,
    /// Why there is none.
    pub trouble: Option<String>,
    /// Of which change it is; none when it must be made anew.
    made_of: Option<u64>,
}

/// A file on the desk of its author.
pub struct Editor {
    /// The file.
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
    /// What a sound vehicle reads.
    pub readings: ReadingsState,
    /// Part or node of the vehicle that is looked at, by name.
    pub picked: Option<String>,
    /// What the next part of the vehicle will be, and between which nodes.
    pub new_part: supply::NewPart,
    /// How the drawing is looked at.
    pub scene: SceneState,
    /// What is asked.
    pub question: Option<Question>,
    /// What was said last, and whether it is trouble.
    pub note: (String, bool),
    /// Folder that the pictures of jobs lie in.
    pub pictures: String,
    /// The list of keys is open.
    pub keys: bool,
    /// What was jumped to last.
    pub jumped: Option<usize>,
    /// The check under way.
    proving: Option<Task<Proof>>,
    /// Change that was kept or saved last, and time since the last change, s.
    kept: u64,
    still_s: f64,
}

impl Editor {
    /// Opens a draft.
    pub fn open(draft: Draft, author: &dyn Author) -> Self {
        let proof = draft.proof(author.library());
        let kind = draft.kind();
        Self {
            kept: draft.revision(),
            draft,
            proof,
            section: Section::of_kind(kind)[0],
            // a vehicle is drawn while it is written
            pane: if kind == Kind::Plant { Pane::Vehicle } else { Pane::Text },
            page: Page::default(),
            typing: None,
            focus: None,
            reveal: None,
            preview: PreviewState::default(),
            fair: FairState::default(),
            readings: ReadingsState::default(),
            picked: None,
            new_part: supply::NewPart::default(),
            scene: SceneState::default(),
            question: None,
            note: (String::new(), false),
            pictures: author.pictures(),
            keys: false,
            jumped: None,
            proving: None,
            still_s: 0.0,
        }
    }

    /// Something is computed, or waits for a moment of rest: more frames are wanted.
    pub fn is_busy(&self) -> bool {
        self.preview.task.is_some()
            || self.fair.task.is_some()
            || self.kept != self.draft.revision()
            || self.wants_preview()
            || self.readings.task.is_some()
            || self.wants_readings()
            || self.proving.is_some()
    }

    fn wants_readings(&self) -> bool {
        self.pane == Pane::Readings && self.readings.made_of != Some(self.draft.revision())
    }

    /// What is shown of a sound vehicle belongs to the file as it stands.
    pub fn are_readings_fresh(&self) -> bool {
        self.readings.made_of == Some(self.draft.revision()) && self.readings.task.is_none()
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
                    Ok(shown) => {
                        self.draft.tell_silent(&mut self.proof, shown.silent);
                        (self.preview.shown, self.preview.trouble) = (Some(shown), None);
                    }
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
        if self.wants_preview() && self.still_s >= PREVIEW_AFTER_S && self.proving.is_none() {
            self.start_preview();
        }
        if let Some(answer) = self.readings.task.as_ref().and_then(Task::poll) {
            let asked = self.readings.task.take().map_or(0, |t| t.about());
            if Some(asked) == self.readings.made_of {
                match answer {
                    Ok(shown) => (self.readings.shown, self.readings.trouble) = (Some(shown), None),
                    Err(why) => self.readings.trouble = Some(why),
                }
            }
        }
        if self.wants_readings() && self.still_s >= PREVIEW_AFTER_S && self.proving.is_none() {
            self.start_readings();
        }
        self.take_proof();
    }

    fn start_readings(&mut self) {
        let about = self.draft.revision();
        self.readings.made_of = Some(about);
        self.readings.task = None;
        match &self.proof.plant {
            None => {
                self.readings.trouble = Some(said("edit-vehicle-error-shown-again").into());
            }
            Some(plant) => {
                let (plant, card) = (plant.clone(), self.proof.card.clone());
                self.readings.task = Some(Task::start(about, move |watch| sound_readings(&plant, &card, watch)));
            }
        }
    }

    fn start_preview(&mut self) {
        let about = self.draft.revision();
        self.preview.made_of = Some(about);
        self.preview.task = None;
        match &self.proof.job {
            None => self.preview.trouble = Some(said("edit-error-shown-again").into()),
            Some(job) => {
                let (job, joint, always) = (job.clone(), self.preview.joint.clone(), self.preview.always);
                self.preview.task =
                    Some(Task::start(about, move |watch| preview_of(&job, joint.as_deref(), always, watch)));
            }
        }
    }

    /// Keeps the draft where a crash doesn't reach it; a draft that stands in its file needs no keeping.
    pub fn keep(&mut self, author: &mut dyn Author) {
        let done = if self.draft.is_saved() {
            author.forget(self.draft.kind(), self.draft.name())
        } else {
            author.keep(&self.draft)
        };
        self.kept = self.draft.revision();
        if let Err(why) = done {
            self.note = (tell!("edit-draft-not-kept", why = why), true);
        }
    }

    /// The check of the change before last may still be under way: then the newest one is checked after it.
    fn take_proof(&mut self) {
        let Some(answer) = self.proving.as_ref().and_then(Task::poll) else { return };
        let asked = self.proving.take().map_or(0, |t| t.about());
        if let Ok(proof) = answer
            && asked == self.draft.revision()
        {
            self.proof = proof;
        }
    }

    fn changed(&mut self, author: &dyn Author) {
        self.still_s = 0.0;
        self.prove(author);
        if self.draft.text(self.page).is_none() {
            self.page = Page::File;
        }
        if self.preview.task.is_some() && self.preview.made_of != Some(self.draft.revision()) {
            self.preview.task = None;
        }
    }

    /// The check of the last change is under way.
    pub fn is_proving(&self) -> bool {
        self.proving.is_some()
    }

    /// Checks the file as it stands: at once what the forms and the drawing need, the rest on a thread of its own, so that
    /// a key press never waits for it.
    fn prove(&mut self, author: &dyn Author) {
        self.proof.reread(&self.draft);
        let (draft, library) = (self.draft.clone(), author.library().clone());
        self.proving = Some(Task::start(self.draft.revision(), move |_| Ok(draft.proof(&library))));
    }

    /// Waits for the check: for what must know how the file stands.
    fn proven(&mut self, author: &dyn Author) {
        if self.proving.take().is_some() {
            self.proof = self.draft.proof(author.library());
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
            Order::Pictures => {
                self.note = match author.look_for_pictures() {
                    Ok(n) => (tell!("shown-found", n = n), false),
                    Err(why) => (why, true),
                };
                self.changed(author);
            }
            Order::SaveUnder(name) => self.save_under(&name, author),
            Order::Fair => self.start_fair(author),
            Order::Sit => {
                self.proven(author);
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
                let _ = author.forget(self.draft.kind(), self.draft.name());
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
                let text = self.draft.text(Page::File).unwrap_or_default();
                let first = section.fields().iter().find(|f| patch::value(text, f).is_some());
                self.reveal = first.and_then(|f| patch::span(text, f)).map(|s| s.start..s.start);
                if self.reveal.is_some() {
                    self.page = Page::File;
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
            Order::Plumb(change) => self.plumb(&change),
            Order::Pick(name) => self.picked = name,
            Order::FillCard => self.fill_card(),
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
        if let Some(section) = Section::of(self.draft.kind(), &place) {
            self.section = section;
        }
        // of a vehicle, what the place lies in is opened
        if let Some(vehicle) = &self.proof.vehicle {
            let index = |list: &str| -> Option<usize> {
                place.strip_prefix(list)?.strip_prefix('[')?.split(']').next()?.parse().ok()
            };
            let part = index("parts").and_then(|i| vehicle.parts.get(i)).map(|p| p.name.clone());
            let node = index("nodes").and_then(|i| vehicle.nodes.get(i)).map(|n| n.name.clone());
            self.picked = part.or(node).or(self.picked.take());
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
            Page::File => self.focus(found.place),
            Page::Scheme => self.section = Section::Marking,
        }
        // where form and text stand beside one another, the text shows the place, too
        if self.pane != Pane::Form || self.proof.form.is_err() {
            self.pane = Pane::Text;
        }
    }

    /// A part or joint of the drawing: what looking at it shows is written, or the tee of the preview goes there. Of a
    /// vehicle that is written, its form is turned to.
    fn touched(&mut self, spot: &Spot) {
        if self.draft.kind() == Kind::Plant {
            match spot {
                Spot::Part(name) => (self.section, self.picked) = (Section::Parts, Some(name.clone())),
                Spot::Joint(name) => (self.section, self.picked) = (Section::Nodes, Some(name.clone())),
                Spot::Vehicle => {}
            }
            return;
        }
        match spot {
            Spot::Part(part) => {
                let Ok(form) = &self.proof.form else { return };
                let place = match form.looks.iter().position(|(p, _)| p == part) {
                    Some(i) => format!("looks[{i}].sees"),
                    None => {
                        let entry = format!("(part: {}, sees: \"\")", quoted(part));
                        let count = form.looks.len();
                        let done = self.draft.edit(Page::File, &[Edit::insert("looks", count, entry)]);
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

    /// A change of the graph; what is new is looked at next.
    fn plumb(&mut self, change: &Plumb) {
        let Some(text) = self.draft.text(Page::File).map(str::to_owned) else { return };
        let done = plant_form(&text).and_then(|form| {
            let edits = match change {
                Plumb::Insert(kind, node) => plumbing::insert(&text, &form, kind, node)?,
                Plumb::Between(kind, from, to) => plumbing::between(&form, kind, from, to)?,
                Plumb::Remove(i, close) => plumbing::remove(&form, *i, *close),
                Plumb::Turn(i) => plumbing::turn(&form, *i),
                Plumb::AddNode => plumbing::add_node(&form),
                Plumb::RenameNode(i, name) => plumbing::rename_node(&form, *i, name)?,
                Plumb::RemoveNode(i) => plumbing::remove_node(&form, *i)?,
            };
            self.draft.settle();
            self.draft.edit(Page::File, &edits)?;
            let after = plant_form(self.draft.text(Page::File).unwrap_or_default())?;
            let is_new = |name: &&String| {
                !form.parts.iter().any(|p| p.name == **name) && !form.nodes.iter().any(|n| n.name == **name)
            };
            let parts = after.parts.iter().map(|p| &p.name);
            self.picked = match change {
                Plumb::AddNode => after.nodes.iter().map(|n| &n.name).find(is_new).cloned(),
                Plumb::RenameNode(_, name) => Some(name.clone()),
                Plumb::Remove(..) | Plumb::RemoveNode(_) => None,
                Plumb::Turn(_) => self.picked.take(),
                _ => parts.into_iter().find(is_new).cloned(),
            };
            self.draft.settle();
            Ok(())
        });
        self.told(done);
    }

    /// Puts what a sound vehicle reads into the card, for every joint and state that it lacks.
    fn fill_card(&mut self) {
        let (Some(shown), Some(form)) = (&self.readings.shown, &self.proof.vehicle) else { return };
        let edits = readings::card_edits(shown, form);
        self.draft.settle();
        let done = self.draft.edit(Page::File, &edits);
        self.told(done);
    }

    fn save(&mut self, author: &mut dyn Author) {
        let (kind, name) = (self.draft.kind(), self.draft.name());
        if !self.draft.is_saved() && author.is_taken(kind, name) && !author.is_own(kind, name) {
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
            let _ = author.forget(self.draft.kind(), &before);
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
            Err(why) => self.note = (tell!("edit-not-saved-why", why = why), true),
        }
    }

    fn start_fair(&mut self, author: &dyn Author) {
        if self.draft.kind() != Kind::Job {
            return;
        }
        self.pane = Pane::Fairness;
        self.proven(author);
        let Some(job) = self.proof.job.clone() else {
            self.fair.trouble = Some(said("edit-error-first").to_owned());
            return;
        };
        let checker = author.checker();
        self.fair.trouble = None;
        self.fair.task = Some(Task::start(self.draft.revision(), move |watch| checker(&job, watch)));
    }
}
