//! Scenario files: what is built in is sound, and what is broken is told at its place.
//!
//! `tests/scenarios/*.ron` are broken files. Beside a line stands what must be said about it:
//! `//~ FB-S016 unknown-joint (filter in)`, with the nearest word in brackets where one is offered;
//! `//~^` means the line above, `//~^^` the one above that. Nothing else may be said about the file.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use faultbay::authoring::{silent, sound_card};
use faultbay::bay::action::State;
use faultbay::cli::{check, explain, folder};
use faultbay::diag::{Report, Severity, id, pages, render};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::scenario::{self, Kind, Library, example};
use proptest::prelude::*;

fn broken_files() -> Vec<PathBuf> {
    let files = folder::ron_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios"));
    assert!(files.len() >= 14, "only {} broken files found", files.len());
    files
}

fn text_of(path: &Path) -> String {
    folder::read(path).unwrap_or_else(|report| panic!("{report}"))
}

/// Line, code, name and nearest word of every expectation in a file.
fn expected(text: &str) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for (i, line) in text.lines().enumerate() {
        for note in line.split("//~").skip(1) {
            let up = note.chars().take_while(|c| *c == '^').count();
            let note = note.trim_start_matches('^').trim();
            all.insert(format!("line {}: {note}", i + 1 - up));
        }
    }
    all
}

/// The same of every diagnostic about a file.
fn said(report: &Report, file: &str) -> BTreeSet<String> {
    let source = report.file(file).unwrap();
    report
        .diagnostics()
        .into_iter()
        .map(|d| {
            assert_eq!(d.file, file, "about another file: {report}");
            let (line, _) = source.line_column(d.span.start);
            let nearest = d.nearest.as_deref().map(|n| format!(" ({n})")).unwrap_or_default();
            format!("line {line}: {}{nearest}", d.id)
        })
        .collect()
}

#[test]
fn a_job_without_limits_shows_the_card_of_its_plant() {
    let start = example::JOB.find("    limits: [").unwrap();
    let end = start + example::JOB[start..].find("    ],\n").unwrap() + "    ],\n".len();
    let card = example::JOB[start..end].replace("limits", "card").replace("low: mbar(-100)", "low: mbar(-111)");
    let mut library = example::library();
    let plant = example::PLANT.trim_end().strip_suffix(')').unwrap().to_owned() + &card + ")\n";
    library.insert(Kind::Plant, "bench", "bench-plant.ron", &plant);
    let job = format!("{}{}", &example::JOB[..start], &example::JOB[end..]);
    library.insert(Kind::Job, "bare", "bare.ron", &job);
    let own = scenario::load_job(&library, "bench").unwrap_or_else(|r| panic!("{r}")).0;
    assert_eq!(own.limit("filter in", State::Idle).unwrap().low_mbar, -100.0, "a job's own limits come first");
    let (bare, report) = scenario::load_job(&library, "bare").unwrap_or_else(|r| panic!("{r}"));
    assert!(report.is_empty(), "{report}");
    assert_eq!(bare.limit("filter in", State::Idle).unwrap().low_mbar, -111.0);
    assert_eq!(bare.limits, scenario::load_card(&library, "bench").unwrap_or_else(|r| panic!("{r}")).0);
}

#[test]
fn every_broken_file_is_told_where_its_author_expects_it() {
    let library = Library::builtin();
    let mut codes = BTreeSet::new();
    let mut failures = String::new();
    for path in broken_files() {
        let text = text_of(&path);
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        let report = scenario::check_text(None, &file, &text, &library);
        let (said, expected) = (said(&report, &file), expected(&text));
        for line in said.symmetric_difference(&expected) {
            let what = if expected.contains(line) { "isn't said" } else { "isn't expected" };
            failures += &format!("{file}: {what}: {line}\n");
        }
        if said != expected {
            failures += &report.to_string();
        }
        codes.extend(report.diagnostics().iter().map(|d| d.id.code));
    }
    assert!(failures.is_empty(), "{failures}");
    assert!(codes.len() >= 25, "the broken files show only {codes:?}");
}

#[test]
fn what_is_built_in_has_neither_errors_nor_warnings() {
    let library = Library::builtin();
    assert_eq!(library.jobs().len(), 18, "the sixteen of the handbook, and two more");
    for kind in Kind::ALL {
        for name in library.names(kind) {
            let (file, text) = library.entry(kind, &name).unwrap();
            let report = scenario::check_text(None, file, text, &library);
            assert!(report.is_empty(), "{report}");
        }
    }
}

#[test]
fn a_plant_may_hold_a_blend() {
    let fuel = |written: &str| {
        let mut library = example::library();
        let text = example::PLANT.replace("fuel: Diesel", &format!("fuel: {written}"));
        library.insert(Kind::Plant, "bench", "bench-plant.ron", &text);
        let (plant, report) = scenario::load_plant(&library, "bench").unwrap_or_else(|r| panic!("{r}"));
        assert!(report.is_empty(), "{report}");
        plant.fuel.at(plant.temperature)
    };
    let blend = fuel("Blend([(Diesel, 0.8), (Petrol, 0.2)])");
    assert_eq!(fuel("Blend([(Diesel, 1.0)])"), fuel("Diesel"));
    assert!(blend.viscosity < fuel("Diesel").viscosity && blend.viscosity > fuel("Petrol").viscosity);
    let wet = fuel("Blend([(Diesel, 0.9), (Water, 0.1)])");
    assert!(wet.density > fuel("Diesel").density);
}

#[test]
fn a_blend_that_makes_no_whole_is_told_in_words() {
    let library = example::library();
    let said = |written: &str| {
        let text = example::PLANT.replace("fuel: Diesel", &format!("fuel: {written}"));
        scenario::check_text(Some(Kind::Plant), "plant.ron", &text, &library).to_string()
    };
    assert!(said("Blend([(Diesel, 0.8), (Petrol, 0.1)])").contains("add up to 1; these give 0.9"));
    assert!(said("Blend([(Diesel, 80.0), (Petrol, 20.0)])").contains("between 0 and 1, so 80 can't be one"));
    assert!(said("Blend([(Diesel, 0.5), (Water, 0.5)])").contains("at most a share of 0.3 of water"));
}

#[test]
fn built_in_files_are_those_in_the_folder() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let library = Library::builtin();
    for kind in Kind::ALL {
        let on_disk: Vec<String> = folder::ron_files(&root.join("scenarios").join(kind.folder()))
            .iter()
            .map(|p| folder::name_of(p))
            .collect();
        assert_eq!(library.names(kind), on_disk);
        for name in on_disk {
            let (file, text) = library.entry(kind, &name).unwrap();
            assert_eq!(text_of(&root.join(file)), text);
        }
    }
}

#[test]
fn a_job_is_whole_and_its_weights_sum_to_one() {
    let library = Library::builtin();
    for name in library.jobs() {
        let (job, report) = scenario::load_job(&library, &name).unwrap_or_else(|r| panic!("{r}"));
        assert!(report.is_empty());
        assert_eq!(job.name, name);
        let sum: f64 = job.candidates.iter().map(|c| c.weight).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        assert!(!job.goals.is_empty() && job.candidates.len() >= 6, "{name}");
        assert!(job.candidates.iter().all(|c| c.weight <= 0.35), "a prior that gives the answer away in {name}");
        assert_eq!(job.candidates.iter().filter(|c| c.vehicles.is_empty()).count(), 1);
        assert!((5..=7).contains(&job.questions.len()));
        assert!(job.looks.len() >= 6);
        for (joint, _) in &job.joints {
            // no range for the dead-head means that the line isn't shut there
            for state in State::EVERY_CARD.into_iter().filter(|s| *s != State::DeadHead) {
                let limit = job.limit(joint, state).unwrap_or_else(|| panic!("{name}: {joint} {state:?}"));
                assert!(limit.low_mbar < limit.high_mbar);
            }
        }
        let rubric = &job.rubric;
        let points = rubric.diagnosis
            + rubric.justified
            + rubric.cited
            + rubric.choice
            + rubric.measurement
            + rubric.procedure
            + rubric.calibration
            + rubric.economy;
        assert!((points - 100.0).abs() < 1e-9, "{points}");
        assert_eq!(job.hash.len(), 32);
    }
}

#[test]
fn a_fault_with_one_place_is_given_the_name_of_that_place() {
    let (job, _) = scenario::load_job(&Library::builtin(), "bypass-puff").unwrap();
    let pump = job.candidate("worn-pump").unwrap();
    assert_eq!(pump.vehicles[0].at, "transfer pump");
    assert!(job.candidate("own-kit").unwrap().vehicles.iter().all(|v| v.at.is_empty()));
}

#[test]
fn a_job_puts_its_own_fuel_and_temperature_in_the_plants_place() {
    let mut library = example::library();
    let cold = example::JOB.replace("minutes: 30,", "minutes: 30, fill: l(38), temperature: degC(-5),");
    library.insert(Kind::Job, "cold", "cold.ron", &cold);
    let (plain, _) = scenario::load_job(&library, "bench").unwrap_or_else(|r| panic!("{r}"));
    let (cold, _) = scenario::load_job(&library, "cold").unwrap_or_else(|r| panic!("{r}"));
    let [cold_fuel, plain_fuel] = [&cold, &plain].map(|job| job.plant.fuel.at(job.plant.temperature));
    assert!(cold_fuel.viscosity > 2.0 * plain_fuel.viscosity);
    assert_eq!(cold_fuel.viscosity_at_20, plain_fuel.viscosity_at_20);
    let tank = |job: &scenario::model::Job| match &job.plant.part("tank").unwrap().is {
        faultbay::plant::component::Component::Tank(tank) => tank.fill.si(),
        other => panic!("{other:?}"),
    };
    assert!((tank(&plain) - 0.040).abs() < 1e-12);
    assert!((tank(&cold) - 0.038).abs() < 1e-12);
}

#[test]
fn the_hash_changes_with_each_of_the_three_files() {
    let hash = |library: &Library| scenario::load_job(library, "bench").unwrap_or_else(|r| panic!("{r}")).0.hash;
    let plain = hash(&example::library());
    assert_eq!(plain, hash(&example::library()));
    for (kind, text) in [(Kind::Plant, example::PLANT), (Kind::Job, example::JOB), (Kind::Rubric, example::RUBRIC)]
    {
        let mut library = example::library();
        library.insert(kind, "bench", "changed.ron", &format!("{text}// a remark\n"));
        assert_ne!(plain, hash(&library), "{kind:?}");
    }
}

#[test]
fn a_job_with_a_broken_plant_is_refused_with_the_plants_errors() {
    let mut library = example::library();
    library.insert(Kind::Plant, "bench", "plants/bench.ron", &example::PLANT.replace("bore: mm(8)", "bore: m(8)"));
    let report = scenario::load_job(&library, "bench").unwrap_err();
    let all = report.diagnostics();
    assert_eq!(all.len(), 1, "{report}");
    assert_eq!((all[0].id, all[0].file.as_str()), (id::OUT_OF_RANGE, "plants/bench.ron"));
}

#[test]
fn names_that_lead_nowhere_are_refused_with_the_nearest() {
    let library = Library::builtin();
    let report = scenario::load_job(&library, "bypas-puff").unwrap_err();
    assert_eq!(report.diagnostics()[0].nearest.as_deref(), Some("bypass-puff"));
    assert!(report.to_string().contains("did you mean \"bypass-puff\"?"), "{report}");
    assert!(scenario::load_plant(&library, "a1-vam").is_err());
    assert!(scenario::load_rubric(&library, "").is_err());
    assert!(scenario::load_plant(&library, "a1-van").is_ok());
    assert!(scenario::load_rubric(&library, "standard").is_ok());
}

#[test]
fn every_id_has_a_page_and_every_example_shows_what_it_says() {
    let listed: Vec<&str> = pages::all().map(|p| p.id.code).collect();
    let all: Vec<&str> = id::ALL.iter().map(|i| i.code).collect();
    assert_eq!(listed, all, "a page for each id, in order");
    assert!(all.is_sorted());
    let names: BTreeSet<&str> = id::ALL.iter().map(|i| i.name).collect();
    assert_eq!(names.len(), all.len());
    let library = example::library();
    let base = scenario::check_text(Some(Kind::Job), "job.ron", example::JOB, &library);
    assert!(base.is_empty(), "{base}");
    for page in pages::all() {
        assert!(!page.title.is_empty() && page.why.len() > 40, "{}", page.id);
        assert_eq!(page.id.severity == Severity::Warning, page.id.code.as_bytes()[4] == b'1', "{}", page.id);
        let Some(sample) = &page.example else { continue };
        // those about recordings are held in `recordings`
        if sample.within == pages::Within::Recording {
            continue;
        }
        let wrong = example::file(sample, true);
        let mut report = scenario::check_text(None, "wrong.ron", &wrong, &library);
        if [id::SHOWS_NOTHING, id::CARD_MISSES_SOUND].contains(&page.id) {
            // only driving tells, and on the bench nobody could purge the tee
            let on_the_van = |text: String| {
                let text = text
                    .replace("\"pump\"", "\"transfer pump\"")
                    .replace("rubric: \"bench\"", "rubric: \"standard\"");
                text.replace("plant: \"bench\"", "plant: \"a1-van\"")
            };
            let driven = |wrong| {
                let text = on_the_van(example::file(sample, wrong));
                if page.id == id::SHOWS_NOTHING {
                    return silent::told("job.ron", &text, &Library::builtin(), &Unwatched);
                }
                sound_card::told(Kind::Job, "job.ron", &text, &Library::builtin(), &Unwatched).pop()
            };
            report.push(driven(true).expect("told"));
            assert_eq!(driven(false), None);
        }
        assert!(
            report.diagnostics().iter().any(|d| d.id == page.id),
            "{} isn't found in\n{:.3000}\n{report}",
            page.id,
            wrong
        );
        let right = example::file(sample, false);
        let report = scenario::check_text(None, "right.ron", &right, &library);
        assert!(!report.has_errors(), "{}: the right one fails\n{right}\n{report}", page.id);
        assert!(
            !report.diagnostics().iter().any(|d| d.id == page.id),
            "{}: found in the right one\n{report}",
            page.id
        );
    }
    let without: Vec<Id> = pages::all().filter(|p| p.example.is_none()).map(|p| p.id).collect();
    let expected =
        [id::RECORDING_NO_COLUMN, id::RECORDING_UNREADABLE, id::UNREADABLE, id::NOT_BUILT, id::SEALED_REMARKS];
    assert_eq!(without, expected, "only what no text can show goes without an example");
}

type Id = faultbay::diag::Id;

/// A value that should be a number is told with field, range, unit and example, and what was probably meant.
#[test]
fn what_should_be_a_number_is_told_as_one() {
    let library = example::library();
    let told = |base: &str, from: &str, to: &str| {
        assert!(base.contains(from), "{from}");
        let report = scenario::check_text(None, "file.ron", &base.replacen(from, to, 1), &library);
        let first =
            report.diagnostics().into_iter().next().unwrap_or_else(|| panic!("{to}: nothing is said")).clone();
        assert_eq!(report.errors(), 1, "{report}");
        (first.message, first.nearest, first.help.unwrap_or_default())
    };
    let job = [
        ("minutes: 30", "minutes: \"forty\"", "\"minutes\" should be a number from 1 to 480 min, such as 40", None),
        (
            "minutes: 30",
            "minutes: \"30 min\"",
            "\"minutes\" should be a number from 1 to 480 min, such as 40",
            Some("30"),
        ),
        (
            "fuel_gauge: 0.67",
            "fuel_gauge: 67%",
            "\"fuel_gauge\" should be a number from 0 to 1, such as 0.6",
            Some("0.67"),
        ),
        (
            "minutes: 30",
            "minutes: 30, fill: l(38,5)",
            "\"fill\" should be a number in a unit, such as l(40)",
            Some("l(38.5)"),
        ),
        (
            "minutes: 30",
            "minutes: 30, stood: \"12 hours\"",
            "\"stood\" should be a number in a unit from 0 to 720 h, such as h(12)",
            Some("h(12)"),
        ),
        ("weight: 3", "weight: often", "\"weight\" should be a number, such as 3", None),
        (
            "severity: (2.0, 4.5)",
            "severity: (2,0, 4,5)",
            "\"severity\" should be 2 numbers in brackets, each from 1 to 5, such as (2.0, 4.5)",
            Some("(2.0, 4.5)"),
        ),
        ("severity: 3.0", "severity: \"bad\"", "\"severity\" should be a number from 1 to 5, such as 3.2", None),
        ("low: mbar(-50)", "low: -50", "\"low\" should be a number in a unit, such as mbar(-120)", None),
    ];
    for (from, to, message, nearest) in job {
        let (said, near, help) = told(example::JOB, from, to);
        assert_eq!((said.as_str(), near.as_deref()), (message, nearest), "{to}");
        assert!(help.len() > 10, "{to}: {help}");
    }
    let plant = [
        (
            "length: m(3)",
            "length: \"3 m\"",
            "\"length\" should be a number in a unit from 0.01 to 50 m, such as m(4)",
            Some("m(3)"),
        ),
        ("laminar: 0.85", "laminar: yes", "\"laminar\" should be a number from 0 to 1, such as 0.85", None),
        (
            "drop: mbar(12)",
            "drop: mbar(x)",
            "\"drop\" should be a number in a unit from 0.001 to 10000 mbar, such as mbar(12)",
            None,
        ),
        ("height: m(0.5)", "height: high", "\"height\" should be a number in a unit, such as m(0.5)", None),
    ];
    for (from, to, message, nearest) in plant {
        let (said, near, _) = told(example::PLANT, from, to);
        assert_eq!((said.as_str(), near.as_deref()), (message, nearest), "{to}");
    }
    let (_, near, help) = told(example::JOB, "minutes: 30", "minutes: 30, fill: mm(38)");
    assert_eq!((near, help.as_str()), (None, "mm is a unit of a length"));
    let (_, near, _) = told(example::JOB, "minutes: 30", "minutes: 30, fill: litre(38)");
    assert_eq!(near.as_deref(), Some("l"));
    let (said, _, help) = told(example::JOB, "minutes: 30", "minutes: 30,5");
    assert!(help.contains("30.5"), "{said}; {help}");
    let (said, _, help) = told(example::JOB, "weight: 3", "weight: 30%");
    assert!(said.contains("per cent") && help.contains("0.57"), "{said}; {help}");
}

/// Slips of somebody who writes letters, not files: each message says what to do about it.
#[test]
fn slips_of_the_pen_are_told_with_what_helps() {
    let library = example::library();
    let all = |from: &str, to: &str| {
        assert!(example::JOB.contains(from), "{from}");
        let report = scenario::check_text(None, "job.ron", &example::JOB.replacen(from, to, 1), &library);
        let told = report.diagnostics().into_iter().map(|d| {
            format!("{} {}; {}; {}", d.id.code, d.message, d.label, d.help.as_deref().unwrap_or_default())
        });
        told.collect::<Vec<_>>()
    };
    let only = |from: &str, to: &str, code: &str, piece: &str| {
        let told = all(from, to);
        assert!(told.len() == 1 && told[0].starts_with(code) && told[0].contains(piece), "{to}: {told:?}");
    };
    only("\"It has no pull.\"", "\"It has\tno pull.\"", "FB-S013", "holds a tab");
    only("\"It has no pull.\"", "\"\"", "FB-S013", "write it");
    only("\"It has no pull.\"", "\"It \"has\" no pull.\"", "FB-S003", "written \\\"");
    only("\"Bench job\"", "\u{201c}Bench job\u{201d}", "FB-S003", "straight quotes");
    only("(fault: \"F03\"", "(fault: \"filter\"", "FB-S017", "F15 Filter element plugged");
    only(
        "(fault: \"F15\", severity: 3.0)",
        "(fault: \"F15\", at: \"pump\", severity: 3.0)",
        "FB-S029",
        "it sits at a Filter",
    );
    only(
        "minutes: 30,",
        "minutes: 30, traps: [\"A\"], snares: [(trap: 3, named: [\"worn-pump\"])],",
        "FB-S012",
        "one trap, number 1",
    );
    let copy = "(name: \"worn-pump\", label: \"Pump worn\", weight: 1, vehicles: [(fault: \"F26\", severity: (2.0, 4.5))]),";
    only(copy, &format!("{copy}\n{copy}"), "FB-S021", "take out the copy");
    let label = "label: \"Filter plugged\"";
    let hinted = "label: \"Filter element plugged up\"";
    let text = example::JOB.replacen(label, hinted, 1);
    let with_hint = |hint: &str| {
        let text = text.replacen("minutes: 30,", &format!("minutes: 30, hints: [\"{hint}\"],"), 1);
        scenario::check_text(None, "job.ron", &text, &library)
            .diagnostics()
            .iter()
            .map(|d| d.id.code)
            .collect::<Vec<_>>()
    };
    assert_eq!(with_hint("Look at the filters: is an element plugged?"), ["FB-S126"]);
    assert_eq!(with_hint("Read on both sides of the filter."), [""; 0]);
    // letters of other languages are letters
    assert!(all("name: \"worn-pump\"", "name: \"müde-pumpe\"").is_empty());
}

#[test]
fn all_mistakes_of_a_file_come_in_one_run() {
    let text = example::JOB
        .replace("minutes: 30", "minuts: 30")
        .replace("fuel_gauge: 0.67", "fuel_gauge: \"full\"")
        .replace("answer: \"A week.\"", "answr: \"A week.\"")
        .replace("state: \"hold\", low: mbar(-80)", "state: \"hold\", low: l(80)");
    let report = scenario::check_text(None, "job.ron", &text, &example::library());
    let found: Vec<&str> = report.diagnostics().iter().map(|d| d.id.name).collect();
    for name in ["unknown-field", "wrong-value", "unknown-word"] {
        assert!(found.contains(&name), "{name} isn't in {found:?}\n{report}");
    }
    assert_eq!(report.errors(), 4, "{report}");
    let places: Vec<usize> = report.diagnostics().iter().map(|d| d.span.start).collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn a_diagnostic_points_at_the_word_itself() {
    let library = example::library();
    for (kind, from, to, id, word) in [
        (Kind::Plant, "laminar: 0.35", "laminr: 0.35", id::UNKNOWN_FIELD, "laminr"),
        (Kind::Plant, "bore: mm(8)", "bore: inch(8)", id::UNKNOWN_WORD, "inch"),
        (Kind::Plant, "bore: mm(8)", "bore: 8", id::WRONG_VALUE, "8"),
        (Kind::Plant, "bore: mm(8)", "bore: m(1e6)", id::OUT_OF_RANGE, "m(1e6)"),
        (Kind::Plant, "bore: mm(8)", "bore: mm(8), bore: mm(9)", id::REPEATED_FIELD, "bore"),
        (Kind::Plant, "bore: mm(8), ", "", id::MISSING_FIELD, "Line("),
        (Kind::Plant, "is: Filter(", "is: Fliter(", id::UNKNOWN_WORD, "Fliter"),
        (Kind::Plant, "from: \"foot\"", "from: \"fooot\"", id::UNKNOWN_NODE, "\"fooot\""),
        (Kind::Plant, "slip: 3e-6", "slip: -3e-6", id::OUT_OF_RANGE, "-3e-6"),
        (Kind::Job, "plant: \"bench\"", "plant: bench", id::WRONG_VALUE, "bench"),
        (Kind::Job, "(2.0, 4.5)", "2.0", id::WRONG_VALUE, "2.0"),
        (Kind::Job, "(2.0, 4.5)", "(2.0, 4.5, 5.0)", id::WRONG_VALUE, "(2.0, 4.5, 5.0)"),
        (Kind::Job, "(2.0, 4.5)", "(2.0, 6.5)", id::SEVERITY, "(2.0, 6.5)"),
        (Kind::Job, "mode: practice", "mode: exam", id::UNKNOWN_WORD, "exam"),
        (Kind::Job, "hidden: [", "hidden: [[", id::SYNTAX, ")"),
        (Kind::Job, "fault: \"F15\", severity: 3.0", "fault: \"F61\", severity: 3.0", id::UNKNOWN_FAULT, "\"F61\""),
    ] {
        let base = if kind == Kind::Plant { example::PLANT } else { example::JOB };
        let text = base.replacen(from, to, 1);
        assert_ne!(text, base, "{from} isn't in the file");
        let report = scenario::check_text(Some(kind), "x.ron", &text, &library);
        let first = report.diagnostics()[0];
        assert_eq!((first.id, &text[first.span.clone()]), (id, word), "{from} → {to}\n{report}");
    }
}

#[test]
fn what_can_be_read_is_checked_although_another_piece_can_not() {
    let job = example::JOB
        .replace("answer: \"A week.\"", "answr: \"A week.\"")
        .replace("name: \"nothing-wrong\"", "nane: \"nothing-wrong\"")
        .replace("part: \"pump\"", "part: \"pmup\"")
        .replace("minutes: 30,", "minutes: 3000, colour: \"°°red\",")
        .replace("severity: 3.0", "severity: 9.0");
    let report = scenario::check_text(None, "x.ron", &job, &example::library());
    let found: Vec<&str> = report.diagnostics().iter().map(|d| d.id.name).collect();
    assert_eq!(
        found,
        ["out-of-range", "unknown-field", "unknown-field", "unknown-part", "unknown-field", "severity"],
        "{report}"
    );
    let plant = example::PLANT
        .replace("name: \"foot\", height", "name: \"foot\", hight")
        .replace("laminar: 0.85", "laminar: 85")
        .replace("is: Tank(", "is: Tonk(");
    let report = scenario::check_text(None, "x.ron", &plant, &example::library());
    let found: Vec<&str> = report.diagnostics().iter().map(|d| d.id.name).collect();
    assert_eq!(found, ["unknown-field", "unknown-word", "out-of-range"], "{report}");
}

fn written(run: impl FnOnce(&mut Vec<u8>) -> u8) -> (u8, String) {
    let mut out = Vec::new();
    let code = run(&mut out);
    (code, String::from_utf8(out).unwrap())
}

/// A folder of its own under the build folder, fresh for each test.
fn fresh_folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    for kind in Kind::ALL {
        std::fs::create_dir_all(folder.join(kind.folder())).unwrap();
    }
    folder
}

#[test]
fn the_check_uses_the_files_beside_a_job_and_says_how_it_went_in_its_exit_code() {
    let home = fresh_folder("check-beside");
    std::fs::write(home.join("plants/bench.ron"), example::PLANT).unwrap();
    std::fs::write(home.join("rubrics/bench.ron"), example::RUBRIC).unwrap();
    let good = home.join("jobs/good.ron");
    let bad = home.join("jobs/bad.ron");
    let warned = home.join("jobs/warned.ron");
    std::fs::write(&good, example::JOB).unwrap();
    std::fs::write(&bad, example::JOB.replace("\"F15\", severity: 3.0", "\"F99\", severity: 3.0")).unwrap();
    std::fs::write(&warned, example::JOB.replace("fuel_gauge: 0.67", "fuel_gauge: 0.1")).unwrap();

    let (code, text) = written(|out| check::run(std::slice::from_ref(&good), check::Format::Text, out));
    assert_eq!((code, text.as_str()), (0, "1 file checked, nothing to report\n"));

    let (code, text) = written(|out| check::run(std::slice::from_ref(&warned), check::Format::Text, out));
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("warning[FB-S105 gauge-disagrees]"), "{text}");

    let (code, text) = written(|out| check::run(&[good, bad.clone()], check::Format::Json, out));
    assert_eq!(code, 2);
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["errors"], 1, "{text}");
    assert_eq!(json["diagnostics"][0]["id"], "FB-S017");
    assert_eq!(json["diagnostics"][0]["file"], bad.display().to_string());

    let (code, text) = written(|out| check::run(std::slice::from_ref(&home), check::Format::Text, out));
    assert_eq!(code, 2);
    assert!(text.ends_with("1 error, 1 warning\n"), "{text}");

    // the rubric of the folder is gone: the job names one that nobody has
    std::fs::remove_file(home.join("rubrics/bench.ron")).unwrap();
    let (code, text) = written(|out| check::run(&[home.join("jobs/good.ron")], check::Format::Text, out));
    assert_eq!(code, 2);
    assert!(text.contains("FB-S019"), "{text}");
}

#[test]
fn files_that_are_missing_no_text_or_endless_are_told_and_not_read_on() {
    let home = fresh_folder("check-unreadable");
    let binary = home.join("binary.ron");
    std::fs::write(&binary, [0xff, 0xfe, 0x00]).unwrap();
    let large = home.join("large.ron");
    std::fs::write(&large, "°".repeat(scenario::LARGEST_FILE / 2 + 500)).unwrap();
    let empty = home.join("empty.ron");
    std::fs::write(&empty, "").unwrap();
    for (path, code) in [
        (home.join("missing.ron"), "FB-S011"),
        (binary, "FB-S011"),
        (large, "FB-S001"),
        (empty, "FB-S003"),
        (home.join("jobs"), "FB-S011"),
    ] {
        let (exit, text) = written(|out| check::run(&[path], check::Format::Text, out));
        assert_eq!(exit, 2);
        assert!(text.contains(code), "{code}: {text}");
        assert!(text.len() < 2000, "{}", text.len());
    }
}

#[test]
fn without_files_everything_built_in_is_checked() {
    let (code, text) = written(|out| check::run(&[], check::Format::Text, out));
    assert_eq!((code, text.as_str()), (0, "33 files checked, nothing to report\n"));
}

#[test]
fn explain_lists_finds_by_code_or_name_and_helps_with_a_slip() {
    let (code, list) = written(|out| explain::run(None, out));
    assert_eq!(code, 0);
    for id in id::ALL {
        assert!(list.contains(id.code) && list.contains(id.name));
        let by_code = written(|out| explain::run(Some(id.code), out));
        let by_name = written(|out| explain::run(Some(id.name), out));
        assert_eq!(by_code, by_name);
        assert_eq!(by_code.0, 0);
        assert!(by_code.1.lines().all(|l| l.chars().count() < 400));
    }
    let (code, text) = written(|out| explain::run(Some("unknown-prat\u{1b}"), out));
    assert_eq!(code, 2);
    assert!(text.contains("did you mean unknown-part?"), "{text}");
    assert!(!text.contains('\u{1b}'));
}

/// Checks a text as every kind and draws what is said. It may say anything, but must come back.
fn survives(text: &str, library: &Library) {
    let bound = 200 + render::text(&scenario::check_text(None, "x.ron", text, library)).len();
    assert!(bound < 2_000_000);
    for kind in Kind::ALL {
        let report = scenario::check_text(Some(kind), "x.ron", text, library);
        let drawn = render::text(&report);
        assert_eq!(drawn.is_empty(), report.is_empty());
        serde_json::from_str::<serde_json::Value>(&render::json(&report)).unwrap();
        for d in report.diagnostics() {
            if let Some(file) = report.file(&d.file) {
                assert!(d.span.start <= file.text.len(), "{d:?}");
            }
        }
    }
}

fn valid_texts() -> Vec<String> {
    let library = Library::builtin();
    let mut texts = vec![example::PLANT.to_owned(), example::JOB.to_owned(), example::RUBRIC.to_owned()];
    for kind in Kind::ALL {
        texts.extend(library.names(kind).iter().filter_map(|n| library.text(kind, n)).map(str::to_owned));
    }
    texts
}

#[test]
fn a_valid_file_cut_off_anywhere_is_refused_without_a_panic() {
    let library = example::library();
    for text in valid_texts() {
        let end = text.rfind(')').unwrap();
        for (i, _) in text.char_indices().filter(|(i, _)| i % 11 == 0 && *i <= end) {
            let report = scenario::check_text(None, "x.ron", &text[..i], &library);
            assert!(report.has_errors(), "cut at byte {i} and still accepted:\n{}", &text[..i]);
            assert!(!render::text(&report).is_empty());
        }
    }
}

#[test]
fn hostile_texts_come_back() {
    let library = example::library();
    let deep = |open: &str, n: usize| open.repeat(n);
    for text in [
        String::new(),
        "\u{feff}Job(".to_owned(),
        "Job(".to_owned(),
        "Plant".to_owned(),
        "()".to_owned(),
        "Rubric(diagnosis: NaN, justified: inf, measurement: -inf, procedure: 1e400, calibration: -0.0, cut: NaN, reading_tolerance: mbar(NaN))".to_owned(),
        deep("(", 500_000),
        deep("[", 500_000),
        deep("{", 500_000),
        deep("Some(", 100_000),
        deep("/*", 500_000),
        format!("Job(goals: [{}])", "\"\",".repeat(19_000)),
        format!("Plant(nodes: [{}])", "(),".repeat(19_000)),
        format!("Job(title: \"{}\")", "\\u{41}".repeat(100_000)),
        "#![enable(implicit_some, unwrap_newtypes, unwrap_variant_newtypes, explicit_struct_names)]\nRubric(cut: 60)".to_owned(),
        "Job(r#title: \"x\", r#\"raw\"#: 1)".to_owned(),
        "Job(title: r#\"unclosed)".to_owned(),
        "Job(title: 'ab', customer: b'x', complaint: b\"y\")".to_owned(),
        "Job(a: {\"x\": 1, 2: [3]}, b: 1..2)".to_owned(),
    ] {
        survives(&text, &library);
    }
}

#[test]
fn numbers_that_are_none_are_refused() {
    let library = example::library();
    for (from, to) in [
        ("minutes: 30", "minutes: NaN"),
        ("fuel_gauge: 0.67", "fuel_gauge: inf"),
        ("weight: 3,", "weight: NaN,"),
        ("severity: 3.0", "severity: NaN"),
        ("severity: (2.0, 4.5)", "severity: (NaN, 4.5)"),
        ("low: mbar(-50)", "low: mbar(NaN)"),
    ] {
        let text = example::JOB.replacen(from, to, 1);
        assert_ne!(text, example::JOB, "{from} isn't in the job");
        let report = scenario::check_text(Some(Kind::Job), "x.ron", &text, &library);
        assert!(report.has_errors(), "{to} is accepted");
    }
    for (from, to) in [("laminar: 0.85", "laminar: NaN"), ("slip: 3e-6", "slip: inf"), ("m(0.5)", "m(-inf)")] {
        let text = example::PLANT.replacen(from, to, 1);
        assert_ne!(text, example::PLANT, "{from} isn't in the plant");
        let report = scenario::check_text(Some(Kind::Plant), "x.ron", &text, &library);
        assert!(report.has_errors(), "{to} is accepted");
    }
}

/// Pieces that are put into valid files: what the formats are made of, and what they aren't.
const PIECES: [&str; 28] = [
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "\"",
    "'",
    "\\",
    "/*",
    "*/",
    "//",
    "\n",
    "Some(",
    "None",
    "mbar(",
    "-1e308",
    "NaN",
    "r#\"",
    "°",
    "\u{0}",
    "\u{202e}",
    "#![enable(",
    "Tank(",
    "\"filter in\"",
    "99999999999999999999",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn mutated_files_never_panic(
        which in 0_usize..8,
        edits in prop::collection::vec((0.0_f64..1.0, 0_usize..40, 0_usize..28), 1..6),
    ) {
        let texts = valid_texts();
        let mut text = texts[which % texts.len()].clone();
        for (place, cut, piece) in edits {
            let mut start = (place * text.len() as f64) as usize;
            while !text.is_char_boundary(start) {
                start -= 1;
            }
            let mut end = (start + cut).min(text.len());
            while !text.is_char_boundary(end) {
                end += 1;
            }
            text.replace_range(start..end, PIECES[piece]);
        }
        survives(&text, &example::library());
    }

    #[test]
    fn arbitrary_text_never_panics(text in any::<String>(), tail in "[(){}\\[\\]:,\"'a-z0-9/*# \\n-]{0,60}") {
        let library = example::library();
        survives(&text, &library);
        survives(&format!("Job({tail}"), &library);
        survives(&tail, &library);
    }
}

/// Whoever never saw such a file writes a quantity as one says it.
#[test]
fn a_unit_behind_its_number_is_told_where_it_belongs() {
    let told = |text: &str, from: &str, to: &str| {
        let changed = text.replacen(from, to, 1);
        assert_ne!(changed, text);
        render::text(&scenario::check_text(None, "mine.ron", &changed, &example::library()))
    };
    for (text, from, to, words) in [
        (example::PLANT, "l(40)", "40 litres", "a unit stands before its number, not behind it"),
        (
            example::JOB,
            "minutes: 30,",
            "minutes: 30,\n    fill: 38 litres,",
            "\"fill\" should be a number in a unit, such as l(40)",
        ),
        (example::JOB, "minutes: 30,", "minutes: 30,\n    fill: 38 litres,", "did you mean \"l(38)\"?"),
        (
            example::JOB,
            "minutes: 30",
            "minutes: 30 min",
            "\"minutes\" should be a number from 1 to 480 min, such as 40",
        ),
        (example::JOB, "minutes: 30", "minutes: 30 min", "did you mean \"30\"?"),
        (example::PLANT, "mm(8)", "8 mm", "a unit stands before its number, not behind it"),
    ] {
        assert!(told(text, from, to).contains(words), "{to}: {}", told(text, from, to));
    }
    let lines = told(example::JOB, "\"It has no pull.\"", "It has no pull.");
    assert!(lines.contains("a text has to stand in quotes"), "{lines}");
    let lines = told(example::JOB, "fuel_gauge: 0.67", "fuel_gauge: 67");
    assert!(lines.contains("did you mean \"0.67\"?"), "{lines}");
    let lines = told(
        example::JOB,
        "(part: \"filter\", sees: \"Dusty and dry.\"),",
        "(part: \"filter\", sees: \"Dusty and dry.\"",
    );
    assert!(lines.contains("a closing bracket or a comma is missing before this"), "{lines}");
    let lines = told(example::JOB, "fault: \"F15\", severity: 3.0", "fault: \"F27\", severity: 3.0");
    assert!(lines.contains("has no ElectricPump"), "{lines}");
    // the estate has one, in a tank that nothing refills
    let library = Library::builtin();
    let estate = scenario::starter::starter(Kind::Job, "x").replace("a1-van", "a2-estate");
    let changed =
        estate.replace("(fault: \"F15\", at: \"filter\", severity: 3.2)", "(fault: \"F27\", severity: 3.2)");
    let lines = render::text(&scenario::check_text(Some(Kind::Job), "mine.ron", &changed, &library));
    assert!(lines.contains("no ElectricPump of the plant \"a2-estate\" is one that can have it"), "{lines}");
    let lines = told(example::JOB, "\"F15\", severity: 3.0", "\"F15\", severity: 3,0");
    assert!(lines.contains("a comma stands where a number has its point") && lines.contains("3.0"), "{lines}");
}

/// Whoever wrote a field twice needs both lines to see which one to keep; the window shows the message alone.
#[test]
fn a_field_that_stands_twice_is_told_with_both_lines() {
    let text = example::JOB.replacen("    minutes: ", "    minutes: 45,\n    level: beginner,\n    minutes: ", 1);
    assert_ne!(text, example::JOB);
    let first = text[..text.find("    minutes: ").unwrap()].matches('\n').count() + 1;
    let report = scenario::check_text(Some(Kind::Job), "job.ron", &text, &example::library());
    let twice: Vec<_> = report.diagnostics().into_iter().filter(|d| d.id == id::REPEATED_FIELD).collect();
    let [one] = &twice[..] else { panic!("{report}") };
    let lines = format!("the field \"minutes\" stands in line {first} and again in line {}", first + 2);
    assert_eq!(one.message, lines);
    assert!(one.help.as_ref().is_some_and(|h| h.contains("neither counts")), "{one:?}");
    // and in an entry of a list
    let text = example::JOB.replacen("severity: (", "severity: (1.0, 2.0), severity: (", 1);
    let report = scenario::check_text(Some(Kind::Job), "job.ron", &text, &example::library());
    assert!(report.to_string().contains("the field \"severity\" stands twice in line "), "{report}");
}

/// A synonym gives the answer away as its name does; what is seen, asked or denied doesn't.
#[test]
fn papers_that_tell_the_answer_in_the_trades_own_words_are_told() {
    let library = Library::builtin();
    let job = library.text(Kind::Job, "bypass-puff").unwrap();
    let told = |complaint: &str| {
        let start = job.find("    complaint: ").unwrap();
        let end = start + job[start..].find("\",\n").unwrap() + 3;
        let text = format!("{}    complaint: {complaint:?},\n{}", &job[..start], &job[end..]);
        let report = scenario::check_text(Some(Kind::Job), "job.ron", &text, &library);
        let found = report.diagnostics().into_iter().filter(|d| d.id == id::ANSWER_TOLD);
        found.map(|d| d.message.clone()).collect::<Vec<_>>()
    };
    let words = told("No pull on the bypass. My mate says the element is choked.");
    assert_eq!(words, ["the papers tell the answer in the trade's own words: \"element is choked\""]);
    assert_eq!(told("Kein Zug auf der Umgehung. Der Dieselfilter ist verstopft, sagt der Nachbar.").len(), 1);
    assert!(told("No pull on the bypass. The filter isn't choked, we looked. Is the vent blocked?").is_empty());
    // what ails another part is no answer
    assert!(told("No pull on the bypass. My mate says the strainer is choked.").is_empty());
}
