//! The choice of tests judged two tests ahead, on a job that is built in, beside the same sitting judged one ahead.

use std::sync::LazyLock;

use faultbay::attempt::{Attempt, Sitting};
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{Said, Terms, read};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::store::Memory;
use faultbay::diagnosis::worth::wasted_minutes;
use faultbay::marking::mark::mark_by;
use faultbay::marking::model::{Component, Mark, Move};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Kind, Library, load_job};

/// Reference vehicles a candidate: the fewest that there may be.
const VEHICLES: usize = 16;
const NAME: &str = "bypass-puff";

fn job(lookahead: &str) -> Job {
    let mut library = Library::builtin();
    let text = library.text(Kind::Job, NAME).unwrap().to_owned();
    let text: Vec<&str> = text.lines().filter(|l| !l.trim_start().starts_with("lookahead:")).collect();
    let text = text.join("\n").replace("rubric: \"standard\",", &format!("rubric: \"standard\",{lookahead}"));
    library.insert(Kind::Job, NAME, "two-ahead.ron", &text);
    load_job(&library, NAME).unwrap_or_else(|report| panic!("{report:?}")).0
}

/// A run at the pump inlet, then at the filter inlet, after a look that tells little.
const SITTING: &str = "\
safe protection
safe ventilation
safe extinguisher
safe chocks
safe drip-tray
safe pressure-away
cap open
note cap silent
cap shut
fit \"pump in\"
purge
zero
wait 5
record rest 0 mbar not-proven
safe pressure-away
fit \"filter in\"
purge
zero
key on
crank 8
wait 60
record idle -70 mbar not-proven
key off
wait 10
safe pressure-away
fit \"pump in\"
purge
zero
key on
crank 8
wait 60
record idle -90 mbar not-proven
speed raised
wait 30
record raised -400 mbar not-proven
key off
wait 10
submit plugged-filter 80 because 3 4 5 \"What is lost lies across the filter.\"
safe pressure-away
remove
leakcheck
handback
";

fn sat(job: &Job) -> Attempt {
    let terms = Terms::of(job);
    let mut sitting = Sitting::begin(job.clone(), 7, None).unwrap();
    for line in SITTING.lines() {
        match read(line, &terms, sitting.now()) {
            Ok(Some(Said::Do(action))) => {
                let answer = sitting.act(&action);
                assert!(matches!(answer, Answer::Done { .. }), "{line}: {answer:?}");
            }
            other => panic!("{line}: {other:?}"),
        }
    }
    assert!(sitting.is_over());
    sitting.close().unwrap_or_else(|_| panic!("handed back")).0
}

/// One ahead, two ahead.
static MARKS: LazyLock<[Mark; 2]> = LazyLock::new(|| {
    let kept = Memory::default();
    ["", " lookahead: 2,"].map(|field| {
        let job = job(field);
        mark_by(&job, &sat(&job), VEHICLES, &kept, &Unwatched).unwrap()
    })
});

fn rate(bits: f64, minutes: f64) -> f64 {
    if minutes > 0.0 { bits / minutes } else { 0.0 }
}

/// Minutes wasted by a move, from what is told of it; with another formula for what it opens.
fn wasted(m: &Move, opened: fn(f64) -> f64) -> f64 {
    let told = m.bits + opened(m.opened_bits);
    let (own, best) = (rate(told, m.minutes), rate(m.best_bits, m.best_minutes));
    let spared = if m.material && m.bits > 0.0 { (m.best_bits / told).min(1.0) } else { 1.0 };
    spared * wasted_minutes(m.minutes, own, best.max(own), m.material)
}

#[test]
fn two_ahead_the_yardstick_is_never_shorter_and_only_choice_moves() {
    let [one, two] = &*MARKS;
    assert_eq!([one.basis.two_ahead, two.basis.two_ahead], [false, true]);
    assert!(one.moves.len() == two.moves.len() && one.moves.len() >= 3, "{:#?}", one.moves);
    for (a, b) in one.moves.iter().zip(&two.moves) {
        assert_eq!((a.bits, a.minutes, a.opened_bits), (b.bits, b.minutes, 0.0));
        assert!(rate(b.best_bits, b.best_minutes) >= rate(a.best_bits, a.best_minutes), "{a:?} {b:?}");
    }
    for (a, b) in one.components.iter().zip(&two.components) {
        assert!(a.component == Component::Choice || a == b, "{a:?} {b:?}");
    }
    let start =
        |m: &Mark| m.ledger.iter().find(|l| l.component == Some(Component::Choice)).unwrap().sentence.clone();
    assert!(!start(one).contains("two tests ahead") && start(two).contains("two tests ahead"));
}

#[test]
fn waste_follows_from_what_is_told_of_each_stretch() {
    for m in MARKS.iter().flat_map(|m| &m.moves) {
        assert!((m.wasted - wasted(m, |bits| bits)).abs() < 1e-9, "{m:?}");
    }
    // two in turn were seen, and something was opened that a formula which forgets it would take for waste
    let two = &MARKS[1].moves;
    assert!(two.iter().any(|m| m.best.contains(", then ")), "{two:#?}");
    assert!(two.iter().any(|m| (m.wasted - wasted(m, |_| 0.0)).abs() > 0.05), "{two:#?}");
}
