//! What the window needs of a sitting. The window knows nothing else of it.

use std::path::PathBuf;

use super::coach::{Coach, Guide};
use super::editor::files::Author;
use super::messages::Messages;
use super::outlines::Outline;
use super::settings::Settings;
use super::task::Task;
use crate::attempt::Attempt;
use crate::bay::action::{Action, Finding, Micros, Prediction};
use crate::bay::instruct::{Instructed, Instruction};
use crate::bay::observation::{Answer, Breach, Observation, SheetLine};
use crate::bay::opened::Opened;
use crate::language::said;
use crate::marking::model::Mark;
use crate::scenario::model::{Job, Level};
use crate::trace::{Beside, Trace};

/// How far the marking is.
#[derive(Clone, Debug, PartialEq)]
pub enum MarkProgress {
    /// Under way; share done, 0 … 1.
    Working(f32),
    /// The mark.
    Done(Box<Mark>),
    /// It couldn't be marked, and why.
    Failed(String),
}

/// How far the opening of the wall is.
#[derive(Clone, Debug, PartialEq)]
pub enum Opening {
    /// Under way; share done, 0 … 1.
    Working(f32),
    /// The opened supply.
    Done(Box<Opened>),
    /// It can't be opened, and why.
    Failed(String),
}

/// How far the showing of what is wrong is.
#[derive(Clone, Debug, PartialEq)]
pub enum Revealing {
    /// Under way; share done, 0 … 1.
    Working(f32),
    /// What is wrong in words, and the supply opened so far.
    Done(String, Box<Opened>),
    /// It can't be shown, and why.
    Failed(String),
}

/// A sitting as the window uses it.
pub trait Session {
    /// The job.
    fn job(&self) -> &Job;
    /// What can be perceived now.
    fn observe(&self) -> Observation;
    /// The instrument's memory.
    fn trace(&self) -> &Trace;
    /// What the instruments beside the tee showed.
    fn beside(&self) -> Option<&Beside> {
        None
    }
    /// The test sheet.
    fn sheet(&self) -> &[SheetLine];
    /// Predictions made.
    fn predictions(&self) -> &[(Micros, Prediction)];
    /// Points stated last, in the order of the job's candidates.
    fn points(&self) -> Option<&[u8]>;
    /// Rules broken.
    fn breaches(&self) -> &[Breach];
    /// The finding, once submitted.
    fn finding(&self) -> Option<&Finding>;
    /// The vehicle was handed back.
    fn is_over(&self) -> bool;
    /// Simulated time.
    fn now(&self) -> Micros;
    /// Does something, now.
    fn act(&mut self, action: &Action) -> Answer;
    /// Lets time pass.
    fn advance(&mut self, by: Micros);
    /// Where the attempt is recorded, in a sentence (empty: nowhere), or why it isn't.
    fn record(&self) -> Result<String, String> {
        Ok(String::new())
    }
    /// The record so far, where there is one.
    fn attempt(&self) -> Option<&Attempt> {
        None
    }
    /// What tells a learner who practises what each candidate could show, where there is such a thing.
    fn coach(&self) -> Option<Coach> {
        None
    }
    /// What tells the cheapest way after hand-back, where there is such a thing.
    fn guide(&self) -> Option<Guide> {
        None
    }
    /// Asks for the opened line after hand-back. Returns at once; ask again until it is done.
    fn open(&mut self) -> Opening {
        Opening::Failed(said("session-nothing-to-open").to_owned())
    }
    /// Nobody waits for the opened line any longer, or for what an instructor has shown; asked again, it begins anew.
    fn leave_opening(&mut self) {}
    /// Carries out what an instructor does, now.
    fn instruct(&mut self, _what: &Instruction) -> Answer {
        Answer::Refused { because: said("session-nothing-recorded-here").to_owned() }
    }
    /// What an instructor did so far.
    fn instructed(&self) -> Instructed {
        Instructed::default()
    }
    /// Asks for what an instructor has shown. Returns at once; ask again until it is done.
    fn reveal(&mut self) -> Revealing {
        Revealing::Failed(said("session-nothing-to-show").to_owned())
    }
    /// What was said so far of a sitting that was done again, once.
    fn take_told(&mut self) -> Messages {
        Messages::default()
    }
    /// What was marked is to be said anew, as in another language.
    fn mark_again(&mut self) {}
    /// Asks for the mark after hand-back. Returns at once; ask again until it is done.
    fn mark(&mut self) -> MarkProgress;
}

/// A job on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Title.
    pub title: String,
    /// Whose vehicle, and which.
    pub vehicle: String,
    /// The complaint.
    pub complaint: String,
    /// About how long, min.
    pub minutes: f64,
    /// Practice or assessment.
    pub mode: String,
    /// What the vehicle looks like.
    pub outline: Outline,
    /// How much it asks.
    pub level: Level,
    /// Where it stands in a course, if in one.
    pub stage: Option<Stage>,
}

/// The place of a job in a course.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Which course, from the easiest.
    pub course: usize,
    /// Title of the course.
    pub title: String,
    /// For whom it is, and what they can do afterwards.
    pub for_whom: String,
    /// Which job of it, from 0.
    pub place: usize,
    /// What this job is there to learn.
    pub aim: String,
    /// Jobs that are best sat before it, by their place on the shelf.
    pub after: Vec<usize>,
}

/// A sitting that was begun before.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    /// Title of its job.
    pub title: String,
    /// How far it went, or how it came out.
    pub about: String,
    /// The vehicle was handed back.
    pub over: bool,
    /// Which job of the shelf it is.
    pub card: usize,
    /// Points of 100, once it was marked.
    pub total: Option<f64>,
}

/// A sitting that is done again on a thread of its own.
pub type Coming = Box<dyn Session + Send>;

/// Where sittings come from: the jobs that can be opened, what was begun, what was set.
pub trait Shelf {
    /// The jobs.
    fn cards(&self) -> Vec<Card>;
    /// Opens one.
    ///
    /// # Errors
    /// A sentence when it can't be opened.
    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String>;
    /// Where jobs are written; none where nothing can be.
    fn author(&mut self) -> Option<&mut dyn Author> {
        None
    }
    /// Jobs may have been written since.
    fn look_again(&mut self) {}
    /// Opens the job with this name.
    ///
    /// # Errors
    /// A sentence when it can't be opened.
    fn open_named(&mut self, _name: &str) -> Result<Box<dyn Session>, String> {
        Err(said("session-no-job").to_owned())
    }
    /// Sittings begun before, the newest first. Reads the records anew.
    fn begun(&mut self) -> Vec<Begun> {
        vec![]
    }
    /// Goes on with one of them, once it was done again up to where it was left.
    ///
    /// # Errors
    /// A sentence when it can't be gone on with.
    fn go_on(&mut self, _index: usize) -> Result<Task<Coming>, String> {
        Err(said("session-nothing-begun").to_owned())
    }
    /// A sitting of its own that goes like this one up to a time, once it was done again.
    ///
    /// # Errors
    /// A sentence when it can't be done again.
    fn branch(&mut self, _from: &dyn Session, _at: Micros) -> Result<Task<Coming>, String> {
        Err(said("session-nothing-to-go-back").to_owned())
    }
    /// Writes the debrief as pages; says where, once they are written.
    ///
    /// # Errors
    /// A sentence when they can't be written.
    fn export_debrief(&self, _from: &dyn Session, _mark: &Mark) -> Result<Task<String>, String> {
        Err(said("session-no-folder").to_owned())
    }
    /// Writes what the instrument holds as a table in a file of this stem; says where.
    ///
    /// # Errors
    /// A sentence when it can't be written.
    fn export_table(&self, _stem: String, _trace: &Trace) -> Result<Task<String>, String> {
        Err(said("session-no-folder").to_owned())
    }
    /// A file name for a picture that somebody else writes.
    ///
    /// # Errors
    /// A sentence when there is no place for it.
    fn picture(&self, _stem: &str) -> Result<PathBuf, String> {
        Err(said("session-no-folder").to_owned())
    }
    /// What was set.
    fn settings(&self) -> Settings {
        Settings::default()
    }
    /// Keeps what was set.
    fn keep_settings(&mut self, _settings: &Settings) {}
}
