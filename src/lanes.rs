//! Numbers of several vehicles side by side, so that one instruction serves them all.
//!
//! [`Lanes<L>`] holds one number for each of L vehicles. All operations work lane by lane, in the same
//! order whatever L is, so a lane's bits don't depend on its neighbours. The transcendental functions
//! are polynomials without branches: compilers turn loops over them into vector instructions, and
//! the bits are the same on every computer because only exact IEEE operations are used.

use core::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub, SubAssign};

/// One number for each of L vehicles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lanes<const L: usize>(pub [f64; L]);

impl<const L: usize> Default for Lanes<L> {
    fn default() -> Self {
        Self::ZERO
    }
}

macro_rules! lane_by_lane {
    ($trait:ident, $method:ident, $op:tt) => {
        impl<const L: usize> $trait for Lanes<L> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self(core::array::from_fn(|i| self.0[i] $op other.0[i]))
            }
        }
        impl<const L: usize> $trait<f64> for Lanes<L> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                Self(core::array::from_fn(|i| self.0[i] $op other))
            }
        }
        impl<const L: usize> $trait<Lanes<L>> for f64 {
            type Output = Lanes<L>;
            #[inline(always)]
            fn $method(self, other: Lanes<L>) -> Lanes<L> {
                Lanes(core::array::from_fn(|i| self $op other.0[i]))
            }
        }
    };
}

lane_by_lane!(Add, add, +);
lane_by_lane!(Sub, sub, -);
lane_by_lane!(Mul, mul, *);
lane_by_lane!(Div, div, /);

impl<const L: usize> Neg for Lanes<L> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.map(|v| -v)
    }
}

impl<const L: usize> AddAssign for Lanes<L> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const L: usize> SubAssign for Lanes<L> {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const L: usize> MulAssign for Lanes<L> {
    #[inline(always)]
    fn mul_assign(&mut self, other: Self) {
        *self = *self * other;
    }
}

impl<const L: usize> Lanes<L> {
    /// Zero in every lane.
    pub const ZERO: Self = Self([0.0; L]);
    /// One in every lane.
    pub const ONE: Self = Self([1.0; L]);

    /// The same number in every lane.
    #[inline(always)]
    pub const fn all(value: f64) -> Self {
        Self([value; L])
    }

    /// A function of each lane.
    #[inline(always)]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self(core::array::from_fn(|i| f(self.0[i])))
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    /// Magnitude.
    #[inline(always)]
    pub fn abs(self) -> Self {
        self.map(f64::abs)
    }

    /// The larger of each lane and a bound.
    #[inline(always)]
    pub fn at_least(self, bound: f64) -> Self {
        self.map(|v| if v > bound { v } else { bound })
    }

    /// The smaller of each lane and a bound.
    #[inline(always)]
    pub fn at_most(self, bound: f64) -> Self {
        self.map(|v| if v < bound { v } else { bound })
    }

    /// `yes` where the lane holds, else `no`.
    #[inline(always)]
    pub fn choose(self, holds: impl Fn(f64) -> bool, yes: Self, no: Self) -> Self {
        Self(core::array::from_fn(|i| if holds(self.0[i]) { yes.0[i] } else { no.0[i] }))
    }

    /// Whether any lane holds.
    #[inline(always)]
    pub fn any(self, holds: impl Fn(f64) -> bool) -> bool {
        self.0.iter().any(|&v| holds(v))
    }

    /// eˣ, within 1 ulp or two; x beyond ±700 is taken as ±700.
    #[inline(always)]
    pub fn exp(self) -> Self {
        self.map(exp)
    }

    /// Natural logarithm of a positive normal number, within 2 ulp.
    #[inline(always)]
    pub fn ln(self) -> Self {
        self.map(ln)
    }

    /// xʸ for positive x.
    #[inline(always)]
    pub fn powf(self, y: Self) -> Self {
        (self.ln() * y).exp()
    }

    /// Hyperbolic tangent, absolute error below 3e-16.
    #[inline(always)]
    pub fn tanh(self) -> Self {
        let e = (self.abs() * -2.0).exp();
        let t = (Self::ONE - e) / (Self::ONE + e);
        Self(core::array::from_fn(|i| if self.0[i] < 0.0 { -t.0[i] } else { t.0[i] }))
    }
}

/// Adding and subtracting it rounds to a whole number: 1.5·2⁵².
const ROUNDER: f64 = 6_755_399_441_055_744.0;

/// See [`Lanes::exp`]. x = n·ln 2 + r, |r| ≤ ½ ln 2; eʳ by its series to r¹³, 2ⁿ by its bits.
#[inline(always)]
fn exp(x: f64) -> f64 {
    const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    let x = if x > 700.0 { 700.0 } else { x };
    let x = if x < -700.0 { -700.0 } else { x };
    let shifted = x * core::f64::consts::LOG2_E + ROUNDER;
    let n = shifted - ROUNDER;
    let r = (x - n * LN2_HIGH) - n * LN2_LOW;
    let r2 = r * r;
    let even = 1.0
        + r2 * (1.0 / 2.0
            + r2 * (1.0 / 24.0
                + r2 * (1.0 / 720.0 + r2 * (1.0 / 40_320.0 + r2 * (1.0 / 3_628_800.0 + r2 / 479_001_600.0)))));
    let odd = 1.0
        + r2 * (1.0 / 6.0
            + r2 * (1.0 / 120.0
                + r2 * (1.0 / 5040.0 + r2 * (1.0 / 362_880.0 + r2 * (1.0 / 39_916_800.0 + r2 / 6_227_020_800.0)))));
    let power = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
    (even + r * odd) * power
}

/// See [`Lanes::ln`]. x = m·2ᵉ with m in [√½, √2); ln m = 2·artanh((m−1)/(m+1)) by its series.
#[inline(always)]
fn ln(x: f64) -> f64 {
    // bits of √½: subtracting them first puts the mantissa into [√½, √2)
    const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE_BITS: u64 = 0x3ff0_0000_0000_0000;
    let bits = x.to_bits().wrapping_add(ONE_BITS - ROOT_HALF);
    let m = f64::from_bits((bits & 0x000f_ffff_ffff_ffff).wrapping_add(ROOT_HALF));
    // exponent as a number without a conversion: into the mantissa of 2⁵²
    let e = f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000) - (4_503_599_627_370_496.0 + 1023.0);
    let s = (m - 1.0) / (m + 1.0);
    let s2 = s * s;
    let series = 1.0 / 3.0
        + s2 * (1.0 / 5.0
            + s2 * (1.0 / 7.0
                + s2 * (1.0 / 9.0
                    + s2 * (1.0 / 11.0
                        + s2 * (1.0 / 13.0
                            + s2 * (1.0 / 15.0 + s2 * (1.0 / 17.0 + s2 * (1.0 / 19.0 + s2 / 21.0))))))));
    let small = 2.0 * s + 2.0 * s * s2 * series;
    e * 6.931_471_803_691_238e-1 + (small + e * 1.908_214_929_270_587_7e-10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn exponential_and_logarithm_agree_with_the_portable_library(x in -690.0f64..690.0, y in 1e-290f64..1e290, u in -25.0f64..25.0) {
            let e = Lanes([x]).exp().0[0];
            prop_assert!((e / ops::exp(x) - 1.0).abs() < 6e-16, "exp {x}: {e}");
            for v in [y, 1.0 + u * 1e-3, ops::exp(u)] {
                let l = Lanes([v]).ln().0[0];
                prop_assert!((l - ops::ln(v)).abs() <= 4e-16 * ops::ln(v).abs() + 2e-17, "ln {v}: {l}");
            }
            prop_assert!((Lanes([u]).tanh().0[0] - ops::tanh(u)).abs() < 3e-16);
        }

        #[test]
        fn a_lane_knows_nothing_of_its_neighbours(a in proptest::array::uniform4(0.01f64..50.0)) {
            let four = (Lanes(a).ln() * Lanes(a).sqrt() - 0.3).exp().tanh();
            for (a, four) in a.into_iter().zip(four.0) {
                let one = (Lanes([a]).ln() * Lanes([a]).sqrt() - 0.3).exp().tanh();
                prop_assert_eq!(one.0[0].to_bits(), four.to_bits());
            }
        }
    }

    #[test]
    fn ends_of_the_range_stay_finite() {
        assert!(Lanes([1e9]).exp().0[0].is_finite());
        assert!(Lanes([-1e9]).exp().0[0] > 0.0);
        assert_eq!(Lanes([0.0]).exp().0[0], 1.0);
        assert_eq!(Lanes([1.0]).ln().0[0], 0.0);
        assert_eq!(Lanes([0.0]).tanh().0[0], 0.0);
    }
}
