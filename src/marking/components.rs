//! The components of a mark, each a share from 0 to 1.
//!
//! Common to all: `L(p) = ln(p/(1−p))` with p held within 0.001 … 0.999, and `cl` holding a number
//! within 0 … 1. Probabilities are beliefs over groups of causes that need the same repair. M has its
//! own module, [`super::readings`]; X too, [`super::claims`].

use crate::language::said;
use crate::ops;

/// J that the evidence must reach for full D and for a pass.
pub const JUSTIFIED_PASS: f64 = 0.60;
/// Share of the par time that may be wasted without loss.
const FREE_WASTE: f64 = 0.15;
/// Limits of the belief that counts as fully justified.
const REFERENCE_BELIEF: (f64, f64) = (0.60, 0.95);

/// Log odds `ln(p/(1−p))`, p held within 0.001 … 0.999.
pub fn log_odds(p: f64) -> f64 {
    let p = p.clamp(0.001, 0.999);
    ops::ln(p / (1.0 - p))
}

/// `cl`: x within 0 … 1; a NaN earns nothing.
pub fn share(x: f64) -> f64 {
    if x.is_nan() { 0.0 } else { x.clamp(0.0, 1.0) }
}

/// Belief that earns full J: `max(0.60, min(0.95, attainable))`, where `attainable` is the median
/// belief in d after all allowed tests over vehicles that have d.
pub fn reference_belief(attainable: f64) -> f64 {
    attainable.min(REFERENCE_BELIEF.1).max(REFERENCE_BELIEF.0)
}

/// J before it is held within 0 … 1: `(L(p_d) − L(π_d))/(L(p_ref) − L(π_d))`. 0 when the prior
/// alone already reaches `p_ref`, since then nothing was left to justify.
pub fn justified_unlimited(p_d: f64, prior_d: f64, p_ref: f64) -> f64 {
    let way = log_odds(p_ref) - log_odds(prior_d);
    if way > 0.0 { (log_odds(p_d) - log_odds(prior_d)) / way } else { 0.0 }
}

/// **J** justified conclusion: how far the evidence carried belief in d from its prior to `p_ref`,
/// in log odds. No evidence gives 0.
pub fn justified(p_d: f64, prior_d: f64, p_ref: f64) -> f64 {
    share(justified_unlimited(p_d, prior_d, p_ref))
}

/// How a finding compares with the truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    /// The same cause, or one that needs the same repair.
    SameGroup,
    /// The right component, another way of failing.
    RightComponent,
    /// Two faults: how many causes are in both finding and truth, and in either.
    Shared {
        /// Causes in both.
        both: u32,
        /// Causes in either.
        either: u32,
    },
    /// Something else.
    Other,
}

impl Match {
    /// Share that it earns, 0 … 1.
    pub fn share(self) -> f64 {
        match self {
            Self::SameGroup => 1.0,
            Self::RightComponent => 0.5,
            Self::Shared { either: 0, .. } | Self::Other => 0.0,
            Self::Shared { both, either } => share(f64::from(both) / f64::from(either)),
        }
    }
}

/// **D** right diagnosis, luck removed: `match·cl(J/0.60)`.
pub fn diagnosis(found: Match, justified: f64) -> f64 {
    found.share() * share(justified / JUSTIFIED_PASS)
}

/// Factor on D and J for the n-th submission while practising (1 for the first): `0.7^(n−1)`.
pub fn resubmission_factor(submission: u32) -> f64 {
    ops::powi(0.7, submission.saturating_sub(1))
}

/// How grave a breach of safety or procedure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Untidy.
    Minor,
    /// Could hurt or damage.
    Major,
    /// Could kill: the attempt fails.
    Critical,
}

impl Severity {
    /// Share of P that one breach takes.
    pub const fn loss(self) -> f64 {
        match self {
            Self::Minor => 0.10,
            Self::Major => 0.35,
            Self::Critical => 1.0,
        }
    }

    /// The word in a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Minor => said("marking-severity-minor"),
            Self::Major => said("marking-severity-major"),
            Self::Critical => "critical",
        }
    }
}

/// **P** safety and procedure: `max(0, 1 − 0.35·majors − 0.10·minors)`, 0 after a critical breach.
/// One entry for each rule broken, however often.
pub fn procedure(broken: &[Severity]) -> f64 {
    if broken.contains(&Severity::Critical) {
        return 0.0;
    }
    let of = |severity| broken.iter().filter(|s| **s == severity).count() as f64 * Severity::loss(severity);
    share(1.0 - of(Severity::Major) - of(Severity::Minor))
}

/// **C** calibration: `max(0, 1 − 4(c − p_d)²)` of the stated confidence c against what the
/// evidence bears, 0 without any material reading. The regret of the Brier score: stating p_d
/// itself is the one best answer, whether d is right or not.
pub fn calibration(confidence: f64, p_d: f64, material_readings: usize) -> f64 {
    let off = confidence - p_d;
    if material_readings == 0 { 0.0 } else { share(1.0 - 4.0 * off * off) }
}

/// **G** progress: `cl((H(π) − H(p_end))/(H(π) − H_all))`, bits; `all` is the entropy expected after
/// all allowed tests. 0 when the allowed tests can't tell anything.
pub fn progress(prior_bits: f64, end_bits: f64, all_bits: f64) -> f64 {
    let way = prior_bits - all_bits;
    if way > 0.0 { share((prior_bits - end_bits) / way) } else { 0.0 }
}

/// **S** choice of tests: `G·(1 − cl((W − 0.15·T)/(T − 0.15·T)))` with W the *sum* of wasted
/// minutes and T the par time in minutes.
pub fn choice(progress: f64, wasted_min: f64, par_min: f64) -> f64 {
    progress * (1.0 - choice_lost(wasted_min, par_min))
}

/// Share of S that wasted minutes take: `cl((W − 0.15·T)/(T − 0.15·T))`.
pub fn choice_lost(wasted_min: f64, par_min: f64) -> f64 {
    let free = FREE_WASTE * par_min;
    share((wasted_min - free) / (par_min - free))
}

/// **R** economy: `G·(0.6·max(0, 1 − needless/right) + 0.4·(1 − cl((T_net − T)/T)))` with the price
/// of parts that carried no fault against the price of the right one, and net minutes against par.
/// When the right remedy costs nothing any needless part takes the whole share.
pub fn economy(progress: f64, needless_price: f64, right_price: f64, net_min: f64, par_min: f64) -> f64 {
    let (parts, minutes) = economy_lost(needless_price, right_price, net_min, par_min);
    progress * (1.0 - parts - minutes)
}

/// Shares of R that needless parts (at most 0.6) and minutes beyond par (at most 0.4) take.
pub fn economy_lost(needless_price: f64, right_price: f64, net_min: f64, par_min: f64) -> (f64, f64) {
    let parts = if needless_price <= 0.0 {
        0.0
    } else if right_price > 0.0 {
        share(needless_price / right_price)
    } else {
        1.0
    };
    (0.6 * parts, 0.4 * share((net_min - par_min) / par_min))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::worked::close;
    use proptest::prelude::*;

    #[test]
    fn example_3_justified_and_diagnosis() {
        close(log_odds(0.8520), 1.7504, 5e-4);
        close(log_odds(0.40), -0.4055, 5e-5);
        close(log_odds(0.8888), 2.0786, 5e-4);
        close(justified(0.8520, 0.40, 0.8888), 0.8679, 2e-4);
        assert_eq!(justified(0.8888, 0.40, 0.8888), 1.0);
        assert_eq!(diagnosis(Match::SameGroup, 0.868), 1.0);
        close(diagnosis(Match::SameGroup, 0.3), 0.5, 1e-12);
        close(diagnosis(Match::RightComponent, 0.9), 0.5, 1e-12);
        close(diagnosis(Match::Shared { both: 1, either: 3 }, 0.9), 1.0 / 3.0, 1e-12);
        assert_eq!(diagnosis(Match::Other, 1.0), 0.0);
    }

    #[test]
    fn example_3_the_other_components_of_case_c() {
        close(choice(1.0, 21.87, 25.09), 0.151, 1e-3);
        close(economy(1.0, 28.0, 95.0, 51.0, 25.09), 0.423, 5e-4);
        close(calibration(0.99, 0.8888, 5), 0.959, 5e-4);
        close(procedure(&[Severity::Major]), 0.65, 1e-12);
    }

    #[test]
    fn the_belief_that_earns_full_marks_has_two_limits() {
        assert_eq!([0.2, 0.7, 0.99].map(reference_belief), [0.60, 0.70, 0.95]);
        assert_eq!(justified(0.99, 0.7, 0.6), 0.0);
    }

    #[test]
    fn breaches_add_up_and_a_critical_one_takes_all() {
        use Severity::{Critical, Major, Minor};
        close(procedure(&[Minor, Major, Minor]), 0.45, 1e-12);
        assert_eq!(procedure(&[Major; 3]), 0.0);
        assert_eq!(procedure(&[Critical]), 0.0);
        assert_eq!(procedure(&[]), 1.0);
    }

    #[test]
    fn nothing_found_out_earns_nothing_for_haste() {
        assert_eq!(progress(2.0, 2.5, 0.5), 0.0);
        close(progress(2.0, 1.25, 0.5), 0.5, 1e-12);
        assert_eq!(progress(2.0, 1.0, 2.0), 0.0);
        assert_eq!(choice(0.0, 0.0, 25.0), 0.0);
        assert_eq!(economy(0.0, 0.0, 95.0, 0.0, 25.0), 0.0);
        assert_eq!(choice(1.0, 0.15 * 25.0, 25.0), 1.0);
        assert_eq!(choice(1.0, 25.0, 25.0), 0.0);
        close(economy(1.0, 10.0, 0.0, 20.0, 25.0), 0.4, 1e-12);
    }

    #[test]
    fn a_second_submission_earns_seven_tenths() {
        assert_eq!([0, 1, 2].map(resubmission_factor), [1.0, 1.0, 0.7]);
        close(resubmission_factor(3), 0.49, 1e-12);
    }

    /// Confidences that can be stated.
    const GRID: [f64; 11] = [0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85, 0.90, 0.95, 0.99];

    proptest! {
        #[test]
        fn every_component_is_a_share(
            p in 0.0..=1.0_f64, prior in 0.0..=1.0_f64, reference in 0.0..=1.0_f64,
            wasted in 0.0..200.0_f64, par in 0.5..100.0_f64, price in 0.0..500.0_f64,
        ) {
            let j = justified(p, prior, reference_belief(reference));
            let g = progress(2.0 * prior, 3.0 * p, reference);
            let all = [
                j, g, diagnosis(Match::SameGroup, j), calibration(prior, p, 1), choice(g, wasted, par),
                economy(g, price, 80.0, wasted, par),
            ];
            prop_assert!(all.iter().all(|x| (0.0..=1.0).contains(x)), "{all:?}");
        }

        #[test]
        fn evidence_that_does_not_raise_belief_earns_nothing(
            prior in 0.01..0.99_f64,
            less in 0.0..=1.0_f64,
            a in 0.0..=1.0_f64,
        ) {
            let j = justified(prior * less, prior, reference_belief(a));
            prop_assert_eq!(j, 0.0);
            prop_assert_eq!(diagnosis(Match::SameGroup, j), 0.0);
        }

        #[test]
        fn more_belief_never_lowers_justified_or_diagnosis(
            p in 0.0..1.0_f64,
            q in 0.0..1.0_f64,
            prior in 0.01..0.5_f64,
            a in 0.0..=1.0_f64,
        ) {
            let (low, high) = (p.min(q), p.max(q));
            let of = |p| justified(p, prior, reference_belief(a));
            prop_assert!(of(low) <= of(high));
            prop_assert!(diagnosis(Match::SameGroup, of(low)) <= diagnosis(Match::SameGroup, of(high)));
        }

        #[test]
        fn honest_confidence_is_the_best_of_the_grid(p in 0.30..1.0_f64) {
            let near = GRID.into_iter().min_by(|a, b| (a - p).abs().total_cmp(&(b - p).abs())).unwrap();
            for c in GRID {
                prop_assert!(calibration(c, p, 1) <= calibration(near, p, 1));
            }
            // the same as the expected loss of Brier's score beyond the best possible
            let brier = |c: f64| p * (c - 1.0) * (c - 1.0) + (1.0 - p) * c * c;
            let regret = brier(near) - brier(p);
            prop_assert!((calibration(near, p, 1) - (1.0 - 4.0 * regret).clamp(0.0, 1.0)).abs() < 1e-12);
            prop_assert_eq!(calibration(near, p, 0), 0.0);
        }

        #[test]
        fn one_more_breach_never_helps(broken in prop::collection::vec(0..3_usize, 0..6), more in 0..3_usize) {
            let kinds = [Severity::Minor, Severity::Major, Severity::Critical];
            let mut broken: Vec<Severity> = broken.into_iter().map(|k| kinds[k]).collect();
            let before = procedure(&broken);
            broken.push(kinds[more]);
            prop_assert!(procedure(&broken) <= before);
        }

        #[test]
        fn waste_and_needless_parts_never_help(
            g in 0.0..=1.0_f64,
            w in 0.0..60.0_f64,
            more in 0.0..60.0_f64,
            price in 0.0..100.0_f64,
        ) {
            prop_assert!(choice(g, w + more, 25.0) <= choice(g, w, 25.0));
            prop_assert!(economy(g, price + more, 95.0, w, 25.0) <= economy(g, price, 95.0, w, 25.0));
            prop_assert!(economy(g, price, 95.0, w + more, 25.0) <= economy(g, price, 95.0, w, 25.0));
        }
    }
}
