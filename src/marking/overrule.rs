//! An assessor's own decision on a mark: with a name and a reason, and both marks kept.

use super::model::{Component, ComponentMark, Mark, Outcome, Override};

/// Shortest reason that says anything, characters.
const SHORTEST_REASON: usize = 10;

/// Why a decision isn't taken over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Nobody stands for it.
    #[error("an assessor's decision needs a name")]
    NoName,
    /// It isn't explained.
    #[error("an assessor's decision needs a reason of at least ten characters")]
    NoReason,
    /// Nobody knows in what capacity.
    #[error("an assessor's decision needs the capacity in which it is taken")]
    NoRole,
    /// A share lies outside 0 … 1, or the mark scheme has no such component.
    #[error("a component must be one of this mark, and its share lie between 0 and 1")]
    Component,
    /// The total lies outside 0 … 100.
    #[error("the total must lie between 0 and 100")]
    Total,
    /// "For review" is no decision.
    #[error("a decision says that the job was reached or that it wasn't")]
    Undecided,
}

/// Adds a decision; what was computed stays as it is.
///
/// # Errors
/// See [`Refused`].
pub fn overrule(mark: &Mark, decision: Override) -> Result<Mark, Refused> {
    if decision.assessor.trim().is_empty() {
        return Err(Refused::NoName);
    }
    if decision.reason.trim().chars().count() < SHORTEST_REASON {
        return Err(Refused::NoReason);
    }
    if decision.total.is_some_and(|t| !(0.0..=100.0).contains(&t)) {
        return Err(Refused::Total);
    }
    if decision.outcome == Outcome::Review {
        return Err(Refused::Undecided);
    }
    if decision.role.trim().is_empty() {
        return Err(Refused::NoRole);
    }
    let fits = |(c, share): &(Component, f64)| {
        (0.0..=1.0).contains(share) && mark.components.iter().any(|m| m.component == *c)
    };
    if !decision.components.iter().all(fits) {
        return Err(Refused::Component);
    }
    let mut mark = mark.clone();
    mark.overrides.push(decision);
    Ok(mark)
}

/// The total with some components' shares changed: what the others earn stays, and so does a cap after a critical
/// breach.
pub fn total_with(mark: &Mark, changed: &[(Component, f64)]) -> f64 {
    let share = |m: &ComponentMark| {
        changed.iter().rev().find(|(c, _)| *c == m.component).map_or(m.share, |(_, share)| *share)
    };
    let earned: f64 = mark.components.iter().map(|m| share(m) * m.weight).sum();
    let hints = mark.ledger.iter().filter(|l| l.template == "total.hint").map(|l| l.hundredths).sum::<i64>();
    let earned = earned + hints as f64 / 100.0;
    let capped = mark.ledger.iter().any(|l| l.template == "total.cap");
    let total = if capped { earned.min(mark.total) } else { earned };
    (total.clamp(0.0, 100.0) * 100.0).round() / 100.0
}

/// The outcome and total that hold: the latest decision's, else the computed ones.
pub fn standing(mark: &Mark) -> (Outcome, f64) {
    let total = mark.overrides.iter().rev().find_map(|o| o.total).unwrap_or(mark.total);
    (mark.overrides.last().map_or(mark.outcome, |o| o.outcome), total)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decision() -> Override {
        Override {
            assessor: "Ife Marlowe".into(),
            role: "appeal panel".into(),
            reason: "The gauge was read aloud right and noted wrong.".into(),
            outcome: Outcome::Reached,
            total: Some(62.0),
            components: vec![],
        }
    }

    #[test]
    fn both_marks_are_kept() {
        let mark = Mark { total: 58.0, outcome: Outcome::Review, ..Mark::default() };
        assert_eq!(standing(&mark), (Outcome::Review, 58.0));
        let over = overrule(&mark, decision()).unwrap();
        assert_eq!((over.total, over.outcome), (58.0, Outcome::Review));
        assert_eq!(standing(&over), (Outcome::Reached, 62.0));
        let again = overrule(&over, Override { outcome: Outcome::NotReached, total: None, ..decision() }).unwrap();
        assert_eq!(standing(&again), (Outcome::NotReached, 62.0));
        let json = serde_json::to_string(&again).unwrap();
        assert_eq!(serde_json::from_str::<Mark>(&json).unwrap(), again);
    }

    #[test]
    fn a_decision_needs_a_name_a_reason_and_a_verdict() {
        let refused = |change: fn(&mut Override)| {
            let mut d = decision();
            change(&mut d);
            overrule(&Mark::default(), d).unwrap_err()
        };
        assert_eq!(refused(|d| d.assessor = " ".into()), Refused::NoName);
        assert_eq!(refused(|d| d.reason = "because".into()), Refused::NoReason);
        assert_eq!(refused(|d| d.total = Some(f64::NAN)), Refused::Total);
        assert_eq!(refused(|d| d.outcome = Outcome::Review), Refused::Undecided);
        assert_eq!(refused(|d| d.role = "\t".into()), Refused::NoRole);
        // a mark without components has none to change
        assert_eq!(refused(|d| d.components = vec![(Component::Choice, 0.5)]), Refused::Component);
    }

    #[test]
    fn a_component_in_another_view_moves_the_total_by_its_weight() {
        let part = |component, share, weight| ComponentMark { component, share, weight };
        let components = vec![part(Component::Choice, 0.2, 40.0), part(Component::Procedure, 1.0, 60.0)];
        let mark = Mark { total: 68.0, components, ..Mark::default() };
        assert_eq!(total_with(&mark, &[]), 68.0);
        assert_eq!(total_with(&mark, &[(Component::Choice, 0.7)]), 88.0);
        // the last word on a component counts
        assert_eq!(total_with(&mark, &[(Component::Choice, 0.7), (Component::Choice, 0.0)]), 60.0);
        let mut capped = Mark { total: 39.0, ..mark };
        capped.ledger.push(crate::marking::model::LedgerLine {
            component: None,
            hundredths: -2900,
            template: "total.cap".into(),
            window: (0, 0),
            sentence: String::new(),
            lines: vec![],
        });
        assert_eq!(total_with(&capped, &[(Component::Choice, 0.7)]), 39.0);
        assert_eq!(total_with(&capped, &[(Component::Procedure, 0.1)]), 14.0);
    }
}
