//! What can be read off a vehicle besides the transducer's trace, and what may be written down of it.

use serde::{Deserialize, Serialize};

use super::Verdict;
use crate::language::said;
use crate::units::PressureUnit;

/// Kind of a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// Pressure against the air, mbar.
    Pressure,
    /// Voltage, V.
    Voltage,
    /// Current, A.
    Current,
    /// Volume, mL.
    Volume,
    /// Temperature, °C.
    Temperature,
    /// Height of fuel in the tank, mm.
    Level,
    /// Speed of the engine, 1/min.
    Speed,
    /// A share of something: effort of a control, unevenness of a ripple, %.
    Duty,
}

impl Quantity {
    /// Every quantity, in menu order.
    pub const ALL: [Self; 8] = [
        Self::Pressure,
        Self::Voltage,
        Self::Current,
        Self::Volume,
        Self::Temperature,
        Self::Level,
        Self::Speed,
        Self::Duty,
    ];

    /// The trade's word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Volume => "volume",
            Self::Temperature => "temperature",
            Self::Level => "level",
            Self::Speed => "speed",
            Self::Duty => "duty",
        }
    }

    /// A reading of it, in words.
    pub fn reading(self) -> &'static str {
        match self {
            Self::Pressure => said("reading-of-pressure"),
            Self::Voltage => said("reading-of-voltage"),
            Self::Current => said("reading-of-current"),
            Self::Volume => said("reading-of-volume"),
            Self::Temperature => said("reading-of-temperature"),
            Self::Level => said("reading-of-level"),
            Self::Speed => said("reading-of-speed"),
            Self::Duty => said("reading-of-duty"),
        }
    }

    /// The unit in which a reading of it is kept: its first in [`TestUnit::ALL`].
    pub fn unit(self) -> TestUnit {
        TestUnit::ALL.into_iter().find(|u| u.quantity() == self).unwrap_or(TestUnit::Percent)
    }
}

/// Defines the units: name, symbol, quantity, and how many of the quantity's first unit one is.
macro_rules! units {
    ($($(#[$doc:meta])* $name:ident = $symbol:literal, $quantity:ident, $factor:expr;)*) => {
        /// A unit that a learner may write beside a test's number.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum TestUnit {
            $($(#[$doc])* #[serde(rename = $symbol)] $name,)*
        }

        impl TestUnit {
            /// Every unit; the first of a quantity is the one that readings are kept in.
            pub const ALL: [Self; [$($symbol),*].len()] = [$(Self::$name),*];

            /// The symbol on paper.
            pub const fn symbol(self) -> &'static str {
                match self {
                    $(Self::$name => $symbol),*
                }
            }

            /// What it measures.
            pub const fn quantity(self) -> Quantity {
                match self {
                    $(Self::$name => Quantity::$quantity),*
                }
            }

            /// How many of the quantity's first unit one of it is.
            pub const fn factor(self) -> f64 {
                match self {
                    $(Self::$name => $factor),*
                }
            }
        }
    };
}

units! {
    /// Millibar.
    Mbar = "mbar", Pressure, 1.0;
    /// Bar.
    Bar = "bar", Pressure, 1000.0;
    /// Kilopascal.
    KiloPascal = "kPa", Pressure, 10.0;
    /// Pound-force per square inch.
    Psi = "psi", Pressure, PressureUnit::Psi.pascal() / 100.0;
    /// Inch of mercury, gauge.
    InchMercury = "inHg", Pressure, PressureUnit::InchMercury.pascal() / 100.0;
    /// Volt.
    Volt = "V", Voltage, 1.0;
    /// Millivolt.
    Millivolt = "mV", Voltage, 1e-3;
    /// Ampere.
    Ampere = "A", Current, 1.0;
    /// Milliampere.
    Milliampere = "mA", Current, 1e-3;
    /// Millilitre.
    Millilitre = "ml", Volume, 1.0;
    /// Litre.
    Litre = "l", Volume, 1000.0;
    /// Degree Celsius.
    Celsius = "degC", Temperature, 1.0;
    /// Millimetre.
    Millimetre = "mm", Level, 1.0;
    /// Centimetre.
    Centimetre = "cm", Level, 10.0;
    /// Turns a minute.
    Rpm = "rpm", Speed, 1.0;
    /// Hundredths.
    Percent = "%", Duty, 1.0;
}

impl TestUnit {
    /// The unit with this symbol. Capitals make no difference but for `mV` and `mA`, which have no look-alikes here.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        let symbol = if symbol == "°C" { "degC" } else { symbol };
        Self::ALL.into_iter().find(|u| u.symbol().eq_ignore_ascii_case(symbol))
    }
}

/// Something that is read off the vehicle at one moment. Its number is kept with the test, so that what is
/// written down later can be held against it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "of", rename_all = "kebab-case")]
pub enum Probe {
    /// Voltage between two named points of a circuit, live.
    Volts {
        /// Where the positive lead is held.
        from: String,
        /// Where the negative lead is held.
        to: String,
    },
    /// Mean current of an electric pump, by a clamp round its lead.
    Clamp {
        /// Name of the pump.
        part: String,
    },
    /// Pressure at the second transducer.
    Second,
    /// Temperature at a part or joint, by a contact thermometer.
    Thermometer {
        /// Name of the part or joint.
        place: String,
    },
    /// Fuel in the measuring jar.
    Jar,
    /// Fuel in the tank, by a dip stick.
    Dip,
    /// Pressure that the vehicle's own sensor reports.
    OwnSensor,
    /// How hard the vehicle's own control works to hold it.
    Effort,
    /// Voltage of the battery now.
    Battery,
    /// Speed of the engine now, by the rev counter.
    Revs,
    /// Mean current in the last fast record.
    RecordMean,
    /// Highest current in it: the inrush, where it began with switching on.
    RecordPeak,
    /// Swing of the ripple in it.
    RecordSwing,
    /// How uneven the humps of a turn are in it, % of the mean.
    RecordUneven,
}

impl Probe {
    /// What its number is.
    pub const fn quantity(&self) -> Quantity {
        match self {
            Self::Volts { .. } | Self::Battery => Quantity::Voltage,
            Self::Clamp { .. } | Self::RecordMean | Self::RecordPeak | Self::RecordSwing => Quantity::Current,
            Self::Second | Self::OwnSensor => Quantity::Pressure,
            Self::Thermometer { .. } => Quantity::Temperature,
            Self::Jar => Quantity::Volume,
            Self::Dip => Quantity::Level,
            Self::Effort | Self::RecordUneven => Quantity::Duty,
            Self::Revs => Quantity::Speed,
        }
    }
}

/// A line of the test sheet that is no reading of the transducer: what the last test of its quantity showed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TestEntry {
    /// What was measured.
    pub quantity: Quantity,
    /// The number as written.
    pub value: f64,
    /// Its unit; `None` when the learner wrote none.
    pub unit: Option<TestUnit>,
    /// What the learner makes of it.
    pub verdict: Verdict,
    /// Where the limit comes from, empty when none was given.
    #[serde(default)]
    pub source: String,
    /// Free words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

/// Range of the transducer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeRange {
    /// −1 … +3 bar: fine steps, for suction and low pressure.
    #[default]
    Suction,
    /// 0 … 10 bar: for pressure-fed supplies.
    Pressure,
    /// 0 … 4 bar absolute, shown against 1013 mbar.
    Absolute,
}
