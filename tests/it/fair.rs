//! The check of whole jobs: jobs that aren't fair are caught, each for its own reason and with advice that helps;
//! and a job that is fair isn't scolded.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use faultbay::authoring::diagnosability::{Alike, Diagnosability, Weight, check_quietly};
use faultbay::authoring::first_job::first_job;
use faultbay::authoring::learners::Kind as Learner;
use faultbay::cli::{fair, folder};
use faultbay::scenario::{Kind, Library, load_job};

/// Reference vehicles a candidate: fewer than for marks, enough for what is looked for here.
const VEHICLES: usize = 48;

/// What was found in each job, once.
static FOUND: LazyLock<BTreeMap<&str, Diagnosability>> = LazyLock::new(|| {
    let mut library = Library::builtin();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/unfair");
    let report = folder::lay_over(&mut library, &folder);
    assert!(!report.has_errors());
    ["ambiguous", "mild-ends", "unsolvable", "unsafe", "giveaway", "bypass-puff"]
        .into_iter()
        .map(|name| {
            let Ok((job, _)) = load_job(&library, name) else { panic!("{name} can't be read") };
            (name, check_quietly(&job, VEHICLES).unwrap())
        })
        .collect()
});

/// The job is refused for this reason, and the advice says so.
#[track_caller]
fn caught(job: &str, name: &str, weight: Weight, says: &str, advice: &str) {
    let found = &FOUND[job];
    let lint = found.lints.iter().find(|l| l.name == name);
    let lint = lint.unwrap_or_else(|| panic!("{job} isn't caught for {name}: {:#?}", found.lints));
    assert_eq!(lint.weight, weight);
    assert!(lint.says.contains(says), "{}", lint.says);
    assert!(lint.advice.contains(advice), "{}", lint.advice);
}

/// Two of its throttles look alike wherever the tee sits, so only one of them may be a candidate of the first job on it.
#[test]
fn a_first_job_can_be_told_apart_on_a_vehicle_with_throttles_in_a_row() {
    let mut library = Library::builtin();
    let text = first_job(&library, "a10-petrol", "hard-start").unwrap();
    library.insert(Kind::Job, "hard-start", "hard-start.ron", &text);
    let Ok((job, _)) = load_job(&library, "hard-start") else { panic!("can't be read\n{text}") };
    let found = check_quietly(&job, VEHICLES).unwrap();
    assert_ne!(found.gravest(), Some(Weight::Unfair), "{:#?}", found.lints);
}

/// The fault waits for an almost empty tank, which the job doesn't have: its candidate can be told, this vehicle can't.
#[test]
fn a_fault_that_never_shows() {
    let mut library = Library::builtin();
    let (_, text) = library.entry(Kind::Job, "bypass-puff").unwrap();
    let at = text.find("hidden: [").unwrap();
    let hidden = "hidden: [(fault: \"F15\", at: \"filter\", severity: 3.0, when: [Level(below: 0.05)])],\n)\n";
    let text = format!("{}{hidden}", &text[..at]);
    library.insert(Kind::Job, "never", "never.ron", &text);
    let (job, _) = load_job(&library, "never").unwrap_or_else(|r| panic!("{r}"));
    let found = check_quietly(&job, 24).unwrap();
    let unfair: Vec<&str> =
        found.lints.iter().filter(|l| l.weight == Weight::Unfair).map(|l| l.name.as_str()).collect();
    // and no vehicle of its candidate waits
    assert_eq!(unfair, ["shows-nothing", "waits-alone"], "{:#?}", found.lints);
}

#[test]
fn two_answers_that_nobody_can_tell_apart() {
    caught("ambiguous", "ambiguous", Weight::Unfair, "can't be told apart", "join the two candidates");
    let found = &FOUND["ambiguous"];
    let told =
        |a: &Alike| a.because.contains("same part") && a.would.as_deref().is_some_and(|w| w.contains("sample"));
    assert!(found.alike.iter().any(|a| a.pair == (1, 2) && told(a)), "{:?}", found.alike);
    assert_eq!(found.groups[1], found.groups[2]);
}

/// Two candidates that are alike where they are mild: the advice names the severity from which on they aren't, and whoever
/// follows it has a job in which they are told apart.
#[test]
fn two_answers_that_are_alike_only_where_they_are_mild() {
    caught(
        "mild-ends",
        "ambiguous",
        Weight::Unfair,
        "can't be told apart",
        "Raise the lowest severity of both bands to",
    );
    let found = &FOUND["mild-ends"];
    let [alike] = &found.alike[..] else { panic!("{:#?}", found.alike) };
    let from = alike.from.unwrap();
    assert!(alike.pair == (1, 0) || alike.pair == (0, 1), "{alike:?}");
    assert!((2.0..4.0).contains(&from), "{from}");
    let mut library = Library::builtin();
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/unfair/jobs/mild-ends.ron");
    let text = std::fs::read_to_string(file).unwrap();
    let raised = text
        .replace("severity: (1.0, 4.5)", &format!("severity: ({from:.2}, 4.5)"))
        .replace("severity: (2.0, 4.0)", &format!("severity: ({from:.2}, 4.0)"));
    assert_eq!(raised.matches(&format!("({from:.2}, ")).count(), 2);
    library.insert(Kind::Job, "raised", "raised.ron", &raised);
    let (job, _) = load_job(&library, "raised").unwrap_or_else(|r| panic!("{r}"));
    let found = check_quietly(&job, VEHICLES).unwrap();
    assert!(found.alike.iter().all(|a| a.pair != alike.pair), "{:#?}", found.alike);
    // alike whatever the severity: no band helps
    let both = FOUND["ambiguous"].alike.iter().find(|a| a.pair == (1, 2) || a.pair == (2, 1)).unwrap();
    assert_eq!(both.from, None);
}

/// What one can be sure of is said with what counts as it: an ambiguous job isn't one whose cause can be told.
#[test]
fn how_sure_one_can_be_is_said_of_all_that_counts_as_right() {
    let found = &FOUND["ambiguous"];
    assert_eq!(found.counts_as_hidden(), [1]);
    let words = fair::reach(found);
    assert!(
        words.contains("“Growth from the tank in the filter element” or “Filter element plugged” likely to"),
        "{words}"
    );
    // even between the two: alone the right one stays near a half
    assert!(found.attainable > 0.9 && (0.3..0.7).contains(&found.alone), "{} {}", found.attainable, found.alone);
    assert!(words.contains(&format!("by itself: {:.0} in 100", 100.0 * found.alone)), "{words}");
    let plain = fair::reach(&FOUND["bypass-puff"]);
    assert!(!plain.contains(" or “") && !plain.contains("by itself"), "{plain}");
    let mut all = found.clone();
    all.groups.fill(0);
    assert!(fair::reach(&all).contains("so all count as one answer, and how sure one can be of it says nothing"));
}

#[test]
fn a_fault_too_mild_to_be_found() {
    caught("unsolvable", "unsolvable", Weight::Unfair, "shows next to nothing", "Raise the hidden severity");
}

#[test]
fn a_mark_scheme_that_forgives_what_is_critical() {
    caught("unsafe", "unsafe", Weight::Unfair, "still allows 80 points", "critical_cap below the cut");
    // nothing else is wrong with it
    let unfair: Vec<_> = FOUND["unsafe"].lints.iter().filter(|l| l.weight == Weight::Unfair).collect();
    assert_eq!(unfair.len(), 1, "{unfair:#?}");
}

#[test]
fn a_job_that_one_look_settles() {
    caught("giveaway", "gives-it-away", Weight::NotForAssessment, "alone tells", "Add rivals");
    assert!(FOUND["giveaway"].discrimination() < 0.5);
}

#[test]
fn a_fair_job_is_not_called_unfair() {
    let found = &FOUND["bypass-puff"];
    assert_ne!(found.gravest(), Some(Weight::Unfair), "{:#?}", found.lints);
    assert!(found.attainable >= 0.60 && found.route.minutes > 0.0 && found.par.0 > 0.0);
    assert!(found.tests.len() <= 40 && found.tests.len() > 20, "{} tests", found.tests.len());
    let json = serde_json::to_string(found).unwrap();
    assert_eq!(&serde_json::from_str::<Diagnosability>(&json).unwrap(), found);
}

/// Exact planning is never longer than looking one test ahead, nor shorter than its bound, and worth being told.
#[test]
fn the_best_way_lies_between_its_bound_and_the_greedy_one() {
    for (job, found) in FOUND.iter() {
        let e = &found.exact;
        assert!(e.minutes <= e.greedy_minutes + 1e-9, "{job}: {e:?}");
        assert!(e.bound_minutes <= e.minutes + 1e-9, "{job}: {e:?}");
        assert!(e.tests.len() <= 8 && (e.first.is_some() || e.minutes == 0.0), "{job}: {e:?}");
    }
    let van = &FOUND["bypass-puff"].exact;
    assert!(van.situations > 20 && van.ratio() < 1.5, "{van:?}");
}

#[test]
fn sound_learners_reach_the_job_and_lucky_and_unsafe_ones_do_not() {
    let found = &FOUND["bypass-puff"];
    let of = |kind: Learner| found.learners.iter().find(|l| l.kind == kind).unwrap();
    for kind in [Learner::ByRate, Learner::Slow] {
        assert!(of(kind).reached > 0.8, "{:?}", of(kind));
    }
    for kind in [Learner::Lucky, Learner::Swap, Learner::Unsafe] {
        assert_eq!(of(kind).reached, 0.0, "{:?}", of(kind));
    }
    // a guess that is right earns what safe work earns, and no more
    assert!(of(Learner::Lucky).total[2] <= 10.0 + 1e-9, "{:?}", of(Learner::Lucky));
    assert!(of(Learner::ByRate).total[1] > of(Learner::Random).total[1]);
    assert!(of(Learner::ByRate).minutes < of(Learner::Slow).minutes);
}
