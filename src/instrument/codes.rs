//! Trouble codes: numbers of open standards with our own words, each with the rule that sets it.
//!
//! Numbers of cars and vans are the generic ones of SAE J2012 / ISO 15031-6, of trucks and machines the
//! suspect parameter numbers (SPN) of SAE J1939. No number of any maker. A code says which value was
//! implausible for how long, never which part is broken.
//!
//! Limits and times are training values of invented vehicles.

use crate::language::Msg;
use crate::msg;
use crate::units::ZERO_CELSIUS_K;

/// A value that a control unit watches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Watched {
    /// Rail pressure measured over rail pressure demanded; 1 when as demanded.
    RailShare,
    /// Rail pressure, Pa gauge.
    Rail,
    /// Long-term mixture correction; +0.1 is a tenth more fuel.
    MixtureTrim,
    /// Volts missing at the control side of the pump's relay against the command, as a share of the
    /// supply; 0 when as commanded.
    PumpCircuitError,
    /// Pressure after the lift pump, Pa gauge.
    Delivery,
    /// Drop across the fuel filter, Pa.
    FilterDrop,
    /// How far water covers the two pins in the bowl, 0 … 1.
    WaterAtPins,
    /// Temperature of the fuel, K.
    FuelTemperature,
}

/// On which side of its limit a value is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// Wrong below.
    Below(f64),
    /// Wrong above.
    Above(f64),
}

impl Limit {
    /// Is a value on the wrong side? One that isn't a number isn't.
    pub fn broken_by(self, value: f64) -> bool {
        match self {
            Self::Below(limit) => value < limit,
            Self::Above(limit) => value > limit,
        }
    }
}

/// When a rule watches at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum While {
    /// The key is on.
    KeyOn,
    /// The engine runs by itself.
    EngineRuns,
}

/// What sets a code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// The value.
    pub watched: Watched,
    /// Its limit, in the value's unit.
    pub limit: Limit,
    /// When it is watched.
    pub when: While,
    /// How long without a break it must be wrong, s.
    pub for_s: f64,
}

/// A trouble code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Code {
    /// Its number in the open standard.
    pub number: &'static str,
    /// What it says, in our words.
    pub about: Msg,
    /// What sets it.
    pub rule: Rule,
}

const fn code(number: &'static str, about: Msg, watched: Watched, limit: Limit, for_s: f64) -> Code {
    Code { number, about, rule: Rule { watched, limit, when: While::EngineRuns, for_s } }
}

/// Every code, in the order of numbers.
pub const CODES: &[Code] = &[
    code("P0087", msg!("bay-code-rail-low"), Watched::RailShare, Limit::Below(0.85), 3.0),
    code("P0088", msg!("bay-code-rail-high"), Watched::RailShare, Limit::Above(1.15), 3.0),
    code("P0171", msg!("bay-code-lean"), Watched::MixtureTrim, Limit::Above(0.20), 60.0),
    Code {
        number: "P0230",
        about: msg!("bay-code-relay"),
        rule: Rule { watched: Watched::PumpCircuitError, limit: Limit::Above(0.5), when: While::KeyOn, for_s: 0.5 },
    },
    code("SPN 94", msg!("bay-code-delivery-low"), Watched::Delivery, Limit::Below(0.5e5), 5.0),
    code("SPN 95", msg!("bay-code-filter-drop"), Watched::FilterDrop, Limit::Above(0.7e5), 10.0),
    Code {
        number: "SPN 97",
        about: msg!("bay-code-water"),
        rule: Rule { watched: Watched::WaterAtPins, limit: Limit::Above(0.5), when: While::KeyOn, for_s: 10.0 },
    },
    code("SPN 157", msg!("bay-code-rail-no-injection"), Watched::Rail, Limit::Below(150e5), 2.0),
    code("SPN 174", msg!("bay-code-hot"), Watched::FuelTemperature, Limit::Above(ZERO_CELSIUS_K + 80.0), 30.0),
];

/// The code of a number.
pub fn find(number: &str) -> Option<&'static Code> {
    CODES.iter().find(|c| c.number == number)
}

/// What a rule is shown at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Now, µs.
    pub at: u64,
    /// The watched value, if this vehicle measures it.
    pub value: Option<f64>,
    /// The key is on.
    pub key_on: bool,
    /// The engine runs by itself.
    pub engine_runs: bool,
}

/// The memory of a rule: since when its value has been wrong, and whether the code is stored. A stored
/// code stays until it is cleared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Watch {
    wrong_since: Option<u64>,
    stored_at: Option<u64>,
}

impl Watch {
    /// Looks once; gives whether the code is stored.
    pub fn look(&mut self, rule: Rule, look: Look) -> bool {
        let watching = match rule.when {
            While::KeyOn => look.key_on,
            While::EngineRuns => look.key_on && look.engine_runs,
        };
        if watching && look.value.is_some_and(|v| rule.limit.broken_by(v)) {
            let since = *self.wrong_since.get_or_insert(look.at);
            let held_s = look.at.saturating_sub(since) as f64 * 1e-6;
            if held_s >= rule.for_s && self.stored_at.is_none() {
                self.stored_at = Some(look.at);
            }
        } else {
            self.wrong_since = None;
        }
        self.stored_at.is_some()
    }

    /// When the code was stored, µs.
    pub const fn stored_at(self) -> Option<u64> {
        self.stored_at
    }

    /// Clears the code; it comes back when its cause is still there.
    pub fn clear(&mut self) {
        *self = Self::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(secs: f64, value: f64) -> Look {
        Look { at: (secs * 1e6) as u64, value: Some(value), key_on: true, engine_runs: true }
    }

    #[test]
    fn numbers_are_generic_and_stand_once() {
        for (i, code) in CODES.iter().enumerate() {
            let generic = code.number.strip_prefix("P0").is_some_and(|n| n.len() == 3)
                || code.number.strip_prefix("SPN ").is_some_and(|n| n.parse::<u32>().is_ok_and(|n| n < 520_192));
            assert!(generic, "{}", code.number);
            assert!(CODES[..i].iter().all(|c| c.number != code.number), "{} stands twice", code.number);
            assert!(code.about.ends_with('.') && code.rule.for_s > 0.0);
        }
        assert_eq!(find("P0087").map(|c| c.rule.watched), Some(Watched::RailShare));
        assert_eq!(find("P1087"), None);
    }

    #[test]
    fn a_code_needs_its_time_without_a_break() {
        let rule = find("P0087").unwrap().rule;
        let mut watch = Watch::default();
        assert!(!watch.look(rule, look(0.0, 0.7)));
        assert!(!watch.look(rule, look(2.9, 0.7)));
        assert!(!watch.look(rule, look(2.95, 0.9)), "a break starts the time afresh");
        assert!(!watch.look(rule, look(3.0, 0.7)));
        assert!(!watch.look(rule, look(5.9, 0.7)));
        assert!(watch.look(rule, look(6.0, 0.7)));
        assert!(watch.look(rule, look(9.0, 1.0)), "stored codes stay");
        assert_eq!(watch.stored_at(), Some(6_000_000));
        watch.clear();
        assert!(!watch.look(rule, look(20.0, 1.0)));
    }

    #[test]
    fn nothing_is_set_while_it_is_not_watched() {
        let rule = find("P0087").unwrap().rule;
        let mut watch = Watch::default();
        for s in 0..20_u32 {
            let at = look(f64::from(s), 0.1);
            assert!(!watch.look(rule, Look { engine_runs: false, ..at }));
            assert!(!watch.look(rule, Look { value: None, ..at }));
            assert!(!watch.look(rule, Look { value: Some(f64::NAN), ..at }));
        }
        let pump = find("P0230").unwrap().rule;
        let mut watch = Watch::default();
        let key = |s: f64| Look { engine_runs: false, ..look(s, 1.0) };
        assert!(!watch.look(pump, key(0.0)));
        assert!(watch.look(pump, key(0.5)));
    }
}
