//! A mark as plain data: components, the ledger and the beliefs through time.

use crate::language::said;
use crate::scenario::model::Rubric;
use crate::tell;
use serde::{Deserialize, Serialize};

use crate::bay::action::Micros;

/// A component of the mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Component {
    /// D: right diagnosis, luck removed.
    Diagnosis,
    /// J: justified conclusion.
    Justified,
    /// X: cited evidence.
    Cited,
    /// S: choice of tests.
    Choice,
    /// M: measurement.
    Measurement,
    /// P: safety and procedure.
    Procedure,
    /// C: calibration, how sure against how sure one may be.
    Calibration,
    /// R: economy of minutes and parts.
    Economy,
}

impl Component {
    /// Every component in the order of the debrief.
    pub const ALL: [Self; 8] = [
        Self::Diagnosis,
        Self::Justified,
        Self::Cited,
        Self::Choice,
        Self::Measurement,
        Self::Procedure,
        Self::Calibration,
        Self::Economy,
    ];

    /// The component with this letter.
    pub fn of_letter(letter: char) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.letter() == letter)
    }

    /// The least share, 0 … 1, that a mark scheme asks of it; 0 where it asks for none.
    pub fn floor(self, rubric: &Rubric) -> f64 {
        match self {
            Self::Diagnosis => rubric.diagnosis_floor,
            Self::Justified => rubric.justified_floor,
            Self::Cited => rubric.cited_floor,
            Self::Choice => rubric.choice_floor,
            Self::Measurement => rubric.measurement_floor,
            Self::Procedure => rubric.procedure_floor,
            Self::Calibration => rubric.calibration_floor,
            Self::Economy => rubric.economy_floor,
        }
    }

    /// Its letter in the mark scheme.
    pub const fn letter(self) -> char {
        match self {
            Self::Diagnosis => 'D',
            Self::Justified => 'J',
            Self::Cited => 'X',
            Self::Choice => 'S',
            Self::Measurement => 'M',
            Self::Procedure => 'P',
            Self::Calibration => 'C',
            Self::Economy => 'R',
        }
    }

    /// Its name for a learner.
    pub fn title(self) -> &'static str {
        match self {
            Self::Diagnosis => said("marking-component-diagnosis"),
            Self::Justified => said("marking-component-justified"),
            Self::Cited => said("marking-component-cited"),
            Self::Choice => said("marking-component-choice"),
            Self::Measurement => said("marking-component-measurement"),
            Self::Procedure => said("marking-component-procedure"),
            Self::Calibration => said("marking-component-calibration"),
            Self::Economy => said("marking-component-economy"),
        }
    }
}

/// What a component earned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ComponentMark {
    /// Which.
    pub component: Component,
    /// Share earned, 0 … 1.
    pub share: f64,
    /// Weight, in points of 100.
    pub weight: f64,
}

/// One line of the ledger. The lines' points sum exactly to the total.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LedgerLine {
    /// Component that the points belong to; `None` for a cap on the total.
    pub component: Option<Component>,
    /// Hundredths of a point; negative when points are taken.
    pub hundredths: i64,
    /// Stable id of the sentence's template.
    pub template: String,
    /// When it happened: start and end on the trace.
    pub window: (Micros, Micros),
    /// One plain sentence.
    pub sentence: String,
    /// Lines of the test sheet that it rests on, from 1.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lines: Vec<usize>,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks with a reference")]
fn is_none(bits: &f64) -> bool {
    *bits == 0.0
}

/// What one stretch of work between two set-ups was worth, judged by what could be known then.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Move {
    /// When it began and ended.
    pub window: (Micros, Micros),
    /// What was read and noted in it.
    pub test: String,
    /// Lines of the test sheet written in it, from 1.
    pub lines: Vec<usize>,
    /// Minutes charged, set-up included.
    pub minutes: f64,
    /// Bits that it could be expected to tell.
    pub bits: f64,
    /// Bits that it opened for the test after it; only where two tests ahead are looked.
    #[serde(default, skip_serializing_if = "is_none")]
    pub opened_bits: f64,
    /// The test with the most bits a minute at its start; two where two ahead are looked.
    pub best: String,
    /// Bits that the best test could be expected to tell.
    pub best_bits: f64,
    /// Minutes that the best test would have been charged.
    pub best_minutes: f64,
    /// Minutes wasted, ρ.
    pub wasted: f64,
    /// Whether it could be expected to tell anything, or did.
    pub material: bool,
}

/// Points shared out by the learner, held against what the evidence bore at that moment. Feedback;
/// it earns no points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StatementCheck {
    /// When it was stated.
    pub at: Micros,
    /// Stated shares, by candidate, "none of these" last.
    pub stated: Vec<f64>,
    /// What the evidence justified.
    pub justified: Vec<f64>,
    /// Quadratic distance `Σ (s − j)²`, 0 … 2.
    pub distance: f64,
    /// What it means.
    pub sentence: String,
}

/// What became of a prediction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PredictionVerdict {
    /// What came lies within the range.
    Right,
    /// It lies outside.
    Wrong,
    /// It was tied to a candidate that wasn't so, or the state was never read afterwards.
    NotTestable,
}

/// A prediction held against what came. Feedback; it earns no points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PredictionCheck {
    /// When it was made.
    pub at: Micros,
    /// What became of it.
    pub verdict: PredictionVerdict,
    /// In words.
    pub sentence: String,
}

/// A trap of the job that was stepped into. Feedback; what it led to is marked where it shows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrapCheck {
    /// When.
    pub at: Micros,
    /// The trap in the author's words.
    pub trap: String,
    /// In words.
    pub sentence: String,
}

/// The test that would have told the finding from its strongest rival: what each would have shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Contrast {
    /// The test that wasn't made.
    pub test: String,
    /// Label of the finding and of its rival.
    pub labels: (String, String),
    /// Range that 8 in 10 vehicles with the finding would show, mbar gauge.
    pub finding_mbar: (f64, f64),
    /// The same under the rival.
    pub rival_mbar: (f64, f64),
    /// In words.
    pub sentence: String,
}

/// An assessor's own decision. The computed mark stays as it is; both are kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Override {
    /// Who decided, as typed.
    pub assessor: String,
    /// In what capacity, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub role: String,
    /// Why, in words.
    pub reason: String,
    /// How it came out in the assessor's view.
    pub outcome: Outcome,
    /// The total in the assessor's view, 0 … 100, when it was changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub total: Option<f64>,
    /// Shares of components in the assessor's view, 0 … 1, where they were changed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub components: Vec<(Component, f64)>,
}

/// What the marks beside the points rest on: for a debrief and for whoever contests a mark.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Basis {
    /// Content hash of the reference set.
    pub reference: String,
    /// Reference vehicles behind each number.
    pub vehicles: usize,
    /// Belief that earns full J.
    pub full_belief: f64,
    /// G: how far the work came from ignorance to what all tests could tell, 0 … 1.
    pub progress: f64,
    /// Par time, min.
    pub par_minutes: f64,
    /// Net minutes spent up to the finding.
    pub net_minutes: f64,
    /// Sum of wasted minutes.
    pub wasted_minutes: f64,
    /// Whether the choice of tests was judged two tests ahead; one where nothing is said.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub two_ahead: bool,
    /// Standard error of the total from the size of the reference set, points.
    pub total_error: f64,
}

/// Beliefs at one moment, by candidate in the order of the job, each summing to 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BeliefStep {
    /// When.
    pub at: Micros,
    /// What happened: `card`, a line of the sheet, a statement.
    pub event: String,
    /// What the evidence so far justifies; the last entry is "none of these".
    pub justified: Vec<f64>,
    /// What the learner stated last, if anything.
    pub stated: Option<Vec<f64>>,
}

/// How it came out. The tool reports evidence; a person decides competence.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Reaches the cut and every gate.
    Reached,
    /// Doesn't.
    #[default]
    NotReached,
    /// Too close to a gate, or the evidence misled: a person must look.
    Review,
}

/// A marked attempt.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Name of the job.
    pub job: String,
    /// Hash of plant and job.
    pub job_hash: String,
    /// Seed of the vehicle.
    pub seed: u64,
    /// Hash of the attempt's last line.
    pub attempt_hash: String,
    /// Hash of the replayed trace.
    pub trace_hash: String,
    /// Version of the engine.
    pub engine: String,
    /// Total in points, 0 … 100.
    pub total: f64,
    /// How it came out.
    pub outcome: Outcome,
    /// Why it came out so, in a sentence a gate.
    pub reasons: Vec<String>,
    /// The components.
    pub components: Vec<ComponentMark>,
    /// Every point with its sentence.
    pub ledger: Vec<LedgerLine>,
    /// Labels that `beliefs` columns stand for: the job's candidates, then "none of these".
    pub labels: Vec<String>,
    /// Beliefs through time.
    pub beliefs: Vec<BeliefStep>,
    /// What was submitted: label and confidence in 100.
    pub submitted: Option<(String, u8)>,
    /// What it was: the label of the true candidate and the fault in words.
    pub truth: (String, String),
    /// Belief that the evidence justifies in the submitted candidate, and its standard error.
    pub justified_in_finding: Option<(f64, f64)>,
    /// Labels of the candidates that no test of this job tells from the submitted one: belief in them counts for it,
    /// in `justified_in_finding` and in the ledger.
    #[serde(default)]
    pub counted_together: Vec<String>,
    /// Seen on the screen but not recorded, in words.
    pub seen_not_recorded: Vec<String>,
    /// Every stretch of work, with what it was worth.
    #[serde(default)]
    pub moves: Vec<Move>,
    /// Stated points against justified belief.
    #[serde(default)]
    pub statements: Vec<StatementCheck>,
    /// Predictions against what came.
    #[serde(default)]
    pub predictions: Vec<PredictionCheck>,
    /// Traps of the job that were stepped into.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub traps: Vec<TrapCheck>,
    /// The test that would have told finding and rival apart.
    #[serde(default)]
    pub contrast: Option<Contrast>,
    /// Said when the finding follows from what was written but not from what the gauge showed.
    #[serde(default)]
    pub follow_through: Option<String>,
    /// What the numbers rest on.
    #[serde(default)]
    pub basis: Basis,
    /// Decisions of assessors, the latest last.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub overrides: Vec<Override>,
}

impl Mark {
    /// Points that a component earned: the sum of its lines, so that a table of components and the ledger never differ.
    pub fn points_of(&self, component: Component) -> f64 {
        let own = self.ledger.iter().filter(|l| l.component == Some(component));
        own.map(|l| l.hundredths).sum::<i64>() as f64 / 100.0
    }

    /// What earns no points and is worth a thought, in the order in which it happened: traps, points and predictions held
    /// against what came, and last what the finding follows from.
    pub fn thoughts(&self) -> Vec<&str> {
        let traps = self.traps.iter().map(|t| (t.at, t.sentence.as_str()));
        let statements = self.statements.iter().map(|s| (s.at, s.sentence.as_str()));
        let predictions = self.predictions.iter().map(|p| (p.at, p.sentence.as_str()));
        let mut told: Vec<(Micros, &str)> = traps.chain(predictions).chain(statements).collect();
        told.sort_by_key(|(at, _)| *at);
        let told = told.into_iter().map(|(_, sentence)| sentence).chain(self.follow_through.as_deref());
        told.filter(|sentence| !sentence.is_empty()).collect()
    }

    /// The contrasting case in a sentence, or why there is none; nothing where there is no finding to contrast.
    pub fn contrast_words(&self) -> Option<String> {
        match (&self.contrast, &self.submitted) {
            (Some(contrast), _) => Some(contrast.sentence.clone()),
            (None, Some((label, _))) => {
                let label = tell!("marking-quoted", label = label);
                Some(super::sentence::no_contrast(&label, self.basis.vehicles > 0))
            }
            (None, None) => None,
        }
    }

    /// Why the belief in the finding is more than its own curve shows, in a sentence.
    pub fn counted_words(&self) -> Option<String> {
        let labels: Vec<String> =
            self.counted_together.iter().map(|l| tell!("marking-quoted", label = l)).collect();
        let n = labels.len();
        let (last, first) = labels.split_last()?;
        let list = if first.is_empty() {
            last.clone()
        } else {
            tell!("marking-and", first = first.join(", "), last = last)
        };
        Some(tell!("marking-counted-together", list = list, n = n))
    }
}
