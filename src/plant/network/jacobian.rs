//! How derivatives are gathered: flows with their slopes, what they carry, and who receives them.
//!
//! Derivatives are taken against *extended* columns: states, vessel pressures, gas shares of cells.
//! So a link needs to know its own neighbours only; pressures and gas shares are folded onto states
//! afterwards. The pattern is found once and each entry gets a slot in a flat list.

use super::*;

/// Receives the Jacobian's entries in extended columns.
pub(super) trait Sink<const L: usize> {
    const WANTED: bool;
    const PATTERN: bool;
    fn add(&mut self, row: usize, column: usize, value: Lanes<L>);
}

pub(super) struct Nothing;

impl<const L: usize> Sink<L> for Nothing {
    const WANTED: bool = false;
    const PATTERN: bool = false;
    #[inline(always)]
    fn add(&mut self, _: usize, _: usize, _: Lanes<L>) {}
}

/// Which entries exist.
pub(super) struct Marks {
    pub(super) columns: usize,
    pub(super) at: Vec<bool>,
}

impl<const L: usize> Sink<L> for Marks {
    const WANTED: bool = true;
    const PATTERN: bool = true;
    fn add(&mut self, row: usize, column: usize, _: Lanes<L>) {
        self.at[row * self.columns + column] = true;
    }
}

pub(super) struct Values<'a, const L: usize> {
    pub(super) columns: usize,
    pub(super) slot: &'a [u16],
    pub(super) at: &'a mut [Lanes<L>],
}

impl<const L: usize> Sink<L> for Values<'_, L> {
    const WANTED: bool = true;
    const PATTERN: bool = false;
    #[inline(always)]
    fn add(&mut self, row: usize, column: usize, value: Lanes<L>) {
        self.at[usize::from(self.slot[row * self.columns + column])] += value;
    }
}

/// No entry in the table of slots.
pub(super) const NO_SLOT: u16 = u16::MAX;

/// A derivative: column and value.
pub(super) type Partial<const L: usize> = (u32, Lanes<L>);

/// A flow with its derivatives against extended columns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow<const L: usize> {
    pub(super) value: Lanes<L>,
    len: usize,
    parts: [Partial<L>; 8],
}

impl<const L: usize> Flow<L> {
    pub(super) const ZERO: Self = Self { value: Lanes::ZERO, len: 0, parts: [(0, Lanes::ZERO); 8] };

    #[inline(always)]
    pub(super) fn new(value: Lanes<L>) -> Self {
        Self { value, ..Self::ZERO }
    }

    #[inline(always)]
    pub(super) fn with(mut self, column: usize, slope: Lanes<L>) -> Self {
        self.parts[self.len] = (column as u32, slope);
        self.len += 1;
        self
    }

    #[inline(always)]
    pub(super) fn parts(&self) -> &[Partial<L>] {
        &self.parts[..self.len]
    }

    /// Chains a law over this driving difference.
    #[inline(always)]
    pub(super) fn through(&self, law: Slope<L>) -> Self {
        let mut flow = Self::new(law.value);
        for &(column, slope) in self.parts() {
            flow = flow.with(column as usize, law.slope * slope);
        }
        flow
    }

    /// This less another.
    #[inline(always)]
    pub(super) fn less(mut self, other: &Self) -> Self {
        self.value -= other.value;
        for &(column, slope) in other.parts() {
            self = self.with(column as usize, -slope);
        }
        self
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    Liquid,
    Free,
    Dissolved,
}

/// What flows out of an end: composition with derivatives against extended columns.
#[derive(Clone, Copy)]
pub(super) struct Donor<const L: usize> {
    /// Share of liquid.
    pub(super) liquid: Lanes<L>,
    /// Share of free gas.
    pub(super) gas: Lanes<L>,
    /// Density of the gas against standard: y/p₀.
    pub(super) density: Lanes<L>,
    /// Dissolved gas a volume of liquid.
    pub(super) dissolved: Lanes<L>,
    /// Column, then derivatives of the four.
    pub(super) parts: [(u32, [Lanes<L>; 4]); 4],
    pub(super) len: usize,
}

impl<const L: usize> Donor<L> {
    /// Fuel without free gas.
    pub(super) fn clear(dissolved: Lanes<L>) -> Self {
        Self {
            liquid: Lanes::ONE,
            gas: Lanes::ZERO,
            density: Lanes::ONE,
            dissolved,
            parts: [(0, [Lanes::ZERO; 4]); 4],
            len: 0,
        }
    }

    #[inline(always)]
    pub(super) fn with(mut self, column: usize, slopes: [Lanes<L>; 4]) -> Self {
        self.parts[self.len] = (column as u32, slopes);
        self.len += 1;
        self
    }

    /// What a volume of mixture contains of one thing.
    #[inline(always)]
    pub(super) fn of(&self, share: Share) -> Lanes<L> {
        match share {
            Share::Liquid => self.liquid,
            Share::Free => self.gas * self.density,
            Share::Dissolved => self.liquid * self.dissolved,
        }
    }

    /// Derivatives of `sign`·flow·(what a volume contains) into a row.
    #[inline(always)]
    pub(super) fn put<S: Sink<L>>(
        &self,
        row: usize,
        sign: f64,
        share: Share,
        q: Lanes<L>,
        parts: &[Partial<L>],
        mask: Lanes<L>,
        sink: &mut S,
    ) {
        let per_flow = self.of(share) * sign * mask;
        for &(column, slope) in parts {
            sink.add(row, column as usize, per_flow * slope);
        }
        let q = q * sign;
        for (column, [dl, dg, dn, dc]) in &self.parts[..self.len] {
            let d = match share {
                Share::Liquid => *dl,
                Share::Free => *dg * self.density + self.gas * *dn,
                Share::Dissolved => *dl * self.dissolved + self.liquid * *dc,
            };
            sink.add(row, *column as usize, q * d);
        }
    }
}
