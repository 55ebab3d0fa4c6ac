//! Sound as a pure function: what was sounding, what is to sound, and a number of samples give samples and what is
//! sounding then. No clock, no device; the same voices give the same samples on every computer.
//!
//! What each voice stands for. The electric pump sings at the rate at which its commutator's bars pass the brushes:
//! eight bars at some 6 000 1/min at rated state, 800 Hz, in proportion to its speed, and throbs with its rotor; on gas
//! it loses its body and keeps the thin upper tones. A four-stroke engine of four cylinders fires twice a turn; its note
//! is the half orders of its speed. The starter whines with its ring gear and labours with each compression. Rattle is
//! a burst of noise at one firing in some. A relay is a click of a few milliseconds. Figures are engineering estimates;
//! what is to be told by ear is told by pitch, steadiness and presence, which follow the simulation.
//!
//! Nothing jumps: every loudness and pitch goes to its new value within some 25 ms, phases run on, and a click begins
//! and ends at zero.

use core::f64::consts::TAU;

use crate::bay::observation::{EngineRun, Observation};
use crate::instrument::sounds::{Heard, Sound};
use crate::ops;

/// Pitch of a pump at rated speed, Hz.
pub const PUMP_HZ: f64 = 800.0;
/// Firings a turn of the engine.
pub const FIRINGS: f64 = 2.0;
/// Teeth of the ring gear that the starter turns.
const RING_GEAR: f64 = 130.0;
/// Fastest that a starter turns an engine, 1/s.
const STARTER_MOST: f64 = 5.0;
/// Time in which a loudness or a pitch follows, s.
const FOLLOWS_S: f64 = 0.025;
/// How long a click is heard, s, and its pitch, Hz.
const CLICK_S: f64 = 0.012;
const CLICK_HZ: f64 = 1_900.0;
/// How loud one voice is beside the most that a device takes; what comes together beyond that is pressed, not cut.
const ALONE: f64 = 0.3;
/// Half orders of an engine that are heard, with their shares.
const ORDERS: [(f64, f64); 7] =
    [(0.5, 0.25), (1.0, 0.35), (1.5, 0.3), (2.0, 1.0), (3.0, 0.35), (4.0, 0.5), (6.0, 0.2)];
/// Overtones of a pump with their shares: with fuel, and on gas.
const PUMP: [(f64, f64, f64); 4] = [(1.0, 1.0, 0.25), (2.0, 0.45, 0.6), (3.0, 0.2, 1.0), (5.0, 0.08, 0.7)];

/// What is to sound, as an ear beside the vehicle has it. Loudness 0 … 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Voices {
    /// Loudness of the electric pump.
    pub pump: f64,
    /// Its speed against rated speed.
    pub pump_speed: f64,
    /// It runs on gas: thin instead of full.
    pub thin: bool,
    /// Loudness of the engine.
    pub engine: f64,
    /// Loudness of the starter.
    pub starter: f64,
    /// Speed of the engine, 1/min.
    pub rpm: f64,
    /// The engine hunts, or the starter labours.
    pub uneven: bool,
    /// Loudness of rattling injection.
    pub rattle: f64,
    /// A relay has just switched.
    pub relay: bool,
    /// Loudness of a hiss or a spray.
    pub hiss: f64,
    /// Loudness of a valve that hums with the flow.
    pub valve: f64,
    /// Volume of all of it, 0 … 1.
    pub volume: f64,
}

impl Voices {
    /// What is heard, at a volume.
    pub fn of(seen: &Observation, volume: f64) -> Self {
        let mut voices = Self { rpm: seen.rpm, pump_speed: seen.pump_pitch, volume, ..Self::default() };
        for Heard { sound, loudness } in &seen.heard {
            match sound {
                Sound::PumpHum => voices.pump = *loudness,
                Sound::PumpWhine => (voices.pump, voices.thin) = (*loudness, true),
                Sound::Starter => voices.starter = *loudness,
                Sound::StarterSlow => (voices.starter, voices.uneven) = (*loudness, true),
                Sound::EngineEven => voices.engine = *loudness,
                Sound::EngineUneven => (voices.engine, voices.uneven) = (*loudness, true),
                Sound::InjectionRattle => voices.rattle = *loudness,
                Sound::RelayClick => voices.relay = true,
                Sound::CapHiss | Sound::Spraying => voices.hiss = voices.hiss.max(*loudness),
                Sound::ValveHum => voices.valve = *loudness,
                // silence, and drops too far apart to be a tone
                Sound::PumpSilent | Sound::Dripping => {}
            }
        }
        if seen.engine == EngineRun::Cranking {
            voices.rpm = voices.rpm.max(if voices.uneven { 110.0 } else { 210.0 });
        }
        voices
    }

    /// The same, but nothing sounds.
    pub fn silent(self) -> Self {
        Self { volume: 0.0, ..self }
    }
}

/// A value that follows another.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Following(f64);

impl Following {
    fn to(&mut self, target: f64, share: f64) -> f64 {
        self.0 += (target - self.0) * share;
        self.0
    }
}

/// What is sounding: everything that runs on from one stretch of samples to the next.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sounding {
    /// Turns of pump, engine, starter's gear, the slow hunting, the valve; each 0 … 1.
    pump: f64,
    engine: f64,
    gear: f64,
    hunting: f64,
    valve_turn: f64,
    /// Turns of the engine since the last firing that could rattle, and how much of that burst is left.
    fired: f64,
    burst: f64,
    /// Samples made, for noise.
    made: u64,
    /// How long the click has been going on, s; past its end there is none.
    click: f64,
    relay: bool,
    /// Noise with its low part taken out.
    noise: f64,
    loud: [Following; 7],
    pitch: [Following; 2],
}

/// Noise −1 … 1 that depends on nothing but the number of the sample.
fn noise(n: u64) -> f64 {
    let mut h = n.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    h ^= h >> 32;
    h = h.wrapping_mul(0xD6E8_FEB8_6659_FD93);
    h ^= h >> 32;
    (h >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

/// A turn farther on; kept within one turn.
fn turned(turn: f64, by: f64) -> f64 {
    let on = turn + by;
    on - on.floor()
}

fn wave(turn: f64) -> f64 {
    ops::sin(TAU * turn)
}

impl Sounding {
    /// Nothing has sounded yet.
    pub fn silence() -> Self {
        Self { click: CLICK_S, ..Self::default() }
    }

    /// Fills `out` with samples at a rate, Hz, going on from here towards `to`; gives what is sounding then.
    #[must_use]
    pub fn go_on(mut self, to: &Voices, rate: f64, out: &mut [f32]) -> Self {
        if to.relay && !self.relay {
            self.click = 0.0;
        }
        self.relay = to.relay;
        for sample in out {
            *sample = self.next(to, rate) as f32;
        }
        self
    }

    fn next(&mut self, to: &Voices, rate: f64) -> f64 {
        let share = 1.0 - ops::exp(-1.0 / (FOLLOWS_S * rate));
        let wanted = [to.pump, to.engine, to.starter, to.rattle, to.hiss, to.valve, to.volume];
        let mut loud = [0.0; 7];
        for ((now, of), wanted) in loud.iter_mut().zip(&mut self.loud).zip(wanted) {
            *now = of.to(wanted.clamp(0.0, 1.0), share);
        }
        let [pump, engine, starter, rattle, hiss, valve, volume] = loud;
        let speed = self.pitch[0].to(to.pump_speed.clamp(0.0, 3.0), share);
        let rpm = self.pitch[1].to(to.rpm.clamp(0.0, 8_000.0), share);
        self.hunting = turned(self.hunting, 0.8 / rate);
        // an engine that hunts goes up and down by a twentieth
        let turns_s = rpm / 60.0 * if to.uneven { 1.0 + 0.05 * wave(self.hunting) } else { 1.0 };
        self.pump = turned(self.pump, PUMP_HZ * speed / rate);
        // a turn of the cycle is two of the engine, so that half orders close
        self.engine = turned(self.engine, turns_s / 2.0 / rate);
        // its clutch lets the engine run away from it
        self.gear = turned(self.gear, RING_GEAR * turns_s.min(STARTER_MOST) / rate);
        self.valve_turn = turned(self.valve_turn, 180.0 / rate);
        self.made += 1;
        let white = noise(self.made);
        // what lies above some 2 kHz
        self.noise += (white - self.noise) * (TAU * 2_000.0 / rate).min(1.0);
        let sharp = white - self.noise;
        let sum = pump * self.pump_tone(to.thin)
            + engine * self.engine_tone()
            + starter * self.starter_tone()
            + rattle * self.rattling(turns_s, rate, sharp)
            + 0.5 * hiss * sharp
            + 0.5 * valve * wave(self.valve_turn)
            + self.clicking(rate);
        ops::tanh(ALONE * volume * sum)
    }

    fn pump_tone(&self, thin: bool) -> f64 {
        // an eighth of the bars is a turn of the rotor: it throbs once a turn
        let tones = PUMP.iter().map(|(k, full, gas)| wave(k * self.pump) * if thin { gas } else { full });
        tones.sum::<f64>() / 1.6
    }

    fn engine_tone(&self) -> f64 {
        ORDERS.iter().map(|(order, share)| share * wave(2.0 * order * self.engine)).sum::<f64>() / 1.8
    }

    fn starter_tone(&self) -> f64 {
        // slower and louder at each compression
        let labour = 0.6 + 0.4 * wave(2.0 * FIRINGS * self.engine);
        labour * (0.7 * wave(self.gear) + 0.3 * wave(2.0 * self.gear))
    }

    /// Bursts of noise, at some firings and not at others.
    fn rattling(&mut self, turns_s: f64, rate: f64, sharp: f64) -> f64 {
        self.fired += FIRINGS * turns_s / rate;
        if self.fired >= 1.0 {
            self.fired -= 1.0;
            if noise(self.made ^ 0x5EED) > 0.1 {
                self.burst = 1.0;
            }
        }
        // rises within a millisecond and dies away in six
        self.burst *= ops::exp(-1.0 / (0.006 * rate));
        4.0 * self.burst * (1.0 - self.burst) * sharp
    }

    fn clicking(&mut self, rate: f64) -> f64 {
        if self.click >= CLICK_S {
            return 0.0;
        }
        let s = self.click;
        self.click += 1.0 / rate;
        let left = 1.0 - s / CLICK_S;
        1.2 * left * left * wave(CLICK_HZ * s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 44_100.0;

    /// What sounds after a while, and what is sounding then.
    fn played(voices: &Voices, secs: f64) -> (Vec<f32>, Sounding) {
        let settled = Sounding::silence().go_on(voices, RATE, &mut vec![0.0; RATE as usize / 2]);
        let mut out = vec![0.0; (RATE * secs) as usize];
        let after = settled.go_on(voices, RATE, &mut out);
        (out, after)
    }

    /// Strength of a tone in samples.
    fn tone(samples: &[f32], hz: f64) -> f64 {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, s) in samples.iter().enumerate() {
            // a window without steps, so that a tone beside it doesn't leak in
            let window = 0.5 - 0.5 * ops::cos(TAU * n as f64 / samples.len() as f64);
            let turn = hz * n as f64 / RATE;
            re += window * f64::from(*s) * ops::cos(TAU * turn);
            im += window * f64::from(*s) * ops::sin(TAU * turn);
        }
        4.0 * (re * re + im * im).sqrt() / samples.len() as f64
    }

    fn pump(speed: f64, thin: bool) -> Voices {
        Voices { pump: 0.3, pump_speed: speed, thin, volume: 1.0, ..Voices::default() }
    }

    fn engine(rpm: f64) -> Voices {
        Voices { engine: 0.6, rpm, volume: 1.0, ..Voices::default() }
    }

    fn steepest(samples: &[f32]) -> f32 {
        samples.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f32::max)
    }

    #[test]
    fn a_pump_sings_at_the_pitch_of_its_speed() {
        for speed in [0.6, 1.0, 1.3] {
            let (samples, _) = played(&pump(speed, false), 0.5);
            let own = tone(&samples, PUMP_HZ * speed);
            for other in [0.5, 0.8, 1.15].map(|k| PUMP_HZ * speed * k) {
                assert!(
                    own > 30.0 * tone(&samples, other),
                    "{speed}: {own} and {} at {other}",
                    tone(&samples, other)
                );
            }
        }
    }

    #[test]
    fn on_gas_it_loses_its_body_and_keeps_the_thin_tones() {
        let [(full, _), (thin, _)] = [false, true].map(|t| played(&pump(1.0, t), 0.5));
        assert!(tone(&full, PUMP_HZ) > 3.0 * tone(&thin, PUMP_HZ));
        assert!(tone(&thin, 3.0 * PUMP_HZ) > 3.0 * tone(&full, 3.0 * PUMP_HZ));
    }

    #[test]
    fn an_engine_is_heard_at_its_firings() {
        for rpm in [800.0, 2500.0] {
            let (samples, _) = played(&engine(rpm), 1.0);
            let firing = tone(&samples, FIRINGS * rpm / 60.0);
            assert!(firing > 0.01, "{rpm}: {firing}");
            assert!(firing > 20.0 * tone(&samples, 2.25 * rpm / 60.0), "between two orders there is nothing");
        }
    }

    #[test]
    fn one_that_hunts_isnt_a_steady_tone() {
        let steady = tone(&played(&engine(800.0), 2.0).0, FIRINGS * 800.0 / 60.0);
        let hunting = tone(&played(&Voices { uneven: true, ..engine(800.0) }, 2.0).0, FIRINGS * 800.0 / 60.0);
        assert!(hunting < 0.8 * steady, "{hunting} {steady}");
    }

    #[test]
    fn rattle_is_noise_in_bursts_above_the_engines_note() {
        let rattling = Voices { rattle: 0.6, rpm: 800.0, volume: 1.0, ..Voices::default() };
        let (samples, _) = played(&rattling, 1.0);
        let power = |s: &[f32]| s.iter().map(|v| f64::from(v * v)).sum::<f64>() / s.len() as f64;
        let parts: Vec<f64> = samples.chunks(RATE as usize / 200).map(power).collect();
        let (most, least) =
            (parts.iter().fold(0.0, |a: f64, b| a.max(*b)), parts.iter().fold(1.0, |a: f64, b| a.min(*b)));
        assert!(most > 20.0 * least && most > 1e-5, "{most} {least}");
        let high: f64 = (30..60).map(|k| tone(&samples, 100.0 * f64::from(k))).sum();
        let low: f64 = (1..31).map(|k| tone(&samples, 20.0 * f64::from(k))).sum();
        assert!(high > 2.0 * low, "{high} {low}");
    }

    #[test]
    fn a_relay_clicks_once_and_is_gone() {
        let click = Voices { relay: true, volume: 1.0, ..Voices::default() };
        let ready = Sounding::silence().go_on(&Voices { relay: false, ..click }, RATE, &mut vec![0.0; 22_050]);
        let mut first = vec![0.0; 2_000];
        let after = ready.go_on(&click, RATE, &mut first);
        assert!(first.iter().any(|s| s.abs() > 0.05) && first[0].abs() < 1e-3);
        let mut later = vec![0.0; 2_000];
        let _ = after.go_on(&click, RATE, &mut later);
        assert!(later.iter().all(|s| *s == 0.0), "held on, it doesn't click again");
    }

    #[test]
    fn nothing_jumps_when_anything_changes() {
        let loud = Voices {
            pump: 0.4,
            pump_speed: 1.0,
            engine: 0.8,
            rpm: 2500.0,
            valve: 0.4,
            volume: 1.0,
            ..Voices::default()
        };
        let changes = [
            loud.silent(),
            Voices { rpm: 800.0, ..loud },
            Voices { engine: 0.0, starter: 0.6, rpm: 200.0, ..loud },
            Voices { pump_speed: 0.3, thin: false, ..loud },
        ];
        let (before, sounding) = played(&loud, 0.5);
        for to in changes {
            let mut after = vec![0.0; 4_410];
            let _ = sounding.go_on(&to, RATE, &mut after);
            let (after_long, _) = played(&to, 0.5);
            let seam = (after[0] - before[before.len() - 1]).abs();
            let usual = steepest(&before).max(steepest(&after_long));
            let most = steepest(&after);
            assert!(seam <= 1.3 * usual && most <= 1.3 * usual, "{to:?}: {seam} {most} {usual}");
        }
    }

    #[test]
    fn silence_is_silent_and_nothing_is_too_loud() {
        let (quiet, _) = played(&Voices { volume: 1.0, ..Voices::default() }, 0.2);
        assert!(quiet.iter().all(|s| *s == 0.0));
        let all = Voices {
            pump: 1.0,
            pump_speed: 1.2,
            engine: 1.0,
            starter: 1.0,
            rpm: 3000.0,
            rattle: 1.0,
            relay: true,
            hiss: 1.0,
            valve: 1.0,
            volume: 1.0,
            ..Voices::default()
        };
        assert!(played(&all, 1.0).0.iter().all(|s| s.abs() < 1.0), "it is never cut");
    }

    #[test]
    fn slices_change_no_sample() {
        let voices = engine(1200.0);
        let mut whole = vec![0.0; 3_000];
        let _ = Sounding::silence().go_on(&voices, RATE, &mut whole);
        let mut sliced = vec![0.0; 3_000];
        let mut sounding = Sounding::silence();
        for part in sliced.chunks_mut(77) {
            sounding = sounding.go_on(&voices, RATE, part);
        }
        assert_eq!(whole, sliced);
    }
}
