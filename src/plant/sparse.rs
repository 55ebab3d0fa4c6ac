//! LU factors of a matrix whose pattern never changes, in an order chosen once.
//!
//! The matrices of a step, I/(hγ) − J, keep their pattern for the life of a network. A minimum-degree
//! order is found once; after that factorising and solving run along precomputed index lists, with
//! no search, no allocation and always the same order of operations (so always the same bits). No
//! pivoting: h is halved by the step control when a pivot turns out small.

/// Order and index lists for one pattern.
#[derive(Clone, Debug)]
pub struct Lu {
    n: usize,
    /// `place[i]`: where unknown `i` stands in the elimination order.
    place: Vec<u32>,
    /// Rows below each pivot with an entry in its column, as row numbers; `below_at` delimits.
    below: Vec<u32>,
    below_at: Vec<u32>,
    /// Columns right of each pivot with an entry in its row.
    right: Vec<u32>,
    right_at: Vec<u32>,
    /// Positions of the factors, row-major in elimination order; only listed ones are touched.
    values: Vec<f64>,
    /// For every entry of the original pattern: where it comes from and goes to.
    scatter: Vec<(u32, u32)>,
    /// Every position that must be cleared before scattering.
    fill: Vec<u32>,
    inverse_pivot: Vec<f64>,
    work: Vec<f64>,
}

impl Lu {
    /// Finds the order for a pattern (`pattern[i*n + j]`: entry in row i, column j). The diagonal is
    /// always taken as present.
    pub fn new(n: usize, pattern: &[bool]) -> Self {
        let mut at: Vec<bool> = pattern.to_vec();
        for i in 0..n {
            at[i * n + i] = true;
        }
        let mut place = vec![u32::MAX; n];
        let mut order = Vec::with_capacity(n);
        for k in 0..n {
            // Markowitz count: cheapest pivot on the diagonal; ties go to the lower number
            let cost = |i: usize| {
                let row = (0..n).filter(|&j| j != i && place[j] == u32::MAX && at[i * n + j]).count();
                let column = (0..n).filter(|&j| j != i && place[j] == u32::MAX && at[j * n + i]).count();
                row * column
            };
            let pivot = (0..n).filter(|&i| place[i] == u32::MAX).min_by_key(|&i| (cost(i), i)).unwrap_or(0);
            let open = |j: usize, place: &[u32]| j != pivot && place[j] == u32::MAX;
            let rows: Vec<usize> = (0..n).filter(|&i| open(i, &place) && at[i * n + pivot]).collect();
            let columns: Vec<usize> = (0..n).filter(|&j| open(j, &place) && at[pivot * n + j]).collect();
            for &i in &rows {
                for &j in &columns {
                    at[i * n + j] = true;
                }
            }
            place[pivot] = k as u32;
            order.push(pivot);
        }
        Self::with_order(n, pattern, &at, place, &order)
    }

    fn with_order(n: usize, pattern: &[bool], filled: &[bool], place: Vec<u32>, order: &[usize]) -> Self {
        let (mut below, mut right, mut below_at, mut right_at) = (vec![], vec![], vec![0], vec![0]);
        for (k, &pivot) in order.iter().enumerate() {
            for (i, &row) in order.iter().enumerate().skip(k + 1) {
                if filled[row * n + pivot] {
                    below.push(i as u32);
                }
                if filled[pivot * n + row] {
                    right.push(i as u32);
                }
            }
            below_at.push(below.len() as u32);
            right_at.push(right.len() as u32);
        }
        let (mut scatter, mut fill) = (vec![], vec![]);
        for i in 0..n {
            for j in 0..n {
                let to = place[i] * n as u32 + place[j];
                if pattern[i * n + j] || i == j {
                    scatter.push(((i * n + j) as u32, to));
                }
                if filled[i * n + j] || i == j {
                    fill.push(to);
                }
            }
        }
        Self {
            n,
            place,
            below,
            below_at,
            right,
            right_at,
            values: vec![0.0; n * n],
            scatter,
            fill,
            inverse_pivot: vec![0.0; n],
            work: vec![0.0; n],
        }
    }

    /// Factorises `shift`·I − `jacobian` (row-major, n × n). `false` when a pivot vanishes.
    pub fn factorise(&mut self, shift: f64, jacobian: &[f64]) -> bool {
        let n = self.n;
        let m = &mut self.values;
        for &f in &self.fill {
            m[f as usize] = 0.0;
        }
        for &(from, to) in &self.scatter {
            m[to as usize] = -jacobian[from as usize];
        }
        for k in 0..n {
            m[k * n + k] += shift;
        }
        for k in 0..n {
            let pivot = m[k * n + k];
            if !pivot.is_finite() || pivot.abs() < 1e-12 * shift {
                return false;
            }
            let inverse = 1.0 / pivot;
            self.inverse_pivot[k] = inverse;
            let right = &self.right[self.right_at[k] as usize..self.right_at[k + 1] as usize];
            let below = &self.below[self.below_at[k] as usize..self.below_at[k + 1] as usize];
            let (head, tail) = m.split_at_mut((k + 1) * n);
            let pivot_row = &head[k * n..];
            for &i in below {
                let start = (i as usize - k - 1) * n;
                let row = &mut tail[start..start + n];
                let factor = row[k] * inverse;
                if factor == 0.0 {
                    continue;
                }
                row[k] = factor;
                for &j in right {
                    row[j as usize] -= factor * pivot_row[j as usize];
                }
            }
        }
        true
    }

    /// Solves with the factors, in place.
    pub fn solve(&mut self, b: &mut [f64]) {
        let n = self.n;
        for (i, &p) in self.place.iter().enumerate() {
            self.work[p as usize] = b[i];
        }
        let w = &mut self.work;
        for k in 0..n {
            let v = w[k];
            if v != 0.0 {
                for &i in &self.below[self.below_at[k] as usize..self.below_at[k + 1] as usize] {
                    w[i as usize] -= self.values[i as usize * n + k] * v;
                }
            }
        }
        for k in (0..n).rev() {
            let row = &self.values[k * n..(k + 1) * n];
            let mut v = w[k];
            for &j in &self.right[self.right_at[k] as usize..self.right_at[k + 1] as usize] {
                v -= row[j as usize] * w[j as usize];
            }
            w[k] = v * self.inverse_pivot[k];
        }
        for (i, &p) in self.place.iter().enumerate() {
            b[i] = w[p as usize];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, uniform};

    #[test]
    fn solving_undoes_multiplying() {
        for seed in 0..20 {
            let n = 23;
            let mut pattern = vec![false; n * n];
            let mut jacobian = vec![0.0; n * n];
            for i in 0..n {
                for j in 0..n {
                    let k = (i * n + j) as u64;
                    if uniform(seed, Purpose::Tolerance, k) < 0.12 {
                        pattern[i * n + j] = true;
                        jacobian[i * n + j] = uniform(seed, Purpose::Severity, k) * 4.0 - 2.0;
                    }
                }
            }
            let shift = 30.0;
            let mut lu = Lu::new(n, &pattern);
            assert!(lu.factorise(shift, &jacobian));
            let x: Vec<f64> = (0..n).map(|i| i as f64 - 7.5).collect();
            let mut b: Vec<f64> =
                (0..n).map(|i| shift * x[i] - (0..n).map(|j| jacobian[i * n + j] * x[j]).sum::<f64>()).collect();
            lu.solve(&mut b);
            for i in 0..n {
                assert!((b[i] - x[i]).abs() < 1e-10, "unknown {i}: {} for {}", b[i], x[i]);
            }
        }
    }
}
