//! Quantities as authors write them, SI inside.
//!
//! A file says `mbar(-120)`, `mm(8)` or `l_per_h(90)`; the type keeps the SI value and knows its
//! units, so a length can't be read as a pressure and a bare number is refused. Inside an
//! equation plain `f64` with a suffix (`p_pa`, `q_ml_s`) is used.
//!
//! [`GaugePressure`] and [`AbsolutePressure`] are different types on purpose: only a function that
//! is handed the ambient pressure converts between them. Below ambient is a *negative* gauge
//! pressure everywhere.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Standard atmosphere, Pa.
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;
/// Acceleration of free fall, m/s².
pub const GRAVITY: f64 = 9.806_65;
/// Pascal in a millibar.
pub const PA_PER_MBAR: f64 = 100.0;
/// Kelvin at 0 °C.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// What is said of a value that no file may hold, in the unit in which it was written.
fn outside(unit: &str, written: f64, range: [f64; 2]) -> String {
    // dividing by a factor leaves dust behind the sixth figure
    let [low, high] = range.map(|end| format!("{end:.5e}").parse::<f64>().unwrap_or(end));
    format!("{unit}({written}) is outside {unit}({low}) … {unit}({high})")
}

/// Defines one quantity: the type, the units an author may write, and the widest value that any
/// file may hold (a guard against slips such as metres for millimetres, not a physical law).
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $module:ident, $si:literal, $low:expr, $high:expr,
     { $first:ident = $first_factor:expr $(, $unit:ident = $factor:expr)* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        mod $module {
            #[derive(serde::Serialize, serde::Deserialize)]
            #[expect(non_camel_case_types, reason = "the variants are the unit names that authors write")]
            pub(super) enum Written {
                $first(f64),
                $($unit(f64)),*
            }
        }

        impl $name {
            /// The SI unit in which the value is kept.
            pub const SI: &'static str = $si;
            /// Names of the units that a file may use.
            pub const UNITS: &'static [&'static str] = &[stringify!($first), $(stringify!($unit)),*];

            /// From a value in the SI unit.
            pub const fn from_si(value: f64) -> Self {
                Self(value)
            }

            /// The value in the SI unit.
            pub const fn si(self) -> f64 {
                self.0
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let (unit, written, factor) = match $module::Written::deserialize(deserializer)? {
                    $module::Written::$first(v) => (stringify!($first), v, $first_factor),
                    $($module::Written::$unit(v) => (stringify!($unit), v, $factor)),*
                };
                let value: f64 = written * factor;
                if ($low..=$high).contains(&value) {
                    Ok(Self(value))
                } else {
                    Err(serde::de::Error::custom(outside(unit, written, [$low / factor, $high / factor])))
                }
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                $module::Written::$first(self.0 / $first_factor).serialize(serializer)
            }
        }
    };
}

quantity!(
    /// Length, height or bore; m.
    Length, length, "m", -100.0, 1000.0,
    { m = 1.0, cm = 1e-2, mm = 1e-3, um = 1e-6 }
);
quantity!(
    /// Area of a hole or of a tank's surface; m².
    Area, area, "m²", 0.0, 1000.0,
    { m2 = 1.0, cm2 = 1e-4, mm2 = 1e-6 }
);
quantity!(
    /// Volume; m³.
    Volume, volume, "m³", 0.0, 1000.0,
    { m3 = 1.0, l = 1e-3, ml = 1e-6 }
);
quantity!(
    /// Volume flow; m³/s.
    VolumeFlow, volume_flow, "m³/s", -10.0, 10.0,
    { m3_per_s = 1.0, l_per_h = 1e-3 / 3600.0, l_per_min = 1e-3 / 60.0, ml_per_s = 1e-6 }
);
quantity!(
    /// Pressure against the surrounding air; Pa. Negative is depression (suction).
    GaugePressure, gauge_pressure, "Pa", -1.1e5, 1e8,
    { Pa = 1.0, mbar = 100.0, bar = 1e5, kPa = 1e3, psi = 6894.757293168, inHg = 3386.389 }
);
quantity!(
    /// Pressure against vacuum; Pa.
    AbsolutePressure, absolute_pressure, "Pa", 0.0, 1e8,
    { Pa = 1.0, mbar = 100.0, bar = 1e5, kPa = 1e3, psi = 6894.757293168, inHg = 3386.389 }
);
quantity!(
    /// Difference of two pressures; Pa.
    PressureDifference, pressure_difference, "Pa", -1e8, 1e8,
    { Pa = 1.0, mbar = 100.0, bar = 1e5, kPa = 1e3, psi = 6894.757293168, inHg = 3386.389 }
);
quantity!(
    /// A span of simulated time; s.
    Span, span, "s", 0.0, 1e8,
    { s = 1.0, ms = 1e-3, min = 60.0, h = 3600.0 }
);
quantity!(
    /// Rotational speed; 1/min (kept as the trade writes it).
    Speed, speed, "1/min", 0.0, 1e5,
    { rpm = 1.0, per_s = 60.0 }
);
quantity!(
    /// Volume that a pump's chambers sweep in a turn of the engine; m³.
    Displacement, displacement, "m³ a turn", 0.0, 1e-2,
    { m3_per_turn = 1.0, ml_per_turn = 1e-6 }
);
quantity!(
    /// Stretch of a vessel's wall: relative growth of volume with pressure; 1/Pa.
    WallStretch, wall_stretch, "1/Pa", 0.0, 1e-5,
    { per_Pa = 1.0, per_bar = 1e-5 }
);

quantity!(
    /// Electric resistance; Ω.
    Resistor, resistor, "Ω", 0.0, 1e9,
    { ohm = 1.0, mohm = 1e-3, kohm = 1e3 }
);
quantity!(
    /// Voltage; V.
    Voltage, voltage, "V", -1000.0, 1000.0,
    { V = 1.0, mV = 1e-3 }
);
quantity!(
    /// A difference of temperatures; K.
    Warming, warming, "K", -200.0, 200.0,
    { K = 1.0, mK = 1e-3 }
);

/// Temperature; kept in K, written `degC(20)` or `K(293.15)`.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

#[derive(Serialize, Deserialize)]
#[expect(non_camel_case_types, reason = "the variants are the unit names that authors write")]
enum TemperatureWritten {
    degC(f64),
    K(f64),
}

impl Temperature {
    /// Names of the units that a file may use.
    pub const UNITS: &'static [&'static str] = &["degC", "K"];

    /// From °C.
    pub const fn from_celsius(value: f64) -> Self {
        Self(value + ZERO_CELSIUS_K)
    }

    /// In °C.
    pub const fn celsius(self) -> f64 {
        self.0 - ZERO_CELSIUS_K
    }

    /// In K.
    pub const fn kelvin(self) -> f64 {
        self.0
    }
}

impl<'de> Deserialize<'de> for Temperature {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let t = match TemperatureWritten::deserialize(deserializer)? {
            TemperatureWritten::degC(v) => Self::from_celsius(v),
            TemperatureWritten::K(v) => Self(v),
        };
        if (223.15..=423.15).contains(&t.0) {
            Ok(t)
        } else {
            Err(serde::de::Error::custom(format!("{:.1} °C is outside -50 … 150 °C", t.celsius())))
        }
    }
}

impl Serialize for Temperature {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        TemperatureWritten::degC(self.celsius()).serialize(serializer)
    }
}

impl GaugePressure {
    /// From millibar.
    pub const fn from_mbar(value: f64) -> Self {
        Self(value * PA_PER_MBAR)
    }

    /// In millibar.
    pub const fn mbar(self) -> f64 {
        self.0 / PA_PER_MBAR
    }

    /// Against vacuum, given the surrounding pressure.
    pub const fn to_absolute(self, ambient: AbsolutePressure) -> AbsolutePressure {
        AbsolutePressure(self.0 + ambient.0)
    }
}

impl AbsolutePressure {
    /// Against the surrounding pressure `ambient`.
    pub const fn to_gauge(self, ambient: AbsolutePressure) -> GaugePressure {
        GaugePressure(self.0 - ambient.0)
    }

    /// Standard air pressure at a height above the sea, Pa: p = 101 325·(1 − 2.25577·10⁻⁵·h)^5.2559
    /// with h in m (ISO 2533 standard atmosphere; good from −500 m to 11 000 m).
    pub fn at_altitude(height: Length) -> Self {
        Self(STANDARD_ATMOSPHERE_PA * crate::ops::powf(1.0 - 2.255_77e-5 * height.si(), 5.255_9))
    }
}

/// A pressure as a learner may write it in the test sheet: a number and a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum PressureUnit {
    /// Millibar.
    #[serde(rename = "mbar")]
    Mbar,
    /// Bar.
    #[serde(rename = "bar")]
    Bar,
    /// Kilopascal.
    #[serde(rename = "kPa")]
    KiloPascal,
    /// Pound-force per square inch.
    #[serde(rename = "psi")]
    Psi,
    /// Inch of mercury, gauge (negative is suction).
    #[serde(rename = "inHg")]
    InchMercury,
}

impl PressureUnit {
    /// Every unit, in the order in which menus show them.
    pub const ALL: [Self; 5] = [Self::Mbar, Self::Bar, Self::KiloPascal, Self::Psi, Self::InchMercury];

    /// Pascal in one of this unit.
    pub const fn pascal(self) -> f64 {
        match self {
            Self::Mbar => 100.0,
            Self::Bar => 1e5,
            Self::KiloPascal => 1e3,
            Self::Psi => 6_894.757_293_168,
            Self::InchMercury => 3386.389,
        }
    }

    /// The symbol on paper.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Mbar => "mbar",
            Self::Bar => "bar",
            Self::KiloPascal => "kPa",
            Self::Psi => "psi",
            Self::InchMercury => "inHg",
        }
    }

    /// The unit with this symbol.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|u| u.symbol().eq_ignore_ascii_case(symbol))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, String> {
        ron::from_str(text).map_err(|e| e.to_string())
    }

    #[test]
    fn the_unit_stands_in_the_value() {
        assert_eq!(read::<GaugePressure>("mbar(-120)").unwrap().si(), -12_000.0);
        assert!((read::<VolumeFlow>("l_per_h(90)").unwrap().si() - 25e-6).abs() < 1e-18);
        assert_eq!(read::<Temperature>("degC(20)").unwrap().kelvin(), 293.15);
        assert_eq!(read::<Length>("mm(8)").unwrap().si(), 0.008);
    }

    #[test]
    fn a_wrong_unit_a_bare_number_and_an_absurd_value_are_refused() {
        assert!(read::<Length>("mbar(8)").unwrap_err().contains("mm"));
        assert!(read::<Length>("8").is_err());
        assert!(read::<Length>("m(1e9)").unwrap_err().contains("outside"));
        assert!(read::<Temperature>("degC(-400)").is_err());
        assert!(read::<Volume>("l(-1)").is_err());
    }

    #[test]
    fn gauge_and_absolute_need_the_ambient_pressure() {
        let ambient = AbsolutePressure::at_altitude(Length::from_si(1500.0));
        // ISO 2533 table: 84 556 Pa at 1500 m
        assert!((ambient.si() - 84_556.0).abs() < 30.0, "{}", ambient.si());
        let p = GaugePressure::from_mbar(-200.0);
        assert!((p.to_absolute(ambient).to_gauge(ambient).mbar() + 200.0).abs() < 1e-9);
    }

    #[test]
    fn pressure_units_know_each_other() {
        let pa = 3.5 * PressureUnit::Bar.pascal();
        assert_eq!(pa / PressureUnit::KiloPascal.pascal(), 350.0);
        assert_eq!(PressureUnit::from_symbol("INHG"), Some(PressureUnit::InchMercury));
    }
}
