//! The numbers that authors set: one table a kind of component, beside its definition, which the
//! check of files, the manual and the editor read.

use super::Resistance;

/// A unit as people read it and as files write it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// On paper; empty for a pure number.
    pub symbol: &'static str,
    /// In a file, such as `l_per_min`; empty where the file has a bare number.
    pub written: &'static str,
    /// SI (or the solver's own unit) in one of it.
    pub si: f64,
}

impl Unit {
    const fn new(symbol: &'static str, written: &'static str, si: f64) -> Self {
        Self { symbol, written, si }
    }

    /// A bare number in a file, with what it means on paper.
    pub(in crate::plant) const fn bare(symbol: &'static str) -> Self {
        Self { symbol, written: "", si: 1.0 }
    }

    pub(in crate::plant) const NONE: Self = Self::bare("");
    pub(in crate::plant) const M: Self = Self::new("m", "m", 1.0);
    pub(in crate::plant) const MM: Self = Self::new("mm", "mm", 1e-3);
    pub(in crate::plant) const M2: Self = Self::new("m²", "m2", 1.0);
    pub(in crate::plant) const L: Self = Self::new("l", "l", 1e-3);
    pub(in crate::plant) const ML: Self = Self::new("ml", "ml", 1e-6);
    pub(in crate::plant) const L_PER_MIN: Self = Self::new("l/min", "l_per_min", 1e-3 / 60.0);
    pub(in crate::plant) const L_PER_H: Self = Self::new("l/h", "l_per_h", 1e-3 / 3600.0);
    pub(in crate::plant) const ML_PER_S: Self = Self::new("ml/s", "ml_per_s", 1e-6);
    pub(in crate::plant) const ML_PER_TURN: Self = Self::new("ml a turn", "ml_per_turn", 1e-6);
    pub(in crate::plant) const PA: Self = Self::new("Pa", "Pa", 1.0);
    pub(in crate::plant) const MBAR: Self = Self::new("mbar", "mbar", 100.0);
    pub(in crate::plant) const BAR: Self = Self::new("bar", "bar", 1e5);
    pub(in crate::plant) const PER_PA: Self = Self::new("1/Pa", "per_Pa", 1.0);
    pub(in crate::plant) const S: Self = Self::new("s", "s", 1.0);
    pub(in crate::plant) const RPM: Self = Self::new("1/min", "rpm", 1.0);
    pub(in crate::plant) const OHM: Self = Self::new("Ω", "ohm", 1.0);
    pub(in crate::plant) const V: Self = Self::new("V", "V", 1.0);
    pub(in crate::plant) const K: Self = Self::new("K", "K", 1.0);
    /// Flow that goes with a difference, of slips, leaks and valves.
    pub(in crate::plant) const ML_PER_S_PA: Self = Self::bare("mL/s a Pa");
}

/// A number of a component, with the range outside which no vehicle has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// Where it stands below the component: names of fields and places in lists, joined by dots.
    pub field: String,
    /// What it is, as a message says it: "the bore".
    pub words: &'static str,
    /// The value in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// Smallest value that may be.
    pub low: f64,
    /// Largest.
    pub high: f64,
}

impl Number {
    /// From a value in SI and a range in the unit.
    pub(in crate::plant) fn new(
        field: &str,
        words: &'static str,
        si: f64,
        unit: Unit,
        low: f64,
        high: f64,
    ) -> Self {
        Self { field: field.to_owned(), words, value: si / unit.si, unit, low, high }
    }

    /// Whether the value lies in its range; what is no number lies in none.
    pub fn fits(&self) -> bool {
        // a value at the very end may have moved by rounding on its way through SI
        let give = 1e-12 * self.low.abs().max(self.high.abs());
        self.value >= self.low - give && self.value <= self.high + give
    }

    /// The same number below a further field.
    #[must_use]
    pub(super) fn below(mut self, outer: &str) -> Self {
        self.field = format!("{outer}.{}", self.field);
        self
    }
}

/// A resistance's numbers below the field that holds it.
pub(super) fn of_resistance(field: &str, r: &Resistance) -> Vec<Number> {
    r.numbers().into_iter().map(|n| n.below(field)).collect()
}

/// One of every kind, and of every command, with every field that may be left out.
pub(super) const SAMPLES: &str = r#"[
    Tank(outlet: "t", capacity: l(70), fill: l(40), area: m2(0.2), pickup: mm(20), vent: l_per_min(36), base: m(0.1),
        off_middle: m(0.2), overflows_to: "u", air_space: mbar(-3),
        water: l(0.2), crack: (height: m(0.2), share: 0.1)),
    SwirlPot(outlet: "p", tank: "t", volume: l(1.2), area: m2(0.012), pickup: mm(12), flap: (drop: mbar(3), at: l_per_h(150), laminar: 0.2)),
    Strainer(from: "a", to: "b", clean: (drop: mbar(12), at: l_per_h(160), laminar: 0.3), dirt: (drop: mbar(30), at: l_per_h(100), laminar: 0.4)),
    Line(from: "a", to: "b", length: m(4), bore: mm(8), roughness: um(4), fittings: 5, wall: per_Pa(4e-9), damping: 20,
        squeezed_at: mbar(600), clear: true, cells: 3),
    Restriction(from: "a", to: "b", drop: (drop: mbar(7), at: l_per_h(90), laminar: 0.1)),
    NonReturnValve(from: "a", to: "b", cracking: mbar(11), open: (drop: mbar(12), at: l_per_h(160), laminar: 0.3),
        seat_leak: 2e-10, stuck_open: 0.1, lift: 0.9, sticks: mbar(25)),
    ShutOffValve(from: "a", to: "b", open: (drop: mbar(5), at: l_per_h(160), laminar: 0), lever: 0.9, reach: 0.8, leak: 0.01),
    Relief(from: "a", to: "b", opens: bar(3), slope: 0.002, leak: 1e-9, way_out: 12, rounding: Pa(900), manifold: true),
    Filter(from: "a", to: "b", new: (drop: mbar(40), at: l_per_h(160), laminar: 0.85), bowl: ml(190), clean_side: ml(90),
        cushion: ml(20), primer_stroke: ml(8), heater: K(12), clogged: 0.1),
    SedimentBowl(from: "a", to: "b", bowl: ml(120), clean: (drop: mbar(4), at: l_per_h(60), laminar: 0.5)),
    HandPrimer(from: "a", to: "b", stroke: ml(9), open: (drop: mbar(6), at: l_per_h(80), laminar: 0.4)),
    GearPump(from: "a", to: "b", displacement: ml_per_turn(1.1), slip: 3e-6, slip_at_rest: 4e-12, filling: Pa(50000),
        filling_with_speed: Pa(400), filling_steepness: 6, teeth: 11, chipped: 0.1),
    DiaphragmPump(from: "a", to: "b", displacement: ml_per_turn(0.9), spring: mbar(350), spring_over: mbar(90), filling: mbar(300),
        filling_with_speed: mbar(3), through: 0.6, leak: 1e-8, hand_stroke: ml(4), strokes: 0.6),
    ElectricPump(from: "a", to: "b", tank: "t", stage: Turbine, displacement: ml_per_turn(0.4), slip: 2e-5, relief_opens: bar(6),
        relief_slope: 0.001, seat_leak: 1e-10, winding: ohm(0.5), inductance: 6e-4, constant: 0.012, brushes: V(0.9), inertia: 6e-6,
        dry_friction: 0.009, wet_friction: 3e-5, segments: 10, feed: [(name: "fuse", ohm: mohm(12)), (name: "plug", ohm: mohm(50))],
        earth: [(name: "earth point", ohm: mohm(20))], command: KeyAndEngine(prime: s(3))),
    ElectricPump(from: "a", to: "b", tank: "t", stage: RollerCell, displacement: ml_per_turn(0.4), slip: 2e-5, relief_opens: bar(6),
        relief_slope: 0.001, seat_leak: 1e-10, winding: ohm(0.5), inductance: 6e-4, constant: 0.012, brushes: V(0.9), inertia: 6e-6,
        dry_friction: 0.009, wet_friction: 3e-5, segments: 10, feed: [], earth: [],
        command: Demand(prime: s(3), sensor: "b", idle: bar(4.5), raised: bar(6), bias: bar(0.2), gain: 0.3, integral: 2)),
    ElectricPump(from: "a", to: "b", tank: "t", stage: Turbine, displacement: ml_per_turn(0.4), slip: 2e-5, relief_opens: bar(6),
        relief_slope: 0.001, seat_leak: 1e-10, winding: ohm(0.5), inductance: 6e-4, constant: 0.012, brushes: V(0.9), inertia: 6e-6,
        dry_friction: 0.009, wet_friction: 3e-5, segments: 10, feed: [], earth: [],
        command: Float(tank: "t", low: 0.5, high: 0.8, stuck: true)),
    JetPump(from: "a", to: "p", nozzle: (drop: bar(3), at: l_per_h(20), laminar: 0.05), ratio: 4),
    Engine(gallery: "g", volume: ml(45), wall: per_Pa(2.5e-9), overflow: (opens: bar(4.8), slope: 0.0006, leak: 2e-11, way_out: 20),
        returns_to: "t", demand: ml_per_s(0.35), demand_with_speed: ml_per_s(1.1), back_leak: ml_per_s(0.4),
        demand_with_load: 1.5, manifold: mbar(-600), injectors_drip: 3e-11, holds_gas: true, starves_at: Pa(30000),
        starves_over: Pa(12000), lag: s(0.35), starter: rpm(210), idle: rpm(780), raised: rpm(2500), most: rpm(2000), stopped_by_gas: 0.2),
]"#;

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use serde_json::Value;

    use crate::plant::component::Component;
    use crate::plant::{Node, Warmth};

    const NODE: &str = r#"(name: "a", height: m(0.4), volume: ml(12), wall: per_Pa(3e-9), joint: "joint")"#;
    const WARMTH: &str = "(tank: K(15), running: K(25), stopped: K(40), block_warms: s(300), block_cools: s(3600), tank_follows: s(4000), bonnet_follows: s(200), at_start: 0.3)";

    /// Every number of a value as it is serialised: place and value in SI.
    fn leaves(value: &Value, place: &str, found: &mut BTreeMap<String, f64>) {
        let below = |step: &str| if place.is_empty() { step.to_owned() } else { format!("{place}.{step}") };
        match value {
            Value::Number(n) => {
                found.insert(place.to_owned(), n.as_f64().unwrap());
            }
            Value::Null => panic!("the sample leaves {place} out"),
            Value::Array(items) => {
                for (i, item) in items.iter().enumerate() {
                    leaves(item, &below(&i.to_string()), found);
                }
            }
            Value::Object(fields) => match fields.iter().next() {
                // a quantity is its unit with a number; a variant is its name with its fields
                Some((_, Value::Number(n))) if fields.len() == 1 => {
                    found.insert(place.to_owned(), n.as_f64().unwrap());
                }
                Some((name, inner)) if fields.len() == 1 && name.starts_with(char::is_uppercase) => {
                    leaves(inner, place, found);
                }
                _ => fields.iter().for_each(|(name, inner)| leaves(inner, &below(name), found)),
            },
            Value::Bool(_) | Value::String(_) => {}
        }
    }

    fn told(value: &Value, numbers: Vec<super::Number>) {
        let mut found = BTreeMap::new();
        leaves(value, "", &mut found);
        let mut told = BTreeMap::new();
        for n in numbers {
            assert!(n.fits() && n.low < n.high && n.words.len() > 3, "{n:?}");
            assert!(told.insert(n.field.clone(), n.value * n.unit.si).is_none(), "twice: {n:?}");
        }
        assert_eq!(
            found.keys().collect::<Vec<_>>(),
            told.keys().collect::<Vec<_>>(),
            "every number of {value} must be in its table, and nothing else"
        );
        for (place, si) in &found {
            let other = told[place];
            assert!((si - other).abs() <= 1e-9 * si.abs(), "{place}: {other} in the table, {si} in the file");
        }
    }

    fn read<T: serde::de::DeserializeOwned>(text: &str) -> T {
        let options = ron::Options::default()
            .with_default_extension(ron::extensions::Extensions::UNWRAP_VARIANT_NEWTYPES)
            .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
        options.from_str(text).unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn every_number_of_every_kind_has_a_range_and_a_unit() {
        let samples = Component::samples();
        assert_eq!(samples, read::<Vec<Component>>(super::SAMPLES));
        for kind in Component::KINDS {
            assert!(samples.iter().any(|c| c.kind() == *kind), "no sample of {kind}");
        }
        for sample in samples {
            told(&serde_json::to_value(&sample).unwrap(), sample.numbers());
        }
        let (node, warmth): (Node, Warmth) = (read(NODE), read(WARMTH));
        told(&serde_json::to_value(&node).unwrap(), node.numbers());
        told(&serde_json::to_value(warmth).unwrap(), warmth.numbers());
    }

    #[test]
    fn what_is_no_number_or_out_of_range_doesnt_fit() {
        let n = |value: f64| super::Number::new("x", "the x", value, super::Unit::MM, 1.0, 60.0);
        assert!(n(8e-3).fits() && n(60e-3).fits());
        assert!(!n(f64::NAN).fits() && !n(8.0).fits() && !n(0.5e-3).fits());
    }
}
