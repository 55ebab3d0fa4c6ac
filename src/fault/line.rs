//! Faults of lines and hoses, and of their temperature.

use super::catalogue::{Class, Fault, Mode, Occasion, Place, Weights, anywhere, by, fix};
use super::{geometric, rating, table, tank};
use crate::bay::action::Remedy;
use crate::fluid::FuelClass;
use crate::msg;
use crate::plant::component::Component;
use crate::plant::{Filling, Plant};
use crate::units::{AbsolutePressure, Temperature, Warming};

pub(super) const F07: Fault = Fault {
    code: "F07",
    name: msg!("fault-f07-name"),
    about: msg!("fault-f07-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(20.0, 90.0, Class::C1, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
    weights: Weights::of(15.0, 10.0, 25.0, 20.0),
    multipliers: &[(Occasion::Frost, 2.0)],
    reports: msg!("fault-f07-reports"),
    shows: msg!("fault-f07-shows"),
    confused_with: &["F15", "F03"],
    separated_by: &[
        by("T10", "raised speed against idle: more than in proportion to the flow"),
        by("T17", "the drop lies between two joints"),
        by("T04", "a look underneath"),
    ],
    fits: anywhere,
    change: |site| {
        // share of the bore's diameter that is left; an orifice of 0.65·A
        let left = table(site.severity, [0.55, 0.47, 0.40, 0.32, 0.22]);
        let share = 0.65 * left * left;
        site.line()?.fittings += 1.0 / (share * share);
        Ok(())
    },
};

pub(super) const F08: Fault = Fault {
    code: "F08",
    name: msg!("fault-f08-name"),
    about: msg!("fault-f08-about"),
    modes: &[Mode::Std, Mode::Plu],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 30.0, Class::C1, Class::C2),
    severities: (2, 4),
    met_in: &[1, 7, 9, 10],
    weights: Weights::of(15.0, 5.0, 28.0, 22.0),
    multipliers: &[(Occasion::Heat, 1.5)],
    reports: msg!("fault-f08-reports"),
    shows: msg!("fault-f08-shows"),
    confused_with: &["F02", "F12", "F15"],
    separated_by: &[
        by("T04", "it gives when squeezed"),
        by("T17", "the drop lies across the hose while it is hot"),
        by("T08", "the cap changes nothing"),
    ],
    fits: anywhere,
    change: |site| {
        // absolute pressure at which it is half shut
        let pa = 100.0 * table(site.severity, [700.0, 780.0, 840.0, 890.0, 950.0]);
        let line = site.line()?;
        let before = line.squeezed_at.map_or(0.0, |p| p.si());
        line.squeezed_at = Some(AbsolutePressure::from_si(before.max(pa)));
        Ok(())
    },
};

pub(super) const F09: Fault = Fault {
    code: "F09",
    name: msg!("fault-f09-name"),
    about: msg!("fault-f09-about"),
    modes: &[Mode::Ing],
    place: Place::Node,
    remedies: &[Remedy::Reseal, Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: &[1, 3, 7, 9, 10],
    weights: Weights::of(120.0, 3.0, 120.0, 110.0),
    multipliers: &[],
    reports: msg!("fault-f09-reports"),
    shows: msg!("fault-f09-shows"),
    confused_with: &["F13", "F04", "M1", "F03"],
    separated_by: &[
        by("T17", "bubbles downstream of the hole only"),
        by("T21", "soapy water finds it, where that test is allowed"),
        by("T16", "bubbles that stay with a container lie behind its joint"),
    ],
    fits: |plant, node| !plant.is_under_pressure(node) && holds_gas(plant, node),
    change: |site| {
        // effective hole 0.0015 mm² (a trace: about 1 % air at idle) to 0.1 mm² (loses prime)
        let area = geometric(site.severity, 0.0015, 0.1);
        let node = site.at.clone();
        site.hole(&node, area);
        Ok(())
    },
};

pub(super) const F10: Fault = Fault {
    code: "F10",
    name: msg!("fault-f10-name"),
    about: msg!("fault-f10-about"),
    modes: &[Mode::Elp],
    place: Place::Node,
    remedies: &[Remedy::Reseal, Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C3),
    severities: (1, 4),
    met_in: &[2, 3, 4, 5, 6, 7, 10],
    weights: Weights::of(20.0, 30.0, 28.0, 22.0),
    multipliers: &[],
    reports: msg!("fault-f10-reports"),
    shows: msg!("fault-f10-shows"),
    confused_with: &["F23", "F21"],
    separated_by: &[
        by("T04", "clean, dry, run and look with a light"),
        by("T18", "the section that holds is tight"),
    ],
    fits: |plant, node| plant.is_under_pressure(node) && holds_gas(plant, node),
    change: |site| {
        // effective hole 0.001 mm² (a weep) to 1.5 mm² (the pressure is gone)
        let area = geometric(site.severity, 0.001, 1.5);
        let node = site.at.clone();
        site.hole(&node, area);
        Ok(())
    },
};

pub(super) const F11: Fault = Fault {
    code: "F11",
    name: msg!("fault-f11-name"),
    about: msg!("fault-f11-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Filter"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C0, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 7, 10],
    weights: Weights::of(30.0, 0.0, 45.0, 8.0),
    multipliers: &[(Occasion::Frost, 5.0)],
    reports: msg!("fault-f11-reports"),
    shows: msg!("fault-f11-shows"),
    confused_with: &["F15", "F05", "F02"],
    separated_by: &[
        by("T28", "warming the filter, without a flame, clears it"),
        by("T24", "the heater takes no current"),
    ],
    fits: |plant, _| tank::fuels(plant, "F11").is_ok_and(|(_, proper)| !tank::is_petrol_class(proper.mainly())),
    change: |site| {
        let severity = site.severity;
        let filter = site.filter()?;
        filter.heater = Warming::from_si(filter.heater.si() * table(severity, [0.7, 0.4, 0.2, 0.05, 0.0]));
        let share = table(severity, [0.1, 0.3, 0.6, 0.85, 1.0]);
        let (has, proper) = tank::fuels(site.plant, "F11")?;
        let winter =
            |c| matches!(c, FuelClass::WinterDiesel | FuelClass::TransitionDiesel | FuelClass::ArcticDiesel);
        site.plant.fuel = Filling::InPlaceOf(tank::exchanged(has, winter, FuelClass::Diesel, share)?, proper);
        Ok(())
    },
};

pub(super) const F12: Fault = Fault {
    code: "F12",
    name: msg!("fault-f12-name"),
    about: msg!("fault-f12-about"),
    modes: &[Mode::Ero],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: &[5, 9, 10],
    weights: Weights::of(3.0, 22.0, 2.0, 5.0),
    multipliers: &[(Occasion::Heat, 4.0)],
    reports: msg!("fault-f12-reports"),
    shows: msg!("fault-f12-shows"),
    confused_with: &["F09", "F19", "F23"],
    separated_by: &[
        by("T28", "a wet cloth cures it within a minute"),
        by("T03", "grade and age of the fuel"),
        by("T14", "the hold, hot"),
    ],
    fits: anywhere,
    change: |site| {
        let warmer = table(site.severity, [4.0, 8.0, 12.0, 16.0, 20.0]);
        let plant = &mut *site.plant;
        match &mut plant.warmth {
            Some(warmth) => {
                for rise in [&mut warmth.tank, &mut warmth.running, &mut warmth.stopped] {
                    *rise = Warming::from_si(rise.si() + warmer);
                }
            }
            None => plant.temperature = Temperature::from_celsius(plant.temperature.celsius() + warmer),
        }
        if let Ok((has, proper)) = tank::fuels(plant, "F12") {
            let share = table(site.severity, [0.2, 0.4, 0.6, 0.8, 1.0]);
            let winter = tank::exchanged(has, |c| c == FuelClass::Petrol, FuelClass::WinterPetrol, share)?;
            plant.fuel = Filling::InPlaceOf(winter, proper);
        }
        Ok(())
    },
};

/// Gas is followed at a node, so a hole there can be modelled.
fn holds_gas(plant: &Plant, node: &str) -> bool {
    let outlet = plant.parts.iter().any(|p| match &p.is {
        Component::Tank(t) => t.outlet == node,
        Component::SwirlPot(p) => p.outlet == node,
        _ => false,
    });
    let gallery = plant.engine().is_some_and(|e| e.gallery == node && !e.holds_gas);
    !outlet && !gallery && !rating::is_return(plant, node)
}
