//! What a person in the bay can perceive, as plain values.
//!
//! A front end gets these and nothing else; no field says what is wrong with the vehicle.

use super::action::{GaugeRange, Key, Micros, Quantity, State, Verdict};
use crate::instrument::sight::Sight;
use crate::instrument::sounds::Heard;
use crate::language::named;
use crate::tell;

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

/// What passes in a line of the vehicle's own that is transparent.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearLine {
    /// Name of the part.
    pub part: String,
    /// As people call it.
    pub label: String,
    /// Where the fuel comes in and where it leaves: in the trade's words, and the share of the bore that gas takes, 0 … 1.
    pub ends: [(Sight, f64); 2],
    /// Mean speed of the fuel, m/s, positive towards the engine.
    pub speed_m_s: f64,
}

impl ClearLine {
    /// As sentences: one when both ends look the same.
    pub fn words(&self) -> String {
        let [from, to] = self.ends.map(|(sight, _)| sight);
        if from.note() == to.note() {
            tell!("bay-clear-line", line = self.label, seen = from.sentence())
        } else {
            tell!(
                "bay-clear-line-ends",
                line = self.label,
                from = from.note().into_iter().map(named).collect::<Vec<_>>().join(", "),
                to = to.sentence()
            )
        }
    }
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

/// Defines a list of looks or sounds with the word to write down for each.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $kind:ident = $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$each])* $kind,)*
        }

        impl $name {
            /// Every one.
            pub const ALL: [Self; [$($word),*].len()] = [$(Self::$kind),*];

            /// The word to write down.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$kind => $word),*
                }
            }
        }
    };
}

words! {
    /// What a sample from the bottom of the tank looks and smells like in a clear jar.
    SampleLook {
        /// Bright, the colour and smell of this vehicle's fuel.
        Clear = "clear",
        /// Cloudy: wax or fine water.
        Hazy = "hazy",
        /// A layer or beads of water.
        Water = "water",
        /// Dirt, slime or flakes.
        Dirty = "dirty",
        /// Another fuel by colour, smell or thinness.
        Wrong = "wrong-fuel",
    }
}

words! {
    /// How an electric pump sounds and feels.
    PumpSound {
        /// No current, no sound.
        Silent = "silent",
        /// An even hum.
        Even = "hum",
        /// Fast and high: it pumps gas.
        Whining = "whine",
        /// Hum and whine in turns.
        Ragged = "ragged",
        /// Low and slow.
        Labouring = "labouring",
        /// It is fed, warm, and stands.
        Stuck = "stuck",
    }
}

/// How the engine runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum EngineRun {
    /// Stands still.
    #[default]
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

/// Something of the tester's own that must be off again before the vehicle leaves.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LeftOn {
    /// Jaws that pinch a hose: name of the part.
    Jaws(String),
    /// A plug in the way: name of the joint.
    Plug(String),
    /// The second transducer: name of the joint.
    Second(String),
    /// The test lead past a pump's relay: name of the part.
    Lead(String),
}

impl LeftOn {
    /// Name of the part or joint where it is.
    pub fn place(&self) -> &str {
        match self {
            Self::Jaws(place) | Self::Plug(place) | Self::Second(place) | Self::Lead(place) => place,
        }
    }

    /// In words; `label` is what people call the place.
    pub fn words(&self, label: &str) -> String {
        match self {
            Self::Jaws(_) => tell!("bay-left-jaws", label = label),
            Self::Plug(_) => tell!("bay-left-plug", label = label),
            Self::Second(_) => tell!("bay-left-second", label = label),
            Self::Lead(_) => tell!("bay-left-lead", label = label),
        }
    }
}

/// A place from which fuel comes.
#[derive(Clone, Debug, PartialEq)]
pub struct Wet {
    /// Label of the place.
    pub place: String,
    /// How: damp, dripping or running.
    pub how: &'static str,
}

/// What a test showed last.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// When.
    pub at: Micros,
    /// What was read, in words.
    pub what: String,
    /// What it is.
    pub quantity: Quantity,
    /// As shown, in the quantity's own unit.
    pub value: f64,
    /// The true number lies beyond the end of the instrument's range.
    pub over_range: bool,
}

/// A trouble code that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadCode {
    /// Generic number.
    pub number: &'static str,
    /// What sets it.
    pub about: &'static str,
    /// Speed of the engine when it was stored, 1/min.
    pub rpm: f64,
}

/// Everything that can be perceived now.
#[derive(Clone, Debug, Default, PartialEq)]
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
    /// What is heard, loudest first, as captions.
    pub sounds: Vec<&'static str>,
    /// The same with how loud it is.
    pub heard: Vec<Heard>,
    /// Pitch of an electric pump that is heard, against that of a sound one at rated state; 0: none is.
    pub pump_pitch: f64,
    /// Places that are seen to be wet.
    pub wet: Vec<Wet>,
    /// What passes in the sight glass, in the trade's words.
    pub sight: Option<Sight>,
    /// The same as a sentence.
    pub glass_words: Option<String>,
    /// What passes in the vehicle's own lines, where they are transparent.
    pub clear_lines: Vec<ClearLine>,
    /// Range of the transducer.
    pub range: GaugeRange,
    /// Joint of the second transducer and what it shows, mbar gauge.
    pub second: Option<(String, f64)>,
    /// Load on the engine, 0 … 1.
    pub load: f64,
    /// Levers of the vehicle's shut-off valves: name of the part, 0 shut … 1 open.
    pub taps: Vec<(String, f64)>,
    /// Current in the clamp, while it hangs on a lead: name of the pump or the filter with its heater, A.
    pub clamp: Option<(String, f64)>,
    /// What the last tests showed, the newest last.
    pub meters: Vec<Meter>,
    /// Trouble codes read last.
    pub codes: Vec<ReadCode>,
    /// What must be off again before the vehicle leaves.
    pub left_on: Vec<LeftOn>,
    /// Slope on which the vehicle stands, degrees, nose up positive.
    pub slope: f64,
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
