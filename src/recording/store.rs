//! Keeps at most [`MOST_SAMPLES`] samples of a stream of any length.
//!
//! When it is full, of every four neighbours the two are kept that have the lowest and the highest
//! pressure, and from then on two of as many new ones. What is kept are samples as they were, so no spike
//! is lost; but what is quicker than the samples is, and scatter looks larger.

/// Most samples that are kept.
pub const MOST_SAMPLES: usize = 1 << 20;
/// Most columns of numbers besides time.
pub const MOST_COLUMNS: usize = 12;

/// One row: time, numbers, place of the state's word.
#[derive(Clone, Copy)]
pub(super) struct Row {
    pub(super) t: f64,
    pub(super) values: [f64; MOST_COLUMNS],
    pub(super) word: u16,
}

pub(super) struct Store {
    pub(super) t: Vec<f64>,
    pub(super) columns: Vec<Vec<f64>>,
    pub(super) words: Option<Vec<u16>>,
    /// Rows that each kept one stands for.
    pub(super) stride: u64,
    most: usize,
    /// Column that decides what is kept.
    main: usize,
    low: Option<Row>,
    high: Option<Row>,
    gathered: u64,
}

impl Store {
    pub(super) fn new(columns: usize, main: usize, words: bool, most: usize) -> Self {
        Self {
            t: vec![],
            columns: vec![vec![]; columns.min(MOST_COLUMNS)],
            words: words.then(Vec::new),
            stride: 1,
            most: most.max(8),
            main,
            low: None,
            high: None,
            gathered: 0,
        }
    }

    /// Takes a row.
    pub(super) fn push(&mut self, row: Row) {
        if self.stride == 1 {
            self.keep(row);
        } else {
            let v = row.values[self.main];
            let at = |r: &Option<Row>, main: usize| r.as_ref().map(|r| r.values[main]);
            // a row without pressure only stands in where there is none with
            if at(&self.low, self.main).is_none_or(|l| v < l || l.is_nan()) {
                self.low = Some(row);
            }
            if at(&self.high, self.main).is_none_or(|h| v > h || h.is_nan()) {
                self.high = Some(row);
            }
            self.gathered += 1;
            if self.gathered == 2 * self.stride {
                self.flush();
            }
        }
        if self.t.len() >= self.most {
            self.halve();
        }
    }

    /// Keeps what is still gathered.
    pub(super) fn flush(&mut self) {
        self.gathered = 0;
        let (low, high) = (self.low.take(), self.high.take());
        if let Some((low, high)) = low.zip(high) {
            if low.t == high.t {
                self.keep(low);
            } else {
                let (first, second) = if low.t < high.t { (low, high) } else { (high, low) };
                self.keep(first);
                self.keep(second);
            }
        }
    }

    fn keep(&mut self, row: Row) {
        self.t.push(row.t);
        for (column, v) in self.columns.iter_mut().zip(row.values) {
            column.push(v);
        }
        if let Some(words) = &mut self.words {
            words.push(row.word);
        }
    }

    /// Two of every four.
    fn halve(&mut self) {
        let n = self.t.len();
        let mut kept = Vec::with_capacity(n / 2 + 2);
        for start in (0..n).step_by(4) {
            let end = (start + 4).min(n);
            let v = |i: usize| self.columns.get(self.main).map_or(f64::NAN, |c| c[i]);
            let real: Vec<usize> = (start..end).filter(|&i| v(i).is_finite()).collect();
            let low = real.iter().copied().min_by(|&a, &b| v(a).total_cmp(&v(b)));
            let high = real.iter().copied().max_by(|&a, &b| v(a).total_cmp(&v(b)));
            match low.zip(high) {
                None => kept.extend([start, end - 1]),
                Some((l, h)) if l == h => kept.extend([l, if l == start { end - 1 } else { start }]),
                Some((l, h)) => kept.extend([l, h]),
            }
        }
        kept.sort_unstable();
        kept.dedup();
        let pick = |c: &[f64]| kept.iter().map(|&i| c[i]).collect::<Vec<f64>>();
        self.t = pick(&self.t);
        for column in &mut self.columns {
            *column = pick(column);
        }
        if let Some(words) = &mut self.words {
            *words = kept.iter().map(|&i| words[i]).collect();
        }
        self.stride *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(i: usize, v: f64) -> Row {
        let mut values = [f64::NAN; MOST_COLUMNS];
        values[0] = v;
        Row { t: i as f64, values, word: 0 }
    }

    #[test]
    fn a_million_rows_in_a_thousand_places_keep_the_only_spike_and_their_order() {
        let mut store = Store::new(1, 0, true, 1000);
        for i in 0..1_000_000_usize {
            let v = if i == 654_322 { -900.0 } else { (i % 10) as f64 };
            store.push(row(i, if i % 3 == 0 { f64::NAN } else { v }));
            assert!(store.t.len() <= 1000);
        }
        store.flush();
        assert!(store.t.len() > 400 && store.stride > 500, "{} {}", store.t.len(), store.stride);
        assert!(store.t.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(store.columns[0].iter().copied().fold(0.0, f64::min), -900.0);
        assert_eq!(store.t.len(), store.words.unwrap().len());
    }

    #[test]
    fn a_short_recording_is_kept_as_it_is() {
        let mut store = Store::new(1, 0, false, 1000);
        (0..900).for_each(|i| store.push(row(i, i as f64)));
        store.flush();
        assert_eq!((store.t.len(), store.stride), (900, 1));
    }
}
