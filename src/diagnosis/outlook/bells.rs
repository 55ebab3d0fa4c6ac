//! The branches of a forecast side by side, for the inner loop of every gain: the density of all of them at one outcome.
//!
//! With `q` the squared distance, m the degrees of freedom and k numbers, the Student-t is
//! `height·(1 + q/m)^(−(m + k)/2)`; m and k are whole, so it is a power of a square root and needs no logarithm. The sums
//! run over bells in their order, one number after the other, which compilers turn into vector instructions. A bell that
//! several causes share is asked once; each branch then weighs it by itself.

use super::super::sobol::MOST_DIMENSIONS;
use super::Branch;
use crate::ops;

/// Branches less likely than this, as a share of all, move no gain by a thousandth of a bit: the floor of every belief lies
/// ten times as high.
const FAINT: f64 = 1e-7;
/// A group's share of an outcome below which its entropy is nothing.
const NOTHING: f64 = 1e-10;

/// All branches that count, each quantity in a row of its own.
pub(super) struct Bells {
    /// Index of each in the forecast.
    pub(super) of: Vec<usize>,
    /// Group of each.
    group: Vec<usize>,
    groups: usize,
    width: usize,
    degrees: f64,
    weight: Vec<f64>,
    /// Which of the bells each has.
    bell: Vec<usize>,
    // of the bells
    height: Vec<f64>,
    /// Means, a row for each number.
    mean: Vec<f64>,
    /// The factor below its diagonal, rows in order, and one over its diagonal.
    below: Vec<f64>,
    inverse: Vec<f64>,
    /// Share of each word of each categorical feature.
    words: Vec<Vec<Vec<f64>>>,
    // at work
    z: Vec<f64>,
    density: Vec<f64>,
    joint: Vec<f64>,
    sums: Vec<f64>,
}

impl Bells {
    /// Lays out branches by group of their cause.
    pub(super) fn new(branches: &[Branch], groups: &[usize], degrees: f64) -> Self {
        let of: Vec<usize> = (0..branches.len()).filter(|&b| branches[b].weight >= FAINT).collect();
        let kept: Vec<&Branch> = of.iter().map(|&b| &branches[b]).collect();
        let width = kept.first().map_or(0, |b| b.mean.len());
        let mut bells: Vec<&Branch> = vec![];
        let mut bell = vec![];
        for branch in &kept {
            let known = bells.iter().position(|b| b.bell == branch.bell);
            bell.push(known.unwrap_or(bells.len()));
            if known.is_none() {
                bells.push(branch);
            }
        }
        let each = |f: &dyn Fn(&Branch) -> f64| kept.iter().map(|b| f(b)).collect::<Vec<f64>>();
        let of_bells = |f: &dyn Fn(&Branch) -> f64| bells.iter().map(|b| f(b)).collect::<Vec<f64>>();
        let rows = |rows: Vec<Vec<f64>>| rows.concat();
        let below = (0..width).flat_map(|i| (0..i).map(move |j| i * width + j));
        let words = kept.first().map_or(&[][..], |b| b.words.as_slice()).iter().enumerate();
        Self {
            group: kept.iter().map(|b| groups[b.cause]).collect(),
            groups: groups.iter().max().map_or(0, |g| g + 1),
            width,
            degrees,
            weight: each(&|b| b.weight),
            height: of_bells(&|b| ops::exp(b.ln_height)),
            mean: rows((0..width).map(|i| of_bells(&|b| b.mean[i])).collect()),
            below: rows(below.map(|at| of_bells(&|b| b.l[at])).collect()),
            inverse: rows((0..width).map(|i| of_bells(&|b| 1.0 / b.l[i * width + i])).collect()),
            words: words.map(|(c, w)| (0..w.len()).map(|w| each(&|b| b.words[c][w])).collect()).collect(),
            z: vec![0.0; bells.len() * width],
            density: vec![0.0; bells.len()],
            joint: vec![0.0; kept.len()],
            sums: vec![],
            bell,
            of,
        }
    }

    /// Each branch's weight times how likely it makes these numbers and words.
    pub(super) fn at(&mut self, y: &[f64], words: &[usize]) -> &[f64] {
        let n = self.density.len();
        debug_assert!(y.len() <= MOST_DIMENSIONS && (y.is_empty() || y.len() == self.width));
        self.density.fill(0.0);
        let mut below = self.below.chunks_exact(n.max(1));
        for (i, &y) in y.iter().enumerate() {
            let (before, rest) = self.z.split_at_mut(i * n);
            let z = &mut rest[..n];
            for (z, mean) in z.iter_mut().zip(&self.mean[i * n..(i + 1) * n]) {
                *z = y - mean;
            }
            for (before, l) in before.chunks_exact(n.max(1)).zip(below.by_ref()) {
                for ((z, b), l) in z.iter_mut().zip(before).zip(l) {
                    *z -= l * b;
                }
            }
            let inverse = &self.inverse[i * n..(i + 1) * n];
            for ((z, inverse), square) in z.iter_mut().zip(inverse).zip(&mut self.density) {
                *z *= inverse;
                *square += *z * *z;
            }
        }
        if !y.is_empty() {
            self.powers(y.len());
            for (density, height) in self.density.iter_mut().zip(&self.height) {
                *density *= height;
            }
        } else {
            self.density.fill(1.0);
        }
        for ((joint, &bell), weight) in self.joint.iter_mut().zip(&self.bell).zip(&self.weight) {
            *joint = self.density[bell] * weight;
        }
        for (shares, &word) in self.words.iter().zip(words) {
            for (joint, share) in self.joint.iter_mut().zip(&shares[word]) {
                *joint *= share;
            }
        }
        &self.joint
    }

    /// Squared distances to powers of the t: `q → (1 + q/m)^(−(m + k)/2)`.
    fn powers(&mut self, numbers: usize) {
        let degrees = self.degrees;
        let power = degrees as u32 + numbers as u32;
        for x in &mut self.density {
            *x = ops::powi((1.0 + *x / degrees).sqrt(), power).recip();
        }
    }

    /// Entropy over groups after the outcome that [`Self::at`] was asked about last, bits.
    pub(super) fn entropy(&mut self) -> f64 {
        self.sums.clear();
        self.sums.resize(self.groups, 0.0);
        for (&group, joint) in self.group.iter().zip(&self.joint) {
            self.sums[group] += joint;
        }
        let whole: f64 = self.sums.iter().sum();
        if whole <= 0.0 {
            return 0.0;
        }
        let shares = self.sums.iter().map(|s| s / whole).filter(|&p| p > NOTHING);
        -shares.map(|p| p * ops::log2(p)).sum::<f64>()
    }
}
