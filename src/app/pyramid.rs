//! Extremes of the trace in blocks, so that drawing a million samples costs as much as a thousand.
//!
//! A column of the trace only grows at its end; the blocks grow with it. Reducing to pixel columns
//! gives exactly what [`Trace::reduce`] gives.

use crate::bay::action::Micros;
use crate::trace::{Column, Trace};

/// Samples in a block.
const BLOCK: usize = 256;

/// Blocks over one column of a trace.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pyramid {
    /// Extremes of each full block; none where no sample is finite.
    blocks: Vec<Option<Column>>,
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

impl Pyramid {
    /// Takes in what the column has gained. A shorter column is another trace: start again.
    pub fn grow(&mut self, column: &[f64]) {
        if column.len() / BLOCK < self.blocks.len() {
            self.blocks.clear();
        }
        let done = self.blocks.len() * BLOCK;
        self.blocks.extend(column[done..].chunks_exact(BLOCK).map(of));
    }

    /// Extremes of the samples from `a` to before `b`.
    fn between(&self, column: &[f64], a: usize, b: usize) -> Option<Column> {
        let first = a.div_ceil(BLOCK);
        let last = (b / BLOCK).min(self.blocks.len());
        if first >= last {
            return of(&column[a..b]);
        }
        let whole = self.blocks[first..last].iter().fold(None, |sum, block| join(sum, *block));
        join(join(of(&column[a..first * BLOCK]), whole), of(&column[last * BLOCK..b]))
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
                *slot = self.between(column, a, b);
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
        pyramid.grow(&[1.0; 1000]);
        pyramid.grow(&[5.0; 300]);
        assert_eq!(pyramid.blocks, [Some(Column { low: 5.0, high: 5.0, last: 5.0 })]);
    }
}
