//! The files as they are written: one struct a shape, no field more. Nothing here is trusted yet.
//!
//! Plants use the component types of [`crate::plant`] as they are; their numbers are checked later.

use serde::Deserialize;

use super::model::{Level, Mode, Preliminary};
use super::parse::{FieldShape, Shape};
use crate::fault::Modifier;
use crate::fluid::Blend;
use crate::plant::service::Service;
use crate::plant::{Node, Part, Warmth};
use crate::units::{GaugePressure, Length, PressureDifference, Span, Temperature, Volume};

/// Defines the shape of a file: the struct, and beside it the table of its fields that lets each
/// field, and each entry of a list, be read by itself when the whole can't be.
macro_rules! file_shape {
    ($(#[$doc:meta])* $raw:ident $opening:literal {
        $($(#[doc = $words:literal])+ $(#[serde($($serde:tt)*)])? $how:ident $field:ident: $type:ty
            $([most $most:expr])?,)*
    }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields, rename = $opening)]
        pub(super) struct $raw {
            $($(#[doc = $words])+ $(#[serde($($serde)*)])? pub(super) $field: file_shape!(@type $how $type),)*
        }

        impl Shape for $raw {
            const OPENING: &'static str = $opening;
            const FIELDS: &'static [FieldShape] = &[
                $(FieldShape::new::<file_shape!(@read $how $type)>(
                    stringify!($field),
                    concat!($($words),+),
                    stringify!($type),
                    file_shape!(@needed $how),
                    file_shape!(@most $($most)?),
                )),*
            ];
        }
    };
    (@type need $type:ty) => { $type };
    (@type may $type:ty) => { Option<$type> };
    (@type list $type:ty) => { Vec<$type> };
    (@type more $type:ty) => { Vec<$type> };
    (@read need $type:ty) => { $type };
    (@read may $type:ty) => { Option<$type> };
    (@read list $type:ty) => { $type };
    (@read more $type:ty) => { $type };
    (@needed need) => { true };
    (@needed may) => { false };
    (@needed list) => { true };
    (@needed more) => { false };
    (@most $most:expr) => { $most };
    (@most) => { 0 };
}

/// A field of an entry in a list, for the manual.
pub(super) struct EntryField {
    pub(super) name: &'static str,
    pub(super) words: &'static str,
    pub(super) read_as: &'static str,
    pub(super) needed: bool,
}

/// Defines the shape of an entry in a list: the struct, and the table of its fields for the manual.
macro_rules! entry_shape {
    ($(#[$doc:meta])* $raw:ident $name:literal {
        $($(#[doc = $words:literal])+ $(#[serde($($serde:tt)*)])? $how:ident $field:ident: $type:ty,)*
    }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields, rename = $name)]
        pub(super) struct $raw {
            $($(#[doc = $words])+ $(#[serde($($serde)*)])? pub(super) $field: $type,)*
        }

        impl $raw {
            /// Its fields.
            pub(super) const FIELDS: &'static [EntryField] = &[$(EntryField {
                name: stringify!($field),
                words: concat!($($words),+),
                read_as: stringify!($type),
                needed: file_shape!(@needed $how),
            }),*];
        }
    };
}

file_shape! {
    /// A plant.
    RawPlant "Plant" {
        /// What vehicle it is.
        need title: String,
        /// The fuel: the word of a class, or a blend of them.
        need fuel: Blend,
        /// Temperature of fuel and surroundings; 20 °C when left out.
        may temperature: Temperature,
        /// Height above the sea; 0 when left out.
        may altitude: Length,
        /// How it warms up and cools down; it stays as it is when left out.
        may warmth: Warmth,
        /// What the card says about working on it; a 12 V vehicle with nothing forbidden when left out.
        may service: Service,
        /// Nodes.
        list nodes: Node [most 64],
        /// Components.
        list parts: Part [most 64],
        /// The vehicle card: training values for jobs that don't give their own.
        #[serde(default)]
        more card: RawLimit [most 240],
    }
}

file_shape! {
    /// A rubric: weights in any common measure, and what a pass needs.
    RawRubric "Rubric" {
        /// Weight of the right diagnosis.
        need diagnosis: f64,
        /// Weight of the conclusion being borne by the readings.
        need justified: f64,
        /// Weight of what the finding is borne by being cited; 0 when left out.
        may cited: f64,
        /// Weight of the choice of tests; 0 when left out.
        may choice: f64,
        /// Weight of readings written down right.
        need measurement: f64,
        /// Weight of safe and proper work.
        need procedure: f64,
        /// Weight of how sure against how sure one may be.
        need calibration: f64,
        /// Weight of minutes and parts; 0 when left out.
        may economy: f64,
        /// Points in 100 that a pass needs.
        need cut: f64,
        /// Allowed error of a written reading.
        need reading_tolerance: PressureDifference,
        /// Least share of the right diagnosis that a pass needs, 0 … 1.
        may diagnosis_floor: f64,
        /// Least share of the justified conclusion that a pass needs, 0 … 1.
        may justified_floor: f64,
        /// Least share of cited evidence that a pass needs, 0 … 1.
        may cited_floor: f64,
        /// Least share of the choice of tests that a pass needs, 0 … 1.
        may choice_floor: f64,
        /// Least share of measurement that a pass needs, 0 … 1.
        may measurement_floor: f64,
        /// Least share of procedure that a pass needs, 0 … 1.
        may procedure_floor: f64,
        /// Least share of calibration that a pass needs, 0 … 1.
        may calibration_floor: f64,
        /// Least share of economy that a pass needs, 0 … 1.
        may economy_floor: f64,
        /// Highest total after a critical breach, points; 39 when left out.
        may critical_cap: f64,
        /// Belief at which nothing more needs to be measured; 0.90 when left out.
        may enough_belief: f64,
        /// Minutes that a credit spent on a test is charged with; 0 when left out.
        may minutes_per_credit: f64,
        /// Minutes that a unit of risk is charged with; 0 when left out.
        may minutes_per_risk: f64,
        /// What costs no marked minutes besides safety steps, purging and zeroing.
        #[serde(default)]
        more preliminaries: Preliminary [most 8],
        /// How much likelier a cited line must make the finding to support it, as a power of ten: 0.3, twice as likely, when left out.
        may support_bans: f64,
        /// How much less likely a cited line must make a rival to rule it out, as a power of ten: 0.5, three times, when left out.
        may rule_out_bans: f64,
        /// Share that a false citation takes; 0.25 when left out.
        may false_claim: f64,
        /// Share that a citation that says nothing takes; 0.05 when left out.
        may neutral_claim: f64,
        /// Points that a hint of level 1, 2 and 3 takes; 1, 2 and 4 when left out.
        may hints: (f64, f64, f64),
        /// Whether readings taken after a part was changed may bear the finding; no when left out.
        may parts_as_evidence: bool,
    }
}

file_shape! {
    /// A job.
    RawJob "Job" {
        /// Title on the job card.
        need title: String,
        /// Whose vehicle.
        need customer: String,
        /// The complaint in the customer's words.
        need complaint: String,
        /// What the card says besides.
        #[serde(default)]
        more facts: String [most 20],
        /// Pictures that the card shows, each with what it shows in words.
        #[serde(default)]
        more pictures: RawPicture [most 4],
        /// What the learner should take away.
        #[serde(default)]
        more goals: String [most 20],
        /// What leads astray in it, for whoever teaches with it; learners don't see it.
        #[serde(default)]
        more traps: String [most 20],
        /// How it is known that somebody stepped into a trap; the debrief says so, after hand-back.
        #[serde(default)]
        more snares: RawSnare [most 20],
        /// Hints for levels 1, 2 and 3, the gentlest first; the program's own where there is none.
        #[serde(default)]
        more hints: String [most 12],
        /// How much it asks; beginner when left out.
        may level: Level,
        /// About how long the work takes up to the finding, min of the bay; at least what `faultbay fair` calls par.
        need minutes: f64,
        /// Mode.
        need mode: Mode,
        /// Name of the plant.
        need plant: String,
        /// Name of the rubric.
        need rubric: String,
        /// How many tests ahead the choice of tests is judged: 2 where the check advises it, for tests that tell more together; 1 when left out.
        may lookahead: u64,
        /// What fuel of the season is in the tank and belongs there, in place of what the plant says.
        may fuel: Blend,
        /// Fuel in the tank, in place of what the plant says.
        may fill: Volume,
        /// How long the vehicle stood before the job, at most 30 days.
        may stood: Span,
        /// Temperature of fuel and surroundings, in place of what the plant says.
        may temperature: Temperature,
        /// Height above the sea, in place of what the plant says.
        may altitude: Length,
        /// What the fuel gauge shows, 0 … 1.
        need fuel_gauge: f64,
        /// The fuel gauge is meant to be wrong; no when left out.
        may gauge_lies: bool,
        /// Number that picks the vehicle among its equivalents where nobody names one; everybody gets the same then.
        may vehicle: u64,
        /// What may differ between the equivalent variants that `faultbay vary` makes.
        may varies: RawVaries,
        /// Trouble codes that are stored when the vehicle comes in.
        #[serde(default)]
        more codes: RawCode [most 8],
        /// What the bay doesn't offer in this job, and why.
        #[serde(default)]
        more withheld: RawWithheld [most 24],
        /// Questions to the customer.
        #[serde(default)]
        more questions: RawQuestion [most 40],
        /// Looks at parts.
        #[serde(default)]
        more looks: RawLook [most 80],
        /// The vehicle card; the plant's when left out.
        #[serde(default)]
        more limits: RawLimit [most 240],
        /// Candidates in the order of the sheet.
        list candidates: RawCandidate [most 24],
        /// Candidates that count as right besides the one that the hidden faults belong to.
        #[serde(default)]
        more also_right: String [most 4],
        /// What is wrong with the vehicle.
        list hidden: RawFault [most 4],
    }
}

file_shape! {
    /// A course: jobs in the order in which they are sat.
    RawCourse "Course" {
        /// What it is called.
        need title: String,
        /// For whom, and what they can do afterwards.
        need aim: String,
        /// Its jobs.
        list jobs: RawStage [most 60],
    }
}

entry_shape! {
    /// A job of a course.
    RawStage "Stage" {
        /// Name of the job.
        need job: String,
        /// Why it comes here.
        need aim: String,
        /// Jobs of the course that are sat before it.
        #[serde(default)]
        may after: Vec<String>,
    }
}

entry_shape! {
    /// A picture on the job card.
    RawPicture "Picture" {
        /// Name of the file without its ending: `pictures/NAME.png` beside the jobs.
        need name: String,
        /// What is to be seen in it, for whoever can't see it; it stands under the picture.
        need shows: String,
    }
}

entry_shape! {
    /// An action that a job doesn't offer.
    RawWithheld "Withheld" {
        /// The word that is typed for it.
        need word: String,
        /// What is said instead.
        need because: String,
    }
}

entry_shape! {
    /// How it is known that somebody stepped into a trap: any one of what it lists.
    RawSnare "Snare" {
        /// Which of the traps, from 1.
        need trap: u32,
        /// Candidates: the finding names one of them.
        #[serde(default)]
        may named: Vec<String>,
        /// Parts: one of them was replaced and was sound.
        #[serde(default)]
        may replaced: Vec<String>,
        /// States: one of them was read nowhere before the finding.
        #[serde(default)]
        may unread: Vec<String>,
        /// Rules of safety and procedure, by name: one was broken.
        #[serde(default)]
        may broken: Vec<String>,
    }
}

entry_shape! {
    /// What may differ between variants.
    RawVaries "Varies" {
        /// How far a hidden severity may lie from what is written; 0.4 when left out.
        #[serde(default)]
        may severity: Option<f64>,
        /// Coldest and warmest fuel and surroundings; left out, 2 °C around 20 °C where the job gives no temperature.
        #[serde(default)]
        may temperature: Option<(Temperature, Temperature)>,
        /// Least and most fuel in the tank; left out, 3 in 100 of the tank to either side, unless the level is the matter.
        #[serde(default)]
        may fill: Option<(Volume, Volume)>,
        /// Whether distances in km in the papers may differ, together, by a tenth; yes when left out.
        #[serde(default)]
        may mileage: Option<bool>,
        /// Words of the papers with what may stand in their place.
        #[serde(default)]
        may words: Vec<RawWording>,
    }
}

entry_shape! {
    /// Words of the papers and what may stand in their place.
    RawWording "Wording" {
        /// The words, as they stand in title, customer, complaint, facts, goals, traps, hints, answers or looks.
        need instead_of: String,
        /// What may stand there instead; what is written counts as one of them.
        need one_of: Vec<String>,
    }
}

entry_shape! {
    /// A trouble code that is stored.
    RawCode "Code" {
        /// Number in the open standard, one of those that vehicles here store.
        need number: String,
        /// Speed of the engine when it was stored, 1/min.
        need rpm: f64,
    }
}

entry_shape! {
    /// A question and its answer.
    RawQuestion "Question" {
        /// Short name, used in actions.
        need name: String,
        /// The question.
        need ask: String,
        /// The answer, in the customer's voice.
        need answer: String,
    }
}

entry_shape! {
    /// What looking at a part shows.
    RawLook "Look" {
        /// Name of the part or joint in the plant.
        need part: String,
        /// What is seen, felt and smelt.
        need sees: String,
    }
}

entry_shape! {
    /// A healthy range on the vehicle card: training values.
    RawLimit "Limit" {
        /// Joint at which it holds.
        need joint: String,
        /// State in which it holds.
        need state: String,
        /// Lowest healthy reading; the stronger suction is the lower one.
        need low: GaugePressure,
        /// Highest healthy reading.
        need high: GaugePressure,
        /// Reading from which one looks closer, outside the range.
        #[serde(default)]
        may investigate: Option<GaugePressure>,
        /// Reading from which one acts, further off on the same side.
        #[serde(default)]
        may act: Option<GaugePressure>,
        /// Condition, such as "at idle, within 5 s, once a run".
        #[serde(default)]
        may words: String,
    }
}

entry_shape! {
    /// A cause that the learner may hold likely.
    RawCandidate "Candidate" {
        /// Short name, used in actions and files.
        need name: String,
        /// As the learner reads it.
        need label: String,
        /// Weight before any test, above 0; only the proportions count.
        need weight: f64,
        /// Vehicles that count as this candidate; none for "nothing wrong".
        need vehicles: Vec<RawBand>,
    }
}

/// The lists whose entries have a shape, by the name of the list.
pub(super) const ENTRY_LISTS: &[(&str, &[EntryField])] = &[
    ("pictures", RawPicture::FIELDS),
    ("questions", RawQuestion::FIELDS),
    ("looks", RawLook::FIELDS),
    ("limits", RawLimit::FIELDS),
    ("card", RawLimit::FIELDS),
    ("snares", RawSnare::FIELDS),
    ("codes", RawCode::FIELDS),
    ("withheld", RawWithheld::FIELDS),
    ("candidates", RawCandidate::FIELDS),
    ("vehicles", RawBand::FIELDS),
    ("with", RawFellow::FIELDS),
    ("hidden", RawFault::FIELDS),
    ("varies", RawVaries::FIELDS),
    ("words", RawWording::FIELDS),
    ("jobs", RawStage::FIELDS),
];

/// The fields of the entries of a list.
pub(super) fn entry_fields(list: &str) -> Option<&'static [EntryField]> {
    ENTRY_LISTS.iter().find(|(name, _)| *name == list).map(|(_, fields)| *fields)
}

/// Most hypothetical vehicles behind one candidate.
pub(super) const MOST_VEHICLES: usize = 24;

entry_shape! {
    /// A fault with a band of severities.
    RawBand "Vehicle" {
        /// Code in the catalogue.
        need fault: String,
        /// Part or node it sits at; may be left out where there is only one.
        #[serde(default)]
        may at: String,
        /// Lowest and highest severity, 1 … 5.
        need severity: (f64, f64),
        /// When it shows; always when left out.
        #[serde(default)]
        may when: Vec<Modifier>,
        /// Faults that the same vehicle has besides, at most 3.
        #[serde(default)]
        may with: Vec<RawFellow>,
    }
}

entry_shape! {
    /// A fault that another one comes with.
    RawFellow "Fellow" {
        /// Code in the catalogue.
        need fault: String,
        /// Part or node it sits at; may be left out where there is only one.
        #[serde(default)]
        may at: String,
        /// Lowest and highest severity, 1 … 5.
        need severity: (f64, f64),
        /// When it shows; always when left out.
        #[serde(default)]
        may when: Vec<Modifier>,
    }
}

entry_shape! {
    /// A fault of one severity.
    RawFault "Fault" {
        /// Code in the catalogue.
        need fault: String,
        /// Part or node it sits at; may be left out where there is only one.
        #[serde(default)]
        may at: String,
        /// Severity, 1 … 5.
        need severity: f64,
        /// When it shows; always when left out.
        #[serde(default)]
        may when: Vec<Modifier>,
    }
}
