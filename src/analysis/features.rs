//! What each state of a recording shows: the features of a run, each with its uncertainty or the reason
//! why it can't be known. The same functions serve a recording and a simulated vehicle.

use super::aeration::aeration;
use super::current;
use super::dead_head::{kept, peak, time_to};
use super::decay::{Shape, decay};
use super::delay::onset;
use super::known::{Estimate, Known, Point, Unknown, between};
use super::level::{level, line};
use super::ripple::ripple;
use super::saw::saw;
use super::spikes::spikes;
use super::states::{Phase, Stretch};
use super::step::step;

/// The channels of a recording over common times (s, not falling). Gaps are NaN.
#[derive(Clone, Copy, Debug, Default)]
pub struct Signals<'a> {
    /// Times, s.
    pub t: &'a [f64],
    /// Pressure, mbar gauge.
    pub mbar: &'a [f64],
    /// Engine speed, 1/min.
    pub rpm: Option<&'a [f64]>,
    /// Share of gas in the glass, 0 … 1.
    pub gas: Option<&'a [f64]>,
    /// Current of the pump, A.
    pub amps: Option<&'a [f64]>,
    /// Voltage at the pump, V.
    pub volts: Option<&'a [f64]>,
    /// Neighbouring samples were left out: what is quicker than the samples is lost.
    pub thinned: bool,
}

/// What a feature is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Level of the settled part, mbar.
    Level,
    /// Slope of the settled part, mbar/min.
    Slope,
    /// Change from the state before, mbar.
    StepSize,
    /// Time to 63 % of that change, s.
    StepTime,
    /// Half swing of the ripple, mbar.
    RippleSize,
    /// Its frequency, Hz.
    RippleFrequency,
    /// Its regularity, 0 … 1.
    RippleRegularity,
    /// Spikes a minute.
    SpikeRate,
    /// Their median height, mbar.
    SpikeSize,
    /// Share of them towards zero.
    SpikesTowardsZero,
    /// Period of a saw-tooth, s.
    SawPeriod,
    /// Its height, mbar.
    SawSize,
    /// Farthest value, mbar.
    Peak,
    /// Time to half of the way to the farthest value, s.
    TimeToHalf,
    /// Share of the farthest value kept after 10 s more against the shut valve.
    KeptOfPeak,
    /// Value at the beginning, mbar.
    Start,
    /// Value at the end, mbar.
    End,
    /// Time constant, s.
    TimeConstant,
    /// Where it ends up, mbar.
    Plateau,
    /// How far a quick first stage goes, mbar.
    QuickStage,
    /// Mean share of gas in the glass.
    Gas,
    /// Slugs of gas a minute.
    Slugs,
    /// Mean current, A.
    Current,
    /// Peak of the current over its later level.
    Inrush,
    /// Frequency of the current's ripple, Hz.
    CurrentRipple,
    /// Humps of the current in a turn.
    Humps,
    /// Mean voltage, V.
    Voltage,
}

impl What {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Level => "level",
            Self::Slope => "drift",
            Self::StepSize => "step from the state before",
            Self::StepTime => "63 % of that step after",
            Self::RippleSize => "ripple, half swing",
            Self::RippleFrequency => "ripple, frequency",
            Self::RippleRegularity => "ripple, regularity",
            Self::SpikeRate => "spikes",
            Self::SpikeSize => "spikes, median height",
            Self::SpikesTowardsZero => "spikes towards zero",
            Self::SawPeriod => "saw-tooth, period",
            Self::SawSize => "saw-tooth, height",
            Self::Peak => "farthest",
            Self::TimeToHalf => "half of the way after",
            Self::KeptOfPeak => "kept 10 s later",
            Self::Start => "at its beginning",
            Self::End => "at its end",
            Self::TimeConstant => "time constant",
            Self::Plateau => "plateau",
            Self::QuickStage => "quick first stage",
            Self::Gas => "gas in the glass",
            Self::Slugs => "slugs",
            Self::Current => "current",
            Self::Inrush => "inrush over level",
            Self::CurrentRipple => "current ripple",
            Self::Humps => "humps a turn",
            Self::Voltage => "voltage",
        }
    }

    /// Unit; empty for a plain number.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Level
            | Self::StepSize
            | Self::RippleSize
            | Self::SpikeSize
            | Self::SawSize
            | Self::Peak
            | Self::Start
            | Self::End
            | Self::Plateau
            | Self::QuickStage => "mbar",
            Self::Slope => "mbar/min",
            Self::StepTime | Self::SawPeriod | Self::TimeToHalf | Self::TimeConstant => "s",
            Self::RippleFrequency | Self::CurrentRipple => "Hz",
            Self::SpikeRate | Self::Slugs => "1/min",
            Self::Current => "A",
            Self::Voltage => "V",
            Self::RippleRegularity
            | Self::SpikesTowardsZero
            | Self::KeptOfPeak
            | Self::Gas
            | Self::Inrush
            | Self::Humps => "",
        }
    }
}

/// A stretch with its features.
#[derive(Clone, Debug, PartialEq)]
pub struct StateFeatures {
    /// The stretch.
    pub stretch: Stretch,
    /// Its features in the order of the table.
    pub list: Vec<(What, Known)>,
    /// Shape of the decay of a hold.
    pub shape: Option<Shape>,
}

impl StateFeatures {
    /// A feature.
    pub fn get(&self, what: What) -> Known {
        self.list.iter().find(|f| f.0 == what).map_or(Err(Unknown::NotRecorded), |f| f.1)
    }
}

/// The settled part of a stretch: from 40 % of it, at most 10 s, to a little before its end, where
/// the next one may have begun.
fn settled(s: &Stretch) -> (f64, f64) {
    let length = s.length();
    (s.from + (0.4 * length).min(10.0), s.to - (0.1 * length).min(2.0))
}

fn scaled(k: Known, by: f64) -> Known {
    k.map(|e| Estimate { value: by * e.value, error: by * e.error, ..e })
}

/// Features of every stretch.
pub fn features(signals: &Signals<'_>, stretches: &[Stretch]) -> Vec<StateFeatures> {
    stretches
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let before = k.checked_sub(1).and_then(|b| stretches.get(b));
            let mut list = pressure_features(signals, s, before);
            let shape = if s.phase == Phase::Hold { hold(signals, s, &mut list) } else { None };
            other_channels(signals, s, &mut list);
            StateFeatures { stretch: *s, list, shape }
        })
        .collect()
}

fn pressure_features(signals: &Signals<'_>, s: &Stretch, before: Option<&Stretch>) -> Vec<(What, Known)> {
    let part = |from: f64, to: f64| between(signals.t, signals.mbar, from, to);
    let (from, to) = settled(s);
    let calm = part(from, to);
    let mut list: Vec<(What, Known)> = vec![];
    match s.phase {
        Phase::Rest | Phase::Crank | Phase::Idle | Phase::Raised | Phase::Other => {
            list.push((What::Level, level(&calm)));
        }
        Phase::DeadHead => dead_head(signals, s, before, &mut list),
        Phase::RunDown | Phase::Hold => {}
    }
    if matches!(s.phase, Phase::Rest | Phase::Idle | Phase::Raised) && s.length() >= 3.0 {
        list.push((What::Slope, scaled(line(&calm).map(|l| l.slope), 60.0)));
    }
    if matches!(s.phase, Phase::Idle | Phase::Raised) {
        // a state that moves itself gives no level to step from
        if let Some(b) =
            before.filter(|b| matches!(b.phase, Phase::Rest | Phase::Crank | Phase::Idle | Phase::Raised))
        {
            let points = part(settled(b).0, s.to);
            // a state is named when the speed has changed, which is after the pressure began to
            let early = s.from - (0.2 * b.length()).min(2.0);
            let began = onset(&points, early).map_or(s.from, |o| o.value);
            let step = step(&points, if began < s.from + 2.0 { began } else { s.from });
            list.push((What::StepSize, step.and_then(|s| s.size)));
            list.push((What::StepTime, step.and_then(|s| s.t63)));
        }
        quick(signals, &calm, &mut list);
    }
    list
}

/// Ripple, spikes and saw-tooth of a running engine.
fn quick(signals: &Signals<'_>, calm: &[Point], list: &mut Vec<(What, Known)>) {
    if signals.thinned {
        list.push((What::RippleSize, Err(Unknown::Thinned)));
        return;
    }
    match ripple(calm, 1.5, 200.0) {
        Ok(r) => {
            list.push((What::RippleSize, Ok(r.amplitude)));
            list.push((What::RippleFrequency, Ok(r.frequency)));
            let samples = r.amplitude.samples;
            list.push((What::RippleRegularity, Ok(Estimate { value: r.regularity, error: 0.05, samples })));
        }
        Err(why) => list.push((What::RippleSize, Err(why))),
    }
    match spikes(calm) {
        Ok(s) => {
            list.push((What::SpikeRate, Ok(s.rate)));
            if s.size.is_ok() {
                list.push((What::SpikeSize, s.size));
                list.push((What::SpikesTowardsZero, s.towards_zero));
            }
        }
        Err(why) => list.push((What::SpikeRate, Err(why))),
    }
    // its absence is the rule and not worth a line
    if let Ok(s) = saw(calm, 1.0) {
        list.push((What::SawPeriod, Ok(s.period)));
        list.push((What::SawSize, Ok(s.size)));
    }
}

fn dead_head(signals: &Signals<'_>, s: &Stretch, before: Option<&Stretch>, list: &mut Vec<(What, Known)>) {
    let base = before
        .map(|b| level(&between(signals.t, signals.mbar, settled(b).0, b.to)))
        .and_then(Result::ok)
        .map_or(0.0, |l| l.value);
    let points = between(signals.t, signals.mbar, s.from, s.to);
    let top = peak(&points, base);
    list.push((What::Peak, top));
    let half = top.and_then(|p| time_to(&points, base, base + 0.5 * (p.value - base)));
    list.push((What::TimeToHalf, half));
    if s.length() > 12.0 {
        list.push((What::KeptOfPeak, kept(&points, base, 10.0)));
    }
}

fn hold(signals: &Signals<'_>, s: &Stretch, list: &mut Vec<(What, Known)>) -> Option<Shape> {
    // the column swings for a moment when the engine stops
    let from = s.from + (0.1 * s.length()).min(2.0);
    let points = between(signals.t, signals.mbar, from, s.to);
    let length = s.length();
    let ends = (0.05 * length).clamp(0.3, 5.0);
    list.push((What::Start, level(&between(signals.t, signals.mbar, from, from + ends))));
    list.push((What::End, level(&between(signals.t, signals.mbar, s.to - ends, s.to))));
    match decay(&points) {
        Err(why) => {
            list.push((What::TimeConstant, Err(why)));
            None
        }
        Ok(d) => {
            if d.shape == Shape::Straight {
                list.push((What::Slope, scaled(d.slope, 60.0)));
            }
            list.push((What::TimeConstant, d.tau));
            list.push((What::Plateau, d.plateau));
            if d.shape == Shape::TwoStage {
                list.push((What::QuickStage, d.quick_size));
            }
            Some(d.shape)
        }
    }
}

fn other_channels(signals: &Signals<'_>, s: &Stretch, list: &mut Vec<(What, Known)>) {
    let (from, to) = settled(s);
    if let Some(gas) = signals.gas.filter(|_| s.phase != Phase::RunDown) {
        let air = aeration(&between(signals.t, gas, from, to));
        list.push((What::Gas, air.map(|a| a.mean)));
        if let Some(slugs) = air.ok().and_then(|a| a.slugs.ok()).filter(|s| s.value > 0.0) {
            list.push((What::Slugs, Ok(slugs)));
        }
    }
    if let Some(amps) = signals.amps {
        let whole = between(signals.t, amps, s.from, s.to);
        let calm = between(signals.t, amps, from, to);
        list.push((What::Current, current::mean(&calm)));
        if matches!(s.phase, Phase::Crank | Phase::Rest) {
            list.push((What::Inrush, current::inrush(&whole, 0.2)));
        }
        let hum = if signals.thinned { Err(Unknown::Thinned) } else { current::hum(&calm) };
        list.push((What::CurrentRipple, hum.map(|h| h.frequency)));
        if hum.is_ok() {
            list.push((What::Humps, current::humps_per_turn(&calm, None).map(|h| h.0)));
        }
    }
    if let Some(volts) = signals.volts {
        list.push((What::Voltage, level(&between(signals.t, volts, from, to))));
    }
}
