//! A fast record of a pump's current through the clamp: mean, peak, swing of the ripple, and how even its humps are.
//!
//! The logger's 20 ms can't show a ripple of hundreds of hertz and the number on a display is its mean, so the clamp is
//! recorded 20 000 times a second for some tenths of a second. Motor: i(t) = ī(t)·[c(θ) + w·sin 2πθ], ī the smooth
//! current, θ turns, c the commutator's crests ([`Commutator::factor`]), w once a turn what a worn stage adds. From a torque
//! that swings by a share u once a turn, through the rotor's inertia and the winding's impedance:
//! w = u·K²/(J·ω·√(R² + ω²L²)). Then the clamp: its low-pass, noise and steps.
//!
//! *Unevenness* compares the humps of a turn as an eye does: means over each hump, averaged over the turns of the record,
//! most less least over the mean. *Speed* is what a counter makes of the ripple: where one hump is nearly gone it counts
//! wrongly, as a counter does.
//!
//! Stops being true: a control that chops counts with its mean; brushes that bounce.

use core::f64::consts::PI;

use super::clamp::{ClampRange, CurrentClamp};
use super::display::{Doubt, Shown};
use super::lag::{Lag, of_corner};
use super::motor_current::{Commutator, Extent, frequency_hz, speed_rpm};
use crate::ops;

/// From sample to sample, µs.
pub const EVERY: u64 = 50;
/// From one smooth moment to the next, µs.
pub const MOMENTS: u64 = 1000;
/// The last stretch of a record from which mean, swing and unevenness are taken, µs.
pub const STEADY: u64 = 100_000;
/// Slower than this a motor's humps can't be told apart in the record, turns.
const LEAST_TURNS: f64 = 2.0;

/// The smooth part of a motor's current at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// When, µs.
    pub at: u64,
    /// Mean over the ripple, A.
    pub amps: f64,
    /// Turns made so far.
    pub turns: f64,
}

/// What makes a motor's current ripple.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ripple {
    /// The commutator.
    pub commutator: Commutator,
    /// Share of the current that swings once a turn, w.
    pub once_a_turn: f64,
}

/// Share of the current that swings once a turn for a torque that swings by a share: `constant` V·s/rad, `inertia`
/// kg·m², `speed` rad/s, `ohm` and `henry` of the whole circuit. Nothing while it stands.
pub fn once_a_turn(share: f64, constant: f64, inertia: f64, speed: f64, ohm: f64, henry: f64) -> f64 {
    if speed < 20.0 {
        return 0.0;
    }
    let reactance = speed * henry;
    share * constant * constant / (inertia * speed * (ohm * ohm + reactance * reactance).sqrt())
}

/// What a record shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Captured {
    /// Mean of the last stretch, A.
    pub mean: Shown,
    /// Highest sample of the whole record, A.
    pub peak: Shown,
    /// Most less least of the last stretch, A.
    pub swing: Shown,
    /// Most less least of a turn's humps, per cent of the mean; none where none can be told.
    pub uneven: Option<f64>,
    /// Speed by the ripple's count, 1/min; none where no ripple can be counted.
    pub rpm: Option<f64>,
    /// How far the mean may be off, A.
    pub doubt: Doubt,
}

/// Current and turns between two moments.
fn between(moments: &[Moment], at: u64) -> Option<(f64, f64)> {
    let first = moments.first()?.at;
    let i = ((at.checked_sub(first)?) / MOMENTS) as usize;
    let (a, b) = (moments.get(i)?, moments.get(i + 1)?);
    let share = (at - a.at) as f64 / (b.at - a.at) as f64;
    Some((a.amps + share * (b.amps - a.amps), a.turns + share * (b.turns - a.turns)))
}

/// Records through a clamp, or, without one, as a clamp of a range without errors would: only as slowly, and cut
/// to its range. `since`: when the clamp was taken in hand, µs; `first` numbers the first sample; `zeroed` as for
/// [`CurrentClamp::doubt`]. None with too little to record.
pub fn record(
    clamp: Option<&CurrentClamp>,
    range: ClampRange,
    since: u64,
    zeroed: Option<u64>,
    moments: &[Moment],
    ripple: Ripple,
    first: u64,
) -> Option<Captured> {
    let (start, end) = (moments.first()?.at, moments.last()?.at);
    let mut clamp = clamp.cloned();
    let mut lag = Lag::new();
    let (mut samples, mut turns) = (vec![], vec![]);
    let mut over_range = false;
    let mut at = start;
    while let Some((amps, theta)) = between(moments, at) {
        let within = 2.0 * PI * (theta - theta.floor());
        let true_amps = amps * (ripple.commutator.factor(theta) + ripple.once_a_turn * ops::sin(within));
        let shown = match &mut clamp {
            Some(clamp) => {
                clamp.read(at.saturating_sub(since), true_amps, first.wrapping_add(samples.len() as u64))
            }
            None => {
                let seen = lag.follow(at, true_amps, of_corner(range.corner_hz));
                Shown::within(seen, -range.most, range.most)
            }
        };
        over_range |= shown.over_range;
        samples.push(shown.value);
        turns.push(theta);
        at += EVERY;
    }
    let whole = Extent::of(&samples)?;
    let last = samples.len().saturating_sub((STEADY / EVERY) as usize);
    let steady = Extent::of(&samples[last..])?;
    let per_s = 1e6 / EVERY as f64;
    let rpm = frequency_hz(&samples[last..], per_s)
        .filter(|_| steady.most - steady.least > 8.0 * range.noise.max(range.step))
        .map(|hz| speed_rpm(hz, ripple.commutator.pulses_a_turn()));
    let meant = clamp.unwrap_or_else(|| CurrentClamp::new(0, range));
    Some(Captured {
        mean: Shown { value: steady.mean, over_range },
        peak: Shown { value: whole.most, over_range },
        swing: Shown { value: steady.most - steady.least, over_range },
        uneven: unevenness(&samples[last..], &turns[last..], ripple.commutator.pulses_a_turn()),
        rpm,
        doubt: meant.doubt(end.saturating_sub(since), steady.mean, zeroed),
    })
}

/// Most less least of the humps of a turn, per cent of the mean.
fn unevenness(samples: &[f64], turns: &[f64], humps: u32) -> Option<f64> {
    let made = turns.last()? - turns.first()?;
    if made < LEAST_TURNS {
        return None;
    }
    let mut sums = vec![(0.0, 0.0); humps as usize];
    for (sample, theta) in samples.iter().zip(turns) {
        let hump = (f64::from(humps) * (theta - theta.floor())) as usize;
        let (sum, count) = &mut sums[hump.min(humps as usize - 1)];
        *sum += sample;
        *count += 1.0;
    }
    if sums.iter().any(|(_, count)| *count == 0.0) {
        return None;
    }
    let means: Vec<f64> = sums.iter().map(|(sum, count)| sum / count).collect();
    let extent = Extent::of(&means)?;
    (extent.mean > 0.05).then(|| 100.0 * (extent.most - extent.least) / extent.mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steady(amps: f64, rpm: f64) -> Vec<Moment> {
        (0..=120).map(|i| Moment { at: i * MOMENTS, amps, turns: rpm / 60.0 * i as f64 * 1e-3 + 0.004 }).collect()
    }

    fn seen(range: ClampRange, worn: f64, once: f64) -> Captured {
        let mut clamp = CurrentClamp::new(4, range);
        clamp.set_zero(0);
        let ripple = Ripple { commutator: Commutator { segments: 8, worn }, once_a_turn: once };
        record(Some(&clamp), range, 0, Some(0), &steady(5.0, 5400.0), ripple, 77).unwrap()
    }

    #[test]
    fn a_sound_motor_shows_even_humps_and_its_speed() {
        let c = seen(ClampRange::SMALL, 0.0, 0.0);
        assert!((c.mean.value - 5.0).abs() < 3.0 * c.doubt.combined() + 0.01, "{c:?}");
        assert!((0.3..0.46).contains(&c.swing.value), "{c:?}");
        assert!(c.uneven.unwrap() < 0.6, "{c:?}");
        assert!((c.rpm.unwrap() / 5400.0 - 1.0).abs() < 0.01, "{c:?}");
    }

    #[test]
    fn a_worn_stage_and_a_worn_segment_make_humps_uneven() {
        let (sound, stage, segment) = (
            seen(ClampRange::SMALL, 0.0, 0.0),
            seen(ClampRange::SMALL, 0.0, 0.015),
            seen(ClampRange::SMALL, 0.6, 0.0),
        );
        // a sine of 1.5 % averaged over humps of an eighth of a turn
        assert!((2.0..3.4).contains(&stage.uneven.unwrap()), "{stage:?}");
        // one hump of eight half gone: ½ · 60 %, a little less behind the low-pass
        assert!((24.0..34.0).contains(&segment.uneven.unwrap()), "{segment:?}");
        assert!(segment.swing.value > 4.0 * sound.swing.value);
    }

    #[test]
    fn the_large_range_hardly_shows_a_ripple_and_the_small_one_clips_an_inrush() {
        let fine = seen(ClampRange::SMALL, 0.0, 0.015).uneven.unwrap();
        let coarse = seen(ClampRange::LARGE, 0.0, 0.015);
        assert!(coarse.rpm.is_none_or(|rpm| (rpm - 5400.0).abs() > 300.0), "{coarse:?}");
        assert!((coarse.uneven.unwrap() - fine).abs() < 2.0, "{coarse:?} {fine}");
        let rising: Vec<Moment> = (0..=300)
            .map(|i| {
                let amps = super::super::motor_current::inrush(f64::from(i as u32) * 1e-3, 28.0, 5.0, 0.04, 0.001);
                Moment { at: i * MOMENTS, amps, turns: i as f64 * 0.07 }
            })
            .collect();
        let ripple = Ripple { commutator: Commutator { segments: 8, worn: 0.0 }, once_a_turn: 0.0 };
        let of = |range| record(None, range, 0, None, &rising, ripple, 0).unwrap();
        let (small, large) = (of(ClampRange::SMALL), of(ClampRange::LARGE));
        assert!(small.peak.over_range && small.peak.value == 20.0, "{small:?}");
        assert!(!large.peak.over_range && (22.0..30.0).contains(&large.peak.value), "{large:?}");
    }

    #[test]
    fn a_swing_of_torque_is_smoothed_by_the_rotor() {
        // the reference pump at 5400 1/min: a quarter of the torque gives less than two per cent of the current
        let w = once_a_turn(0.25, 0.0122, 6e-6, 565.0, 0.54, 6e-4);
        assert!((0.01..0.03).contains(&w), "{w}");
        assert_eq!(once_a_turn(0.25, 0.0122, 6e-6, 0.0, 0.54, 6e-4), 0.0);
    }

    #[test]
    fn a_motor_that_stands_has_no_humps() {
        let moments: Vec<Moment> = (0..=120).map(|i| Moment { at: i * MOMENTS, amps: 0.0, turns: 3.0 }).collect();
        let ripple = Ripple { commutator: Commutator { segments: 8, worn: 0.0 }, once_a_turn: 0.0 };
        let c = record(None, ClampRange::SMALL, 0, None, &moments, ripple, 0).unwrap();
        assert_eq!((c.mean.value, c.uneven, c.rpm), (0.0, None, None));
    }
}
