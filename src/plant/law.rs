//! The laws of links, each as value and slope, in the solver's units: Pa, mL, mL/s, s.
//!
//! Corners of textbook laws are rounded over a small, stated width so that every law has a bounded
//! slope everywhere; without that an implicit solver stops at the corner. Every slope is checked
//! against a finite difference in the tests.

use crate::ops;

/// A value and its slope against the law's argument.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Value.
    pub value: f64,
    /// d value / d argument.
    pub slope: f64,
}

/// Rounded corner: w·ln(1 + e^(u/w)). Zero well below u = 0, u well above; w·ln 2 at the corner.
///
/// The exponential form is used because algebraic ones keep a tail that leaks through a shut valve.
pub fn softplus(u: f64, width: f64) -> Slope {
    let e = u / width;
    if e > 36.0 {
        Slope { value: u, slope: 1.0 }
    } else if e < -36.0 {
        Slope { value: 0.0, slope: 0.0 }
    } else {
        let x = ops::exp(e);
        Slope { value: width * libm::log1p(x), slope: x / (1.0 + x) }
    }
}

/// Half of 1 + tanh: a step from 0 to 1 over about two units of its argument.
pub fn smooth_step(u: f64) -> Slope {
    let t = ops::tanh(u);
    Slope { value: 0.5 * (1.0 + t), slope: 0.5 * (1.0 - t * t) }
}

/// Rounded positive part ½(u + √(u² + w²)).
pub fn positive_part(u: f64, width: f64) -> Slope {
    let r = (u * u + width * width).sqrt();
    Slope { value: 0.5 * (u + r), slope: 0.5 * (1.0 + u / r) }
}

/// Flow through a resistance Δp = a·q + b·q|q|: q = 2Δp/(a + √(a² + 4b|Δp|)), mL/s.
///
/// `a` in Pa·s/mL (> 0), `b` in Pa·s²/mL² (≥ 0), `dp` in Pa. Exact; its slope is bounded by 1/a.
pub fn resistance_flow(a: f64, b: f64, dp: f64) -> Slope {
    let root = (a * a + 4.0 * b * dp.abs()).sqrt();
    Slope { value: 2.0 * dp / (a + root), slope: 1.0 / root }
}

/// Flow through an orifice or valve: K·Δp/(Δp² + δ²)^¼, mL/s with K in mL/s/√Pa.
///
/// Equals K·√Δp within 0.25 % from Δp = 10 δ. δ in Pa.
pub fn orifice_flow(k: f64, delta: f64, dp: f64) -> Slope {
    let s = dp * dp + delta * delta;
    let quarter = s.sqrt().sqrt();
    Slope { value: k * dp / quarter, slope: k * (0.5 * dp * dp + delta * delta) / (s * quarter) }
}

/// Coefficient of a valve at an opening: equal-percentage curve K_max(30^θ − 1)/29, tight at 0.
pub fn valve_coefficient(k_max: f64, opening: f64) -> Slope {
    let power = ops::exp(LN_30 * opening);
    Slope { value: k_max * (power - 1.0) / 29.0, slope: k_max * LN_30 * power / 29.0 }
}
const LN_30: f64 = 3.401_197_381_662_155_5;

/// Friction factor times Reynolds number for a round pipe after Churchill (1977), Chem. Eng. 84(24):91:
/// (f·Re) = 8·[8¹² + Re³⁶(a·Re¹⁶ + 37530¹⁶)^−1.5]^(1/12), a = [2.457·ln(1/((7/Re)^0.9 + 0.27ε/D))]¹⁶.
///
/// f is the Darcy factor: 64 in laminar flow. Valid for Re up to 10⁷; the product is regular at rest.
pub fn friction_times_reynolds(reynolds: f64, relative_roughness: f64) -> Slope {
    let re = reynolds.min(1e7);
    if re < 1000.0 {
        // the turbulent term is below 1e-12 of the laminar one
        return Slope { value: 64.0, slope: 0.0 };
    }
    let seven = ops::powf(7.0 / re, 0.9);
    let inner = seven + 0.27 * relative_roughness;
    let log = -2.457 * ops::ln(inner);
    let log15 = ops::powi(log, 15);
    let a = log15 * log;
    let d_log = 2.457 * 0.9 * seven / (re * inner);
    let d_a = 16.0 * log15 * d_log;
    let re16 = ops::powi(re, 16);
    let b = a * re16 + POWER_37530;
    let d_b = 16.0 * a * re16 / re + d_a * re16;
    let term = re16 * re16 * ops::powi(re, 4) / (b * b.sqrt());
    let d_term = term * (36.0 / re - 1.5 * d_b / b);
    let sum = 68_719_476_736.0 + term;
    let value = 8.0 * ops::powf(sum, 1.0 / 12.0);
    let slope = if reynolds > 1e7 { 0.0 } else { value / (12.0 * sum) * d_term };
    Slope { value, slope }
}
/// 37530¹⁶
const POWER_37530: f64 = 1.549_020_019_506_048e73;

/// Air drawn through a hole from the surroundings, mL/s reduced to standard pressure.
///
/// Compressible orifice (St Venant–Wantzel): ṁ = CdA·p_u·√[2κ/((κ−1)RT)·(r^(2/κ) − r^((κ+1)/κ))] with
/// r the pressure ratio, choked below r = 0.5283, times √(Δp/√(Δp² + 100²)) to round the start.
/// `area_mm2` is CdA; `p_in` the pressure in the line and `p_out` that of the air, Pa absolute. The
/// slope is against `p_in` (negative). Zero when the line is above the air.
pub fn air_inflow(area_mm2: f64, p_in: f64, p_out: f64, temperature_k: f64) -> Slope {
    const KAPPA: f64 = 1.4;
    const GAS: f64 = 287.05;
    let dp = p_out - p_in;
    if dp <= 0.0 || area_mm2 <= 0.0 {
        return Slope { value: 0.0, slope: 0.0 };
    }
    let rt = GAS * temperature_k;
    // kg/s → mL/s at standard pressure
    let scale = area_mm2 * 1e-6 * p_out * (2.0 * KAPPA / ((KAPPA - 1.0) * rt)).sqrt() * rt
        / crate::units::STANDARD_ATMOSPHERE_PA
        * 1e6;
    let r = p_in / p_out;
    let (f, df_dr) = if r <= 0.528_3 {
        let (f, _) = expansion(0.528_3);
        (f, 0.0)
    } else {
        expansion(r)
    };
    let root = f.sqrt();
    let s = (dp * dp + 1e4).sqrt();
    let ramp2 = dp / s;
    let ramp = ramp2.sqrt();
    // both roots vanish like √Δp, so their product is linear near Δp = 0
    let value = scale * root * ramp;
    let d_ramp2 = 1e4 / (s * s * s);
    let slope = if f > 0.0 { value * (0.5 * df_dr / (f * p_out) - 0.5 * d_ramp2 / ramp2) } else { 0.0 };
    Slope { value, slope }
}

/// r^(2/κ) − r^((κ+1)/κ) and its derivative, κ = 1.4, without cancellation near r = 1.
fn expansion(r: f64) -> (f64, f64) {
    let e = 1.0 - r;
    if e < 1e-5 {
        // series to second order: e·(2/7) − e²·(15/49)… the next term is below 1e-10
        const C1: f64 = 2.0 / 7.0;
        const C2: f64 = -15.0 / 49.0;
        return (e * (C1 + C2 * e), -(C1 + 2.0 * C2 * e));
    }
    let lr = ops::ln(r);
    let p = ops::exp(lr * (2.0 / 1.4));
    let q = ops::exp(lr * (2.4 / 1.4));
    (p - q, (2.0 / 1.4 * p - 2.4 / 1.4 * q) / r)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slope_holds(law: impl Fn(f64) -> Slope, points: &[f64], step: f64) {
        for &x in points {
            let h = step * x.abs().max(1.0);
            let numeric = (law(x + h).value - law(x - h).value) / (2.0 * h);
            let exact = law(x).slope;
            let scale = exact.abs().max(1e-9 * law(x).value.abs() / h).max(1e-12);
            assert!((numeric - exact).abs() <= 2e-5 * scale, "at {x}: slope {exact}, difference {numeric}");
        }
    }

    #[test]
    fn slopes_agree_with_finite_differences() {
        slope_holds(|u| softplus(u, 25.0), &[-200.0, -25.0, 0.0, 3.0, 60.0, 900.0], 1e-6);
        slope_holds(smooth_step, &[-2.0, 0.0, 0.3, 2.5], 1e-6);
        slope_holds(|u| positive_part(u, 1e-3), &[-0.01, 0.0, 0.002], 1e-8);
        slope_holds(|dp| resistance_flow(45.0, 1.1, dp), &[-5e4, -10.0, 20.0, 3e4], 1e-6);
        slope_holds(|dp| orifice_flow(2.0, 30.0, dp), &[-5e4, -10.0, 0.0, 20.0, 3e4], 1e-6);
        slope_holds(|t| valve_coefficient(2.0, t), &[0.0, 0.3, 1.0], 1e-6);
        slope_holds(|re| friction_times_reynolds(re, 1e-3), &[1500.0, 2000.0, 2300.0, 2600.0, 4e3, 1e5, 3e6], 1e-6);
        slope_holds(|p| air_inflow(0.01, p, 101_325.0, 293.15), &[4e4, 6e4, 9e4, 1.01e5, 101_320.0], 1e-8);
    }

    #[test]
    fn churchill_is_laminar_below_and_rough_above() {
        assert!((friction_times_reynolds(1999.0, 1e-4).value - 64.0).abs() < 0.3);
        // fully rough turbulent flow: von Kármán, 1/√f = −2·lg(ε/3.7)
        let rough = 1e-2;
        let f = friction_times_reynolds(1e7, rough).value / 1e7;
        let karman = 1.0 / ops::powi(-2.0 * ops::log10(rough / 3.7), 2);
        assert!((f / karman - 1.0).abs() < 0.02, "{f} against {karman}");
        // smooth pipe at Re = 1e5: Blasius 0.316·Re^−¼
        let f = friction_times_reynolds(1e5, 0.0).value / 1e5;
        let blasius = 0.316 / 1e5_f64.sqrt().sqrt();
        assert!((f / blasius - 1.0).abs() < 0.03, "{f} against {blasius}");
    }

    #[test]
    fn churchill_joins_its_laminar_shortcut() {
        let below = friction_times_reynolds(999.999, 1e-3).value;
        let above = friction_times_reynolds(1000.001, 1e-3).value;
        assert!((below - above).abs() < 1e-9);
    }

    #[test]
    fn a_hole_draws_what_the_gas_tables_say() {
        // choked flow of air: ṁ = CdA·p·√(κ/RT)·(2/(κ+1))^3 = 0.040418·CdA·p/√T  (kg/s, κ = 1.4)
        let t = 293.15_f64;
        let mass = 0.040_418 * 1e-6 * 101_325.0 / t.sqrt();
        let expected = mass * 287.05 * t / 101_325.0 * 1e6;
        let drawn = air_inflow(1.0, 20_000.0, 101_325.0, t).value;
        assert!((drawn / expected - 1.0).abs() < 1e-3, "{drawn} against {expected}");
        // 0.01 mm² at −100 mbar: about 1.2 mL/s
        let drawn = air_inflow(0.01, 91_325.0, 101_325.0, t).value;
        assert!((drawn - 1.2).abs() < 0.1, "{drawn}");
        assert_eq!(air_inflow(0.01, 101_325.0, 101_325.0, t).value, 0.0);
    }

    #[test]
    fn resistance_and_its_inverse_agree() {
        for q in [-60.0, -1.0, 0.01, 24.0] {
            let dp = 45.0 * q + 1.1 * q * f64::abs(q);
            assert!((resistance_flow(45.0, 1.1, dp).value - q).abs() < 1e-10);
        }
    }
}
