//! One function a reader: takes any bytes and must neither panic nor run away. Shared by the fuzzer and by the
//! test that replays what the fuzzer found.
#![allow(dead_code, reason = "each fuzz target calls one of them")]

use std::sync::OnceLock;

use faultbay::analysis::features::{Signals, features};
use faultbay::analysis::states::states;
use faultbay::attempt::{Attempt, Sitting};
use faultbay::bay::action::SECOND;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::cli::script;
use faultbay::diag::render;
use faultbay::recording::heading::Quantity;
use faultbay::recording::read::{Options, read};
use faultbay::scenario::form;
use faultbay::scenario::model::Job;
use faultbay::scenario::pack::Pack;
use faultbay::scenario::patch;
use faultbay::scenario::picture::Picture;
use faultbay::scenario::vehicle_form::{course_form, plant_form};
use faultbay::scenario::{Kind, Library, check_text, load_course, load_job};

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(Library::builtin)
}

fn job() -> &'static Job {
    static JOB: OnceLock<Job> = OnceLock::new();
    JOB.get_or_init(|| load_job(library(), "primer-air").expect("a job that is built in").0)
}

/// A plant, job or rubric from a stranger.
pub fn scenario(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let report = check_text(None, "stranger.ron", &text, library());
    // rendering walks all places in the text
    let _ = (render::text(&report), render::json(&report));
}

/// An attempt file.
pub fn attempt(data: &[u8]) {
    if let Ok((attempt, _)) = Attempt::read(data) {
        // what was read must be written as it was read
        let again = Attempt::read(attempt.text()).expect("what was written can be read").0;
        assert_eq!(attempt.hash(), again.hash());
        assert_eq!(attempt.entries().len(), again.entries().len());
    }
}

/// A logger's table.
pub fn recording(data: &[u8]) {
    let (recording, report) = read(data, "stranger.csv", &Options::default());
    let _ = (render::text(&report), render::json(&report));
    if let Some(recording) = recording {
        let signals = Signals {
            t: &recording.t,
            mbar: recording.column(Quantity::Pressure).unwrap_or(&[]),
            rpm: recording.column(Quantity::Speed),
            gas: recording.column(Quantity::Gas),
            amps: recording.column(Quantity::Current),
            volts: recording.column(Quantity::Voltage),
            thinned: recording.thinned > 1,
        };
        let (stretches, _) = states(signals.t, signals.mbar, signals.rpm, recording.words().as_deref());
        let _ = (features(&signals, &stretches), recording.to_trace());
    }
}

/// A pack of scenario files and pictures from a stranger, with everything in it that is read next.
pub fn pack(data: &[u8]) {
    let Ok(pack) = Pack::read(&String::from_utf8_lossy(data)) else { return };
    // what was read must be written as it was read
    assert_eq!(Pack::read(&pack.text()).as_ref(), Ok(&pack));
    let mut over = library().clone();
    pack.lay_over(&mut over, "stranger.pack");
    for name in pack.jobs().into_iter().take(4) {
        if let Err(report) = load_job(&over, name) {
            let _ = render::text(&report);
        }
    }
    for name in over.names(Kind::Course) {
        let _ = load_course(&over, &name);
    }
}

/// A picture from a stranger: what is taken of it is a picture again, the same one.
pub fn picture(data: &[u8]) {
    if let Ok(picture) = Picture::read(data) {
        assert_eq!(Picture::read(picture.png()), Ok(picture));
    }
}

/// What can be named on vehicles of three kinds.
fn three() -> &'static [Terms] {
    static TERMS: OnceLock<Vec<Terms>> = OnceLock::new();
    TERMS.get_or_init(|| {
        let jobs = ["primer-air", "second-pump", "monthly-test"];
        jobs.iter().map(|name| Terms::of(&load_job(library(), name).expect("a job that is built in").0)).collect()
    })
}

/// One line of a script or a sitting, read and nothing more, for one of three vehicles: what the readers of both rest on,
/// without vehicles that are simulated and without hundreds of lines a text.
pub fn line(data: &[u8]) {
    let Some((&which, rest)) = data.split_first() else { return };
    let terms = &three()[usize::from(which) % three().len()];
    let text = String::from_utf8_lossy(rest);
    let Some(line) = text.lines().next() else { return };
    if script::is_of_class(line) {
        assert!(script::class_line(line).err().is_none_or(|why| !why.is_empty()));
    } else if let Err(unclear) = words::read(line, terms, 3 * SECOND) {
        assert!(!unclear.to_string().is_empty());
    }
}

/// The script of a sitting, for vehicles of three kinds.
pub fn script(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for terms in three() {
        match script::lines(&text, terms) {
            Ok(lines) => assert!(lines.len() <= text.len() + 1),
            Err(faults) => assert!(faults.iter().all(|(n, why)| *n > 0 && !why.is_empty())),
        }
    }
}

/// A file while somebody writes it: its fields, and a change at every tenth of its places.
pub fn form(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let _ = (form::form(&text), form::scheme_rest(&text), plant_form(&text), course_form(&text));
    for (place, value) in patch::places(&text).into_iter().take(400).step_by(10) {
        // of a field that stands twice, the first is meant
        if patch::value(&text, &place).as_ref() == Some(&value)
            && let Ok(same) = patch::edit(&text, &patch::Edit::set(&place, &value))
        {
            assert_eq!(same, text, "{place}");
        }
        if let Ok(without) = patch::edit(&text, &patch::Edit::remove(&place)) {
            assert!(without.len() < text.len(), "{place}");
        }
    }
}

/// Lines typed at the terminal.
pub fn words(data: &[u8]) {
    static TERMS: OnceLock<Terms> = OnceLock::new();
    let terms = TERMS.get_or_init(|| Terms::of(job()));
    for line in String::from_utf8_lossy(data).lines().take(20) {
        if let Err(unclear) = words::read(line, terms, 3 * SECOND) {
            let _ = unclear.to_string();
        }
    }
}

/// A whole sitting of typed lines: what can be said can be done, refused or a breach, and nothing else.
pub fn sitting(data: &[u8]) {
    let terms = Terms::of(job());
    let mut sitting = Sitting::begin(job().clone(), 5, None).expect("the vehicle of a job that is built in");
    let end = sitting.now() + 900 * SECOND;
    for line in String::from_utf8_lossy(data).lines().take(40) {
        if sitting.is_over() || sitting.now() > end {
            break;
        }
        if let Ok(Some(Said::Do(action))) = words::read(line, &terms, sitting.now()) {
            sitting.act(&action);
            sitting.advance(SECOND / 5);
        }
    }
    let _ = sitting.observe();
    let text = sitting.attempt().text();
    Attempt::read(text).expect("what the bay has written can be read");
}
