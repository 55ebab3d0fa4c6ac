//! Everything a learner can do, as one plain type for every front end, script and log.

pub mod measure;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::language::said;
use crate::units::PressureUnit;
pub use measure::{GaugeRange, Probe, Quantity, TestEntry, TestUnit};

/// A point in simulated time or a span of it: microseconds since the job card was handed over.
pub type Micros = u64;

/// One second in [`Micros`].
pub const SECOND: Micros = 1_000_000;
/// One minute in [`Micros`].
pub const MINUTE: Micros = 60 * SECOND;

/// A step that makes the work safe. None of them costs marked minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SafetyStep {
    /// Gloves and eye protection.
    Protection,
    /// Extraction on, doors open, no ignition source near.
    Ventilation,
    /// Foam or powder extinguisher within reach.
    Extinguisher,
    /// Neutral, parking brake, wheels chocked.
    Chocks,
    /// Tray under the joint, absorbent ready.
    DripTray,
    /// Wait until pressure has gone and the engine bay is cool enough to touch.
    PressureAway,
}

impl SafetyStep {
    /// Every step, in the order in which they are taken.
    pub const ALL: [Self; 6] =
        [Self::Protection, Self::Ventilation, Self::Extinguisher, Self::Chocks, Self::DripTray, Self::PressureAway];
}

/// Position of the key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Key {
    /// Off: a running engine stops.
    #[default]
    Off,
    /// On: lamps on, engine not turned.
    On,
}

/// What a reading was taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Engine off, before the first start of the run.
    Rest,
    /// Key on, electric pump priming.
    Prime,
    /// Starter turning.
    Crank,
    /// Running at idle.
    Idle,
    /// Running at the test speed of the card.
    Raised,
    /// Running at full load.
    Load,
    /// Idle with the valve at the tee shut.
    DeadHead,
    /// Engine off after a run, the line left to itself.
    Hold,
}

impl State {
    /// Every state in the order of the standard run.
    pub const ALL: [Self; 8] =
        [Self::Rest, Self::Prime, Self::Crank, Self::Idle, Self::Raised, Self::Load, Self::DeadHead, Self::Hold];

    /// States that the card of any vehicle has; the others only where they mean something.
    pub const EVERY_CARD: [Self; 6] =
        [Self::Rest, Self::Crank, Self::Idle, Self::Raised, Self::DeadHead, Self::Hold];

    /// The trade's word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rest => "rest",
            Self::Prime => "prime",
            Self::Crank => "crank",
            Self::Idle => "idle",
            Self::Raised => "raised",
            Self::Load => "load",
            Self::DeadHead => "dead-head",
            Self::Hold => "hold",
        }
    }

    /// As it stands within a sentence about a reading: "idle" before "reading" in English, "im Leerlauf" after
    /// "Messung" in German.
    pub fn of_reading(self) -> &'static str {
        match self {
            Self::Rest => said("reading-at-rest"),
            Self::Prime => said("reading-at-prime"),
            Self::Crank => said("reading-at-crank"),
            Self::Idle => said("reading-at-idle"),
            Self::Raised => said("reading-at-raised"),
            Self::Load => said("reading-at-load"),
            Self::DeadHead => said("reading-at-dead-head"),
            Self::Hold => said("reading-at-hold"),
        }
    }
}

/// What the learner makes of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Inside the limits that apply.
    Within,
    /// Outside them.
    Outside,
    /// The reading doesn't settle it.
    NotProven,
    /// The reading can't be used (say why).
    Invalid,
}

impl Verdict {
    /// Every verdict in menu order.
    pub const ALL: [Self; 4] = [Self::Within, Self::Outside, Self::NotProven, Self::Invalid];

    /// The words on the sheet.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Outside => "outside",
            Self::NotProven => "not proven",
            Self::Invalid => "invalid",
        }
    }
}

/// A line of the test sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The state the reading was taken in, in the learner's view.
    pub state: State,
    /// The number as written.
    pub value: f64,
    /// Its unit; `None` when the learner wrote none.
    pub unit: Option<PressureUnit>,
    /// What the learner makes of it.
    pub verdict: Verdict,
    /// Where the limit comes from ("vehicle card"), empty when none was given.
    #[serde(default)]
    pub source: String,
    /// Window of the trace that is meant: start and end. The last second when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window: Option<(Micros, Micros)>,
    /// Free words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

/// Something perceived without an instrument and written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Perceived {
    /// What passes in the sight glass now.
    Glass,
    /// How the hand primer felt at the last strokes.
    Primer,
    /// What the filler cap did when it was opened last.
    Cap,
    /// How the engine runs now.
    Engine,
    /// What the last sample from the tank looked and smelt like.
    Sample,
    /// How the electric pump sounds now.
    Pump,
}

/// What the learner expects of a test before making it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// The state that will be read.
    pub state: State,
    /// Under which candidate; `None` for "what I expect to see".
    #[serde(default)]
    pub candidate: Option<String>,
    /// Lowest reading expected, mbar gauge.
    pub low_mbar: f64,
    /// Highest reading expected, mbar gauge.
    pub high_mbar: f64,
}

/// A rival that the finding holds to be ruled out, and by what.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RuledOut {
    /// Name of the candidate.
    pub candidate: String,
    /// Lines of the test sheet (from 1) that rule it out, taken together.
    pub lines: Vec<usize>,
}

/// The conclusion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Name of the candidate that is held to be the cause.
    pub candidate: String,
    /// How sure, in 100: 50 … 99.
    pub confidence: u8,
    /// Lines of the test sheet (from 1) that carry the finding.
    #[serde(default)]
    pub evidence: Vec<usize>,
    /// Rivals held to be ruled out, each with the lines that do so.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ruled_out: Vec<RuledOut>,
    /// The finding in the learner's own words.
    #[serde(default)]
    pub words: String,
}

/// How a part is put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Remedy {
    /// Fit a new part.
    Replace,
    /// Clean it.
    Clean,
    /// Remake its joints with new seals.
    Reseal,
}

/// One thing done in the bay. Serialised as `{"do": "…", …}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub enum Action {
    /// Take a safety step.
    MakeSafe {
        /// Which.
        step: SafetyStep,
    },
    /// Ask the customer one of the job's questions.
    Ask {
        /// Name of the question.
        question: String,
    },
    /// Look at, feel and smell a part.
    Look {
        /// Name of the part.
        part: String,
    },
    /// Fit the test tee (glass, valve, transducer) at a joint; moves it when it is fitted elsewhere.
    FitTee {
        /// Name of the joint.
        joint: String,
        /// New seals; reusing a single-use seal is a breach.
        new_seals: bool,
    },
    /// Take the tee out and remake the joint.
    RemoveTee {
        /// New seals on the remade joint.
        new_seals: bool,
    },
    /// Let the air out of the tee and the sensing hose with the hand primer.
    Purge,
    /// Set the instrument to zero with its hose open to the air at the height of the tapping.
    Zero,
    /// Turn the key.
    Key {
        /// Where to.
        to: Key,
    },
    /// Turn the starter for so long, or until the engine runs.
    Crank {
        /// Longest time on the starter, s.
        secs: f64,
    },
    /// Hold the engine at a speed.
    Speed {
        /// Engine speed, 1/min.
        rpm: f64,
    },
    /// Put load on the engine, at the speed at which it is held.
    Load {
        /// 0 none … 1 all it can.
        share: f64,
    },
    /// Floor the throttle for two seconds and let go.
    Snap,
    /// Move the lever of one of the vehicle's own shut-off valves.
    Tap {
        /// Name of the valve.
        part: String,
        /// 0 shut … 1 open.
        open: f64,
    },
    /// Change the transducer for one of another range.
    Range {
        /// Which.
        range: GaugeRange,
    },
    /// Fit a second transducer at a joint, or (no joint) take it off.
    SecondGauge {
        /// Name of the joint.
        joint: Option<String>,
    },
    /// Dip the tank and draw a sample from its bottom into a clear jar.
    Sample,
    /// Read trouble codes and what the vehicle's own sensors report.
    Codes,
    /// Listen to and feel an electric pump, its fuse and its relay.
    Listen {
        /// Name of the pump.
        part: String,
    },
    /// Battery and cranking speed: turn the engine three seconds with its fuel held back.
    Battery,
    /// Read something that is connected, or hold leads or a thermometer to it.
    Measure {
        /// What.
        probe: Probe,
    },
    /// Take the clamp in hand, choose its range and set it to zero with nothing in its jaws.
    ZeroClamp {
        /// The large range, ±200 A; else the small one, ±20 A.
        #[serde(default)]
        large: bool,
    },
    /// Record the current of an electric pump fast, as it runs or from the turn of the key.
    Capture {
        /// Name of the pump.
        part: String,
        /// From the turn of the key.
        #[serde(default)]
        start: bool,
    },
    /// Write what the last test of a quantity showed in the test sheet.
    RecordTest {
        /// The line.
        entry: TestEntry,
    },
    /// Close a soft hose with smooth jaws, or open it again.
    Pinch {
        /// Name of the hose.
        part: String,
        /// Closed?
        on: bool,
    },
    /// Blank the way at a joint with a plug, or (no joint) join it again.
    Blank {
        /// Name of the joint.
        joint: Option<String>,
    },
    /// Feed an electric pump through a fused test lead past its relay, or take the lead off.
    Bridge {
        /// Name of the pump.
        part: String,
        /// On?
        on: bool,
    },
    /// Let a joint deliver into a measuring jar for so long, with the pump at work.
    Deliver {
        /// Name of the joint.
        joint: String,
        /// How long, s.
        secs: f64,
        /// Through a throttle that keeps about working pressure; else freely.
        throttled: bool,
    },
    /// Lead the return into a measuring jar for so long while the engine runs.
    ReturnFlow {
        /// How long, s.
        secs: f64,
    },
    /// Draw the closed section at the tee down to −600 mbar by a hand pump and watch it for five minutes.
    VacuumTest,
    /// Put 0.3 bar of air on the closed, emptied section at the tee and go over its joints with soapy water.
    AirTest,
    /// Warm or cool a part for five minutes: warm air or a wet cloth.
    Treat {
        /// Name of the part or joint.
        place: String,
        /// Warm it; else cool it.
        warm: bool,
    },
    /// Wiggle, tap and flex a part for ten seconds and watch.
    Wiggle {
        /// Name of the part or joint.
        place: String,
    },
    /// Stand the vehicle on a slope, nose up positive.
    Tilt {
        /// Slope, degrees.
        degrees: f64,
    },
    /// Move the lever of the tee's valve.
    Valve {
        /// 0 shut … 1 open.
        open: f64,
    },
    /// Pour known, clean fuel of the vehicle's grade into the tank.
    Refuel {
        /// How much, l.
        litres: f64,
    },
    /// Open or shut the filler cap.
    Cap {
        /// Open?
        open: bool,
    },
    /// Feed the engine from an external container at a joint, or (no joint) from the tank again.
    Container {
        /// Name of the joint.
        joint: Option<String>,
    },
    /// Work the hand primer.
    Prime {
        /// Number of strokes.
        strokes: u32,
    },
    /// Let time pass.
    Wait {
        /// How long, s.
        secs: f64,
    },
    /// Write a line in the test sheet.
    Record {
        /// The line.
        reading: Reading,
    },
    /// Correct a line of the test sheet from the stored trace.
    Amend {
        /// Line, from 1.
        line: usize,
        /// What it should say.
        reading: Reading,
    },
    /// Write down something perceived.
    Note {
        /// What was perceived.
        what: Perceived,
        /// As what: one of the words of [`super::observation`], such as `clear` or `firm`.
        seen: String,
    },
    /// Say beforehand what a test would show.
    Predict {
        /// The expectation.
        prediction: Prediction,
    },
    /// Share 100 points over the candidates.
    Believe {
        /// Points by candidate name; missing ones count 0.
        points: BTreeMap<String, u8>,
    },
    /// Ask for a hint while practising.
    Hint {
        /// 1 how to compare, 2 where to look, 3 what to test.
        level: u8,
    },
    /// Submit the finding.
    Submit {
        /// The finding.
        finding: Finding,
    },
    /// Put a part right.
    Repair {
        /// Name of the part.
        part: String,
        /// How.
        remedy: Remedy,
    },
    /// Fill and bleed the line by the plant's method.
    Bleed,
    /// Check every disturbed joint, dry and under way.
    LeakCheck,
    /// Give the vehicle back. Ends the sitting.
    HandBack,
}
