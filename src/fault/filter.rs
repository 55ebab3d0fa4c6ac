//! Faults of non-return valves and filters.

use super::catalogue::{Class, Fault, Mode, Occasion, Place, Weights, anywhere, by, fix};
use super::rating::{Side, side};
use super::{geometric, linear, table};
use crate::bay::action::Remedy;
use crate::msg;
use crate::plant::Plant;
use crate::plant::component::{Component, Resistance};
use crate::units::{PressureDifference, Volume};

pub(super) const F13: Fault = Fault {
    code: "F13",
    name: msg!("fault-f13-name"),
    about: msg!("fault-f13-about"),
    modes: &[Mode::Inl, Mode::Ftc],
    place: Place::Part(&["NonReturnValve"]),
    remedies: &[Remedy::Replace],
    fix: fix(20.0, 40.0, Class::C1, Class::C2),
    severities: (1, 4),
    met_in: &[1, 7, 9, 10],
    weights: Weights::of(50.0, 0.0, 45.0, 40.0),
    multipliers: &[],
    reports: msg!("fault-f13-reports"),
    shows: msg!("fault-f13-shows"),
    confused_with: &["F09", "F23", "N2"],
    separated_by: &[
        by("T15", "recorded overnight, the column falls"),
        by("T18", "with the hose shut overnight it stays: valve and air path are both needed"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let valve = site.non_return()?;
        valve.stuck_open = valve.stuck_open.max(linear(severity, 0.2, 1.0));
        Ok(())
    },
};

pub(super) const F14: Fault = Fault {
    code: "F14",
    name: msg!("fault-f14-name"),
    about: msg!("fault-f14-about"),
    modes: &[Mode::Fto],
    place: Place::Part(&["NonReturnValve"]),
    remedies: &[Remedy::Replace],
    fix: fix(20.0, 20.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: &[1, 9],
    weights: Weights::of(5.0, 2.0, 5.0, 25.0),
    multipliers: &[(Occasion::SinceService, 3.0)],
    reports: msg!("fault-f14-reports"),
    shows: msg!("fault-f14-shows"),
    confused_with: &["F03"],
    separated_by: &[
        by("T17", "the drop lies across the valve"),
        by("T10", "idle shows nearly as much as raised speed"),
    ],
    fits: anywhere,
    change: |site| {
        let stiffer = 100.0 * table(site.severity, [20.0, 45.0, 80.0, 115.0, 150.0]);
        let valve = site.non_return()?;
        valve.cracking = PressureDifference::from_si(valve.cracking.si() + stiffer);
        Ok(())
    },
};

pub(super) const F15: Fault = Fault {
    code: "F15",
    name: msg!("fault-f15-name"),
    about: msg!("fault-f15-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Filter"]),
    remedies: &[Remedy::Replace],
    fix: fix(15.0, 40.0, Class::C1, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
    weights: Weights::of(110.0, 35.0, 140.0, 105.0),
    multipliers: &[],
    reports: msg!("fault-f15-reports"),
    shows: msg!("fault-f15-shows"),
    confused_with: &["F03", "F07", "F11", "F08"],
    separated_by: &[
        by("T17", "before and behind differ"),
        by("T19", "read before the element is changed: afterwards the evidence is gone"),
    ],
    fits: anywhere,
    change: |site| {
        let name = site.at.clone();
        clog(site.plant, &name, site.severity, 1.0)
    },
};

pub(super) const F16: Fault = Fault {
    code: "F16",
    name: msg!("fault-f16-name"),
    about: msg!("fault-f16-about"),
    modes: &[Mode::Ing, Mode::Plu, Mode::Inl],
    place: Place::Part(&["Filter"]),
    remedies: &[Remedy::Replace, Remedy::Reseal],
    fix: fix(15.0, 30.0, Class::C1, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
    weights: Weights::of(35.0, 10.0, 35.0, 30.0),
    multipliers: &[(Occasion::SinceService, 6.0)],
    reports: msg!("fault-f16-reports"),
    shows: msg!("fault-f16-shows"),
    confused_with: &["F09", "F15"],
    separated_by: &[
        by("T01", "what was fitted, and when"),
        by("T04", "the seal, the part number, the direction of flow"),
        by("T17", "clear before the filter, bubbles behind it"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let name = site.at.clone();
        clog(site.plant, &name, severity, 0.4)?;
        let filter = site.filter()?;
        let left = filter.cushion.si() + linear(severity, 4e-6, 40e-6);
        filter.cushion = Volume::from_si(left.min(0.7 * filter.bowl.si()));
        let head = filter.from.clone();
        site.hole(&head, geometric(severity, 0.001, 0.06));
        Ok(())
    },
};

/// Adds an extra drop at the element's rated flow: `share` of 30, 80, 200, 350 mbar and beyond where fuel is
/// drawn or lifted, of 0.1, 0.3, 0.7, 1.5 bar and beyond where it is pushed.
pub(super) fn clog(plant: &mut Plant, name: &str, severity: f64, share: f64) -> Result<(), String> {
    let Some(Component::Filter(filter)) = plant.part(name).map(|p| &p.is) else {
        return Err(format!("no filter is called \"{name}\""));
    };
    let mbar = match side(plant, &filter.from) {
        Side::Suction | Side::Lifted => [30.0, 80.0, 200.0, 350.0, 700.0],
        Side::Pressure => [100.0, 300.0, 700.0, 1500.0, 3000.0],
    };
    let Some(Component::Filter(filter)) = plant.part_mut(name).map(|p| &mut p.is) else { return Ok(()) };
    let extra = share * 100.0 * table(severity, mbar) / filter.new.drop.si();
    // drops of several kinds of dirt add up
    let grown = grown(&filter.new, filter.clogged) + extra;
    filter.clogged = clogged_share(&filter.new, grown);
    Ok(())
}

/// Factor by which a resistance's drop at its own flow has grown with a clogged share.
fn grown(new: &Resistance, clogged: f64) -> f64 {
    let open = 1.0 - clogged;
    new.laminar / (open * open * open) + (1.0 - new.laminar) / (open * open * open * open)
}

/// Clogged share at which that factor is reached.
fn clogged_share(new: &Resistance, factor: f64) -> f64 {
    let (mut low, mut high) = (0.0, 0.99);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if grown(new, mid) < factor {
            low = mid;
        } else {
            high = mid;
        }
    }
    0.5 * (low + high)
}
