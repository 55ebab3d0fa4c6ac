//! What a mark says where few attempts lead: two faults of which one is named, rivals ruled out in words, a verdict
//! against its own card, a trap stepped into, an author's hint, an assessment whose time was up.

use std::path::Path;

use faultbay::attempt::{Attempt, Sitting};
use faultbay::bay::observation::Answer;
use faultbay::bay::words::{Said, Terms, read};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::store::Memory;
use faultbay::marking::mark::mark_by;
use faultbay::marking::model::{Component, LedgerLine, Mark};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Kind, Library, load_job};

/// Reference vehicles a candidate: the fewest that there may be.
const VEHICLES: usize = 16;

/// A small job of the van: a worn pump with a loaded filter behind it, traps, hints.
const CHANGES: [(&str, &str); 4] = [
    ("rubric: \"lenient\"", "rubric: \"standard\""),
    (
        "    minutes: 40,",
        "    traps: [\"A new filter helps a little\", \"Without a hold the line isn't known to be tight\"],
    snares: [
        (trap: 1, named: [\"plugged-filter\"], replaced: [\"transfer pump\"]),
        (trap: 2, unread: [\"hold\"]),
    ],
    hints: [\"What does the filter hide?\"],
    minutes: 40,",
    ),
    (
        "(name: \"plugged-strainer\", label: \"Strainer in the tank plugged\", weight: 0.25, vehicles: [(fault: \"F03\", severity: (2.0, 4.5))]),",
        "(name: \"both\", label: \"Pump worn and filter loaded\", weight: 0.25, vehicles: [
            (fault: \"F26\", severity: (3.0, 4.5), with: [(fault: \"F15\", at: \"filter\", severity: (2.0, 4.5))]),
        ]),",
    ),
    (
        "(fault: \"F15\", at: \"filter\", severity: 3.4),",
        "(fault: \"F26\", severity: 4.0),
        (fault: \"F15\", at: \"filter\", severity: 3.4),",
    ),
];

fn job(more: &[(&str, &str)]) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/unfair/jobs/unsafe.ron");
    let mut text = std::fs::read_to_string(path).unwrap();
    for (from, to) in CHANGES.iter().chain(more) {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let mut library = Library::builtin();
    library.insert(Kind::Job, "rare", "rare.ron", &text);
    load_job(&library, "rare").unwrap_or_else(|report| panic!("{report:?}")).0
}

/// A run at the pump, `{}` standing for what the gauge shows.
const RUN: &str = "\
safe protection
safe ventilation
safe extinguisher
safe chocks
safe drip-tray
safe pressure-away
fit \"pump in\"
purge
zero
wait 5
record rest {} mbar not-proven
key on
crank 8
wait 60
record idle {} mbar not-proven
speed raised
wait 30
record raised {} mbar not-proven
idle
wait 15
valve shut
wait 4
valve open
record dead-head {} mbar not-proven
key off
";

const END: &str = "safe pressure-away\nremove\nleakcheck\nhandback\n";

/// Sits lines; what is refused is kept.
fn sit(job: &Job, lines: &str) -> (Attempt, Vec<String>) {
    let mut sitting = Sitting::begin(job.clone(), 3, None).unwrap();
    let mut refused = vec![];
    let terms = Terms::of(job);
    for line in lines.lines() {
        let shown = sitting.observe().gauge.map_or(0.0, |g| g.mbar.round());
        match read(&line.replace("{}", &format!("{shown}")), &terms, sitting.now()) {
            Ok(Some(Said::Do(action))) => {
                if let Answer::Refused { because } = sitting.act(&action) {
                    refused.push(because);
                }
            }
            other => panic!("{line}: {other:?}"),
        }
    }
    let Ok((attempt, _)) = sitting.close() else { panic!("handed back: {refused:?}") };
    (attempt, refused)
}

fn marked(job: &Job, lines: &str, store: &Memory) -> Mark {
    let (attempt, refused) = sit(job, lines);
    assert!(refused.is_empty(), "{refused:?}");
    let mark = mark_by(job, &attempt, VEHICLES, store, &Unwatched).unwrap();
    let sum: i64 = mark.ledger.iter().map(|l| l.hundredths).sum();
    assert_eq!(sum, (mark.total * 100.0).round() as i64);
    mark
}

fn share(mark: &Mark, component: Component) -> f64 {
    mark.components.iter().find(|m| m.component == component).map_or(0.0, |m| m.share)
}

fn lines<'m>(mark: &'m Mark, template: &str) -> Vec<&'m LedgerLine> {
    mark.ledger.iter().filter(|l| l.template.starts_with(template)).collect()
}

#[test]
fn of_two_faults_one_named_is_half_and_both_is_all() {
    let (job, store) = (job(&[]), Memory::default());
    let of = |finding: &str| marked(&job, &format!("{RUN}submit {finding} 80 because 2 3\n{END}"), &store);
    let half = of("worn-pump");
    let told = lines(&half, "diagnosis.");
    assert!(told[0].template == "diagnosis.wrong" || told[0].sentence.contains("1 of 2 causes agree"), "{told:?}");
    let all = of("both");
    assert!(!lines(&all, "diagnosis.")[0].sentence.contains("causes agree"), "{:?}", lines(&all, "diagnosis."));
    assert_eq!(half.truth.0, "Pump worn and filter loaded");
    // a finding that names neither half
    assert_eq!(lines(&of("nothing-wrong"), "diagnosis.")[0].template, "diagnosis.wrong");
}

#[test]
fn what_is_ruled_out_is_judged_by_what_is_said() {
    let (job, store) = (job(&[]), Memory::default());
    let of = |words: &str| marked(&job, &format!("{RUN}submit both 80 because 3{words}\n{END}"), &store);
    let (silent, said) = (of(""), of(" not nothing-wrong 2 3 not plugged-filter 4"));
    assert!(lines(&silent, "rival.").is_empty());
    let out = lines(&said, "rival.");
    assert_eq!(out.len(), 2, "{out:?}");
    assert!(out[0].sentence.starts_with("You said that lines 2 and 3 rule out"), "{}", out[0].sentence);
    assert!(out[1].sentence.starts_with("You said that line 4 rules out"), "{}", out[1].sentence);
    // the same lines, the same belief: only X may differ
    for component in Component::ALL.into_iter().filter(|c| *c != Component::Cited) {
        assert_eq!(share(&silent, component), share(&said, component), "{component:?}");
    }
    // the record says it again
    let (attempt, _) = sit(&job, &format!("{RUN}submit both 80 because 3 not nothing-wrong 2 3\n{END}"));
    let text = attempt.text();
    assert!(text.contains(r#""ruled_out":[{"candidate":"nothing-wrong","lines":[2,3]}]"#), "{text}");
    assert_eq!(Attempt::read(text).unwrap().0.hash(), attempt.hash());
}

#[test]
fn what_cannot_be_ruled_out_is_refused_with_its_reason() {
    let job = job(&[]);
    for (words, why) in [
        ("not both 2", "can't be the finding and ruled out"),
        ("not nothing-wrong 2 not nothing-wrong 3", "ruled out twice"),
        ("not nothing-wrong 40", "no line 40"),
    ] {
        let (_, refused) = sit(&job, &format!("{RUN}submit both 80 because 3 {words}\n{END}"));
        assert!(refused.len() == 1 && refused[0].contains(why), "{words}: {refused:?}");
    }
}

#[test]
fn a_verdict_against_its_card_leaves_half_of_the_reading() {
    let (job, store) = (job(&[]), Memory::default());
    // a worn pump behind a loaded filter: idle lies within the card's -100 to -45 mbar or it doesn't
    let of = |verdict: &str, from: &str| {
        let run = RUN
            .replace("record idle {} mbar not-proven", &format!("record idle {{}} mbar {verdict} from \"{from}\""));
        marked(&job, &format!("{run}submit both 80 because 3\n{END}"), &store)
    };
    let [within, outside, own] =
        [of("within", "vehicle card"), of("outside", "vehicle card"), of("outside", "own notes")];
    let contrary = [&within, &outside].map(|m| lines(m, "reading.verdict").len());
    assert_eq!(contrary.iter().sum::<usize>(), 1, "one of two opposite verdicts is contrary: {contrary:?}");
    let (wrong, right) = if contrary[0] == 1 { (&within, &outside) } else { (&outside, &within) };
    let readings = lines(right, "reading.").len() as f64;
    let lost = share(right, Component::Measurement) - share(wrong, Component::Measurement);
    assert!((lost - 0.5 / readings).abs() < 1e-9, "{lost} of {readings} readings");
    assert!(lines(&own, "reading.verdict").is_empty());
}

#[test]
fn minutes_that_pass_beside_the_best_test_are_told_as_such() {
    let (job, store) = (job(&[]), Memory::default());
    let of = |waits: &str| {
        let primed =
            RUN.replace("safe pressure-away\n", &format!("{waits}prime 8\nnote primer firm\nsafe pressure-away\n"));
        marked(&job, &format!("{primed}submit both 80 because 4\n{END}"), &store)
    };
    let (swift, slow) = (of(""), of("wait 2400\n"));
    assert!(lines(&swift, "choice.slow").is_empty(), "{:?}", lines(&swift, "choice."));
    let told = lines(&slow, "choice.slow");
    assert!(
        told.len() == 1 && told[0].sentence.contains("on the feel of the primer. Of that the feel of the primer"),
        "{:?}",
        lines(&slow, "choice.")
    );
    assert!(share(&slow, Component::Choice) < share(&swift, Component::Choice));
}

#[test]
fn a_trap_is_told_once_it_was_stepped_into() {
    let (job, store) = (job(&[]), Memory::default());
    let named = marked(&job, &format!("{RUN}submit plugged-filter 80 because 3\n{END}"), &store);
    let traps: Vec<&str> = named.traps.iter().map(|t| t.sentence.as_str()).collect();
    assert_eq!(
        traps,
        [
            "This job has a trap: A new filter helps a little. Your finding, “Filter element plugged”, is where it leads.",
            "This job has a trap: Without a hold the line isn't known to be tight. You concluded without a hold reading.",
        ]
    );
    let run = format!("{RUN}wait 60\nrecord hold {{}} mbar not-proven\n");
    assert!(marked(&job, &format!("{run}submit both 80 because 3\n{END}"), &store).traps.is_empty());
}

#[test]
fn an_authors_hint_goes_before_the_programs_own() {
    let job = job(&[]);
    let mut sitting = Sitting::begin(job.clone(), 3, None).unwrap();
    let mut says = |line: &str| {
        let Ok(Some(Said::Do(action))) = read(line, &Terms::of(&job), sitting.now()) else { panic!("{line}") };
        match sitting.act(&action) {
            Answer::Done { says, .. } => says,
            other => panic!("{other:?}"),
        }
    };
    assert!(says("hint 1").starts_with("What does the filter hide? (Hint of level 1; it costs 1 of 100 points"));
    says("wait 40");
    assert!(says("hint 2").starts_with("Nothing is read yet."));
}

#[test]
fn an_assessment_has_an_end_and_practice_has_none() {
    let late = format!(
        "{RUN}wait 10000\nlook filter\nwait 2\nrecord hold {{}} mbar not-proven\nsubmit both 80 because 3\n{END}"
    );
    let store = Memory::default();
    let practice = marked(&job(&[]), &late, &store);
    assert!(lines(&practice, "justified.time-up").is_empty());
    let timed = job(&[("mode: practice", "mode: assessment")]);
    let assessed = marked(&timed, &late, &store);
    let told = lines(&assessed, "justified.time-up");
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].lines, [5]);
    assert!(told[0].sentence.contains("line 5 was written later and counts for nothing"), "{}", told[0].sentence);
    let early = format!("{RUN}submit both 80 because 3\n{END}");
    let in_time = marked(&timed, &early, &store);
    let end = |m: &Mark| m.beliefs.last().map(|b| b.justified.clone());
    assert_eq!(end(&assessed), end(&in_time));
    assert!(lines(&in_time, "justified.time-up").is_empty());
}

#[test]
fn a_mark_from_kept_beliefs_is_the_same_to_the_byte() {
    let job = job(&[]);
    let (attempt, _) = sit(&job, &format!("{RUN}submit both 80 because 3 not nothing-wrong 2 3\n{END}"));
    let store = Memory::default();
    let of = |store: &Memory| {
        let mark = mark_by(&job, &attempt, VEHICLES, store, &Unwatched).unwrap();
        serde_json::to_string(&mark).unwrap()
    };
    let first = of(&store);
    assert_eq!(of(&store), first);
    assert_eq!(of(&Memory::default()), first);
    // another mark scheme isn't answered with this one's belief
    let mut other = job.clone();
    other.rubric.minutes_per_credit = 5.0;
    let dearer = mark_by(&other, &attempt, VEHICLES, &store, &Unwatched).unwrap();
    assert_ne!(dearer.moves, serde_json::from_str::<Mark>(&first).unwrap().moves);
}
