//! Faults of lines and hoses, and of their temperature.

use super::catalogue::{Class, Fault, Mode, Occasion, Place, Weights, anywhere, by, fix};
use super::{geometric, rating, table, tank};
use crate::bay::action::Remedy;
use crate::fluid::FuelClass;
use crate::plant::component::Component;
use crate::plant::{Filling, Plant};
use crate::units::{AbsolutePressure, Temperature, Warming};

pub(super) const F07: Fault = Fault {
    code: "F07",
    name: "Line kinked, crushed or iced",
    about: "A line has lost part of its bore: nothing at idle, much at load, since the drop grows with the square of the flow.",
    modes: &[Mode::Plu],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(20.0, 90.0, Class::C1, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
    weights: Weights::of(15.0, 10.0, 25.0, 20.0),
    multipliers: &[(Occasion::Frost, 2.0)],
    reports: "All at once, after other work under the vehicle or in frost.",
    shows: "Fine at idle, a drop with the square of the flow across that length.",
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
    name: "Hose soft, liner loose",
    about: "A hose that looks perfect gives way under its own suction, and opens again only when that has gone.",
    modes: &[Mode::Std, Mode::Plu],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 30.0, Class::C1, Class::C2),
    severities: (2, 4),
    met_in: &[1, 7, 9, 10],
    weights: Weights::of(15.0, 5.0, 28.0, 22.0),
    multipliers: &[(Occasion::Heat, 1.5)],
    reports: "Fails after half an hour or at high load, fine when cool.",
    shows: "Healthy, then suddenly some hundred millibar more, and a slow return.",
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
    name: "Air ingress, suction side",
    about: "A joint that lets air in under suction though no fuel drips from it.",
    modes: &[Mode::Ing],
    place: Place::Node,
    remedies: &[Remedy::Reseal, Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: &[1, 3, 7, 9, 10],
    weights: Weights::of(120.0, 3.0, 120.0, 110.0),
    multipliers: &[],
    reports: "Long cranking after standing, a rough first minute, hunting; dry outside.",
    shows: "Less suction than healthy and unsteady, bubbles that grow with suction, a dead-head that isn't reached \
            and doesn't hold.",
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
    name: "External leak, pressure side",
    about: "Fuel comes out of a joint under pressure. A petrol leak is a danger to life whatever its size.",
    modes: &[Mode::Elp],
    place: Place::Node,
    remedies: &[Remedy::Reseal, Remedy::Replace],
    fix: fix(15.0, 60.0, Class::C1, Class::C3),
    severities: (1, 4),
    met_in: &[2, 3, 4, 5, 6, 7, 10],
    weights: Weights::of(20.0, 30.0, 28.0, 22.0),
    multipliers: &[],
    reports: "A smell, a spot on the ground, more consumption.",
    shows: "Running pressure near healthy until it is large; the hold falls; a stain.",
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
    name: "Wax in the filter, heater dead",
    about: "Fuel of the wrong season or a filter heater that stays cold: in frost, wax plugs the filter minutes after the start.",
    modes: &[Mode::Plu],
    place: Place::Part(&["Filter"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C0, Class::C2),
    severities: (1, 5),
    met_in: &[1, 2, 7, 10],
    weights: Weights::of(30.0, 0.0, 45.0, 8.0),
    multipliers: &[(Occasion::Frost, 5.0)],
    reports: "Starts on a frosty morning and dies after some minutes; fine at noon or in the workshop.",
    shows: "The filter's drop ramps from healthy to several hundred millibar; haze in the glass; gone when warm.",
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
    name: "Fuel too hot, vapour in the line",
    about: "A line lies too near to something hot, and the fuel is more volatile than the day asks for: it boils where it is drawn.",
    modes: &[Mode::Ero],
    place: Place::Part(&["Line"]),
    remedies: &[Remedy::Replace],
    fix: fix(30.0, 60.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: &[5, 9, 10],
    weights: Weights::of(3.0, 22.0, 2.0, 5.0),
    multipliers: &[(Occasion::Heat, 4.0)],
    reports: "Doesn't restart hot, fades on a hot climb; warm days in spring on winter's fuel.",
    shows: "Foam in the glass, a saw-tooth, a current that falls and gets ragged; healthy again when cooled.",
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
