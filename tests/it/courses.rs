//! Jobs, courses and the manual: careful scripts end well, courses lead somewhere, the page is what is generated.
//!
//! `demo-data/JOB-careless.txt` is a bad sitting. `demo-data/JOB-careful.txt` is a careful technician's sitting of a job; its first line names the vehicle:
//! `# vehicle 3`. `UPDATE_DEMO=1` writes the manual anew.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use faultbay::attempt::Sitting;
use faultbay::bay::action::Action;
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::cli::{folder, manual};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::store::Memory;
use faultbay::language::{Language, within};
use faultbay::marking::mark::mark_by;
use faultbay::marking::model::Outcome;
use faultbay::scenario::model::{Job, Level};
use faultbay::scenario::{Kind, Library, load_course, load_job};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn job(name: &str) -> Job {
    load_job(&Library::builtin(), name).unwrap_or_else(|report| panic!("{report}")).0
}

/// Scripts of careful sittings: job and text.
fn careful() -> Vec<(String, String)> {
    let library = Library::builtin();
    let mut found = vec![];
    for name in library.jobs() {
        let path = root().join("demo-data").join(format!("{name}-careful.txt"));
        if let Ok(text) = std::fs::read_to_string(&path) {
            found.push((name, text));
        }
    }
    found
}

/// Sits a script through: nothing may be refused, and the vehicle is handed back.
/// Also what was answered to each action.
fn sat(name: &str, script: &str) -> (Sitting, Vec<(Action, String)>) {
    let mut answers = vec![];
    let job = job(name);
    let terms = Terms::of(&job);
    let seed = script.lines().find_map(|l| l.strip_prefix("# vehicle ")?.trim().parse().ok());
    let seed = seed.unwrap_or_else(|| panic!("{name}: the script doesn't say which vehicle"));
    let mut sitting = Sitting::begin(job, seed, None).unwrap();
    for (n, line) in (1..).zip(script.lines()) {
        match words::read(line, &terms, sitting.now()) {
            Ok(None) => {}
            Ok(Some(Said::Do(action))) => {
                let answer = sitting.act(&action);
                let Answer::Done { says, .. } = answer else { panic!("{name}, line {n}: {line}: {answer:?}") };
                answers.push((action, says));
            }
            other => panic!("{name}, line {n}: {other:?}"),
        }
    }
    assert!(sitting.is_over(), "{name}: the vehicle isn't handed back");
    (sitting, answers)
}

#[test]
fn every_careful_script_ends_with_the_right_finding_and_breaks_no_rule() {
    let scripts = careful();
    assert!(scripts.len() >= 12, "only {} careful scripts", scripts.len());
    let mut broken = vec![];
    for (name, script) in scripts {
        let (sitting, answers) = sat(&name, &script);
        let last_check = answers.iter().rev().find(|(action, _)| *action == Action::LeakCheck);
        let last_check = &last_check.unwrap_or_else(|| panic!("{name}: no leak check")).1;
        assert!(last_check.contains("is dry"), "{name}: handed back although: {last_check}");
        broken.extend(sitting.breaches().iter().map(|b| format!("{name}: {} at {} s", b.rule, b.at / 1_000_000)));
        let job = job(&name);
        let found = sitting.finding().unwrap_or_else(|| panic!("{name}: no finding")).candidate.clone();
        assert!(job.accepts(&found), "{name}: {found} isn't a right finding");
    }
    assert!(broken.is_empty(), "{broken:#?}");
}

/// Words that are the same in both languages or are names of what was typed.
const ALIKE: [&str; 2] = ["00:", "SPN"];

/// The same sittings with German spoken: nothing is answered as in English, and no number has a point for its comma.
#[test]
fn a_careful_sitting_is_answered_in_the_language_spoken() {
    let mut wrong = vec![];
    for (name, script) in careful() {
        let english = sat(&name, &script).1;
        let german = within(Language::German, || sat(&name, &script).1);
        for ((action, english), (_, german)) in english.iter().zip(&german) {
            let letters: Vec<char> = german.chars().collect();
            let point = letters.windows(3).any(|w| w[0].is_ascii_digit() && w[1] == '.' && w[2].is_ascii_digit());
            let same = english == german && english.split(' ').count() > 2;
            if point || same && !ALIKE.iter().any(|a| english.contains(a)) {
                wrong.push(format!("{name}, {action:?}: {german}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} answers:\n{}", wrong.len(), wrong.join("\n"));
}

/// The bad sitting of a job: `JOB-careless.txt`, or `JOB-poor.txt` where it is one of those to discuss in class.
fn bad(name: &str) -> String {
    let path = |end: &str| root().join("demo-data").join(format!("{name}-{end}.txt"));
    let path = ["careless", "poor"].map(path).into_iter().find(|p| p.exists());
    folder_text(&path.unwrap_or_else(|| panic!("{name} has no bad sitting")))
}

#[test]
fn every_bad_script_ends_wrong_and_breaks_a_rule() {
    for name in Library::builtin().jobs() {
        let (sitting, _) = sat(&name, &bad(&name));
        let finding = sitting.finding().unwrap_or_else(|| panic!("{name}: no finding")).candidate.clone();
        assert!(!job(&name).accepts(&finding), "{name}: {finding}");
        assert!(!sitting.breaches().is_empty(), "{name}: nothing was done wrong on the way");
    }
}

/// Reference vehicles a candidate: the fewest that there may be.
const VEHICLES: usize = 16;
/// Points by which care must pay.
const APART: f64 = 30.0;

/// The van's jobs that have such a script (its others are marked as demos). Reference vehicles of other plants take
/// minutes a job, those of petrol jobs many: `EVERY_JOB=1` marks all that run on diesel.
#[test]
fn care_is_marked_well_above_carelessness() {
    let (mut told, mut close) = (String::new(), vec![]);
    let careful = careful();
    let mut marked = 0;
    for (name, script) in &careful {
        let plant = job(name).plant;
        if plant.is_petrol() || plant.name != "a1-van" && std::env::var_os("EVERY_JOB").is_none() {
            continue;
        }
        let kept = Memory::default();
        let of = |script: &str| {
            let (attempt, _) = sat(name, script).0.close().unwrap_or_else(|_| panic!("{name}"));
            mark_by(&job(name), &attempt, VEHICLES, &kept, &Unwatched).unwrap_or_else(|why| panic!("{name}: {why}"))
        };
        let (good, poor) = (of(script), of(&bad(name)));
        let line = format!("{name}: {:.1} {:?}, {:.1} {:?}", good.total, good.outcome, poor.total, poor.outcome);
        if good.total < poor.total + APART || poor.outcome == Outcome::Reached {
            close.push(line.clone());
        }
        told += &format!("{line}\n");
        marked += 1;
    }
    println!("{told}");
    assert!(close.is_empty() && marked >= 4, "{close:#?}\n{told}");
}

#[test]
fn courses_name_every_job_once_and_rise() {
    let library = Library::builtin();
    let mut named: Vec<String> = vec![];
    let mut reached = Level::Beginner;
    for name in ["first-steps", "in-condition", "hard-cases"] {
        let (course, report) = load_course(&library, name).unwrap_or_else(|r| panic!("{r}"));
        assert!(report.is_empty(), "{report}");
        for stage in &course.stages {
            let level = job(&stage.job).level;
            assert!(level >= reached, "{} in {name}", stage.job);
            reached = level;
            named.push(stage.job.clone());
        }
    }
    let once: BTreeSet<String> = named.iter().cloned().collect();
    assert_eq!(once.len(), named.len());
    assert_eq!(once.into_iter().collect::<Vec<_>>(), library.jobs());
    assert_eq!(library.names(Kind::Course).len(), 3);
}

#[test]
fn the_checked_in_manual_is_what_is_generated() {
    let path = root().join("assets/guide/scenario-files.md");
    let now = manual::page();
    if std::env::var_os("UPDATE_DEMO").is_some_and(|v| v == "1") {
        std::fs::write(&path, &now).unwrap();
    }
    let stored = folder_text(&path);
    assert_eq!(stored, now, "run `faultbay manual > assets/guide/scenario-files.md`");
    for word in ["| `also_right` |", "### Filter", "| F15 |", "Level(below: 0.25)", "**refuel**", "may be left out"]
    {
        assert!(now.contains(word), "{word}");
    }
}

fn folder_text(path: &Path) -> String {
    folder::read(path).unwrap_or_else(|report| panic!("{report}"))
}

#[test]
fn what_a_job_withholds_is_refused_with_its_reason_and_undoing_never_is() {
    let mut job = job("dies-in-the-cold");
    job.withheld
        .push(faultbay::scenario::model::Withheld { word: "load".into(), because: "No brake here.".into() });
    let terms = Terms::of(&job);
    let mut sitting = Sitting::begin(job, 1, None).unwrap();
    let mut says = |line: &str| {
        let Ok(Some(Said::Do(action))) = words::read(line, &terms, 0) else { panic!("{line}") };
        match sitting.act(&action) {
            Answer::Refused { because } => because,
            Answer::Done { says, .. } => says,
        }
    };
    assert_eq!(says("load 0.5"), "Not in this job. No brake here.");
    assert!(says("airtest").starts_with("Not in this job. "));
    assert!(!says("load 0").contains("Not in this job"));
    assert!(says("safe chocks").contains("chocked"));
}

#[test]
fn what_the_gauge_shows_after_a_long_wait_can_be_written_down() {
    let job = job("nothing-wrong");
    let terms = Terms::of(&job);
    let mut sitting = Sitting::begin(job, 5, None).unwrap();
    let steps = ["safe protection", "safe pressure-away", "fit \"pump in\"", "purge", "zero"];
    let left = ["wait 10803", "record rest -20 mbar within from \"vehicle card\""];
    for line in steps.iter().chain(&left) {
        let Ok(Some(Said::Do(action))) = words::read(line, &terms, sitting.now()) else { panic!("{line}") };
        let answer = sitting.act(&action);
        assert!(matches!(answer, Answer::Done { .. }), "{line}: {answer:?}");
    }
    let (from, to) = sitting.sheet()[0].window;
    assert_eq!(to, sitting.now());
    // the logger has slowed down by then: the last second alone would hold nothing
    assert!(sitting.trace().range(to - 1_000_000, to).is_empty(), "the logger draws every second even after hours");
    assert!(sitting.trace().mean(&sitting.trace().mbar, from, to).is_some(), "{from} to {to}");
}
