//! What an author should know of a job, and what to change: remarks on what the check found.

use super::diagnosability::{Alike, Diagnosability, Lint, Weight};
use super::solvable::FAIR_BELIEF;
use crate::fault::FaultInstance;
use crate::language::said;
use crate::scenario::model::{FaultBand, Job};
use crate::tell;

/// Share of all bits from which one test gives the answer away.
const GIVES_AWAY: f64 = 0.9;
/// Largest prior of one candidate.
const MOST_PRIOR: f64 = 0.5;
/// Least difference between the greedy's and the random's share of solved sittings.
const LEAST_DISCRIMINATION: f64 = 0.3;
/// Two tests looked for together are worth that much more a minute than one before it matters.
const LOOK_AHEAD: f64 = 1.15;
/// Bits that are none: all candidates are one group.
const NOTHING: f64 = 1e-6;

pub(super) fn lints(
    job: &Job,
    found: &Diagnosability,
    by_candidate: &[f64],
    dead: &[usize],
    citable: bool,
) -> Vec<Lint> {
    let mut lints = vec![];
    let mut lint = |name: &str, weight: Weight, says: String, advice: &str| {
        lints.push(Lint { name: name.into(), weight, says, advice: advice.into() });
    };
    let label = |c: usize| tell!("marking-quoted", label = found.labels[c]);
    let n = found.labels.len();
    match found.truth {
        None => lint("uncovered", Weight::Unfair, said("lint-uncovered").into(), said("lint-uncovered-advice")),
        Some(t) => {
            if job.hidden.0.iter().any(|f| waits_alone(&job.candidates[t].vehicles, f)) {
                let says = tell!("lint-waits-alone", label = label(t));
                lint("waits-alone", Weight::Unfair, says, said("lint-waits-alone-advice"));
            }
            let with: Vec<&Alike> = found.alike.iter().filter(|a| a.pair.0 == t || a.pair.1 == t).collect();
            for a in &with {
                let other = if a.pair.0 == t { a.pair.1 } else { a.pair.0 };
                let says = tell!(
                    "lint-alike",
                    a = label(t),
                    b = label(other),
                    share = format!("{:.0}", 100.0 * a.mistaken),
                    because = a.because
                );
                let sound = job.candidates[other].vehicles.is_empty();
                // groups are made of the bands: how severe the hidden one is doesn't enter
                let raise = a.from.map(|from| tell!("lint-band-advice", from = severity(from)));
                match &a.would {
                    // nothing is hidden that could be raised, and who says so is right, whatever the mild rival would be
                    None if job.candidates[t].vehicles.is_empty() => lint(
                        "sound-looks-alike",
                        Weight::Remark,
                        tell!("fair-one-answer", says = says),
                        said("fair-raise-lowest"),
                    ),
                    None if sound => lint(
                        "unsolvable",
                        Weight::Unfair,
                        tell!("lint-shows-nothing", says = says),
                        said("lint-shows-nothing-advice"),
                    ),
                    Some(test) if forbidden(job, test) => lint(
                        "only-by-a-forbidden-test",
                        Weight::Unfair,
                        tell!("lint-forbidden", says = says, test = test),
                        said("lint-forbidden-advice"),
                    ),
                    Some(test) => lint(
                        "ambiguous",
                        Weight::Unfair,
                        tell!("lint-ambiguous", says = says, test = test),
                        raise.as_deref().unwrap_or(said("lint-ambiguous-advice")),
                    ),
                    None => lint(
                        "ambiguous",
                        Weight::Unfair,
                        tell!("lint-no-single-test", says = says),
                        raise.as_deref().unwrap_or(said("lint-inseparable-advice")),
                    ),
                }
            }
            if found.attainable < FAIR_BELIEF && with.is_empty() {
                let says = tell!(
                    "lint-unsolvable",
                    label = label(t),
                    share = format!("{:.0}", 100.0 * found.attainable),
                    needed = format!("{:.0}", 100.0 * FAIR_BELIEF)
                );
                lint("unsolvable", Weight::Unfair, says, said("lint-unsolvable-advice"));
            }
        }
    }
    for a in found.alike.iter().filter(|a| found.truth.is_none_or(|t| a.pair.0 != t && a.pair.1 != t)) {
        let says = tell!("lint-rivals-alike", a = label(a.pair.0), b = label(a.pair.1), because = a.because);
        lint("rivals-alike", Weight::Remark, says, said("lint-rivals-alike-advice"));
    }
    let critical = job.rubric.critical_cap >= job.rubric.cut;
    if critical || job.rubric.procedure <= 0.0 {
        let says = if critical {
            tell!(
                "lint-unsafe-cap",
                points = format!("{:.0}", job.rubric.critical_cap),
                cut = format!("{:.0}", job.rubric.cut)
            )
        } else {
            said("lint-unsafe-weight").to_owned()
        };
        lint("unsafe", Weight::Unfair, says, said("lint-unsafe-advice"));
    }
    if found.bits < NOTHING {
        lint("all-alike", Weight::Unfair, said("lint-all-alike").into(), said("lint-all-alike-advice"));
    } else if let Some(test) = found.tests.iter().filter(|t| !t.is_run).max_by(|a, b| a.bits.total_cmp(&b.bits))
        && test.bits >= GIVES_AWAY * found.bits
    {
        let says = tell!(
            "lint-gives-away",
            test = test.words,
            share = format!("{:.0}", (100.0 * test.bits / found.bits).min(100.0))
        );
        lint("gives-it-away", Weight::NotForAssessment, says, said("lint-gives-away-advice"));
    }
    if let Some(c) = (0..n).find(|&c| by_candidate[c] > MOST_PRIOR) {
        let says = tell!("lint-lopsided", label = label(c), share = format!("{:.0}", 100.0 * by_candidate[c]));
        lint("lopsided", Weight::NotForAssessment, says, said("lint-lopsided-advice"));
    }
    if found.tests.iter().all(|t| t.bits < crate::diagnosis::worth::MATERIAL_BITS) {
        lint("nothing-tells", Weight::Unfair, said("fair-nothing-tells").into(), said("lint-nothing-tells-advice"));
    }
    if !citable {
        let says = said("lint-nothing-to-cite");
        lint("nothing-to-cite", Weight::Remark, says.into(), said("lint-nothing-to-cite-advice"));
    }
    if found.par.0 > job.minutes {
        let says =
            tell!("lint-longer", par = format!("{:.0}", found.par.0), minutes = format!("{:.0}", job.minutes));
        lint("longer-than-announced", Weight::Remark, says, said("lint-longer-advice"));
    }
    let (error, none) = found.calibration;
    if error > crate::diagnosis::gate::MOST_ERROR || none > crate::diagnosis::gate::MOST_NONE {
        let says = tell!(
            "lint-not-calibrated",
            error = format!("{:.0}", 100.0 * error),
            none = format!("{:.0}", 100.0 * none)
        );
        lint("not-calibrated", Weight::NotForAssessment, says, said("lint-not-calibrated-advice"));
    }
    if found.truth.is_some() && found.discrimination() < LEAST_DISCRIMINATION {
        let says = tell!(
            "lint-no-discrimination",
            random = format!("{:.0}", 100.0 * found.skills[0]),
            greedy = format!("{:.0}", 100.0 * found.skills[2])
        );
        // where hardly anybody solves it, more rivals are no help
        let hard = found.skills[2] < 0.5;
        let advice = if hard { said("lint-too-hard-advice") } else { said("lint-no-discrimination-advice") };
        lint("doesn-t-discriminate", Weight::NotForAssessment, says, advice);
    }
    if found.route.pair_gain > LOOK_AHEAD && job.lookahead < 2 {
        let says = tell!("lint-look-ahead", times = format!("{:.1}", found.route.pair_gain));
        lint("look-ahead", Weight::Remark, says, said("lint-two-ahead-advice"));
    }
    for p in found.pairs.iter().filter(|p| p.is_masked() && found.truth == Some(p.pair)) {
        let says = tell!("lint-masked", pair = label(p.pair), single = p.single.map_or_else(String::new, label));
        lint("masked", Weight::Remark, says, said("lint-masked-advice"));
    }
    let (one, two) = (found.exact.ratio_ahead(1), found.exact.ratio_ahead(2));
    let told = |times: f64| (format!("{times:.2}"), found.exact.tests.len());
    if one > LOOK_AHEAD && job.lookahead < 2 {
        let (times, n) = told(one);
        // two ahead are advised where they come nearer to the best way
        let advice = if two < one { said("lint-two-ahead-advice") } else { said("lint-look-ahead-advice") };
        lint("greedy-is-long", Weight::Remark, tell!("lint-greedy-long", times = times, n = n), advice);
    }
    if two > LOOK_AHEAD && job.lookahead > 1 {
        let (times, n) = told(two);
        let says = tell!("lint-two-ahead-long", times = times, n = n);
        lint("two-ahead-is-long", Weight::Remark, says, said("lint-weigh-lightly"));
    }
    for &c in dead {
        let says = tell!("lint-dead-rival", label = label(c));
        lint("dead-rival", Weight::Remark, says, said("lint-dead-rival-advice"));
    }
    lints.sort_by_key(|lint| std::cmp::Reverse(lint.weight));
    lints
}

/// A severity as an author would write it.
fn severity(s: f64) -> String {
    format!("{s:.2}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Bands stand for a fault, and none whose vehicles show it when the hidden one does.
fn waits_alone(bands: &[FaultBand], fault: &FaultInstance) -> bool {
    let mut own = bands.iter().filter(|b| b.all().any(|b| b.fault == fault.fault)).peekable();
    own.peek().is_some() && !own.any(|b| b.all().any(|b| b.fault == fault.fault && b.waits_as(fault)))
}

/// Whether a test left out is one that the card forbids.
fn forbidden(job: &Job, test: &str) -> bool {
    let card = job.plant.service;
    test.starts_with("dead-head") && !(card.blocked_inlet && card.blocked_outlet)
}
