//! Faults of regulation, control, valves, day tank and return.

use super::catalogue::{Class, Fault, Mode, Occasion, Place, Weights, anywhere, by, fix};
use super::{geometric, pump, rating, table, tank};
use crate::bay::action::Remedy;
use crate::msg;
use crate::plant::Plant;
use crate::plant::component::{Command, Component};
use crate::units::{GaugePressure, PressureDifference, Volume, VolumeFlow};

pub(super) const F21: Fault = Fault {
    code: "F21",
    name: msg!("fault-f21-name"),
    about: msg!("fault-f21-about"),
    modes: &[Mode::Loo],
    place: Place::Part(&["Relief", "Engine"]),
    remedies: &[Remedy::Replace],
    fix: fix(20.0, 60.0, Class::C2, Class::C3),
    severities: (1, 5),
    met_in: &[4, 5, 7],
    weights: Weights::of(5.0, 35.0, 8.0, 4.0),
    multipliers: &[],
    reports: msg!("fault-f21-reports"),
    shows: msg!("fault-f21-shows"),
    confused_with: &["F17"],
    separated_by: &[
        by(
            "T27",
            "where its card permits, the return shut for a moment brings the pressure back: the pump is good",
        ),
        by("T25", "the pump delivers what it should"),
    ],
    fits: regulates,
    change: |site| {
        let factor = 1.0 - table(site.severity, [0.05, 0.12, 0.25, 0.40, 0.60]);
        set_opening(site.component()?, factor)
    },
};

pub(super) const F22: Fault = Fault {
    code: "F22",
    name: msg!("fault-f22-name"),
    about: msg!("fault-f22-about"),
    modes: &[Mode::Hio],
    place: Place::Part(&["Relief", "Engine"]),
    remedies: &[Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C3),
    severities: (1, 5),
    met_in: &[5, 7],
    weights: Weights::of(3.0, 20.0, 3.0, 2.0),
    multipliers: &[],
    reports: msg!("fault-f22-reports"),
    shows: msg!("fault-f22-shows"),
    confused_with: &["F28", "N2"],
    separated_by: &[
        by("T27", "with the return led into a container it stays high"),
        by("T05", "the mixture is corrected to lean at every load"),
    ],
    fits: regulates,
    change: |site| {
        let factor = 1.0 + table(site.severity, [0.10, 0.20, 0.40, 0.70, 1.0]);
        set_opening(site.component()?, factor)
    },
};

pub(super) const F23: Fault = Fault {
    code: "F23",
    name: msg!("fault-f23-name"),
    about: msg!("fault-f23-about"),
    modes: &[Mode::Inl],
    place: Place::Part(&["ElectricPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(45.0, 120.0, Class::C3, Class::C4),
    severities: (1, 5),
    met_in: &[2, 4, 5, 6],
    weights: Weights::of(10.0, 60.0, 3.0, 2.0),
    multipliers: &[],
    reports: msg!("fault-f23-reports"),
    shows: msg!("fault-f23-shows"),
    confused_with: &["F10", "F13", "F21"],
    separated_by: &[
        by("T18", "with the feed shut after stopping it holds: the loss is on the pump's side"),
        by("T04", "dry outside"),
    ],
    fits: anywhere,
    change: |site| {
        let leak = geometric(site.severity, 2e-8, 5e-6);
        site.electric()?.seat_leak += leak;
        Ok(())
    },
};

pub(super) const F24: Fault = Fault {
    code: "F24",
    name: msg!("fault-f24-name"),
    about: msg!("fault-f24-about"),
    modes: &[Mode::Ero, Mode::Hio, Mode::Loo],
    place: Place::Part(&["ElectricPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C2, Class::C3),
    severities: (2, 4),
    met_in: &[6],
    weights: Weights::of(15.0, 45.0, 7.0, 2.0),
    multipliers: &[],
    reports: msg!("fault-f24-reports"),
    shows: msg!("fault-f24-shows"),
    confused_with: &["F17", "F18"],
    separated_by: &[
        by("T05", "displayed value, command and an independent gauge side by side"),
        by("T24", "a current that goes with the lower pressure"),
    ],
    fits: |plant, name| pump::commanded(plant, name, |c| matches!(c, Command::Demand { .. })),
    change: |site| {
        let more = 1e5 * table(site.severity, [0.2, 0.5, 1.0, 1.7, 2.5]);
        if let Command::Demand { bias, .. } = &mut site.electric()?.command {
            *bias = GaugePressure::from_si(bias.si() + more);
        }
        Ok(())
    },
};

pub(super) const F25: Fault = Fault {
    code: "F25",
    name: msg!("fault-f25-name"),
    about: msg!("fault-f25-about"),
    modes: &[Mode::Fto],
    place: Place::Part(&["ShutOffValve"]),
    remedies: &[Remedy::Replace, Remedy::Clean],
    fix: fix(2.0, 30.0, Class::C0, Class::C2),
    severities: (1, 5),
    met_in: &[7, 8, 9, 10],
    weights: Weights::of(8.0, 2.0, 18.0, 45.0),
    multipliers: &[],
    reports: msg!("fault-f25-reports"),
    shows: msg!("fault-f25-shows"),
    confused_with: &["F07", "F03", "M4"],
    separated_by: &[by("T04", "a hand on the valve"), by("T17", "the drop lies across it")],
    fits: anywhere,
    change: |site| {
        let reaches = table(site.severity, [0.8, 0.62, 0.46, 0.32, 0.16]);
        site.shut_off()?.reach *= reaches;
        Ok(())
    },
};

pub(super) const F27: Fault = Fault {
    code: "F27",
    name: msg!("fault-f27-name"),
    about: msg!("fault-f27-about"),
    modes: &[Mode::Noo, Mode::Fto],
    place: Place::Part(&["ElectricPump"]),
    remedies: &[Remedy::Replace, Remedy::Clean],
    fix: fix(20.0, 90.0, Class::C1, Class::C3),
    severities: (3, 5),
    met_in: &[8],
    weights: Weights::of(0.0, 0.0, 0.0, 25.0),
    multipliers: &[],
    reports: msg!("fault-f27-reports"),
    shows: msg!("fault-f27-shows"),
    confused_with: &["F02", "F15"],
    separated_by: &[
        by("T04", "level in the day tank against time"),
        by("T23", "no voltage at the transfer pump though the level is low"),
    ],
    fits: |plant, name| pump::commanded(plant, name, |c| matches!(c, Command::Float { .. })),
    change: |site| {
        let severity = site.severity;
        // what is left in the day tank: from all that was there to a fifth
        let left = table(severity, [1.0, 0.9, 0.7, 0.45, 0.2]);
        let Command::Float { tank, low, stuck, .. } = &mut site.electric()?.command else { return Ok(()) };
        // a float that hangs starts late; from 3 on it never starts
        *low *= table(severity, [0.8, 0.4, 0.2, 0.1, 0.05]);
        *stuck |= severity >= 3.0;
        let day = tank.clone();
        for part in &mut site.plant.parts {
            if let Component::Tank(t) = &mut part.is
                && t.outlet == day
            {
                t.fill = Volume::from_si(t.fill.si() * left);
            }
        }
        Ok(())
    },
};

pub(super) const F28: Fault = Fault {
    code: "F28",
    name: msg!("fault-f28-name"),
    about: msg!("fault-f28-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Line", "Restriction", "Relief", "Engine"]),
    remedies: &[Remedy::Clean, Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C2),
    severities: (2, 4),
    met_in: &[1, 2, 3, 5, 7],
    weights: Weights::of(10.0, 8.0, 14.0, 12.0),
    multipliers: &[(Occasion::Frost, 1.5)],
    reports: msg!("fault-f28-reports"),
    shows: msg!("fault-f28-shows"),
    confused_with: &["F22", "F26", "F29"],
    separated_by: &[by("T27", "normal with the return led into a container")],
    fits: carries_return,
    change: |site| {
        // back-pressure at the flow that returns at the raised speed, bar
        let back = 1e5 * table(site.severity, [0.1, 0.3, 0.7, 1.5, 3.0]);
        let ml_s = rating::return_flow(site.plant);
        let fuel = site.plant.fuel.at(crate::units::Temperature::from_celsius(20.0));
        match site.component()? {
            Component::Line(line) => {
                let bore = line.bore.si();
                let v = ml_s * 1e-6 / (core::f64::consts::FRAC_PI_4 * bore * bore);
                line.fittings += 2.0 * back / (fuel.density * v * v);
            }
            Component::Restriction(r) => {
                let (a, b) = r.drop.coefficients();
                let extra = back / (ml_s * ml_s);
                r.drop = crate::plant::component::Resistance::from_coefficients(a, b + extra);
            }
            Component::Relief(relief) => relief.way_out += back / ml_s,
            Component::Engine(engine) => {
                if let Some(overflow) = &mut engine.overflow {
                    overflow.way_out += back / ml_s;
                }
            }
            other => return Err(format!("nothing returns through a {}", other.kind())),
        }
        Ok(())
    },
};

pub(super) const F29: Fault = Fault {
    code: "F29",
    name: msg!("fault-f29-name"),
    about: msg!("fault-f29-about"),
    modes: &[Mode::Inl],
    place: Place::Part(&["Engine"]),
    remedies: &[Remedy::Replace],
    fix: fix(60.0, 240.0, Class::C4, Class::C4),
    severities: (2, 5),
    met_in: &[1, 2, 3, 7],
    weights: Weights::of(52.0, 5.0, 46.0, 17.0),
    multipliers: &[],
    reports: msg!("fault-f29-reports"),
    shows: msg!("fault-f29-shows"),
    confused_with: &["F26", "F15"],
    separated_by: &[by("T26", "return of each injector side by side; never at the high-pressure side")],
    fits: has_injectors_that_return,
    change: |site| {
        // share of what the supply gives at the raised speed
        let share = table(site.severity, [0.06, 0.14, 0.3, 0.55, 0.9]);
        let flow = rating::flow_at_raised(site.plant);
        let engine = site.engine()?;
        let more = share * flow * 1000.0 / engine.raised.si();
        engine.back_leak = VolumeFlow::from_si(engine.back_leak.si() + more * 1e-6);
        Ok(())
    },
};

/// A petrol engine's injectors burn what they get, and a carburettor has none.
fn has_injectors_that_return(plant: &Plant, _: &str) -> bool {
    !tank::fuels(plant, "F29").is_ok_and(|(_, proper)| tank::is_petrol_class(proper.mainly()))
}

fn regulates(plant: &Plant, name: &str) -> bool {
    match plant.part(name).map(|p| &p.is) {
        Some(Component::Engine(engine)) => engine.overflow.is_some(),
        Some(_) => true,
        None => false,
    }
}

fn carries_return(plant: &Plant, name: &str) -> bool {
    match plant.part(name).map(|p| &p.is) {
        Some(Component::Engine(engine)) => engine.overflow.is_some() && engine.returns_to.is_none(),
        Some(Component::Relief(relief)) => !rating::is_return(plant, &relief.to),
        Some(part) => part.ends().first().is_some_and(|from| rating::is_return(plant, from)),
        None => false,
    }
}

fn set_opening(component: &mut Component, factor: f64) -> Result<(), String> {
    let opens = match component {
        Component::Relief(relief) => &mut relief.opens,
        Component::Engine(engine) => match &mut engine.overflow {
            Some(overflow) => &mut overflow.opens,
            None => return Err("the engine has no overflow valve".to_owned()),
        },
        other => return Err(format!("a {} regulates nothing", other.kind())),
    };
    *opens = PressureDifference::from_si(opens.si() * factor);
    Ok(())
}
