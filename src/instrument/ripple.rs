//! Ripple of the pump at the tee, laid over the simulated pressure.
//!
//! A pump's flow pulsates; near the tee that meets the give of walls, fuel and gas, so the pressure
//! follows the integral of the pulsation: p̂ = q̂/(2πf·C_eff), C_eff = C + G/y² (Wood 1930), and bubbles
//! quieten it. The overlay doesn't act back on the flow and has no mean. All functions take turns so
//! far, speed, mean flow, what counts the pulses, and the give of the line, and return Pa.
//!
//! | pump | pulses a turn | size |
//! |---|---|---|
//! | gear or vane | one a tooth, a weak one a turn by run-out | small |
//! | diaphragm | one stroke a turn of the cam, half the crank's speed: 800 1/min → 6.7 Hz | the whole flow |
//! | roller cell | one a roller, parabolic (harmonics fall with their square) | middling |
//! | turbine | one a vane | very small |
//!
//! Amplitudes are engineering estimates.

use core::f64::consts::PI;

use crate::ops;

/// Share of a gear pump's mean flow that pulsates once a turn.
const ONCE_A_TURN: f64 = 0.012;
/// Share that pulsates once a tooth.
const ONCE_A_TOOTH: f64 = 0.03;
/// Share of a roller-cell pump's mean flow in the first harmonic of its rollers.
const ONCE_A_ROLLER: f64 = 0.05;
/// Share of a turbine pump's mean flow that pulsates once a vane.
const ONCE_A_VANE: f64 = 0.004;

/// Rollers of a roller-cell pump and vanes of a turbine.
pub const ROLLERS: f64 = 5.0;
/// See [`ROLLERS`].
pub const VANES: f64 = 30.0;

/// What a first-order lag of a time constant (s) leaves of a swing, 0 … 1. A logger that samples more slowly than the
/// pump pulses shows what is left at a wrong, lower frequency.
pub fn left_by_lag(hz: f64, tau_s: f64) -> f64 {
    let turn = 2.0 * PI * hz * tau_s;
    1.0 / (1.0 + turn * turn).sqrt()
}

/// Ripple once a turn of a stage with gaps that aren't alike, Pa: a `share` of its flow swings. See [`ripple`].
pub fn uneven_stage(turns: f64, rpm: f64, flow: f64, share: f64, compliance: f64) -> f64 {
    let Some((omega, phase)) = turning(turns, rpm, compliance) else { return 0.0 };
    flow * share * ops::sin(phase) / (omega * compliance)
}

/// Turns a second of a pump and the phase within its turn, or nothing where a pump stands or a line
/// gives nothing: then there is no ripple.
fn turning(turns: f64, rpm: f64, compliance: f64) -> Option<(f64, f64)> {
    let per_s = rpm / 60.0;
    if per_s < 0.5 || compliance <= 0.0 {
        return None;
    }
    Some((2.0 * PI * per_s, 2.0 * PI * (turns - turns.floor())))
}

/// Ripple of a gear pump, Pa.
///
/// `turns`: turns of the pump so far; `rpm`: its speed; `flow`: mean flow, mL/s; `teeth`; `compliance`:
/// give of the line between tee and pump, mL/Pa.
pub fn ripple(turns: f64, rpm: f64, flow: f64, teeth: f64, compliance: f64) -> f64 {
    let Some((omega, phase)) = turning(turns, rpm, compliance) else { return 0.0 };
    let turn = ONCE_A_TURN * ops::sin(phase) / omega;
    let tooth = ONCE_A_TOOTH * ops::sin(teeth * phase) / (omega * teeth);
    flow * (turn + tooth) / compliance
}

/// Ripple of a gear pump with one damaged tooth, Pa; see [`ripple`]. `damage`: 0 sound … 1 broken off.
///
/// While the damaged tooth meshes, its share of a turn's flow is missing by `damage`: on the suction side
/// the pressure jumps up once a turn and sinks slowly afterwards.
pub fn damaged_gear(turns: f64, rpm: f64, flow: f64, teeth: f64, damage: f64, compliance: f64) -> f64 {
    let sound = ripple(turns, rpm, flow, teeth, compliance);
    let Some((omega, phase)) = turning(turns, rpm, compliance) else { return 0.0 };
    let teeth = teeth.max(2.0);
    let gap = 2.0 * PI / teeth;
    let lost = damage.clamp(0.0, 1.0) / teeth;
    // what hasn't been drawn: grows while the tooth meshes, then shrinks at the mean's pace
    let missing = if phase < gap { phase / gap } else { (2.0 * PI - phase) / (2.0 * PI - gap) };
    sound + flow * lost * 2.0 * PI * (missing - 0.5) / (omega * compliance)
}

/// Ripple on the suction side of a diaphragm pump driven by the cam, Pa.
///
/// `crank_turns`: turns of the crankshaft so far; `crank_rpm`: its speed; `flow`: mean flow, mL/s; `leak`: 0
/// with tight valves … 1 with one that doesn't seat: then the return stroke pushes through it, half of
/// each wave shrinks and the ripple is weak and one-sided; `compliance`: give between tee and pump, mL/Pa.
///
/// The pump draws during half of each turn of the cam, as max(0, sin).
pub fn diaphragm(crank_turns: f64, crank_rpm: f64, flow: f64, leak: f64, compliance: f64) -> f64 {
    let cam = crank_turns / 2.0;
    // half the crank's speed, and a starter turns it at a hundred or two: no lower bound but standstill
    if crank_rpm <= 1.0 || compliance <= 0.0 {
        return 0.0;
    }
    let omega = 2.0 * PI * crank_rpm / 120.0;
    let phase = 2.0 * PI * (cam - cam.floor());
    // what was drawn beyond the mean since the turn began
    let drawn = if phase < PI { PI * (1.0 - ops::cos(phase)) - phase } else { 2.0 * PI - phase };
    let wave = PI / 2.0 - drawn;
    let leak = leak.clamp(0.0, 1.0);
    // what the leak takes off the upper half of the wave, on average: ∫max(0, wave)/2π = ½
    const MEAN_ABOVE: f64 = 0.5;
    let kept = if wave > 0.0 { wave * (1.0 - leak) } else { wave };
    flow * (kept + leak * MEAN_ABOVE) / (omega * compliance)
}

/// Ripple of a roller-cell pump with a number of rollers, Pa; see [`ripple`]. Parabolic: harmonics
/// fall with the square of their order; five are kept.
pub fn roller_cell(turns: f64, rpm: f64, flow: f64, rollers: f64, compliance: f64) -> f64 {
    let Some((omega, phase)) = turning(turns, rpm, compliance) else { return 0.0 };
    let sum: f64 = [1.0, 2.0, 3.0, 4.0, 5.0]
        .into_iter()
        .map(|k: f64| ONCE_A_ROLLER / (k * k) * ops::sin(k * rollers * phase) / (k * rollers * omega))
        .sum();
    flow * sum / compliance
}

/// Ripple of a turbine pump with a number of vanes, Pa; see [`ripple`].
pub fn turbine(turns: f64, rpm: f64, flow: f64, vanes: f64, compliance: f64) -> f64 {
    let Some((omega, phase)) = turning(turns, rpm, compliance) else { return 0.0 };
    flow * ONCE_A_VANE * ops::sin(vanes * phase) / (vanes * omega * compliance)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A second of a ripple given against time, 20 000 samples.
    fn second(of: impl Fn(f64) -> f64) -> Vec<f64> {
        (0..20_000_u32).map(|i| of(f64::from(i) / 20_000.0)).collect()
    }

    fn upward_crossings(samples: &[f64]) -> usize {
        samples.windows(2).filter(|w| w[0] < 0.0 && w[1] >= 0.0).count()
    }

    fn ends(samples: &[f64]) -> (f64, f64) {
        samples.iter().fold((0.0, 0.0), |(low, high): (f64, f64), v| (low.min(*v), high.max(*v)))
    }

    fn mean(samples: &[f64]) -> f64 {
        samples.iter().sum::<f64>() / samples.len() as f64
    }

    #[test]
    fn gas_quietens_the_ripple_and_a_still_pump_has_none() {
        let peak = |c: f64| (0..100).map(|i| ripple(f64::from(i) * 0.01, 800.0, 15.0, 9.0, c)).fold(0.0, f64::max);
        assert!(peak(1e-5) > 5.0 * peak(1e-4));
        assert_eq!(ripple(0.3, 0.0, 0.0, 9.0, 1e-5), 0.0);
        assert_eq!(damaged_gear(0.3, 0.0, 0.0, 9.0, 1.0, 1e-5), 0.0);
        assert_eq!(diaphragm(0.3, 0.0, 0.0, 0.0, 1e-5), 0.0);
        assert_eq!(roller_cell(0.3, 600.0, 15.0, 5.0, 0.0), 0.0);
        assert_eq!(turbine(0.3, 600.0, 15.0, 5.0, 0.0), 0.0);
    }

    #[test]
    fn a_diaphragm_pump_beats_once_in_two_turns_of_the_crank() {
        for (rpm, beats) in [(840.0, 7), (2400.0, 20)] {
            let wave = second(|t| diaphragm(t * rpm / 60.0 + 0.3, rpm, 15.0, 0.0, 1e-3));
            assert_eq!(upward_crossings(&wave), beats);
        }
    }

    #[test]
    fn a_leaking_valve_makes_the_beat_weak_and_one_sided() {
        let wave = |leak: f64| second(|t| diaphragm(t * 16.0, 960.0, 15.0, leak, 1e-3));
        let (low, high) = ends(&wave(0.0));
        assert!((high / -low - 1.0).abs() < 0.01, "{low} {high}");
        for leak in [0.0, 0.5, 0.9] {
            assert!(mean(&wave(leak)).abs() < 0.01 * high, "{}", mean(&wave(leak)));
        }
        let (leaky_low, leaky_high) = ends(&wave(0.9));
        assert!(leaky_high - leaky_low < 0.7 * (high - low));
        assert!(-leaky_low > 1.8 * leaky_high, "{leaky_low} {leaky_high}");
    }

    #[test]
    fn the_diaphragms_ripple_is_the_integral_of_its_flow() {
        // −C·dp/dt = q − q̄ with q = π·q̄·max(0, sin)
        let (rpm, flow, give, dt) = (960.0, 15.0, 1e-3, 1e-6);
        for phase in [0.1, 0.4, 0.6, 0.9] {
            let p = |t: f64| diaphragm(2.0 * phase + t * rpm / 60.0, rpm, flow, 0.0, give);
            let slope = (p(dt) - p(-dt)) / (2.0 * dt);
            let drawn = flow * (PI * ops::sin(2.0 * PI * phase).max(0.0) - 1.0);
            assert!((slope * give + drawn).abs() < 1e-3 * flow, "{phase}: {} {drawn}", slope * give);
        }
    }

    #[test]
    fn a_damaged_tooth_shows_once_a_turn() {
        let turn = |damage: f64| second(|t| damaged_gear(t * 10.0, 600.0, 15.0, 9.0, damage, 1e-4));
        assert_eq!(turn(0.0), second(|t| ripple(t * 10.0, 600.0, 15.0, 9.0, 1e-4)));
        let (sound, broken) = (ends(&turn(0.0)), ends(&turn(1.0)));
        assert!(broken.1 - broken.0 > 1.5 * (sound.1 - sound.0));
        assert!(mean(&turn(1.0)).abs() < 0.01 * broken.1);
        // the amplitude once a turn, against all others below a tooth, by Fourier's sum
        let part = |samples: &[f64], hz: f64| {
            let sum = |f: fn(f64) -> f64| -> f64 {
                samples.iter().enumerate().map(|(i, v)| v * f(2.0 * PI * hz * i as f64 / 20_000.0)).sum()
            };
            let (c, s) = (sum(ops::cos), sum(ops::sin));
            (c * c + s * s).sqrt()
        };
        assert!(part(&turn(1.0), 10.0) > 2.0 * part(&turn(0.0), 10.0));
        assert!(part(&turn(1.0), 10.0) > 10.0 * part(&turn(1.0), 13.0));
    }

    #[test]
    fn what_a_lag_leaves_is_half_the_power_at_its_corner() {
        let tau = 0.008;
        let corner = 1.0 / (2.0 * PI * tau);
        assert!((left_by_lag(corner, tau) - 0.5_f64.sqrt()).abs() < 1e-12);
        assert!(left_by_lag(650.0, tau) < 0.04);
        let wave = second(|t| uneven_stage(t * 90.0 + 0.01, 5400.0, 40.0, 0.25, 1e-5));
        assert_eq!(upward_crossings(&wave), 90);
        assert!((ends(&wave).1 / (40.0 * 0.25 / (2.0 * PI * 90.0 * 1e-5)) - 1.0).abs() < 0.01);
    }

    #[test]
    fn rollers_and_vanes_are_counted_by_frequency() {
        let turns = |t: f64| t * 100.0 + 0.013;
        assert_eq!(upward_crossings(&second(|t| roller_cell(turns(t), 6000.0, 40.0, 5.0, 1e-4))), 500);
        assert_eq!(upward_crossings(&second(|t| turbine(turns(t), 6000.0, 40.0, 9.0, 1e-4))), 900);
        let size = |w: Vec<f64>| ends(&w).1;
        assert!(
            size(second(|t| roller_cell(turns(t), 6000.0, 40.0, 5.0, 1e-4)))
                > 5.0 * size(second(|t| turbine(turns(t), 6000.0, 40.0, 5.0, 1e-4)))
        );
    }
}
