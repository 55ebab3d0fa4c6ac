//! How derivatives are gathered: flows with their slopes, what they carry, and who receives them.
//!
//! Derivatives are taken against *extended* columns: states, vessel pressures, gas shares of cells.
//! So a link needs to know its own neighbours only; pressures and gas shares are folded onto states
//! afterwards. The pattern is found once and each entry gets a slot in a flat list.

use super::*;

/// Receives the Jacobian's entries in extended columns.
pub(super) trait Sink<const L: usize> {
    /// What flows and donors keep of their slopes: nothing when nobody wants them.
    type Slopes: Slopes<L>;
    const WANTED: bool;
    const PATTERN: bool;
    fn add(&mut self, row: usize, column: usize, value: Lanes<L>);
    /// Keeps the slopes of a link's flow for those who need them later.
    fn keep(list: &mut [Parts<L>], i: usize, slopes: Self::Slopes);
    /// What was kept.
    fn kept(list: &[Parts<L>], i: usize) -> Self::Slopes;
    /// What was kept, as a list.
    fn kept_of(list: &[Parts<L>], i: usize) -> &[Partial<L>];
}

pub(super) struct Nothing;

impl<const L: usize> Sink<L> for Nothing {
    type Slopes = ();
    const WANTED: bool = false;
    const PATTERN: bool = false;
    #[inline(always)]
    fn add(&mut self, _: usize, _: usize, _: Lanes<L>) {}

    #[inline(always)]
    fn keep(_: &mut [Parts<L>], _: usize, (): ()) {}
    #[inline(always)]
    fn kept(_: &[Parts<L>], _: usize) {}
    #[inline(always)]
    fn kept_of(_: &[Parts<L>], _: usize) -> &[Partial<L>] {
        &[]
    }
}

/// Which entries exist.
pub(super) struct Marks {
    pub(super) columns: usize,
    pub(super) at: Vec<bool>,
}

impl<const L: usize> Sink<L> for Marks {
    type Slopes = Parts<L>;
    const WANTED: bool = true;
    const PATTERN: bool = true;
    fn add(&mut self, row: usize, column: usize, _: Lanes<L>) {
        self.at[row * self.columns + column] = true;
    }

    #[inline(always)]
    fn keep(list: &mut [Parts<L>], i: usize, slopes: Parts<L>) {
        list[i] = slopes;
    }
    #[inline(always)]
    fn kept(list: &[Parts<L>], i: usize) -> Parts<L> {
        list[i]
    }
    #[inline(always)]
    fn kept_of(list: &[Parts<L>], i: usize) -> &[Partial<L>] {
        list[i].list()
    }
}

pub(super) struct Values<'a, const L: usize> {
    pub(super) columns: usize,
    pub(super) slot: &'a [u16],
    pub(super) at: &'a mut [Lanes<L>],
}

impl<const L: usize> Sink<L> for Values<'_, L> {
    type Slopes = Parts<L>;
    const WANTED: bool = true;
    const PATTERN: bool = false;
    #[inline(always)]
    fn add(&mut self, row: usize, column: usize, value: Lanes<L>) {
        self.at[usize::from(self.slot[row * self.columns + column])] += value;
    }

    #[inline(always)]
    fn keep(list: &mut [Parts<L>], i: usize, slopes: Parts<L>) {
        list[i] = slopes;
    }
    #[inline(always)]
    fn kept(list: &[Parts<L>], i: usize) -> Parts<L> {
        list[i]
    }
    #[inline(always)]
    fn kept_of(list: &[Parts<L>], i: usize) -> &[Partial<L>] {
        list[i].list()
    }
}

/// No entry in the table of slots.
pub(super) const NO_SLOT: u16 = u16::MAX;

/// A derivative: column and value.
pub(super) type Partial<const L: usize> = (u32, Lanes<L>);

/// Slopes of a flow against extended columns, or nothing in their place.
pub(super) trait Slopes<const L: usize>: Copy {
    /// Slopes of what a donor contains.
    type Contents: Contents<L>;
    const NONE: Self;
    /// One more.
    fn push(&mut self, column: usize, slope: Lanes<L>);
    /// All of them times a factor, appended.
    fn append(&mut self, other: &Self, factor: Lanes<L>);
    /// The list.
    fn list(&self) -> &[Partial<L>];
}

impl<const L: usize> Slopes<L> for () {
    type Contents = ();
    const NONE: Self = ();
    #[inline(always)]
    fn push(&mut self, _: usize, _: Lanes<L>) {}
    #[inline(always)]
    fn append(&mut self, (): &Self, _: Lanes<L>) {}
    #[inline(always)]
    fn list(&self) -> &[Partial<L>] {
        &[]
    }
}

/// A short list of slopes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Parts<const L: usize> {
    len: usize,
    parts: [Partial<L>; 8],
}

impl<const L: usize> Slopes<L> for Parts<L> {
    type Contents = Mixture<L>;
    const NONE: Self = Self { len: 0, parts: [(0, Lanes::ZERO); 8] };

    #[inline(always)]
    fn push(&mut self, column: usize, slope: Lanes<L>) {
        self.parts[self.len] = (column as u32, slope);
        self.len += 1;
    }

    #[inline(always)]
    fn append(&mut self, other: &Self, factor: Lanes<L>) {
        for &(column, slope) in other.list() {
            self.push(column as usize, slope * factor);
        }
    }

    #[inline(always)]
    fn list(&self) -> &[Partial<L>] {
        &self.parts[..self.len]
    }
}

/// A flow with its slopes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow<const L: usize, P> {
    pub(super) value: Lanes<L>,
    pub(super) slopes: P,
}

impl<const L: usize, P: Slopes<L>> Flow<L, P> {
    pub(super) const ZERO: Self = Self { value: Lanes::ZERO, slopes: P::NONE };

    #[inline(always)]
    pub(super) fn new(value: Lanes<L>) -> Self {
        Self { value, slopes: P::NONE }
    }

    #[inline(always)]
    pub(super) fn with(mut self, column: usize, slope: Lanes<L>) -> Self {
        self.slopes.push(column, slope);
        self
    }

    #[inline(always)]
    pub(super) fn parts(&self) -> &[Partial<L>] {
        self.slopes.list()
    }

    /// Chains a law over this driving difference.
    #[inline(always)]
    pub(super) fn through(&self, law: Slope<L>) -> Self {
        let mut flow = Self::new(law.value);
        flow.slopes.append(&self.slopes, law.slope);
        flow
    }

    /// This less another.
    #[inline(always)]
    pub(super) fn less(mut self, other: &Self) -> Self {
        self.value -= other.value;
        self.slopes.append(&other.slopes, -Lanes::ONE);
        self
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    Liquid,
    Free,
    Dissolved,
}

/// Slopes of what a donor contains, or nothing in their place.
pub(super) trait Contents<const L: usize>: Copy {
    const NONE: Self;
    fn push(&mut self, column: usize, slopes: [Lanes<L>; 4]);
    fn list(&self) -> &[(u32, [Lanes<L>; 4])];
}

impl<const L: usize> Contents<L> for () {
    const NONE: Self = ();
    #[inline(always)]
    fn push(&mut self, _: usize, _: [Lanes<L>; 4]) {}
    #[inline(always)]
    fn list(&self) -> &[(u32, [Lanes<L>; 4])] {
        &[]
    }
}

/// A short list of slopes of liquid, gas, density and dissolved gas.
#[derive(Clone, Copy)]
pub(super) struct Mixture<const L: usize> {
    len: usize,
    parts: [(u32, [Lanes<L>; 4]); 5],
}

impl<const L: usize> Contents<L> for Mixture<L> {
    const NONE: Self = Self { len: 0, parts: [(0, [Lanes::ZERO; 4]); 5] };

    #[inline(always)]
    fn push(&mut self, column: usize, slopes: [Lanes<L>; 4]) {
        self.parts[self.len] = (column as u32, slopes);
        self.len += 1;
    }

    #[inline(always)]
    fn list(&self) -> &[(u32, [Lanes<L>; 4])] {
        &self.parts[..self.len]
    }
}

/// What flows out of an end: composition with its slopes against extended columns.
#[derive(Clone, Copy)]
pub(super) struct Donor<const L: usize, P: Slopes<L>> {
    /// Share of liquid.
    pub(super) liquid: Lanes<L>,
    /// Share of free gas.
    pub(super) gas: Lanes<L>,
    /// Density of the gas against standard: y/p₀.
    pub(super) density: Lanes<L>,
    /// Dissolved gas a volume of liquid.
    pub(super) dissolved: Lanes<L>,
    /// Column, then slopes of the four.
    pub(super) slopes: P::Contents,
}

impl<const L: usize, P: Slopes<L>> Donor<L, P> {
    /// Fuel without free gas.
    #[inline(always)]
    pub(super) fn clear(dissolved: Lanes<L>) -> Self {
        Self { liquid: Lanes::ONE, gas: Lanes::ZERO, density: Lanes::ONE, dissolved, slopes: P::Contents::NONE }
    }

    #[inline(always)]
    pub(super) fn with(mut self, column: usize, slopes: [Lanes<L>; 4]) -> Self {
        self.slopes.push(column, slopes);
        self
    }

    /// Slopes of its composition.
    #[inline(always)]
    pub(super) fn parts(&self) -> &[(u32, [Lanes<L>; 4])] {
        self.slopes.list()
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
        (row, sign, share): (usize, f64, Share),
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
        for (column, [dl, dg, dn, dc]) in self.parts() {
            let d = match share {
                Share::Liquid => *dl,
                Share::Free => *dg * self.density + self.gas * *dn,
                Share::Dissolved => *dl * self.dissolved + self.liquid * *dc,
            };
            sink.add(row, *column as usize, q * d);
        }
    }
}
