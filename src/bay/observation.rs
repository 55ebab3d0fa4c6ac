//! What a person in the bay can perceive, as plain values.
//!
//! A front end gets these and nothing else; no field says what is wrong with the vehicle.

use super::action::{Key, Micros, State, Verdict};

/// What passes in the sight glass, in the words a learner would write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum GlassLook {
    /// Fuel without a bubble.
    Clear,
    /// A faint haze of pin-head bubbles.
    Mist,
    /// Separate bubbles, one after another.
    Bubbles,
    /// So many that they run together.
    Foam,
    /// Gas fills the bore in turns with fuel.
    Slugs,
    /// No fuel to be seen.
    Empty,
}

impl GlassLook {
    /// Every look, from clear to empty.
    pub const ALL: [Self; 6] = [Self::Clear, Self::Mist, Self::Bubbles, Self::Foam, Self::Slugs, Self::Empty];

    /// The word to write down.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Mist => "mist",
            Self::Bubbles => "bubbles",
            Self::Foam => "foam",
            Self::Slugs => "slugs",
            Self::Empty => "empty",
        }
    }

    /// The look for a share of gas in the glass (0 … 1). The borders are ours: below 0.2 % the eye
    /// sees nothing, above 90 % nothing but gas.
    pub fn of_gas_share(gas: f64) -> Self {
        match gas {
            g if g < 0.002 => Self::Clear,
            g if g < 0.015 => Self::Mist,
            g if g < 0.08 => Self::Bubbles,
            g if g < 0.30 => Self::Foam,
            g if g < 0.90 => Self::Slugs,
            _ => Self::Empty,
        }
    }
}

/// The sight glass of the tee.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glass {
    /// In words.
    pub look: GlassLook,
    /// Share of the bore that gas takes, 0 … 1 (what the eye would judge from the picture).
    pub gas_share: f64,
    /// Mean speed of the fuel, m/s, positive towards the engine.
    pub speed_m_s: f64,
}

/// How the hand primer feels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PrimerFeel {
    /// Hard within a few strokes.
    Firm,
    /// Gives, gets harder slowly.
    Soft,
    /// Never gets hard.
    Slack,
}

impl PrimerFeel {
    /// Every feel.
    pub const ALL: [Self; 3] = [Self::Firm, Self::Soft, Self::Slack];

    /// The word to write down.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Firm => "firm",
            Self::Soft => "soft",
            Self::Slack => "slack",
        }
    }
}

/// What the filler cap did when it was opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CapSound {
    /// Nothing.
    Silent,
    /// Air rushed in.
    Hiss,
}

impl CapSound {
    /// Every sound.
    pub const ALL: [Self; 2] = [Self::Silent, Self::Hiss];

    /// The word to write down.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Hiss => "hiss",
        }
    }
}

/// How the engine runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EngineRun {
    /// Stands still.
    Off,
    /// Turned by the starter.
    Cranking,
    /// Runs as demanded.
    Steady,
    /// Runs, short of fuel: speed hunts or sags.
    Uneven,
    /// Died by itself since the key was turned on.
    Stalled,
}

impl EngineRun {
    /// Every manner.
    pub const ALL: [Self; 5] = [Self::Off, Self::Cranking, Self::Steady, Self::Uneven, Self::Stalled];

    /// The word to write down.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Cranking => "cranking",
            Self::Steady => "steady",
            Self::Uneven => "uneven",
            Self::Stalled => "stalled",
        }
    }
}

/// The display of the transducer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// Shown value, mbar gauge, averaged over the last 0.3 s.
    pub mbar: f64,
    /// The value lies at the end of the range.
    pub over_range: bool,
    /// When it was zeroed last, if it was.
    pub zeroed_at: Option<Micros>,
}

/// Where the tee is and how its valve stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Tee {
    /// Name of the joint.
    pub joint: String,
    /// Where the lever stands: 0 shut … 1 open.
    pub valve_open: f64,
    /// When it was purged last, if it was.
    pub purged_at: Option<Micros>,
}

/// Everything that can be perceived now.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Now.
    pub at: Micros,
    /// Where the key stands.
    pub key: Key,
    /// How the engine runs.
    pub engine: EngineRun,
    /// The rev counter, 1/min.
    pub rpm: f64,
    /// The transducer, when the tee is fitted.
    pub gauge: Option<Gauge>,
    /// The sight glass, when the tee is fitted.
    pub glass: Option<Glass>,
    /// The tee, when fitted.
    pub tee: Option<Tee>,
    /// Joint at which an external container feeds the engine.
    pub container: Option<String>,
    /// The filler cap stands open.
    pub cap_open: bool,
    /// What the cap did when opened last.
    pub cap: Option<CapSound>,
    /// How the primer felt at the last strokes, and how many strokes it took to get firm.
    pub primer: Option<(PrimerFeel, u32)>,
    /// The fuel gauge on the dashboard, 0 … 1.
    pub fuel_gauge: f64,
    /// Simulated minutes charged so far (safety steps not counted).
    pub charged_min: f64,
    /// Credits spent on parts and seals.
    pub credits: f64,
    /// Cautions that apply to what is going on now, worst first.
    pub cautions: Vec<&'static str>,
}

/// A line of the test sheet as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetLine {
    /// When it was written.
    pub at: Micros,
    /// The words of the state or of the thing perceived.
    pub subject: String,
    /// The state, for a pressure reading.
    pub state: Option<State>,
    /// Value with unit, or the word noted.
    pub entry: String,
    /// Verdict, for a reading.
    pub verdict: Option<Verdict>,
    /// Where the limit comes from.
    pub source: String,
    /// Free words.
    pub remark: String,
    /// The window of the trace that is meant.
    pub window: (Micros, Micros),
}

/// How bad a breach is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BreachClass {
    /// Lowers quality or the environment.
    Minor,
    /// Probable injury or costly damage.
    Major,
    /// Credible death, fire or total loss.
    Critical,
}

/// A rule that was broken.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Breach {
    /// When.
    pub at: Micros,
    /// How bad.
    pub class: BreachClass,
    /// Name of the rule; a rule counts once.
    pub rule: String,
    /// What happened and why it matters.
    pub words: String,
}

/// The bay's answer to an action.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Done; what a colleague beside you would say, and any breach.
    Done {
        /// What happened, in a sentence.
        says: String,
        /// A rule that the action broke.
        breach: Option<Breach>,
    },
    /// Not done, with the reason.
    Refused {
        /// Why not.
        because: String,
    },
}
