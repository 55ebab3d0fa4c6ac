//! A file while it is written (a job, a vehicle, a mark scheme, a course): its text, every change back and forth, and
//! what the check says of it as it stands.
//!
//! The text is the file; forms change it in place through [`Edit`] and keep whatever they don't touch. A job may bring
//! a mark scheme of its own, a second text that is changed, undone and saved with it.

use std::sync::Arc;

use super::silent;
use crate::diag::{Diagnostic, Report, id};
use crate::language::said;
use crate::plant::Plant;
use crate::scenario::form::{JobForm, form};
use crate::scenario::model::{Job, Limit, Rubric};
use crate::scenario::patch::{self, Edit, quoted};
use crate::scenario::starter::starter;
use crate::scenario::vehicle_form::{CourseForm, PlantForm, course_form, plant_form};
use crate::scenario::{self, Kind, Library};
use crate::tell;

/// Changes that can be undone, at most, and bytes that they may keep.
const MOST_CHANGES: usize = 400;
const MOST_BYTES: usize = 16 << 20;

/// Which text of a draft.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Page {
    /// The file itself.
    #[default]
    File,
    /// The mark scheme that the job brings.
    Scheme,
}

/// The texts at a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Texts {
    file: Arc<str>,
    scheme: Option<Arc<str>>,
}

/// A file that is being written.
#[derive(Clone, Debug)]
pub struct Draft {
    kind: Kind,
    name: String,
    now: Texts,
    saved: Option<Texts>,
    past: Vec<Texts>,
    future: Vec<Texts>,
    /// What the last change was about: more of the same belongs to it.
    typing: Option<String>,
    revision: u64,
}

/// What the check found, with its place in the form.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Its handle, such as `FB-S014`.
    pub code: &'static str,
    /// It keeps the job from being used.
    pub is_error: bool,
    /// What is so.
    pub message: String,
    /// What to do.
    pub help: String,
    /// Text that it is about; none for a file that isn't part of the draft.
    pub page: Option<Page>,
    /// Name of the file.
    pub file: String,
    /// Line and column, from 1.
    pub at: (usize, usize),
    /// Bytes in the text.
    pub span: std::ops::Range<usize>,
    /// Field that it belongs to, such as `hidden[0].severity`; empty for the whole.
    pub place: String,
    /// The word that was probably meant, and the change that puts it there.
    pub mend: Option<(String, Edit)>,
}

/// A draft as it stands: its fields, what the check says, and the job when it can be used.
#[derive(Clone, Debug)]
pub struct Proof {
    /// The fields of a job, or why none can be told; those of a blank job for another kind of file.
    pub form: Result<JobForm, String>,
    /// The fields of a vehicle, when it is one and they can be told.
    pub vehicle: Option<PlantForm>,
    /// The fields of a course, when it is one and they can be told.
    pub course: Option<CourseForm>,
    /// A vehicle as it is drawn while it is written, whatever the check says of it.
    pub drawn: Option<Plant>,
    /// The vehicle's card, when it can be used. Training values.
    pub card: Vec<Limit>,
    /// What the check found, errors first.
    pub findings: Vec<Finding>,
    /// The job, when it has no error.
    pub job: Option<Job>,
    /// Its vehicle, when that can be used.
    pub plant: Option<Plant>,
    /// How it is marked, when that can be used.
    pub rubric: Option<Rubric>,
}

impl Proof {
    /// Number of errors.
    pub fn errors(&self) -> usize {
        self.findings.iter().filter(|f| f.is_error).count()
    }

    /// Reads anew what the forms and the drawing need; what the check says stays as it was.
    pub fn reread(&mut self, draft: &Draft) {
        let text: &str = &draft.now.file;
        self.form = form(text);
        if draft.kind == Kind::Plant {
            self.vehicle = plant_form(text).ok();
            self.drawn = scenario::drawable(&draft.name, text).or(self.drawn.take());
        }
        if draft.kind == Kind::Course {
            self.course = course_form(text).ok();
        }
    }

    /// What was found at a field or inside it.
    pub fn at<'p>(&'p self, place: &'p str) -> impl Iterator<Item = &'p Finding> {
        self.findings.iter().filter(move |f| f.page == Some(Page::File) && is_within(&f.place, place))
    }

    /// Nodes and parts of the vehicle that the check has something to say of, by name, and whether it is an error.
    pub fn marked(&self) -> Vec<(String, bool)> {
        let Some(form) = &self.vehicle else { return vec![] };
        let index = |f: &Finding, list: &str| -> Option<usize> {
            f.place.strip_prefix(list)?.strip_prefix('[')?.split(']').next()?.parse().ok()
        };
        let mut all: Vec<(String, bool)> = vec![];
        for f in self.findings.iter().filter(|f| f.page == Some(Page::File)) {
            let part = index(f, "parts").and_then(|i| form.parts.get(i)).map(|p| &p.name);
            let name = part.or_else(|| index(f, "nodes").and_then(|i| form.nodes.get(i)).map(|n| &n.name));
            if let Some(name) = name {
                match all.iter_mut().find(|m| m.0 == *name) {
                    Some(known) => known.1 |= f.is_error,
                    None => all.push((name.clone(), f.is_error)),
                }
            }
        }
        all
    }
}

/// Whether a place is another one or lies in it.
pub fn is_within(place: &str, outer: &str) -> bool {
    let rest = place.strip_prefix(outer);
    rest.is_some_and(|r| r.is_empty() || r.starts_with(['.', '[']))
}

/// A name that a file can have, made of a title.
pub fn file_name(title: &str) -> String {
    let mut name = String::new();
    for c in title.to_lowercase().chars() {
        if c.is_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') && c != '\'' && c != '\u{2019}' {
            name.push('-');
        }
    }
    name.chars().take(50).collect::<String>().trim_matches('-').to_owned()
}

/// Why a name can't be one of a file; none when it can.
pub fn name_trouble(name: &str) -> Option<String> {
    let odd = name.chars().find(|c| !(c.is_alphanumeric() || *c == '-' || *c == '_'));
    if name.is_empty() {
        Some(said("file-name-needed").to_owned())
    } else if name.chars().count() > 60 {
        Some(said("name-too-long").to_owned())
    } else {
        odd.map(|c| tell!("name-odd-letter", c = c))
    }
}

impl Draft {
    /// A whole, commented job to begin with.
    pub fn blank(name: &str, title: &str) -> Self {
        Self::blank_of(Kind::Job, name, title)
    }

    /// A whole, commented file of a kind to begin with.
    pub fn blank_of(kind: Kind, name: &str, title: &str) -> Self {
        let text = starter(kind, name);
        let titled = match kind {
            // a mark scheme has a name only
            Kind::Rubric => None,
            _ => patch::edit(&text, &Edit::text("title", title)).ok(),
        };
        Self::of_kind(kind, name, &titled.unwrap_or(text), None, false)
    }

    /// A job from texts; `is_saved` when they stand like this in their files.
    pub fn of(name: &str, job: &str, scheme: Option<&str>, is_saved: bool) -> Self {
        Self::of_kind(Kind::Job, name, job, scheme, is_saved)
    }

    /// A file of a kind from its text; only a job has a scheme beside it.
    pub fn of_kind(kind: Kind, name: &str, text: &str, scheme: Option<&str>, is_saved: bool) -> Self {
        let now = Texts { file: text.into(), scheme: scheme.map(Into::into) };
        let saved = is_saved.then(|| now.clone());
        Self { kind, name: name.to_owned(), now, saved, past: vec![], future: vec![], typing: None, revision: 0 }
    }

    /// What is written.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Name: of its file.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Gives it another name; it isn't saved under that one.
    pub fn rename(&mut self, name: &str) {
        if name != self.name {
            name.clone_into(&mut self.name);
            self.saved = None;
        }
    }

    /// A text.
    pub fn text(&self, page: Page) -> Option<&str> {
        match page {
            Page::File => Some(&self.now.file),
            Page::Scheme => self.now.scheme.as_deref(),
        }
    }

    /// Grows with every change, and with undoing one.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// It stands in its files as it is.
    pub fn is_saved(&self) -> bool {
        self.saved.as_ref() == Some(&self.now)
    }

    /// It was saved as it is.
    pub fn saved(&mut self) {
        self.saved = Some(self.now.clone());
        self.typing = None;
    }

    /// Something can be undone.
    pub fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Something can be done again.
    pub fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    /// Takes the last change back.
    pub fn undo(&mut self) {
        if let Some(before) = self.past.pop() {
            self.future.push(std::mem::replace(&mut self.now, before));
            self.typing = None;
            self.revision += 1;
        }
    }

    /// Makes a change again that was taken back.
    pub fn redo(&mut self) {
        if let Some(after) = self.future.pop() {
            self.past.push(std::mem::replace(&mut self.now, after));
            self.typing = None;
            self.revision += 1;
        }
    }

    /// What comes next is a change of its own.
    pub fn settle(&mut self) {
        self.typing = None;
    }

    fn change(&mut self, to: Texts, about: Option<String>) {
        if to == self.now {
            return;
        }
        let more_of_the_same = about.is_some() && about == self.typing;
        let before = std::mem::replace(&mut self.now, to);
        if !more_of_the_same {
            self.past.push(before);
        }
        self.future.clear();
        self.typing = about;
        self.revision += 1;
        let size = |t: &Texts| t.file.len() + t.scheme.as_ref().map_or(0, |s| s.len());
        while self.past.len() > MOST_CHANGES
            || self.past.len() > 1 && self.past.iter().map(size).sum::<usize>() > MOST_BYTES
        {
            self.past.remove(0);
        }
    }

    /// Changes places of a text, all or none. One value typed on in the same place is one change.
    ///
    /// # Errors
    /// A sentence when a change can't be made.
    pub fn edit(&mut self, page: Page, edits: &[Edit]) -> Result<(), String> {
        let text = self.text(page).ok_or(said("draft-no-own-scheme"))?;
        let changed = patch::edit_all(text, edits)?;
        let about = match edits {
            [Edit { at, change: patch::Change::Set(_) }] => Some(format!("{page:?} {at}")),
            _ => None,
        };
        self.put(page, &changed, about);
        Ok(())
    }

    /// Puts a whole text in the place of another, as somebody who types in it does.
    pub fn write(&mut self, page: Page, text: &str) {
        self.put(page, text, Some(format!("{page:?} text")));
    }

    fn put(&mut self, page: Page, text: &str, about: Option<String>) {
        let mut to = self.now.clone();
        match page {
            Page::File => to.file = text.into(),
            Page::Scheme => to.scheme = Some(text.into()),
        }
        self.change(to, about);
    }

    /// Gives the job a mark scheme of its own, made of the one it names.
    ///
    /// # Errors
    /// A sentence when the scheme it names isn't there.
    pub fn own_scheme(&mut self, library: &Library) -> Result<(), String> {
        let named = form(&self.now.file)?.rubric;
        let text = library.text(Kind::Rubric, &named).ok_or(said("draft-scheme-missing"))?;
        let own = format!("{}-scheme", self.name);
        let job = patch::edit(&self.now.file, &Edit::text("rubric", &own))?;
        self.change(Texts { file: job.into(), scheme: Some(text.into()) }, None);
        Ok(())
    }

    /// Marks it by a scheme that others use, too.
    ///
    /// # Errors
    /// A sentence when the text can't be changed.
    pub fn shared_scheme(&mut self, name: &str) -> Result<(), String> {
        let job = patch::edit(&self.now.file, &Edit::text("rubric", name))?;
        self.change(Texts { file: job.into(), scheme: None }, None);
        Ok(())
    }

    /// Name of the file of its own scheme, when it has one.
    pub fn scheme_name(&self) -> Option<String> {
        self.now.scheme.as_ref()?;
        form(&self.now.file).ok().map(|f| f.rubric).filter(|name| !name.is_empty())
    }

    /// A library in which the draft stands as it is.
    pub fn laid_over(&self, library: &Library) -> Library {
        let mut over = library.clone();
        over.insert(self.kind, &self.name, &self.file(Page::File), &self.now.file);
        if let (Some(text), Some(name)) = (&self.now.scheme, self.scheme_name()) {
            over.insert(Kind::Rubric, &name, &self.file(Page::Scheme), text);
        }
        over
    }

    fn file(&self, page: Page) -> String {
        match page {
            Page::File => format!("{}.ron", self.name),
            Page::Scheme => format!("{}.ron", self.scheme_name().unwrap_or_default()),
        }
    }

    /// Reads and checks it as it stands.
    pub fn proof(&self, library: &Library) -> Proof {
        let library = self.laid_over(library);
        let text: &str = &self.now.file;
        let mut proof = Proof {
            form: form(text),
            vehicle: None,
            course: None,
            drawn: None,
            card: vec![],
            findings: vec![],
            job: None,
            plant: None,
            rubric: None,
        };
        let (job, report) = match self.kind {
            Kind::Job => {
                let named = proof.form.as_ref().ok().cloned().unwrap_or_default();
                proof.plant = scenario::load_plant(&library, &named.plant).ok().map(|p| p.0);
                proof.rubric = scenario::load_rubric(&library, &named.rubric).ok().map(|r| r.0);
                either(scenario::load_job(&library, &self.name))
            }
            Kind::Plant => {
                proof.vehicle = plant_form(text).ok();
                proof.drawn = scenario::drawable(&self.name, text);
                let (plant, report) = either(scenario::load_plant(&library, &self.name));
                if plant.is_some() {
                    proof.card = scenario::load_card(&library, &self.name).map(|c| c.0).unwrap_or_default();
                }
                proof.plant = plant;
                (None, report)
            }
            Kind::Course => {
                proof.course = course_form(text).ok();
                (None, either(scenario::load_course(&library, &self.name)).1)
            }
            Kind::Rubric => {
                let (rubric, report) = either(scenario::load_rubric(&library, &self.name));
                proof.rubric = rubric;
                (None, report)
            }
        };
        proof.job = job;
        proof.findings = self.findings(&report);
        proof
    }

    fn findings(&self, report: &Report) -> Vec<Finding> {
        let mut all: Vec<Finding> = report.diagnostics().into_iter().map(|d| self.finding(d, report)).collect();
        // the job's own come first
        all.sort_by_key(|f| (!f.is_error, f.page.is_none(), f.page));
        all
    }

    /// Puts beside what the check says that what is hidden shows nothing, or takes that away: only driving tells, so it
    /// comes after the rest.
    pub fn tell_silent(&self, proof: &mut Proof, silent: bool) {
        proof.findings.retain(|f| f.code != id::SHOWS_NOTHING.code);
        if silent && let Some(text) = self.text(Page::File) {
            let file = self.file(Page::File);
            let mut report = Report::new();
            report.add_file(&file, text);
            proof.findings.push(self.finding(&silent::diagnostic(&file, text), &report));
        }
    }

    fn finding(&self, d: &Diagnostic, report: &Report) -> Finding {
        let page = [Page::File, Page::Scheme]
            .into_iter()
            .find(|p| self.text(*p).is_some() && !d.file.is_empty() && d.file == self.file(*p));
        let mut place = page.and_then(|p| self.text(p)).map_or(String::new(), |t| patch::place_of(t, d.span.start));
        if d.id == id::MISSING_FIELD
            && let Some(field) = d.message.split('"').nth(1)
        {
            place = if place.is_empty() { field.to_owned() } else { format!("{place}.{field}") };
        }
        let expected = if d.expected.len() > 1 { said("draft-possible") } else { said("draft-expected") };
        let expected = match d.expected.len() {
            0 => None,
            n if n > 12 => {
                Some(tell!("draft-expected-more", expected = expected, list = d.expected[..12].join(", ")))
            }
            _ => Some(tell!("draft-expected-list", expected = expected, list = d.expected.join(", "))),
        };
        // what the message says already isn't said again
        let expected = expected.filter(|_| !d.expected.iter().all(|e| d.message.contains(e.as_str())));
        let help: Vec<String> = [d.help.clone().map(sentence), expected].into_iter().flatten().collect();
        Finding {
            code: d.id.code,
            is_error: d.is_error(),
            message: sentence(d.message.clone()),
            help: help.join(" "),
            at: report.file(&d.file).map_or((1, 1), |f| f.line_column(d.span.start)),
            mend: page.and_then(|p| self.mend(p, d, &place)),
            page,
            file: d.file.clone(),
            span: d.span.clone(),
            place,
        }
    }

    /// The nearest word in the place of the one that isn't known.
    fn mend(&self, page: Page, d: &Diagnostic, place: &str) -> Option<(String, Edit)> {
        let nearest = d.nearest.as_ref()?;
        let text = self.text(page)?;
        let stands = patch::value(text, place)?;
        if patch::span(text, place)? != d.span {
            return None;
        }
        // a number in quotes is meant without them
        let is_name = stands.starts_with('"') && d.id != id::WRONG_VALUE;
        let value = if is_name { quoted(nearest) } else { nearest.clone() };
        let edit = Edit::set(place, value);
        patch::edit(text, &edit).ok().map(|_| (nearest.clone(), edit))
    }
}

/// What was read, if anything, and the report.
fn either<T>(read: Result<(T, Report), Report>) -> (Option<T>, Report) {
    match read {
        Ok((value, report)) => (Some(value), report),
        Err(report) => (None, report),
    }
}

/// With a capital letter and a full stop.
fn sentence(words: String) -> String {
    let mut letters = words.chars();
    let Some(first) = letters.next() else { return words };
    let whole: String = first.to_uppercase().chain(letters).collect();
    if whole.ends_with(['.', '?', '!', '\u{2026}']) { whole } else { whole + "." }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn broken(from: &str, to: &str) -> (Draft, Proof) {
        let mut draft = Draft::blank("try-it", "Try it");
        let text = draft.text(Page::File).unwrap().replace(from, to);
        draft.write(Page::File, &text);
        let proof = draft.proof(&Library::builtin());
        (draft, proof)
    }

    #[test]
    fn a_blank_page_is_a_job_at_once() {
        let draft = Draft::blank("a-cold-start", "A cold start");
        let proof = draft.proof(&Library::builtin());
        // and what it says only to show what belongs there is told
        let left: Vec<(&str, &str)> = proof.findings.iter().map(|f| (f.code, f.place.as_str())).collect();
        assert_eq!(left, ["complaint", "goals[0]", "traps[0]", "hints[0]"].map(|place| ("FB-S122", place)));
        assert_eq!((proof.errors(), proof.job.unwrap().title.as_str()), (0, "A cold start"));
        assert!(proof.plant.is_some() && proof.rubric.is_some());
        assert!(!draft.is_saved());
    }

    #[test]
    fn what_is_wrong_is_told_at_its_field_and_mended() {
        let (mut draft, proof) = broken("plant: \"a1-van\"", "plant: \"a1van\"");
        let finding = proof.at("plant").next().expect("told");
        assert!(finding.is_error && finding.code == "FB-S018", "{finding:?}");
        assert_eq!(finding.at.0, 1 + draft.text(Page::File).unwrap()[..finding.span.start].matches('\n').count());
        let (word, edit) = finding.mend.clone().unwrap();
        assert_eq!(word, "a1-van");
        draft.edit(Page::File, &[edit]).unwrap();
        assert_eq!(draft.proof(&Library::builtin()).errors(), 0);
    }

    #[test]
    fn a_number_that_is_none_is_mended_without_quotes() {
        let (mut draft, proof) = broken("minutes: 40", "minutes: \"40 min\"");
        let (word, edit) = proof.at("minutes").next().expect("told").mend.clone().unwrap();
        assert_eq!(word, "40");
        draft.edit(Page::File, &[edit]).unwrap();
        assert_eq!(draft.proof(&Library::builtin()).errors(), 0);
        let (mut draft, proof) = broken("fill: l(40)", "fill: l(38,5)");
        draft.edit(Page::File, &[proof.at("fill").next().expect("told").mend.clone().unwrap().1]).unwrap();
        assert!(draft.text(Page::File).unwrap().contains("fill: l(38.5)"));
    }

    #[test]
    fn what_shows_nothing_is_told_at_what_is_hidden_and_once() {
        let (draft, mut proof) = broken("", "");
        let before = proof.findings.len();
        draft.tell_silent(&mut proof, true);
        draft.tell_silent(&mut proof, true);
        assert_eq!(proof.findings.len(), before + 1);
        let found = proof.findings.last().unwrap();
        assert_eq!((found.code, found.place.as_str(), found.is_error), ("FB-S127", "hidden", false));
        draft.tell_silent(&mut proof, false);
        assert_eq!(proof.findings.len(), before);
    }

    #[test]
    fn a_lack_is_told_where_it_would_stand() {
        let (_, proof) = broken("    minutes: 40,\n", "");
        assert_eq!(proof.findings[0].place, "minutes");
        let (_, proof) = broken("severity: 3.2", "severity: 7");
        assert!(proof.at("hidden[0]").count() > 0, "{:?}", proof.findings);
        let (_, proof) = broken("hidden: [", "hidden: [[");
        assert!(proof.form.is_err());
        assert!(!proof.findings.is_empty() && proof.job.is_none());
    }

    #[test]
    fn typing_in_one_place_is_one_change() {
        let mut draft = Draft::blank("try-it", "Try it");
        let before = draft.text(Page::File).unwrap().to_owned();
        for words in ["C", "Co", "Cou", "Coughs"] {
            draft.edit(Page::File, &[Edit::text("title", words)]).unwrap();
        }
        draft.edit(Page::File, &[Edit::text("customer", "M")]).unwrap();
        draft.undo();
        assert!(draft.text(Page::File).unwrap().contains("\"Coughs\""));
        draft.undo();
        assert_eq!(draft.text(Page::File).unwrap(), before);
        assert!(!draft.can_undo() && draft.can_redo());
        draft.redo();
        draft.redo();
        assert!(draft.text(Page::File).unwrap().contains("customer: \"M\""));
    }

    #[test]
    fn a_scheme_of_its_own_comes_and_goes_with_the_job() {
        let library = Library::builtin();
        let mut draft = Draft::blank("try-it", "Try it");
        draft.own_scheme(&library).unwrap();
        draft.edit(Page::Scheme, &[Edit::number("cut", 70.0)]).unwrap();
        let proof = draft.proof(&library);
        assert_eq!(proof.errors(), 0, "{:?}", proof.findings);
        assert_eq!(proof.job.unwrap().rubric.cut, 70.0);
        assert_eq!(draft.scheme_name().as_deref(), Some("try-it-scheme"));
        draft.edit(Page::Scheme, &[Edit::number("cut", 700.0)]).unwrap();
        let proof = draft.proof(&library);
        assert_eq!((proof.findings[0].page, proof.findings[0].place.as_str()), (Some(Page::Scheme), "cut"));
        draft.shared_scheme("standard").unwrap();
        assert!(draft.text(Page::Scheme).is_none());
        draft.undo();
        assert!(draft.text(Page::Scheme).is_some());
    }

    #[test]
    fn names_are_made_of_titles() {
        assert_eq!(file_name("Coughs, then it's all right again"), "coughs-then-its-all-right-again");
        assert_eq!(file_name("  \u{2026} "), "");
        assert!(name_trouble("a b").is_some() && name_trouble("").is_some() && name_trouble("a-b").is_none());
    }
}
