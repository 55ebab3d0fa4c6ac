//! A rubric: weights and the cut.

use super::page::Page;
use crate::diag::{Report, id};
use crate::scenario::model::Rubric;
use crate::scenario::parse;
use crate::scenario::raw::RawRubric;
use crate::scenario::source::Source;

/// Reads and checks a rubric.
pub(in crate::scenario) fn rubric(file: &str, text: &str, name: &str, report: &mut Report) -> Option<Rubric> {
    let read = parse::read::<RawRubric>(file, text, report)?;
    let mut found = Report::new();
    let rubric = check_rubric(file, name, &read.value, &read.source, &mut found);
    report.merge_where(found, |d| read.is_the_authors(d));
    rubric.filter(|_| read.whole)
}

fn check_rubric(
    file: &str,
    name: &str,
    raw: &RawRubric,
    source: &Source<'_>,
    report: &mut Report,
) -> Option<Rubric> {
    let root = source.root();
    let before = report.errors();
    let mut page = Page { file, report };
    let weights = [
        ("diagnosis", raw.diagnosis),
        ("justified", raw.justified),
        ("cited", raw.cited.unwrap_or(0.0)),
        ("choice", raw.choice.unwrap_or(0.0)),
        ("measurement", raw.measurement),
        ("procedure", raw.procedure),
        ("calibration", raw.calibration),
        ("economy", raw.economy.unwrap_or(0.0)),
    ];
    for (field, weight) in weights {
        if !(0.0..=1e6).contains(&weight) {
            let at = root.field(field);
            page.say(
                page.at(id::WEIGHT, at.span(), format!("the weight {weight} of \"{field}\" can't be used"))
                    .label("zero or more")
                    .instead_of(at.text(), "a number from 0"),
            );
        }
    }
    let sum: f64 = weights.iter().map(|(_, w)| w).sum();
    if page.report.errors() == before && sum <= 0.0 {
        page.say(page.at(id::WEIGHT, root.head(), "every weight is zero").label("nothing would be marked"));
    }
    page.known(root, "Rubric", "cut", "the cut", raw.cut);
    page.known(root, "Rubric", "reading_tolerance", "the tolerance", raw.reading_tolerance.si() / 100.0);
    check_limits(&mut page, raw, source);
    let share = 100.0 / sum;
    (page.report.errors() == before).then(|| build(name, raw, weights.map(|(_, w)| w * share)))
}

/// Numbers that may be left out: field and what it is.
fn check_limits(page: &mut Page<'_>, raw: &RawRubric, source: &Source<'_>) {
    let numbers = [
        ("diagnosis_floor", "the floor", raw.diagnosis_floor),
        ("justified_floor", "the floor", raw.justified_floor),
        ("cited_floor", "the floor", raw.cited_floor),
        ("choice_floor", "the floor", raw.choice_floor),
        ("measurement_floor", "the floor", raw.measurement_floor),
        ("procedure_floor", "the floor", raw.procedure_floor),
        ("calibration_floor", "the floor", raw.calibration_floor),
        ("economy_floor", "the floor", raw.economy_floor),
        ("critical_cap", "the cap", raw.critical_cap),
        ("enough_belief", "the belief", raw.enough_belief),
        ("minutes_per_credit", "the charge", raw.minutes_per_credit),
        ("minutes_per_risk", "the charge", raw.minutes_per_risk),
        ("support_bans", "the weight of evidence", raw.support_bans),
        ("rule_out_bans", "the weight of evidence", raw.rule_out_bans),
        ("false_claim", "the loss", raw.false_claim),
        ("neutral_claim", "the loss", raw.neutral_claim),
    ];
    let root = source.root();
    for (field, what, value) in numbers {
        if let Some(value) = value {
            page.known(root, "Rubric", field, what, value);
        }
    }
    if let Some((one, two, three)) = raw.hints {
        for points in [one, two, three] {
            page.known(root, "Rubric", "hints", "the price of a hint", points);
        }
    }
}

fn build(name: &str, raw: &RawRubric, weights: [f64; 8]) -> Rubric {
    let [diagnosis, justified, cited, choice, measurement, procedure, calibration, economy] = weights;
    let floor = |given: Option<f64>| given.unwrap_or(0.0);
    let (one, two, three) = raw.hints.unwrap_or((1.0, 2.0, 4.0));
    Rubric {
        name: name.to_owned(),
        diagnosis,
        justified,
        cited,
        choice,
        measurement,
        procedure,
        calibration,
        economy,
        cut: raw.cut,
        diagnosis_floor: floor(raw.diagnosis_floor),
        justified_floor: floor(raw.justified_floor),
        cited_floor: floor(raw.cited_floor),
        choice_floor: floor(raw.choice_floor),
        measurement_floor: floor(raw.measurement_floor),
        procedure_floor: floor(raw.procedure_floor),
        calibration_floor: floor(raw.calibration_floor),
        economy_floor: floor(raw.economy_floor),
        critical_cap: raw.critical_cap.unwrap_or(39.0),
        enough_belief: raw.enough_belief.unwrap_or(0.90),
        minutes_per_credit: raw.minutes_per_credit.unwrap_or(0.0),
        minutes_per_risk: raw.minutes_per_risk.unwrap_or(0.0),
        preliminaries: raw.preliminaries.clone(),
        support_bans: raw.support_bans.unwrap_or(0.3),
        rule_out_bans: raw.rule_out_bans.unwrap_or(0.5),
        false_claim: raw.false_claim.unwrap_or(0.25),
        neutral_claim: raw.neutral_claim.unwrap_or(0.05),
        hints: [one, two, three],
        parts_as_evidence: raw.parts_as_evidence.unwrap_or(false),
        reading_tolerance_mbar: raw.reading_tolerance.si() / 100.0,
    }
}
