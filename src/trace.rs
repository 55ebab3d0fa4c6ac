//! The columnar trace: what the instrument stored, sample by sample, and what was done meanwhile.

use crate::bay::action::Micros;

/// Something done, as a tick on the chart's top edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// When.
    pub at: Micros,
    /// One or two words: `start`, `valve shut`.
    pub word: String,
}

/// Samples in the order of time. All columns have the same length.
///
/// `mbar` and `gas` are NaN while no tee is fitted: a gap in the curve, not a zero.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Time of each sample, µs; strictly rising.
    pub at: Vec<Micros>,
    /// Shown pressure, mbar gauge.
    pub mbar: Vec<f64>,
    /// Share of gas in the glass, 0 … 1.
    pub gas: Vec<f64>,
    /// Rev counter, 1/min.
    pub rpm: Vec<f64>,
    /// Things done.
    pub ticks: Vec<Tick>,
}

/// What instruments beside the tee's transducer showed, at the trace's sampling times while one of them was
/// connected. Not part of the trace's hash: the tee's samples are what a mark quotes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    /// Time of each sample, µs; strictly rising.
    pub at: Vec<Micros>,
    /// Mean current of the pump in the clamp, A; NaN without one.
    pub amps: Vec<f64>,
    /// Second transducer, mbar gauge; NaN without one.
    pub second_mbar: Vec<f64>,
}

/// What one pixel column of a chart has to cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// Smallest value in the column.
    pub low: f64,
    /// Largest value in the column.
    pub high: f64,
    /// Last value in the column, where the pen leaves it.
    pub last: f64,
}

impl Trace {
    /// Number of samples.
    pub fn len(&self) -> usize {
        self.at.len()
    }

    /// No sample yet.
    pub fn is_empty(&self) -> bool {
        self.at.is_empty()
    }

    /// Index range of the samples with `from ≤ t ≤ to`.
    pub fn range(&self, from: Micros, to: Micros) -> std::ops::Range<usize> {
        let a = self.at.partition_point(|&t| t < from);
        let b = self.at.partition_point(|&t| t <= to);
        a..b.max(a)
    }

    /// Mean of a column over a window, weighted by time so that a change of the sampling interval
    /// doesn't pull it; `None` without a finite sample.
    pub fn mean(&self, column: &[f64], from: Micros, to: Micros) -> Option<f64> {
        let r = self.range(from, to);
        let (mut sum, mut weight) = (0.0, 0.0);
        for i in r.clone() {
            let span = if i > r.start { (self.at[i] - self.at[i - 1]) as f64 } else { 1.0 };
            if column[i].is_finite() {
                sum += column[i] * span;
                weight += span;
            }
        }
        (weight > 0.0).then(|| sum / weight)
    }

    /// Least and largest value a pixel column, so that no spike is lost however many samples a
    /// column holds. Columns without a finite sample are `None`: the pen is lifted.
    pub fn reduce(&self, column: &[f64], from: Micros, to: Micros, columns: usize) -> Vec<Option<Column>> {
        let mut out = vec![None; columns];
        if to <= from || columns == 0 {
            return out;
        }
        let span = u128::from(to - from);
        for i in self.range(from, to) {
            let v = column[i];
            if !v.is_finite() {
                continue;
            }
            let k = (u128::from(self.at[i] - from) * columns as u128 / span).min(columns as u128 - 1) as usize;
            out[k] = Some(match out[k] {
                None => Column { low: v, high: v, last: v },
                Some(Column { low, high, .. }) => Column { low: low.min(v), high: high.max(v), last: v },
            });
        }
        out
    }

    /// The trace as CSV: a header with quantity and unit, one line a sample.
    pub fn to_csv(&self) -> String {
        let mut out = String::from("time_s,tee_pressure_mbar_gauge,glass_gas_share,engine_speed_rpm,event\n");
        let mut ticks = self.ticks.iter().peekable();
        let number = |v: f64, digits: usize| if v.is_finite() { format!("{v:.digits$}") } else { String::new() };
        for i in 0..self.len() {
            let mut words = String::new();
            while let Some(tick) = ticks.next_if(|tick| tick.at <= self.at[i]) {
                if !words.is_empty() {
                    words.push_str("; ");
                }
                words.push_str(&tick.word.replace(['"', ',', '\n'], " "));
            }
            out.push_str(&format!(
                "{:.3},{},{},{},{}\n",
                self.at[i] as f64 / 1e6,
                number(self.mbar[i], 2),
                number(self.gas[i], 4),
                number(self.rpm[i], 1),
                words
            ));
        }
        out
    }

    /// Hash over the bits of every sample: two traces are the same or they are not.
    pub fn hash(&self) -> String {
        let mut hash = blake3::Hasher::new();
        for &t in &self.at {
            hash.update(&t.to_le_bytes());
        }
        for column in [&self.mbar, &self.gas, &self.rpm] {
            for v in column {
                // one bit pattern for "no sample"
                let bits = if v.is_nan() { u64::MAX } else { v.to_bits() };
                hash.update(&bits.to_le_bytes());
            }
        }
        hash.finalize().to_hex().as_str()[..32].to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn saw(n: usize) -> Trace {
        let mut trace = Trace::default();
        for i in 0..n {
            trace.at.push(i as u64 * 20_000);
            trace.mbar.push((i % 7) as f64);
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        trace
    }

    #[test]
    fn reduction_keeps_the_only_spike() {
        let mut trace = saw(100_000);
        trace.mbar[54_321] = 999.0;
        let columns = trace.reduce(&trace.mbar, 0, *trace.at.last().unwrap(), 500);
        let peak = columns.iter().flatten().map(|c| c.high).fold(f64::MIN, f64::max);
        assert_eq!(peak, 999.0);
    }

    #[test]
    fn a_gap_lifts_the_pen() {
        let mut trace = saw(1000);
        trace.mbar[200..400].fill(f64::NAN);
        let columns = trace.reduce(&trace.mbar, 0, 20_000_000, 10);
        assert!(columns[2].is_none() && columns[3].is_none());
        assert!(columns[1].is_some() && columns[4].is_some());
        assert_eq!(trace.mean(&trace.mbar, 200 * 20_000, 399 * 20_000), None);
    }

    #[test]
    fn the_mean_weighs_by_time() {
        let trace = Trace {
            at: vec![0, 1_000_000, 11_000_000],
            mbar: vec![0.0, 0.0, 11.0],
            gas: vec![0.0; 3],
            rpm: vec![0.0; 3],
            ticks: vec![],
        };
        let mean = trace.mean(&trace.mbar, 0, 11_000_000).unwrap();
        assert!((mean - 10.0).abs() < 1e-5, "{mean}");
    }
}
