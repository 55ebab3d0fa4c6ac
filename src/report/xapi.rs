//! A marked attempt as statements for a learning record store: IEEE 9274.1.1, one JSON object a line,
//! valid under data model 1.0.3 and 2.0 alike (no `version`, no context agents or groups).
//!
//! Ids are UUIDs made from the attempt and the statement's number, so exporting twice adds nothing. The
//! actor is a pseudonym. As long as an assessment is open, no statement says right or wrong: no success,
//! no score, no belief, no expected answer.

mod when;

use serde_json::{Map, Value, json};
use thiserror::Error;
use uuid::Uuid;

use crate::analysis::window::window;
use crate::attempt::{Attempt, Entry, Event, ReplayError, replay_each};
use crate::bay::action::{Action, Micros};
use crate::bay::observation::{Answer, BreachClass};
use crate::bay::{Bay, EvidenceKind, words};
use crate::instrument::transducer::STEP_MBAR;
use crate::language::{named, said, spoken};
use crate::marking::model::{Mark, Outcome};
use crate::marking::readings::allowed_pa;
use crate::scenario::model::{Job, Mode};
use crate::tell;
use crate::units::{PA_PER_MBAR, PressureUnit};
use when::{Start, duration};

/// Where identifiers lie when the college names no place of its own: a name that belongs to nobody.
pub const BASE: &str = "https://faultbay.example/xapi";

const VERB: &str = "http://adlnet.gov/expapi/verbs/";
const TYPE: &str = "http://adlnet.gov/expapi/activities/";
/// Language of the verbs: they are words of the standard.
const VERBS: &str = "en";

/// Language of names and sentences.
fn lang() -> &'static str {
    spoken().tag()
}

/// What a college sets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// Address under which identifiers lie, without a slash at its end.
    pub base: String,
    /// Pseudonym of the learner; without one, one for this attempt alone.
    pub learner: Option<String>,
    /// When the sitting began, in UTC, such as `2026-03-14T09:00:00Z`. Statements have no time without it.
    pub started: Option<String>,
    /// The assessment is over: right and wrong may be told.
    pub released: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { base: BASE.to_owned(), learner: None, started: None, released: false }
    }
}

/// Why statements can't be written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum XapiError {
    /// The address isn't one.
    #[error("“{0}” can't be the address of identifiers: it begins with https:// and has no spaces, such as {BASE}")]
    Base(String),
    /// The pseudonym would tell who it is, or isn't a word.
    #[error(
        "“{0}” can't be a pseudonym: 1 to 64 letters, digits, dots or dashes, and neither a mail address nor the name \
         that was typed"
    )]
    Pseudonym(String),
    /// The start isn't a time.
    #[error("“{0}” isn't a time in UTC; write it as 2026-03-14T09:00:00Z")]
    Start(String),
    /// The attempt can't be replayed.
    #[error(transparent)]
    Replay(#[from] ReplayError),
}

impl Options {
    /// Checks what was typed.
    ///
    /// # Errors
    /// The first thing that can't be used, with how it should be.
    pub fn check(&self) -> Result<(), XapiError> {
        let plain = |c: char| c.is_ascii_graphic() && !"\"<>\\^`{|}".contains(c);
        let host = self.base.strip_prefix("https://").or_else(|| self.base.strip_prefix("http://"));
        if !host.is_some_and(|h| !h.is_empty() && !h.starts_with('/')) || !self.base.chars().all(plain) {
            return Err(XapiError::Base(self.base.clone()));
        }
        if let Some(name) = &self.learner {
            let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
            if name.is_empty() || name.len() > 64 || !name.chars().all(fits) {
                return Err(XapiError::Pseudonym(name.clone()));
            }
        }
        self.start().map(|_| ())
    }

    fn start(&self) -> Result<Option<Start>, XapiError> {
        self.started.as_ref().map(|text| Start::read(text).ok_or(XapiError::Start(text.clone()))).transpose()
    }
}

/// The statements of a marked attempt, one a line.
///
/// # Errors
/// When an option can't be used, or the attempt can't be replayed.
pub fn statements(job: &Job, attempt: &Attempt, mark: &Mark, options: &Options) -> Result<String, XapiError> {
    options.check()?;
    let typed = attempt.header().name.as_deref().map(str::trim);
    if let Some(name) = options.learner.as_ref().filter(|name| typed == Some(name.as_str())) {
        return Err(XapiError::Pseudonym(name.clone()));
    }
    let mut tests: Vec<(Micros, Micros, Action)> = vec![];
    let bay = replay_each(job, attempt, |entry, answer, bay| {
        if let Some(action) = test(entry, answer) {
            tests.push((entry.at, bay.now() - entry.at, action.clone()));
        }
    })?;
    let base = options.base.trim_end_matches('/').to_owned();
    let session = Uuid::new_v5(&Uuid::new_v5(&Uuid::NAMESPACE_URL, base.as_bytes()), attempt.hash().as_bytes());
    let writer = Writer {
        actor: options
            .learner
            .clone()
            .unwrap_or_else(|| format!("sitting-{}", &session.simple().to_string()[..12])),
        told: job.mode == Mode::Practice || options.released,
        start: options.start()?,
        base,
        session,
        job,
        mark,
        bay: &bay,
    };
    Ok(writer.all(&tests))
}

/// Whether an entry is a test, or a look or a hand that serves one.
fn test<'e>(entry: &'e Entry, answer: Option<&Answer>) -> Option<&'e Action> {
    let (Event::Act(action), Some(Answer::Done { .. })) = (&entry.event, answer) else { return None };
    matches!(
        action,
        Action::Look { .. }
            | Action::FitTee { .. }
            | Action::Purge
            | Action::Zero
            | Action::Crank { .. }
            | Action::Speed { .. }
            | Action::Valve { .. }
            | Action::Cap { .. }
            | Action::Container { .. }
            | Action::Prime { .. }
            | Action::LeakCheck
            | Action::Hint { .. }
    )
    .then_some(action)
}

struct Writer<'a> {
    base: String,
    actor: String,
    session: Uuid,
    start: Option<Start>,
    /// Right and wrong may be told.
    told: bool,
    job: &'a Job,
    mark: &'a Mark,
    bay: &'a Bay,
}

/// A statement before it has its id.
struct Statement {
    at: Micros,
    verb: &'static str,
    object: Value,
    result: Map<String, Value>,
    extensions: Vec<(&'static str, Value)>,
}

/// The fields of an object literal.
fn fields(value: Value) -> Map<String, Value> {
    if let Value::Object(map) = value { map } else { Map::new() }
}

impl Writer<'_> {
    fn all(&self, tests: &[(Micros, Micros, Action)]) -> String {
        let end = self.bay.now();
        let mut list = vec![self.about_the_job(0, "initialized", Map::new(), vec![])];
        let mut between: Vec<Statement> =
            tests.iter().map(|(at, took, action)| self.test(*at, *took, action)).collect();
        between.extend((1..=self.bay.sheet().len()).filter_map(|line| self.reading(line)));
        between.extend(self.diagnosis());
        // the order of time; at one time, tests, then readings, then the finding
        between.sort_by_key(|s| s.at);
        list.extend(between);
        if self.told {
            list.extend(self.scores(end));
        }
        list.extend(self.ending(end));
        let decided = list.iter().position(|s| matches!(s.verb, "passed" | "failed"));
        let next = list.len();
        let mut text: String = (0..).zip(list).map(|(i, s)| self.line(i, s) + "\n").collect();
        if self.told {
            text += &self.decisions(end, next, decided);
        }
        text
    }

    fn id(&self, index: usize) -> String {
        Uuid::new_v5(&self.session, index.to_string().as_bytes()).to_string()
    }

    /// Decisions of assessors: each scores the job anew, and the first takes back what the program had said of
    /// the outcome.
    fn decisions(&self, end: Micros, first: usize, decided: Option<usize>) -> String {
        let mut text = String::new();
        let mut index = first;
        for (k, o) in self.mark.overrides.iter().enumerate() {
            // a name isn't exported; the mark holds it
            let actor = format!("assessor-{}", k + 1);
            let total = o.total.unwrap_or(self.mark.total);
            let success = o.outcome == Outcome::Reached;
            let result = fields(json!({
                "score": { "raw": total, "min": 0.0, "max": 100.0, "scaled": total / 100.0 },
                "success": success,
            }));
            let extensions = vec![("reason", json!(o.reason)), ("role", json!(o.role))];
            let scored = self.about_the_job(end, "scored", result, extensions);
            text += &(self.line_by(index, scored, &actor, true) + "\n");
            index += 1;
            if let Some(old) = decided.filter(|_| k == 0) {
                let object = json!({ "objectType": "StatementRef", "id": self.id(old) });
                let voided = Statement { at: end, verb: "voided", object, result: Map::new(), extensions: vec![] };
                text += &(self.line_by(index, voided, &actor, false) + "\n");
                index += 1;
            }
        }
        text
    }

    fn iri(&self, path: &str) -> String {
        // names of jobs, candidates and parts are free words; an IRI isn't
        let safe: String = path
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '/' | '-' | '.' | '_') { c } else { '-' })
            .collect();
        format!("{}/{safe}", self.base)
    }

    fn activity(&self, path: &str, kind: &str, name: &str, more: Value) -> Value {
        let mut definition = fields(more);
        definition.insert("type".into(), format!("{TYPE}{kind}").into());
        definition.insert("name".into(), json!({ lang(): name }));
        json!({ "objectType": "Activity", "id": self.iri(path), "definition": definition })
    }

    fn job_path(&self) -> String {
        format!("job/{}", self.job.name)
    }

    fn about_the_job(
        &self,
        at: Micros,
        verb: &'static str,
        result: Map<String, Value>,
        extensions: Vec<(&'static str, Value)>,
    ) -> Statement {
        let object = self.activity(&self.job_path(), "simulation", named(&self.job.title), json!({}));
        Statement { at, verb, object, result, extensions }
    }

    fn test(&self, at: Micros, took: Micros, action: &Action) -> Statement {
        let line = words::print(action);
        let verb = line.split(' ').next().unwrap_or("test");
        let name = words::told::told(action, self.job);
        let object = self.activity(&format!("{}/test/{verb}", self.job_path()), "interaction", &name, json!({}));
        let result = fields(json!({ "duration": duration(took) }));
        let verb = if matches!(action, Action::Hint { .. }) { "asked" } else { "interacted" };
        Statement { at, verb, object, result, extensions: vec![] }
    }

    /// A line of the sheet that is a reading.
    fn reading(&self, line: usize) -> Option<Statement> {
        let sheet = self.bay.sheet().get(line - 1)?;
        let evidence = self.bay.evidence().iter().find(|e| e.line == line)?;
        let EvidenceKind::Level { state, joint, written: (value, unit), window: span } = &evidence.kind else {
            return None;
        };
        let mut more = json!({ "interactionType": "numeric" });
        let mut result = fields(json!({ "response": value.to_string() }));
        if self.told {
            let trace = self.bay.trace();
            if let Some(w) = window(trace, &trace.mbar, span.0, span.1) {
                // the range that the marking allows, in the unit that was written
                let tolerance = self.job.rubric.reading_tolerance_mbar.max((w.highest - w.lowest) / 2.0);
                let allowed = allowed_pa(tolerance * PA_PER_MBAR, (w.level_error + STEP_MBAR) * PA_PER_MBAR);
                let in_unit = unit.unwrap_or(PressureUnit::Mbar).pascal();
                let ends = [-allowed, allowed].map(|a| (w.level * PA_PER_MBAR + a) / in_unit);
                more["correctResponsesPattern"] = json!([format!("{}[:]{}", ends[0], ends[1])]);
            }
            let judged = self.mark.ledger.iter().find(|l| l.template.starts_with("reading.") && l.window == *span);
            if let Some(judged) = judged {
                result.insert("success".into(), (judged.template == "reading.right").into());
            }
        }
        let unit = unit.map_or(said("report-none"), PressureUnit::symbol);
        let name = tell!("xapi-reading-at", state = state.of_reading(), joint = joint);
        let path = format!("{}/line/{line}", self.job_path());
        let object = self.activity(&path, "cmi.interaction", &name, more);
        Some(Statement { at: sheet.at, verb: "answered", object, result, extensions: vec![("unit", unit.into())] })
    }

    fn diagnosis(&self) -> Option<Statement> {
        let (finding, at) = self.bay.finding().zip(self.bay.submitted_at())?;
        let choices: Vec<Value> = self
            .job
            .candidates
            .iter()
            .map(|c| json!({ "id": c.name, "description": { lang(): named(&c.label) } }))
            .collect();
        let mut more = json!({ "interactionType": "choice", "choices": choices });
        let mut result = fields(json!({ "response": finding.candidate }));
        let mut extensions = vec![
            ("confidence", json!(f64::from(finding.confidence) / 100.0)),
            ("cited-lines", json!(finding.evidence)),
        ];
        if !finding.ruled_out.is_empty() {
            extensions.push(("ruled-out", json!(finding.ruled_out)));
        }
        if self.told {
            if let Some(truth) = self.job.candidates.iter().find(|c| c.label == self.mark.truth.0) {
                more["correctResponsesPattern"] = json!([truth.name]);
            }
            let right = self.mark.submitted.as_ref().is_some_and(|(label, _)| *label == self.mark.truth.0);
            result.insert("success".into(), right.into());
            if let Some((belief, _)) = self.mark.justified_in_finding {
                extensions.push(("posterior", json!(belief)));
            }
        }
        let object =
            self.activity(&format!("{}/finding", self.job_path()), "cmi.interaction", said("xapi-finding"), more);
        Some(Statement { at, verb: "answered", object, result, extensions })
    }

    fn scores(&self, end: Micros) -> Vec<Statement> {
        let scored = |part: &crate::marking::model::ComponentMark| {
            let name = format!("{:?}", part.component).to_ascii_lowercase();
            let path = format!("{}/component/{name}", self.job_path());
            let object = self.activity(&path, "objective", part.component.title(), json!({}));
            let why: Vec<&str> = self
                .mark
                .ledger
                .iter()
                .filter(|l| l.component == Some(part.component))
                .map(|l| l.sentence.as_str())
                .collect();
            let raw = (part.share * part.weight).clamp(0.0, part.weight);
            let score = json!({ "raw": raw, "min": 0.0, "max": part.weight, "scaled": part.share.clamp(0.0, 1.0) });
            Statement {
                at: end,
                verb: "scored",
                object,
                result: fields(json!({ "score": score })),
                extensions: vec![("explanation", why.join(" ").into())],
            }
        };
        // a component without weight has no score to tell
        self.mark.components.iter().filter(|c| c.weight > 0.0).map(scored).collect()
    }

    fn ending(&self, end: Micros) -> Vec<Statement> {
        let took = duration(end);
        let mut result = fields(json!({ "completion": true, "duration": took }));
        let mut extensions = vec![];
        if self.told {
            let score =
                json!({ "raw": self.mark.total, "min": 0.0, "max": 100.0, "scaled": self.mark.total / 100.0 });
            result.insert("score".into(), score);
            let critical = self.bay.breaches().iter().any(|b| b.class == BreachClass::Critical);
            let hash = blake3::hash(super::json::mark(self.mark).as_bytes()).to_hex();
            extensions = vec![
                ("cut", json!(self.job.rubric.cut)),
                ("critical", critical.into()),
                ("mark-hash", hash.as_str().into()),
            ];
        }
        let mut list = vec![self.about_the_job(end, "completed", result.clone(), extensions.clone())];
        let verdict = match self.mark.outcome {
            Outcome::Reached => Some(("passed", true)),
            Outcome::NotReached => Some(("failed", false)),
            // a person decides; until then nothing is said
            Outcome::Review => None,
        };
        if let Some((verb, success)) = verdict.filter(|_| self.told) {
            result.insert("success".into(), success.into());
            list.push(self.about_the_job(end, verb, result, extensions));
        }
        list.push(self.about_the_job(end, "terminated", fields(json!({ "duration": took })), vec![]));
        list
    }

    fn line(&self, index: usize, s: Statement) -> String {
        self.line_by(index, s, &self.actor, true)
    }

    /// A statement of this actor. A reference to another statement isn't about an activity, so it has no platform.
    fn line_by(&self, index: usize, s: Statement, actor: &str, about: bool) -> String {
        let key = |name: &str| self.iri(&format!("ext/{name}"));
        let mut result = s.result;
        if !s.extensions.is_empty() {
            let map: Map<String, Value> = s.extensions.into_iter().map(|(name, v)| (key(name), v)).collect();
            result.insert("extensions".into(), map.into());
        }
        let mut activities = json!({ "category": [{ "id": self.iri("profile/1") }] });
        let job = self.iri(&self.job_path());
        if !about || s.object["id"] != Value::String(job.clone()) {
            activities["parent"] = json!([{ "id": job }]);
        }
        let mut context = json!({
            "registration": self.session.to_string(),
            "platform": "Faultbay",
            "language": lang(),
            "contextActivities": activities,
            "extensions": {
                key("sim-time-s"): s.at as f64 / 1e6,
                key("scenario-hash"): self.mark.job_hash,
                key("engine-version"): self.mark.engine,
            },
        });
        if !about && let Some(map) = context.as_object_mut() {
            map.remove("platform");
        }
        let mut statement = json!({
            "id": self.id(index),
            "actor": {
                "objectType": "Agent",
                "account": { "homePage": self.base, "name": actor },
            },
            "verb": { "id": format!("{VERB}{}", s.verb), "display": { VERBS: s.verb } },
            "object": s.object,
            "context": context,
        });
        if !result.is_empty() {
            statement["result"] = result.into();
        }
        if let Some(start) = self.start {
            statement["timestamp"] = start.after(s.at).into();
        }
        statement.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn refused(options: Options) {
        assert!(options.check().is_err(), "{options:?}");
    }

    #[test]
    fn a_pseudonym_is_no_address_and_no_sentence() {
        for name in ["", "ife@college.example", "mailto:x", "Ife Marlowe", &"x".repeat(65)] {
            refused(Options { learner: Some(name.to_owned()), ..Options::default() });
        }
        Options { learner: Some("L-0042".to_owned()), ..Options::default() }.check().unwrap();
    }

    #[test]
    fn identifiers_lie_under_an_address() {
        for base in ["", "faultbay", "ftp://x", "https://", "https:///x", "https://a b", "https://a/\"b"] {
            refused(Options { base: base.to_owned(), ..Options::default() });
        }
        Options { base: "https://records.brackmoor.example/fuel/".to_owned(), ..Options::default() }
            .check()
            .unwrap();
    }

    #[test]
    fn a_start_is_a_time() {
        for start in ["today", "2026-03-14", "2026-02-30T09:00:00Z", "2026-03-14T09:00:00+01:00"] {
            refused(Options { started: Some(start.to_owned()), ..Options::default() });
        }
    }
}
