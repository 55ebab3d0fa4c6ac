//! The methods of a step: linearly implicit Runge–Kutta (Rosenbrock) methods, L-stable and stiffly accurate, so that the
//! last stage is the error of what the others have found.
//!
//! In the form that needs no product with the Jacobian J, over a step h from y₀ stage i solves
//! `(I/(hγ) − J) uᵢ = f(y₀ + Σ aᵢⱼ uⱼ) + Σ cᵢⱼ uⱼ / h`; y₁ is where the last stage began, plus that stage.

use crate::ops;

/// Which method.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Order 3 with an embedded 2, four stages with two right-hand sides beside that of the start (RODAS3: Sandu and others,
    /// Benchmarking stiff ODE solvers for atmospheric chemistry problems II, Atmospheric Environment 31, 1997). For loose tolerances,
    /// where only means over windows are used.
    Third,
    /// Order 4 with an embedded 3, six stages with five (RODAS: Hairer & Wanner, Solving Ordinary Differential
    /// Equations II, 2nd ed. 1996, §IV.10). For close ones.
    Fourth,
}

/// The numbers of a method.
#[derive(Debug)]
pub(super) struct Method {
    pub(super) gamma: f64,
    /// For each stage where it begins: a share of each stage before; of none: at the start of the step. The last begins
    /// where the one before began, moved by what that found.
    pub(super) a: &'static [&'static [f64]],
    /// For each stage what it takes over from each stage before.
    pub(super) c: &'static [&'static [f64]],
    /// Coefficients of the dense output, see [`Stepper::at`](super::step::Stepper::at).
    pub(super) dense: [&'static [f64]; 2],
    /// Weight of the worst state's error. A mean over states would let one small vessel ring unseen. The embedded solution of
    /// order 2 is so much worse than the one of order 3 that the error is believed by two fifths as much.
    pub(super) weight: f64,
}

impl Order {
    pub(super) fn method(self) -> &'static Method {
        match self {
            Self::Third => &THIRD,
            Self::Fourth => &FOURTH,
        }
    }

    /// How many stages a step has.
    pub fn stages(self) -> usize {
        self.method().a.len()
    }

    /// By what a step must be shorter so that an error becomes 1.
    pub(super) fn root(self, error: f64) -> f64 {
        match self {
            Self::Third => ops::powf(error, 1.0 / 3.0),
            Self::Fourth => error.sqrt().sqrt(),
        }
    }
}

const THIRD: Method = Method {
    gamma: 0.5,
    a: &[&[], &[], &[2.0], &[2.0, 0.0, 1.0]],
    c: &[&[], &[4.0], &[1.0, -1.0], &[1.0, -1.0, -8.0 / 3.0]],
    // of order 2, found from the order conditions
    dense: [&[3.0, -1.0, -1.0, -1.0], &[0.0, 0.0, -1.0, -1.0]],
    weight: 0.16,
};

const FOURTH: Method = Method {
    gamma: 0.25,
    a: &[
        &[],
        &[0.1544e1],
        &[0.946_678_528_081_582_6, 0.255_701_169_898_328_4],
        &[3.314_825_187_068_521, 2.896_124_015_972_201, 0.998_641_913_997_781_7],
        &[1.221_224_509_226_641, 6.019_134_481_288_629, 12.537_083_329_320_87, -0.687_886_036_105_895],
        &[1.221_224_509_226_641, 6.019_134_481_288_629, 12.537_083_329_320_87, -0.687_886_036_105_895, 1.0],
    ],
    c: &[
        &[],
        &[-5.6688],
        &[-2.430_093_356_833_875, -0.206_359_915_709_191_5],
        &[-0.107_352_905_815_137_5, -9.594_562_251_023_355, -20.470_286_148_096_16],
        &[7.496_443_313_967_647, -10.246_804_314_643_52, -33.999_903_528_199_05, 11.708_908_932_061_6],
        &[
            8.083_246_795_921_522,
            -7.981_132_988_064_893,
            -31.521_594_328_743_71,
            16.319_305_431_231_36,
            -6.058_818_238_834_054,
        ],
    ],
    dense: [
        &[
            10.126_235_083_445_86,
            -7.487_995_877_610_167,
            -34.800_918_615_557_47,
            -7.992_771_707_568_823,
            1.025_137_723_295_662,
        ],
        &[
            -0.676_280_339_280_125_3,
            6.087_714_651_680_015,
            16.430_843_208_924_78,
            24.767_225_114_183_86,
            -6.594_389_125_716_872,
        ],
    ],
    weight: 0.4,
};

#[cfg(test)]
mod tests {
    use super::*;

    /// A step of a method over y' = y(1 − y)(2 + y): end, error and the dense output at a share of the step.
    fn step(m: &Method, y0: f64, h: f64, share: f64) -> [f64; 3] {
        let f = |y: f64| y * (1.0 - y) * (2.0 + y);
        let jacobian = 2.0 - 2.0 * y0 - 3.0 * y0 * y0;
        let pivot = 1.0 / (h * m.gamma) - jacobian;
        let sum = |factors: &[f64], u: &[f64]| factors.iter().zip(u).map(|(a, u)| a * u).sum::<f64>();
        let mut u: Vec<f64> = vec![];
        for (a, c) in m.a.iter().zip(m.c) {
            u.push((f(y0 + sum(a, &u)) + sum(c, &u) / h) / pivot);
        }
        let last = u.len() - 1;
        let end = y0 + sum(m.a[last], &u) + u[last];
        let [d2, d3] = m.dense.map(|d| sum(d, &u));
        let rest = 1.0 - share;
        [end, u[last], rest * y0 + share * (end + rest * (d2 + share * d3))]
    }

    /// The exact solution, by steps so small that nothing is left of their error.
    fn exact(y0: f64, h: f64) -> f64 {
        (0..2000).fold(y0, |y, _| step(&FOURTH, y, h / 2000.0, 0.0)[0])
    }

    /// By what power of h end, error and dense output of a single step go with h.
    fn powers(m: &Method) -> [f64; 3] {
        let (y0, share) = (0.2, 0.4);
        let wrong = |h: f64| {
            let [end, error, between] = step(m, y0, h, share);
            [end - exact(y0, h), error, between - exact(y0, share * h)]
        };
        let (coarse, fine) = (wrong(0.02), wrong(0.01));
        std::array::from_fn(|i| ops::log2((coarse[i] / fine[i]).abs()))
    }

    /// Of order p: a single step is wrong by h to the power p + 1, or by less where two errors happen to cancel.
    #[test]
    fn methods_are_of_their_order() {
        for (order, want) in [(Order::Third, [4.0, 3.0, 3.0]), (Order::Fourth, [5.0, 4.0, 4.0])] {
            let powers = powers(order.method());
            for (power, want) in powers.into_iter().zip(want) {
                assert!(power > want - 0.15, "{order:?}: {powers:?}");
            }
        }
        let wrong = Method { c: &[&[], &[4.0], &[1.0, -1.0], &[1.0, -1.0, -2.7]], ..THIRD };
        assert!(powers(&wrong)[0] < 3.5, "a wrong coefficient is noticed: {:?}", powers(&wrong));
    }

    #[test]
    fn the_last_stage_begins_where_the_one_before_ended() {
        for order in [Order::Third, Order::Fourth] {
            let a = order.method().a;
            let [.., before, last] = a else { panic!("{order:?}") };
            let mut moved = vec![0.0; last.len() - 1];
            moved[..before.len()].copy_from_slice(before);
            moved.push(1.0);
            assert_eq!(**last, moved, "{order:?}");
        }
    }
}
