//! Recordings from elsewhere: a table of text with a heading, read into columns in known units, and written
//! again in any of the accepted forms.
//!
//! Text in, columns out: this room opens no file and knows no vehicle. It reads a stream of any length
//! within bounded memory (see [`read`]), and says what it understood, what it assumed and what it left
//! out.

pub mod heading;
mod number;
mod plausible;
pub mod read;
mod store;
pub mod write;

use crate::trace::{Tick, Trace};
use heading::{Heading, Quantity};

/// A recording: samples in the order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// Headings of the columns that were understood, time first; words of states and events included.
    pub headings: Vec<Heading>,
    /// Headings that mean nothing here.
    pub ignored: Vec<String>,
    /// Times, s, not falling.
    pub t: Vec<f64>,
    /// Columns of numbers with their place in `headings`: mbar gauge, 1/min, A, V, °C or a share. NaN is a
    /// gap.
    pub columns: Vec<(usize, Vec<f64>)>,
    /// For each sample the place of its word in `vocabulary`, when there is a column of states.
    pub states: Option<Vec<u16>>,
    /// Words of the column of states; the first is empty.
    pub vocabulary: Vec<String>,
    /// Words of the column of events with their times.
    pub events: Vec<(f64, String)>,
    /// Rows read, whether kept or not.
    pub rows: u64,
    /// How many rows each stored sample stands for; 1 unless the recording is very long.
    pub thinned: u64,
    /// What was taken for granted, in sentences.
    pub assumed: Vec<String>,
    /// Which column is *the* pressure, as place in `columns`.
    pub pressure: usize,
}

impl Recording {
    /// The first column of a quantity.
    pub fn column(&self, quantity: Quantity) -> Option<&[f64]> {
        if quantity == Quantity::Pressure {
            return self.columns.get(self.pressure).map(|c| c.1.as_slice());
        }
        self.columns.iter().find(|c| self.headings[c.0].quantity == quantity).map(|c| c.1.as_slice())
    }

    /// For each sample the word of its state.
    pub fn words(&self) -> Option<Vec<&str>> {
        let states = self.states.as_ref()?;
        Some(states.iter().map(|&w| self.vocabulary.get(usize::from(w)).map_or("", String::as_str)).collect())
    }

    /// From the first to the last sample, s.
    pub fn span(&self) -> f64 {
        self.t.last().map_or(0.0, |l| l - self.t[0])
    }

    /// Usual time between samples, s; infinite for fewer than two.
    pub fn interval(&self) -> f64 {
        let mut gaps: Vec<f64> = self.t.windows(2).map(|w| w[1] - w[0]).collect();
        if gaps.is_empty() {
            return f64::INFINITY;
        }
        let middle = gaps.len() / 2;
        *gaps.select_nth_unstable_by(middle, f64::total_cmp).1
    }

    /// Samples come at times of their own: more than one gap in twenty is half as long again as usual, or half as short.
    pub fn is_uneven(&self) -> bool {
        let usual = self.interval();
        let odd = self.t.windows(2).filter(|w| !(0.5 * usual..=1.5 * usual).contains(&(w[1] - w[0]))).count();
        20 * odd > self.t.len()
    }

    /// As a trace of ours, counted from its first sample, for charts. Samples that share a microsecond
    /// become one.
    pub fn to_trace(&self) -> Trace {
        let mut trace = Trace::default();
        let start = self.t.first().copied().unwrap_or(0.0);
        let pressure = self.column(Quantity::Pressure);
        let (gas, rpm) = (self.column(Quantity::Gas), self.column(Quantity::Speed));
        let of = |c: Option<&[f64]>, i: usize| c.map_or(f64::NAN, |c| c[i]);
        for (i, t) in self.t.iter().enumerate() {
            let at = ((t - start) * 1e6).round() as u64;
            if trace.at.last().is_some_and(|&l| l >= at) {
                continue;
            }
            trace.at.push(at);
            trace.mbar.push(of(pressure, i));
            trace.gas.push(of(gas, i));
            trace.rpm.push(of(rpm, i));
        }
        for (t, word) in &self.events {
            trace.ticks.push(Tick { at: ((t - start).max(0.0) * 1e6).round() as u64, word: word.clone() });
        }
        trace
    }

    /// A trace of ours as a recording.
    pub fn of_trace(trace: &Trace) -> Self {
        let heading = |name: &str, quantity| Heading::plain(name, quantity);
        Self {
            headings: vec![
                heading("time", Quantity::Time),
                heading("tee pressure", Quantity::Pressure),
                heading("glass gas", Quantity::Gas),
                heading("engine speed", Quantity::Speed),
                heading("event", Quantity::Event),
            ],
            t: trace.at.iter().map(|&at| at as f64 / 1e6).collect(),
            columns: vec![(1, trace.mbar.clone()), (2, trace.gas.clone()), (3, trace.rpm.clone())],
            events: trace.ticks.iter().map(|t| (t.at as f64 / 1e6, t.word.clone())).collect(),
            vocabulary: vec![String::new()],
            rows: trace.len() as u64,
            thinned: 1,
            ..Self::default()
        }
    }
}
