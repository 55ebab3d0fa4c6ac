//! **X** cited evidence: do the readings that the learner names bear what they are cited for?
//!
//! A claim names a reading and says that it supports the finding or rules a rival out. Its weight
//! of evidence is in bans (`log₁₀` of a ratio of likelihoods: 1 ban is ten to one).
//!
//! `X = cl(0.6·min(1, Σ min(w, 1)) + 0.4·ruled out/rivals − 0.25·false − 0.05·neutral)`
//!
//! Source of the weight of evidence: I. J. Good, "Probability and the Weighing of Evidence", 1950.

use std::collections::BTreeMap;

use super::components::share;
use crate::diagnosis::likelihood::log_sum_exp;
use crate::ops;

/// A rival is a cause with at least this prior that isn't the finding.
pub const RIVAL_PRIOR: f64 = 0.10;
const SUPPORT_BANS: f64 = 0.3;
const RULE_OUT_BANS: f64 = 0.5;
const FALSE_BANS: f64 = -0.3;

/// What a reading is cited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cited {
    /// It speaks for the finding.
    Supports,
    /// It rules out this cause.
    RulesOut(usize),
}

/// What a claim is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClaimVerdict {
    /// The reading bears it.
    Valid,
    /// The reading says next to nothing about it.
    Neutral,
    /// The reading says the opposite, or was never taken.
    False,
}

/// Causes that the finding `d` has to be held against.
pub fn rivals(prior: &[f64], d: usize) -> Vec<usize> {
    (0..prior.len()).filter(|&h| h != d && prior[h] >= RIVAL_PRIOR).collect()
}

/// Weight of one reading, bans, from the natural log-likelihoods of all causes:
/// supports `log₁₀(p(y|d)/(Σ_{h≠d} π_h p(y|h)/(1−π_d)))`, rules out `log₁₀(p(y|d)/p(y|h′))`.
pub fn weight_bans(cited: Cited, d: usize, prior: &[f64], log_like: &[f64]) -> f64 {
    let against = match cited {
        Cited::RulesOut(rival) => log_like[rival],
        Cited::Supports => {
            let others: f64 = (0..prior.len()).filter(|&h| h != d).map(|h| prior[h]).sum();
            let terms: Vec<f64> = (0..prior.len())
                .filter(|&h| h != d && prior[h] > 0.0)
                .map(|h| ops::ln(prior[h] / others) + log_like[h])
                .collect();
            log_sum_exp(&terms)
        }
    };
    (log_like[d] - against) / core::f64::consts::LN_10
}

/// Verdict on a claim of this weight; `None` stands for a reading that was never taken.
pub fn claim_verdict(cited: Cited, bans: Option<f64>) -> ClaimVerdict {
    let valid = match cited {
        Cited::Supports => SUPPORT_BANS,
        Cited::RulesOut(_) => RULE_OUT_BANS,
    };
    match bans {
        Some(w) if w >= valid => ClaimVerdict::Valid,
        Some(w) if w > FALSE_BANS => ClaimVerdict::Neutral,
        _ => ClaimVerdict::False,
    }
}

/// **X** over claims (reading, what for, weight in bans). The same claim made again counts once;
/// order doesn't matter. A claim against a cause that is no rival can be false or neutral but earns
/// nothing. Without any rival the support carries the whole share.
pub fn cited_evidence(claims: &[(u32, Cited, Option<f64>)], rivals: &[usize]) -> f64 {
    let once: BTreeMap<(u32, Cited), Option<f64>> = claims.iter().map(|&(r, c, w)| ((r, c), w)).collect();
    let (mut support, mut wrong, mut neutral, mut out) = (0.0, 0.0, 0.0, vec![false; rivals.len()]);
    for (&(_, cited), &bans) in &once {
        match (claim_verdict(cited, bans), cited) {
            (ClaimVerdict::False, _) => wrong += 1.0,
            (ClaimVerdict::Neutral, _) => neutral += 1.0,
            (ClaimVerdict::Valid, Cited::Supports) => support += bans.map_or(0.0, |w| w.min(1.0)),
            (ClaimVerdict::Valid, Cited::RulesOut(h)) => {
                if let Some(i) = rivals.iter().position(|&r| r == h) {
                    out[i] = true;
                }
            }
        }
    }
    let supported = support.min(1.0);
    let earned = if rivals.is_empty() {
        supported
    } else {
        0.6 * supported + 0.4 * out.iter().filter(|o| **o).count() as f64 / rivals.len() as f64
    };
    share(earned - 0.25 * wrong - 0.05 * neutral)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::worked::{PRIOR_1, close, outcome_1};
    use proptest::prelude::*;

    fn weight(cited: Cited, test: usize, low: bool) -> f64 {
        let logs: Vec<f64> = outcome_1(test, low).iter().map(|&x| ops::ln(x)).collect();
        weight_bans(cited, 0, &PRIOR_1, &logs)
    }

    #[test]
    fn example_3_citations_of_cases_a_and_c() {
        let rivals = rivals(&PRIOR_1, 0);
        assert_eq!(rivals, [1, 2, 3]);
        let w = weight(Cited::Supports, 1, true);
        close(w, 0.526, 5e-4);
        close(ops::exp(w * core::f64::consts::LN_10), 0.92 / 0.2742, 2e-3);
        let out = |h, test, low| (test as u32, Cited::RulesOut(h), Some(weight(Cited::RulesOut(h), test, low)));
        let sound = [(1, Cited::Supports, Some(w)), out(1, 1, true), out(2, 1, true), out(3, 2, false)];
        close(cited_evidence(&sound, &rivals), 0.715, 1e-3);
        let idle = weight(Cited::Supports, 0, true);
        close(idle, 0.01, 0.01);
        close(
            cited_evidence(&[(1, Cited::Supports, Some(w)), (0, Cited::Supports, Some(idle))], &rivals),
            0.265,
            1e-3,
        );
    }

    #[test]
    fn limits_of_the_verdicts() {
        let check = |cited, bans, want| assert_eq!(claim_verdict(cited, bans), want, "{cited:?} {bans:?}");
        check(Cited::Supports, Some(0.3), ClaimVerdict::Valid);
        check(Cited::Supports, Some(0.29), ClaimVerdict::Neutral);
        check(Cited::RulesOut(1), Some(0.49), ClaimVerdict::Neutral);
        check(Cited::RulesOut(1), Some(0.5), ClaimVerdict::Valid);
        check(Cited::Supports, Some(-0.3), ClaimVerdict::False);
        check(Cited::Supports, None, ClaimVerdict::False);
        assert_eq!(cited_evidence(&[], &[1]), 0.0);
        close(cited_evidence(&[(0, Cited::Supports, Some(0.7))], &[]), 0.7, 1e-12);
        // a false claim costs five neutral ones
        let base = (0, Cited::Supports, Some(1.0));
        close(cited_evidence(&[base, (1, Cited::Supports, None)], &[1]), 0.35, 1e-12);
        close(cited_evidence(&[base, (1, Cited::Supports, Some(0.0))], &[1]), 0.55, 1e-12);
    }

    fn claims() -> impl Strategy<Value = Vec<(u32, Cited, Option<f64>)>> {
        let one = (0..4_u32, 0..4_usize).prop_map(|(reading, h)| {
            let cited = if h == 0 { Cited::Supports } else { Cited::RulesOut(h) };
            // a claim's weight is a function of the claim
            let bans = (f64::from(reading) * 1.7 + h as f64 * 2.9) % 2.0 - 0.7;
            (reading, cited, (reading != 3).then_some(bans))
        });
        prop::collection::vec(one, 0..10)
    }

    proptest! {
        #[test]
        fn duplicates_and_order_change_nothing(claims in claims()) {
            let x = cited_evidence(&claims, &[1, 2]);
            prop_assert!((0.0..=1.0).contains(&x));
            let twice: Vec<_> = claims.iter().rev().chain(&claims).copied().collect();
            prop_assert_eq!(cited_evidence(&twice, &[1, 2]).to_bits(), x.to_bits());
        }

        #[test]
        fn citing_only_what_holds_is_never_worse(claims in claims()) {
            let holds: Vec<_> = claims.iter().filter(|(_, c, w)| claim_verdict(*c, *w) == ClaimVerdict::Valid).copied().collect();
            prop_assert!(cited_evidence(&claims, &[1, 2]) <= cited_evidence(&holds, &[1, 2]));
        }
    }
}
