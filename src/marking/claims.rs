//! **X** cited evidence: do the readings that the learner names bear what they are cited for?
//!
//! A claim names a reading and says that it supports the finding or rules a rival out. Its weight
//! of evidence is in bans (`log₁₀` of a ratio of likelihoods: 1 ban is ten to one).
//!
//! `X = cl(0.6·min(1, Σ min(w, 1)) + 0.4·ruled out/rivals − 0.25·false − 0.05·neutral)`
//!
//! A rival is ruled out by what the finding says: "not this one, because of lines 4 and 6", weighed together. Lines
//! named for the finding may rule out a rival without a word of it; that counts by half, since who wrote them down
//! for their reason and who listed them all look the same then.
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
    /// How much a rival counts that a named line rules out although the finding doesn't say so, 0 … 1.
    pub unsaid: f64,
}

impl ClaimRules {
    /// Two to one for support, three to one for ruling out; a false claim takes a quarter; a rival that is ruled out
    /// unsaid counts by half.
    pub const STANDARD: Self =
        Self { support_bans: 0.3, rule_out_bans: 0.5, false_loss: 0.25, neutral_loss: 0.05, unsaid: 0.5 };
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

/// A line named against a rival must by itself speak so much against it, or it is only there for show, bans.
pub const SAYS_BANS: f64 = 0.1;

/// A rival that the finding says is ruled out by some lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Against {
    /// The rival.
    pub rival: usize,
    /// Weight of those lines together, bans; `None` where none of them was ever taken.
    pub bans: Option<f64>,
    /// Lines among them that say nothing by themselves.
    pub silent: Vec<usize>,
    /// Lines among them that speak for the rival.
    pub contrary: Vec<usize>,
}

impl Against {
    /// From the weight of the lines together and of each by itself. A line alone is what it is together.
    pub fn new(rival: usize, together: Option<f64>, each: &[(usize, f64)]) -> Self {
        let by = |holds: fn(f64) -> bool| -> Vec<usize> {
            let several = each.iter().filter(|_| each.len() > 1);
            several.filter(|(_, bans)| holds(*bans)).map(|(line, _)| *line).collect()
        };
        let silent = by(|bans| bans < SAYS_BANS && bans > FALSE_BANS);
        Self { rival, bans: together, silent, contrary: by(|bans| bans <= FALSE_BANS) }
    }

    /// What the lines together are worth.
    pub fn verdict(&self, rules: &ClaimRules) -> ClaimVerdict {
        verdict_by(rules, Cited::RulesOut(self.rival), self.bans)
    }

    /// Share that it takes for what doesn't bear it.
    fn loss(&self, rules: &ClaimRules) -> f64 {
        let together = match self.verdict(rules) {
            ClaimVerdict::Valid => 0.0,
            ClaimVerdict::Neutral => rules.neutral_loss,
            ClaimVerdict::False => rules.false_loss,
        };
        together + rules.neutral_loss * self.silent.len() as f64 + rules.false_loss * self.contrary.len() as f64
    }
}

/// What a finding claims about lines of the sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Claims {
    /// What each line is named for.
    pub lines: Vec<Claim>,
    /// Rivals that it says are ruled out, each once.
    pub against: Vec<Against>,
    /// Lines named for the finding that rule out a rival although it doesn't say so: line and rival.
    pub unsaid: Vec<(u32, usize)>,
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
    /// Share of X of each rival that the finding says is ruled out.
    pub against: Vec<f64>,
    /// What brings the sum to X: negative at the ceilings, positive at the floor.
    pub limit: f64,
    /// X.
    pub share: f64,
}

/// **X** over claims (reading, what for, weight in bans). The same claim made again counts once;
/// order doesn't matter. A claim against a cause that is no rival can be false or neutral but earns
/// nothing. Without any rival the support carries the whole share.
pub fn cited_evidence(claims: &[Claim], rivals: &[usize]) -> f64 {
    let claims = Claims { lines: claims.to_vec(), ..Claims::default() };
    split_claims(&ClaimRules::STANDARD, &claims, rivals).share
}

/// X by these rules, with what each reading adds. A rival ruled out twice counts for what rules it out most: what the
/// finding says before what it leaves unsaid, then the first reading.
pub fn split_claims(rules: &ClaimRules, claims: &Claims, rivals: &[usize]) -> ClaimSplit {
    let once: BTreeMap<(u32, Cited), Option<f64>> = claims.lines.iter().map(|&(r, c, w)| ((r, c), w)).collect();
    let mut readings: BTreeMap<u32, f64> = BTreeMap::new();
    let (mut support, mut lost, mut out) = (0.0, 0.0, vec![0.0; rivals.len()]);
    let support_weight = if rivals.is_empty() { 1.0 } else { 0.6 };
    let each = 0.4 / rivals.len().max(1) as f64;
    let mut rule_out = |rival: usize, counts: f64| -> f64 {
        let Some(i) = rivals.iter().position(|&r| r == rival).filter(|&i| out[i] == 0.0) else { return 0.0 };
        out[i] = counts;
        each * counts
    };
    let against = claims
        .against
        .iter()
        .map(|a| {
            lost += a.loss(rules);
            let earned = if a.verdict(rules) == ClaimVerdict::Valid { rule_out(a.rival, 1.0) } else { 0.0 };
            earned - a.loss(rules)
        })
        .collect();
    for (&(reading, cited), &bans) in &once {
        let own = readings.entry(reading).or_insert(0.0);
        match (verdict_by(rules, cited, bans), cited) {
            (ClaimVerdict::False, _) => {
                lost += rules.false_loss;
                *own -= rules.false_loss;
            }
            (ClaimVerdict::Neutral, _) => {
                lost += rules.neutral_loss;
                *own -= rules.neutral_loss;
            }
            (ClaimVerdict::Valid, Cited::Supports) => {
                let weight = bans.map_or(0.0, |w| w.min(1.0));
                support += weight;
                *own += support_weight * weight;
            }
            (ClaimVerdict::Valid, Cited::RulesOut(h)) => *own += rule_out(h, 1.0),
        }
    }
    for &(line, rival) in &claims.unsaid {
        *readings.entry(line).or_insert(0.0) += rule_out(rival, rules.unsaid);
    }
    let earned = support_weight * support.min(1.0) + each * out.iter().sum::<f64>();
    let share = share(earned - lost);
    let against: Vec<f64> = against;
    let limit = share - readings.values().sum::<f64>() - against.iter().sum::<f64>();
    ClaimSplit { readings: readings.into_iter().collect(), against, limit, share }
}

/// What naming a line of the sheet for the finding claims: that it supports the finding. A line that tells nothing
/// about it but does another service (rules a rival out, tells where the cause sits) claims nothing and is no slip.
pub fn claim_of_line(rules: &ClaimRules, line: u32, support_bans: Option<f64>, serves: bool) -> Option<Claim> {
    let support = verdict_by(rules, Cited::Supports, support_bans);
    (support != ClaimVerdict::Neutral || !serves).then_some((line, Cited::Supports, support_bans))
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
    fn a_line_that_only_rules_a_rival_out_is_no_slip() {
        let of = |support, out| claim_of_line(&ClaimRules::STANDARD, 7, support, out);
        assert_eq!(of(Some(0.4), true), Some((7, Cited::Supports, Some(0.4))));
        assert_eq!(of(Some(0.1), true), None);
        assert_eq!(of(Some(0.1), false), Some((7, Cited::Supports, Some(0.1))));
        assert_eq!(of(Some(-0.5), true), Some((7, Cited::Supports, Some(-0.5))));
        assert_eq!(of(None, false), Some((7, Cited::Supports, None)));
    }

    /// Example 3, case A: the dead-head speaks for the pump; it rules filter and regulator out, the voltage the feed.
    #[test]
    fn ruling_out_in_words_earns_all_and_unsaid_half() {
        let rivals = rivals(&PRIOR_1, 0);
        let out = |h, test, low| Some(weight(Cited::RulesOut(h), test, low));
        let support = (1, Cited::Supports, Some(weight(Cited::Supports, 1, true)));
        let said: Vec<Against> = [(1, 1, true), (2, 1, true), (3, 2, false)]
            .map(|(h, test, low)| Against::new(h, out(h, test, low), &[(test, 1.0)]))
            .to_vec();
        let of = |against: &[Against], unsaid: &[(u32, usize)]| {
            let claims = Claims { lines: vec![support], against: against.to_vec(), unsaid: unsaid.to_vec() };
            split_claims(&ClaimRules::STANDARD, &claims, &rivals)
        };
        // as the worked example has it: 0.6·0.526 + 0.4·3/3
        close(of(&said, &[]).share, 0.715, 1e-3);
        // 0.6·0.526 + 0.4·½·3/3
        close(of(&[], &[(1, 1), (1, 2), (2, 3)]).share, 0.515, 1e-3);
        // said counts once, not once and a half
        close(of(&said, &[(1, 1), (1, 2), (2, 3)]).share, 0.715, 1e-3);
        let split = of(&said[..1], &[(1, 2)]);
        close(split.share, 0.6 * 0.5257 + 0.4 * 1.5 / 3.0, 1e-3);
        assert_eq!(split.against.len(), 1);
        close(split.against[0], 0.4 / 3.0, 1e-12);
    }

    #[test]
    fn lines_for_show_cost_as_much_as_citing_them() {
        let against = |bans, each: &[(usize, f64)]| Against::new(1, bans, each);
        let share = |a: Against| {
            let lines = vec![(9, Cited::Supports, Some(1.0))];
            split_claims(&ClaimRules::STANDARD, &Claims { lines, against: vec![a], unsaid: vec![] }, &[1]).share
        };
        close(share(against(Some(0.9), &[(4, 0.5), (6, 0.4)])), 1.0, 1e-12);
        // together they do it, neither alone: that is how a section is cut out
        close(share(against(Some(0.6), &[(4, 0.3), (6, 0.3)])), 1.0, 1e-12);
        // line 6 says nothing about it: one neutral line; line 7 speaks for the rival: one false
        close(share(against(Some(0.9), &[(4, 0.9), (6, 0.0)])), 0.95, 1e-12);
        close(share(against(Some(0.6), &[(4, 1.0), (7, -0.4)])), 0.75, 1e-12);
        close(share(against(Some(0.2), &[(4, 0.2)])), 0.55, 1e-12);
        close(share(against(Some(-0.4), &[(4, -0.4)])), 0.35, 1e-12);
        close(share(against(None, &[])), 0.35, 1e-12);
    }

    proptest! {
        #[test]
        fn readings_and_limit_sum_to_the_share(
            claims in claims(),
            against in prop::collection::vec((-1.0..1.0_f64, 0..3_usize), 0..4),
            unsaid in prop::collection::vec((0..4_u32, 0..4_usize), 0..4),
        ) {
            let against = against.into_iter().enumerate().map(|(h, (w, silent))| Against {
                rival: h + 1, bans: Some(w), silent: vec![0; silent], contrary: vec![],
            });
            let claims = Claims { lines: claims, against: against.collect(), unsaid };
            let split = split_claims(&ClaimRules::STANDARD, &claims, &[1, 2]);
            prop_assert!((0.0..=1.0).contains(&split.share));
            let said: f64 = split.against.iter().sum();
            let sum: f64 = split.readings.iter().map(|r| r.1).sum::<f64>() + said + split.limit;
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
