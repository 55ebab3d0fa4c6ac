//! What each candidate would show at a joint in a state, as a range over the reference vehicles: for a learner who asks
//! before testing. Nothing of the vehicle in the bay goes into it, so it can't tell which candidate is the true one.
//!
//! The vehicles are those of the complete run ([`super::survey`]), which the marking simulates too and keeps. A range
//! holds eight in ten of a candidate's vehicles; the rest is said to lie outside.

use core::cmp::Ordering;

use super::ensemble::{Feature, Watch};
use super::store::Store;
use super::survey::{Leg, Survey, survey};
use crate::bay::action::State;
use crate::scenario::model::Job;

/// Share of a candidate's vehicles below and above its range, 0 … 1.
pub const OUTSIDE: f64 = 0.1;

/// What one candidate's vehicles would show, mbar gauge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Candidate, in the order of the job.
    pub candidate: usize,
    /// A tenth of its vehicles lie below.
    pub low: f64,
    /// Half of its vehicles lie below.
    pub middle: f64,
    /// A tenth of its vehicles lie above.
    pub high: f64,
}

/// A joint in a state, with a range for every candidate that could be simulated there.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Joint.
    pub joint: String,
    /// State.
    pub state: State,
    /// In the order of the candidates.
    pub ranges: Vec<Range>,
}

/// Every joint and state of a job that the complete run reads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expected {
    /// In the order of the run.
    pub places: Vec<Place>,
}

impl Expected {
    /// The place with this joint and state, if the run reads it.
    pub fn at(&self, joint: &str, state: State) -> Option<&Place> {
        self.places.iter().find(|p| p.joint == joint && p.state == state)
    }

    /// From the vehicles of a survey.
    pub fn of(job: &Job, survey: &Survey) -> Self {
        let mut places = vec![];
        for (joint, state, line) in &survey.menu.readings {
            let shown = |candidate: usize| -> Vec<f64> {
                let own = survey.draws.iter().zip(&survey.rows).filter(|(draw, _)| draw.candidate == candidate);
                own.filter_map(|(_, row)| match row.as_ref()?.get(*line)?.first()? {
                    Feature::Number { value, .. } => Some(*value),
                    Feature::Word { .. } => None,
                })
                .collect()
            };
            let ranges = (0..job.candidates.len()).filter_map(|c| range(c, shown(c))).collect();
            places.push(Place { joint: joint.clone(), state: *state, ranges });
        }
        Self { places }
    }
}

/// The range of some values; none of none.
fn range(candidate: usize, mut values: Vec<f64>) -> Option<Range> {
    values.retain(|v| v.is_finite());
    values.sort_by(|a, b| a.partial_cmp(b).unwrap_or(Ordering::Equal));
    let last = values.len().checked_sub(1)?;
    // between the two nearest, as far along as the share says
    let at = |share: f64| {
        let place = share * last as f64;
        let below = place.floor();
        let (a, b) = (values[below as usize], values[(below as usize + 1).min(last)]);
        a + (b - a) * (place - below)
    };
    Some(Range { candidate, low: at(OUTSIDE), middle: at(0.5), high: at(1.0 - OUTSIDE) })
}

/// Simulates the complete run on a job's reference vehicles, or takes it from the store, and tells the ranges.
///
/// # Errors
/// A sentence: cancelled, or the job's vehicle can't be built.
pub fn expected(job: &Job, vehicles: usize, store: &dyn Store, watch: &dyn Watch) -> Result<Expected, String> {
    Ok(Expected::of(job, &survey(job, vehicles, store, watch)?))
}

/// The way that par times are made of, for a candidate ([`Survey::way`]): for the debrief, when it is known which it was.
///
/// # Errors
/// A sentence: cancelled, or the job's vehicles can't be weighed.
pub fn par_way(
    job: &Job,
    candidate: usize,
    vehicles: usize,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Vec<Leg>, String> {
    let survey = survey(job, vehicles, store, watch)?;
    survey.way(job, &survey.outcome_kept(job, store)?, candidate)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Unwatched;
    use crate::diagnosis::store::Nowhere;
    use crate::scenario::{Library, load_job};

    #[test]
    fn a_range_leaves_a_tenth_out_at_either_end() {
        let values: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        assert_eq!(range(3, values), Some(Range { candidate: 3, low: 10.0, middle: 50.0, high: 90.0 }));
        assert_eq!(range(0, vec![-7.0]), Some(Range { candidate: 0, low: -7.0, middle: -7.0, high: -7.0 }));
        assert_eq!(range(0, vec![f64::NAN]), None);
    }

    /// Every place where the vehicle card gives a limit can be asked about, also where a long menu has no test of its own.
    #[test]
    fn no_limit_of_a_built_in_job_is_unanswered() {
        for name in Library::builtin().jobs() {
            let Ok((job, _)) = load_job(&Library::builtin(), &name) else { panic!("{name} loads") };
            let menu = crate::diagnosis::menu::menu(&job).unwrap();
            for limit in &job.limits {
                let read =
                    menu.readings.iter().any(|(joint, state, _)| *joint == limit.joint && *state == limit.state);
                assert!(read, "{name}: {} at {}", limit.state.word(), limit.joint);
            }
        }
    }

    #[test]
    fn a_plugged_filter_shows_behind_it_and_not_before_it() {
        let Ok((job, _)) = load_job(&Library::builtin(), "bypass-puff") else { panic!("the built-in job loads") };
        let all = expected(&job, 16, &Nowhere, &Unwatched).unwrap();
        let of = |name: &str| job.candidates.iter().position(|c| c.name == name).unwrap();
        let (filter, sound) = (of("plugged-filter"), of("nothing-wrong"));
        let middle = |joint: &str, candidate: usize| {
            let place = all.at(joint, State::Raised).unwrap();
            place.ranges.iter().find(|r| r.candidate == candidate).unwrap().middle
        };
        let ends = [job.joints.first().unwrap(), job.joints.last().unwrap()].map(|(joint, _)| joint.as_str());
        let apart = ends.map(|joint| middle(joint, sound) - middle(joint, filter));
        assert!(apart[1] > 50.0, "behind the filter it draws deeper: {apart:?}");
        assert!(apart[0].abs() < 0.5 * apart[1], "before it hardly: {apart:?}");
        for place in &all.places {
            assert_eq!(place.ranges.len(), job.candidates.len(), "{place:?}");
            assert!(place.ranges.iter().all(|r| r.low <= r.middle && r.middle <= r.high), "{place:?}");
        }
        let way = par_way(&job, filter, 16, &Nowhere, &Unwatched).unwrap();
        assert!(!way.is_empty() && way.iter().all(|leg| leg.minutes > 0.0 && !leg.test.is_empty()), "{way:?}");
        // the same whatever is wrong with the vehicle in the bay: there is no place for it to come in
        assert_eq!(all, expected(&job, 16, &Nowhere, &Unwatched).unwrap());
    }
}
