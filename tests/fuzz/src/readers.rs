//! One function a reader: takes any bytes and must neither panic nor run away. Shared by the fuzzer and by the
//! test that replays what the fuzzer found.
#![allow(dead_code, reason = "each fuzz target calls one of them")]

use std::sync::OnceLock;

use faultbay::analysis::features::{Signals, features};
use faultbay::analysis::states::states;
use faultbay::attempt::{Attempt, Sitting};
use faultbay::bay::action::SECOND;
use faultbay::bay::words::{self, Said, Terms};
use faultbay::diag::render;
use faultbay::recording::heading::Quantity;
use faultbay::recording::read::{Options, read};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, check_text, load_job};

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
