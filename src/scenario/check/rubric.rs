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
    let rubric = check_rubric(file, name, &read.value, &read.source, report);
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
        ("measurement", raw.measurement),
        ("procedure", raw.procedure),
        ("calibration", raw.calibration),
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
    page.number(root.field("cut"), "the cut", raw.cut, (0.0, 100.0), "points");
    page.number(
        root.field("reading_tolerance"),
        "the tolerance",
        raw.reading_tolerance.si() / 100.0,
        (0.1, 500.0),
        "mbar",
    );
    let floors = [("measurement_floor", raw.measurement_floor), ("procedure_floor", raw.procedure_floor)];
    for (field, floor) in floors {
        if let Some(floor) = floor {
            page.number(root.field(field), "the floor", floor, (0.0, 1.0), "");
        }
    }
    let share = 100.0 / sum;
    (page.report.errors() == before).then(|| Rubric {
        name: name.to_owned(),
        diagnosis: raw.diagnosis * share,
        justified: raw.justified * share,
        measurement: raw.measurement * share,
        procedure: raw.procedure * share,
        calibration: raw.calibration * share,
        cut: raw.cut,
        measurement_floor: raw.measurement_floor.unwrap_or(0.0),
        procedure_floor: raw.procedure_floor.unwrap_or(0.0),
        reading_tolerance_mbar: raw.reading_tolerance.si() / 100.0,
    })
}
