//! Stable handles of everything a check can say.
//!
//! A number is never given to another meaning. `FB-S…` are about files that people write (plants, jobs,
//! rubrics), `FB-R…` about recordings; `…0…` are errors, `…1…` warnings.

use super::Severity;

/// A stable handle, such as `FB-S014 unknown-part`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Id {
    /// The code: what `faultbay explain` takes.
    pub code: &'static str,
    /// A name to remember it by.
    pub name: &'static str,
    /// Whether a file with it can be used.
    pub severity: Severity,
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.code, self.name)
    }
}

macro_rules! ids {
    ($($severity:ident { $($(#[$doc:meta])* $constant:ident = $code:literal $name:literal;)* })*) => {
        $($(
            $(#[$doc])*
            pub const $constant: Id = Id { code: $code, name: $name, severity: Severity::$severity };
        )*)*
        /// Every id in the order of their codes.
        pub const ALL: &[Id] = &[$($($constant),*),*];
    };
}

ids! {
    Error {
        /// There is nothing in the file.
        RECORDING_EMPTY = "FB-R001" "empty-recording";
        /// The file isn't text in UTF-8.
        RECORDING_NOT_TEXT = "FB-R002" "not-a-text-table";
        /// No row names its columns.
        RECORDING_NO_HEADING = "FB-R003" "no-heading";
        /// No column is a time.
        RECORDING_NO_TIME = "FB-R004" "no-time-column";
        /// No column is a pressure.
        RECORDING_NO_PRESSURE = "FB-R005" "no-pressure-column";
        /// A pressure without a unit.
        RECORDING_NO_UNIT = "FB-R006" "no-unit";
        /// A unit that isn't known.
        RECORDING_UNKNOWN_UNIT = "FB-R007" "unknown-unit";
        /// A heading and hardly anything under it.
        RECORDING_NO_SAMPLES = "FB-R008" "no-samples";
        /// Time runs backwards in many rows.
        RECORDING_TIME_BACK = "FB-R009" "time-goes-back";
        /// A column that is hardly made of numbers.
        RECORDING_NOT_NUMBERS = "FB-R010" "not-numbers";
        /// A row that doesn't end.
        RECORDING_LONG_ROW = "FB-R011" "row-too-long";
        /// The comma separates cells and decimals.
        RECORDING_COMMAS = "FB-R012" "commas-in-numbers";
        /// No column has the name that was asked for.
        RECORDING_NO_COLUMN = "FB-R013" "unknown-column";
        /// More columns than can be read.
        RECORDING_TOO_MANY = "FB-R014" "too-many-columns";
        /// The file can't be opened or read.
        RECORDING_UNREADABLE = "FB-R015" "unreadable-recording";
    }
    Warning {
        /// Cells that are no numbers.
        RECORDING_BAD_CELLS = "FB-R101" "bad-cells";
        /// Rows with more or fewer cells than the heading.
        RECORDING_RAGGED = "FB-R102" "ragged-rows";
        /// Values that no vehicle shows in their unit.
        RECORDING_UNLIKELY_UNIT = "FB-R103" "unlikely-unit";
        /// A pressure against vacuum without the air pressure of the day.
        RECORDING_NO_BAROMETER = "FB-R104" "no-air-pressure";
        /// A few rows whose time goes back.
        RECORDING_ROWS_OUT_OF_ORDER = "FB-R105" "rows-out-of-order";
        /// Samples that share their time stamps.
        RECORDING_COARSE_TIME = "FB-R106" "coarse-time-stamps";
    }
    Error {
        /// The file is larger than any scenario needs.
        TOO_LARGE = "FB-S001" "too-large";
        /// Brackets are nested too deeply.
        TOO_DEEP = "FB-S002" "too-deep";
        /// The text isn't well formed.
        SYNTAX = "FB-S003" "syntax";
        /// A field that the file may not have.
        UNKNOWN_FIELD = "FB-S004" "unknown-field";
        /// A field that must be there isn't.
        MISSING_FIELD = "FB-S005" "missing-field";
        /// A value of the wrong kind.
        WRONG_VALUE = "FB-S006" "wrong-value";
        /// A unit or another fixed word that doesn't exist.
        UNKNOWN_WORD = "FB-S007" "unknown-word";
        /// A field stands twice.
        REPEATED_FIELD = "FB-S008" "repeated-field";
        /// Neither a plant nor a job nor a rubric.
        UNKNOWN_KIND = "FB-S009" "unknown-kind";
        /// More entries than a file may have.
        TOO_MANY = "FB-S010" "too-many";
        /// No file of that name, or it can't be read.
        UNREADABLE = "FB-S011" "unreadable";
        /// A number outside the range that makes sense.
        OUT_OF_RANGE = "FB-S012" "out-of-range";
        /// A name or a text that is empty or too long.
        BAD_TEXT = "FB-S013" "bad-text";
        /// No part has that name.
        UNKNOWN_PART = "FB-S014" "unknown-part";
        /// No node has that name.
        UNKNOWN_NODE = "FB-S015" "unknown-node";
        /// No joint has that name.
        UNKNOWN_JOINT = "FB-S016" "unknown-joint";
        /// No fault has that code.
        UNKNOWN_FAULT = "FB-S017" "unknown-fault";
        /// No plant has that name.
        UNKNOWN_PLANT = "FB-S018" "unknown-plant";
        /// No rubric has that name.
        UNKNOWN_RUBRIC = "FB-S019" "unknown-rubric";
        /// No state has that name.
        UNKNOWN_STATE = "FB-S020" "unknown-state";
        /// Two things share a name.
        DUPLICATE_NAME = "FB-S021" "duplicate-name";
        /// A node that no part is joined to.
        FLOATING_NODE = "FB-S022" "floating-node";
        /// A node that no fuel for the engine passes.
        OFF_THE_PATH = "FB-S023" "off-the-path";
        /// A part with both ends at one node.
        SHORT_CIRCUIT = "FB-S024" "short-circuit";
        // FB-S025 and FB-S026 asked for exactly one tank and one pump; they aren't given out again
        /// Not exactly one engine.
        ONE_ENGINE = "FB-S027" "one-engine";
        /// Nowhere to fit the tee.
        NO_JOINT = "FB-S028" "no-joint";
        /// A fault at a place where it can't sit.
        FAULT_PLACE = "FB-S029" "fault-place";
        /// A severity outside 1 … 5, or a band the wrong way round.
        SEVERITY = "FB-S030" "severity";
        /// A healthy range whose low end is above its high end.
        LIMITS_REVERSED = "FB-S031" "limits-reversed";
        /// Two healthy ranges for one state at one joint.
        REPEATED_LIMIT = "FB-S032" "repeated-limit";
        /// A weight that is zero, negative or no number.
        WEIGHT = "FB-S033" "weight";
        /// Not exactly one candidate for "nothing wrong".
        HEALTHY_CANDIDATE = "FB-S034" "healthy-candidate";
        /// A hidden fault that no candidate stands for.
        UNCOVERED_FAULT = "FB-S035" "uncovered-fault";
        /// One fault that two candidates stand for.
        OVERLAP = "FB-S036" "overlapping-candidates";
        /// More than one hidden fault that different candidates stand for.
        TWO_CAUSES = "FB-S037" "two-causes";
        /// More fuel than the tank holds, or none.
        FILL = "FB-S038" "fill";
        /// A part that begins, ends or opens where the simulation can't have it.
        UNFIT_END = "FB-S039" "unfit-end";
        /// The simulation can't be built for another reason.
        NOT_BUILT = "FB-S040" "not-built";
        /// No tank at all.
        NO_TANK = "FB-S041" "no-tank";
        /// A field that names a node of the wrong kind.
        WRONG_REFERENCE = "FB-S042" "wrong-reference";
        /// Two pumps of fixed flow with no fuel between them.
        PUMPS_IN_SERIES = "FB-S043" "pumps-in-series";
        /// Pumps that push into a space that nothing leaves.
        OPPOSED_PUMPS = "FB-S044" "opposed-pumps";
        /// An electric pump without a circuit.
        EMPTY_CIRCUIT = "FB-S045" "empty-circuit";
        /// A modifier whose numbers make no sense.
        MODIFIER = "FB-S060" "modifier";
        /// A name that isn't that of a candidate.
        UNKNOWN_CANDIDATE = "FB-S061" "unknown-candidate";
        /// An action that a job can't withhold.
        UNKNOWN_ACTION = "FB-S062" "unknown-action";
        /// A name that isn't that of a job.
        UNKNOWN_JOB = "FB-S063" "unknown-job";
        /// A course whose jobs can't be sat in its order.
        COURSE_ORDER = "FB-S064" "course-order";
        /// Words that shall differ between variants stand nowhere.
        UNKNOWN_WORDS = "FB-S065" "unknown-words";
        /// A trouble code that no vehicle here stores.
        UNKNOWN_CODE = "FB-S066" "unknown-code";
        /// A picture that isn't there, or can't be shown.
        UNKNOWN_PICTURE = "FB-S067" "unknown-picture";
        /// A sealed file where one is wanted that can be read.
        SEALED = "FB-S068" "sealed";
    }
    Warning {
        /// One candidate is likelier than all others together.
        HEAVY_PRIOR = "FB-S101" "heavy-prior";
        /// The vehicle card lacks ranges.
        CARD_GAPS = "FB-S102" "card-gaps";
        /// The vehicle card allows the dead-head test without its caution.
        NO_CAUTION = "FB-S103" "no-caution";
        /// Nothing to see at a part that a candidate blames.
        NO_LOOK = "FB-S104" "no-look";
        /// The fuel gauge disagrees with the fuel.
        GAUGE = "FB-S105" "gauge-disagrees";
        /// Too few candidates to reason about.
        FEW_CANDIDATES = "FB-S106" "few-candidates";
        /// A pump of fixed flow that nothing relieves.
        DEAD_HEADED = "FB-S107" "dead-headed";
        /// A tank without a vent.
        NO_VENT = "FB-S108" "no-vent";
        /// A relief where no pump pushes.
        IDLE_RELIEF = "FB-S109" "idle-relief";
        /// A gauge that is said to lie and doesn't.
        HONEST_GAUGE = "FB-S120" "honest-gauge";
        /// A course in which an easier job follows a harder one.
        LEVEL_DROPS = "FB-S121" "level-drops";
        /// A sentence of the blank page that was never written over.
        PLACEHOLDER = "FB-S122" "placeholder";
        /// A candidate's label that is the name of another fault or part.
        LABEL_MISFITS = "FB-S123" "label-misfits";
        /// A trap that the right work steps into, or that nobody can.
        TRAP_MISFITS = "FB-S124" "trap-misfits";
        /// A candidate that is said to be right besides, and is right anyway or can't be.
        ALSO_RIGHT_MISFITS = "FB-S125" "also-right-misfits";
        /// Papers that hold the answer.
        ANSWER_TOLD = "FB-S126" "answer-told";
        /// A hidden fault that no test of the job shows.
        SHOWS_NOTHING = "FB-S127" "shows-nothing";
        /// Something to look at in a file of a sealed pack.
        SEALED_REMARKS = "FB-S128" "sealed-remarks";
        /// A severity that the fault doesn't come in.
        UNUSUAL_SEVERITY = "FB-S129" "unusual-severity";
        /// A range of the card that the sound vehicle's reading lies outside of.
        CARD_MISSES_SOUND = "FB-S130" "card-misses-sound";
        /// A job with another fuel than the vehicle's, of which nothing says that it is meant.
        OTHER_FUEL = "FB-S131" "other-fuel";
        /// A hidden fault that comes and goes otherwise than its candidate's vehicles.
        WAITS_ALONE = "FB-S132" "waits-alone";
    }
}

/// The id with this code or name; capitals don't matter.
pub fn by_word(word: &str) -> Option<Id> {
    ALL.iter().copied().find(|id| id.code.eq_ignore_ascii_case(word) || id.name.eq_ignore_ascii_case(word))
}
