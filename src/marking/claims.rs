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
/// At or below this weight a claim is false, bans.
const FALSE_BANS: f64 = -0.3;

/// What a claim must weigh and what a slip takes; a rubric may set its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClaimRules {
    /// Bans from which a reading supports the finding.
    pub support_bans: f64,
    /// Bans from which a reading rules a rival out.
    pub rule_out_bans: f64,
    /// Share that a false claim takes.
    pub false_loss: f64,
    /// Share that a claim that says nothing takes.
    pub neutral_loss: f64,
}

impl ClaimRules {
    /// Two to one for support, three to one for ruling out; a false claim takes a quarter.
    pub const STANDARD: Self = Self { support_bans: 0.3, rule_out_bans: 0.5, false_loss: 0.25, neutral_loss: 0.05 };
}

/// What a reading is cited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cited {
    /// It speaks for the finding.
    Supports,
    /// It rules out this cause.
    RulesOut(usize),
}

/// A claim: the reading cited, for what, and its weight in bans; `None` for a reading never taken.
pub type Claim = (u32, Cited, Option<f64>);

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
    verdict_by(&ClaimRules::STANDARD, cited, bans)
}

/// [`claim_verdict`] by other rules.
pub fn verdict_by(rules: &ClaimRules, cited: Cited, bans: Option<f64>) -> ClaimVerdict {
    let valid = match cited {
        Cited::Supports => rules.support_bans,
        Cited::RulesOut(_) => rules.rule_out_bans,
    };
    match bans {
        Some(w) if w >= valid => ClaimVerdict::Valid,
        Some(w) if w > FALSE_BANS => ClaimVerdict::Neutral,
        _ => ClaimVerdict::False,
    }
}

/// X shared out over its claims.
#[derive(Clone, Debug, PartialEq)]
pub struct ClaimSplit {
    /// Share of X of each reading cited, in the order of the readings; negative for slips.
    pub readings: Vec<(u32, f64)>,
    /// What brings the sum to X: negative at the ceilings, positive at the floor.
    pub limit: f64,
    /// X.
    pub share: f64,
}

/// **X** over claims (reading, what for, weight in bans). The same claim made again counts once;
/// order doesn't matter. A claim against a cause that is no rival can be false or neutral but earns
/// nothing. Without any rival the support carries the whole share.
pub fn cited_evidence(claims: &[Claim], rivals: &[usize]) -> f64 {
    split_claims(&ClaimRules::STANDARD, claims, rivals).share
}

/// X by these rules, with what each reading adds. A rival ruled out twice counts for the first reading.
pub fn split_claims(rules: &ClaimRules, claims: &[Claim], rivals: &[usize]) -> ClaimSplit {
    let once: BTreeMap<(u32, Cited), Option<f64>> = claims.iter().map(|&(r, c, w)| ((r, c), w)).collect();
    let mut readings: BTreeMap<u32, f64> = BTreeMap::new();
    let (mut support, mut wrong, mut neutral, mut out) = (0.0, 0.0, 0.0, vec![false; rivals.len()]);
    let support_weight = if rivals.is_empty() { 1.0 } else { 0.6 };
    for (&(reading, cited), &bans) in &once {
        let own = readings.entry(reading).or_insert(0.0);
        match (verdict_by(rules, cited, bans), cited) {
            (ClaimVerdict::False, _) => {
                wrong += 1.0;
                *own -= rules.false_loss;
            }
            (ClaimVerdict::Neutral, _) => {
                neutral += 1.0;
                *own -= rules.neutral_loss;
            }
            (ClaimVerdict::Valid, Cited::Supports) => {
                let weight = bans.map_or(0.0, |w| w.min(1.0));
                support += weight;
                *own += support_weight * weight;
            }
            (ClaimVerdict::Valid, Cited::RulesOut(h)) => {
                if let Some(i) = rivals.iter().position(|&r| r == h).filter(|&i| !out[i]) {
                    out[i] = true;
                    *own += 0.4 / rivals.len() as f64;
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
    let share = share(earned - rules.false_loss * wrong - rules.neutral_loss * neutral);
    let limit = share - readings.values().sum::<f64>();
    ClaimSplit { readings: readings.into_iter().collect(), limit, share }
}

/// What naming a line of the sheet for the finding claims: that it supports the finding, and beside
/// it rules out every rival that it speaks against clearly. A line that speaks against the finding
/// claims nothing else; one that rules a rival out needn't support.
pub fn claims_of_line(
    rules: &ClaimRules,
    line: u32,
    support_bans: Option<f64>,
    against: &[(usize, f64)],
) -> Vec<Claim> {
    let support = verdict_by(rules, Cited::Supports, support_bans);
    let mut claims = vec![];
    if support != ClaimVerdict::False {
        claims.extend(
            against
                .iter()
                .map(|&(rival, bans)| (line, Cited::RulesOut(rival), Some(bans)))
                .filter(|(_, cited, bans)| verdict_by(rules, *cited, *bans) == ClaimVerdict::Valid),
        );
    }
    if claims.is_empty() || support != ClaimVerdict::Neutral {
        claims.push((line, Cited::Supports, support_bans));
    }
    claims
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

    #[test]
    fn a_line_claims_support_and_the_rivals_that_it_rules_out() {
        let of = |support, against: &[(usize, f64)]| claims_of_line(&ClaimRules::STANDARD, 7, support, against);
        let supports = (7, Cited::Supports, Some(0.4));
        assert_eq!(of(Some(0.4), &[(1, 0.6), (2, 0.4)]), [(7, Cited::RulesOut(1), Some(0.6)), supports]);
        // it tells one rival off and is no news otherwise: a good citation
        assert_eq!(of(Some(0.1), &[(1, 0.6)]), [(7, Cited::RulesOut(1), Some(0.6))]);
        assert_eq!(of(Some(0.1), &[]), [(7, Cited::Supports, Some(0.1))]);
        assert_eq!(of(Some(-0.5), &[(1, 0.6)]), [(7, Cited::Supports, Some(-0.5))]);
        assert_eq!(of(None, &[]), [(7, Cited::Supports, None)]);
    }

    proptest! {
        #[test]
        fn readings_and_limit_sum_to_the_share(claims in claims()) {
            let split = split_claims(&ClaimRules::STANDARD, &claims, &[1, 2]);
            let sum: f64 = split.readings.iter().map(|r| r.1).sum::<f64>() + split.limit;
            prop_assert!((sum - split.share).abs() < 1e-12);
        }

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
