//! A job as the rest of the program may trust it: checked, with everything resolved.

use super::picture::Picture;
use crate::bay::action::State;
use crate::fault::{FaultInstance, Modifier};
use crate::language::named;
use crate::plant::Plant;

/// How the sitting is run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    /// Coaching on request; a critical breach is explained at once.
    Practice,
    /// No feedback before the finding is submitted.
    Assessment,
}

/// How much a job asks of whoever sits it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// One cause, one idea.
    #[default]
    Beginner,
    /// A trap on the way.
    Intermediate,
    /// Two causes, or one that hides.
    Advanced,
    /// Readings that can't be taken at their word.
    Expert,
}

impl Level {
    /// Every level, rising.
    pub const ALL: [Self; 4] = [Self::Beginner, Self::Intermediate, Self::Advanced, Self::Expert];

    /// The word in files and lists.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Beginner => "beginner",
            Self::Intermediate => "intermediate",
            Self::Advanced => "advanced",
            Self::Expert => "expert",
        }
    }
}

/// Words of actions that a job may withhold. What makes the work safe, the sheet, time, the key and the end can't be.
pub const WITHHOLDABLE: &[&str] = &[
    "fit",
    "range",
    "second",
    "load",
    "snap",
    "tap",
    "tilt",
    "sample",
    "codes",
    "listen",
    "battery",
    "volts",
    "clamp",
    "thermometer",
    "read",
    "bridge",
    "pinch",
    "plug",
    "deliver",
    "returnflow",
    "drawdown",
    "airtest",
    "warm",
    "cool",
    "wiggle",
    "cap",
    "container",
    "prime",
];

/// An action that the bay doesn't offer in a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Withheld {
    /// The word that is typed for it, one of [`WITHHOLDABLE`].
    pub word: String,
    /// Why, as the learner is told.
    pub because: String,
}

/// A course: jobs in the order in which they are sat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Name: of the file.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// For whom, and what they can do afterwards.
    pub aim: String,
    /// Its jobs in order.
    pub stages: Vec<Stage>,
}

/// A job of a course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// Name of the job.
    pub job: String,
    /// Why it comes here.
    pub aim: String,
    /// Jobs of the course that are sat before it.
    pub after: Vec<String>,
}

/// A question the learner may put to the customer, and the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Short name, used in actions.
    pub name: String,
    /// The question.
    pub ask: String,
    /// The answer, in the customer's voice.
    pub answer: String,
}

/// What looking at a part shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Name of the part or joint in the plant.
    pub part: String,
    /// What is seen, felt and smelt.
    pub sees: String,
}

/// A healthy range from the vehicle card. A training value.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Joint at which it holds.
    pub joint: String,
    /// State in which it holds.
    pub state: State,
    /// Lowest healthy reading, mbar gauge.
    pub low_mbar: f64,
    /// Highest healthy reading, mbar gauge.
    pub high_mbar: f64,
    /// Reading from which one looks closer, mbar gauge; below `low_mbar` or above `high_mbar`.
    pub investigate_mbar: Option<f64>,
    /// Reading from which one acts, mbar gauge; on the same side and further off.
    pub act_mbar: Option<f64>,
    /// Condition in words, such as "within 5 s".
    pub words: String,
}

/// A cause the learner may hold likely. Several faults can stand behind one candidate.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Short name, used in actions and files.
    pub name: String,
    /// As the learner reads it.
    pub label: String,
    /// Weight before any test; the weights of a job sum to 1.
    pub weight: f64,
    /// Hypothetical vehicles that count as this candidate: faults with their severity bands.
    /// Empty for "nothing wrong".
    pub vehicles: Vec<FaultBand>,
}

/// A fault with a band of severities, at a place if the fault has one.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultBand {
    /// Catalogue code, such as `F15`.
    pub fault: String,
    /// Component or joint it sits at; empty when the fault has only one place in the plant.
    pub at: String,
    /// Lowest and highest severity, 1 … 5.
    pub severity: (f64, f64),
    /// When it shows; always, when there is none.
    pub when: Vec<Modifier>,
    /// Faults that the same vehicle has besides; these have none themselves.
    pub with: Vec<FaultBand>,
}

impl FaultBand {
    /// This fault and those it comes with.
    pub fn all(&self) -> impl Iterator<Item = &FaultBand> {
        std::iter::once(self).chain(&self.with)
    }

    /// Whether a fault that it stands for comes and goes as its vehicles' do: by the same kinds of conditions, whatever
    /// their numbers.
    pub fn waits_as(&self, fault: &FaultInstance) -> bool {
        let kinds = |when: &[Modifier]| when.iter().map(core::mem::discriminant).collect::<Vec<_>>();
        let (own, its) = (kinds(&self.when), kinds(&fault.modifiers));
        own.len() == its.len() && own.iter().all(|kind| its.contains(kind))
    }

    /// Whether a vehicle with exactly these faults lies in the band.
    pub fn holds(&self, faults: &[FaultInstance]) -> bool {
        faults.len() == 1 + self.with.len()
            && self.all().all(|b| {
                faults.iter().any(|f| {
                    f.fault == b.fault && f.at == b.at && (b.severity.0..=b.severity.1).contains(&f.severity)
                })
            })
    }
}

/// What an author may declare preliminary: it costs no minutes in any marked quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Preliminary {
    /// Asking the customer.
    Ask,
    /// Looking at parts.
    Look,
}

/// How the components of the mark are weighed, and what a pass needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Rubric {
    /// Name of the rubric.
    pub name: String,
    /// Weight of: D right diagnosis.
    pub diagnosis: f64,
    /// Weight of: J justified conclusion.
    pub justified: f64,
    /// Weight of: X cited evidence.
    pub cited: f64,
    /// Weight of: S choice of tests.
    pub choice: f64,
    /// Weight of: M measurement.
    pub measurement: f64,
    /// Weight of: P safety and procedure.
    pub procedure: f64,
    /// Weight of: C calibration.
    pub calibration: f64,
    /// Weight of: R economy.
    pub economy: f64,
    /// Points in 100 that a pass needs.
    pub cut: f64,
    /// Least share of the right diagnosis that a pass needs, 0 … 1.
    pub diagnosis_floor: f64,
    /// Least share of the justified conclusion that a pass needs, 0 … 1.
    pub justified_floor: f64,
    /// Least share of cited evidence that a pass needs, 0 … 1.
    pub cited_floor: f64,
    /// Least share of the choice of tests that a pass needs, 0 … 1.
    pub choice_floor: f64,
    /// Least share of measurement that a pass needs, 0 … 1.
    pub measurement_floor: f64,
    /// Least share of procedure that a pass needs, 0 … 1.
    pub procedure_floor: f64,
    /// Least share of calibration that a pass needs, 0 … 1.
    pub calibration_floor: f64,
    /// Least share of economy that a pass needs, 0 … 1.
    pub economy_floor: f64,
    /// Highest total after a critical breach, points.
    pub critical_cap: f64,
    /// Belief at which nothing more needs to be measured, 0.5 … 0.99; it sets the par time.
    pub enough_belief: f64,
    /// Minutes that a credit spent on a test is charged with, λ_m.
    pub minutes_per_credit: f64,
    /// Minutes that a unit of risk is charged with, λ_r.
    pub minutes_per_risk: f64,
    /// What costs no marked minutes besides safety steps, purging and zeroing.
    pub preliminaries: Vec<Preliminary>,
    /// Weight of evidence from which a cited line supports the finding, bans.
    pub support_bans: f64,
    /// Weight of evidence from which a cited line rules a rival out, bans.
    pub rule_out_bans: f64,
    /// Share of X that a false citation takes.
    pub false_claim: f64,
    /// Share of X that a citation that says nothing takes.
    pub neutral_claim: f64,
    /// Points that a hint of level 1, 2 and 3 takes while practising.
    pub hints: [f64; 3],
    /// Whether readings taken after a part was changed may bear the finding.
    pub parts_as_evidence: bool,
    /// Allowed error of a written reading, mbar.
    pub reading_tolerance_mbar: f64,
}

/// What is wrong with a vehicle. Doesn't print itself, so that no log or message gives it away.
#[derive(Clone, PartialEq)]
pub struct Secret(pub(crate) Vec<FaultInstance>);

impl std::fmt::Debug for Secret {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Secret")
    }
}

/// Names of the rules of safety and procedure; the bay watches them.
pub const RULE_NAMES: [&str; 25] = [
    "no-protection",
    "no-pressure-wait",
    "petrol-indoors",
    "petrol-spray",
    "petrol-filler",
    "petrol-no-extinguisher",
    "line-blocked-at-hand-back",
    "dead-head-forbidden",
    "old-seal",
    "no-chocks",
    "dead-head-long",
    "dead-head-fast",
    "dead-head-again",
    "pump-dry",
    "no-leak-check",
    "valve-shut-at-hand-back",
    "leak-at-hand-back",
    "no-ventilation",
    "no-extinguisher",
    "no-tray",
    "no-zero",
    "no-source",
    "long-crank",
    "evidence-lost",
    "tool-left",
];

/// How it is known that somebody stepped into a trap: any one of what it lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Snare {
    /// Index of the trap.
    pub(crate) trap: usize,
    /// Candidates: the finding names one of them.
    pub(crate) named: Vec<usize>,
    /// Parts: one of them was replaced and was sound.
    pub(crate) replaced: Vec<String>,
    /// States: one of them was read nowhere before the finding.
    pub(crate) unread: Vec<State>,
    /// Names of rules: one was broken.
    pub(crate) broken: Vec<String>,
}

/// A picture on the job card, and the same in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Name of its file, without the ending.
    pub name: String,
    /// What is to be seen in it.
    pub shows: String,
    /// The picture.
    pub picture: Picture,
}

/// A job: one vehicle, one complaint, one hidden cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Name, as in `faultbay sit NAME`.
    pub name: String,
    /// Title on the job card.
    pub title: String,
    /// Whose vehicle.
    pub customer: String,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// What the job card says besides: fuel level, weather, history.
    pub facts: Vec<String>,
    /// Pictures that the card shows.
    pub pictures: Vec<Shown>,
    /// What the learner should take away.
    pub goals: Vec<String>,
    /// What leads astray in it: for whoever teaches with it, since it hints at the cause.
    pub(crate) traps: Vec<String>,
    /// How it is known that somebody stepped into a trap.
    pub(crate) snares: Vec<Snare>,
    /// Hints, the gentlest first.
    pub hints: Vec<String>,
    /// How much it asks.
    pub level: Level,
    /// About how long, min.
    pub minutes: f64,
    /// Mode.
    pub mode: Mode,
    /// The vehicle.
    pub plant: Plant,
    /// Questions to the customer.
    pub questions: Vec<Question>,
    /// Looks at parts.
    pub looks: Vec<Look>,
    /// The vehicle card.
    pub limits: Vec<Limit>,
    /// Joints where the tee may be fitted, in the order of flow: name and label.
    pub joints: Vec<(String, String)>,
    /// Candidates in the order of the sheet.
    pub candidates: Vec<Candidate>,
    /// How it is marked.
    pub rubric: Rubric,
    /// How many tests ahead the choice of tests is judged, 1 or 2.
    pub lookahead: u32,
    /// What the bay doesn't offer in this job.
    pub withheld: Vec<Withheld>,
    /// Candidates that count as right besides the one that the hidden faults belong to.
    pub(crate) also_right: Vec<usize>,
    /// Share shown by the dashboard's fuel gauge, 0 … 1.
    pub fuel_gauge: f64,
    /// Trouble codes that are stored when the vehicle comes in: number, and speed of the engine then, 1/min.
    pub codes: Vec<(String, f64)>,
    /// Number that picks the vehicle where nobody names one.
    pub vehicle: Option<u64>,
    /// How long the vehicle stood untouched before the job, s.
    pub stood_s: f64,
    /// Hash over plant and job as read; the attempt quotes it.
    pub hash: String,
    /// What is wrong. Only the bay and, after hand-back, marking may look.
    pub(crate) hidden: Secret,
}

impl Job {
    /// The candidate with this name.
    pub fn candidate(&self, name: &str) -> Option<&Candidate> {
        self.candidates.iter().find(|c| c.name == name)
    }

    /// Whether a finding that names this candidate is right: it stands for what is hidden, or the author said that it
    /// counts as right as well. For tests and for authors; nothing of a sitting asks.
    pub fn accepts(&self, candidate: &str) -> bool {
        let Some(named) = self.candidates.iter().position(|c| c.name == candidate) else { return false };
        let hidden = &self.hidden.0;
        let holds = |c: &Candidate| {
            let each = |f: &FaultInstance| c.vehicles.iter().any(|b| b.holds(std::slice::from_ref(f)));
            c.vehicles.iter().any(|b| b.holds(hidden)) || !hidden.is_empty() && hidden.iter().all(each)
        };
        let own = &self.candidates[named];
        self.also_right.contains(&named) || holds(own) || hidden.is_empty() && own.vehicles.is_empty()
    }

    /// What a part or a node is called by people: the part's label, the joint's, or else the name in the file. A joint of a
    /// pump's circuit is told with its pump.
    pub fn place_label(&self, name: &str) -> String {
        if let Some((part, joint)) = name.split_once('/')
            && self.plant.part(part).is_some()
        {
            return format!("{}, {}", named(&self.place_label(part)), named(joint));
        }
        let part = self.plant.part(name).map(|p| p.label.clone()).filter(|label| !label.is_empty());
        let joint = || self.plant.node(name).and_then(|n| n.joint.clone());
        part.or_else(joint).unwrap_or_else(|| name.to_owned())
    }

    /// The healthy range for a state at a joint.
    pub fn limit(&self, joint: &str, state: State) -> Option<&Limit> {
        self.limits.iter().find(|l| l.joint == joint && l.state == state)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_called_what_people_call_them() {
        use crate::language::{Language, within};
        let library = crate::scenario::Library::builtin();
        let load = |name: &str| crate::scenario::load_job(&library, name).expect("a built-in job").0;
        let (van, hatchback) = (load("bypass-puff"), load("second-pump"));
        assert_eq!(van.place_label("filter"), "filter with hand primer");
        assert_eq!(van.place_label("pump in"), "pump inlet");
        assert_eq!(van.place_label("nowhere"), "nowhere");
        let plug = "fuel pump/module plug feed side";
        let label = hatchback.place_label(plug);
        assert!(label.ends_with(", module plug feed side") && !label.contains('/'), "{label}");
        let german = within(Language::German, || hatchback.place_label(plug));
        assert!(german != label && !german.contains('/'), "{german}");
    }

    #[test]
    fn what_is_hidden_does_not_print_itself() {
        let fault = FaultInstance::new("F15", "filter", 3.4);
        assert_eq!(format!("{:?}", Secret(vec![fault])), "Secret");
    }
}
