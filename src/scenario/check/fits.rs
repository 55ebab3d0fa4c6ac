//! Words that no longer fit the fault: a candidate, the hidden cause or a vehicle was changed, and what was said of it stayed.
//!
//! What an author means can't be known. Told is only what contradicts itself whatever was meant: a label that is another
//! fault's own name, or names another part of the same kind; a trap that the right finding steps into, or whose part is
//! the faulty one; a second right answer that is none; papers that hold the answer, word for word or as the trade says it.

use std::collections::BTreeSet;

use super::page::Page;
use crate::bay::action::Remedy;
use crate::diag::{Id, id};
use crate::fault::trade_words::told_by;
use crate::fault::{CATALOGUE, Fault, FaultInstance, Place, by_code};
use crate::language::{Language, named, within};
use crate::plant::component::Component;
use crate::plant::{Part, Plant};
use crate::scenario::model::{Candidate, FaultBand};
use crate::scenario::raw::RawJob;
use crate::scenario::source::At;

/// Faults of a filter that plug it, whatever with: one may be called by the other's name.
const PLUG_A_FILTER: [&str; 3] = ["F05", "F11", "F15"];
/// An answer of fewer words than this may stand in the papers by chance.
const WORDS_OF_AN_ANSWER: usize = 2;
/// Words of so many letters weigh; so many of them don't stand in one sentence by chance.
const WEIGHTY: usize = 4;
const MANY: usize = 3;

/// Text in small letters, word by word, so that words are compared and not pieces of them.
fn words(text: &str) -> Vec<String> {
    let split = text.split(|c: char| !c.is_alphanumeric());
    split.filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

/// Where a phrase stands in a text, in words.
fn found(text: &[String], phrase: &[String]) -> Option<usize> {
    if phrase.is_empty() {
        return None;
    }
    text.windows(phrase.len()).position(|w| w == phrase)
}

/// Whether a text holds every weighty word of an answer, in whatever order and with whatever ending.
fn holds_all(text: &[String], answer: &[String]) -> bool {
    let long = |w: &&String| w.chars().count() >= WEIGHTY;
    let alike =
        |a: &String, b: &String| a == b || long(&a) && long(&b) && (a.starts_with(&**b) || b.starts_with(&**a));
    let weighty: Vec<&String> = answer.iter().filter(long).collect();
    weighty.len() >= MANY && weighty.iter().all(|w| text.iter().any(|t| alike(t, w)))
}

/// Something said in every language that people choose.
fn in_each<'t>(say: impl Fn() -> &'t str) -> Vec<Vec<String>> {
    Language::ALL.into_iter().map(|language| within(language, || words(say()))).collect()
}

/// Labels against the faults of their vehicles.
pub(super) fn check_labels(page: &mut Page<'_>, at: At<'_>, candidates: &[Candidate], plant: &Plant) {
    for (i, candidate) in candidates.iter().enumerate() {
        let own: Vec<&FaultBand> = candidate.vehicles.iter().flat_map(FaultBand::all).collect();
        if own.is_empty() {
            continue;
        }
        let label = words(&candidate.label);
        let codes: BTreeSet<&str> = own.iter().map(|b| b.fault.as_str()).collect();
        let codes = codes.into_iter().collect::<Vec<_>>().join(", ");
        let trouble = other_name(&label, &own, plant)
            .map(|f| (format!("that is the name of {}", f.code), format!("its vehicles have {codes}")))
            .or_else(|| {
                let (said, is) = other_part(&label, &own, plant)?;
                Some((format!("that names \"{said}\""), format!("its vehicles have it at \"{is}\"")))
            });
        let Some((label, help)) = trouble else { continue };
        let message = format!("the label of {:?} speaks of another fault than its vehicles", candidate.name);
        page.say(
            page.at(id::LABEL_MISFITS, at.item(i).field("label").span(), message)
                .label(label)
                .help(format!("{help}: change the label or the vehicles")),
        );
    }
}

/// The fault whose own name the label holds, though none of the vehicles has it.
fn other_name(label: &[String], own: &[&FaultBand], plant: &Plant) -> Option<&'static Fault> {
    let has = |code: &str| own.iter().any(|b| b.fault == code);
    let faults = || CATALOGUE.iter().filter(|f| f.code.starts_with('F'));
    let is_named = |f: &Fault| in_each(|| f.name.said()).iter().any(|name| found(label, name).is_some());
    if faults().any(|f| has(f.code) && is_named(f)) {
        return None;
    }
    // a part may be called what another kind of part is usually called: "Transfer pump worn" of an electric one
    let is_its_part = |f: &Fault| {
        let reach = f.places(plant);
        own.iter().any(|b| !reach.contains(&b.at) && names_part(label, part_of(&b.at)))
    };
    let plugs = own.iter().any(|b| PLUG_A_FILTER.contains(&b.fault.as_str()));
    let may_mean = |f: &Fault| has(f.code) || plugs && PLUG_A_FILTER.contains(&f.code);
    faults().find(|f| !may_mean(f) && is_named(f) && !is_its_part(f))
}

fn names_part(label: &[String], part: &str) -> bool {
    in_each(|| named(part)).iter().any(|name| found(label, name).is_some())
}

/// The part of a place: a joint of a pump's circuit is written behind it.
fn part_of(place: &str) -> &str {
    place.split('/').next().unwrap_or_default()
}

/// A part that the label names though its faults sit at another one of that kind: the one named, the one meant.
fn other_part<'p>(label: &[String], own: &[&'p FaultBand], plant: &'p Plant) -> Option<(&'p str, &'p str)> {
    let at_a_part =
        |b: &&FaultBand| by_code(&b.fault).is_some_and(|f| matches!(f.place, Place::Part(_) | Place::Circuit));
    if !own.iter().all(at_a_part) {
        return None;
    }
    let said = parts_named(label, plant);
    let places: Vec<&str> = own.iter().map(|b| part_of(&b.at)).collect();
    if said.iter().any(|part| places.contains(&part.name.as_str())) {
        return None;
    }
    said.iter().find_map(|part| {
        let is_alike = |place: &&&str| plant.part(place).is_some_and(|p| p.is.kind() == part.is.kind());
        Some((part.name.as_str(), *places.iter().find(is_alike)?))
    })
}

/// The parts whose names stand in the label; the longer name counts where one holds another.
fn parts_named<'p>(label: &[String], plant: &'p Plant) -> Vec<&'p Part> {
    let mut names: Vec<(Vec<String>, &Part)> = vec![];
    for part in &plant.parts {
        names.extend(in_each(|| named(&part.name)).into_iter().map(|name| (name, part)));
    }
    names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
    let mut left = label.to_vec();
    let mut parts: Vec<&Part> = vec![];
    for (name, part) in &names {
        let Some(start) = found(&left, name) else { continue };
        left[start..start + name.len()].iter_mut().for_each(String::clear);
        parts.push(part);
    }
    parts
}

/// The candidate that the hidden faults belong to.
pub(super) fn right_one(candidates: &[Candidate], hidden: &[FaultInstance]) -> Option<usize> {
    if hidden.is_empty() {
        return candidates.iter().position(|c| c.vehicles.is_empty());
    }
    let holds =
        |faults: &[FaultInstance]| candidates.iter().position(|c| c.vehicles.iter().any(|b| b.holds(faults)));
    holds(hidden).or_else(|| holds(&hidden[..1]))
}

/// What was said of the right answer, against what is hidden.
pub(super) struct Answer<'a> {
    pub(super) candidates: &'a [Candidate],
    pub(super) hidden: &'a [FaultInstance],
    pub(super) plant: &'a Plant,
}

impl Answer<'_> {
    /// Traps, second right answers and papers.
    pub(super) fn check(&self, page: &mut Page<'_>, root: At<'_>, raw: &RawJob) {
        let Some(right) = right_one(self.candidates, self.hidden) else { return };
        self.check_snares(page, root.field("snares"), raw, right);
        self.check_also_right(page, root.field("also_right"), raw, right);
        self.check_papers(page, root, raw, right);
    }

    fn check_snares(&self, page: &mut Page<'_>, at: At<'_>, raw: &RawJob, right: usize) {
        let is_right = |name: &String| self.candidates[right].name == *name || raw.also_right.contains(name);
        for (i, snare) in raw.snares.iter().enumerate() {
            let here = at.item(i);
            for (k, name) in snare.named.iter().enumerate().filter(|(_, name)| is_right(name)) {
                let message = format!("whoever finds the right cause, {name:?}, would have stepped into this trap");
                say(
                    page,
                    id::TRAP_MISFITS,
                    here.field("named").item(k),
                    message,
                    "this is right",
                    "name a wrong cause that the trap leads to",
                );
            }
            for (k, name) in snare.replaced.iter().enumerate().filter(|(_, name)| self.is_faulty(name)) {
                let message =
                    format!("nobody can step into this trap: {name:?} isn't sound, the hidden fault sits there");
                say(
                    page,
                    id::TRAP_MISFITS,
                    here.field("replaced").item(k),
                    message,
                    "replacing it helps",
                    "name a sound part that the trap makes one replace",
                );
            }
        }
    }

    /// Whether a new part would put right what is hidden.
    fn is_faulty(&self, name: &str) -> bool {
        let Some(part) = self.plant.part(name) else { return false };
        let ends: Vec<String> = part.is.ends().iter().map(|&end| end.to_owned()).collect();
        self.hidden.iter().filter_map(|f| Some((by_code(&f.fault)?, f))).any(|(entry, f)| {
            entry.remedies.contains(&Remedy::Replace) && entry.is_reached(self.plant, &f.at, name, &ends)
        })
    }

    fn check_also_right(&self, page: &mut Page<'_>, at: At<'_>, raw: &RawJob, right: usize) {
        // what lies in the engine is beyond the supply, which is sound then
        let is_beyond =
            |f: &FaultInstance| self.plant.part(&f.at).is_some_and(|p| matches!(p.is, Component::Engine(_)));
        let of_the_supply = self.hidden.iter().any(|f| f.fault.starts_with('F') && !is_beyond(f));
        for (i, name) in raw.also_right.iter().enumerate() {
            let Some(k) = self.candidates.iter().position(|c| c.name == *name) else { continue };
            if k == right {
                let message = format!("{name:?} is right anyway: the hidden faults belong to it");
                say(page, id::ALSO_RIGHT_MISFITS, at.item(i), message, "said twice", "leave it out");
            } else if self.candidates[k].vehicles.is_empty() && of_the_supply {
                let message = format!("{name:?} can't be right: the supply has a fault");
                say(
                    page,
                    id::ALSO_RIGHT_MISFITS,
                    at.item(i),
                    message,
                    "nothing wrong",
                    "take it out, or hide nothing",
                );
            }
        }
    }

    /// What a learner reads before the finding mustn't hold the answer as it stands on the sheet.
    fn check_papers(&self, page: &mut Page<'_>, root: At<'_>, raw: &RawJob, right: usize) {
        if self.hidden.is_empty() {
            return;
        }
        let answer = words(&self.candidates[right].label);
        let label = &self.candidates[right].label;
        for (at, text, is_said) in papers(root, raw) {
            let held = words(&text);
            let (message, how) = if answer.len() >= WORDS_OF_AN_ANSWER && found(&held, &answer).is_some() {
                (format!("the papers tell the answer: {label:?}"), "word for word as on the sheet".to_owned())
            } else if answer.len() >= WORDS_OF_AN_ANSWER && holds_all(&held, &answer) {
                let how = "every word of the sheet's line is in it";
                (format!("the papers all but tell the answer: {label:?}"), how.to_owned())
            } else if let Some((code, told)) = self.in_other_words(&text).filter(|_| is_said) {
                (
                    format!("the papers tell the answer in the trade's own words: {told:?}"),
                    format!("that is {code}"),
                )
            } else {
                continue;
            };
            say(
                page,
                id::ANSWER_TOLD,
                at,
                message,
                &how,
                "let the customer say what they noticed, and a hint where to look",
            );
        }
    }

    /// What a text calls one of the hidden faults, in words that aren't on the sheet.
    fn in_other_words(&self, text: &str) -> Option<(&str, String)> {
        self.hidden.iter().find_map(|f| Some((f.fault.as_str(), told_by(&f.fault, text)?)))
    }
}

/// What a learner reads before the finding, and whether somebody says it: a look only shows what is there to be seen.
fn papers<'s>(root: At<'s>, raw: &RawJob) -> Vec<(At<'s>, String, bool)> {
    let mut papers = vec![
        (root.field("title"), raw.title.clone(), true),
        (root.field("complaint"), raw.complaint.clone(), true),
    ];
    for (field, list) in [("facts", &raw.facts), ("hints", &raw.hints)] {
        papers.extend(list.iter().enumerate().map(|(i, text)| (root.field(field).item(i), text.clone(), true)));
    }
    for (i, question) in raw.questions.iter().enumerate() {
        let at = root.field("questions").item(i);
        papers.push((at.field("ask"), question.ask.clone(), true));
        papers.push((at.field("answer"), question.answer.clone(), true));
    }
    for (i, look) in raw.looks.iter().enumerate() {
        papers.push((root.field("looks").item(i).field("sees"), look.sees.clone(), false));
    }
    papers
}

fn say(page: &mut Page<'_>, id: Id, at: At<'_>, message: String, label: &str, help: &str) {
    page.say(page.at(id, at.span(), message).label(label).help(help));
}
