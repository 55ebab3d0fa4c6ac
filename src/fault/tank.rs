//! Faults of the tank and what is in it.

use super::catalogue::{Class, Fault, Mode, Place, Weights, anywhere, by, fix};
use super::{filter, geometric, linear, table};
use crate::bay::action::Remedy;
use crate::fluid::{Blend, FuelClass};
use crate::msg;
use crate::plant::component::{Component, Crack, Resistance};
use crate::plant::{Filling, Plant};
use crate::units::{GaugePressure, Length, PressureDifference, Volume, VolumeFlow};

const ALL: &[u8] = &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10];

pub(super) const F01: Fault = Fault {
    code: "F01",
    name: msg!("fault-f01-name"),
    about: msg!("fault-f01-about"),
    modes: &[Mode::Noo, Mode::Ero],
    place: Place::Part(&["Tank"]),
    remedies: &[Remedy::Replace],
    fix: fix(10.0, 60.0, Class::C1, Class::C3),
    severities: (3, 5),
    met_in: ALL,
    weights: Weights::of(30.0, 35.0, 30.0, 30.0),
    multipliers: &[],
    reports: msg!("fault-f01-reports"),
    shows: msg!("fault-f01-shows"),
    confused_with: &["F09", "F19"],
    separated_by: &[
        by("T03", "a dip finds less fuel than the gauge says; ten litres more cure it"),
        by("T16", "it runs from a container"),
    ],
    fits: anywhere,
    change: |site| {
        // from 12 mm above the mouth of the pick-up to 2 mm below
        let over_mm = table(site.severity, [12.0, 8.0, 4.0, 1.5, -2.0]);
        let tank = site.tank()?;
        let level = (tank.pickup.si() + over_mm * 1e-3).max(1e-3);
        tank.fill = Volume::from_si((tank.area.si() * level).clamp(1e-5, tank.fill.si()));
        Ok(())
    },
};

pub(super) const F02: Fault = Fault {
    code: "F02",
    name: msg!("fault-f02-name"),
    about: msg!("fault-f02-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Tank"]),
    remedies: &[Remedy::Clean, Remedy::Replace],
    fix: fix(15.0, 15.0, Class::C1, Class::C1),
    severities: (1, 5),
    met_in: ALL,
    weights: Weights::of(12.0, 20.0, 20.0, 40.0),
    multipliers: &[],
    reports: msg!("fault-f02-reports"),
    shows: msg!("fault-f02-shows"),
    confused_with: &["F03", "F12", "F15"],
    separated_by: &[
        by("T08", "cap opened while the fault is there: the reading springs back"),
        by("T14", "the depression stays for minutes; what flow causes is gone at once"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let tank = site.tank()?;
        // the drive to the workshop has already drawn the tank down
        let drawn = linear(severity, -25.0, -250.0);
        tank.vent = VolumeFlow::from_si(tank.vent.si() * geometric(severity, 2e-3, 2e-6));
        tank.air_space = GaugePressure::from_mbar(tank.air_space.mbar() + drawn);
        Ok(())
    },
};

pub(super) const F03: Fault = Fault {
    code: "F03",
    name: msg!("fault-f03-name"),
    about: msg!("fault-f03-about"),
    modes: &[Mode::Plu],
    place: Place::Part(&["Strainer"]),
    remedies: &[Remedy::Clean, Remedy::Replace],
    fix: fix(30.0, 120.0, Class::C0, Class::C3),
    severities: (1, 5),
    met_in: ALL,
    weights: Weights::of(25.0, 15.0, 50.0, 55.0),
    multipliers: &[],
    reports: msg!("fault-f03-reports"),
    shows: msg!("fault-f03-shows"),
    confused_with: &["F15", "F07"],
    separated_by: &[
        by("T17", "still low with the tee moved before the filter"),
        by("T16", "gone when fed from a container"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let (plant, at) = (&*site.plant, &site.at);
        // an electric pump works against some hundred millibar without a complaint: its current falls, it whines and
        // the supply sags when its inlet boils. So its severities stand for other drops
        let to = plant.part(at).and_then(|p| p.is.ends().get(1).copied());
        let electric = |c: &Component| matches!(c, Component::ElectricPump(pump) if Some(pump.from.as_str()) == to);
        let drops = if plant.parts.iter().any(|p| electric(&p.is)) {
            [100.0, 600.0, 2200.0, 3000.0, 4000.0]
        } else {
            [15.0, 50.0, 150.0, 300.0, 600.0]
        };
        let strainer = site.strainer()?;
        // extra drop at the flow of the card's test speed: 50 mbar at 2, 150 at 3, 300 at 4
        let extra = Resistance {
            drop: PressureDifference::from_si(100.0 * table(severity, drops)),
            at: strainer.clean.at,
            laminar: 0.35,
        };
        strainer.dirt = Some(match strainer.dirt {
            None => extra,
            Some(already) => {
                let ((a, b), (c, d)) = (already.coefficients(), extra.coefficients());
                Resistance::from_coefficients(a + c, b + d)
            }
        });
        Ok(())
    },
};

pub(super) const F04: Fault = Fault {
    code: "F04",
    name: msg!("fault-f04-name"),
    about: msg!("fault-f04-about"),
    modes: &[Mode::Ing, Mode::Loo],
    place: Place::Part(&["Tank", "JetPump"]),
    remedies: &[Remedy::Replace],
    fix: fix(60.0, 150.0, Class::C2, Class::C4),
    // 5 is a jet pump that moves nothing, or a tube that is broken through: at 4 a van idles on with the level below it
    severities: (2, 5),
    met_in: &[1, 2, 3, 4, 5, 6, 7, 9],
    weights: Weights::of(15.0, 15.0, 15.0, 15.0),
    multipliers: &[],
    reports: msg!("fault-f04-reports"),
    shows: msg!("fault-f04-shows"),
    confused_with: &["F09", "F01"],
    separated_by: &[
        by("T10", "two runs at two levels differ"),
        by("T16", "clean from a container: the fault is in the tank"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        match site.component()? {
            Component::Tank(tank) => {
                // the crack lies at half of the height of a full tank; severity is how much air comes through
                let height = 0.5 * tank.capacity.si() / tank.area.si();
                let share = table(severity, [0.02, 0.06, 0.15, 0.3, 0.5]);
                let before = tank.crack.map_or(0.0, |c| c.share);
                tank.crack = Some(Crack {
                    height: tank.crack.map_or(Length::from_si(height), |c| c.height),
                    share: 1.0 - (1.0 - before) * (1.0 - share),
                });
            }
            Component::JetPump(jet) => jet.ratio *= table(severity, [0.6, 0.4, 0.2, 0.08, 0.0]),
            other => return Err(format!("a {} has no pick-up", other.kind())),
        }
        Ok(())
    },
};

pub(super) const F05: Fault = Fault {
    code: "F05",
    name: msg!("fault-f05-name"),
    about: msg!("fault-f05-about"),
    modes: &[Mode::Plu, Mode::Ero],
    place: Place::Part(&["Filter"]),
    remedies: &[Remedy::Clean],
    fix: fix(20.0, 300.0, Class::C2, Class::C4),
    severities: (2, 5),
    met_in: &[1, 7, 8, 9, 10],
    weights: Weights::of(40.0, 18.0, 75.0, 170.0),
    multipliers: &[],
    reports: msg!("fault-f05-reports"),
    shows: msg!("fault-f05-shows"),
    confused_with: &["F15", "F11"],
    separated_by: &[
        by("T03", "a sample from the bottom shows water or slime"),
        by("T19", "the element, cut open, tells what plugged it"),
    ],
    fits: anywhere,
    change: |site| {
        let severity = site.severity;
        let name = site.at.clone();
        filter::clog(site.plant, &name, severity, 0.8)?;
        for part in &mut site.plant.parts {
            if let Component::Tank(tank) = &mut part.is {
                let lies = tank.water.si() + geometric(severity, 0.1e-3, 3e-3);
                tank.water = Volume::from_si(lies.min(0.3 * tank.fill.si()));
                break;
            }
        }
        Ok(())
    },
};

pub(super) const F06: Fault = Fault {
    code: "F06",
    name: msg!("fault-f06-name"),
    about: msg!("fault-f06-about"),
    modes: &[Mode::Ero],
    place: Place::Part(&["Tank"]),
    remedies: &[Remedy::Clean],
    fix: fix(60.0, 180.0, Class::C2, Class::C4),
    severities: (2, 5),
    met_in: ALL,
    weights: Weights::of(35.0, 30.0, 25.0, 20.0),
    multipliers: &[],
    reports: msg!("fault-f06-reports"),
    shows: msg!("fault-f06-shows"),
    confused_with: &["N1", "N2"],
    separated_by: &[by("T01", "the receipt of the last fill"), by("T03", "smell, colour and density of a sample")],
    fits: anywhere,
    change: |site| {
        let share = table(site.severity, [0.03, 0.1, 0.25, 0.5, 0.9]);
        let (has, proper) = fuels(site.plant, "F06")?;
        let wrong = if is_petrol(proper) { FuelClass::Diesel } else { FuelClass::Petrol };
        let mixed = poured(has, wrong, share)?;
        site.plant.fuel = Filling::InPlaceOf(mixed, proper);
        // an engine bears some of it, then runs badly, then doesn't run on it
        let able = table(site.severity, [1.0, 0.97, 0.8, 0.5, 0.0]);
        super::elsewhere::weaken(site.plant, able);
        Ok(())
    },
};

/// What is in the tank and what should be.
pub(super) fn fuels(plant: &Plant, code: &str) -> Result<(Blend, Blend), String> {
    match &plant.fuel {
        Filling::Of(blend) => Ok((*blend, *blend)),
        Filling::InPlaceOf(blend, proper) => Ok((*blend, *proper)),
        Filling::Fixed(_) => Err(format!("{code} needs a plant whose fuel has a class")),
    }
}

pub(super) const fn is_petrol_class(class: FuelClass) -> bool {
    matches!(class, FuelClass::Petrol | FuelClass::WinterPetrol)
}

fn is_petrol(blend: Blend) -> bool {
    is_petrol_class(blend.mainly())
}

/// A blend with a share of another fuel poured in.
fn poured(blend: Blend, other: FuelClass, share: f64) -> Result<Blend, String> {
    let mut parts: Vec<(FuelClass, f64)> = blend.shares().map(|(c, s)| (c, s * (1.0 - share))).collect();
    parts.push((other, share));
    remixed(&parts, blend)
}

/// A blend in which a share of some classes has been exchanged for another class.
pub(super) fn exchanged(
    blend: Blend,
    from: impl Fn(FuelClass) -> bool,
    to: FuelClass,
    share: f64,
) -> Result<Blend, String> {
    let mut parts = vec![];
    for (class, amount) in blend.shares() {
        let moves = if from(class) && class != to { share } else { 0.0 };
        parts.push((class, amount * (1.0 - moves)));
        parts.push((to, amount * moves));
    }
    remixed(&parts, blend)
}

fn remixed(parts: &[(FuelClass, f64)], like: Blend) -> Result<Blend, String> {
    Blend::mix(parts).and_then(|mixed| mixed.with_water(like.water())).map_err(|e| e.to_string())
}
