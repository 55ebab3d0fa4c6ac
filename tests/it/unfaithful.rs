//! What is written on the sheet has to be what was there to be read: a line that says something else bears nothing,
//! and the mark names it for what it was.

use faultbay::attempt::Attempt;
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::marking::mark::mark_with;
use faultbay::marking::model::{Component, LedgerLine, Mark};
use faultbay::scenario::{Library, load_job};

use crate::demo::{STORE, sit};

/// The careful sitting of the plugged filter with some of its lines written otherwise.
fn sat(changes: &[(&str, &str)]) -> Mark {
    let mut script = include_str!("../../demo-data/filter-careful.txt").to_owned();
    for (from, to) in changes {
        assert_eq!(script.matches(from).count(), 1, "{from}");
        script = script.replace(from, to);
    }
    let (job, _) =
        load_job(&Library::builtin(), "bypass-puff").unwrap_or_else(|_| panic!("the built-in job loads"));
    let record = sit(&job, (7, None), &script, "filter-careful, changed");
    let (attempt, _) = Attempt::read(&record).unwrap();
    mark_with(&job, &attempt, &*STORE, &Unwatched).unwrap()
}

fn share(mark: &Mark, component: Component) -> f64 {
    mark.components.iter().find(|m| m.component == component).map_or(f64::NAN, |m| m.share)
}

/// The line of the ledger with this template that rests on this line of the sheet.
fn told<'a>(mark: &'a Mark, template: &str, line: usize) -> Option<&'a LedgerLine> {
    mark.ledger.iter().find(|l| l.template == template && l.lines == [line])
}

/// How the mark of the sitting as it was compares with that of a changed one: belief stays, as it follows what was
/// shown, and what is claimed of the line and how it was written down earn less.
fn bears_less(right: &Mark, wrong: &Mark) {
    assert_eq!(share(wrong, Component::Justified), share(right, Component::Justified));
    for component in [Component::Cited, Component::Measurement] {
        assert!(share(wrong, component) < share(right, component), "{component:?}");
    }
    assert!(wrong.total < right.total);
}

#[test]
fn a_line_bears_only_what_it_says() {
    let right = sat(&[]);
    assert!(told(&right, "cited.valid", 5).is_some());
    let raised = "record raised -353 mbar outside";

    let number = sat(&[(raised, "record raised -190 mbar within")]);
    bears_less(&right, &number);
    assert!(told(&number, "cited.slip", 5).is_some_and(|l| l.hundredths < 0));
    assert!(told(&number, "reading.off", 5).is_some());

    let state = sat(&[(raised, "record idle -353 mbar outside")]);
    bears_less(&right, &state);
    let named = told(&state, "reading.other-state", 5).expect("a sentence");
    assert!(named.sentence.contains("the engine turned 2"), "{}", named.sentence);
    let step = state.ledger.iter().find(|l| l.component == Some(Component::Justified) && l.lines == [5]);
    let step = &step.expect("a step of the belief").sentence;
    assert!(step.contains("reading with the engine at 2") && !step.contains("idle"), "{step}");

    let word = sat(&[("note cap silent", "note cap hiss")]);
    assert!(share(&word, Component::Measurement) < share(&right, Component::Measurement));
    let told = told(&word, "reading.other-word", 1).expect("a sentence");
    assert!(told.sentence.contains("“hiss”") && told.sentence.contains("“silent”"), "{}", told.sentence);
}

#[test]
fn how_the_vehicle_left_is_told_and_takes_no_points() {
    let right = sat(&[]);
    let left = |mark: &Mark| mark.ledger.iter().find(|l| l.template == "procedure.left").map(|l| l.hundredths);
    assert_eq!(left(&right), None);
    let repair = "repair filter replace\n";
    let as_it_came = sat(&[(repair, "")]);
    assert_eq!(left(&as_it_came), Some(0));
    let words = &as_it_came.ledger.iter().find(|l| l.template == "procedure.left").expect("a line").sentence;
    assert!(words.contains("as it came"), "{words}");
}
