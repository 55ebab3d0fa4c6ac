//! Random numbers as a *function*, not a stream: a value depends on (seed, purpose, index) only.
//!
//! Whoever asks, in whatever order, from whichever thread, gets the same number; so a trace that
//! is drawn in pieces equals one drawn at once, and two learners who make the same test see the
//! same reading. The generator is ChaCha with eight rounds, whose output is fixed by its
//! publication; the transforms are ours because those of general crates may change between
//! versions and use the platform's mathematics.

use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng};

use crate::ops;

/// What a random number is for. Each purpose has its own independent sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u64)]
pub enum Purpose {
    /// Manufacturing tolerances of the vehicle.
    Tolerance = 1,
    /// Severity and place of a fault within its band.
    Severity = 2,
    /// Noise of the pressure channel, indexed by sample.
    PressureNoise = 3,
    /// Offset and gain of the instrument as it comes out of the drawer.
    Instrument = 4,
    /// Errors a tester may make without noticing.
    TestKit = 5,
    /// Noise of every other channel, indexed by sample; each channel has a seed of its own.
    ReadingNoise = 6,
    /// Coming and going of intermittent faults, indexed by dwell.
    Intermittent = 7,
    /// What a simulated learner does and sees, indexed by step.
    VirtualLearner = 8,
    /// What differs between equivalent variants of a job, indexed by choice.
    Variant = 9,
    /// When the logger samples, where it samples seldom.
    Sampling = 10,
}

fn generator(seed: u64, purpose: Purpose, index: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ (purpose as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15));
    // one ChaCha block is sixteen words; each index owns one block
    rng.set_word_pos(u128::from(index) * 16);
    rng
}

fn unit_interval(word: u64) -> f64 {
    // 53 random bits, centred so that neither 0 nor 1 occurs
    ((word >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
}

/// A number evenly spread over (0, 1).
pub fn uniform(seed: u64, purpose: Purpose, index: u64) -> f64 {
    unit_interval(generator(seed, purpose, index).next_u64())
}

/// A standard normal number (mean 0, standard deviation 1), by the Box–Muller transform.
pub fn normal(seed: u64, purpose: Purpose, index: u64) -> f64 {
    let mut rng = generator(seed, purpose, index);
    let (u, v) = (unit_interval(rng.next_u64()), unit_interval(rng.next_u64()));
    (-2.0 * ops::ln(u)).sqrt() * ops::cos(2.0 * core::f64::consts::PI * v)
}

/// A number from a distribution of `rand_distr`. Of those only the ones that take the four operations and a square
/// root (uniform, triangular) come out with the same bits on every computer; what the others give must be rounded.
pub fn drawn(seed: u64, purpose: Purpose, index: u64, from: &impl rand_distr::Distribution<f64>) -> f64 {
    from.sample(&mut generator(seed, purpose, index))
}

/// A normal number cut at ±`limit` standard deviations by folding the tail back inside.
pub fn normal_within(seed: u64, purpose: Purpose, index: u64, limit: f64) -> f64 {
    let z = normal(seed, purpose, index);
    if z.abs() <= limit { z } else { z % limit }
}

/// A seed for a part of the whole, independent of its siblings.
pub fn child_seed(seed: u64, label: &str, index: u64) -> u64 {
    let mut hash = blake3::Hasher::new();
    hash.update(&seed.to_le_bytes());
    hash.update(label.as_bytes());
    hash.update(&index.to_le_bytes());
    let mut word = [0; 8];
    word.copy_from_slice(&hash.finalize().as_bytes()[..8]);
    u64::from_le_bytes(word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_distr::{Distribution, StandardNormal};

    #[test]
    fn a_value_does_not_depend_on_what_was_asked_before() {
        let later = normal(7, Purpose::PressureNoise, 1_000_000);
        for i in 0..100 {
            normal(7, Purpose::PressureNoise, i);
        }
        assert_eq!(later.to_bits(), normal(7, Purpose::PressureNoise, 1_000_000).to_bits());
        assert_ne!(later.to_bits(), normal(8, Purpose::PressureNoise, 1_000_000).to_bits());
    }

    #[test]
    fn normal_numbers_have_the_moments_of_an_independent_generator() {
        let n = 20_000_u32;
        let moments = |draw: &mut dyn FnMut(u64) -> f64| {
            let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
            for i in 0..u64::from(n) {
                let z = draw(i);
                a += z;
                b += z * z;
                c += z * z * z * z;
            }
            [a / f64::from(n), b / f64::from(n), c / f64::from(n)]
        };
        let ours = moments(&mut |i| normal(3, Purpose::Tolerance, i));
        let mut rng = ChaCha8Rng::seed_from_u64(99);
        let theirs = moments(&mut |_| StandardNormal.sample(&mut rng));
        // standard errors of the three moments at n = 20 000 are 0.007, 0.010 and 0.07
        for (i, tolerance) in [0.03, 0.05, 0.4].into_iter().enumerate() {
            assert!((ours[i] - theirs[i]).abs() < tolerance, "moment {i}: {} and {}", ours[i], theirs[i]);
        }
    }
}
