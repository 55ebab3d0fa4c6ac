//! The sensing hose between tee and transducer.
//!
//! Trapped air gives and the hose resists: τ = R·C with R = 128·μ·L/(π·D⁴) (Hagen and Poiseuille), Pa·s/m³,
//! and C = V/p of isothermal gas, m³/Pa; V = V₀·p₀/p for air that takes V₀ at the standard atmosphere
//! p₀. So the lag grows as the pressure falls. A column between tapping and transducer adds its head.
//!
//! Stops being true: when air sits in several places; when the hose's own walls give more than the
//! air (below some 0.05 mL).

use crate::units::{AbsolutePressure, GRAVITY, GaugePressure, Length, STANDARD_ATMOSPHERE_PA, Span, Volume};

/// Time constant of a hose with trapped air.
///
/// `air`: at the standard atmosphere; `pressure` in the line (> 0); `bore` (> 0) and `length` of the hose;
/// `viscosity` of the fuel in it, Pa·s.
pub fn time_constant(
    air: Volume,
    pressure: AbsolutePressure,
    bore: Length,
    length: Length,
    viscosity: f64,
) -> Span {
    let bore_2 = bore.si() * bore.si();
    let resistance = 128.0 * viscosity * length.si() / (core::f64::consts::PI * bore_2 * bore_2);
    let give = air.si() * STANDARD_ATMOSPHERE_PA / (pressure.si() * pressure.si());
    Span::from_si(resistance * give)
}

/// What a transducer reads too much because it lies `below` the tapping with the hose full of liquid
/// (kg/m³); negative when it lies above.
pub const fn head(density: f64, below: Length) -> GaugePressure {
    GaugePressure::from_si(density * GRAVITY * below.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lag(ml: f64, pa: f64, mm: f64, m: f64) -> f64 {
        let (air, p) = (Volume::from_si(ml * 1e-6), AbsolutePressure::from_si(pa));
        time_constant(air, p, Length::from_si(mm * 1e-3), Length::from_si(m), 0.0035).si()
    }

    #[test]
    fn the_lag_is_resistance_times_give() {
        // 1.2 m of 3 mm bore: R = 2.11·10⁹ Pa·s/m³; 5 mL at 1 atm: C = 4.93·10⁻¹¹ m³/Pa
        assert!((lag(5.0, STANDARD_ATMOSPHERE_PA, 3.0, 1.2) - 0.104).abs() < 0.001);
        let one = lag(1.0, 1e5, 3.0, 1.0);
        assert!((lag(2.0, 1e5, 3.0, 1.0) / one - 2.0).abs() < 1e-9);
        assert!((lag(1.0, 0.5e5, 3.0, 1.0) / one - 4.0).abs() < 1e-9);
        assert!((lag(1.0, 1e5, 1.5, 1.0) / one - 16.0).abs() < 1e-9);
        assert_eq!(lag(0.0, 1e5, 3.0, 1.0), 0.0);
    }

    #[test]
    fn a_metre_of_diesel_is_82_millibar() {
        assert!((head(835.0, Length::from_si(1.0)).mbar() - 81.9).abs() < 0.1);
    }
}
