//! What is measured of a variant, and how far it may differ from the original's.

use serde::{Deserialize, Serialize};

use super::Bands;
use crate::authoring::diagnosability::{Diagnosability, Weight, check_to_compare};
use crate::authoring::solvable::FAIR_BELIEF;
use crate::diagnosis::belief::{grouped, posterior};
use crate::diagnosis::ensemble::{Feature, Row, Watch, run};
use crate::diagnosis::hypothesis::Draw;
use crate::diagnosis::justify::Part;
use crate::diagnosis::rows::{Reference, evidence};
use crate::diagnosis::store::Store;
use crate::diagnosis::survey::{Survey, survey};
use crate::language::said;
use crate::scenario::model::Job;

/// What the check of a job found, as far as equivalence asks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Par time, min.
    pub minutes: f64,
    /// Par cost: seals and the right part, credits.
    pub credits: f64,
    /// Share of middling learners who don't solve it.
    pub difficulty: f64,
    /// Belief in what is hidden that all tests bear, on the middle reference vehicle.
    pub reachable: f64,
    /// The same on the vehicle that is handed out.
    pub own: f64,
    /// What sound work does first.
    pub first: String,
    /// Candidates that can't be told apart, by their names; those that stand alone too.
    pub groups: Vec<Vec<String>>,
    /// The candidate that is right.
    pub right: Option<String>,
    /// Gravest remark of the check.
    pub gravest: Option<Weight>,
    /// What sound vehicles show on average, number by number, each with the doubt of such a reading.
    #[serde(skip)]
    pub sound: Vec<(f64, f64)>,
}

/// Checks a job and its own vehicle on so many reference vehicles a candidate.
///
/// # Errors
/// A sentence: cancelled, or a vehicle can't be built.
pub fn measured(
    job: &Job,
    vehicle: u64,
    vehicles: usize,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Measured, String> {
    let found = check_to_compare(job, vehicles, store, &Part { whole: watch, from: 0.0, span: 0.9 })?;
    // kept by the check
    let survey = survey(job, vehicles, store, &Part { whole: watch, from: 0.9, span: 0.05 })?;
    let own = own_belief(job, vehicle, &survey, store, &Part { whole: watch, from: 0.95, span: 0.05 })?;
    Ok(Measured {
        minutes: found.par.0,
        credits: found.par.1,
        difficulty: found.difficulty(),
        reachable: found.attainable,
        own,
        first: found.route.root.next.as_ref().map_or_else(|| "nothing".into(), |step| step.test.clone()),
        groups: named_groups(job, &found),
        right: found.truth.map(|t| job.candidates[t].name.clone()),
        gravest: found.gravest(),
        sound: sound(job, &survey),
    })
}

/// Means over sound vehicles.
fn sound(job: &Job, survey: &Survey) -> Vec<(f64, f64)> {
    let rows = survey.draws.iter().zip(&survey.rows);
    let own: Vec<&Row> = rows
        .filter(|(d, _)| job.candidates[d.candidate].vehicles.is_empty())
        .filter_map(|r| r.1.as_ref())
        .collect();
    let numbers = |row: &Row| -> Vec<(f64, f64)> {
        let one = |f: &Feature| {
            if let Feature::Number { value, random, .. } = f { Some((*value, *random)) } else { None }
        };
        row.iter().flatten().filter_map(one).collect()
    };
    let mut sum: Vec<(f64, f64)> = own.first().map_or_else(Vec::new, |row| numbers(row));
    for row in own.iter().skip(1) {
        for (s, n) in sum.iter_mut().zip(numbers(row)) {
            s.0 += n.0;
        }
    }
    sum.into_iter().map(|(s, doubt)| (s / own.len() as f64, doubt)).collect()
}

fn named_groups(job: &Job, found: &Diagnosability) -> Vec<Vec<String>> {
    let mut groups: Vec<Vec<String>> = vec![];
    let mut seen: Vec<usize> = vec![];
    for (c, candidate) in job.candidates.iter().enumerate() {
        match seen.iter().position(|&g| g == found.groups[c]) {
            Some(k) => groups[k].push(candidate.name.clone()),
            None => {
                seen.push(found.groups[c]);
                groups.push(vec![candidate.name.clone()]);
            }
        }
    }
    groups.iter_mut().for_each(|g| g.sort_unstable());
    groups.sort_unstable();
    groups
}

/// Belief in what is hidden, as far as it can be told apart, after the tests that sound work makes, on the vehicle
/// that is handed out: its tolerances, exactly what is wrong with it.
fn own_belief(
    job: &Job,
    vehicle: u64,
    survey: &Survey,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<f64, String> {
    let outcome = survey.outcome_kept(job, store)?;
    let faults = job.hidden.0.clone();
    let Some(right) = crate::diagnosis::hypothesis::candidate_of(job, &faults) else { return Ok(0.0) };
    let severity = faults.first().map_or(0.0, |f| f.severity);
    let own = Draw { candidate: right, band: 0, seed: vehicle, faults, severity };
    let shown = run(job, &[own], &survey.menu.course, watch).ok_or(said("work-cancelled"))?;
    // a vehicle that can't go through every test shows nothing that could be weighed
    let Some(Some(row)) = shown.first() else { return Ok(0.0) };
    let strata = Reference::fine(&survey.causes, &survey.draws, &survey.rows, &survey.like).strata(None)?;
    let log_like = strata.log_likelihoods(&evidence(row, &outcome.core))?;
    let by_candidate = survey.causes.by_candidate(&posterior(&survey.causes.prior, &log_like));
    Ok(grouped(&by_candidate, &outcome.groups)[outcome.groups[right]])
}

impl Measured {
    /// Why this isn't equivalent to another, in sentences; none when it is.
    pub fn unlike(&self, other: &Self, bands: &Bands) -> Vec<String> {
        let mut why = vec![];
        let mut apart = |what: &str, now: f64, was: f64, most: f64, digits: usize| {
            if (now - was).abs() > most {
                why.push(format!("{what} {now:.digits$} against {was:.digits$}, at most {most:.digits$} apart."));
            }
        };
        apart("Par minutes:", self.minutes, other.minutes, bands.minutes * other.minutes, 1);
        let credits = (bands.credits * other.credits).max(bands.least_credits);
        apart("Par cost:", self.credits, other.credits, credits, 1);
        apart("Difficulty:", self.difficulty, other.difficulty, bands.difficulty, 2);
        apart("Reachable belief:", self.reachable, other.reachable, bands.reachable, 2);
        if self.own < FAIR_BELIEF && other.own >= FAIR_BELIEF {
            let (own, needed) = (100.0 * self.own, 100.0 * FAIR_BELIEF);
            why.push(format!("On its own vehicle all tests bear {own:.0} in 100; {needed:.0} are needed."));
        }
        if self.first != other.first {
            why.push(format!(
                "Sound work begins with \u{201c}{}\u{201d}, not with \u{201c}{}\u{201d}.",
                self.first, other.first
            ));
        }
        if self.right != other.right {
            why.push("Another candidate is right.".into());
        }
        if self.groups != other.groups {
            let news = self.groups.iter().filter(|g| !other.groups.contains(g));
            let words: Vec<String> = news.map(|g| g.join(" and ")).collect();
            why.push(format!("Other candidates can't be told apart: {}.", words.join("; ")));
        }
        let moved = self.sound.iter().zip(&other.sound).map(|(a, b)| (a.0 - b.0).abs() / b.1.max(1e-9));
        let most = moved.fold(0.0, f64::max);
        if self.sound.len() != other.sound.len() || most > bands.sound {
            why.push(format!(
                "What a sound vehicle shows moves by up to {most:.1} doubts of a reading, at most {:.1}: the vehicle's \
                 card would no longer be true.",
                bands.sound
            ));
        }
        if self.gravest > other.gravest {
            why.push("The check has a graver remark than on the original.".into());
        }
        why
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn standing() -> Measured {
        Measured {
            minutes: 20.0,
            credits: 12.0,
            difficulty: 0.30,
            reachable: 0.95,
            own: 0.97,
            first: "idle at the pump in".into(),
            groups: vec![vec!["a".into()], vec!["b".into(), "c".into()]],
            right: Some("a".into()),
            gravest: None,
            sound: vec![(-20.0, 8.0), (-200.0, 10.0)],
        }
    }

    /// Each kind of difference is told by itself, and what lies within its band isn't.
    #[test]
    fn every_difference_has_its_reason() {
        let same = |change: &dyn Fn(&mut Measured)| {
            let mut m = standing();
            change(&mut m);
            m.unlike(&standing(), &Bands::STANDARD)
        };
        assert!(same(&|m| (m.minutes, m.credits, m.difficulty, m.reachable) = (23.9, 14.9, 0.41, 0.81)).is_empty());
        type Change<'a> = &'a dyn Fn(&mut Measured);
        let cases: [(Change<'_>, &str); 11] = [
            (&|m| m.minutes = 24.1, "Par minutes: 24.1 against 20.0"),
            (&|m| m.credits = 8.9, "Par cost"),
            (&|m| m.difficulty = 0.43, "Difficulty: 0.43"),
            (&|m| m.reachable = 0.79, "Reachable"),
            (&|m| m.own = 0.59, "own vehicle all tests bear 59"),
            (&|m| m.first = "look at the tank".into(), "Sound work begins with"),
            (&|m| m.right = Some("b".into()), "Another candidate"),
            (&|m| m.groups = vec![vec!["a".into(), "b".into()], vec!["c".into()]], "told apart: a and b; c"),
            (&|m| m.gravest = Some(Weight::Unfair), "graver"),
            (&|m| m.sound[1].0 = -221.0, "up to 2.1 doubts"),
            (&|m| m.sound.truncate(1), "no longer be true"),
        ];
        for (change, says) in cases {
            let why = same(change);
            assert!(why.len() == 1 && why[0].contains(says), "{says}: {why:?}");
        }
    }
}
