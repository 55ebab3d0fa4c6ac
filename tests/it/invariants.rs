//! What must be true of every mark, over sittings at random in the real bay, and formulas broken on purpose that must
//! be noticed. Reference sets are small: what is tried here is the mark, not the belief.
//!
//! `PROPTEST_CASES` says how many sittings; a hundred without it.

use std::path::Path;
use std::sync::LazyLock;

use faultbay::analysis::window::window;
use faultbay::attempt::{Attempt, Sitting};
use faultbay::bay::EvidenceKind;
use faultbay::bay::action::{
    Action, Finding, Key, Micros, Perceived, Probe, Quantity, Reading, Remedy, RuledOut, SafetyStep, State,
    TestEntry, Verdict,
};
use faultbay::bay::observation::Answer;
use faultbay::cli::folder;
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::store::Memory;
use faultbay::marking::components::{calibration, justified};
use faultbay::marking::mark::{mark_by, total_by};
use faultbay::marking::model::{Component, ComponentMark, LedgerLine, Mark, Outcome};
use faultbay::marking::tabled::Formulas;
use faultbay::random::{Purpose, uniform};
use faultbay::scenario::model::Job;
use faultbay::scenario::{Library, load_job};
use faultbay::units::PressureUnit;

/// Reference vehicles a candidate: the fewest that there may be.
const VEHICLES: usize = 16;
const GRID: [u8; 6] = [50, 60, 70, 80, 90, 99];

static STORE: LazyLock<Memory> = LazyLock::new(Memory::default);

/// Four candidates, so that a sitting is marked in no time.
static JOB: LazyLock<Job> = LazyLock::new(|| {
    let mut library = Library::builtin();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/unfair");
    assert!(!folder::lay_over(&mut library, &folder).has_errors());
    let Ok((mut job, _)) = load_job(&library, "unsafe") else { panic!("the job can't be read") };
    job.rubric.critical_cap = 39.0;
    job
});

/// The same, its choice of tests judged two tests ahead.
static TWO_AHEAD: LazyLock<Job> = LazyLock::new(|| {
    let mut job = JOB.clone();
    job.lookahead = 2;
    job
});

/// Every other sitting is judged two tests ahead.
fn job(seed: u64) -> &'static Job {
    if seed % 2 == 1 { &TWO_AHEAD } else { &JOB }
}

/// How many sittings.
fn sittings() -> u64 {
    std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(100)
}

/// Luck of one sitting.
struct Luck(u64, u64);

impl Luck {
    fn draw(&mut self) -> f64 {
        self.1 += 1;
        uniform(self.0, Purpose::VirtualLearner, self.1)
    }

    fn chance(&mut self, share: f64) -> bool {
        self.draw() < share
    }

    fn of(&mut self, count: usize) -> usize {
        (self.draw() * count as f64) as usize
    }
}

/// A sitting as it can be sat again: what is done, line by line.
#[derive(Clone)]
struct Script {
    seed: u64,
    actions: Vec<Action>,
}

impl Script {
    fn sat(&self) -> Attempt {
        self.sat_at(job(self.seed))
    }

    fn sat_at(&self, job: &Job) -> Attempt {
        let mut sitting = Sitting::begin(job.clone(), self.seed, None).unwrap();
        for action in &self.actions {
            sitting.act(action);
        }
        assert!(sitting.is_over());
        let Ok((attempt, _)) = sitting.close() else { panic!("handed back") };
        attempt
    }

    fn submit(&self) -> usize {
        self.actions.iter().position(|a| matches!(a, Action::Submit { .. })).unwrap()
    }

    fn with_finding(&self, change: impl Fn(&mut Finding)) -> Self {
        let mut script = self.clone();
        let at = self.submit();
        if let Action::Submit { finding } = &mut script.actions[at] {
            change(finding);
        }
        script
    }

    fn inserted(&self, at: usize, action: Action) -> Self {
        let mut script = self.clone();
        script.actions.insert(at, action);
        script
    }
}

fn mark(script: &Script) -> Mark {
    mark_by(job(script.seed), &script.sat(), VEHICLES, &*STORE, &Unwatched).unwrap()
}

fn total(script: &Script, formulas: &Formulas) -> (Vec<ComponentMark>, f64) {
    total_by(job(script.seed), &script.sat(), VEHICLES, formulas, &*STORE).unwrap()
}

fn share(marks: &[ComponentMark], component: Component) -> f64 {
    marks.iter().find(|m| m.component == component).map_or(0.0, |m| m.share)
}

fn record(state: State, value: f64) -> Action {
    Action::Record {
        reading: Reading {
            state,
            value,
            unit: Some(PressureUnit::Mbar),
            verdict: Verdict::NotProven,
            source: "vehicle card".into(),
            window: None,
            remark: String::new(),
        },
    }
}

/// A sitting at random: safety now and then forgotten, some states read, some numbers written wrong, any finding.
fn at_random(seed: u64) -> Script {
    let mut luck = Luck(seed, 0);
    let mut sitting = Sitting::begin(JOB.clone(), seed, None).unwrap();
    let mut actions: Vec<Action> = vec![];
    let mut act = |action: Action| {
        sitting.act(&action);
        actions.push(action);
        sitting.observe().gauge.map_or(0.0, |g| g.mbar.round())
    };
    for step in SafetyStep::ALL {
        if luck.chance(0.9) {
            act(Action::MakeSafe { step });
        }
    }
    if luck.chance(0.3) {
        act(Action::Cap { open: true });
        act(Action::Note { what: Perceived::Cap, seen: "silent".into() });
        act(Action::Cap { open: false });
    }
    if luck.chance(0.9) {
        let joint = JOB.joints[luck.of(JOB.joints.len())].0.clone();
        act(Action::FitTee { joint, new_seals: luck.chance(0.9) });
        act(Action::Purge);
        if luck.chance(0.9) {
            act(Action::Zero);
        }
        let mut shown = act(Action::Wait { secs: 5.0 });
        let slip = |luck: &mut Luck| if luck.chance(0.2) { 40.0 } else { 0.0 };
        if luck.chance(0.6) {
            act(record(State::Rest, shown + slip(&mut luck)));
        }
        if luck.chance(0.8) {
            act(Action::Key { to: Key::On });
            act(Action::Crank { secs: 8.0 });
            shown = act(Action::Wait { secs: 40.0 });
            if luck.chance(0.7) {
                act(record(State::Idle, shown + slip(&mut luck)));
            }
            if luck.chance(0.3) {
                act(Action::Note { what: Perceived::Engine, seen: "steady".into() });
            }
            act(Action::Speed { rpm: 2500.0 });
            shown = act(Action::Wait { secs: 20.0 });
            if luck.chance(0.7) {
                act(record(State::Raised, shown + slip(&mut luck)));
            }
            act(Action::Key { to: Key::Off });
            shown = act(Action::Wait { secs: 60.0 });
            if luck.chance(0.5) {
                act(record(State::Hold, shown + slip(&mut luck)));
            }
        }
    }
    let lines = sitting.sheet().len();
    let mut last = |action: Action| actions.push(action);
    let candidate = JOB.candidates[luck.of(JOB.candidates.len())].name.clone();
    let evidence = (1..=lines).filter(|_| luck.chance(0.5)).collect();
    let confidence = GRID[luck.of(GRID.len())];
    last(Action::Submit {
        finding: Finding { candidate, confidence, evidence, ruled_out: vec![], words: String::new() },
    });
    if luck.chance(0.3) {
        last(Action::Repair { part: "filter".into(), remedy: Remedy::Replace });
    }
    last(Action::MakeSafe { step: SafetyStep::PressureAway });
    if luck.chance(0.9) {
        last(Action::RemoveTee { new_seals: true });
        last(Action::LeakCheck);
    }
    last(Action::HandBack);
    Script { seed, actions }
}

type Rule = fn(&Script, &Formulas) -> Result<(), String>;

fn at_most(less: f64, more: f64, what: &str) -> Result<(), String> {
    if less <= more + 1e-9 { Ok(()) } else { Err(format!("{what}: {less} is more than {more}")) }
}

/// 2: everything within its bounds.
fn bounds(script: &Script, f: &Formulas) -> Result<(), String> {
    let (marks, total) = total(script, f);
    if marks.iter().all(|m| (0.0..=1.0).contains(&m.share)) && (0.0..=100.0 + 1e-9).contains(&total) {
        return Ok(());
    }
    Err(format!("{total} of {marks:?}"))
}

/// 3: without a reading no more than safe work earns.
fn nothing_read(script: &Script, f: &Formulas) -> Result<(), String> {
    let mut bare = script.with_finding(|finding| finding.evidence.clear());
    bare.actions.retain(|a| !matches!(a, Action::Record { .. } | Action::Note { .. }));
    let (marks, total) = total(&bare, f);
    let safe = marks.iter().find(|m| m.component == Component::Procedure).map_or(0.0, |m| m.weight);
    at_most(total, safe, "total without a reading")
}

/// 3: a finding that is right but held no likelier than before earns neither D nor J.
fn luck_earns_nothing(script: &Script, f: &Formulas) -> Result<(), String> {
    let lucky = script.with_finding(|finding| finding.candidate = "plugged-filter".into());
    let plain = mark(&lucky);
    let (before, after) = (plain.beliefs[0].justified[0], plain.justified_in_finding.map_or(0.0, |b| b.0));
    let (marks, _) = total(&lucky, f);
    if after <= before && share(&marks, Component::Diagnosis) + share(&marks, Component::Justified) > 0.0 {
        return Err(format!("{before} before, {after} after: {marks:?}"));
    }
    Ok(())
}

/// 15: J follows from the belief, not from being right.
fn blind_to_the_truth(script: &Script, f: &Formulas) -> Result<(), String> {
    let right = script.with_finding(|finding| finding.candidate = "plugged-filter".into());
    let plain = mark(&right);
    let Some((belief, _)) = plain.justified_in_finding.filter(|_| plain.moves.iter().any(|m| m.material)) else {
        return Ok(());
    };
    let due = justified(belief, plain.beliefs[0].justified[0], plain.basis.full_belief);
    let (marks, _) = total(&right, f);
    let earned = share(&marks, Component::Justified);
    // a stretch may be material though none of its lines is: then nothing is due
    if earned == 0.0 || (earned - due).abs() < 1e-6 { Ok(()) } else { Err(format!("J {earned}, due {due}")) }
}

/// 6: writing a line again never pays. 9: nor does the unit it is written in matter.
fn again_and_in_bar(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let Some(at) = script.actions.iter().position(|a| matches!(a, Action::Record { .. })) else { return Ok(()) };
    let again = script.inserted(at + 1, script.actions[at].clone());
    // lines that were named move down by one
    let again = again.with_finding(|finding| {
        let line = script.actions[..at]
            .iter()
            .filter(|a| matches!(a, Action::Record { .. } | Action::Note { .. }))
            .count()
            + 1;
        for cited in &mut finding.evidence {
            *cited += usize::from(*cited > line);
        }
    });
    at_most(total(&again, f).1, plain, "a line written again")?;
    let mut bar = script.clone();
    for action in &mut bar.actions {
        if let Action::Record { reading } = action {
            reading.value /= 10.0;
            reading.unit = Some(PressureUnit::KiloPascal);
        }
    }
    let other = total(&bar, f).1;
    at_most(other, plain, "another unit").and_then(|()| at_most(plain, other, "another unit"))
}

/// 7: the confidence nearest to the justified belief earns most.
fn honest_confidence(script: &Script, f: &Formulas) -> Result<(), String> {
    let of = |c: u8| share(&total(&script.with_finding(|x| x.confidence = c), f).0, Component::Calibration);
    let belief = mark(script).justified_in_finding.map_or(0.0, |b| b.0);
    let near = GRID.into_iter().min_by(|a, b| {
        let off = |c: &u8| (f64::from(*c) / 100.0 - belief).abs();
        off(a).total_cmp(&off(b))
    });
    let best = of(near.unwrap_or(50));
    [50, 80, 99].into_iter().try_for_each(|c| at_most(of(c), best, "another confidence"))
}

/// 8: a needless part and a breach never pay; after a critical one nobody has reached the job.
fn breaches_never_pay(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let after = script.submit() + 1;
    let part = Action::Repair { part: "transfer pump".into(), remedy: Remedy::Replace };
    at_most(total(&script.inserted(after, part), f).1, plain, "a needless part")?;
    let joint = JOB.joints[0].0.clone();
    let mut critical = script.clone();
    critical.actions.retain(|a| !matches!(a, Action::RemoveTee { .. }));
    let end = critical.actions.len() - 1;
    critical.actions.insert(end, Action::FitTee { joint, new_seals: true });
    critical.actions.insert(end + 1, Action::Valve { open: 0.0 });
    let (_, capped) = total(&critical, f);
    at_most(capped, plain, "a critical breach")?;
    at_most(capped, JOB.rubric.critical_cap, "total after a critical breach")?;
    if mark(&critical).outcome == Outcome::Reached { Err("reached".into()) } else { Ok(()) }
}

/// 12: naming a line twice, or in another order, changes nothing.
fn named_twice(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let twice = script.with_finding(|x| {
        let again = x.evidence.clone();
        x.evidence.extend(again);
        x.evidence.reverse();
    });
    let other = total(&twice, f).1;
    at_most(other, plain, "lines named twice").and_then(|()| at_most(plain, other, "lines named twice"))
}

/// 4: a safety step that stands already, anywhere, changes nothing.
fn safe_again(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let step = Action::MakeSafe { step: SafetyStep::Ventilation };
    let Some(first) = script.actions.iter().position(|a| *a == step) else { return Ok(()) };
    let other = total(&script.inserted(first + 1 + script.seed as usize % 5, step), f).1;
    at_most(other, plain, "a safety step").and_then(|()| at_most(plain, other, "a safety step"))
}

/// Lines that a script writes before some place in it.
fn lines_before(script: &Script, at: usize) -> usize {
    let writes = |a: &&Action| matches!(a, Action::Record { .. } | Action::Note { .. } | Action::RecordTest { .. });
    script.actions[..at].iter().filter(writes).count()
}

/// The same with a thermometer held to the filter, written down right: the fuel is as warm as the day whatever is
/// wrong here, so it can change nothing.
fn with_useless_test(script: &Script, at: usize) -> Script {
    let mut sitting = Sitting::begin(JOB.clone(), script.seed, None).unwrap();
    let useless = Action::Measure { probe: Probe::Thermometer { place: "filter".into() } };
    sitting.act(&useless);
    let value = sitting.observe().meters.last().expect("it was read").value;
    let entry = TestEntry {
        quantity: Quantity::Temperature,
        value,
        unit: Some(Quantity::Temperature.unit()),
        verdict: Verdict::NotProven,
        source: String::new(),
        remark: String::new(),
    };
    let before = lines_before(script, at);
    let with = script.inserted(at, Action::RecordTest { entry }).inserted(at, useless);
    with.with_finding(|finding| {
        let lines = finding.ruled_out.iter_mut().flat_map(|out| out.lines.iter_mut());
        for cited in finding.evidence.iter_mut().chain(lines) {
            *cited += usize::from(*cited > before);
        }
    })
}

/// 5: a test that can tell nothing never pays, wherever it is made before the tee is fitted.
fn useless_test(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let fit = script.actions.iter().position(|a| matches!(a, Action::FitTee { .. }));
    let places = [0, fit.unwrap_or(0) / 2, fit.unwrap_or(0)];
    let totals = places.map(|at| total(&with_useless_test(script, at), f).1);
    // a later clock shifts the noise of the gauge's samples, whose means move by hundredths of a millibar
    totals.iter().try_for_each(|with| at_most(*with, plain + 0.02, "a test that tells nothing"))?;
    totals.iter().try_for_each(|with| at_most(*with, totals[0] + 0.02, "its place"))?;
    totals.iter().try_for_each(|with| at_most(totals[0], *with + 0.02, "its place"))
}

/// 11: naming every line for the finding and against every rival earns no more than naming those that bear it.
fn everything_named(script: &Script, f: &Formulas) -> Result<(), String> {
    let lines: Vec<usize> = (1..=lines_before(script, script.submit())).collect();
    if lines.is_empty() {
        return Ok(());
    }
    let rivals = |finding: &Finding| -> Vec<String> {
        JOB.candidates.iter().map(|c| c.name.clone()).filter(|name| *name != finding.candidate).collect()
    };
    let all = script.with_finding(|x| {
        x.evidence = lines.clone();
        let out = |candidate| RuledOut { candidate, lines: lines.clone() };
        x.ruled_out = rivals(x).into_iter().map(out).collect();
    });
    let ledger = mark(&all).ledger;
    let bears: Vec<usize> = ledger
        .iter()
        .filter(|l| matches!(l.template.as_str(), "cited.valid" | "cited.rules-out"))
        .flat_map(|l| l.lines.clone())
        .collect();
    // in the order of the rivals named
    let said: Vec<_> = ledger.iter().filter(|l| l.template.starts_with("rival.")).collect();
    let valid = script.with_finding(|x| {
        x.evidence.clone_from(&bears);
        let out = |(candidate, line): (String, &&LedgerLine)| {
            let valid = line.template == "rival.valid" && !line.lines.is_empty();
            valid.then(|| RuledOut { candidate, lines: line.lines.clone() })
        };
        x.ruled_out = rivals(x).into_iter().zip(&said).filter_map(out).collect();
    });
    let named = |script: &Script| share(&total(script, f).0, Component::Cited);
    at_most(named(&all), named(&valid), "everything named")
}

/// 14: evidence that bears the finding more, all else as it is, never lowers J or D.
fn surer_evidence(script: &Script, f: &Formulas) -> Result<(), String> {
    let right = script.with_finding(|finding| finding.candidate = "plugged-filter".into());
    let at = |surer: f64| total(&right, &Formulas { surer, ..*f }).0;
    let marks = [0.0, 0.2, 0.6, 0.95, 1.0].map(at);
    marks.windows(2).try_for_each(|pair| {
        let earned = |m: &[ComponentMark], c| share(m, c);
        [Component::Justified, Component::Diagnosis]
            .into_iter()
            .try_for_each(|c| at_most(earned(&pair[0], c), earned(&pair[1], c), "surer evidence"))
    })
}

/// The job with its candidates called otherwise, short names and labels.
fn called_otherwise(job: &Job, name: impl Fn(usize) -> String) -> Job {
    let mut other = job.clone();
    for (i, candidate) in other.candidates.iter_mut().enumerate() {
        candidate.name = name(i);
        candidate.label = format!("Cause number {}", i + 1);
    }
    other
}

/// A sitting of that job, marked; `finding` names the candidate with this number.
fn total_otherwise(script: &Script, other: &Job, f: &Formulas, finding: impl Fn(usize) -> String) -> f64 {
    let number = |name: &str| JOB.candidates.iter().position(|c| c.name == name).unwrap();
    let script = script.with_finding(|x| {
        x.candidate = finding(number(&x.candidate));
        x.ruled_out.iter_mut().for_each(|out| out.candidate = finding(number(&out.candidate)));
    });
    total_by(other, &script.sat_at(other), VEHICLES, f, &*STORE).unwrap().1
}

/// 9: what candidates are called changes nothing, to the bit.
fn called_whatever(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let name = |i: usize| format!("z{}", 9 - i);
    let other = total_otherwise(script, &called_otherwise(job(script.seed), name), f, name);
    if plain.to_bits() == other.to_bits() { Ok(()) } else { Err(format!("{plain}, under other names {other}")) }
}

/// 9: nor does their order, but for rounding.
fn in_any_order(script: &Script, f: &Formulas) -> Result<(), String> {
    let plain = total(script, f).1;
    let mut other = job(script.seed).clone();
    let count = other.candidates.len();
    other.candidates.rotate_left(1 + script.seed as usize % (count - 1));
    other.candidates.reverse();
    let other = total_by(&other, &script.sat_at(&other), VEHICLES, f, &*STORE).unwrap().1;
    if (plain - other).abs() < 1e-9 { Ok(()) } else { Err(format!("{plain}, in another order {other}")) }
}

/// A name that is read as another's is noticed.
#[test]
fn names_that_are_mixed_up_are_noticed() {
    let name = |i: usize| format!("z{}", 9 - i);
    let mixed = |i: usize| name((i + 1) % JOB.candidates.len());
    let noticed = (0..12).any(|i| {
        let script = at_random(1000 + i);
        let other = called_otherwise(job(script.seed), name);
        let f = &Formulas::STANDARD;
        total_otherwise(&script, &other, f, mixed).to_bits() != total(&script, f).1.to_bits()
    });
    assert!(noticed);
}

const RULES: [Rule; 14] = [
    bounds,
    nothing_read,
    luck_earns_nothing,
    blind_to_the_truth,
    again_and_in_bar,
    honest_confidence,
    breaches_never_pay,
    named_twice,
    safe_again,
    useless_test,
    everything_named,
    surer_evidence,
    called_whatever,
    in_any_order,
];

/// Every sitting is held against the rules in turn, and its mark against itself.
#[test]
fn whatever_is_done_the_mark_keeps_its_rules() {
    for i in 0..sittings() {
        let script = at_random(1000 + i);
        // a rule sits the job anew several times: each takes every third sitting in turn
        let rule = RULES[i as usize / 3 % RULES.len()];
        if i % 3 == 0
            && let Err(why) = rule(&script, &Formulas::STANDARD)
        {
            panic!("sitting {i}: {why}\n{:#?}", script.actions);
        }
        // 1: the same again, to the byte; 2: the ledger sums to the total
        let (first, second) = (mark(&script), mark(&script));
        assert_eq!(serde_json::to_string(&first).unwrap(), serde_json::to_string(&second).unwrap());
        let sum: i64 = first.ledger.iter().map(|l| l.hundredths).sum();
        assert_eq!(sum, (first.total * 100.0).round() as i64, "sitting {i}");
        assert!(first.outcome != Outcome::Reached || first.total >= JOB.rubric.cut);
    }
}

/// A broken formula is noticed by the rule that stands against it, within so many sittings.
#[track_caller]
fn noticed(name: &str, rule: Rule, broken: impl Fn(&mut Formulas)) {
    let mut formulas = Formulas::STANDARD;
    broken(&mut formulas);
    let noticed = (0..40).any(|i| rule(&at_random(1000 + i), &formulas).is_err());
    assert!(noticed, "“{name}” isn't noticed");
}

#[test]
fn broken_formulas_are_noticed() {
    noticed("J without its limits", bounds, |f| {
        f.justified = |p, prior, r, _| faultbay::marking::components::justified_unlimited(p, prior, r);
    });
    noticed("no factor G", nothing_read, |f| f.progress = |_, _, _| 1.0);
    noticed("C without a reading", nothing_read, |f| f.calibration = |c, p, _| calibration(c, p, 1));
    noticed("paying for being right", blind_to_the_truth, |f| {
        f.justified = |p, prior, r, right| {
            if right { 1.0 } else { justified(p, prior, r) }
        };
    });
    noticed("confidence scored linearly", honest_confidence, |f| {
        f.calibration = |c, p, n| if n == 0 { 0.0 } else { c * p + (1.0 - c) * (1.0 - p) };
    });
    noticed("readings of tests that tell nothing in M", useless_test, |f| f.immaterial_readings = true);
    noticed("mean instead of summed waste", useless_test, |f| {
        f.waste = |w| w.iter().sum::<f64>() / w.len().max(1) as f64;
    });
    noticed("paying for every line named", everything_named, |f| f.claim_loss = -1.0);
    noticed("taking for a belief beyond the reference", surer_evidence, |f| {
        f.justified = |p, prior, r, _| {
            let way = faultbay::marking::components::justified_unlimited(p, prior, r);
            (1.0 - (1.0 - way).abs()).clamp(0.0, 1.0)
        };
    });
    noticed("no cap", breaches_never_pay, |f| f.critical_cap = 139.0);
}

/// What an instrument's number is told as; another one only to try whether it would be noticed.
type Told = fn(f64, Micros) -> f64;

/// 10: what a test shows hangs on vehicle, test, condition and how often it was made: the same vehicle tested in two
/// orders and at two times of the day shows the same numbers to the bit, and the same levels within their noise.
fn same_test_same_value(seed: u64, told: Told) -> Result<(), String> {
    let entry = |quantity: Quantity| Action::RecordTest {
        entry: TestEntry {
            quantity,
            value: 1.0,
            unit: Some(quantity.unit()),
            verdict: Verdict::NotProven,
            source: String::new(),
            remark: String::new(),
        },
    };
    let battery = [Action::Battery, entry(Quantity::Voltage), entry(Quantity::Speed)];
    let sample = [Action::Sample, entry(Quantity::Level), Action::Sample, entry(Quantity::Level)];
    let joint = JOB.joints[JOB.joints.len() - 1].0.clone();
    let run = [
        Action::FitTee { joint, new_seals: true },
        Action::Purge,
        Action::Zero,
        Action::Key { to: Key::On },
        Action::Crank { secs: 8.0 },
        Action::Wait { secs: 60.0 },
        record(State::Idle, 0.0),
        Action::Speed { rpm: 2500.0 },
        Action::Wait { secs: 30.0 },
        record(State::Raised, 0.0),
    ];
    let end = [
        Action::Key { to: Key::Off },
        Action::MakeSafe { step: SafetyStep::PressureAway },
        Action::RemoveTee { new_seals: true },
        Action::HandBack,
    ];
    let shown = |first: &[&[Action]]| -> Vec<(String, f64, bool)> {
        let actions = first.concat().into_iter().chain(run.clone()).chain(end.clone()).collect();
        let script = Script { seed, actions };
        let bay = faultbay::attempt::replay(&JOB, &script.sat()).unwrap();
        let of = |e: &faultbay::bay::Evidence| match &e.kind {
            EvidenceKind::Number { probe, shown, .. } => (format!("{probe:?}"), told(*shown, e.at), true),
            EvidenceKind::Level { state, window: (from, to), .. } => {
                let level = window(bay.trace(), &bay.trace().mbar, *from, *to).unwrap().level;
                (state.word().to_owned(), told(level, e.at), false)
            }
            EvidenceKind::Word { .. } => unreachable!(),
        };
        let mut all: Vec<_> = bay.evidence().iter().map(of).collect();
        all.sort_by(|a, b| a.0.cmp(&b.0));
        all
    };
    let wait = [Action::Wait { secs: 437.0 }];
    let (a, b) = (shown(&[&battery, &sample]), shown(&[&wait, &sample, &battery]));
    assert_eq!(a.len(), 6);
    for ((name, x, exact), (other, y, _)) in a.iter().zip(&b) {
        // twelve looks in a window with half a millibar of noise each
        let same = if *exact { x.to_bits() == y.to_bits() } else { (x - y).abs() < 0.8 };
        if name != other || !same {
            return Err(format!("{name}: {x} and {y}"));
        }
    }
    Ok(())
}

#[test]
fn the_same_test_shows_the_same_whatever_was_done_before() {
    for seed in 0..6 {
        same_test_same_value(seed, |shown, _| shown).unwrap();
    }
    let by_the_clock =
        (0..6).any(|seed| same_test_same_value(seed, |x, at| x * (1.0 + at as f64 * 1e-11)).is_err());
    assert!(by_the_clock, "an instrument that follows the clock isn't noticed");
}

/// 13: one submission.
#[test]
fn a_second_finding_is_refused() {
    let script = at_random(1007);
    let mut sitting = Sitting::begin(JOB.clone(), script.seed, None).unwrap();
    let submit = script.submit();
    for action in &script.actions[..=submit] {
        sitting.act(action);
    }
    assert!(matches!(sitting.act(&script.actions[submit]), Answer::Refused { .. }));
}

/// Hints take what the mark scheme says and are told, and never more than there is.
#[test]
fn hints_cost_what_they_say() {
    let script = at_random(1003);
    let plain = mark(&script);
    let hinted = script
        .inserted(script.submit(), Action::Hint { level: 3 })
        .inserted(script.submit(), Action::Wait { secs: 0.0 });
    let with = mark(&hinted);
    let cost = JOB.rubric.hints[2].min(plain.total);
    assert!((plain.total - with.total - cost).abs() < 0.011, "{} and {}", plain.total, with.total);
    assert_eq!(with.ledger.iter().filter(|l| l.template == "total.hint").count(), 1);
    let sum: i64 = with.ledger.iter().map(|l| l.hundredths).sum();
    assert_eq!(sum, (with.total * 100.0).round() as i64);
}
