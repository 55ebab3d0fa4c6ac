//! The attempts of `demo-data`: each script sits again to the recorded line, each attempt marks again
//! to the stored mark, and each comes out as its name says.
//!
//! `UPDATE_DEMO=1 cargo test … demo` records and marks anew what the scripts say now.

use std::path::PathBuf;
use std::sync::{LazyLock, Mutex};

use faultbay::attempt::{Attempt, Sitting, replay};
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::justify::VEHICLES;
use faultbay::diagnosis::store::{Memory, Store, closed};
use faultbay::diagnosis::survey::survey;
use faultbay::language::{Language, within};
use faultbay::marking::kept::mark_kept;
use faultbay::marking::mark::mark_with;
use faultbay::marking::model::{Component, Mark, Outcome};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};

use crate::shell::same;

/// Two demos of one job share its complete run.
pub static STORE: LazyLock<Memory> = LazyLock::new(Memory::default);

/// Follows a script, which `file` names, on the vehicle of a seed; the record of it.
pub fn sit(job: &Job, (seed, who): (u64, Option<&str>), script: &str, file: &str) -> String {
    let terms = Terms::of(job);
    let mut sitting = Sitting::begin(job.clone(), seed, who).unwrap();
    for (n, line) in (1..).zip(script.lines()) {
        match words::read(line, &terms, sitting.now()) {
            Ok(None) => {}
            Ok(Some(Said::Do(action))) => {
                let answer = sitting.act(&action);
                assert!(matches!(answer, Answer::Done { .. }), "{file}, line {n}: {answer:?}");
            }
            other => panic!("{file}, line {n}: {other:?}"),
        }
    }
    assert!(sitting.is_over(), "{file} doesn't hand the vehicle back");
    sitting.take_lines().iter().flat_map(|line| [line.as_str(), "\n"]).collect()
}

struct Demo {
    name: &'static str,
    job: &'static str,
    seed: u64,
    /// Who sat, if a name was typed.
    who: Option<&'static str>,
}

impl Demo {
    fn path(&self, ending: &str) -> PathBuf {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo-data");
        folder.join(format!("{}.{ending}", self.name))
    }

    /// The stored file; when demos are renewed, what was found now is stored first.
    fn stored(&self, ending: &str, now: &str) -> String {
        let path = self.path(ending);
        if std::env::var_os("UPDATE_DEMO").is_some_and(|v| v == "1") {
            std::fs::write(&path, now).unwrap();
            eprintln!("UPDATE_DEMO: {} was written anew, not compared.", path.display());
        }
        std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
    }

    /// Follows the script; the record of it.
    fn sit(&self, job: &Job) -> String {
        let path = self.path("txt");
        let script = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        sit(job, (self.seed, self.who), &script, &path.display().to_string())
    }

    /// Sits, replays and marks; compares with what is stored.
    fn check(&self) -> Mark {
        let (job, _) = load_job(&Library::builtin(), self.job).unwrap_or_else(|report| {
            panic!("{}", faultbay::diag::render::text(&report));
        });
        let record = self.sit(&job);
        same(&self.stored("jsonl", &record), &record);
        let (attempt, warnings) = Attempt::read(&record).unwrap();
        assert_eq!(warnings, []);
        let mark = mark_with(&job, &attempt, &*STORE, &Unwatched).unwrap();
        assert_eq!(replay(&job, &attempt).unwrap().trace().hash(), mark.trace_hash);
        assert_eq!(attempt.hash(), mark.attempt_hash);
        // what all tests together can tell about this job, kept since the mark
        let all = survey(&job, VEHICLES, &*STORE, &Unwatched).unwrap().outcome_kept(&job, &*STORE).unwrap();
        assert!(all.attainable.iter().all(|p| (0.0..=1.0).contains(p)) && all.par_minutes > 0.0);
        eprintln!("{}: {all:?}", self.name);
        let json = serde_json::to_string_pretty(&mark).unwrap() + "\n";
        same(&self.stored("mark.json", &json), &json);
        mark
    }
}

fn share(mark: &Mark, component: Component) -> f64 {
    mark.components.iter().find(|c| c.component == component).unwrap().share
}

/// Templates of the ledger's sentences.
fn told(mark: &Mark, template: &str) -> usize {
    mark.ledger.iter().filter(|line| line.template == template).count()
}

/// Whether the ledger takes points for a breach whose sentence holds these words.
#[track_caller]
fn breached(mark: &Mark, words: &str) {
    let found = mark
        .ledger
        .iter()
        .any(|l| l.component == Some(Component::Procedure) && l.hundredths <= 0 && l.sentence.contains(words));
    assert!(found, "no breach says “{words}”: {:#?}", mark.ledger);
}

/// What every careful attempt shows.
#[track_caller]
fn careful(mark: &Mark) {
    assert_eq!(mark.outcome, Outcome::Reached, "{:?}", mark.reasons);
    assert_eq!(mark.submitted.as_ref().map(|s| &s.0), Some(&mark.truth.0));
    assert!(share(mark, Component::Justified) >= 0.6);
    assert_eq!(share(mark, Component::Procedure), 1.0);
    assert_eq!(told(mark, "procedure.clean"), 1);
    assert!(share(mark, Component::Measurement) > 0.9);
}

#[test]
fn filter_careful() {
    careful(&Demo { name: "filter-careful", job: "bypass-puff", seed: 7, who: Some("Odalys Brennick") }.check());
}

#[test]
fn filter_lucky() {
    let mark = Demo { name: "filter-lucky", job: "bypass-puff", seed: 7, who: None }.check();
    assert_eq!(mark.outcome, Outcome::NotReached);
    assert_eq!(mark.submitted.as_ref().map(|s| &s.0), Some(&mark.truth.0), "right by luck");
    for component in [Component::Diagnosis, Component::Justified, Component::Measurement, Component::Calibration] {
        assert_eq!(share(&mark, component), 0.0, "{component:?}");
    }
    assert_eq!(told(&mark, "justified.none"), 1);
    breached(&mark, "before any reading was taken across it");
}

#[test]
fn air_careful() {
    careful(&Demo { name: "air-careful", job: "primer-air", seed: 11, who: Some("Wren Tolliver") }.check());
}

#[test]
fn air_careless() {
    let mark = Demo { name: "air-careless", job: "primer-air", seed: 11, who: None }.check();
    assert_eq!(mark.outcome, Outcome::NotReached);
    assert_eq!(told(&mark, "reading.sign"), 1);
    assert_eq!(told(&mark, "reading.wrong-unit"), 1);
    assert_eq!(told(&mark, "diagnosis.wrong"), 1);
    assert_eq!(share(&mark, Component::Measurement), 0.0);
    for words in ["zeroed", "where the limit comes from", "eye protection", "leak check"] {
        breached(&mark, words);
    }
}

#[test]
fn healthy_careful() {
    careful(&Demo { name: "healthy-careful", job: "nothing-wrong", seed: 5, who: Some("Ife Marlowe") }.check());
}

#[test]
fn healthy_unsafe() {
    let mark = Demo { name: "healthy-unsafe", job: "nothing-wrong", seed: 23, who: None }.check();
    assert_eq!(mark.outcome, Outcome::NotReached);
    assert_eq!(share(&mark, Component::Procedure), 0.0);
    assert!(mark.reasons.iter().any(|r| r.contains("critical")), "{:?}", mark.reasons);
    for words in ["valve shut or part-shut", "above idle speed", "longer than allowed", "chocks", "eye protection"]
    {
        breached(&mark, words);
    }
}

#[test]
fn a_valve_shut_in_the_last_moment_is_critical_too() {
    let (job, _) = load_job(&Library::builtin(), "nothing-wrong").unwrap_or_else(|_| unreachable!());
    let handed = |last: &[&str]| {
        let terms = Terms::of(&job);
        let mut sitting = Sitting::begin(job.clone(), 23, None).unwrap();
        for line in ["fit \"pump in\"", "purge"].iter().chain(last).chain(&["handback"]) {
            let Ok(Some(Said::Do(action))) = words::read(line, &terms, sitting.now()) else { panic!("{line}") };
            sitting.act(&action);
        }
        assert!(sitting.is_over());
        sitting.breaches().iter().any(|b| b.rule == "valve-shut-at-hand-back")
    };
    assert!(handed(&["valve shut"]));
    assert!(handed(&["valve shut", "wait 60"]));
    assert!(!handed(&["valve shut", "valve open"]));
    assert!(!handed(&[]));
}

/// Remembers under which name the last entry was kept.
#[derive(Default)]
struct Named(Memory, Mutex<String>);

impl Store for Named {
    fn get(&self, key: &str) -> Option<Vec<u8>> {
        self.0.get(key)
    }

    fn put(&self, key: &str, bytes: &[u8]) {
        *self.1.lock().unwrap() = key.to_owned();
        self.0.put(key, bytes);
    }
}

#[test]
fn a_kept_mark_is_the_mark() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("demo-data/filter-lucky.jsonl");
    let (attempt, _) = Attempt::read(std::fs::read_to_string(path).unwrap()).unwrap();
    let Ok((job, _)) = load_job(&Library::builtin(), &attempt.header().job) else { panic!("the demo's job") };
    let store = Named::default();
    let kept = || mark_kept(&job, &attempt, &store, &Unwatched).unwrap();
    let made = mark_with(&job, &attempt, &store, &Unwatched).unwrap();
    assert_eq!(kept(), made);
    let name = store.1.lock().unwrap().clone();
    assert!(name.starts_with("mark-"), "{name}");
    assert_eq!(kept(), made);
    // what is there is taken, what is damaged is made anew
    let other = Mark { total: 12.25, ..made.clone() };
    let bytes = closed(&serde_json::to_vec(&other).unwrap());
    store.put(&name, &bytes);
    assert_eq!(kept(), other);
    store.put(&name, &bytes[..bytes.len() - 1]);
    assert_eq!(kept(), made);
    // in another language it is another mark, with the same points
    let german = within(Language::German, kept);
    assert_ne!(german.reasons, made.reasons);
    assert_eq!(german.total.to_bits(), made.total.to_bits());
    // and so it is under another scheme
    store.put(&name, &bytes);
    let mut strict = job.clone();
    strict.rubric.cut = 70.0;
    assert_ne!(mark_kept(&strict, &attempt, &store, &Unwatched).unwrap(), other);
}
