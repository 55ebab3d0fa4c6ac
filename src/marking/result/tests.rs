//! The worked totals, each gate alone and what holds for every mark.

use super::super::components::{Severity, procedure};
use super::*;
use crate::diagnosis::worked::close;
use proptest::prelude::*;

/// Weights of D J X S M P C R as specified.
const WEIGHTS: [f64; 8] = [20.0, 25.0, 10.0, 15.0, 10.0, 10.0, 5.0, 5.0];

#[track_caller]
fn example(shares: [f64; 8], points: f64) {
    close(weighted(&shares.into_iter().zip(WEIGHTS).collect::<Vec<_>>()), points, 0.02);
}

#[test]
fn example_3_totals() {
    example([1.0, 0.868, 0.715, 1.0, 1.0, 1.0, 1.0, 1.0], 93.85);
    example([0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0], 10.00);
    example([1.0, 1.0, 0.265, 0.151, 0.625, 0.65, 0.959, 0.423], 69.58);
    example([1.0, 0.868, 0.715, 1.0, 1.0, 0.0, 1.0, 1.0], 83.85);
    example([0.0, 0.0, 0.0, 0.035, 1.0, 1.0, 0.0, 0.038], 20.71);
}

/// Five of the components, to keep cases short.
const FIVE: [Component; 5] = [
    Component::Diagnosis,
    Component::Justified,
    Component::Measurement,
    Component::Procedure,
    Component::Calibration,
];

fn marks(shares: [f64; 5], weights: [f64; 5]) -> Vec<ComponentMark> {
    (0..5).map(|i| ComponentMark { component: FIVE[i], share: shares[i], weight: weights[i] }).collect()
}

fn sound() -> Standing {
    Standing {
        total: Gated { value: 80.0, error: 1.0 },
        cut: 60.0,
        justified: Gated { value: 0.9, error: 0.02 },
        belief: Gated { value: 0.85, error: 0.02 },
        matched: 1.0,
        critical: false,
        floors: vec![(Component::Procedure, 0.65, 0.6)],
        truth_belief: 0.85,
        readings_right: true,
        none_leads: false,
    }
}

#[track_caller]
fn check(change: impl Fn(&mut Standing), want: Outcome, word: &str) {
    let mut standing = sound();
    change(&mut standing);
    let (have, reasons) = outcome(&standing);
    assert_eq!(have, want, "{reasons:?}");
    assert!(reasons.iter().any(|r| r.contains(word)), "{word:?} in {reasons:?}");
}

#[test]
fn each_gate_alone_decides() {
    check(|_| (), Outcome::Reached, "Everything that a pass needs");
    check(|s| s.total.value = 50.0, Outcome::NotReached, "50.00 is below the 60.00 that a pass needs");
    check(|s| s.justified.value = 0.4, Outcome::NotReached, "40 % earned");
    check(|s| s.belief.value = 0.3, Outcome::NotReached, "30 in 100");
    check(|s| s.floors[0].2 = 0.7, Outcome::NotReached, "65 % earned, 70 % needed");
    check(|s| s.critical = true, Outcome::NotReached, "critical");
    check(
        |s| {
            s.matched = 0.0;
            s.belief.value = 0.3;
        },
        Outcome::NotReached,
        "not what was wrong",
    );
}

#[test]
fn each_doubt_calls_a_person() {
    check(|s| s.total.value = 58.5, Outcome::Review, "total lies so close");
    check(|s| s.total.value = 61.5, Outcome::Review, "total lies so close");
    check(|s| s.justified.value = 0.63, Outcome::Review, "bear the conclusion lies");
    check(|s| s.belief.value = 0.47, Outcome::Review, "likely the evidence makes the finding");
    check(|s| s.matched = 0.0, Outcome::Review, "misled");
    check(|s| s.truth_belief = 0.04, Outcome::Review, "are in doubt");
    check(|s| s.none_leads = true, Outcome::Review, "No candidate");
    // exact numbers on the gate are decided
    check(
        |s| {
            s.total = Gated { value: 60.0, error: 0.0 };
            s.truth_belief = 0.04;
            s.readings_right = false;
        },
        Outcome::Reached,
        "Every",
    );
}

#[test]
fn a_close_gate_is_looked_at_only_where_no_other_is_missed_for_certain() {
    let close = |s: &mut Standing| s.belief.value = 0.47;
    check(
        |s| {
            close(s);
            s.total.value = 33.0;
        },
        Outcome::NotReached,
        "33.00 is below",
    );
    check(
        |s| {
            close(s);
            s.floors[0].2 = 0.7;
        },
        Outcome::NotReached,
        "70 % needed",
    );
    // a doubt about the model is one about every gate
    check(
        |s| {
            close(s);
            s.total.value = 33.0;
            s.none_leads = true;
        },
        Outcome::Review,
        "No candidate",
    );
}

#[test]
fn a_critical_breach_outweighs_every_doubt() {
    check(
        |s| {
            s.critical = true;
            s.none_leads = true;
            s.total = Gated { value: 39.0, error: 20.0 };
        },
        Outcome::NotReached,
        "critical",
    );
}

#[test]
fn hints_and_the_cap_are_taken_from_the_total() {
    let all = marks([1.0; 5], [1.0; 5]);
    assert_eq!(total(&all, &[1, 2, 3], false), Total { earned: 100.0, hints: 7.0, capped: 0.0, total: 93.0 });
    assert_eq!(total(&all, &[1], true), Total { earned: 100.0, hints: 1.0, capped: 60.0, total: 39.0 });
    let none = marks([0.0; 5], [1.0; 5]);
    assert_eq!(total(&none, &[3], true), Total { earned: 0.0, hints: 0.0, capped: 0.0, total: 0.0 });
    assert_eq!(total(&marks([1.0; 5], [0.0; 5]), &[], false).total, 0.0);
    assert_eq!(full_points(&marks([0.2; 5], [1.0, 2.0, 3.0, 1.0, 1.0]), Component::Measurement), 37.5);
}

fn shares() -> impl Strategy<Value = [f64; 5]> {
    prop::array::uniform5(0.0..=1.0_f64)
}

proptest! {
    #[test]
    fn a_total_lies_between_0_and_100_and_ignores_the_scale_of_weights(
        shares in shares(), weights in prop::array::uniform5(0.0..100.0_f64), scale in 0.01..100.0_f64, turn in 0..5_usize,
    ) {
        let plain = total(&marks(shares, weights), &[], false).total;
        prop_assert!((0.0..=100.0 + 1e-9).contains(&plain));
        let scaled = total(&marks(shares, weights.map(|w| w * scale)), &[], false).total;
        prop_assert!((plain - scaled).abs() < 1e-9);
        let mut turned = marks(shares, weights);
        turned.rotate_left(turn);
        prop_assert_eq!(total(&turned, &[], false).total.to_bits(), plain.to_bits());
        let points: f64 = FIVE.iter().zip(shares).map(|(c, s)| s * full_points(&marks(shares, weights), *c)).sum();
        prop_assert!((points - plain).abs() < 1e-9);
    }

    #[test]
    fn without_any_reading_no_pass_and_no_more_than_procedure(
        p in 0.0..=1.0_f64,
        weights in prop::array::uniform5(0.1..100.0_f64),
        cut in 0.0..100.0_f64,
    ) {
        use super::super::components::{Match, calibration, diagnosis, justified};
        use super::super::readings::measurement;
        // belief stays at the prior; a lucky right finding
        let j = justified(0.4, 0.4, 0.9);
        let marks = marks([diagnosis(Match::SameGroup, j), j, measurement(&[]), p, calibration(0.5, 0.4, 0)], weights);
        let sum = total(&marks, &[], false).total;
        prop_assert!(sum <= full_points(&marks, Component::Procedure) + 1e-9);
        let standing = Standing {
            total: Gated { value: sum, error: 0.0 }, cut, justified: Gated { value: j, error: 0.0 },
            belief: Gated { value: 0.4, error: 0.0 }, readings_right: false, ..sound()
        };
        prop_assert_eq!(outcome(&standing).0, Outcome::NotReached);
    }

    #[test]
    fn a_critical_breach_fails_whatever_the_weights(
        shares in shares(),
        weights in prop::array::uniform5(0.0..100.0_f64),
        p_weight in 0.0..100.0_f64,
    ) {
        let mut before = marks(shares, weights);
        before[3].weight = p_weight;
        let mut after = before.clone();
        after[3].share = procedure(&[Severity::Critical]);
        let (clean, broken) = (total(&before, &[], false), total(&after, &[], true));
        prop_assert!(broken.total <= clean.total && broken.total <= CRITICAL_CAP);
        let standing = Standing { critical: true, ..sound() };
        prop_assert_eq!(outcome(&standing).0, Outcome::NotReached);
    }
}
