//! The files of `scenarios/`, built into the program.

use super::Kind;

/// Kind, name, file and text.
pub(super) static FILES: &[(Kind, &str, &str, &str)] = &[
    (Kind::Plant, "a1-van", "scenarios/plants/a1-van.ron", include_str!("../../scenarios/plants/a1-van.ron")),
    (
        Kind::Rubric,
        "standard",
        "scenarios/rubrics/standard.ron",
        include_str!("../../scenarios/rubrics/standard.ron"),
    ),
    (
        Kind::Job,
        "bypass-puff",
        "scenarios/jobs/bypass-puff.ron",
        include_str!("../../scenarios/jobs/bypass-puff.ron"),
    ),
    (
        Kind::Job,
        "nothing-wrong",
        "scenarios/jobs/nothing-wrong.ron",
        include_str!("../../scenarios/jobs/nothing-wrong.ron"),
    ),
    (Kind::Job, "primer-air", "scenarios/jobs/primer-air.ron", include_str!("../../scenarios/jobs/primer-air.ron")),
];
