//! LU factors of a matrix whose pattern never changes, in an order chosen once.
//!
//! The matrices of a step, I/(hγ) − J, keep their pattern for the life of a topology. A minimum-degree
//! order is found once; after that factorising and solving run along precomputed lists, with no
//! search, no allocation and always the same order of operations (so always the same bits). All
//! lanes share the lists. No pivoting: h is made smaller by the step control when a pivot is too small.

use crate::lanes::Lanes;

/// Order and lists for one pattern.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    n: usize,
    /// `place[i]`: where unknown `i` stands in the elimination order.
    place: Vec<u32>,
    values: usize,
    /// Entry of the matrix → place among the factors.
    scatter: Vec<(u32, u32)>,
    diagonal: Vec<u32>,
    /// Column of every factor. Factors lie row by row, each row from left to right, the rows in the order of elimination;
    /// so the row of a pivot ends before all that it changes, and what is left of a diagonal lies in one piece.
    column: Vec<u32>,
    /// Where each row ends.
    row_to: Vec<u32>,
    /// For every pivot: end of its list in `below`.
    below_to: Vec<u32>,
    /// Factor's place, counted from the end of the pivot's row, for every factor below a pivot.
    below: Vec<u32>,
    /// What each of them changes, counted likewise: one target for every factor right of the pivot, in their order.
    targets: Vec<u32>,
}

/// No place.
const NONE: u32 = u32::MAX;

impl Plan {
    /// Finds the order. `entry[i*n + j]`: where the value of row i, column j will stand in the list of
    /// entries, `absent` when it is always zero. The diagonal must be present.
    pub fn new(n: usize, entry: &[u16], absent: u16) -> Self {
        let mut at: Vec<bool> = entry.iter().map(|&e| e != absent).collect();
        let mut place = vec![NONE; n];
        let mut order = Vec::with_capacity(n);
        for k in 0..n {
            // Markowitz count: cheapest pivot on the diagonal; ties go to the lower number
            let cost = |i: usize| {
                let row = (0..n).filter(|&j| j != i && place[j] == NONE && at[i * n + j]).count();
                let column = (0..n).filter(|&j| j != i && place[j] == NONE && at[j * n + i]).count();
                row * column
            };
            let pivot = (0..n).filter(|&i| place[i] == NONE).min_by_key(|&i| (cost(i), i)).unwrap_or(0);
            let open = |j: usize, place: &[u32]| j != pivot && place[j] == NONE;
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
        Self::with_order(n, entry, absent, &at, place, &order)
    }

    fn with_order(n: usize, entry: &[u16], absent: u16, filled: &[bool], place: Vec<u32>, order: &[usize]) -> Self {
        // places in elimination order, row by row
        let mut spot = vec![NONE; n * n];
        let mut values = 0;
        for (i, &row) in order.iter().enumerate() {
            for (j, &column) in order.iter().enumerate() {
                if filled[row * n + column] || i == j {
                    spot[i * n + j] = values;
                    values += 1;
                }
            }
        }
        let mut plan = Self { n, place, values: values as usize, ..Self::default() };
        for (i, &row) in order.iter().enumerate() {
            for (j, &column) in order.iter().enumerate() {
                if entry[row * n + column] != absent {
                    plan.scatter.push((u32::from(entry[row * n + column]), spot[i * n + j]));
                }
                if spot[i * n + j] != NONE {
                    plan.column.push(j as u32);
                }
            }
            plan.row_to.push(plan.column.len() as u32);
        }
        for k in 0..n {
            plan.diagonal.push(spot[k * n + k]);
            let row_to = plan.row_to[k];
            for i in (k + 1..n).filter(|i| spot[i * n + k] != NONE) {
                plan.below.push(spot[i * n + k] - row_to);
                let right = (k + 1..n).filter(|j| spot[k * n + j] != NONE);
                plan.targets.extend(right.map(|j| spot[i * n + j] - row_to));
            }
            plan.below_to.push(plan.below.len() as u32);
        }
        plan
    }

    /// Multiplications of one factorisation, and of one solution.
    pub fn cost(&self) -> (usize, usize) {
        (self.targets.len() + self.below.len(), self.values)
    }
}

/// Factors of L matrices of one pattern.
#[derive(Clone, Debug)]
pub struct Lu<const L: usize> {
    values: Vec<Lanes<L>>,
    inverse: Vec<Lanes<L>>,
    work: Vec<Lanes<L>>,
}

impl<const L: usize> Lu<L> {
    /// Space for the factors of a plan.
    pub fn new(plan: &Plan) -> Self {
        Self {
            values: vec![Lanes::ZERO; plan.values],
            inverse: vec![Lanes::ZERO; plan.n],
            work: vec![Lanes::ZERO; plan.n],
        }
    }

    /// Memory held, bytes.
    pub fn bytes(&self) -> usize {
        size_of_val(&*self.values) + size_of_val(&*self.inverse) + size_of_val(&*self.work)
    }

    /// Factorises `shift`·I − J, J given by its entries. `false` when a pivot vanishes in any lane.
    pub fn factorise(&mut self, plan: &Plan, shift: f64, entries: &[Lanes<L>]) -> bool {
        let m = &mut self.values[..];
        m.fill(Lanes::ZERO);
        for &(from, to) in &plan.scatter {
            m[to as usize] = -entries[from as usize];
        }
        for &d in &plan.diagonal {
            m[d as usize] = m[d as usize] + shift;
        }
        let (mut next, mut targets) = (0, &plan.targets[..]);
        for (k, &below_to) in plan.below_to.iter().enumerate() {
            let diagonal = plan.diagonal[k] as usize;
            let (above, below) = m.split_at_mut(plan.row_to[k] as usize);
            let pivot = above[diagonal];
            if pivot.any(|v| !v.is_finite() || v.abs() < 1e-12 * shift) {
                return false;
            }
            let inverse = 1.0 / pivot;
            self.inverse[k] = inverse;
            let right = &above[diagonal + 1..];
            for &at in &plan.below[next..below_to as usize] {
                let factor = below[at as usize] * inverse;
                below[at as usize] = factor;
                let (now, rest) = targets.split_at(right.len());
                for (&target, &source) in now.iter().zip(right) {
                    below[target as usize] -= factor * source;
                }
                targets = rest;
            }
            next = below_to as usize;
        }
        true
    }

    /// Solves with the factors, in place.
    pub fn solve(&mut self, plan: &Plan, b: &mut [Lanes<L>]) {
        let (w, m) = (&mut self.work[..], &self.values[..]);
        for (&p, &b) in plan.place.iter().zip(&*b) {
            w[p as usize] = b;
        }
        let mut from = 0;
        for (k, (&diagonal, &to)) in plan.diagonal.iter().zip(&plan.row_to).enumerate() {
            let mut v = w[k];
            for (&factor, &column) in m[from..diagonal as usize].iter().zip(&plan.column[from..diagonal as usize]) {
                v -= factor * w[column as usize];
            }
            w[k] = v;
            from = to as usize;
        }
        for (k, (&diagonal, &to)) in plan.diagonal.iter().zip(&plan.row_to).enumerate().rev() {
            let right = diagonal as usize + 1..to as usize;
            let mut v = w[k];
            for (&factor, &column) in m[right.clone()].iter().zip(&plan.column[right]) {
                v -= factor * w[column as usize];
            }
            w[k] = v * self.inverse[k];
        }
        for (&p, b) in plan.place.iter().zip(&mut *b) {
            *b = w[p as usize];
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
            let (mut entry, mut values) = (vec![u16::MAX; n * n], vec![]);
            let mut jacobian = vec![[0.0; 2]; n * n];
            for i in 0..n * n {
                let k = i as u64;
                if i / n == i % n || uniform(seed, Purpose::Tolerance, k) < 0.12 {
                    entry[i] = values.len() as u16;
                    jacobian[i] = [k, k + 5000].map(|k| uniform(seed, Purpose::Severity, k) * 4.0 - 2.0);
                    values.push(Lanes(jacobian[i]));
                }
            }
            let shift = 30.0;
            let plan = Plan::new(n, &entry, u16::MAX);
            let mut lu = Lu::new(&plan);
            assert!(lu.factorise(&plan, shift, &values));
            let x: Vec<f64> = (0..n).map(|i| i as f64 - 7.5).collect();
            let mut b: Vec<Lanes<2>> = (0..n)
                .map(|i| {
                    Lanes(core::array::from_fn(|l| {
                        shift * x[i] - (0..n).map(|j| jacobian[i * n + j][l] * x[j]).sum::<f64>()
                    }))
                })
                .collect();
            lu.solve(&plan, &mut b);
            for (i, b) in b.iter().enumerate() {
                for lane in b.0 {
                    assert!((lane - x[i]).abs() < 1e-10, "unknown {i}: {lane} for {}", x[i]);
                }
            }
        }
    }
}
