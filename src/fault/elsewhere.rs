//! Causes outside the supply, and none at all.

use super::catalogue::{Class, Fault, Mode, Place, Weights, anywhere, by, fix};
use super::table;
use crate::bay::action::Remedy;
use crate::msg;
use crate::plant::Plant;
use crate::plant::component::{Component, Engine};
use crate::units::Speed;

const ALL: &[u8] = &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10];

pub(super) const N1: Fault = Fault {
    code: "N1",
    name: msg!("fault-n1-name"),
    about: msg!("fault-n1-about"),
    modes: &[Mode::Ero],
    place: Place::Part(&["Engine"]),
    remedies: &[Remedy::Replace],
    fix: fix(60.0, 240.0, Class::C3, Class::C4),
    severities: (2, 5),
    met_in: ALL,
    weights: Weights::of(95.0, 55.0, 55.0, 22.0),
    multipliers: &[],
    reports: msg!("fault-n1-reports"),
    shows: msg!("fault-n1-shows"),
    confused_with: &["F15", "F17", "F26", "F29"],
    separated_by: &[
        by("T05", "rail pressure asked for against measured"),
        by("T10", "every reading of the supply within limits: refer, with the evidence"),
    ],
    fits: anywhere,
    change: |site| {
        let able = table(site.severity, [0.97, 0.88, 0.7, 0.45, 0.0]);
        limit(site.engine()?, able);
        Ok(())
    },
};

pub(super) const N2: Fault = Fault {
    code: "N2",
    name: msg!("fault-n2-name"),
    about: msg!("fault-n2-about"),
    modes: &[Mode::Ero],
    place: Place::Part(&["Engine"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 240.0, Class::C1, Class::C4),
    severities: (2, 5),
    met_in: ALL,
    weights: Weights::of(85.0, 130.0, 35.0, 45.0),
    multipliers: &[],
    reports: msg!("fault-n2-reports"),
    shows: msg!("fault-n2-shows"),
    confused_with: &["F13", "F19", "F22"],
    separated_by: &[
        by("T07", "battery and cranking speed"),
        by("T05", "codes and live data outside the fuel system"),
        by("T10", "every reading of the supply within limits"),
    ],
    fits: anywhere,
    change: |site| {
        let turns = table(site.severity, [1.0, 0.95, 0.85, 0.7, 0.5]);
        let able = table(site.severity, [0.98, 0.9, 0.75, 0.5, 0.0]);
        let engine = site.engine()?;
        engine.starter = Speed::from_si(engine.starter.si() * turns);
        limit(engine, able);
        Ok(())
    },
};

pub(super) const N3: Fault = Fault {
    code: "N3",
    name: msg!("fault-n3-name"),
    about: msg!("fault-n3-about"),
    modes: &[Mode::None],
    place: Place::Nowhere,
    remedies: &[],
    fix: fix(0.0, 0.0, Class::C0, Class::C0),
    severities: (1, 1),
    met_in: ALL,
    weights: Weights::of(25.0, 68.0, 10.0, 25.0),
    multipliers: &[],
    reports: msg!("fault-n3-reports"),
    shows: msg!("fault-n3-shows"),
    confused_with: &["F09", "F19", "F23"],
    separated_by: &[by("T10", "a whole standard run within limits, and the hold: prove it, explain it, stop")],
    fits: anywhere,
    change: |_| Ok(()),
};

/// Lets an engine reach a share of its raised speed at most; two limits multiply.
fn limit(engine: &mut Engine, share: f64) {
    let before = engine.most.map_or(engine.raised.si(), |most| most.si());
    engine.most = Some(Speed::from_si(before * share));
}

/// The same for the engine of a plant; nothing happens where it is able to do all.
pub(super) fn weaken(plant: &mut Plant, share: f64) {
    if share >= 1.0 {
        return;
    }
    for part in &mut plant.parts {
        if let Component::Engine(engine) = &mut part.is {
            limit(engine, share);
        }
    }
}
