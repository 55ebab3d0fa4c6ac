//! Points that fill a cube evenly, the same every time.
//!
//! Sobol's sequence in up to sixteen dimensions, each dimension scrambled by a fixed nested
//! permutation of its bits. An average over such points is nearer to the integral than one over
//! random points, and two marks of one attempt use the same points.
//!
//! Source: S. Joe, F. Y. Kuo, "Constructing Sobol sequences with better two-dimensional projections",
//! SIAM J. Sci. Comput. 30 (2008) 2635 (direction numbers, their table D6); A. B. Owen, "Randomly permuted
//! (t,m,s)-nets", 1995 (scrambling), here with a hash in place of random permutations.

/// Most dimensions that there are direction numbers for.
pub const MOST_DIMENSIONS: usize = 16;

/// Degree, coefficients and first direction numbers of the second and later dimensions.
const PRIMITIVE: [(u32, u32, &[u32]); MOST_DIMENSIONS - 1] = [
    (1, 0, &[1]),
    (2, 1, &[1, 3]),
    (3, 1, &[1, 3, 1]),
    (3, 2, &[1, 1, 1]),
    (4, 1, &[1, 1, 3, 3]),
    (4, 4, &[1, 3, 5, 13]),
    (5, 2, &[1, 1, 5, 5, 17]),
    (5, 4, &[1, 1, 5, 5, 5]),
    (5, 7, &[1, 1, 7, 11, 19]),
    (5, 11, &[1, 1, 5, 1, 1]),
    (5, 13, &[1, 1, 1, 3, 11]),
    (5, 14, &[1, 3, 5, 5, 31]),
    (6, 1, &[1, 3, 3, 9, 7, 49]),
    (6, 13, &[1, 1, 1, 15, 21, 21]),
    (6, 16, &[1, 3, 1, 13, 27, 49]),
];

fn directions(dimension: usize) -> [u32; 32] {
    let mut v = [0_u32; 32];
    if dimension == 0 {
        for (i, v) in v.iter_mut().enumerate() {
            *v = 1 << (31 - i);
        }
        return v;
    }
    let (degree, coefficients, first) = PRIMITIVE[dimension - 1];
    let s = degree as usize;
    for (i, m) in first.iter().enumerate() {
        v[i] = m << (31 - i);
    }
    for i in s..32 {
        v[i] = v[i - s] ^ (v[i - s] >> degree);
        for k in 1..s {
            if (coefficients >> (s - 1 - k)) & 1 == 1 {
                v[i] ^= v[i - k];
            }
        }
    }
    v
}

/// Nested permutation of bits: each bit is flipped or not by a hash of the higher ones.
fn scramble(x: u32, seed: u32) -> u32 {
    let mut x = x.reverse_bits();
    x = x.wrapping_add(seed);
    x ^= x.wrapping_mul(0x6c50_b47c);
    x ^= x.wrapping_mul(0xb82f_1e52);
    x ^= x.wrapping_mul(0xc7af_e638);
    x ^= x.wrapping_mul(0x8d22_f6e6);
    x.reverse_bits()
}

fn raw(index: u32, v: &[u32; 32]) -> u32 {
    // the order of Gray codes, as the sequence is usually printed
    let gray = index ^ (index >> 1);
    (0..32).filter(|bit| (gray >> bit) & 1 == 1).fold(0, |x, bit| x ^ v[bit as usize])
}

/// The first `count` points of one dimension, each within (0, 1). `family` picks one of many
/// scramblings; marks always use 0.
///
/// # Panics
/// When `dimension` is [`MOST_DIMENSIONS`] or more.
pub fn points(dimension: usize, count: usize, family: u32) -> Vec<f64> {
    assert!(dimension < MOST_DIMENSIONS, "no direction numbers for dimension {dimension}");
    let v = directions(dimension);
    let seed = (dimension as u32 + 1).wrapping_mul(0x9E37_79B9) ^ family.wrapping_mul(0x85EB_CA6B);
    (0..count as u32).map(|i| (f64::from(scramble(raw(i, &v), seed)) + 0.5) / 4_294_967_296.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unscrambled points 5, 37 and 63 as printed by scipy 1.x, `qmc.Sobol(12, scramble=False)`.
    #[test]
    fn unscrambled_points_are_the_published_ones() {
        let at = |index: u32| -> Vec<f64> {
            (0..12).map(|d| f64::from(raw(index, &directions(d))) / 4_294_967_296.0).collect()
        };
        assert_eq!(at(5), [0.875, 0.875, 0.125, 0.375, 0.875, 0.625, 0.875, 0.375, 0.375, 0.125, 0.375, 0.875]);
        assert_eq!(
            at(37),
            [
                0.921875, 0.640625, 0.578125, 0.921875, 0.765625, 0.296875, 0.171875, 0.796875, 0.609375, 0.171875,
                0.015625, 0.078125
            ]
        );
        assert_eq!(
            at(63),
            [
                0.015625, 0.796875, 0.359375, 0.453125, 0.859375, 0.140625, 0.578125, 0.140625, 0.828125, 0.578125,
                0.421875, 0.671875
            ]
        );
    }

    #[test]
    fn every_dyadic_cell_holds_one_point_after_scrambling() {
        for dimension in 0..MOST_DIMENSIONS {
            let mut cells: Vec<usize> = points(dimension, 256, 3).iter().map(|x| (x * 256.0) as usize).collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..256).collect::<Vec<_>>(), "dimension {dimension}");
        }
        assert_ne!(points(1, 8, 0), points(1, 8, 1));
    }

    #[test]
    fn pairs_of_dimensions_integrate_a_product() {
        for (a, b) in [(0, 1), (3, 7), (10, 15)] {
            let (x, y) = (points(a, 1024, 0), points(b, 1024, 0));
            let mean = x.iter().zip(&y).map(|(x, y)| x * x * y).sum::<f64>() / 1024.0;
            assert!((mean - 1.0 / 6.0).abs() < 2e-3, "{a} and {b}: {mean}");
        }
    }
}
