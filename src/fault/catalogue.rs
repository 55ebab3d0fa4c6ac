//! What an entry of the catalogue consists of, and the list of all of them.
//!
//! Codes F… are faults of the supply, N… causes elsewhere (or none), M… mistakes of the tester. Priors are
//! teaching values: relative frequencies in 1000 jobs in which the supply is suspected, by group of plants.
//! No public field statistics by component were found; authors may weigh otherwise.

use super::site::Site;
use super::{elsewhere, filter, kit, line, pump, regulation, tank};
use crate::bay::action::Remedy;
use crate::language::Msg;
use crate::plant::Plant;

/// How something fails, in letters in the style of ISO 14224, and one of our own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Plugged.
    Plu,
    /// External leak.
    Elp,
    /// Internal leak.
    Inl,
    /// Low output.
    Loo,
    /// No output.
    Noo,
    /// High output.
    Hio,
    /// Erratic.
    Ero,
    /// Fails to open.
    Fto,
    /// Fails to close.
    Ftc,
    /// Structural.
    Std,
    /// Air comes in: our own letters.
    Ing,
    /// Abnormal reading of an instrument.
    Air,
    /// Nothing fails.
    None,
}

impl Mode {
    /// The three letters.
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Plu => "PLU",
            Self::Elp => "ELP",
            Self::Inl => "INL",
            Self::Loo => "LOO",
            Self::Noo => "NOO",
            Self::Hio => "HIO",
            Self::Ero => "ERO",
            Self::Fto => "FTO",
            Self::Ftc => "FTC",
            Self::Std => "STD",
            Self::Ing => "ING",
            Self::Air => "AIR",
            Self::None => "–",
        }
    }
}

/// Where a fault can sit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// At a component of one of these kinds (as [`crate::plant::component::Component::kind`] names it).
    Part(&'static [&'static str]),
    /// At a joint of an electric pump's circuit, written as "part/joint"; the part alone means the last one
    /// before the motor.
    Circuit,
    /// At a joint or any other node.
    Node,
    /// In the tester's own kit.
    Kit,
    /// Nowhere: nothing is wrong.
    Nowhere,
}

/// Class of what a part costs, in credits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Nothing.
    C0,
    /// Below 20.
    C1,
    /// 20 … 80.
    C2,
    /// 80 … 250.
    C3,
    /// More.
    C4,
}

/// What putting it right takes, from … to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// Minutes.
    pub minutes: (f64, f64),
    /// Parts.
    pub parts: (Class, Class),
}

/// Groups of plants whose priors are alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Light diesels: A1–A3.
    LightDiesel,
    /// Petrol: A4–A6.
    Petrol,
    /// Truck and farm: A7, A10.
    Heavy,
    /// Genset and boat: A8, A9.
    Marine,
}

/// Group of an archetype 1 … 10 (A1 … A10).
pub const fn group_of(archetype: u8) -> Option<Group> {
    match archetype {
        1..=3 => Some(Group::LightDiesel),
        4..=6 => Some(Group::Petrol),
        7 | 10 => Some(Group::Heavy),
        8 | 9 => Some(Group::Marine),
        _ => None,
    }
}

/// Relative frequency in 1000 jobs, by group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    /// Light diesels.
    pub light_diesel: f64,
    /// Petrol.
    pub petrol: f64,
    /// Truck and farm.
    pub heavy: f64,
    /// Genset and boat.
    pub marine: f64,
}

impl Weights {
    /// In the order light diesel, petrol, heavy, marine.
    pub(super) const fn of(light_diesel: f64, petrol: f64, heavy: f64, marine: f64) -> Self {
        Self { light_diesel, petrol, heavy, marine }
    }
}

/// What an author knows beforehand that makes a fault more likely.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Occasion {
    /// Frost.
    Frost,
    /// Heat.
    Heat,
    /// The complaint began after a service.
    SinceService,
}

/// What tells a fault from another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Separation {
    /// Code of the test.
    pub test: &'static str,
    /// What it shows if it is this fault.
    pub shows: &'static str,
}

/// An entry of the catalogue.
pub struct Fault {
    /// Code: a stable handle for files and tests.
    pub code: &'static str,
    /// Name in trade words.
    pub name: Msg,
    /// What it is, in a sentence.
    pub about: Msg,
    /// How it fails.
    pub modes: &'static [Mode],
    /// Where it can sit.
    pub place: Place,
    /// What puts it right.
    pub remedies: &'static [Remedy],
    /// Time and parts that takes.
    pub fix: Fix,
    /// Severities that occur.
    pub severities: (u8, u8),
    /// Archetypes it is met in, 1 … 10 for A1 … A10.
    pub met_in: &'static [u8],
    /// How often it is met.
    pub weights: Weights,
    /// What multiplies that.
    pub multipliers: &'static [(Occasion, f64)],
    /// What the customer tells.
    pub reports: Msg,
    /// What the readings show.
    pub shows: Msg,
    /// Codes of what it is mistaken for.
    pub confused_with: &'static [&'static str],
    /// What tells it from those.
    pub separated_by: &'static [Separation],
    /// Whether it can sit at a part or node of this name.
    pub(super) fits: fn(&Plant, &str) -> bool,
    pub(super) change: fn(&mut Site<'_>) -> Result<(), String>,
}

/// Every fault this version knows, by code.
pub static CATALOGUE: &[Fault] = &[
    tank::F01,
    tank::F02,
    tank::F03,
    tank::F04,
    tank::F05,
    tank::F06,
    line::F07,
    line::F08,
    line::F09,
    line::F10,
    line::F11,
    line::F12,
    filter::F13,
    filter::F14,
    filter::F15,
    filter::F16,
    pump::F17,
    pump::F18,
    pump::F19,
    pump::F20,
    regulation::F21,
    regulation::F22,
    regulation::F23,
    regulation::F24,
    regulation::F25,
    pump::F26,
    regulation::F27,
    regulation::F28,
    regulation::F29,
    elsewhere::N1,
    elsewhere::N2,
    elsewhere::N3,
    kit::M1,
    kit::M2,
    kit::M3,
    kit::M4,
    kit::M5,
    kit::M6,
    kit::M7,
    kit::M8,
];

/// The entry with this code.
pub fn by_code(code: &str) -> Option<&'static Fault> {
    CATALOGUE.iter().find(|f| f.code == code)
}

impl Fault {
    /// Prior weight in a group of plants under what is known beforehand.
    pub fn weight(&self, group: Group, known: &[Occasion]) -> f64 {
        let usual = match group {
            Group::LightDiesel => self.weights.light_diesel,
            Group::Petrol => self.weights.petrol,
            Group::Heavy => self.weights.heavy,
            Group::Marine => self.weights.marine,
        };
        let factors = self.multipliers.iter().filter(|(occasion, _)| known.contains(occasion));
        factors.fold(usual, |weight, (_, factor)| weight * factor)
    }
}

/// It fits wherever its place rule allows.
pub(super) fn anywhere(_: &Plant, _: &str) -> bool {
    true
}

pub(super) const fn fix(from: f64, to: f64, cheap: Class, dear: Class) -> Fix {
    Fix { minutes: (from, to), parts: (cheap, dear) }
}

pub(super) const fn by(test: &'static str, shows: &'static str) -> Separation {
    Separation { test, shows }
}
