//! When a fault shows: only on bumps, only hot, only with a low tank, worse by the hour.
//!
//! A modifier never touches a reading. It says how much of a fault's severity is present under the
//! [`Conditions`] of a moment; the fault is then put into the plant with that severity. Several modifiers
//! of one fault multiply.
//!
//! | modifier | share present |
//! |---|---|
//! | intermittent | 1 or 0, drawn anew for every dwell; by vibration or flexing the chance grows with it |
//! | temperature | 0 at the threshold, 1 three kelvin beyond it, judged as late as the part is |
//! | level | 0 at the threshold, 1 when two hundredths of the tank less are left |
//! | attitude | 0 at the angle, 1 two degrees beyond it |
//! | running time | 1 once the engine has run for so long in all, 0 before |
//! | time since stop | 1 from then on, 0 before and with the engine running |
//! | progressive | all of it, and more severity for every hour that the engine has run |

use serde::{Deserialize, Serialize};

use crate::random::{Purpose, uniform};
use crate::units::{Span, Temperature};

/// Width of a temperature threshold, K.
const THRESHOLD_K: f64 = 3.0;
/// Width of a level threshold, share of the tank.
const THRESHOLD_LEVEL: f64 = 0.02;
/// Width of an attitude threshold, degrees.
const THRESHOLD_DEG: f64 = 2.0;
/// How long conditions that move slowly may be taken as standing still, µs.
const SLOW_US: u64 = 10_000_000;

/// What makes an intermittent fault come and go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cause {
    /// Engine or road shakes it.
    Vibration,
    /// Somebody or something bends it: a hand on the harness, the cab's movement.
    Flex,
    /// Nothing that anybody could see.
    Dwell,
}

/// A threshold of temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Threshold {
    /// Present above it.
    Above(Temperature),
    /// Present below it.
    Below(Temperature),
}

/// When a fault shows.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Modifier {
    /// Comes and goes.
    Intermittent {
        /// By what.
        by: Cause,
        /// Share of the time that it is present, 0 … 1; by vibration or flexing: while that is at its most.
        share: f64,
        /// How long it stays either way.
        dwell: Span,
    },
    /// Depends on the temperature where it sits.
    Temperature {
        /// From where on it is present.
        when: Threshold,
        /// How much later than the fuel the part itself warms or cools.
        #[serde(default)]
        lag: Span,
    },
    /// Present only with less than this share of fuel in the tank, 0 … 1.
    Level {
        /// The share.
        below: f64,
    },
    /// Present only when the vehicle leans further than this, either way.
    Attitude {
        /// Degrees.
        beyond: f64,
    },
    /// Grows while the engine runs.
    Progressive {
        /// Severity more an hour.
        per_hour: f64,
    },
    /// Present once the engine has run for so long in all.
    AfterRunning {
        /// How long.
        for_time: Span,
    },
    /// Present only with the engine off for so long.
    SinceStop {
        /// How long.
        after: Span,
    },
}

/// What a fault meets at a moment.
#[derive(Clone, Copy)]
pub struct Conditions<'a> {
    /// Temperature where the fault sits, °C, so many seconds ago.
    pub temperature_c: &'a dyn Fn(f64) -> f64,
    /// Fuel in the tank, share of its capacity.
    pub fuel_share: f64,
    /// How far the vehicle leans, degrees; the sign doesn't matter.
    pub attitude_deg: f64,
    /// Hours that the engine has run since the start.
    pub running_h: f64,
    /// Seconds since the engine stopped; `None` while it runs.
    pub stopped_s: Option<f64>,
    /// How much it is shaken, 0 … 1.
    pub vibration: f64,
    /// How much it is bent, 0 … 1.
    pub flex: f64,
}

impl Default for Conditions<'_> {
    /// A vehicle that stands level, stopped long ago, half full, at 20 °C.
    fn default() -> Self {
        Self {
            temperature_c: &|_| 20.0,
            fuel_share: 0.5,
            attitude_deg: 0.0,
            running_h: 0.0,
            stopped_s: Some(1e6),
            vibration: 0.0,
            flex: 0.0,
        }
    }
}

impl Modifier {
    /// One of each as it is written, with its meaning, for the manual.
    pub const MANUAL: &'static [(&'static str, &'static str)] = &[
        (
            "Intermittent(by: Vibration, share: 0.4, dwell: s(2))",
            "comes and goes; by `Vibration`, `Flex` (a hand at the part) or `Dwell` (nothing to be seen). Share of the time \
             while that is at its most, 0 … 1; how long it stays either way, at least 0.1 s.",
        ),
        (
            "Temperature(when: Above(degC(50)), lag: min(5))",
            "`Above` or `Below` a temperature where it sits; all of it three kelvin beyond. Judged as late as the lag says.",
        ),
        ("Level(below: 0.25)", "only with less than this share of the tank, 0 … 1."),
        ("Attitude(beyond: 8)", "only when the vehicle leans further, 0 … 60 degrees."),
        ("Progressive(per_hour: 0.5)", "so much more severity for every hour that the engine has run, 0 … 100."),
        ("SinceStop(after: min(20))", "only with the engine off for so long."),
        (
            "AfterRunning(for_time: min(12))",
            "only once the engine has run for so long, stops not counted: \"opens after 12 min warm\".",
        ),
    ];

    /// Share of the fault that is present, 0 … 1, at `now` (µs). `seed` is the vehicle's, `which` tells
    /// modifiers of one vehicle apart.
    fn share(&self, now: &Conditions<'_>, seed: u64, which: u64, at: u64) -> f64 {
        match *self {
            Self::Intermittent { by, share, dwell } => {
                let chance = match by {
                    Cause::Vibration => share * now.vibration,
                    Cause::Flex => share * now.flex,
                    Cause::Dwell => share,
                };
                let turn = at / dwell_us(dwell);
                let drawn = uniform(seed, Purpose::Intermittent, turn ^ (which << 56));
                if drawn < chance { 1.0 } else { 0.0 }
            }
            Self::Temperature { when, lag } => {
                let t = (now.temperature_c)(lag.si());
                let beyond = match when {
                    Threshold::Above(limit) => t - limit.celsius(),
                    Threshold::Below(limit) => limit.celsius() - t,
                };
                (beyond / THRESHOLD_K).clamp(0.0, 1.0)
            }
            Self::Level { below } => ((below - now.fuel_share) / THRESHOLD_LEVEL).clamp(0.0, 1.0),
            Self::Attitude { beyond } => ((now.attitude_deg.abs() - beyond) / THRESHOLD_DEG).clamp(0.0, 1.0),
            Self::Progressive { .. } => 1.0,
            Self::AfterRunning { for_time } => f64::from(u8::from(now.running_h * 3600.0 >= for_time.si())),
            Self::SinceStop { after } => match now.stopped_s {
                Some(s) if s >= after.si() => 1.0,
                _ => 0.0,
            },
        }
    }

    /// What is wrong with the numbers, in words for an author.
    ///
    /// # Errors
    /// A sentence when a share lies outside 0 … 1, an angle outside 0 … 60°, a growth outside 0 … 100 an
    /// hour or a dwell below 0.1 s.
    pub fn check(&self) -> Result<(), String> {
        let within = |what: &str, value: f64, low: f64, high: f64| {
            if (low..=high).contains(&value) {
                Ok(())
            } else {
                Err(format!("{what} of {value} is outside {low} … {high}"))
            }
        };
        match *self {
            Self::Intermittent { share, dwell, .. } => {
                within("a share", share, 0.0, 1.0)?;
                within("a dwell in s", dwell.si(), 0.1, 86_400.0)
            }
            Self::Temperature { lag, .. } => within("a lag in s", lag.si(), 0.0, 86_400.0),
            Self::Level { below } => within("a fuel share", below, 0.0, 1.0),
            Self::Attitude { beyond } => within("an angle in degrees", beyond, 0.0, 60.0),
            Self::Progressive { per_hour } => within("a growth an hour", per_hour, 0.0, 100.0),
            Self::AfterRunning { for_time } => within("a running time in s", for_time.si(), 0.0, 1e6),
            Self::SinceStop { after } => within("a time since the stop in s", after.si(), 0.0, 1e6),
        }
    }
}

fn dwell_us(dwell: Span) -> u64 {
    ((dwell.si() * 1e6) as u64).max(100_000)
}

/// Severity that is present at `now` (µs): 0 for none of it, else 1 … 5.
///
/// `seed` is the vehicle's. The value depends on its arguments only, so that nobody's order of asking matters.
pub fn effective(severity: f64, modifiers: &[Modifier], conditions: &Conditions<'_>, seed: u64, now: u64) -> f64 {
    let mut present = 1.0;
    let mut grown = severity;
    for (which, modifier) in (0_u64..).zip(modifiers) {
        present *= modifier.share(conditions, seed, which, now);
        if let Modifier::Progressive { per_hour } = modifier {
            grown += per_hour * conditions.running_h;
        }
    }
    // with little of it present a fault is a trace; with none it is gone
    if present > 0.0 { 1.0 + (grown.clamp(1.0, 5.0) - 1.0) * present } else { 0.0 }
}

/// How long (µs) from `now` the severity may be taken as it is now: until the next draw of an intermittent
/// fault, some seconds where conditions move slowly, for ever without modifiers.
pub fn steady_for(modifiers: &[Modifier], now: u64) -> Option<u64> {
    modifiers
        .iter()
        .map(|modifier| match *modifier {
            Modifier::Intermittent { dwell, .. } => {
                let dwell = dwell_us(dwell);
                dwell - now % dwell
            }
            _ => SLOW_US - now % SLOW_US,
        })
        .min()
}

#[cfg(test)]
mod tests {
    use super::*;

    const S: u64 = 1_000_000;

    fn at(modifier: Modifier, conditions: &Conditions<'_>) -> f64 {
        effective(3.0, &[modifier], conditions, 1, 0)
    }

    #[test]
    fn without_modifiers_a_fault_is_always_there() {
        for severity in [1.0, 2.7, 5.0] {
            assert_eq!(effective(severity, &[], &Conditions::default(), 9, 77 * S), severity);
        }
        assert_eq!(steady_for(&[], 5), None);
    }

    #[test]
    fn thresholds_open_softly_and_in_the_right_direction() {
        let hot = Modifier::Temperature {
            when: Threshold::Above(Temperature::from_celsius(70.0)),
            lag: Span::from_si(60.0),
        };
        let with = |t: &dyn Fn(f64) -> f64| {
            effective(3.0, &[hot], &Conditions { temperature_c: t, ..Conditions::default() }, 1, 0)
        };
        assert_eq!(with(&|_| 69.9), 0.0);
        assert_eq!(with(&|_| 71.5), 2.0);
        assert_eq!(with(&|_| 80.0), 3.0);
        // fuel is hot already, the part a minute behind isn't
        assert_eq!(with(&|ago| if ago < 30.0 { 80.0 } else { 60.0 }), 0.0);
        let frost = Modifier::Temperature {
            when: Threshold::Below(Temperature::from_celsius(0.0)),
            lag: Span::from_si(0.0),
        };
        assert_eq!(at(frost, &Conditions { temperature_c: &|_| -9.0, ..Conditions::default() }), 3.0);
        assert_eq!(at(frost, &Conditions::default()), 0.0);
        let low = Modifier::Level { below: 0.25 };
        assert_eq!(at(low, &Conditions::default()), 0.0);
        assert_eq!(at(low, &Conditions { fuel_share: 0.1, ..Conditions::default() }), 3.0);
        let leaning = Modifier::Attitude { beyond: 10.0 };
        for (attitude_deg, expected) in [(0.0, 0.0), (-15.0, 3.0), (15.0, 3.0), (11.0, 2.0)] {
            assert_eq!(at(leaning, &Conditions { attitude_deg, ..Conditions::default() }), expected);
        }
        let later = Modifier::SinceStop { after: Span::from_si(600.0) };
        for (stopped_s, expected) in [(None, 0.0), (Some(599.0), 0.0), (Some(600.0), 3.0)] {
            assert_eq!(at(later, &Conditions { stopped_s, ..Conditions::default() }), expected);
        }
    }

    #[test]
    fn an_intermittent_fault_is_there_for_its_share_of_the_time_and_stays_for_its_dwell() {
        let shaken = Modifier::Intermittent { by: Cause::Vibration, share: 0.4, dwell: Span::from_si(2.0) };
        let share = |vibration: f64, seed: u64| {
            let conditions = Conditions { vibration, ..Conditions::default() };
            let on = (0..4000).filter(|i| effective(3.0, &[shaken], &conditions, seed, i * 2 * S) > 0.0).count();
            on as f64 / 4000.0
        };
        // standard error of a share of 0.4 in 4000 is 0.008
        assert!((share(1.0, 1) - 0.4).abs() < 0.03);
        assert!((share(0.5, 1) - 0.2).abs() < 0.03);
        assert_eq!(share(0.0, 1), 0.0);
        let conditions = Conditions { vibration: 1.0, ..Conditions::default() };
        let trace = |seed: u64| -> Vec<bool> {
            (0..200).map(|i| effective(3.0, &[shaken], &conditions, seed, i * S / 2) > 0.0).collect()
        };
        for dwell in trace(1).chunks(4) {
            assert!(dwell.iter().all(|on| *on == dwell[0]), "changed within a dwell");
        }
        assert_ne!(trace(1), trace(2), "vehicles differ");
        assert_eq!(steady_for(&[shaken], 3 * S), Some(S));
    }

    #[test]
    fn a_fault_may_wait_until_the_engine_has_run() {
        let late = Modifier::AfterRunning { for_time: Span::from_si(720.0) };
        for (running_h, expected) in [(0.0, 0.0), (0.199, 0.0), (0.2, 3.0), (5.0, 3.0)] {
            assert_eq!(at(late, &Conditions { running_h, ..Conditions::default() }), expected);
        }
    }

    #[test]
    fn the_manuals_examples_read() {
        for (example, _) in Modifier::MANUAL {
            let read: Modifier = ron::from_str(example).unwrap_or_else(|e| panic!("{example}: {e}"));
            assert_eq!(read.check(), Ok(()));
        }
    }

    #[test]
    fn a_growing_fault_grows_up_to_the_worst() {
        let grows = Modifier::Progressive { per_hour: 0.5 };
        for (running_h, expected) in [(0.0, 3.0), (2.0, 4.0), (20.0, 5.0)] {
            assert_eq!(at(grows, &Conditions { running_h, ..Conditions::default() }), expected);
        }
    }

    #[test]
    fn modifiers_multiply() {
        let both = [Modifier::Level { below: 0.25 }, Modifier::Attitude { beyond: 10.0 }];
        let with = |fuel_share, attitude_deg| {
            effective(3.0, &both, &Conditions { fuel_share, attitude_deg, ..Conditions::default() }, 1, 0)
        };
        assert_eq!(with(0.1, 15.0), 3.0);
        assert_eq!(with(0.1, 5.0), 0.0);
        assert_eq!(with(0.5, 15.0), 0.0);
        assert_eq!(with(0.1, 11.0), 2.0);
    }

    #[test]
    fn authors_write_them_with_units() {
        for (text, expected) in [
            (
                "Intermittent(by: Vibration, share: 0.3, dwell: s(4))",
                Modifier::Intermittent { by: Cause::Vibration, share: 0.3, dwell: Span::from_si(4.0) },
            ),
            (
                "Temperature(when: Above(degC(70)), lag: min(5))",
                Modifier::Temperature {
                    when: Threshold::Above(Temperature::from_celsius(70.0)),
                    lag: Span::from_si(300.0),
                },
            ),
            ("Level(below: 0.25)", Modifier::Level { below: 0.25 }),
            ("Attitude(beyond: 8)", Modifier::Attitude { beyond: 8.0 }),
            ("Progressive(per_hour: 0.2)", Modifier::Progressive { per_hour: 0.2 }),
            ("SinceStop(after: h(8))", Modifier::SinceStop { after: Span::from_si(28_800.0) }),
        ] {
            let read: Modifier = ron::from_str(text).unwrap();
            assert_eq!(read, expected);
            assert_eq!(read.check(), Ok(()));
            let again: Modifier = ron::from_str(&ron::to_string(&read).unwrap()).unwrap();
            assert_eq!(again, expected);
        }
        assert!(Modifier::Level { below: 1.5 }.check().unwrap_err().contains("outside 0 … 1"));
        assert!(Modifier::Attitude { beyond: f64::NAN }.check().is_err());
    }
}
