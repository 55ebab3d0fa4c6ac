//! A mark as plain data: components, the ledger and the beliefs through time.

use serde::{Deserialize, Serialize};

use crate::bay::action::Micros;

/// A component of the mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Component {
    /// D: right diagnosis, luck removed.
    Diagnosis,
    /// J: justified conclusion.
    Justified,
    /// M: measurement.
    Measurement,
    /// P: safety and procedure.
    Procedure,
    /// C: calibration, how sure against how sure one may be.
    Calibration,
}

impl Component {
    /// Every component in the order of the debrief.
    pub const ALL: [Self; 5] =
        [Self::Diagnosis, Self::Justified, Self::Measurement, Self::Procedure, Self::Calibration];

    /// Its letter in the mark scheme.
    pub const fn letter(self) -> char {
        match self {
            Self::Diagnosis => 'D',
            Self::Justified => 'J',
            Self::Measurement => 'M',
            Self::Procedure => 'P',
            Self::Calibration => 'C',
        }
    }

    /// Its name for a learner.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Diagnosis => "Right diagnosis",
            Self::Justified => "Conclusion borne by the readings",
            Self::Measurement => "Readings written down right",
            Self::Procedure => "Safe and proper work",
            Self::Calibration => "How sure, against how sure one may be",
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
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Reaches the cut and every gate.
    Reached,
    /// Doesn't.
    NotReached,
    /// Too close to a gate, or the evidence misled: a person must look.
    Review,
}

/// A marked attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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
    /// Seen on the screen but not recorded, in words.
    pub seen_not_recorded: Vec<String>,
}
