//! A pair of dividers on the trace and the slip with what they say. Pure.

use crate::bay::action::Micros;
use crate::tell;
use crate::trace::Trace;

use super::words::{as_shown, number, pressure};
use crate::units::PressureUnit;

/// What lies between the two feet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slip {
    /// Left foot.
    pub from: Micros,
    /// Right foot.
    pub to: Micros,
    /// Pressure at the left foot, mbar.
    pub first: f64,
    /// Pressure at the right foot, mbar.
    pub last: f64,
    /// Mean between the feet, mbar.
    pub mean: f64,
    /// Least between the feet, mbar.
    pub low: f64,
    /// Greatest between the feet, mbar.
    pub high: f64,
}

impl Slip {
    /// Seconds between the feet.
    pub fn secs(&self) -> f64 {
        (self.to - self.from) as f64 / 1e6
    }

    /// Change from foot to foot.
    pub fn change(&self) -> f64 {
        self.last - self.first
    }

    /// Change a second, or none when the feet stand on the same sample.
    pub fn slope(&self) -> Option<f64> {
        (self.to > self.from).then(|| self.change() / self.secs())
    }

    /// The lines of the slip in a unit: change, ends, slope a second and a minute, level.
    pub fn lines_in(&self, unit: PressureUnit) -> Vec<String> {
        let p = |mbar: f64| pressure(mbar, unit);
        let per = 100.0 / unit.pascal();
        // the change is that of the ends as they stand beside it
        let change = as_shown(self.last, unit) - as_shown(self.first, unit);
        let none = "\u{2013}".to_owned();
        let slope = self.slope().map_or_else(|| none.clone(), |s| number(s * per, 2));
        let rate = self.slope().map_or(none, |s| number(s * per * 60.0, 1));
        let u = unit.symbol();
        vec![
            tell!("dividers-change", change = p(change), u = u, seconds = format!("{:.1}", self.secs())),
            tell!("dividers-ends", first = p(self.first), last = p(self.last)),
            tell!("dividers-slope", slope = slope, u = u, rate = rate),
            tell!("dividers-level", mean = p(self.mean), low = p(self.low), high = p(self.high)),
        ]
    }
}

/// The sample next to a time that has a value.
pub fn value_at(trace: &Trace, at: Micros) -> Option<f64> {
    let i = trace.at.partition_point(|&t| t <= at);
    let before = i.checked_sub(1);
    let after = (i < trace.len()).then_some(i);
    let near = match (before, after) {
        (Some(b), Some(a)) if trace.at[a] - at < at - trace.at[b] => a,
        (Some(b), _) => b,
        (None, Some(a)) => a,
        (None, None) => return None,
    };
    Some(trace.mbar[near]).filter(|v| v.is_finite())
}

/// Reads the trace between two feet in either order. `None` where a foot stands on no sample.
pub fn measure(trace: &Trace, a: Micros, b: Micros) -> Option<Slip> {
    let (from, to) = (a.min(b), a.max(b));
    let (first, last) = (value_at(trace, from)?, value_at(trace, to)?);
    let (mut low, mut high) = (first.min(last), first.max(last));
    for &v in &trace.mbar[trace.range(from, to)] {
        if v.is_finite() {
            low = low.min(v);
            high = high.max(v);
        }
    }
    let mean = trace.mean(&trace.mbar, from, to).unwrap_or((first + last) / 2.0);
    Some(Slip { from, to, first, last, mean, low, high })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp() -> Trace {
        let mut trace = Trace::default();
        for i in 0..=100u64 {
            trace.at.push(i * 100_000);
            trace.mbar.push(-10.0 * i as f64);
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        trace
    }

    #[test]
    fn a_ramp_reads_as_its_slope_whichever_way_the_feet_stand() {
        let trace = ramp();
        let slip = measure(&trace, 7_000_000, 2_000_000).unwrap();
        assert_eq!((slip.first, slip.last), (-200.0, -700.0));
        assert!((slip.slope().unwrap() + 100.0).abs() < 1e-9);
        assert!((slip.mean + 450.0).abs() < 10.0, "{}", slip.mean);
        assert_eq!((slip.low, slip.high), (-700.0, -200.0));
        let lines = slip.lines_in(PressureUnit::Mbar);
        assert_eq!(lines[0], "\u{2212}500 mbar in 5.0 s");
        assert_eq!(lines[2], "slope \u{2212}100.00 mbar/s, \u{2212}6000.0 mbar a minute");
        assert_eq!(slip.lines_in(PressureUnit::KiloPascal)[1], "from \u{2212}20.0 to \u{2212}70.0");
    }

    #[test]
    fn the_change_is_that_of_the_ends_beside_it() {
        let slip =
            Slip { from: 0, to: 1_000_000, first: -131.6, last: -23.4, mean: -70.0, low: -132.0, high: -23.0 };
        let lines = slip.lines_in(PressureUnit::Mbar);
        assert_eq!(lines[0], "109 mbar in 1.0 s");
        assert_eq!(lines[1], "from \u{2212}132 to \u{2212}23");
    }

    #[test]
    fn feet_on_one_sample_have_no_slope() {
        let slip = measure(&ramp(), 2_000_000, 2_000_000).unwrap();
        assert_eq!(slip.slope(), None);
        assert!(slip.lines_in(PressureUnit::Mbar)[2].contains('\u{2013}'));
    }

    #[test]
    fn no_reading_where_no_tee_was() {
        let mut trace = ramp();
        trace.mbar[20] = f64::NAN;
        assert_eq!(measure(&trace, 2_000_000, 5_000_000), None);
        assert_eq!(measure(&Trace::default(), 0, 1), None);
    }
}
