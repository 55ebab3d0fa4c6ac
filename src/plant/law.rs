//! The laws of links, each as value and slope, in the solver's units: Pa, mL, mL/s, s.
//!
//! Corners of textbook laws are rounded over a small, stated width so that every law has a bounded
//! slope everywhere; without that an implicit solver stops at the corner. Every slope is checked
//! against a finite difference in the tests. All laws work on several vehicles at once
//! ([`Lanes`]); for a single one write `Lanes([x])`.

use crate::lanes::Lanes;
use crate::units::STANDARD_ATMOSPHERE_PA;

/// A value and its slope against the law's argument.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope<const L: usize> {
    /// Value.
    pub value: Lanes<L>,
    /// d value / d argument.
    pub slope: Lanes<L>,
}

/// Rounded corner: w·ln(1 + e^(u/w)). Zero well below u = 0, u well above; w·ln 2 at the corner.
///
/// The exponential form is used because algebraic ones keep a tail that leaks through a shut valve.
#[inline(always)]
pub fn softplus<const L: usize>(u: Lanes<L>, width: f64) -> Slope<L> {
    let x = u * (1.0 / width);
    let e = (-x.abs()).exp();
    let sum = e + 1.0;
    let rest = 1.0 / sum;
    // e below rounding must give nothing at all: a shut valve is tight
    let tail = sum.ln();
    Slope { value: width * (x.at_least(0.0) + tail), slope: x.choose(|v| v >= 0.0, rest, e * rest) }
}

/// Half of 1 + tanh: a step from 0 to 1 over about two units of its argument.
#[inline(always)]
pub fn smooth_step<const L: usize>(u: Lanes<L>) -> Slope<L> {
    let t = u.tanh();
    Slope { value: 0.5 * (t + 1.0), slope: 0.5 * (1.0 - t * t) }
}

/// Rounded positive part ½(u + √(u² + w²)).
#[inline(always)]
pub fn positive_part<const L: usize>(u: Lanes<L>, width: Lanes<L>) -> Slope<L> {
    let r = (u * u + width * width).sqrt();
    Slope { value: 0.5 * (u + r), slope: 0.5 * (u / r + 1.0) }
}

/// Flow through a resistance Δp = a·q + b·q|q|: q = 2Δp/(a + √(a² + 4b√(Δp² + δ²))), mL/s.
///
/// `a` in Pa·s/mL, `b` in Pa·s²/mL² (both ≥ 0, not both nothing), `dp` in Pa. δ = 50 Pa: without it the root is nearly
/// vertical at Δp = 0 where `a` is small, and a step far longer than the settling of a small vessel behind it lands on
/// the other side of the root, as far off, for ever (so does Newton's iteration at √|x|). Slow flow is laminar through any
/// narrowing, so the corner isn't there in a vehicle either. Equals the law without δ within 0.25 % from Δp = 10 δ.
#[inline(always)]
pub fn resistance_flow<const L: usize>(a: Lanes<L>, b: Lanes<L>, dp: Lanes<L>) -> Slope<L> {
    resistance(a, b, dp).0
}

/// As [`resistance_flow`], and the slope against `a` besides.
#[inline(always)]
pub fn resistance<const L: usize>(a: Lanes<L>, b: Lanes<L>, dp: Lanes<L>) -> (Slope<L>, Lanes<L>) {
    let size = (dp * dp + RESISTANCE_ROUNDING_PA * RESISTANCE_ROUNDING_PA).sqrt();
    let root = (a * a + 4.0 * b * size).sqrt();
    let (per_dp, by_root) = (2.0 / (a + root), 1.0 / root);
    let value = per_dp * dp;
    let slope = per_dp - value * per_dp * b * dp * by_root / size;
    (Slope { value, slope }, -value * by_root)
}
/// See [`resistance_flow`].
const RESISTANCE_ROUNDING_PA: f64 = 50.0;

/// Flow through an orifice or valve: K·Δp/(Δp² + δ²)^¼, mL/s with K in mL/s/√Pa.
///
/// Equals K·√Δp within 0.25 % from Δp = 10 δ. δ in Pa.
#[inline(always)]
pub fn orifice_flow<const L: usize>(k: Lanes<L>, delta: f64, dp: Lanes<L>) -> Slope<L> {
    let s = dp * dp + delta * delta;
    let quarter = s.sqrt().sqrt();
    Slope { value: k * dp / quarter, slope: k * (0.5 * dp * dp + delta * delta) / (s * quarter) }
}

/// Coefficient of a valve at an opening: equal-percentage curve K_max(30^θ − 1)/29, tight at 0.
#[inline(always)]
pub fn valve_coefficient<const L: usize>(k_max: Lanes<L>, opening: Lanes<L>) -> Slope<L> {
    let power = (LN_30 * opening).exp();
    Slope { value: k_max * (power - 1.0) * (1.0 / 29.0), slope: k_max * power * (LN_30 / 29.0) }
}
const LN_30: f64 = 3.401_197_381_662_155_5;

/// Friction factor times Reynolds number for a round pipe after Churchill (1977), Chem. Eng. 84(24):91:
/// (f·Re) = 8·[8¹² + Re³⁶(a·Re¹⁶ + 37530¹⁶)^−1.5]^(1/12), a = [2.457·ln(1/((7/Re)^0.9 + 0.27ε/D))]¹⁶.
///
/// f is the Darcy factor: 64 in laminar flow. Valid for Re up to 10⁷; the product is regular at rest.
#[inline]
pub fn friction_times_reynolds<const L: usize>(reynolds: Lanes<L>, relative_roughness: Lanes<L>) -> Slope<L> {
    if !reynolds.any(|re| re >= 1000.0) {
        // the turbulent term is below 1e-12 of the laminar one
        return Slope { value: Lanes::all(64.0), slope: Lanes::ZERO };
    }
    let re = reynolds.at_least(1000.0).at_most(1e7);
    let seven = ((7.0 / re).ln() * 0.9).exp();
    let inner = seven + 0.27 * relative_roughness;
    let log = -2.457 * inner.ln();
    let log2 = log * log;
    let log4 = log2 * log2;
    let log8 = log4 * log4;
    let log15 = log8 * log4 * log2 * log;
    let a = log15 * log;
    let d_log = 2.457 * 0.9 * seven / (re * inner);
    let d_a = 16.0 * log15 * d_log;
    let re2 = re * re;
    let re4 = re2 * re2;
    let re8 = re4 * re4;
    let re16 = re8 * re8;
    let b = a * re16 + POWER_37530;
    let d_b = 16.0 * a * re16 / re + d_a * re16;
    let term = re16 * re16 * re4 / (b * b.sqrt());
    let d_term = term * (36.0 / re - 1.5 * d_b / b);
    let sum = term + 68_719_476_736.0;
    let value = 8.0 * (sum.ln() * (1.0 / 12.0)).exp();
    let slope = value / (12.0 * sum) * d_term;
    Slope {
        value: reynolds.choose(|re| re < 1000.0, Lanes::all(64.0), value),
        slope: reynolds.choose(|re| !(1000.0..=1e7).contains(&re), Lanes::ZERO, slope),
    }
}
/// 37530¹⁶
const POWER_37530: f64 = 1.549_020_019_506_048e73;

/// Air drawn through a hole from the surroundings, mL/s reduced to standard pressure.
///
/// Compressible orifice (St Venant–Wantzel): ṁ = CdA·p_u·√[2κ/((κ−1)RT)·(r^(2/κ) − r^((κ+1)/κ))] with
/// r the pressure ratio, choked below r = 0.5283, times √(Δp/√(Δp² + 100²)) to round the start.
/// `area_mm2` is CdA; `p_in` the pressure in the line and `p_out` that of the air, Pa absolute. The
/// slope is against `p_in` (negative). Zero when the line is above the air.
///
/// Δp is what is left of the suction u after the skin of fuel across the hole (engineering estimate, that of a hole
/// of 1 mm): u(u² + 0.04 w²)/(u² + w²), w = 100 Pa; from u = 10 w it takes less than 0.5 % of the flow. Air is so much
/// thinner than fuel that without it the slope at u = 0 would be 25 times that of the fuel on the other side, and a line
/// that stands open at air pressure has no stable step.
#[inline]
pub fn air_inflow<const L: usize>(
    area_mm2: Lanes<L>,
    p_in: Lanes<L>,
    p_out: Lanes<L>,
    temperature_k: Lanes<L>,
) -> Slope<L> {
    const KAPPA: f64 = 1.4;
    const GAS: f64 = 287.05;
    let suction = p_out - p_in;
    if !(suction * area_mm2).any(|v| v > 0.0) {
        return Slope { value: Lanes::ZERO, slope: Lanes::ZERO };
    }
    let drawn = suction.at_least(0.0);
    let (u2, w2) = (drawn * drawn, SKIN_PA * SKIN_PA);
    let past_skin = 1.0 / (u2 + w2);
    let dp = drawn * (u2 + SKIN_AT_REST * w2) * past_skin;
    let by_suction = (3.0 * u2 + SKIN_AT_REST * w2 - 2.0 * drawn * dp) * past_skin;
    let rt = GAS * temperature_k;
    // kg/s → mL/s at standard pressure
    let scale = area_mm2 * p_out * ((2.0 * KAPPA / (KAPPA - 1.0)) * rt).sqrt() * (1.0 / STANDARD_ATMOSPHERE_PA);
    let r = 1.0 - dp / p_out;
    let f = expansion(r.at_least(CHOKED).at_most(1.0));
    let s = (dp * dp + 1e4).sqrt();
    let ramp2 = dp / s;
    // both roots vanish like √Δp, so their product is linear near Δp = 0
    let value = scale * (f.value * ramp2).at_least(0.0).sqrt();
    let d_ramp2 = 1e4 / (s * s * s);
    let df_dr = r.choose(|v| v <= CHOKED, Lanes::ZERO, f.slope);
    let slope = value * (0.5 * df_dr / (f.value.at_least(1e-300) * p_out) - 0.5 * d_ramp2 / ramp2.at_least(1e-300));
    Slope {
        value: dp.choose(|v| v > 0.0, value, Lanes::ZERO),
        slope: value.choose(|v| v > 0.0, dp.choose(|v| v > 0.0, slope * by_suction, Lanes::ZERO), Lanes::ZERO),
    }
}
const CHOKED: f64 = 0.528_3;
/// Suction that the skin of fuel across a hole bears, Pa, and the share of a small suction that gets past it: as slow
/// as fuel goes out on the other side, √(ρ_air/ρ_fuel).
const SKIN_PA: f64 = 100.0;
const SKIN_AT_REST: f64 = 0.04;

/// r^(2/κ) − r^((κ+1)/κ) and its derivative, κ = 1.4, without cancellation near r = 1.
#[inline(always)]
fn expansion<const L: usize>(r: Lanes<L>) -> Slope<L> {
    // series to second order: e·(2/7) − e²·(15/49)… the next term is below 1e-10
    const C1: f64 = 2.0 / 7.0;
    const C2: f64 = -15.0 / 49.0;
    let e = 1.0 - r;
    let near = Slope { value: e * (C1 + C2 * e), slope: -(C1 + 2.0 * C2 * e) };
    let lr = r.ln();
    let p = (lr * (2.0 / 1.4)).exp();
    let q = (lr * (2.4 / 1.4)).exp();
    let far = Slope { value: p - q, slope: (2.0 / 1.4 * p - 2.4 / 1.4 * q) / r };
    Slope {
        value: e.choose(|v| v < 1e-5, near.value, far.value),
        slope: e.choose(|v| v < 1e-5, near.slope, far.slope),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;

    type One = Lanes<1>;

    fn at(slope: Slope<1>) -> (f64, f64) {
        (slope.value.0[0], slope.slope.0[0])
    }

    fn one(x: f64) -> One {
        Lanes([x])
    }

    fn slope_holds(law: impl Fn(One) -> Slope<1>, points: &[f64], step: f64) {
        for &x in points {
            let h = step * x.abs().max(1.0);
            let numeric = (at(law(one(x + h))).0 - at(law(one(x - h))).0) / (2.0 * h);
            let (value, exact) = at(law(one(x)));
            let scale = exact.abs().max(1e-9 * value.abs() / h).max(1e-12);
            assert!((numeric - exact).abs() <= 2e-5 * scale, "at {x}: slope {exact}, difference {numeric}");
        }
    }

    #[test]
    fn slopes_agree_with_finite_differences() {
        slope_holds(|u| softplus(u, 25.0), &[-200.0, -25.0, 0.0, 3.0, 60.0, 900.0], 1e-6);
        slope_holds(smooth_step, &[-2.0, 0.0, 0.3, 2.5], 1e-6);
        slope_holds(|u| positive_part(u, one(1e-3)), &[-0.01, 0.0, 0.002], 1e-8);
        slope_holds(|dp| resistance_flow(one(45.0), one(1.1), dp), &[-5e4, -10.0, 0.0, 20.0, 3e4], 1e-6);
        slope_holds(|dp| resistance_flow(one(0.0), one(1.1), dp), &[-5e4, -10.0, 0.0, 20.0, 3e4], 1e-6);
        for dp in [-5e4, -10.0, 0.0, 20.0, 3e4] {
            let by_a = |a| {
                let (law, by_a) = resistance(a, one(1.1), one(dp));
                Slope { value: law.value, slope: by_a }
            };
            slope_holds(by_a, &[0.5, 45.0], 1e-6);
        }
        slope_holds(|dp| orifice_flow(one(2.0), 30.0, dp), &[-5e4, -10.0, 0.0, 20.0, 3e4], 1e-6);
        slope_holds(|t| valve_coefficient(one(2.0), t), &[0.0, 0.3, 1.0], 1e-6);
        slope_holds(
            |re| friction_times_reynolds(re, one(1e-3)),
            &[1500.0, 2000.0, 2300.0, 2600.0, 4e3, 1e5, 3e6],
            1e-6,
        );
        slope_holds(
            |p| air_inflow(one(0.01), p, one(101_325.0), one(293.15)),
            &[4e4, 6e4, 9e4, 1.01e5, 101_200.0, 101_320.0],
            1e-8,
        );
    }

    #[test]
    fn churchill_is_laminar_below_and_rough_above() {
        assert!((at(friction_times_reynolds(one(1999.0), one(1e-4))).0 - 64.0).abs() < 0.3);
        // fully rough turbulent flow: von Kármán, 1/√f = −2·lg(ε/3.7)
        let rough = 1e-2;
        let f = at(friction_times_reynolds(one(1e7), one(rough))).0 / 1e7;
        let karman = 1.0 / ops::powi(-2.0 * ops::log10(rough / 3.7), 2);
        assert!((f / karman - 1.0).abs() < 0.02, "{f} against {karman}");
        // smooth pipe at Re = 1e5: Blasius 0.316·Re^−¼
        let f = at(friction_times_reynolds(one(1e5), one(0.0))).0 / 1e5;
        let blasius = 0.316 / 1e5_f64.sqrt().sqrt();
        assert!((f / blasius - 1.0).abs() < 0.03, "{f} against {blasius}");
    }

    #[test]
    fn churchill_joins_its_laminar_shortcut() {
        let below = at(friction_times_reynolds(one(999.999), one(1e-3))).0;
        let above = at(friction_times_reynolds(one(1000.001), one(1e-3))).0;
        assert!((below - above).abs() < 1e-9);
    }

    #[test]
    fn a_hole_draws_what_the_gas_tables_say() {
        // choked flow of air: ṁ = CdA·p·√(κ/RT)·(2/(κ+1))^3 = 0.040418·CdA·p/√T  (kg/s, κ = 1.4)
        let t = 293.15_f64;
        let mass = 0.040_418 * 1e-6 * 101_325.0 / t.sqrt();
        let expected = mass * 287.05 * t / 101_325.0 * 1e6;
        let drawn = at(air_inflow(one(1.0), one(20_000.0), one(101_325.0), one(t))).0;
        assert!((drawn / expected - 1.0).abs() < 1e-3, "{drawn} against {expected}");
        // 0.01 mm² at −100 mbar: about 1.2 mL/s
        let drawn = at(air_inflow(one(0.01), one(91_325.0), one(101_325.0), one(t))).0;
        assert!((drawn - 1.2).abs() < 0.1, "{drawn}");
        assert_eq!(at(air_inflow(one(0.01), one(101_325.0), one(101_325.0), one(t))).0, 0.0);
    }

    /// Fuel out on one side of air pressure, air in on the other: no corner between them.
    #[test]
    fn a_hole_goes_over_from_fuel_to_air_smoothly() {
        let p0 = 101_325.0;
        for density in [740.0, 835.0, 880.0_f64] {
            let out = at(orifice_flow(one((2.0 / density).sqrt()), 100.0, one(0.0))).1;
            let drawn = -at(air_inflow(one(1.0), one(p0 - 0.01), one(p0), one(293.15))).1;
            assert!((drawn / out - 1.0).abs() < 0.2, "{density}: {drawn} in, {out} out a Pa");
        }
    }

    #[test]
    fn resistance_and_its_inverse_agree() {
        for (a, b) in [(45.0, 1.1), (45.0, 0.0), (3.0, 6.5)] {
            for q in [-60.0, -20.0, 24.0, 100.0] {
                let dp: f64 = a * q + b * q * f64::abs(q);
                let flow = at(resistance_flow(one(a), one(b), one(dp))).0;
                // what the doc promises of the rounded corner
                let allowed = 0.25 * ops::powi(RESISTANCE_ROUNDING_PA / dp, 2);
                assert!((flow / q - 1.0).abs() <= allowed + 1e-12, "{flow} for {q} at {dp} Pa");
            }
        }
    }

    /// Around no flow a narrowing is a laminar one, however turbulent it is at its full flow: see the doc.
    #[test]
    fn no_resistance_is_vertical_at_rest() {
        let slope = at(resistance_flow(one(0.0), one(1.1), one(0.0))).1;
        assert!((slope - 1.0 / (1.1 * RESISTANCE_ROUNDING_PA).sqrt()).abs() < 1e-12, "{slope}");
    }
}
