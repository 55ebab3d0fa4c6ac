//! The real sitting behind the window's [`Session`], its record on disk, and the shelf of jobs.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use super::coach::{Coach, Guide};
use super::editor::files::{Author, Checker, OwnJobs};
use super::keeping::{self, Kept};
use super::messages::Messages;
use super::record::Record;
use super::retold::Retold;
use super::session::{Begun, Card, Coming, MarkProgress, Opening, Revealing, Session, Shelf, Stage};
use super::settings::Settings;
use super::task::Task;
use super::words::clock;
use crate::attempt::{self, Attempt, Entry, Event, Going, Sitting};
use crate::bay::Bay;
use crate::bay::action::{Action, Finding, Micros, Prediction};
use crate::bay::instruct::{Instructed, Instruction};
use crate::bay::observation::{Answer, Breach, Observation, SheetLine};
use crate::bay::opened::Opened;
use crate::diagnosis::ensemble::Watch;
use crate::language::{named, said};
use crate::marking::model::Mark;
use crate::report::{debrief, html};
use crate::scenario::model::{Course, Job, Mode};
use crate::scenario::{self, Library};
use crate::tell;
use crate::trace::{Beside, Trace};

/// How an attempt is marked: slow, so it runs on a thread of its own.
pub type Marker = Arc<dyn Fn(&Job, &Attempt, &Watched) -> Result<Mark, String> + Send + Sync>;

/// The marking of this engine.
pub fn marker() -> Marker {
    Arc::new(|job, attempt, watched| crate::marking::mark::mark(job, attempt, watched))
}

/// What the window and the marking tell each other.
#[derive(Default)]
pub struct Watched {
    /// Done, in ten-thousandths.
    done: AtomicU32,
    gone: AtomicBool,
}

impl Watched {
    /// Share that is done, 0 … 1.
    pub fn share(&self) -> f32 {
        self.done.load(Ordering::Relaxed) as f32 / 1e4
    }

    /// Nobody wants the answer any more.
    pub fn leave(&self) {
        self.gone.store(true, Ordering::Relaxed);
    }
}

impl Watch for Watched {
    fn progress(&self, done: f64) {
        self.done.store((done.clamp(0.0, 1.0) * 1e4) as u32, Ordering::Relaxed);
    }
    fn cancelled(&self) -> bool {
        self.gone.load(Ordering::Relaxed)
    }
}

/// What a replay is told by somebody who waits for a task.
fn going(watched: &Watched) -> impl FnMut(f64) -> bool {
    |share| {
        watched.progress(share);
        !watched.cancelled()
    }
}

/// Where a sitting that goes on is recorded.
#[derive(Clone, Copy, Debug)]
pub enum Place<'a> {
    /// Not at all.
    Nowhere,
    /// In the file that it came from, which was so long when it was read, bytes.
    Own(&'a Path, u64),
    /// In a new file of this folder.
    New(&'a PathBuf),
}

/// A sitting, its record and its marking.
pub struct RealSession {
    sitting: Sitting,
    record: Option<Record>,
    /// What went wrong with the record before the first action.
    trouble: Option<String>,
    marker: Marker,
    coach: Option<Coach>,
    guide: Option<Guide>,
    marking: Option<Receiver<Result<Mark, String>>>,
    opening: Option<Task<Opened>>,
    revealing: Option<Task<(String, Opened)>>,
    watched: Arc<Watched>,
    /// What was said before it was left.
    told: Messages,
}

impl Drop for RealSession {
    fn drop(&mut self) {
        self.watched.gone.store(true, Ordering::Relaxed);
    }
}

impl RealSession {
    /// Begins a sitting. With a folder, the attempt is recorded there as it goes.
    ///
    /// # Errors
    /// A sentence when the job's vehicle can't be built.
    pub fn begin(job: Job, seed: u64, folder: Option<&PathBuf>, marker: Marker) -> Result<Self, String> {
        let name = job.name.clone();
        let sitting = Sitting::begin(job, seed, None)?;
        let (record, trouble) = match folder.map(|f| Record::create(f, &name, seed)) {
            None => (None, None),
            Some(Ok(record)) => (Some(record), None),
            Some(Err(why)) => (None, Some(tell!("sitting-not-recorded", why = why))),
        };
        let mut session = Self::over(sitting, record, trouble, marker);
        session.write();
        Ok(session)
    }

    /// Goes on where a record ends, in its own file or (a branch) in a new one of a folder.
    ///
    /// # Errors
    /// A sentence when the record doesn't belong to the job, or its file can't be written.
    pub fn go_on(job: Job, attempt: &Attempt, at: Place<'_>, marker: Marker) -> Result<Self, String> {
        Self::go_on_watched(job, attempt, at, marker, &mut |_| true)
    }

    /// The same for somebody who waits; nothing is written before the sitting was done again.
    ///
    /// # Errors
    /// As [`RealSession::go_on`], and when `going` doesn't want to go on.
    pub fn go_on_watched(
        job: Job,
        attempt: &Attempt,
        at: Place<'_>,
        marker: Marker,
        going: Going<'_>,
    ) -> Result<Self, String> {
        let (name, seed) = (job.name.clone(), attempt.header().seed);
        let mut retold = Retold::of(&job);
        let each = &mut |answer: Option<&Answer>, bay: &Bay| {
            retold.after(bay.now(), answer, &bay.observe(), bay.breaches());
        };
        let sitting = Sitting::resume_told(job, attempt, each, going).map_err(|e| e.to_string())?;
        let record = match at {
            Place::Nowhere => None,
            Place::Own(path, long) => Some(Record::again(path, attempt, long)?),
            Place::New(folder) => {
                let mut record = Record::create(folder, &name, seed)?;
                record.write(&attempt.text().lines().map(str::to_owned).collect::<Vec<_>>());
                Some(record)
            }
        };
        let mut session = Self::over(sitting, record, None, marker);
        session.told = retold.messages;
        Ok(session)
    }

    /// The same with somebody to ask while practising.
    #[must_use]
    pub fn coached_by(mut self, coach: Option<Coach>, guide: Option<Guide>) -> Self {
        (self.coach, self.guide) = (coach, guide);
        self
    }

    fn over(sitting: Sitting, record: Option<Record>, trouble: Option<String>, marker: Marker) -> Self {
        let (marking, opening, revealing, watched) = (None, None, None, Arc::default());
        let (coach, guide) = (None, None);
        let told = Messages::default();
        Self { sitting, record, trouble, marker, coach, guide, marking, opening, revealing, watched, told }
    }

    fn write(&mut self) {
        let lines = self.sitting.take_lines();
        if let Some(record) = &mut self.record {
            record.write(&lines);
        }
    }
}

impl Session for RealSession {
    fn job(&self) -> &Job {
        self.sitting.job()
    }
    fn observe(&self) -> Observation {
        self.sitting.observe()
    }
    fn trace(&self) -> &Trace {
        self.sitting.trace()
    }
    fn beside(&self) -> Option<&Beside> {
        Some(self.sitting.beside())
    }
    fn sheet(&self) -> &[SheetLine] {
        self.sitting.sheet()
    }
    fn predictions(&self) -> &[(Micros, Prediction)] {
        self.sitting.predictions()
    }
    fn points(&self) -> Option<&[u8]> {
        self.sitting.points()
    }
    fn breaches(&self) -> &[Breach] {
        self.sitting.breaches()
    }
    fn finding(&self) -> Option<&Finding> {
        self.sitting.finding()
    }
    fn is_over(&self) -> bool {
        self.sitting.is_over()
    }
    fn now(&self) -> Micros {
        self.sitting.now()
    }
    fn act(&mut self, action: &Action) -> Answer {
        let answer = self.sitting.act(action);
        self.write();
        answer
    }
    fn advance(&mut self, by: Micros) {
        self.sitting.advance(by);
        self.write();
    }
    fn record(&self) -> Result<String, String> {
        match (&self.record, &self.trouble) {
            (Some(record), _) => record.words(),
            (None, Some(trouble)) => Err(trouble.clone()),
            (None, None) => Ok(String::new()),
        }
    }
    fn attempt(&self) -> Option<&Attempt> {
        Some(self.sitting.attempt())
    }
    fn coach(&self) -> Option<Coach> {
        self.coach.clone()
    }
    fn guide(&self) -> Option<Guide> {
        self.guide.clone().filter(|_| self.is_over())
    }
    fn open(&mut self) -> Opening {
        if !self.is_over() {
            return Opening::Failed(said("sitting-not-over").to_owned());
        }
        let sitting = &self.sitting;
        let task = self.opening.get_or_insert_with(|| {
            let (job, attempt) = (sitting.job().clone(), sitting.attempt().clone());
            Task::start(0, move |watched| {
                let opened = attempt::open_watched(&job, &attempt, &mut going(watched));
                opened.map_err(|e| e.to_string())
            })
        });
        match task.poll() {
            Some(Ok(opened)) => Opening::Done(Box::new(opened)),
            Some(Err(why)) => Opening::Failed(why),
            None => Opening::Working(task.share()),
        }
    }
    fn leave_opening(&mut self) {
        (self.opening, self.revealing) = (None, None);
    }
    fn instruct(&mut self, what: &Instruction) -> Answer {
        let answer = self.sitting.instruct(what);
        self.write();
        answer
    }
    fn instructed(&self) -> Instructed {
        self.sitting.instructed()
    }
    fn reveal(&mut self) -> Revealing {
        if !self.sitting.instructed().revealed {
            return Revealing::Failed(said("sitting-nobody-has-shown").to_owned());
        }
        let sitting = &self.sitting;
        let task = self.revealing.get_or_insert_with(|| {
            let (job, attempt) = (sitting.job().clone(), sitting.attempt().clone());
            Task::start(0, move |watched| {
                let revealed = attempt::reveal_watched(&job, &attempt, &mut going(watched));
                revealed.map_err(|e| e.to_string())
            })
        });
        let answer = match task.poll() {
            None => return Revealing::Working(task.share()),
            Some(Ok((words, opened))) => Revealing::Done(words, Box::new(opened)),
            Some(Err(why)) => Revealing::Failed(why),
        };
        // asked again, it is replayed up to then
        self.revealing = None;
        answer
    }
    fn take_told(&mut self) -> Messages {
        std::mem::take(&mut self.told)
    }
    fn mark_again(&mut self) {
        self.marking = None;
    }
    fn mark(&mut self) -> MarkProgress {
        if !self.is_over() {
            return MarkProgress::Failed(said("sitting-not-over").to_owned());
        }
        let (marker, sitting, watched) = (&self.marker, &self.sitting, &self.watched);
        let receiver = self.marking.get_or_insert_with(|| {
            let (send, receive) = channel();
            let (marker, job, attempt) = (marker.clone(), sitting.job().clone(), sitting.attempt().clone());
            let watched = watched.clone();
            std::thread::spawn(move || {
                // nobody waits any longer when the window is gone
                let _ = send.send(marker(&job, &attempt, &watched));
            });
            receive
        });
        match receiver.try_recv() {
            Ok(Ok(mark)) => {
                if let Some(record) = &self.record {
                    keeping::keep_mark(record.path(), &mark);
                }
                MarkProgress::Done(Box::new(mark))
            }
            Ok(Err(why)) => MarkProgress::Failed(why),
            Err(TryRecvError::Empty) => {
                MarkProgress::Working(self.watched.done.load(Ordering::Relaxed) as f32 / 1e4)
            }
            Err(TryRecvError::Disconnected) => MarkProgress::Failed(said("sitting-marking-stopped").to_owned()),
        }
    }
}

/// Every job of a library that can be used.
fn usable(library: &Library) -> Vec<Job> {
    library
        .jobs()
        .into_iter()
        .filter_map(|name| scenario::load_job(library, &name).ok())
        .map(|(job, _)| job)
        .collect()
}

/// The jobs of a library, and the folder of the learner's records.
pub struct Jobs {
    library: Library,
    jobs: Vec<Job>,
    /// Its courses, the easiest first.
    courses: Vec<Course>,
    seed: u64,
    folder: Option<PathBuf>,
    marker: Marker,
    coach: Option<Coach>,
    guide: Option<Guide>,
    kept: Vec<Kept>,
    author: Option<OwnJobs>,
}

impl Jobs {
    /// Every job of a library that can be used, in the order of their names. Each time a job is taken
    /// it comes with the next vehicle, from `seed` on.
    pub fn of(library: &Library, seed: u64, folder: Option<PathBuf>, marker: Marker) -> Self {
        let jobs = usable(library);
        let courses = courses(library, &jobs);
        Self {
            library: library.clone(),
            jobs,
            courses,
            seed,
            folder,
            marker,
            coach: None,
            guide: None,
            kept: vec![],
            author: None,
        }
    }

    /// The same with somebody to ask while practising.
    #[must_use]
    pub fn coached_by(mut self, coach: Coach) -> Self {
        self.coach = Some(coach);
        self
    }

    /// The same with somebody who knows the cheapest way, after hand-back.
    #[must_use]
    pub fn guided_by(mut self, guide: Guide) -> Self {
        self.guide = Some(guide);
        self
    }

    /// Where a job stands in the first course that has it.
    fn stage(&self, job: &str) -> Option<Stage> {
        self.courses.iter().enumerate().find_map(|(course, c)| {
            let place = c.stages.iter().position(|s| s.job == job)?;
            let stage = &c.stages[place];
            let index = |name: &String| self.jobs.iter().position(|j| j.name == *name);
            Some(Stage {
                course,
                title: c.title.clone(),
                for_whom: c.aim.clone(),
                place,
                aim: stage.aim.clone(),
                after: stage.after.iter().filter_map(index).collect(),
            })
        })
    }

    /// The same with a place for jobs of one's own, which are laid over the library: a folder like `scenarios`; drafts
    /// are kept beside the records. Without a folder for records nothing is written.
    #[must_use]
    pub fn writing_to(mut self, own: Option<PathBuf>, checker: Checker) -> Self {
        let Some(folder) = &self.folder else { return self };
        let own = own.unwrap_or_else(|| folder.join("own"));
        self.author = Some(OwnJobs::of(&self.library, own, folder.join("drafts"), checker));
        self.look_again();
        self
    }

    /// Jobs may have been written since.
    fn look_again(&mut self) {
        if let Some(author) = &self.author {
            self.library = author.library().clone();
            self.jobs = usable(&self.library);
            self.courses = courses(&self.library, &self.jobs);
        }
    }

    fn job(&self, name: &str) -> Option<&Job> {
        self.jobs.iter().find(|j| j.name == name)
    }

    fn folder(&self) -> Result<&PathBuf, String> {
        self.folder.as_ref().ok_or_else(|| said("session-no-folder").to_owned())
    }
}

/// The courses of a library, the easiest first: by the mean level of their jobs.
fn courses(library: &Library, jobs: &[Job]) -> Vec<Course> {
    let level = |course: &Course| {
        let of = |name: &str| jobs.iter().find(|j| j.name == name).map(|j| j.level as usize);
        let levels: Vec<usize> = course.stages.iter().filter_map(|s| of(&s.job)).collect();
        1000 * levels.iter().sum::<usize>() / levels.len().max(1)
    };
    let names = library.names(scenario::Kind::Course);
    let mut list: Vec<Course> =
        names.iter().filter_map(|n| scenario::load_course(library, n).ok()).map(|(course, _)| course).collect();
    list.sort_by_key(level);
    list
}

impl Shelf for Jobs {
    fn cards(&self) -> Vec<Card> {
        self.jobs
            .iter()
            .map(|job| Card {
                title: named(&job.title).to_owned(),
                vehicle: format!("{} · {}", named(&job.customer), named(&job.plant.title)),
                complaint: named(&job.complaint).to_owned(),
                minutes: job.minutes,
                mode: match job.mode {
                    Mode::Practice => said("mode-practice-small").to_owned(),
                    Mode::Assessment => said("mode-assessment-small").to_owned(),
                },
                outline: super::outlines::of(&job.plant.title),
                level: job.level,
                stage: self.stage(&job.name),
            })
            .collect()
    }

    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String> {
        let job = self.jobs.get(index).cloned().ok_or(said("session-no-job"))?;
        let vehicle = job.vehicle.unwrap_or(self.seed);
        let session = RealSession::begin(job, vehicle, self.folder.as_ref(), self.marker.clone())?
            .coached_by(self.coach.clone(), self.guide.clone());
        self.seed = self.seed.wrapping_add(1);
        Ok(Box::new(session))
    }

    fn author(&mut self) -> Option<&mut dyn Author> {
        self.author.as_mut().map(|a| a as &mut dyn Author)
    }

    fn look_again(&mut self) {
        Self::look_again(self);
    }

    fn open_named(&mut self, name: &str) -> Result<Box<dyn Session>, String> {
        let index = self.jobs.iter().position(|j| j.name == name).ok_or(said("sitting-job-gone"))?;
        self.open(index)
    }

    fn begun(&mut self) -> Vec<Begun> {
        let kept = self.folder.as_ref().map(|f| keeping::all(f)).unwrap_or_default();
        // of jobs that are no longer on the shelf nothing can be told
        self.kept = kept.into_iter().filter(|k| self.job(&k.job).is_some()).collect();
        let about = |kept: &Kept| match (&kept.mark, kept.over) {
            (Some((total, outcome)), _) => {
                tell!("sitting-marked", total = format!("{total:.1}"), outcome = outcome)
            }
            (None, true) => said("sitting-unmarked").to_owned(),
            (None, false) => tell!("sitting-left-at", time = clock(kept.at)),
        };
        let title = |kept: &Kept| self.job(&kept.job).map_or_else(|| kept.job.clone(), |j| j.title.clone());
        self.kept
            .iter()
            .map(|k| Begun {
                title: title(k),
                about: tell!("sitting-about", seed = k.seed, about = about(k)),
                over: k.over,
                card: self.jobs.iter().position(|j| j.name == k.job).unwrap_or(usize::MAX),
                total: k.mark.as_ref().map(|m| m.0),
            })
            .collect()
    }

    fn go_on(&mut self, index: usize) -> Result<Task<Coming>, String> {
        let kept = self.kept.get(index).ok_or(said("sitting-none"))?;
        let long = std::fs::metadata(&kept.path).map_or(0, |on_disk| on_disk.len());
        let attempt = keeping::read(&kept.path).ok_or(said("sitting-unreadable"))?;
        let job = self.job(&kept.job).cloned().ok_or(said("sitting-its-job-gone"))?;
        let path = kept.path.clone();
        let (marker, coach, guide) = (self.marker.clone(), self.coach.clone(), self.guide.clone());
        Ok(Task::start(0, move |watched| {
            let mut going = going(watched);
            let session = RealSession::go_on_watched(job, &attempt, Place::Own(&path, long), marker, &mut going)?;
            Ok(Box::new(session.coached_by(coach, guide)) as Coming)
        }))
    }

    fn branch(&mut self, from: &dyn Session, at: Micros) -> Result<Task<Coming>, String> {
        let attempt = from.attempt().ok_or(said("session-nothing-to-go-back"))?;
        let count = attempt.entries().iter().take_while(|e| e.at <= at && !is_hand_back(e)).count();
        let (job, attempt, folder) = (from.job().clone(), attempt.first(count), self.folder.clone());
        let (marker, coach, guide) = (self.marker.clone(), self.coach.clone(), self.guide.clone());
        Ok(Task::start(0, move |watched| {
            let place = folder.as_ref().map_or(Place::Nowhere, Place::New);
            let session = RealSession::go_on_watched(job, &attempt, place, marker, &mut going(watched))?;
            Ok(Box::new(session.coached_by(coach, guide)) as Coming)
        }))
    }

    fn export_debrief(&self, from: &dyn Session, mark: &Mark) -> Result<Task<String>, String> {
        let attempt = from.attempt().ok_or(said("sitting-nothing-recorded"))?.clone();
        let head = debrief::Head::of(&self.library, from.job());
        let (job, mark, folder) = (from.job().clone(), mark.clone(), self.folder()?.clone());
        Ok(Task::start(0, move |watched| write_pages(&job, &attempt, &mark, &head, &folder, watched)))
    }

    fn export_table(&self, stem: String, trace: &Trace) -> Result<Task<String>, String> {
        let (folder, trace) = (self.folder()?.clone(), trace.clone());
        Ok(Task::start(0, move |_| {
            let path = keeping::export(&folder, &stem, "csv", trace.to_csv().as_bytes())?;
            Ok(tell!("written-to", path = path.display()))
        }))
    }

    fn picture(&self, stem: &str) -> Result<PathBuf, String> {
        keeping::free(self.folder()?, stem, "png")
    }

    fn settings(&self) -> Settings {
        self.folder.as_ref().map_or_else(Settings::default, |f| keeping::settings(f))
    }

    fn keep_settings(&mut self, settings: &Settings) {
        if let Some(folder) = &self.folder {
            keeping::keep_settings(folder, settings);
        }
    }
}

/// Of the pages, the share that the replay takes.
const REPLAYED: f64 = 0.7;

/// Writes the debrief into a folder, as a page and where it can be as a PDF; says where. Left, it leaves no file.
fn write_pages(
    job: &Job,
    attempt: &Attempt,
    mark: &Mark,
    head: &debrief::Head,
    folder: &Path,
    watched: &Watched,
) -> Result<String, String> {
    let mut going = going(watched);
    let replayed = &mut |share| going(REPLAYED * share);
    let document = debrief::debrief_watched(job, attempt, mark, head, replayed).map_err(|e| e.to_string())?;
    let stem = format!("debrief-{}-{}", job.name, attempt.header().seed);
    let mut files = vec![("html", html::page(&document).map_err(|e| e.to_string())?.into_bytes())];
    watched.progress(0.8);
    #[cfg(feature = "pdf")]
    files.push(("pdf", crate::report::pdf::write(&document).map_err(|e| e.to_string())?));
    if watched.cancelled() {
        return Err(said("attempt-left").to_owned());
    }
    let written: Result<Vec<String>, String> = files
        .iter()
        .map(|(ending, bytes)| Ok(keeping::export(folder, &stem, ending, bytes)?.display().to_string()))
        .collect();
    Ok(tell!("written-to", path = written?.join(said("list-and"))))
}

fn is_hand_back(entry: &Entry) -> bool {
    matches!(entry.event, Event::Act(Action::HandBack))
}
