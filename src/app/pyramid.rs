//! Extremes of the trace in blocks, in levels, so that drawing ten million samples costs hardly more than ten thousand.
//!
//! A column of the trace only grows at its end; the blocks grow with it. Reducing to pixel columns
//! gives exactly what [`Trace::reduce`] gives.

use crate::bay::action::Micros;
use crate::trace::{Column, Trace};

/// Samples in a block, and blocks in a block of the next level.
const FAN: usize = 64;

/// Blocks over one column of a trace.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pyramid {
    /// Extremes of each full block, none where no sample is finite: of [`FAN`] samples, of [`FAN`] of these, and so on.
    levels: Vec<Vec<Option<Column>>>,
}

fn join(a: Option<Column>, b: Option<Column>) -> Option<Column> {
    match (a, b) {
        (Some(a), Some(b)) => Some(Column { low: a.low.min(b.low), high: a.high.max(b.high), last: b.last }),
        (a, b) => b.or(a),
    }
}

fn of(values: &[f64]) -> Option<Column> {
    let mut out: Option<Column> = None;
    for &v in values.iter().filter(|v| v.is_finite()) {
        out = join(out, Some(Column { low: v, high: v, last: v }));
    }
    out
}

fn of_blocks(blocks: &[Option<Column>]) -> Option<Column> {
    blocks.iter().fold(None, |sum, block| join(sum, *block))
}

impl Pyramid {
    /// Takes in what the column has gained. A shorter column is another trace: start again.
    pub fn grow(&mut self, column: &[f64]) {
        if self.levels.first().is_some_and(|blocks| column.len() / FAN < blocks.len()) {
            self.levels.clear();
        }
        if self.levels.is_empty() {
            self.levels.push(Vec::new());
        }
        let done = self.levels[0].len() * FAN;
        self.levels[0].extend(column[done..].chunks_exact(FAN).map(of));
        let mut i = 0;
        while self.levels[i].len() >= FAN {
            if self.levels.len() == i + 1 {
                self.levels.push(Vec::new());
            }
            let (lower, upper) = self.levels.split_at_mut(i + 1);
            let (from, to) = (&lower[i], &mut upper[0]);
            to.extend(from[to.len() * FAN..].chunks_exact(FAN).map(of_blocks));
            i += 1;
        }
    }

    /// Extremes of the samples from `a` to before `b`, and at how many samples and blocks was looked for them.
    fn between(&self, column: &[f64], a: usize, b: usize) -> (Option<Column>, usize) {
        // whole blocks that lie between, as far as they are there
        let whole = |a: usize, b: usize, blocks: usize| (a.div_ceil(FAN), (b / FAN).min(blocks));
        let (first, last) = whole(a, b, self.levels.first().map_or(0, Vec::len));
        if first >= last {
            return (of(&column[a..b]), b - a);
        }
        let (mut left, mut right) = (of(&column[a..first * FAN]), of(&column[last * FAN..b]));
        let mut looked = first * FAN - a + b - last * FAN;
        let (mut a, mut b, mut level) = (first, last, 0);
        loop {
            let blocks = &self.levels[level];
            let above = self.levels.get(level + 1).map_or(0, Vec::len);
            let (first, last) = whole(a, b, above);
            if first >= last {
                looked += b - a;
                return (join(join(left, of_blocks(&blocks[a..b])), right), looked);
            }
            left = join(left, of_blocks(&blocks[a..first * FAN]));
            right = join(of_blocks(&blocks[last * FAN..b]), right);
            looked += first * FAN - a + b - last * FAN;
            (a, b, level) = (first, last, level + 1);
        }
    }

    /// As [`Trace::reduce`] for the column that was taken in.
    pub fn reduce(
        &self,
        trace: &Trace,
        column: &[f64],
        from: Micros,
        to: Micros,
        columns: usize,
    ) -> Vec<Option<Column>> {
        let mut out = vec![None; columns];
        if to <= from || columns == 0 {
            return out;
        }
        let span = u128::from(to - from);
        let end = trace.range(from, to).end;
        let mut a = trace.range(from, to).start;
        for (k, slot) in out.iter_mut().enumerate() {
            // the last column takes what lies on the right edge
            let b = if k + 1 == columns {
                end
            } else {
                let edge = from + (span * (k as u128 + 1)).div_ceil(columns as u128) as Micros;
                a + trace.at[a..end].partition_point(|&t| t < edge)
            };
            if b > a {
                *slot = self.between(column, a, b).0;
            }
            a = b;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn blocks_change_nothing_of_what_is_drawn(
            gaps in prop::collection::vec(1u64..90_000, 1..2500),
            nan_every in 2usize..900,
            from in 0u64..40_000_000,
            span in 0u64..90_000_000,
            columns in 0usize..700,
            cut in 0usize..2500,
        ) {
            let mut trace = Trace::default();
            let mut at = 0;
            for (i, gap) in gaps.iter().enumerate() {
                at += gap;
                trace.at.push(at);
                let v = ((i * 7919) % 1013) as f64 - 500.0;
                trace.mbar.push(if (i / 40) % nan_every == 1 { f64::NAN } else { v });
            }
            // grown in two goes, as a trace that runs
            let mut pyramid = Pyramid::default();
            pyramid.grow(&trace.mbar[..cut.min(trace.mbar.len())]);
            pyramid.grow(&trace.mbar);
            let plain = trace.reduce(&trace.mbar, from, from + span, columns);
            prop_assert_eq!(pyramid.reduce(&trace, &trace.mbar, from, from + span, columns), plain);
        }
    }

    #[test]
    fn another_trace_starts_again() {
        let mut pyramid = Pyramid::default();
        pyramid.grow(&[1.0; 10_000]);
        pyramid.grow(&[5.0; 100]);
        assert_eq!(pyramid.levels[0], [Some(Column { low: 5.0, high: 5.0, last: 5.0 })]);
        assert!(pyramid.levels[1..].iter().all(Vec::is_empty));
    }

    /// What a frame costs hangs on the pixels, hardly on the samples; one spike among ten million stays.
    #[test]
    fn ten_million_samples_are_looked_at_by_the_block() {
        let count = 10_000_000;
        let mut column: Vec<f64> = (0..count).map(|i| ((i * 7919) % 1013) as f64).collect();
        column[7_654_321] = -4000.0;
        let mut pyramid = Pyramid::default();
        pyramid.grow(&column);
        let columns = 1000;
        let (mut looked, mut lowest) = (0, f64::MAX);
        // an odd number, so that no column begins at a block
        let (from, to) = (12_345, count - 6_789);
        for k in 0..columns {
            let edge = |k: usize| from + (to - from) * k / columns;
            let (found, at) = pyramid.between(&column, edge(k), edge(k + 1));
            looked += at;
            lowest = lowest.min(found.unwrap().low);
        }
        assert_eq!(lowest, -4000.0);
        assert!(looked < 260 * columns, "{looked}");
        // and panned or zoomed in, no window asks for more
        for (from, to) in [(0, count), (5_000_001, 5_010_001), (3, count / 3)] {
            let (_, at) = pyramid.between(&column, from, to);
            assert!(at <= 2 * FAN * 4, "{from} {to}: {at}");
        }
    }
}
