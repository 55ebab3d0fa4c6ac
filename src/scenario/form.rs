//! A job as fields to fill in: what can be read of its text, however much of it is wrong.
//!
//! For whoever edits a job. Nothing here is checked; a field that is missing or can't be read is as empty as on a
//! blank form. What is written into the text goes through [`super::patch`].

use serde::de::DeserializeOwned;

use super::model::{Level, Mode};
use super::parse::options;
use super::patch::{number, quoted};
use super::source::{At, Source};
use crate::fault::Modifier;
use crate::fault::modifier::{Cause, Threshold};
use crate::units::{GaugePressure, Length, PA_PER_MBAR, PressureDifference, Span, Temperature, Volume};

/// A fault in a form: hidden, or one of the vehicles of a candidate.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct FaultForm {
    /// Code in the catalogue.
    pub fault: String,
    /// Part or node; empty where it is left out.
    pub at: String,
    /// Lowest and highest severity, 1 … 5; the same for one that is hidden.
    pub severity: (f64, f64),
    /// When it shows.
    pub when: Vec<Modifier>,
    /// Faults that it comes with, in a candidate's vehicle.
    pub with: Vec<FaultForm>,
}

/// A question in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct QuestionForm {
    /// Short name.
    pub name: String,
    /// The question.
    pub ask: String,
    /// The answer.
    pub answer: String,
}

/// A line of the vehicle card in a form. Training values.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct LimitForm {
    /// Joint.
    pub joint: String,
    /// Word of the state.
    pub state: String,
    /// Lowest and highest healthy reading, mbar gauge.
    pub range_mbar: (f64, f64),
    /// Reading from which one looks closer, mbar gauge.
    pub investigate_mbar: Option<f64>,
    /// Reading from which one acts, mbar gauge.
    pub act_mbar: Option<f64>,
    /// Condition.
    pub words: String,
}

/// How it is known that somebody stepped into a trap, in a form.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct SnareForm {
    /// Which of the traps, from 1.
    pub trap: u32,
    /// Candidates, by name.
    pub named: Vec<String>,
    /// Parts, by name.
    pub replaced: Vec<String>,
    /// Words of states.
    pub unread: Vec<String>,
    /// Names of rules.
    pub broken: Vec<String>,
}

/// A stored trouble code in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct CodeForm {
    /// Number in the open standard.
    pub number: String,
    /// Speed of the engine when it was stored, 1/min.
    pub rpm: f64,
}

/// Words of the papers and what may stand in their place, in a form.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct WordingForm {
    /// The words as they stand.
    pub instead_of: String,
    /// What may stand there instead.
    pub one_of: Vec<String>,
}

/// What may differ between variants, in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct VariesForm {
    /// How far a hidden severity may lie from what is written.
    pub severity: Option<f64>,
    /// Coldest and warmest, °C.
    pub temperature_c: Option<(f64, f64)>,
    /// Least and most fuel in the tank, l.
    pub fill_l: Option<(f64, f64)>,
    /// Whether distances may differ.
    pub mileage: Option<bool>,
    /// Words with what may stand in their place.
    pub words: Vec<WordingForm>,
}

/// A candidate in a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct CandidateForm {
    /// Short name.
    pub name: String,
    /// As the learner reads it.
    pub label: String,
    /// Weight before any test.
    pub weight: f64,
    /// Its vehicles.
    pub vehicles: Vec<FaultForm>,
}

/// A job as a form.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct JobForm {
    /// Title.
    pub title: String,
    /// Whose vehicle.
    pub customer: String,
    /// Complaint.
    pub complaint: String,
    /// What the card says besides.
    pub facts: Vec<String>,
    /// Pictures on the card: name of the file and what it shows.
    pub pictures: Vec<(String, String)>,
    /// What the learner takes away.
    pub goals: Vec<String>,
    /// What leads astray.
    pub traps: Vec<String>,
    /// How it is known that somebody stepped into one.
    pub snares: Vec<SnareForm>,
    /// Hints.
    pub hints: Vec<String>,
    /// Level; beginner when left out.
    pub level: Level,
    /// Minutes.
    pub minutes: f64,
    /// Mode; none when it can't be read.
    pub mode: Option<Mode>,
    /// Name of the plant.
    pub plant: String,
    /// Name of the rubric.
    pub rubric: String,
    /// How many tests ahead the choice of tests is judged; none where the file leaves it out.
    pub lookahead: Option<u64>,
    /// Fuel of the season as it is written.
    pub fuel: Option<String>,
    /// Fuel in the tank, l.
    pub fill_l: Option<f64>,
    /// How long it stood, h.
    pub stood_h: Option<f64>,
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
    /// Height above the sea, m.
    pub altitude_m: Option<f64>,
    /// What the fuel gauge shows, 0 … 1.
    pub fuel_gauge: f64,
    /// It is meant to be wrong.
    pub gauge_lies: bool,
    /// Number that picks the vehicle.
    pub vehicle: Option<f64>,
    /// What may differ between variants; none where the file leaves it out.
    pub varies: Option<VariesForm>,
    /// Trouble codes that are stored.
    pub codes: Vec<CodeForm>,
    /// Words that are withheld and why.
    pub withheld: Vec<(String, String)>,
    /// Questions.
    pub questions: Vec<QuestionForm>,
    /// Parts and what looking at them shows.
    pub looks: Vec<(String, String)>,
    /// The job's own card; none when the vehicle's is shown.
    pub limits: Vec<LimitForm>,
    /// Candidates.
    pub candidates: Vec<CandidateForm>,
    /// What counts as right besides.
    pub also_right: Vec<String>,
    /// What is wrong with the vehicle.
    pub wrong: Vec<FaultForm>,
}

pub(super) fn read<T: DeserializeOwned>(at: At<'_>) -> Option<T> {
    at.exists().then(|| options().from_str(at.text()).ok())?
}

fn words(at: At<'_>, field: &str) -> String {
    read(at.field(field)).unwrap_or_default()
}

fn entries<T>(list: At<'_>, one: impl Fn(At<'_>) -> T) -> Vec<T> {
    if !list.exists() || !list.text().starts_with('[') {
        return vec![];
    }
    (0..list.len()).map(|i| one(list.item(i))).collect()
}

fn lines(root: At<'_>, field: &str) -> Vec<String> {
    entries(root.field(field), |at| read(at).unwrap_or_default())
}

/// Modifiers by entry, so that one that can't be read doesn't hide the others' places.
fn modifiers(at: At<'_>) -> Vec<Modifier> {
    read(at.field("when")).unwrap_or_default()
}

fn fault(at: At<'_>) -> FaultForm {
    let severity = at.field("severity");
    let single = read::<f64>(severity);
    FaultForm {
        fault: words(at, "fault"),
        at: words(at, "at"),
        severity: single.map(|s| (s, s)).or_else(|| read(severity)).unwrap_or((3.0, 3.0)),
        when: modifiers(at),
        with: entries(at.field("with"), fault),
    }
}

pub(super) fn limit(at: At<'_>) -> LimitForm {
    let optional = |field: &str| read::<GaugePressure>(at.field(field)).map(|p| tidy(p.si() / PA_PER_MBAR));
    let mbar = |field: &str| optional(field).unwrap_or(0.0);
    LimitForm {
        joint: words(at, "joint"),
        state: words(at, "state"),
        range_mbar: (mbar("low"), mbar("high")),
        investigate_mbar: optional("investigate"),
        act_mbar: optional("act"),
        words: words(at, "words"),
    }
}

fn snare(at: At<'_>) -> SnareForm {
    let list = |field: &str| lines(at, field);
    SnareForm {
        trap: read(at.field("trap")).unwrap_or_default(),
        named: list("named"),
        replaced: list("replaced"),
        unread: list("unread"),
        broken: list("broken"),
    }
}

fn varies(at: At<'_>) -> VariesForm {
    let temperature = read::<(Temperature, Temperature)>(at.field("temperature"));
    let fill = read::<(Volume, Volume)>(at.field("fill"));
    VariesForm {
        severity: read(at.field("severity")),
        temperature_c: temperature.map(|(a, b)| (tidy(a.celsius()), tidy(b.celsius()))),
        fill_l: fill.map(|(a, b)| (tidy(a.si() * 1e3), tidy(b.si() * 1e3))),
        mileage: read(at.field("mileage")),
        words: entries(at.field("words"), |at| WordingForm {
            instead_of: words(at, "instead_of"),
            one_of: lines(at, "one_of"),
        }),
    }
}

/// Reads what can be read.
///
/// # Errors
/// A sentence when the text's brackets or quotes don't match; then nothing in it has a place.
pub fn form(text: &str) -> Result<JobForm, String> {
    let source =
        Source::scan(text).map_err(|_| "The text can't be read: put its brackets and quotes right first.")?;
    let root = source.root();
    let pair = |at: At<'_>, a: &str, b: &str| (words(at, a), words(at, b));
    Ok(JobForm {
        title: words(root, "title"),
        customer: words(root, "customer"),
        complaint: words(root, "complaint"),
        facts: lines(root, "facts"),
        pictures: entries(root.field("pictures"), |at| pair(at, "name", "shows")),
        goals: lines(root, "goals"),
        traps: lines(root, "traps"),
        snares: entries(root.field("snares"), snare),
        hints: lines(root, "hints"),
        level: read(root.field("level")).unwrap_or_default(),
        minutes: read(root.field("minutes")).unwrap_or(0.0),
        mode: read(root.field("mode")),
        plant: words(root, "plant"),
        rubric: words(root, "rubric"),
        lookahead: read(root.field("lookahead")),
        fuel: Some(root.field("fuel")).filter(|at| at.exists()).map(|at| at.text().to_owned()),
        fill_l: read::<Volume>(root.field("fill")).map(|v| tidy(v.si() * 1e3)),
        stood_h: read::<Span>(root.field("stood")).map(|t| tidy(t.si() / 3600.0)),
        temperature_c: read::<Temperature>(root.field("temperature")).map(|t| tidy(t.celsius())),
        altitude_m: read::<Length>(root.field("altitude")).map(|l| tidy(l.si())),
        fuel_gauge: read(root.field("fuel_gauge")).unwrap_or(0.0),
        gauge_lies: read(root.field("gauge_lies")).unwrap_or(false),
        vehicle: read(root.field("vehicle")),
        varies: Some(root.field("varies")).filter(|at| at.exists()).map(varies),
        codes: entries(root.field("codes"), |at| CodeForm {
            number: words(at, "number"),
            rpm: read(at.field("rpm")).unwrap_or(0.0),
        }),
        withheld: entries(root.field("withheld"), |at| pair(at, "word", "because")),
        questions: entries(root.field("questions"), |at| QuestionForm {
            name: words(at, "name"),
            ask: words(at, "ask"),
            answer: words(at, "answer"),
        }),
        looks: entries(root.field("looks"), |at| pair(at, "part", "sees")),
        limits: entries(root.field("limits"), limit),
        candidates: entries(root.field("candidates"), |at| CandidateForm {
            name: words(at, "name"),
            label: words(at, "label"),
            weight: read(at.field("weight")).unwrap_or(0.0),
            vehicles: entries(at.field("vehicles"), fault),
        }),
        also_right: lines(root, "also_right"),
        wrong: entries(root.field("hidden"), fault),
    })
}

/// Without the dust of binary fractions.
pub(super) fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// A mark scheme in a form: what can be read of a rubric's text, field by field, in the usual order.
///
/// # Errors
/// See [`form`].
pub fn scheme(text: &str, fields: &[&str]) -> Result<Vec<Option<f64>>, String> {
    let source =
        Source::scan(text).map_err(|_| "The text can't be read: put its brackets and quotes right first.")?;
    Ok(fields.iter().map(|f| read(source.root().field(f))).collect())
}

/// What a mark scheme says besides weights and gates, in a form; none where it is left out.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct SchemeForm {
    /// Allowed error of a written reading, mbar.
    pub reading_tolerance_mbar: Option<f64>,
    /// Points that a hint of level 1, 2 and 3 takes.
    pub hints: Option<(f64, f64, f64)>,
    /// Words of what costs no marked minutes.
    pub preliminaries: Vec<String>,
    /// Whether readings after a changed part may bear the finding.
    pub parts_as_evidence: Option<bool>,
}

/// What can be read of a rubric's text besides weights and gates.
///
/// # Errors
/// See [`form`].
pub fn scheme_rest(text: &str) -> Result<SchemeForm, String> {
    let source =
        Source::scan(text).map_err(|_| "The text can't be read: put its brackets and quotes right first.")?;
    let root = source.root();
    Ok(SchemeForm {
        reading_tolerance_mbar: read::<PressureDifference>(root.field("reading_tolerance"))
            .map(|p| tidy(p.si() / PA_PER_MBAR)),
        hints: read(root.field("hints")),
        preliminaries: entries(root.field("preliminaries"), |at| at.text().to_owned()),
        parts_as_evidence: read(root.field("parts_as_evidence")),
    })
}

/// A time as it is written: in hours, minutes or seconds, whatever is whole.
pub fn span_written(seconds: f64) -> String {
    let whole = |unit: f64| seconds >= unit && (seconds / unit - (seconds / unit).round()).abs() < 1e-9;
    if whole(3600.0) {
        format!("h({})", number(tidy(seconds / 3600.0)))
    } else if whole(60.0) {
        format!("min({})", number(tidy(seconds / 60.0)))
    } else {
        format!("s({})", number(tidy(seconds)))
    }
}

/// A modifier as it is written.
pub fn modifier_written(modifier: &Modifier) -> String {
    match *modifier {
        Modifier::Intermittent { by, share, dwell } => {
            let by = match by {
                Cause::Vibration => "Vibration",
                Cause::Flex => "Flex",
                Cause::Dwell => "Dwell",
            };
            format!("Intermittent(by: {by}, share: {}, dwell: {})", number(share), span_written(dwell.si()))
        }
        Modifier::Temperature { when, lag } => {
            let (word, t) = match when {
                Threshold::Above(t) => ("Above", t),
                Threshold::Below(t) => ("Below", t),
            };
            let degrees = number(tidy(t.celsius()));
            format!("Temperature(when: {word}(degC({degrees})), lag: {})", span_written(lag.si()))
        }
        Modifier::Level { below } => format!("Level(below: {})", number(below)),
        Modifier::Attitude { beyond } => format!("Attitude(beyond: {})", number(beyond)),
        Modifier::Progressive { per_hour } => format!("Progressive(per_hour: {})", number(per_hour)),
        Modifier::AfterRunning { for_time } => format!("AfterRunning(for_time: {})", span_written(for_time.si())),
        Modifier::SinceStop { after } => format!("SinceStop(after: {})", span_written(after.si())),
    }
}

/// A fault as it is written; `is_band` for one of a candidate's vehicles.
pub fn fault_written(fault: &FaultForm, is_band: bool) -> String {
    let mut text = format!("(fault: {}", quoted(&fault.fault));
    if !fault.at.is_empty() {
        text += &format!(", at: {}", quoted(&fault.at));
    }
    let (low, high) = fault.severity;
    text += &match is_band {
        true => format!(", severity: ({}, {})", decimal(low), decimal(high)),
        false => format!(", severity: {}", decimal(low)),
    };
    if !fault.when.is_empty() {
        let all: Vec<String> = fault.when.iter().map(modifier_written).collect();
        text += &format!(", when: [{}]", all.join(", "));
    }
    if !fault.with.is_empty() {
        let all: Vec<String> = fault.with.iter().map(|f| fault_written(f, true)).collect();
        text += &format!(", with: [{}]", all.join(", "));
    }
    text + ")"
}

/// A number with a decimal point, as severities are written.
pub fn decimal(value: f64) -> String {
    let text = number(tidy(value));
    if text.contains('.') { text } else { text + ".0" }
}

/// A line of the card as it is written.
pub fn limit_written(limit: &LimitForm) -> String {
    let (low, high) = limit.range_mbar;
    let mut text = format!(
        "(joint: {}, state: {}, low: mbar({}), high: mbar({})",
        quoted(&limit.joint),
        quoted(&limit.state),
        number(tidy(low)),
        number(tidy(high))
    );
    for (field, value) in [("investigate", limit.investigate_mbar), ("act", limit.act_mbar)] {
        if let Some(value) = value {
            text += &format!(", {field}: mbar({})", number(tidy(value)));
        }
    }
    if !limit.words.is_empty() {
        text += &format!(", words: {}", quoted(&limit.words));
    }
    text + ")"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Kind, Library, starter};

    #[test]
    fn what_is_written_is_read_again() {
        for (example, _) in Modifier::MANUAL {
            let modifier: Modifier = options().from_str(example).unwrap();
            assert_eq!(&modifier_written(&modifier), example);
        }
        let fault = FaultForm {
            fault: "F15".into(),
            at: "filter".into(),
            severity: (2.0, 4.5),
            when: vec![Modifier::Level { below: 0.25 }],
            with: vec![FaultForm { fault: "F03".into(), severity: (1.0, 2.0), ..FaultForm::default() }],
        };
        let text = format!("Job(candidates: [(vehicles: [{}])])", fault_written(&fault, true));
        assert_eq!(form(&text).unwrap().candidates[0].vehicles[0], fault);
        let limit = LimitForm {
            joint: "p".into(),
            state: "idle".into(),
            range_mbar: (-120.0, -30.0),
            investigate_mbar: Some(-200.0),
            act_mbar: None,
            words: "warm".into(),
        };
        assert_eq!(form(&format!("Job(limits: [{}])", limit_written(&limit))).unwrap().limits, [limit]);
    }

    #[test]
    fn every_job_that_is_built_in_fills_a_form() {
        let library = Library::builtin();
        for name in library.jobs() {
            let form = form(library.text(Kind::Job, &name).unwrap()).unwrap();
            let (job, _) = crate::scenario::load_job(&library, &name).unwrap();
            assert_eq!((&form.title, &form.complaint, form.minutes), (&job.title, &job.complaint, job.minutes));
            assert_eq!((form.level, form.mode), (job.level, Some(job.mode)));
            assert_eq!(form.candidates.len(), job.candidates.len());
            assert_eq!(form.wrong.len(), job.hidden.0.len());
            for (a, b) in form.wrong.iter().zip(&job.hidden.0) {
                assert_eq!((&a.fault, a.severity.0, &a.when), (&b.fault, b.severity, &b.modifiers), "{name}");
            }
            assert_eq!(form.looks.len(), job.looks.len());
            assert_eq!(form.questions.len(), job.questions.len());
            let codes: Vec<(String, f64)> = form.codes.iter().map(|c| (c.number.clone(), c.rpm)).collect();
            assert_eq!(codes, job.codes, "{name}");
            assert_eq!(form.snares.len(), job.snares.len(), "{name}");
            for (a, b) in form.snares.iter().zip(&job.snares) {
                let unread: Vec<&str> = b.unread.iter().map(|s| s.word()).collect();
                assert_eq!(
                    (a.trap as usize, &a.replaced, &a.broken),
                    (b.trap + 1, &b.replaced, &b.broken),
                    "{name}"
                );
                assert_eq!((a.named.len(), a.unread.iter().map(String::as_str).collect()), (b.named.len(), unread));
            }
        }
    }

    #[test]
    fn what_may_vary_and_the_rest_of_a_scheme_are_read() {
        let library = Library::builtin();
        let hot = form(library.text(Kind::Job, "limp-when-hot").unwrap()).unwrap().varies.unwrap();
        assert_eq!((hot.severity, hot.temperature_c, hot.words.len()), (None, Some((52.0, 57.0)), 2));
        assert_eq!(hot.words[0].one_of, ["van 6", "van 11"]);
        let bare = form("Job(varies: ())").unwrap().varies;
        assert_eq!(bare, Some(VariesForm::default()));
        assert_eq!(form("Job()").unwrap().varies, None);
        let rest = scheme_rest(library.text(Kind::Rubric, "standard").unwrap()).unwrap();
        assert_eq!(
            (rest.reading_tolerance_mbar, rest.preliminaries),
            (Some(8.0), vec!["ask".into(), "look".into()])
        );
    }

    #[test]
    fn half_a_job_fills_half_a_form() {
        let text = starter::starter(Kind::Job, "half").replace("minutes: 40", "minutes: much");
        let half = form(&text).unwrap();
        assert_eq!((half.minutes, half.plant.as_str()), (0.0, "a1-van"));
        assert_eq!(form("Job()").unwrap().title, "");
        assert!(form("Job(").is_err());
        assert_eq!(form("[1, 2]").unwrap(), form("Job(fuel_gauge: 0)").unwrap());
    }
}
