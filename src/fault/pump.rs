//! Faults of pumps.

use super::catalogue::{Class, Fault, Mode, Place, Weights, anywhere, by, fix};
use super::{geometric, linear, rating, table};
use crate::bay::action::Remedy;
use crate::msg;
use crate::plant::component::Component;
use crate::units::{AbsolutePressure, Displacement, PressureDifference, Resistor, Voltage};

pub(super) const F17: Fault = Fault {
    code: "F17",
    name: msg!("fault-f17-name"),
    about: msg!("fault-f17-about"),
    modes: &[Mode::Loo],
    place: Place::Part(&["ElectricPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(45.0, 120.0, Class::C3, Class::C4),
    severities: (1, 5),
    met_in: &[2, 3, 4, 5, 6],
    weights: Weights::of(25.0, 85.0, 8.0, 8.0),
    multipliers: &[],
    reports: msg!("fault-f17-reports"),
    shows: msg!("fault-f17-shows"),
    confused_with: &["F18", "F15", "F03", "F21"],
    separated_by: &[
        by("T23", "first of all: the voltage at the pump is good"),
        by("T25", "too little delivered, from a container too"),
    ],
    fits: anywhere,
    change: |site| {
        // share of the flow at working pressure that is lost
        let share = table(site.severity, [0.05, 0.10, 0.25, 0.50, 0.85]);
        let (sound, site_severity) = (site.plant.clone(), site.severity);
        let pump = site.electric()?;
        pump.slip += rating::slip_for(&sound, pump, share);
        // the gaps aren't alike round the stage
        pump.uneven = (pump.uneven + table(site_severity, [0.06, 0.12, 0.25, 0.4, 0.6])).min(1.0);
        Ok(())
    },
};

pub(super) const F18: Fault = Fault {
    code: "F18",
    name: msg!("fault-f18-name"),
    about: msg!("fault-f18-about"),
    modes: &[Mode::Loo, Mode::Ero],
    place: Place::Circuit,
    remedies: &[Remedy::Clean, Remedy::Reseal],
    fix: fix(20.0, 60.0, Class::C1, Class::C2),
    severities: (1, 5),
    met_in: &[2, 3, 4, 5, 6, 8],
    weights: Weights::of(45.0, 145.0, 22.0, 22.0),
    multipliers: &[],
    reports: msg!("fault-f18-reports"),
    shows: msg!("fault-f18-shows"),
    confused_with: &["F17", "F24"],
    separated_by: &[
        by("T23", "the drop under load, feed and earth apart"),
        by("T24", "the current is low as well"),
    ],
    fits: anywhere,
    change: |site| {
        // for a 12 V pump, whose K_e is near 0.0122 V·s/rad; with the square of K_e, so that 24 V plants lose the
        // same share
        let ohm = table(site.severity, [0.05, 0.1, 0.25, 0.6, 1.5]);
        let joint = site.at.split_once('/').map(|(_, joint)| joint.to_owned());
        let pump = site.electric()?;
        let ratio = pump.constant / 0.0122;
        let extra = ohm * ratio * ratio;
        let mut joints: Vec<_> = pump.feed.iter_mut().rev().chain(&mut pump.earth).collect();
        let found = match &joint {
            Some(name) => joints.iter_mut().find(|j| j.name == *name),
            None => joints.first_mut(),
        };
        let Some(found) = found else { return Err("the pump's circuit has no joints".to_owned()) };
        found.ohm = Resistor::from_si(found.ohm.si() + extra);
        Ok(())
    },
};

pub(super) const F19: Fault = Fault {
    code: "F19",
    name: msg!("fault-f19-name"),
    about: msg!("fault-f19-about"),
    modes: &[Mode::Noo],
    place: Place::Part(&["ElectricPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(45.0, 120.0, Class::C3, Class::C4),
    severities: (4, 5),
    met_in: &[2, 3, 4, 5, 6],
    weights: Weights::of(25.0, 85.0, 8.0, 8.0),
    multipliers: &[],
    reports: msg!("fault-f19-reports"),
    shows: msg!("fault-f19-shows"),
    confused_with: &["F18", "N2", "F01"],
    separated_by: &[
        by("T06", "nothing is heard with the key on"),
        by("T24", "no current though commanded"),
        by("T23", "full voltage at the plug"),
    ],
    fits: anywhere,
    change: |site| {
        // brush wear to 4, an open winding at 5
        let worn = table(site.severity.min(4.0), [1.2, 1.6, 2.2, 3.0, 3.0]);
        let open = geometric((4.0 * site.severity.max(4.0)) - 15.0, 1.0, 2e5);
        let drop = table(site.severity, [0.1, 0.3, 0.7, 1.2, 1.2]);
        // one segment goes before the others
        let notch = table(site.severity, [0.1, 0.2, 0.35, 0.6, 0.6]);
        let pump = site.electric()?;
        pump.worn_segment = (pump.worn_segment + notch).min(1.0);
        pump.winding = Resistor::from_si(pump.winding.si() * worn * open);
        pump.brushes = Voltage::from_si(pump.brushes.si() + drop);
        Ok(())
    },
};

pub(super) const F20: Fault = Fault {
    code: "F20",
    name: msg!("fault-f20-name"),
    about: msg!("fault-f20-about"),
    modes: &[Mode::Loo, Mode::Inl, Mode::Elp],
    place: Place::Part(&["DiaphragmPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C2, Class::C3),
    severities: (2, 5),
    met_in: &[9, 10],
    weights: Weights::of(5.0, 5.0, 40.0, 32.0),
    multipliers: &[],
    reports: msg!("fault-f20-reports"),
    shows: msg!("fault-f20-shows"),
    confused_with: &["F09", "F15"],
    separated_by: &[
        by("T25", "too little delivered, from a container too"),
        by("T04", "oil level, smell of the oil, weep hole"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let pump = site.diaphragm()?;
        let less = linear(severity, 0.95, 0.35);
        pump.displacement = Displacement::from_si(pump.displacement.si() * less);
        pump.spring = PressureDifference::from_si(pump.spring.si() * linear(severity, 0.95, 0.4));
        pump.leak += geometric(severity, 5e-7, 5e-5);
        Ok(())
    },
};

pub(super) const F26: Fault = Fault {
    code: "F26",
    name: msg!("fault-f26-name"),
    about: msg!("fault-f26-about"),
    modes: &[Mode::Loo],
    place: Place::Part(&["GearPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(90.0, 240.0, Class::C4, Class::C4),
    severities: (2, 5),
    met_in: &[1, 3, 7],
    weights: Weights::of(32.0, 2.0, 35.0, 12.0),
    multipliers: &[],
    reports: msg!("fault-f26-reports"),
    shows: msg!("fault-f26-shows"),
    confused_with: &["F09", "F29"],
    separated_by: &[by("T11", "the glass is clear"), by("T14", "the line holds"), by("T10", "hot against cold")],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let pump = site.gear()?;
        // more slip than this, and what the engine itself draws through the gaps would empty the inlet for the pump
        pump.slip *= table(severity, [1.5, 1.7, 1.9, 1.9, 1.9]);
        pump.slip_at_rest += geometric(severity, 2e-10, 2e-8);
        // worn chambers fill only at a higher inlet pressure and hardly at all below it: what is left of the suction
        pump.filling_steepness += table(severity, [2.0, 5.0, 8.0, 9.0, 11.0]);
        // worn that far, a tooth loses its tip: one bump a turn in the ripple
        pump.chipped = pump.chipped.max(0.25 * (severity - 3.0).max(0.0));
        let weaker = table(severity, [1.08, 1.4, 1.7, 1.84, 1.96]);
        pump.filling = AbsolutePressure::from_si(pump.filling.si() * weaker);
        Ok(())
    },
};

/// A part is an electric pump whose command passes a test.
pub(super) fn commanded(
    plant: &crate::plant::Plant,
    name: &str,
    by: fn(&crate::plant::component::Command) -> bool,
) -> bool {
    matches!(plant.part(name).map(|p| &p.is), Some(Component::ElectricPump(pump)) if by(&pump.command))
}
