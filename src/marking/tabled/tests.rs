//! Worked example 3 to the printed digits, and the invariants of the mark over logs at random, each
//! against a formula broken on purpose.

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::*;
use crate::diagnosis::belief::each_alone;
use crate::diagnosis::tabled::Table;
use crate::diagnosis::worked::{PRIOR_1, TESTS_1, close, table_1};
use crate::marking::model::Outcome;
use crate::marking::result::{Gated, Standing, outcome};

const WEIGHTS: [f64; 8] = [20.0, 25.0, 10.0, 15.0, 10.0, 10.0, 5.0, 5.0];
const IDLE: usize = 0;
const DEAD_HEAD: usize = 1;
const VOLTAGE: usize = 2;
const FLOW: usize = 3;

fn example() -> Case {
    Case {
        tables: Tables {
            prior: PRIOR_1.to_vec(),
            groups: each_alone(5),
            tests: (0..4).map(|t| Table { minutes: TESTS_1[t].1, likes: table_1(t) }).collect(),
        },
        enough: 0.85,
        right_price: 95.0,
        weights: WEIGHTS,
        truth: 0,
    }
}

fn test(test: usize, low: bool, written: f64) -> Event {
    Event::Test { test, outcome: usize::from(!low), written }
}

fn case_a() -> Log {
    Log {
        events: vec![test(VOLTAGE, false, 1.0), test(DEAD_HEAD, true, 1.0)],
        finding: 0,
        confidence: 0.85,
        claims: vec![
            (DEAD_HEAD, Cited::Supports),
            (DEAD_HEAD, Cited::RulesOut(1)),
            (DEAD_HEAD, Cited::RulesOut(2)),
            (VOLTAGE, Cited::RulesOut(3)),
        ],
    }
}

#[track_caller]
fn check(log: &Log, shares: [f64; 8], points: f64) -> TableMark {
    let mark = assess(&example(), log, &Formulas::STANDARD);
    for (i, (have, want)) in mark.shares.iter().zip(shares).enumerate() {
        assert!((have - want).abs() <= 5.01e-4, "component {i}: {have} for {want} in {mark:?}");
    }
    close(mark.total, points, 5.1e-3);
    mark
}

#[test]
fn example_3_case_a_sound() {
    let mark = check(&case_a(), [1.0, 0.868, 0.715, 1.0, 1.0, 1.0, 1.0, 1.0], 93.85);
    assert_eq!(mark.steps.iter().map(|s| s.wasted).collect::<Vec<_>>(), [0.0, 0.0]);
    assert_eq!(mark.progress, 1.0);
    close(mark.reference, 0.8888, 5e-5);
}

#[test]
fn example_3_case_b_right_by_luck() {
    let log = Log { events: vec![], claims: vec![], ..case_a() };
    check(&log, [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0], 10.0);
}

fn case_c() -> Log {
    Log {
        events: vec![
            test(IDLE, true, 0.0),
            Event::Breach(Severity::Major),
            test(IDLE, true, 0.0),
            test(FLOW, true, 0.5),
            test(DEAD_HEAD, true, 1.0),
            test(VOLTAGE, false, 1.0),
            // 36 minutes of tests and these make the 51 net minutes
            Event::NeedlessPart { price: 28.0, minutes: 15.0 },
        ],
        finding: 0,
        confidence: 0.99,
        claims: vec![(DEAD_HEAD, Cited::Supports), (IDLE, Cited::Supports)],
    }
}

#[test]
fn example_3_case_c_right_and_wasteful() {
    let mark = check(&case_c(), [1.0, 1.0, 0.265, 0.151, 0.625, 0.65, 0.959, 0.423], 69.58);
    let wasted = [5.61, 6.00, 7.13, 3.12, 0.0];
    for (step, want) in mark.steps.iter().zip(wasted) {
        close(step.wasted, want, 5.1e-3);
    }
    close(mark.steps.iter().map(|s| s.wasted).sum(), 21.87, 5.1e-3);
    assert!(!mark.steps[1].material && mark.steps[0].material);
}

#[test]
fn example_3_case_d_critical() {
    let mut log = case_a();
    log.events.push(Event::Breach(Severity::Critical));
    let mark = check(&log, [1.0, 0.868, 0.715, 1.0, 1.0, 0.0, 1.0, 1.0], 39.0);
    close(weighted(&mark.shares.into_iter().zip(WEIGHTS).collect::<Vec<_>>()), 83.85, 5.1e-3);
}

#[test]
fn example_3_case_e_one_vague_test_and_wrong() {
    let log = Log { events: vec![test(IDLE, true, 1.0)], finding: 1, confidence: 0.99, claims: vec![] };
    check(&log, [0.0, 0.0, 0.0, 0.035, 1.0, 1.0, 0.0, 0.038], 20.71);
}

// ---- invariants ---------------------------------------------------------------------------------

/// A case and a log at random; the last test of a case says nothing whatever the cause.
fn worlds() -> impl Strategy<Value = (Case, Log)> {
    let shape = (3..6_usize, 2..5_usize);
    shape.prop_flat_map(|(causes, tests)| {
        let likes = prop::collection::vec(prop::collection::vec(0.03..0.97_f64, causes), tests);
        let prior = prop::collection::vec(0.05..1.0_f64, causes);
        let minutes = prop::collection::vec(0.5..15.0_f64, tests + 1);
        let done = prop::collection::vec((0..tests, any::<bool>(), 0..3_usize), 0..6);
        let rest =
            (0..causes - 1, 0..causes - 1, 0..GRID.len(), prop::collection::vec((0..=tests, 0..causes), 0..6));
        let extras = prop::collection::vec((0..6_usize, 0..4_usize), 0..3);
        (likes, prior, minutes, done, rest, extras).prop_map(
            move |(likes, prior, minutes, done, (truth, finding, grid, claims), extras)| {
                let whole: f64 = prior.iter().sum();
                let mut tables: Vec<Table> = likes
                    .iter()
                    .zip(&minutes)
                    .map(|(row, &minutes)| Table {
                        minutes,
                        likes: row.iter().map(|&p| vec![p, 1.0 - p]).collect(),
                    })
                    .collect();
                tables.push(Table { minutes: minutes[tests], likes: vec![vec![0.7, 0.3]; causes] });
                let case = Case {
                    tables: Tables {
                        prior: prior.iter().map(|p| p / whole).collect(),
                        groups: each_alone(causes),
                        tests: tables,
                    },
                    enough: 0.9,
                    right_price: 60.0,
                    weights: WEIGHTS,
                    truth,
                };
                let mut events: Vec<Event> = done
                    .into_iter()
                    .map(|(test, low, w)| Event::Test {
                        test,
                        outcome: usize::from(!low),
                        written: [0.0, 0.5, 1.0][w],
                    })
                    .collect();
                for (at, kind) in extras {
                    let extra = match kind {
                        0 => Event::Breach(Severity::Minor),
                        1 => Event::Breach(Severity::Major),
                        2 => Event::NeedlessPart { price: 20.0, minutes: 10.0 },
                        _ => Event::Exempt { minutes: 3.0 },
                    };
                    events.insert(at.min(events.len()), extra);
                }
                let claims = claims
                    .into_iter()
                    .map(|(test, h)| (test, if h == finding { Cited::Supports } else { Cited::RulesOut(h) }))
                    .collect();
                (case, Log { events, finding, confidence: GRID[grid], claims })
            },
        )
    })
}

const GRID: [f64; 11] = [0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85, 0.90, 0.95, 0.99];

type Rule = fn(&Case, &Log, usize, &Formulas) -> Result<(), String>;

/// Tries a rule against logs at random; the first counterexample.
fn tried(rule: Rule, formulas: &Formulas) -> Result<(), String> {
    let mut runner = TestRunner::new_with_rng(
        Config { failure_persistence: None, max_shrink_iters: 200, ..Config::default() },
        proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
    );
    runner
        .run(&(worlds(), 0..8_usize), |((case, log), at)| {
            rule(&case, &log, at, formulas).map_err(TestCaseError::fail)
        })
        .map_err(|e| e.to_string())
}

/// A rule holds with the formulas as they are, and a broken formula is caught by it.
#[track_caller]
fn holds_and_catches(rule: Rule, broken: &[(&str, Formulas)]) {
    if let Err(why) = tried(rule, &Formulas::STANDARD) {
        panic!("{why}");
    }
    for (name, formulas) in broken {
        assert!(tried(rule, formulas).is_err(), "“{name}” isn't caught");
    }
}

fn at_most(less: f64, more: f64, what: &str) -> Result<(), String> {
    if less <= more + 1e-9 { Ok(()) } else { Err(format!("{what}: {less} is more than {more}")) }
}

fn same(a: f64, b: f64, what: &str) -> Result<(), String> {
    at_most(a, b, what).and_then(|()| at_most(b, a, what))
}

fn insert(log: &Log, at: usize, event: Event) -> Log {
    let mut log = log.clone();
    log.events.insert(at.min(log.events.len()), event);
    log
}

fn with(change: impl Fn(&mut Formulas)) -> Formulas {
    let mut formulas = Formulas::STANDARD;
    change(&mut formulas);
    formulas
}

#[test]
fn invariants_1_and_2_the_same_mark_again_and_within_its_bounds() {
    let rule: Rule = |case, log, _, f| {
        let mark = assess(case, log, f);
        if assess(case, log, f) != mark {
            return Err("another mark the second time".into());
        }
        let shares = mark.shares.iter().all(|s| (0.0..=1.0).contains(s));
        if shares && (0.0..=100.0 + 1e-9).contains(&mark.total) { Ok(()) } else { Err(format!("{mark:?}")) }
    };
    let unlimited =
        with(|f| f.justified = |p, prior, r, _| crate::marking::components::justified_unlimited(p, prior, r));
    holds_and_catches(rule, &[("J without its limits", unlimited)]);
}

#[test]
fn invariant_3_no_reading_no_pass() {
    let rule: Rule = |case, log, _, f| {
        let mut log = log.clone();
        log.events.retain(|e| !matches!(e, Event::Test { .. }));
        let mark = assess(case, &log, f);
        at_most(mark.total, WEIGHTS[5], "total without a reading")?;
        let standing = Standing {
            total: Gated { value: mark.total, error: 0.0 },
            cut: 0.0,
            justified: Gated { value: mark.shares[1], error: 0.0 },
            belief: Gated { value: mark.belief, error: 0.0 },
            matched: 1.0,
            critical: mark.critical,
            floors: vec![],
            truth_belief: 1.0,
            readings_right: false,
            none_leads: false,
        };
        if outcome(&standing).0 == Outcome::NotReached { Ok(()) } else { Err("passed".into()) }
    };
    holds_and_catches(
        rule,
        &[
            ("no factor G", with(|f| f.progress = |_, _, _| 1.0)),
            (
                "C without a reading",
                with(|f| f.calibration = |c, p, _| crate::marking::components::calibration(c, p, 1)),
            ),
        ],
    );
}

#[test]
fn invariant_3_luck_earns_nothing() {
    let rule: Rule = |case, log, _, f| {
        let log = Log { finding: case.truth, ..log.clone() };
        let mark = assess(case, &log, f);
        if mark.belief <= case.tables.prior[case.truth] && (mark.shares[0] > 0.0 || mark.shares[1] > 0.0) {
            return Err(format!("{mark:?}"));
        }
        Ok(())
    };
    let paid = with(|f| f.justified = |p, prior, r, right| if right { 1.0 } else { justified(p, prior, r) });
    holds_and_catches(rule, &[("paying for luck", paid)]);
}

#[test]
fn invariant_4_safety_costs_no_marked_minute() {
    let rule: Rule = |case, log, at, f| {
        let safe = insert(log, at, Event::Exempt { minutes: 6.0 });
        same(assess(case, &safe, f).total, assess(case, log, f).total, "a safety step moved the total")
    };
    holds_and_catches(rule, &[("exempt minutes counted", with(|f| f.exempt_minutes = true))]);
}

#[test]
fn invariant_5_an_immaterial_test_never_pays() {
    let rule: Rule = |case, log, at, f| {
        let useless = case.tables.tests.len() - 1;
        // citing what was never read is false; reading it afterwards is another log
        let mut log = log.clone();
        log.claims.retain(|(test, _)| *test != useless);
        let log = &log;
        let event = Event::Test { test: useless, outcome: 0, written: 1.0 };
        let (here, plain) = (insert(log, at, event.clone()), assess(case, log, f).total);
        let total = assess(case, &here, f).total;
        at_most(total, plain, "an immaterial test raised the total")?;
        same(assess(case, &insert(log, 0, event), f).total, total, "its place mattered")
    };
    holds_and_catches(
        rule,
        &[
            (
                "mean instead of summed regret",
                with(|f| f.waste = |r| r.iter().sum::<f64>() / r.len().max(1) as f64),
            ),
            ("readings of immaterial tests in M", with(|f| f.immaterial_readings = true)),
        ],
    );
}

#[test]
fn invariant_6_a_repeat_never_pays() {
    let rule: Rule = |case, log, at, f| {
        let tests: Vec<usize> =
            (0..log.events.len()).filter(|&i| matches!(log.events[i], Event::Test { .. })).collect();
        let Some(&i) = tests.get(at % tests.len().max(1)) else { return Ok(()) };
        let again = insert(log, i + 1, log.events[i].clone());
        at_most(assess(case, &again, f).total, assess(case, log, f).total, "a repeat raised the total")
    };
    holds_and_catches(
        rule,
        &[
            ("repeats as independent results", with(|f| f.repeats_count = true)),
            (
                "mean instead of summed regret",
                with(|f| f.waste = |r| r.iter().sum::<f64>() / r.len().max(1) as f64),
            ),
        ],
    );
}

#[test]
fn invariant_7_honest_confidence_is_best() {
    let rule: Rule = |case, log, _, f| {
        let of = |c: f64| assess(case, &Log { confidence: c, ..log.clone() }, f);
        let mark = of(GRID[0]);
        let near = GRID.into_iter().min_by(|a, b| (a - mark.belief).abs().total_cmp(&(b - mark.belief).abs()));
        let best = of(near.unwrap_or(0.5)).shares[6];
        for c in GRID {
            at_most(of(c).shares[6], best, "another confidence pays more")?;
        }
        Ok(())
    };
    let linear = with(|f| f.calibration = |c, p, n| if n == 0 { 0.0 } else { c * p + (1.0 - c) * (1.0 - p) });
    holds_and_catches(rule, &[("confidence scored linearly", linear)]);
}

#[test]
fn invariant_8_breaches_and_needless_parts_never_pay() {
    let rule: Rule = |case, log, at, f| {
        let plain = assess(case, log, f).total;
        for event in [
            Event::Breach(Severity::Minor),
            Event::Breach(Severity::Major),
            Event::NeedlessPart { price: 15.0, minutes: 10.0 },
            Event::Breach(Severity::Critical),
        ] {
            let critical = event == Event::Breach(Severity::Critical);
            let mark = assess(case, &insert(log, at, event), f);
            at_most(mark.total, plain, "it raised the total")?;
            if critical {
                at_most(mark.total, 39.0, "total after a critical breach")?;
            }
        }
        Ok(())
    };
    holds_and_catches(rule, &[("no cap", with(|f| f.critical_cap = 100.0))]);
}

#[test]
fn invariant_9_order_of_causes_and_scale_of_weights_change_nothing() {
    let rule: Rule = |case, log, at, f| {
        let plain = assess(case, log, f).total;
        let scaled = Case { weights: case.weights.map(|w| w * 7.5), ..case.clone() };
        same(assess(&scaled, log, f).total, plain, "scaled weights")?;
        // "none of these" stays last, the others turn
        let n = case.tables.prior.len() - 1;
        let to = |h: usize| if h < n { (h + at) % n } else { h };
        let mut turned = case.clone();
        for h in 0..n {
            turned.tables.prior[to(h)] = case.tables.prior[h];
            for (new, old) in turned.tables.tests.iter_mut().zip(&case.tables.tests) {
                new.likes[to(h)] = old.likes[h].clone();
            }
        }
        turned.truth = to(case.truth);
        let mut log = log.clone();
        log.finding = to(log.finding);
        for (_, cited) in &mut log.claims {
            if let Cited::RulesOut(h) = cited {
                *h = to(*h);
            }
        }
        same(assess(&turned, &log, f).total, plain, "turned causes")?;
        log.claims.reverse();
        same(assess(&turned, &log, f).total, plain, "turned claims")
    };
    let first =
        with(|f| f.cited = |claims, r| super::super::claims::cited_evidence(&claims[..claims.len().min(1)], r));
    holds_and_catches(rule, &[("only the first claim counts", first)]);
}

#[test]
fn invariants_11_and_12_citing_everything_and_twice() {
    let everything: Rule = |case, log, _, f| {
        let rivals = rivals(&case.tables.prior[..case.tables.prior.len() - 1], log.finding);
        let all: Vec<(usize, Cited)> = (0..case.tables.tests.len())
            .flat_map(|t| {
                std::iter::once((t, Cited::Supports)).chain(rivals.iter().map(move |&h| (t, Cited::RulesOut(h))))
            })
            .collect();
        let valid: Vec<(usize, Cited)> = all
            .iter()
            .filter(|&&(t, cited)| {
                let Some(Event::Test { outcome, .. }) =
                    log.events.iter().find(|e| matches!(e, Event::Test { test, .. } if *test == t))
                else {
                    return false;
                };
                let like: Vec<f64> =
                    case.tables.tests[t].likes.iter().map(|row| crate::ops::ln(row[*outcome])).collect();
                let bans = weight_bans(cited, log.finding, &case.tables.prior, &like);
                super::super::claims::claim_verdict(cited, Some(bans)) == super::super::claims::ClaimVerdict::Valid
            })
            .copied()
            .collect();
        let of =
            |claims: &[(usize, Cited)]| assess(case, &Log { claims: claims.to_vec(), ..log.clone() }, f).shares[2];
        at_most(of(&all), of(&valid), "citing everything pays")
    };
    let any = with(|f| {
        f.cited = |claims, rivals| {
            let sum: f64 = claims.iter().map(|(_, _, w)| w.unwrap_or(0.1).abs().max(0.1)).sum();
            (sum / (1.0 + rivals.len() as f64)).min(1.0)
        };
    });
    holds_and_catches(everything, &[("cite everything", any)]);
    let twice: Rule = |case, log, _, f| {
        let mut again = log.clone();
        again.claims.extend(log.claims.iter().copied());
        same(assess(case, &again, f).total, assess(case, log, f).total, "claims made twice")
    };
    let each = with(|f| {
        f.cited = |claims, rivals| {
            let one = |claim: &(u32, Cited, Option<f64>)| super::super::claims::cited_evidence(&[*claim], rivals);
            claims.iter().map(one).sum::<f64>().min(1.0)
        };
    });
    holds_and_catches(twice, &[("duplicate claims", each)]);
}

#[test]
fn invariant_13_each_further_submission_earns_seven_tenths() {
    use super::super::components::resubmission_factor;
    assert_eq!([1, 2].map(resubmission_factor), [1.0, 0.7]);
    close(resubmission_factor(4), 0.343, 1e-12);
}

#[test]
fn invariant_15_the_truth_enters_only_where_it_may() {
    let rule: Rule = |case, log, at, f| {
        let other = Case { truth: at % (case.tables.prior.len() - 1), ..case.clone() };
        let (a, b) = (assess(case, log, f).shares, assess(&other, log, f).shares);
        // J X S C
        for i in [1, 2, 3, 6] {
            same(a[i], b[i], &format!("component {i} sees the truth"))?;
        }
        Ok(())
    };
    let sees = with(|f| f.justified = |p, prior, r, right| if right { 1.0 } else { justified(p, prior, r) });
    holds_and_catches(rule, &[("J that sees the truth", sees)]);
}
