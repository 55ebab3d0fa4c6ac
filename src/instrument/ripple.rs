//! Ripple of the transfer pump at the tee, laid over the simulated pressure.
//!
//! A gear pump's flow pulsates once a tooth, and once a turn by run-out; near the tee it meets the
//! give of walls, fuel and gas: p̂ = q̂/(2πf·C_eff), C_eff = C + G/y² (Wood 1930), so bubbles quieten it. The
//! overlay doesn't act back on the flow. Amplitudes are engineering estimates.

use crate::ops;

/// Share of the mean flow that pulsates once a turn.
const ONCE_A_TURN: f64 = 0.012;
/// Share that pulsates once a tooth.
const ONCE_A_TOOTH: f64 = 0.03;

/// Ripple at the tee, Pa.
///
/// `turns`: turns of the pump so far; `rpm`: its speed; `flow`: mean flow, mL/s; `teeth`; `compliance`:
/// give of the line between tee and pump, mL/Pa.
pub fn ripple(turns: f64, rpm: f64, flow: f64, teeth: f64, compliance: f64) -> f64 {
    let per_s = rpm / 60.0;
    if per_s < 0.5 || compliance <= 0.0 {
        return 0.0;
    }
    let phase = 2.0 * core::f64::consts::PI * (turns - turns.floor());
    let omega = 2.0 * core::f64::consts::PI * per_s;
    let turn = ONCE_A_TURN * ops::sin(phase) / omega;
    let tooth = ONCE_A_TOOTH * ops::sin(teeth * phase) / (omega * teeth);
    flow * (turn + tooth) / compliance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gas_quietens_the_ripple_and_a_still_pump_has_none() {
        let peak = |c: f64| (0..100).map(|i| ripple(f64::from(i) * 0.01, 800.0, 15.0, 9.0, c)).fold(0.0, f64::max);
        assert!(peak(1e-5) > 5.0 * peak(1e-4));
        assert_eq!(ripple(0.3, 0.0, 0.0, 9.0, 1e-5), 0.0);
    }
}
