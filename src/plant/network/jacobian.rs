//! How derivatives are gathered: flows with their slopes, what they carry, and who receives them.

use super::*;

/// Receives the Jacobian's entries in extended columns.
pub(super) trait Sink {
    const WANTED: bool;
    const PATTERN: bool;
    fn add(&mut self, row: usize, column: usize, value: f64);
}

pub(super) struct Nothing;

impl Sink for Nothing {
    const WANTED: bool = false;
    const PATTERN: bool = false;
    #[inline]
    fn add(&mut self, _: usize, _: usize, _: f64) {}
}

pub(super) struct Marks {
    pub(super) columns: usize,
    pub(super) at: Vec<bool>,
}

impl Sink for Marks {
    const WANTED: bool = true;
    const PATTERN: bool = true;
    fn add(&mut self, row: usize, column: usize, _: f64) {
        self.at[row * self.columns + column] = true;
    }
}

pub(super) struct Values<'a> {
    pub(super) columns: usize,
    pub(super) at: &'a mut [f64],
}

impl Sink for Values<'_> {
    const WANTED: bool = true;
    const PATTERN: bool = false;
    #[inline]
    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.at[row * self.columns + column] += value;
    }
}

/// A flow with its derivatives against extended columns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow {
    pub(super) value: f64,
    pub(super) len: usize,
    pub(super) parts: [(usize, f64); 6],
}

impl Flow {
    pub(super) const ZERO: Self = Self { value: 0.0, len: 0, parts: [(0, 0.0); 6] };

    pub(super) fn new(value: f64) -> Self {
        Self { value, ..Self::ZERO }
    }

    #[inline]
    pub(super) fn with(mut self, column: usize, slope: f64) -> Self {
        self.parts[self.len] = (column, slope);
        self.len += 1;
        self
    }

    pub(super) fn parts(&self) -> &[(usize, f64)] {
        &self.parts[..self.len]
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    Liquid,
    Free,
    Dissolved,
}

/// What a flow of mixture carries.
pub(super) struct Carried {
    pub(super) liquid: f64,
    pub(super) free: f64,
    pub(super) dissolved: f64,
}

impl Carried {
    pub(super) fn of(flow: &Flow, donor: &Donor) -> Self {
        let q = flow.value;
        let liquid = (1.0 - donor.alpha) * q;
        Self { liquid, free: donor.alpha * q * donor.gas, dissolved: liquid * donor.c }
    }

    pub(super) fn amount(&self, part: Part) -> f64 {
        match part {
            Part::Liquid => self.liquid,
            Part::Free => self.free,
            Part::Dissolved => self.dissolved,
        }
    }

    /// Derivatives of one part into a row.
    #[inline]
    pub(super) fn put<S: Sink>(&self, row: usize, sign: f64, part: Part, flow: &Flow, donor: &Donor, sink: &mut S) {
        if !S::WANTED {
            return;
        }
        let q = flow.value;
        let a = donor.alpha;
        let per_flow = match part {
            Part::Liquid => 1.0 - a,
            Part::Free => a * donor.gas,
            Part::Dissolved => (1.0 - a) * donor.c,
        };
        for &(column, slope) in flow.parts() {
            sink.add(row, column, sign * per_flow * slope);
        }
        for &(column, da, dg, dc) in &donor.parts[..donor.len] {
            let d = match part {
                Part::Liquid => -da,
                Part::Free => da * donor.gas + a * dg,
                Part::Dissolved => (1.0 - a) * dc - da * donor.c,
            };
            sink.add(row, column, sign * q * d);
        }
    }
}

impl Flow {
    /// Chains a law over this driving difference.
    #[inline]
    pub(super) fn through(&self, law: Slope) -> Self {
        let mut flow = Self::new(law.value);
        for &(column, slope) in self.parts() {
            flow = flow.with(column, law.slope * slope);
        }
        flow
    }
}
