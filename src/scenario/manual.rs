//! The manual of scenario files, written from the tables that the parser and the checks themselves read.

use core::fmt::Write as _;
use std::collections::BTreeMap;

use super::model::{RULE_NAMES, WITHHOLDABLE};
use super::parse::{FieldShape, Shape};
use super::picture::{LARGEST_PICTURE, LONGEST_SIDE, MOST_PIXELS};
use super::raw::{
    EntryField, RawBand, RawCandidate, RawCode, RawCourse, RawFault, RawFellow, RawJob, RawLimit, RawLook,
    RawPicture, RawPlant, RawQuestion, RawRubric, RawSnare, RawStage, RawVaries, RawWithheld, RawWording,
};
use crate::fault::{CATALOGUE, Modifier};
use crate::plant::component::Component;
use crate::units::{GaugePressure, Length, PressureDifference, Span, Volume};

/// The page of plants, jobs, rubrics and courses: every field, every component with its numbers, every fault,
/// every modifier. `actions` are verb, syntax and meaning of what a learner can type.
pub fn manual(actions: &[(&str, &str, &str)]) -> String {
    let mut text = String::from(
        "# Scenario files\n\n\
         Written by `faultbay manual` from the tables that the check itself reads. All values in plants and jobs are\n\
         training values: on a real machine use its maker's data.\n\n\
         A file is text. It begins with `Plant(`, `Job(`, `Rubric(` or `Course(`; fields stand in any order, each with a\n\
         comma behind it; `//` begins a remark. Numbers carry their unit: `mbar(-120)`, `mm(8)`, `degC(20)`. Below air\n\
         pressure is negative. `faultbay new job NAME` writes a file to begin with, `faultbay check FILE` says what is\n\
         wrong in it, and where.\n",
    );
    // writing to a string can't fail
    let _ = pages(&mut text, actions);
    text
}

fn pages(text: &mut String, actions: &[(&str, &str, &str)]) -> core::fmt::Result {
    file::<RawJob>(text, "A complaint with a hidden cause.")?;
    entry(text, "pictures", RawPicture::FIELDS)?;
    writeln!(
        text,
        "\nA picture is a PNG file of at most {} KiB, {LONGEST_SIDE} pixels on a side and {MOST_PIXELS} in all.",
        LARGEST_PICTURE >> 10
    )?;
    entry(text, "questions", RawQuestion::FIELDS)?;
    entry(text, "looks", RawLook::FIELDS)?;
    entry(text, "limits", RawLimit::FIELDS)?;
    entry(text, "snares", RawSnare::FIELDS)?;
    writeln!(text, "\nRules that can be broken: {}.", RULE_NAMES.join(", "))?;
    entry(text, "codes", RawCode::FIELDS)?;
    for code in crate::instrument::codes::CODES {
        text.push_str(if code.number == crate::instrument::codes::CODES[0].number { "\n" } else { "" });
        writeln!(text, "- `{}`: {}", code.number, code.about)?;
    }
    entry(text, "withheld", RawWithheld::FIELDS)?;
    writeln!(text, "\nWords that can be withheld: {}.", WITHHOLDABLE.join(", "))?;
    entry(text, "candidates", RawCandidate::FIELDS)?;
    entry(text, "vehicles", RawBand::FIELDS)?;
    entry(text, "with", RawFellow::FIELDS)?;
    entry(text, "hidden", RawFault::FIELDS)?;
    entry(text, "varies", RawVaries::FIELDS)?;
    entry(text, "words", RawWording::FIELDS)?;
    modifiers(text)?;
    file::<RawCourse>(text, "Jobs in the order in which they are sat.")?;
    entry(text, "jobs", RawStage::FIELDS)?;
    file::<RawRubric>(text, "How attempts are marked.")?;
    file::<RawPlant>(text, "A vehicle's supply.")?;
    components(text)?;
    faults(text)?;
    writeln!(text, "\n## What a learner can type\n")?;
    for (verb, syntax, doc) in actions {
        writeln!(text, "- **{verb}**: `{}`. {doc}", syntax.replace('`', "'"))?;
    }
    Ok(())
}

fn file<T: Shape>(text: &mut String, words: &str) -> core::fmt::Result {
    writeln!(text, "\n## {}\n\n{words}\n", T::OPENING)?;
    writeln!(text, "| field | written as | | meaning |\n|---|---|---|---|")?;
    T::FIELDS.iter().try_for_each(|field| row(text, field))
}

fn row(text: &mut String, field: &FieldShape) -> core::fmt::Result {
    let needed = if field.needed { "needed" } else { "may be left out" };
    let written = match field.most {
        0 => written(field.read_as),
        most => format!("list, at most {most}: {}", written(field.read_as)),
    };
    writeln!(text, "| `{}` | {written} | {needed} | {} |", field.name, field.words.trim())
}

fn entry(text: &mut String, list: &str, fields: &[EntryField]) -> core::fmt::Result {
    writeln!(text, "\n### Entries of \"{list}\"\n\n| field | written as | | meaning |\n|---|---|---|---|")?;
    fields.iter().try_for_each(|field| {
        let needed = if field.needed { "needed" } else { "may be left out" };
        writeln!(text, "| `{}` | {} | {needed} | {} |", field.name, written(field.read_as), field.words.trim())
    })
}

/// How a type of the source is written in a file.
fn written(read_as: &str) -> String {
    let units = |units: &[&str]| units.iter().map(|u| format!("`{u}(…)`")).collect::<Vec<_>>().join(", ");
    match read_as {
        "String" => "text in quotes".to_owned(),
        "f64" | "Option<f64>" => "number".to_owned(),
        "u32" | "Option<u32>" => "whole number".to_owned(),
        "u64" => "whole number".to_owned(),
        "bool" | "Option<bool>" => "`true` or `false`".to_owned(),
        "(f64, f64)" => "two numbers: `(2.0, 4.5)`".to_owned(),
        "(f64, f64, f64)" => "three numbers: `(1, 2, 4)`".to_owned(),
        "Vec<String>" => "list of texts".to_owned(),
        "Mode" => "`practice` or `assessment`".to_owned(),
        "Level" => "`beginner`, `intermediate`, `advanced` or `expert`".to_owned(),
        "Preliminary" => "`ask` or `look`".to_owned(),
        "Blend" => "word of a fuel, or `Blend([(Diesel, 0.8), (Petrol, 0.2)])`".to_owned(),
        "Vec<Modifier>" => "list of modifiers, below".to_owned(),
        "Volume" => units(Volume::UNITS),
        "Length" => units(Length::UNITS),
        "Span" => units(Span::UNITS),
        "GaugePressure" | "Option<GaugePressure>" => units(GaugePressure::UNITS),
        "PressureDifference" => units(PressureDifference::UNITS),
        "Temperature" => units(&["degC", "K"]),
        "Option<(Temperature, Temperature)>" => "two temperatures: `(degC(12), degC(22))`".to_owned(),
        "Option<(Volume, Volume)>" => "two volumes: `(l(30), l(40))`".to_owned(),
        "Node" => "`(name, height, volume, wall, joint, place)`".to_owned(),
        "Part" => "`(name, label, price, minutes, is)`; components below".to_owned(),
        "Warmth" | "Service" => "a bracket, as in the plants that are built in".to_owned(),
        other => format!("entry as under \"{}\"", entries(other)),
    }
}

/// The list whose entries have this type.
fn entries(read_as: &str) -> &str {
    match read_as.trim_start_matches("Vec<").trim_end_matches('>') {
        "RawPicture" => "pictures",
        "RawQuestion" => "questions",
        "RawLook" => "looks",
        "RawLimit" => "limits",
        "RawSnare" => "snares",
        "RawWithheld" => "withheld",
        "RawCode" => "codes",
        "RawVaries" => "varies",
        "RawWording" => "words",
        "RawCandidate" => "candidates",
        "RawBand" => "vehicles",
        "RawFellow" => "with",
        "RawFault" => "hidden",
        "RawStage" => "jobs",
        other => other,
    }
}

fn modifiers(text: &mut String) -> core::fmt::Result {
    writeln!(text, "\n### Modifiers: when a fault shows\n\nSeveral of one fault multiply.\n")?;
    for (example, words) in Modifier::MANUAL {
        writeln!(text, "- `{example}`: {words}")?;
    }
    Ok(())
}

fn components(text: &mut String) -> core::fmt::Result {
    writeln!(text, "\n## Components\n\nNumbers with the range outside which no vehicle has them.")?;
    let samples = Component::samples();
    for kind in Component::KINDS {
        // one kind may have several samples: the union of their numbers, in order of their first mention
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut rows = vec![];
        let of_kind: Vec<_> = samples.iter().filter(|c| c.kind() == *kind).collect();
        for number in of_kind.iter().flat_map(|c| c.numbers()) {
            if seen.insert(number.field.clone(), rows.len()).is_none() {
                rows.push(number);
            }
        }
        let ends = of_kind.first().map_or(&[][..], |c| c.end_fields());
        writeln!(text, "\n### {kind}\n\nNames nodes in: {}.\n", ends.join(", "))?;
        writeln!(text, "| number | unit | range | meaning |\n|---|---|---|---|")?;
        for n in rows {
            let unit = if n.unit.written.is_empty() {
                if n.unit.symbol.is_empty() { "number".to_owned() } else { format!("number, {}", n.unit.symbol) }
            } else {
                format!("`{}(…)`", n.unit.written)
            };
            writeln!(text, "| `{}` | {unit} | {} … {} | {} |", n.field, n.low, n.high, n.words)?;
        }
    }
    Ok(())
}

fn faults(text: &mut String) -> core::fmt::Result {
    writeln!(
        text,
        "\n## Faults\n\n1 a trace, 2 marginal, 3 what a customer complains of, 4 limps or stalls, 5 doesn't start.\n"
    )?;
    writeln!(text, "| code | name | severities | sits at | what it is |\n|---|---|---|---|---|")?;
    for fault in CATALOGUE {
        let (low, high) = fault.severities;
        writeln!(
            text,
            "| {} | {} | {low} … {high} | {} | {} |",
            fault.code,
            fault.name,
            fault.place_in_words(),
            fault.about
        )?;
    }
    Ok(())
}
