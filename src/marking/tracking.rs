//! Stated belief against justified belief, and predictions against what came.
//!
//! Both teach and neither earns points: they give the learner feedback on thinking, and paying for it
//! would make people state what pays. Distances are quadratic, `Σ (s − j)²` over the candidates, 0 when
//! both agree and 2 when each is sure of another one.
//!
//! Source: G. W. Brier, "Verification of forecasts expressed in terms of probability", 1950.

use super::model::{PredictionCheck, PredictionVerdict, StatementCheck};
use super::sentence::{clock, in_100, number};
use crate::bay::action::Micros;
use crate::bay::as_written;
use crate::language::said;
use crate::tell;

/// Below this distance the two agree well enough.
const CLOSE: f64 = 0.05;

/// Quadratic distance of two beliefs over the same causes, 0 … 2.
pub fn distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
}

/// One statement of points against what the evidence bore then. `labels` in the order of both.
pub fn statement(at: Micros, stated: &[f64], justified: &[f64], labels: &[String]) -> StatementCheck {
    let distance = distance(stated, justified);
    let off = (0..stated.len().min(justified.len())).fold((0, 0.0_f64), |worst, i| {
        let off = stated[i] - justified[i];
        if off.abs() > worst.1.abs() { (i, off) } else { worst }
    });
    let t = clock(at);
    let sentence = if distance < CLOSE {
        tell!("marking-stated-close", t = t)
    } else {
        let label = labels.get(off.0).map_or(said("marking-none-of-these-within"), String::as_str);
        let (stated, bore) = (in_100(stated[off.0]), in_100(justified[off.0]));
        if off.1 > 0.0 {
            tell!("marking-stated-over", t = t, stated = stated, label = label, bore = bore)
        } else {
            tell!("marking-stated-under", t = t, stated = stated, label = label, bore = bore)
        }
    };
    StatementCheck { at, stated: stated.to_vec(), justified: justified.to_vec(), distance, sentence }
}

/// A prediction as it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted<'a> {
    /// When.
    pub at: Micros,
    /// What was to be read, in words.
    pub test: &'a str,
    /// The candidate that it was tied to, by its label, and whether that is what was wrong.
    pub under: Option<(&'a str, bool)>,
    /// Range, mbar gauge.
    pub range_mbar: (f64, f64),
    /// A reading of that state stands on the sheet: before it, where there is none after it.
    pub seen: bool,
}

/// Holds a prediction against the first reading of its state after it: when, and mbar gauge.
pub fn prediction(made: &Predicted<'_>, came: Option<(Micros, f64)>) -> PredictionCheck {
    let (low, high) = made.range_mbar;
    let (low, high) = (low.min(high), low.max(high));
    let (t, low_text, high_text, test) = (clock(made.at), as_written(low), as_written(high), made.test);
    let check = |verdict, sentence| PredictionCheck { at: made.at, verdict, sentence };
    match (made.under, came) {
        (_, None) if made.seen => check(
            PredictionVerdict::NotTestable,
            tell!("marking-predicted-seen", t = t, low = low_text, high = high_text, test = test),
        ),
        (_, None) => check(
            PredictionVerdict::NotTestable,
            tell!("marking-predicted-unread", t = t, low = low_text, high = high_text, test = test),
        ),
        (Some((label, false)), Some(_)) => check(
            PredictionVerdict::NotTestable,
            tell!("marking-predicted-other", t = t, low = low_text, high = high_text, test = test, label = label),
        ),
        (_, Some((at, mbar))) => {
            let (at, shown) = (clock(at), number(mbar, 0));
            if (low..=high).contains(&mbar) {
                check(
                    PredictionVerdict::Right,
                    tell!(
                        "marking-predicted-right",
                        t = t,
                        low = low_text,
                        high = high_text,
                        test = test,
                        at = at,
                        mbar = shown
                    ),
                )
            } else {
                check(
                    PredictionVerdict::Wrong,
                    tell!(
                        "marking-predicted-wrong",
                        t = t,
                        low = low_text,
                        high = high_text,
                        test = test,
                        at = at,
                        mbar = shown
                    ),
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::SECOND;

    #[test]
    fn distance_runs_from_agreement_to_two_certainties() {
        assert_eq!(distance(&[0.2, 0.8], &[0.2, 0.8]), 0.0);
        assert_eq!(distance(&[1.0, 0.0], &[0.0, 1.0]), 2.0);
        assert!((distance(&[0.5, 0.3, 0.2], &[0.2, 0.6, 0.2]) - 0.18).abs() < 1e-12);
    }

    #[test]
    fn the_largest_difference_is_told() {
        let labels = ["Filter plugged".to_owned(), "Pump worn".to_owned()];
        let of = |stated: &[f64], justified: &[f64]| statement(65 * SECOND, stated, justified, &labels).sentence;
        assert_eq!(of(&[0.5, 0.5], &[0.55, 0.45]), "At 01:05 your points were close to what the evidence bore.");
        assert_eq!(
            of(&[0.9, 0.1], &[0.4, 0.6]),
            "At 01:05 you put 90 in 100 on \u{201c}Filter plugged\u{201d}; the evidence bore only 40 in 100."
        );
        assert_eq!(
            of(&[0.1, 0.5], &[0.6, 0.4]),
            "At 01:05 you put 10 in 100 on \u{201c}Filter plugged\u{201d}; the evidence bore 60 in 100."
        );
    }

    #[test]
    fn a_prediction_is_right_wrong_or_not_testable() {
        let made = |under| Predicted {
            at: 60 * SECOND,
            test: "idle reading",
            under,
            range_mbar: (-100.0, -45.0),
            seen: false,
        };
        let came = Some((120 * SECOND, -79.0));
        let right = prediction(&made(None), came);
        assert_eq!(right.verdict, PredictionVerdict::Right);
        assert_eq!(
            right.sentence,
            "At 01:00 you expected −100 to −45 mbar for the idle reading; at 02:00 it was −79 mbar, as you said."
        );
        assert_eq!(prediction(&made(None), Some((0, -101.0))).verdict, PredictionVerdict::Wrong);
        assert_eq!(prediction(&made(Some(("Pump worn", true))), came).verdict, PredictionVerdict::Right);
        assert_eq!(prediction(&made(Some(("Pump worn", false))), came).verdict, PredictionVerdict::NotTestable);
        assert_eq!(prediction(&made(None), None).verdict, PredictionVerdict::NotTestable);
        let late = prediction(&Predicted { seen: true, ..made(None) }, None);
        assert_eq!(late.verdict, PredictionVerdict::NotTestable);
        assert!(late.sentence.contains("before you said so"), "{}", late.sentence);
        // written the wrong way round
        let turned = Predicted { range_mbar: (-45.0, -100.0), ..made(None) };
        assert_eq!(prediction(&turned, came).verdict, PredictionVerdict::Right);
    }
}
