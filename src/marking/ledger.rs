//! The ledger: every hundredth of a point on a line of its own sentence.
//!
//! Lines are drafted in exact points and rounded by the method of largest remainders: first the components to the
//! total, then the lines of each to what it got. So they sum to the total to the hundredth, whatever the weights, and no
//! component has 25.01 of 25 points.

use super::components::{Severity, log_odds, share};
use super::model::{Component, LedgerLine};
use super::sentence::Sentence;
use crate::bay::action::Micros;

/// A line before rounding.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// Component that the points belong to; `None` for what is taken from the total.
    pub component: Option<Component>,
    /// Points of 100, exact; negative when points are taken.
    pub points: f64,
    /// Start and end on the trace.
    pub window: (Micros, Micros),
    /// Why.
    pub sentence: Sentence,
    /// Lines of the test sheet that it rests on, from 1.
    pub lines: Vec<usize>,
}

/// Points to hundredths, halves away from 0.
pub fn hundredths(points: f64) -> i64 {
    (100.0 * points).round() as i64
}

/// Rounds `points` to hundredths that sum to `total` exactly: each is rounded down, and what is
/// left goes, a hundredth each, to the largest remainders; of equals to the first. No line is
/// moved by a hundredth or more as long as `total` is the rounded sum.
///
/// ```
/// use faultbay::marking::ledger::largest_remainder;
/// assert_eq!(largest_remainder(&[1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0], 100), [34, 33, 33]);
/// ```
pub fn largest_remainder(points: &[f64], total: i64) -> Vec<i64> {
    let exact: Vec<f64> = points.iter().map(|p| 100.0 * p).collect();
    let mut whole: Vec<i64> = exact.iter().map(|x| x.floor() as i64).collect();
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| (exact[b] - exact[b].floor()).total_cmp(&(exact[a] - exact[a].floor())).then(a.cmp(&b)));
    let mut left = total - whole.iter().sum::<i64>();
    if left < 0 {
        order.reverse();
    }
    for &i in order.iter().cycle() {
        if left == 0 {
            break;
        }
        whole[i] += left.signum();
        left -= left.signum();
    }
    whole
}

/// Rounds the drafts to lines that sum to the total, which is given in points; the lines of each component sum to its
/// rounded points.
///
/// # Panics
/// When the drafts don't add up to the total: a point without a line is a bug.
pub fn balance(drafts: Vec<Draft>, total: f64) -> Vec<LedgerLine> {
    let points: Vec<f64> = drafts.iter().map(|d| d.points).collect();
    let sum: f64 = points.iter().sum();
    assert!((sum - total).abs() < 1e-6, "lines make {sum} points of a total of {total}");
    let mut parts: Vec<Option<Component>> = vec![];
    for draft in &drafts {
        if !parts.contains(&draft.component) {
            parts.push(draft.component);
        }
    }
    let own = |part: &Option<Component>| -> Vec<usize> {
        (0..drafts.len()).filter(|&i| drafts[i].component == *part).collect()
    };
    let sums: Vec<f64> = parts.iter().map(|part| settled(own(part).iter().map(|&i| points[i]).sum())).collect();
    let mut rounded = vec![0; drafts.len()];
    for (part, whole) in parts.iter().zip(largest_remainder(&sums, hundredths(total))) {
        let lines = own(part);
        let exact: Vec<f64> = lines.iter().map(|&i| points[i]).collect();
        for (i, points) in lines.into_iter().zip(largest_remainder(&exact, whole)) {
            rounded[i] = points;
        }
    }
    drafts
        .into_iter()
        .zip(rounded)
        .map(|(draft, hundredths)| LedgerLine {
            component: draft.component,
            hundredths,
            template: draft.sentence.template.to_owned(),
            window: draft.window,
            sentence: draft.sentence.text,
            lines: draft.lines,
        })
        .collect()
}

/// Points without the dust that a sum of many lines leaves: 24.999 999 999 is 25.
fn settled(points: f64) -> f64 {
    (points * 1e8).round() / 1e8
}

/// Sum of the lines in hundredths.
pub fn sum(lines: &[LedgerLine]) -> i64 {
    lines.iter().map(|l| l.hundredths).sum()
}

/// J split over its steps.
#[derive(Clone, Debug, PartialEq)]
pub struct JustifiedSplit {
    /// Points of each step, in order of time.
    pub steps: Vec<f64>,
    /// What brings the sum to J: negative at the ceiling, positive at the floor, 0 between.
    pub limit: f64,
}

/// Splits the `full` points of J over the material steps: `full·ΔL_k/(L(p_ref) − L(π_d))`, with the
/// beliefs in d after each step. Steps and limit sum to `full·J`.
pub fn split_justified(full: f64, prior_d: f64, p_ref: f64, after: &[f64]) -> JustifiedSplit {
    let way = log_odds(p_ref) - log_odds(prior_d);
    if way <= 0.0 {
        return JustifiedSplit { steps: vec![0.0; after.len()], limit: 0.0 };
    }
    let mut before = prior_d;
    let mut steps = Vec::with_capacity(after.len());
    for &p in after {
        steps.push(full * (log_odds(p) - log_odds(before)) / way);
        before = p;
    }
    let reached = (log_odds(before) - log_odds(prior_d)) / way;
    JustifiedSplit { steps, limit: full * (share(reached) - reached) }
}

/// Splits what P loses over the breaches in their order, as negative points. Each takes its own
/// share as long as something is left; a critical one takes all that is left. The lines and `full`
/// sum to `full·P`.
pub fn split_procedure(full: f64, broken: &[Severity]) -> Vec<f64> {
    let mut left = 1.0_f64;
    broken
        .iter()
        .map(|severity| {
            let loss = severity.loss().min(left);
            left -= loss;
            -full * loss
        })
        .collect()
}

/// S or R, told as what it takes: full points, less what ignorance takes, less what each slip takes.
#[derive(Clone, Debug, PartialEq)]
pub struct LossSplit {
    /// Taken because the work didn't come as far as all tests together could: `−full·(1 − G)`.
    pub progress: f64,
    /// Taken by each item, in order.
    pub items: Vec<f64>,
}

/// Splits what S loses over the steps in proportion to the minutes that each wasted. Lines and `full`
/// sum to `full·S`, with `lost` the share `cl((W − 0.15·T)/(T − 0.15·T))`.
pub fn split_choice(full: f64, progress: f64, lost: f64, wasted: &[f64]) -> LossSplit {
    let whole: f64 = wasted.iter().sum();
    let each = |w: &f64| if whole > 0.0 { -full * progress * lost * w / whole } else { 0.0 };
    LossSplit { progress: -full * (1.0 - progress), items: wasted.iter().map(each).collect() }
}

/// Points of each reading in M: `full·share/n`.
pub fn split_measurement(full: f64, scores: &[f64]) -> Vec<f64> {
    scores.iter().map(|s| full * s / scores.len() as f64).collect()
}

#[cfg(test)]
mod tests {
    use super::super::components::{justified, procedure};
    use super::super::model::ComponentMark;
    use super::super::readings::measurement;
    use super::super::result::{full_points, total};
    use super::super::sentence::justified_none;
    use super::*;
    use crate::diagnosis::belief::posterior;
    use crate::diagnosis::worked::{PRIOR_1, close, outcome_1};
    use crate::ops;
    use proptest::prelude::*;

    #[test]
    fn remainders_by_hand() {
        assert_eq!(largest_remainder(&[1.0 / 3.0; 3], 100), [34, 33, 33]);
        assert_eq!(largest_remainder(&[0.004, 0.004, 0.002], 1), [1, 0, 0]);
        // −125.6 and 200.59 hundredths: rounded down they leave 0.4 and 0.59, so the second goes up
        assert_eq!(largest_remainder(&[-1.256, 2.0059, 0.0], 75), [-126, 201, 0]);
        assert_eq!(largest_remainder(&[], 0), [0; 0]);
    }

    /// Rounded all together, these lines make 25.01 of 25 points for one component and 9.99 of 10 for the other.
    #[test]
    fn no_component_gets_a_hundredth_that_it_has_not_earned() {
        let (j, x) = (Component::Justified, Component::Cited);
        let points = [(j, 8.3345), (j, 8.3345), (j, 8.3310), (x, 3.333), (x, 3.333), (x, 3.334)];
        let exact = points.map(|(_, points)| points);
        assert_eq!(largest_remainder(&exact, 3500)[..3].iter().sum::<i64>(), 2501);
        let drafts = points.map(|(component, points)| Draft {
            component: Some(component),
            points,
            window: (0, 0),
            sentence: justified_none("it"),
            lines: vec![],
        });
        let lines = balance(drafts.to_vec(), 35.0);
        let of = |c: Component| lines.iter().filter(|l| l.component == Some(c)).map(|l| l.hundredths).sum::<i64>();
        assert_eq!((of(j), of(x)), (2500, 1000));
    }

    #[test]
    fn example_3_steps_of_case_c() {
        // idle low, flow low, dead-head low, voltage sound; the second idle reading is immaterial
        let mut like = [1.0; 5];
        let mut beliefs = Vec::new();
        for (test, low) in [(0, true), (3, true), (1, true), (2, false)] {
            for (l, p) in like.iter_mut().zip(outcome_1(test, low)) {
                *l *= p;
            }
            beliefs.push(posterior(&PRIOR_1, &like.map(ops::ln))[0]);
        }
        close(beliefs[3], 0.8888, 5e-5);
        let split = split_justified(25.0, 0.40, beliefs[3], &beliefs);
        for (have, want) in split.steps.iter().zip([0.27, 4.03, 9.38, 11.32]) {
            close(*have, want, 5e-3);
        }
        close(split.limit, 0.0, 1e-12);
        close(split.steps.iter().sum(), 25.0, 1e-12);
    }

    #[test]
    fn a_ceiling_takes_back_and_a_floor_gives_back() {
        let high = split_justified(25.0, 0.4, 0.8, &[0.7, 0.95]);
        assert!(high.limit < -5.0);
        close(high.steps.iter().sum::<f64>() + high.limit, 25.0, 1e-12);
        let low = split_justified(25.0, 0.4, 0.8, &[0.2]);
        assert!(low.limit > 5.0);
        close(low.steps[0] + low.limit, 0.0, 1e-12);
    }

    fn severities() -> impl Strategy<Value = Vec<Severity>> {
        let kinds = [Severity::Minor, Severity::Major, Severity::Critical];
        prop::collection::vec((0..8_usize).prop_map(move |k| kinds[[0, 0, 0, 1, 1, 1, 1, 2][k]]), 0..8)
    }

    proptest! {
        #[test]
        fn lines_sum_to_the_total_and_none_moves_by_a_hundredth(
            points in prop::collection::vec(-30.0..30.0_f64, 1..40),
        ) {
            let whole = hundredths(points.iter().sum());
            let rounded = largest_remainder(&points, whole);
            prop_assert_eq!(rounded.iter().sum::<i64>(), whole);
            for (r, p) in rounded.iter().zip(&points) {
                prop_assert!((*r as f64 - 100.0 * p).abs() < 1.0 + 1e-9);
            }
        }

        #[test]
        fn a_result_that_moves_no_belief_moves_no_point(
            beliefs in prop::collection::vec(0.001..0.999_f64, 1..8),
            at in 0..8_usize,
        ) {
            let at = at.min(beliefs.len());
            let mut more = beliefs.clone();
            more.insert(at, if at == 0 { 0.3 } else { beliefs[at - 1] });
            let (plain, mut longer) = (split_justified(25.0, 0.3, 0.85, &beliefs), split_justified(25.0, 0.3, 0.85, &more));
            prop_assert_eq!(longer.steps.remove(at), 0.0);
            prop_assert_eq!(longer, plain);
        }

        #[test]
        fn a_wrong_total_is_still_met(
            points in prop::collection::vec(-1.0..1.0_f64, 1..6),
            whole in -1000..1000_i64,
        ) {
            prop_assert_eq!(largest_remainder(&points, whole).iter().sum::<i64>(), whole);
        }

        #[test]
        fn a_whole_mark_adds_up(
            beliefs in prop::collection::vec(0.001..0.999_f64, 0..8), broken in severities(),
            scores in prop::collection::vec(0.0..=1.0_f64, 0..6), weights in prop::array::uniform5(0.1..50.0_f64),
            d in 0.0..=1.0_f64, c in 0.0..=1.0_f64,
        ) {
            let p_d = beliefs.last().copied().unwrap_or(0.3);
            let shares = [d, justified(p_d, 0.3, 0.85), measurement(&scores), procedure(&broken), c];
            let marks: Vec<ComponentMark> = [Component::Diagnosis, Component::Justified, Component::Measurement, Component::Procedure, Component::Calibration].into_iter().zip(shares).zip(weights)
                .map(|((component, share), weight)| ComponentMark { component, share, weight }).collect();
            let sum_of = total(&marks, &[], broken.contains(&Severity::Critical));
            let full = |component| full_points(&marks, component);
            let mut points = vec![(Some(Component::Diagnosis), full(Component::Diagnosis) * d)];
            let split = split_justified(full(Component::Justified), 0.3, 0.85, &beliefs);
            points.extend(split.steps.iter().chain([&split.limit]).map(|p| (Some(Component::Justified), *p)));
            points.extend(split_measurement(full(Component::Measurement), &scores).into_iter().map(|p| (Some(Component::Measurement), p)));
            points.push((Some(Component::Procedure), full(Component::Procedure)));
            points.extend(split_procedure(full(Component::Procedure), &broken).into_iter().map(|p| (Some(Component::Procedure), p)));
            points.push((Some(Component::Calibration), full(Component::Calibration) * c));
            points.push((None, -sum_of.capped));
            let drafts = points.into_iter().map(|(component, points)| Draft {
                component, points, window: (0, 0), sentence: justified_none("it"), lines: vec![],
            }).collect();
            let lines = balance(drafts, sum_of.total);
            prop_assert_eq!(sum(&lines), hundredths(sum_of.total));
            for mark in &marks {
                let own: i64 = lines.iter().filter(|l| l.component == Some(mark.component)).map(|l| l.hundredths).sum();
                let exact = 100.0 * full(mark.component) * mark.share;
                prop_assert!((own as f64 - exact).abs() < 1.0 + 1e-6, "{:?}: {own} for {exact}", mark.component);
            }
            prop_assert!((0..=10_000).contains(&sum(&lines)));
        }
    }
}
