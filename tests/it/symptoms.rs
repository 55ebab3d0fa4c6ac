//! What each fault does to the readings, as a table: difference from the healthy vehicle by state, on a plant where
//! the fault is met. Vehicles are driven directly, without bay and instruments.
//!
//! Ranges are what a technician expects, wide enough for other plants of the kind: direction and rough size.

use std::fmt::Write as _;

use faultbay::fault::{FaultInstance, apply_all};
use faultbay::plant::assemble::{Detail, Rig, TeeFitting};
use faultbay::plant::component::{Command, Component};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::plant::{Filling, Plant};
use faultbay::units::{Temperature, Volume};

use crate::test_plants;

const S: u64 = 1_000_000;

/// A reading of the standard run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum R {
    /// mbar gauge at the tee.
    Rest,
    Crank,
    Idle,
    Raised,
    DeadHead,
    Hold10s,
    Hold2Min,
    Hold10Min,
    /// mbar gauge where the engine is fed.
    GalleryIdle,
    GalleryRaised,
    /// Gas in the glass, in 100.
    GasIdle,
    GasRaised,
    /// Pump's current and flow through the tee's valve at idle; differences in per cent.
    Amps,
    Flow,
    /// 1/min reached on the starter and when the raised speed is asked for.
    CrankRpm,
    RaisedRpm,
}

pub const READINGS: usize = R::RaisedRpm as usize + 1;

impl R {
    pub const fn is_relative(self) -> bool {
        matches!(self, Self::Amps | Self::Flow)
    }
}

pub type Readings = [f64; READINGS];

/// A vehicle with a tee, and what reads it.
pub struct Run {
    pub car: Vehicle,
    pub readings: Readings,
    amps: Option<usize>,
}

impl Run {
    pub fn new(plant: &Plant, joint: &str, reach: f64, effort: Effort) -> Self {
        let tee = TeeFitting { joint: joint.into(), hose_air: 0.0, valve_reach: reach };
        let rig = Rig { tee: Some(tee), container: None };
        let car =
            Vehicle::new(plant, &rig, Detail::COARSE, effort).unwrap_or_else(|e| panic!("{}: {e}", plant.name));
        let amps = car.net().top.motors.first().map(|m| m.i);
        Self { car, readings: [f64::NAN; READINGS], amps }
    }

    pub fn note(&mut self, at: u64, pressure: R, others: &[R]) {
        self.car.cover(at);
        let y = self.car.snapshot(at);
        let (net, handles) = (self.car.net(), &self.car.assembly().handles);
        let gauge = |v: usize| net.gauge(v, &y).0[0] / 100.0;
        let tee = handles.tee.unwrap();
        self.readings[pressure as usize] = gauge(tee);
        for other in others {
            self.readings[*other as usize] = match other {
                R::GalleryIdle | R::GalleryRaised => gauge(net.top.engine.supply),
                R::GasIdle | R::GasRaised => 100.0 * net.gas_share(tee, &y).0[0],
                R::Amps => self.amps.map_or(f64::NAN, |i| y[i].0[0]),
                R::Flow => net.flows(&y, &mut net.workspace())[handles.valve_link.unwrap()].0[0],
                R::CrankRpm | R::RaisedRpm => y[net.top.engine.n].0[0],
                _ => panic!("{other:?} is a pressure"),
            };
        }
    }

    pub fn voltage(&mut self, at: u64, volts: f64) {
        if let Some(i) = self.amps {
            self.car.ramp(at, i + 2, volts, S / 50);
        }
    }
}

/// The standard run: rest, prime, crank, idle, raised, dead-head, off, hold. With an electric pump the engine
/// stops before the dead-head and the pump is commanded through it.
fn standard(plant: &Plant, joint: &str, reach: f64) -> Readings {
    standard_at(plant, joint, reach, Effort::WATCHED)
}

/// The same with a tolerance.
pub fn standard_at(plant: &Plant, joint: &str, reach: f64, effort: Effort) -> Readings {
    let engine = plant.engine().unwrap();
    let [starter_rpm, idle, raised] = [engine.starter, engine.idle, engine.raised].map(|v| v.si());
    let mut run = Run::new(plant, joint, reach, effort);
    let n = run.car.net().top.engine.n;
    let (asked, starter) = (n + 1, n + 2);
    let valve = run.car.assembly().handles.valve.unwrap();
    let pushed = plant.is_under_pressure(joint);
    run.note(9 * S / 10, R::Rest, &[]);
    if let Some(c) = run.car.net().top.controllers.first() {
        let wanted = c.s + 1;
        run.car.ramp(S, wanted, 4e5, S / 10);
    }
    // a pump by float isn't the engine's
    let by_float =
        |c: &Component| matches!(c, Component::ElectricPump(p) if matches!(p.command, Command::Float { .. }));
    let transfer = plant.parts.iter().any(|p| by_float(&p.is));
    let volts = if transfer { [0.0, 0.0] } else { [12.4, 13.6] };
    run.voltage(S, volts[0]);
    run.car.ramp(3 * S, starter, starter_rpm, S / 10);
    run.note(59 * S / 10, R::Crank, &[R::CrankRpm]);
    run.car.ramp(6 * S, asked, idle, S / 10);
    run.car.ramp(6 * S, starter, 0.0, S / 10);
    run.voltage(6 * S, volts[1]);
    run.note(69 * S, R::Idle, &[R::GalleryIdle, R::GasIdle, R::Amps, R::Flow]);
    run.car.ramp(70 * S, asked, raised, S);
    run.note(100 * S, R::Raised, &[R::GalleryRaised, R::GasRaised, R::RaisedRpm]);
    run.car.ramp(100 * S, asked, if pushed { 0.0 } else { idle }, S);
    run.car.ramp(115 * S, valve, 0.0, 3 * S / 10);
    run.note(120 * S, R::DeadHead, &[]);
    run.car.ramp(120 * S, valve, 1.0, 3 * S / 10);
    run.car.ramp(135 * S, asked, 0.0, S / 10);
    run.voltage(135 * S, 0.0);
    for (reading, after) in [(R::Hold10s, 10), (R::Hold2Min, 120), (R::Hold10Min, 600)] {
        run.note((135 + after) * S, reading, &[]);
    }
    run.readings
}

/// Plant in a given condition by name.
pub fn plant(name: &str) -> Plant {
    let mut plant = match name {
        "van" | "van, low" => test_plants::van(),
        "petrol" => test_plants::petrol_return(),
        "demand" => test_plants::petrol_demand(),
        "tractor" => test_plants::tractor(),
        "genset" => test_plants::genset(),
        other => test_plants::built_in(other),
    };
    if name == "van, low"
        && let Component::Tank(tank) = &mut plant.part_mut("tank").unwrap().is
    {
        tank.fill = Volume::from_si(0.3 * tank.capacity.si());
    }
    plant
}

/// Fault, place, severity, plant, joint, and what differs from healthy: reading, least, most.
type Row = (&'static str, &'static str, f64, &'static str, &'static str, &'static [(R, f64, f64)]);

const ROWS: &[Row] = &[
    // tank
    ("F01", "tank", 1.0, "van", "pump in", &[(R::GasIdle, -0.1, 2.0), (R::Idle, -40., 5.)]),
    ("F01", "tank", 3.0, "van", "pump in", &[(R::GasIdle, 4., 40.), (R::Rest, -40., -10.)]),
    ("F01", "tank", 5.0, "van", "pump in", &[(R::GasIdle, 15., 100.), (R::RaisedRpm, -2600., -1000.)]),
    ("F01", "tank", 5.0, "petrol", "line end", &[(R::Amps, -60., -10.)]),
    ("F02", "tank", 1.0, "van", "tank line end", &[(R::Rest, -30., -20.), (R::Idle, -25., -8.)]),
    (
        "F02",
        "tank",
        3.0,
        "van",
        "tank line end",
        &[
            (R::Rest, -145., -130.),
            (R::Idle, -150., -120.),
            (R::Raised, -160., -110.),
            (R::Hold10Min, -160., -120.),
        ],
    ),
    (
        "F02",
        "tank",
        3.0,
        "van",
        "pump in",
        &[
            (R::Idle, -150., -110.),
            (R::Raised, -160., -80.),
            (R::Hold10s, -160., -110.),
            (R::Hold10Min, -170., -110.),
        ],
    ),
    ("F02", "tank", 5.0, "van", "pump in", &[(R::Idle, -270., -200.), (R::Hold10Min, -290., -200.)]),
    ("F03", "strainer", 1.0, "van", "pump in", &[(R::Raised, -30., -8.), (R::Rest, -3., 3.)]),
    (
        "F03",
        "strainer",
        3.0,
        "van",
        "pump in",
        &[(R::Raised, -200., -85.), (R::Idle, -50., -10.), (R::Rest, -3., 3.), (R::Hold10s, -12., 5.)],
    ),
    ("F03", "strainer", 3.0, "van", "tank line end", &[(R::Raised, -200., -90.), (R::Rest, -3., 3.)]),
    ("F03", "strainer", 5.0, "van", "pump in", &[(R::Raised, -500., -150.), (R::Idle, -150., -50.)]),
    ("F03", "strainer", 2.0, "petrol", "line end", &[(R::Amps, -5., 5.), (R::Flow, -25., -1.)]),
    ("F03", "strainer", 3.0, "petrol", "line end", &[(R::Amps, -25., -10.), (R::Flow, -75., -20.)]),
    ("F03", "strainer", 4.0, "petrol", "line end", &[(R::Amps, -25., -10.), (R::Flow, -75., -20.)]),
    ("F03", "strainer", 5.0, "petrol", "line end", &[(R::Amps, -28., -10.), (R::Flow, -75., -20.)]),
    ("F04", "tank", 3.0, "van", "pump in", &[(R::GasIdle, -0.1, 0.5), (R::Idle, -2., 2.)]),
    ("F04", "tank", 1.0, "van, low", "pump in", &[(R::GasIdle, 0.5, 5.)]),
    ("F04", "tank", 3.0, "van, low", "pump in", &[(R::GasIdle, 8., 30.), (R::Idle, 0., 40.)]),
    ("F04", "tank", 5.0, "van, low", "pump in", &[(R::GasIdle, 15., 75.), (R::RaisedRpm, -2600., -300.)]),
    ("F05", "filter", 3.0, "van", "pump in", &[(R::Raised, -220., -80.), (R::Rest, -3., 3.)]),
    ("F05", "filter", 3.0, "tractor", "pump out", &[(R::GalleryRaised, -320., -30.)]),
    ("F06", "tank", 1.0, "van", "pump in", &[(R::Idle, -2., 15.), (R::RaisedRpm, -5., 5.)]),
    ("F06", "tank", 3.0, "van", "pump in", &[(R::Idle, 0., 40.), (R::RaisedRpm, -600., -400.)]),
    ("F06", "tank", 5.0, "van", "pump in", &[(R::RaisedRpm, -2600., -2200.)]),
    ("F06", "tank", 3.0, "petrol", "line end", &[(R::Idle, -100., 100.), (R::Amps, -2., 12.)]),
    // lines
    ("F07", "tank line", 1.0, "van", "pump in", &[(R::Raised, -130., -15.), (R::Idle, -15., 0.)]),
    (
        "F07",
        "tank line",
        3.0,
        "van",
        "pump in",
        &[(R::Raised, -400., -120.), (R::Idle, -60., -8.), (R::Rest, -3., 3.)],
    ),
    ("F07", "tank line", 5.0, "van", "pump in", &[(R::Raised, -600., -250.), (R::Idle, -450., -120.)]),
    ("F07", "short line", 3.0, "van", "tank line end", &[(R::Raised, 0., 80.)]),
    ("F07", "line", 3.0, "petrol", "line end", &[(R::Idle, -200., 0.), (R::Amps, 1., 20.)]),
    ("F08", "short line", 1.0, "van", "pump in", &[(R::Raised, -30., 2.), (R::Idle, -2., 2.)]),
    ("F08", "short line", 3.0, "van", "pump in", &[(R::Raised, -600., -20.), (R::Idle, -20., 2.)]),
    ("F08", "short line", 5.0, "van", "pump in", &[(R::Raised, -700., -200.)]),
    ("F09", "filter in", 1.0, "van", "pump in", &[(R::GasIdle, 0.1, 3.), (R::Idle, -3., 10.)]),
    (
        "F09",
        "filter in",
        3.0,
        "van",
        "pump in",
        &[(R::GasIdle, 3., 30.), (R::Raised, 0., 60.), (R::Hold2Min, 15., 40.)],
    ),
    ("F09", "filter in", 3.0, "van", "tank line end", &[(R::GasIdle, -0.1, 0.3)]),
    ("F09", "filter in", 5.0, "van", "pump in", &[(R::GasIdle, 15., 100.), (R::RaisedRpm, -2600., -1000.)]),
    ("F10", "line end", 1.0, "petrol", "rail", &[(R::Idle, -10., 5.), (R::Hold10Min, -3600., -200.)]),
    ("F10", "line end", 3.0, "petrol", "rail", &[(R::Idle, -60., 0.), (R::Hold2Min, -3600., -3000.)]),
    ("F10", "line end", 5.0, "petrol", "rail", &[(R::Idle, -3900., -100.), (R::Hold10s, -3600., -3000.)]),
    ("F12", "line", 3.0, "petrol", "line end", &[(R::Idle, -200., 50.), (R::Amps, -40., 5.)]),
    // valves and filters
    ("F13", "non-return valve", 1.0, "van", "pump in", &[(R::Raised, -5., 15.), (R::Hold10Min, -60., -8.)]),
    ("F13", "non-return valve", 4.0, "van", "pump in", &[(R::Raised, -5., 20.), (R::Hold2Min, 2., 20.)]),
    (
        "F14",
        "non-return valve",
        1.0,
        "van",
        "pump in",
        &[(R::Idle, -30., -10.), (R::Raised, -30., -8.), (R::Rest, -3., 3.)],
    ),
    (
        "F14",
        "non-return valve",
        3.0,
        "van",
        "pump in",
        &[(R::Crank, -90., -50.), (R::Idle, -90., -60.), (R::Raised, -90., -45.), (R::Rest, -3., 3.)],
    ),
    ("F14", "non-return valve", 5.0, "van", "pump in", &[(R::Idle, -165., -120.), (R::Raised, -165., -70.)]),
    ("F15", "filter", 1.0, "van", "pump in", &[(R::Raised, -50., -15.), (R::Rest, -3., 3.)]),
    (
        "F15",
        "filter",
        3.0,
        "van",
        "pump in",
        &[(R::Raised, -250., -100.), (R::Idle, -90., -20.), (R::Rest, -3., 3.), (R::Hold10s, -6., 6.)],
    ),
    ("F15", "filter", 3.0, "van", "tank line end", &[(R::Raised, -5., 60.), (R::Idle, -5., 20.)]),
    ("F15", "filter", 5.0, "van", "pump in", &[(R::Raised, -600., -250.), (R::Idle, -350., -100.)]),
    ("F15", "filter", 1.0, "petrol", "line end", &[(R::Idle, 30., 150.), (R::Amps, 0., 5.)]),
    (
        "F15",
        "filter",
        3.0,
        "petrol",
        "line end",
        &[(R::Idle, 400., 900.), (R::GalleryIdle, -150., 5.), (R::Amps, 3., 15.)],
    ),
    ("F15", "filter", 5.0, "petrol", "line end", &[(R::Idle, 1200., 2900.), (R::Flow, -80., -15.)]),
    ("F16", "filter", 1.0, "van", "pump in", &[(R::GasIdle, 0.05, 3.), (R::Raised, -40., 5.)]),
    (
        "F16",
        "filter",
        3.0,
        "van",
        "pump in",
        &[(R::GasIdle, 1.5, 25.), (R::Raised, -150., 0.), (R::Hold10Min, 2., 40.)],
    ),
    ("F16", "filter", 3.0, "van", "tank line end", &[(R::GasIdle, -0.1, 0.3)]),
    ("F16", "filter", 5.0, "van", "pump in", &[(R::GasIdle, 10., 100.)]),
    // electric pumps
    ("F17", "pump", 1.0, "petrol", "line end", &[(R::Flow, -8., -3.), (R::Idle, -60., 0.)]),
    (
        "F17",
        "pump",
        3.0,
        "petrol",
        "line end",
        &[(R::Flow, -32., -18.), (R::Idle, -300., -20.), (R::Amps, -8., 3.), (R::DeadHead, -1500., -30.)],
    ),
    ("F17", "pump", 5.0, "petrol", "line end", &[(R::Flow, -98., -60.), (R::DeadHead, -4000., -1000.)]),
    ("F18", "pump/plug", 1.0, "petrol", "line end", &[(R::Flow, -8., -1.), (R::Amps, -5., -0.5)]),
    (
        "F18",
        "pump/plug",
        3.0,
        "petrol",
        "line end",
        &[(R::Flow, -28., -8.), (R::Amps, -15., -3.), (R::Idle, -200., -5.)],
    ),
    (
        "F18",
        "pump/plug",
        5.0,
        "petrol",
        "line end",
        &[(R::Flow, -90., -35.), (R::Amps, -40., -15.), (R::Idle, -1500., -60.)],
    ),
    ("F19", "pump", 1.0, "petrol", "line end", &[(R::Flow, -25., -1.), (R::Amps, -20., -0.5)]),
    ("F19", "pump", 3.0, "petrol", "line end", &[(R::Flow, -80., -10.), (R::Amps, -45., -5.)]),
    (
        "F19",
        "pump",
        5.0,
        "petrol",
        "line end",
        &[(R::Idle, -4100., -3500.), (R::Amps, -101., -95.), (R::RaisedRpm, -2600., -2300.)],
    ),
    (
        "F23",
        "pump",
        1.0,
        "petrol",
        "line end",
        &[(R::Idle, -20., 5.), (R::Hold10s, -150., 5.), (R::Hold10Min, -2500., -50.)],
    ),
    ("F23", "pump", 3.0, "petrol", "line end", &[(R::Idle, -20., 5.), (R::Hold2Min, -3500., -2600.)]),
    ("F23", "pump", 5.0, "petrol", "line end", &[(R::Idle, -150., 5.), (R::Hold10s, -3500., -2500.)]),
    ("F24", "pump", 1.0, "demand", "line end", &[(R::Idle, -240., -150.)]),
    (
        "F24",
        "pump",
        3.0,
        "demand",
        "line end",
        &[(R::Idle, -1150., -850.), (R::Raised, -1150., -850.), (R::Amps, -40., -5.)],
    ),
    ("F24", "pump", 5.0, "demand", "line end", &[(R::Idle, -2800., -2200.)]),
    // mechanical pumps
    ("F20", "lift pump", 1.0, "tractor", "pump out", &[(R::Idle, -40., -5.)]),
    ("F20", "lift pump", 3.0, "tractor", "pump out", &[(R::Idle, -220., -50.), (R::DeadHead, -300., -60.)]),
    ("F20", "lift pump", 5.0, "tractor", "pump out", &[(R::Idle, -350., -120.), (R::Hold10s, -400., 0.)]),
    ("F26", "transfer pump", 1.0, "van", "pump in", &[(R::Idle, 0., 15.), (R::GasIdle, -0.1, 0.1)]),
    (
        "F26",
        "transfer pump",
        3.0,
        "van",
        "pump in",
        &[
            (R::Idle, 4., 60.),
            (R::Raised, 5., 80.),
            // −200 … −500 mbar, where a sound one reaches −734
            (R::DeadHead, 234., 534.),
            (R::GasIdle, -0.1, 0.1),
            (R::Hold10Min, -25., 5.),
        ],
    ),
    (
        "F26",
        "transfer pump",
        5.0,
        "van",
        "pump in",
        &[(R::Idle, 20., 110.), (R::DeadHead, 234., 534.), (R::GasIdle, -0.1, 0.1), (R::Hold10Min, -45., 5.)],
    ),
    // regulation and return
    ("F21", "regulator", 1.0, "petrol", "line end", &[(R::Idle, -250., -120.), (R::Raised, -250., -120.)]),
    (
        "F21",
        "regulator",
        3.0,
        "petrol",
        "line end",
        &[(R::Idle, -1000., -700.), (R::Raised, -1000., -700.), (R::DeadHead, -30., 30.)],
    ),
    ("F21", "regulator", 5.0, "petrol", "line end", &[(R::Idle, -2300., -1700.)]),
    ("F21", "engine", 3.0, "van", "pump in", &[(R::GalleryIdle, -1400., -1000.), (R::Idle, -20., 5.)]),
    ("F22", "regulator", 1.0, "petrol", "line end", &[(R::Idle, 250., 400.)]),
    ("F22", "regulator", 3.0, "petrol", "line end", &[(R::Idle, 1000., 1500.), (R::Raised, 1000., 1500.)]),
    ("F22", "regulator", 5.0, "petrol", "line end", &[(R::Idle, 2000., 2900.)]),
    ("F25", "tap", 1.0, "tractor", "pump in", &[(R::Raised, -30., 0.5), (R::Rest, -2., 2.)]),
    ("F25", "tap", 3.0, "tractor", "pump in", &[(R::Raised, -150., -5.), (R::Rest, -2., 2.)]),
    ("F25", "tap", 5.0, "tractor", "pump in", &[(R::Raised, -800., -100.), (R::Rest, -2., 2.)]),
    ("F28", "engine", 1.0, "van", "pump in", &[(R::GalleryRaised, 30., 150.)]),
    (
        "F28",
        "engine",
        3.0,
        "van",
        "pump in",
        &[(R::GalleryRaised, 500., 850.), (R::GalleryIdle, 50., 400.), (R::Raised, -1., 20.)],
    ),
    ("F28", "engine", 5.0, "van", "pump in", &[(R::GalleryRaised, 2000., 3500.)]),
    ("F28", "regulator", 3.0, "petrol", "line end", &[(R::Idle, 500., 900.)]),
    ("F29", "engine", 1.0, "van", "pump in", &[(R::GalleryRaised, -200., -5.), (R::Idle, -8., 2.)]),
    ("F29", "engine", 3.0, "van", "pump in", &[(R::GalleryRaised, -1000., -60.), (R::Idle, -15., 2.)]),
    ("F29", "engine", 5.0, "van", "pump in", &[(R::GalleryRaised, -6000., -1000.), (R::Idle, -40., 2.)]),
    // elsewhere
    ("N1", "engine", 1.0, "van", "pump in", &[(R::RaisedRpm, -100., -20.), (R::Idle, -2., 2.)]),
    (
        "N1",
        "engine",
        3.0,
        "van",
        "pump in",
        &[
            (R::RaisedRpm, -800., -700.),
            (R::Idle, -2., 2.),
            (R::Crank, -2., 2.),
            (R::Rest, -1., 1.),
            (R::Raised, 0., 100.),
            (R::GasIdle, -0.1, 0.1),
        ],
    ),
    ("N1", "engine", 5.0, "van", "pump in", &[(R::RaisedRpm, -2600., -2400.), (R::Crank, -2., 2.)]),
    ("N1", "engine", 3.0, "petrol", "line end", &[(R::Idle, -5., 5.), (R::Hold10Min, -20., 20.)]),
    (
        "N2",
        "engine",
        3.0,
        "van",
        "pump in",
        &[(R::CrankRpm, -60., -15.), (R::RaisedRpm, -700., -550.), (R::Rest, -1., 1.), (R::Idle, -2., 2.)],
    ),
    ("N2", "engine", 5.0, "van", "pump in", &[(R::CrankRpm, -115., -90.), (R::RaisedRpm, -2600., -2400.)]),
    (
        "N3",
        "",
        3.0,
        "van",
        "pump in",
        &[(R::Rest, 0., 0.), (R::Idle, 0., 0.), (R::Hold10Min, 0., 0.), (R::GasRaised, 0., 0.)],
    ),
    // the tester's own
    ("M1", "", 1.0, "van", "pump in", &[(R::GasIdle, 0.1, 6.), (R::Idle, -2., 15.)]),
    ("M1", "", 3.0, "van", "pump in", &[(R::GasIdle, 4., 60.), (R::Hold2Min, 15., 40.), (R::DeadHead, 40., 750.)]),
    ("M1", "", 5.0, "van", "pump in", &[(R::GasIdle, 20., 100.), (R::DeadHead, 300., 750.)]),
    ("M1", "", 3.0, "petrol", "line end", &[(R::Idle, -60., 5.), (R::Hold2Min, -3600., -1500.)]),
    ("M4", "", 1.0, "van", "pump in", &[(R::Raised, -60., -2.), (R::Rest, -2., 2.)]),
    ("M4", "", 3.0, "van", "pump in", &[(R::Raised, -250., -30.), (R::Rest, -2., 2.)]),
    ("M4", "", 5.0, "van", "pump in", &[(R::Raised, -600., -100.), (R::Rest, -2., 2.)]),
    // the same faults on other plants
    ("F02", "tank", 3.0, "petrol", "line end", &[(R::Idle, -150., 5.), (R::Amps, -1., 6.)]),
    ("F02", "tank", 3.0, "tractor", "pump in", &[(R::Rest, -145., -130.), (R::Idle, -145., -100.)]),
    ("F07", "line", 5.0, "tractor", "pump in", &[(R::Raised, -400., -10.), (R::Rest, -2., 2.)]),
    ("F09", "pump in", 3.0, "van", "filter in", &[(R::GasIdle, -0.1, 0.3), (R::DeadHead, 20., 740.)]),
    ("F10", "filter in", 3.0, "tractor", "pump out", &[(R::Idle, -40., 5.), (R::Hold2Min, -330., -40.)]),
    ("F15", "filter", 1.0, "tractor", "pump out", &[(R::GalleryRaised, -60., -8.)]),
    ("F15", "filter", 3.0, "genset", "pump in", &[(R::Idle, -220., -60.), (R::Rest, -2., 2.)]),
    ("F17", "pump", 3.0, "demand", "line end", &[(R::Idle, -40., 40.), (R::Amps, 2., 60.)]),
    ("F18", "pump/earth strap", 3.0, "demand", "line end", &[(R::Idle, -40., 40.), (R::Amps, -12., 12.)]),
    ("F25", "valve", 3.0, "genset", "pump in", &[(R::Idle, -200., -5.), (R::Rest, -2., 2.)]),
    ("F25", "valve", 5.0, "genset", "pump in", &[(R::Idle, -900., -100.), (R::Rest, -2., 2.)]),
    ("F29", "engine", 3.0, "tractor", "pump out", &[(R::GalleryRaised, -200., -5.)]),
    ("F15", "filter", 3.0, "tractor", "pump out", &[(R::GalleryRaised, -260., -60.), (R::Raised, -5., 80.)]),
    // the archetypes
    ("F15", "filter", 3.0, "a2-estate", "filter in", &[(R::Raised, 300., 1000.), (R::Amps, 2., 20.)]),
    ("F15", "filter", 3.0, "a2-estate", "hp inlet", &[(R::Raised, -400., -10.)]),
    (
        "F17",
        "lift pump",
        3.0,
        "a2-estate",
        "hp inlet",
        &[(R::Raised, -800., -60.), (R::Flow, -34., -18.), (R::DeadHead, -1500., -80.)],
    ),
    ("F18", "lift pump/relay", 3.0, "a2-estate", "hp inlet", &[(R::Raised, -500., -30.), (R::Amps, -15., -3.)]),
    (
        "F23",
        "lift pump",
        3.0,
        "a2-estate",
        "hp inlet",
        &[(R::Hold10s, -1500., -100.), (R::Hold2Min, -4000., -1500.)],
    ),
    ("F28", "return line", 3.0, "a2-estate", "return", &[(R::Raised, 450., 900.)]),
    ("F29", "engine", 3.0, "a2-estate", "hp inlet", &[(R::Raised, -600., -40.)]),
    ("F03", "strainer", 3.0, "a2-estate", "hp inlet", &[(R::Raised, -600., -100.), (R::Amps, -25., -8.)]),
    ("F03", "strainer", 5.0, "a2-estate", "hp inlet", &[(R::Raised, -1500., -100.), (R::Amps, -28., -8.)]),
    ("F03", "strainer", 3.0, "a4-hatchback", "rail in", &[(R::Amps, -25., -10.)]),
    ("F03", "strainer", 4.0, "a5-coupe", "rail in", &[(R::Amps, -28., -8.)]),
    ("F07", "suction line", 3.0, "a7-truck", "pump in", &[(R::Raised, -400., -80.), (R::Idle, -60., -5.)]),
    ("F09", "primary in", 3.0, "a7-truck", "pump in", &[(R::GasIdle, 0.5, 30.)]),
    ("F13", "non-return valve", 4.0, "a7-truck", "pump in", &[(R::Hold2Min, -60., -1.), (R::Raised, -5., 20.)]),
    ("F15", "primary filter", 3.0, "a7-truck", "pump in", &[(R::Raised, -250., -90.)]),
    (
        "F15",
        "secondary filter",
        3.0,
        "a7-truck",
        "pump out",
        &[(R::Raised, 400., 900.), (R::GalleryRaised, -150., 5.)],
    ),
    (
        "F26",
        "lift pump",
        3.0,
        "a7-truck",
        "pump in",
        &[(R::Raised, 5., 90.), (R::Idle, 2., 50.), (R::GasIdle, -0.1, 0.1)],
    ),
    ("F28", "return line", 3.0, "a7-truck", "return", &[(R::Raised, 450., 900.), (R::GalleryRaised, 400., 900.)]),
    ("F29", "engine", 3.0, "a7-truck", "pump in", &[(R::GalleryRaised, -1800., -100.)]),
    ("F17", "fuel pump", 3.0, "a4-hatchback", "rail in", &[(R::Idle, -600., 5.)]),
    ("F21", "regulator", 3.0, "a4-hatchback", "rail in", &[(R::Idle, -1200., -700.), (R::Raised, -1200., -700.)]),
    ("F23", "fuel pump", 3.0, "a4-hatchback", "rail in", &[(R::Hold10Min, -4200., -2000.)]),
    ("F21", "regulator", 3.0, "a5-coupe", "rail in", &[(R::Idle, -900., -500.)]),
    ("F22", "regulator", 3.0, "a5-coupe", "rail in", &[(R::Idle, 700., 1500.)]),
    // a regulator that weighs against the manifold makes up for it until the return pushes back as hard as the rail
    ("F28", "return line", 3.0, "a5-coupe", "rail in", &[(R::Idle, -20., 100.)]),
    ("F28", "return line", 3.0, "a5-coupe", "return", &[(R::Idle, 400., 1100.)]),
    ("F24", "fuel pump", 3.0, "a6-saloon", "hp inlet", &[(R::Idle, -1150., -850.)]),
    ("F17", "lift pump", 3.0, "a3-minibus", "pump in", &[(R::Idle, -400., -10.)]),
    ("F26", "gear pump", 3.0, "a3-minibus", "pump in", &[(R::Raised, 2., 300.)]),
    ("F14", "anti-siphon valve", 3.0, "a9-boat", "pump in", &[(R::Idle, -95., -50.), (R::Rest, -95., 5.)]),
    ("F20", "lift pump", 3.0, "a9-boat", "pump out", &[(R::Idle, -250., -40.)]),
    ("F05", "primary filter", 3.0, "a9-boat", "pump in", &[(R::Raised, -220., -30.)]),
    ("F25", "shut-off valve", 4.0, "a8-genset", "pump in", &[(R::Idle, -400., -10.), (R::Rest, -3., 3.)]),
    ("F25", "tap", 4.0, "a10-tractor", "pump in", &[(R::Raised, -750., -5.), (R::Rest, -3., 3.)]),
    ("F20", "lift pump", 3.0, "a10-tractor", "pump out", &[(R::Idle, -250., -40.)]),
];

pub fn sick(plant: &Plant, faults: &[FaultInstance]) -> (Plant, f64) {
    let mut sick = plant.clone();
    let kit = apply_all(&mut sick, faults).unwrap_or_else(|e| panic!("{}: {e}", plant.name));
    (sick, 1.0 - kit.valve_short_of_open)
}

/// What a difference is, in the unit of the reading or in per cent.
pub fn difference(reading: R, sick: &Readings, healthy: &Readings) -> f64 {
    let (a, b) = (sick[reading as usize], healthy[reading as usize]);
    if reading.is_relative() { 100.0 * (a / b - 1.0) } else { a - b }
}

#[test]
fn every_fault_moves_the_readings_as_a_technician_expects() {
    let mut healthy: Vec<((&str, &str), Readings)> = vec![];
    let mut broken = String::new();
    for &(code, at, severity, name, joint, expected) in ROWS {
        let sound = plant(name);
        if !healthy.iter().any(|(key, _)| *key == (name, joint)) {
            healthy.push(((name, joint), standard(&sound, joint, 1.0)));
        }
        let base = healthy.iter().find(|(key, _)| *key == (name, joint)).map(|(_, r)| *r).unwrap();
        let (car, reach) = sick(&sound, &[FaultInstance::new(code, at, severity)]);
        let readings = standard(&car, joint, reach);
        for &(reading, low, high) in expected {
            let moved = difference(reading, &readings, &base);
            if !(low..=high).contains(&moved) {
                let _ = writeln!(
                    broken,
                    "{code} {severity} at {at:?} of {name}, {joint}: {reading:?} moves by {moved:.1}, not {low} … {high} \
                     (healthy {:.1})",
                    base[reading as usize]
                );
            }
        }
    }
    assert!(broken.is_empty(), "{broken}");
}

#[test]
fn the_table_has_every_fault_that_a_plain_run_can_show() {
    // frost, a refilled tank and what only instruments know have tests of their own, here or beside the bay
    let elsewhere = ["F11", "F27", "M2", "M3", "M5", "M6", "M7", "M8"];
    for fault in faultbay::fault::CATALOGUE {
        let rows = ROWS.iter().filter(|row| row.0 == fault.code).count();
        assert!(rows > 0 || elsewhere.contains(&fault.code), "{} has no row", fault.code);
    }
}

#[test]
fn healthy_plants_for_tests_run() {
    for (name, joint) in
        [("van", "pump in"), ("petrol", "line end"), ("demand", "line end"), ("tractor", "pump in")]
    {
        let sound = plant(name);
        let r = standard(&sound, joint, 1.0);
        let raised = sound.engine().unwrap().raised.si();
        assert!((r[R::RaisedRpm as usize] / raised - 1.0).abs() < 0.03, "{name}: {r:?}");
        assert!(r[R::GasIdle as usize] < 1.0, "{name}: {r:?}");
    }
    let r = standard(&plant("petrol"), "line end", 1.0);
    assert!((r[R::Idle as usize] - 3940.0).abs() < 150.0, "{r:?}");
    assert!(r[R::Hold10Min as usize] > 3000.0, "{r:?}");
}

/// Readings at idle after so many minutes in a run that begins with the engine at idle.
pub fn at_idle(plant: &Plant, joint: &str, minutes: &[u64]) -> Vec<f64> {
    let mut run = Run::new(plant, joint, 1.0, Effort::WATCHED);
    let n = run.car.net().top.engine.n;
    let idle = plant.engine().unwrap().idle.si();
    run.car.ramp(S, n + 2, 250.0, S / 10);
    run.car.ramp(4 * S, n + 1, idle, S / 10);
    run.car.ramp(5 * S, n + 2, 0.0, S / 10);
    minutes
        .iter()
        .map(|m| {
            run.note(m * 60 * S, R::Idle, &[]);
            run.readings[R::Idle as usize]
        })
        .collect()
}

#[test]
fn a_blocked_vent_ramps_and_a_full_tank_sooner() {
    let with_fill = |litres: f64| {
        let mut van = test_plants::van();
        if let Component::Tank(tank) = &mut van.part_mut("tank").unwrap().is {
            tank.fill = Volume::from_si(litres * 1e-3);
        }
        let (car, _) = sick(&van, &[FaultInstance::new("F02", "tank", 4.0)]);
        let series = at_idle(&car, "tank line end", &[1, 11, 21]);
        assert!(series[1] < series[0] - 2.0 && series[2] < series[1] - 2.0, "{litres} l: {series:?}");
        series[0] - series[2]
    };
    let (half, full) = (with_fill(35.0), with_fill(65.0));
    assert!(full > 2.0 * half, "half {half}, full {full}");
}

#[test]
fn wax_plugs_a_filter_minutes_after_the_start_in_frost_only() {
    let in_the_cold = |celsius: f64, severity: f64| {
        let mut van = test_plants::van();
        van.temperature = Temperature::from_celsius(celsius);
        van.fuel = Filling::Of(faultbay::fluid::FuelClass::WinterDiesel.into());
        let (car, _) = sick(&van, &[FaultInstance::new("F11", "filter", severity)]);
        at_idle(&car, "pump in", &[1, 3, 10])
    };
    let ramp = |series: &[f64]| series[0] - series[2];
    let (trace, bad) = (in_the_cold(-9.0, 1.0), in_the_cold(-9.0, 5.0));
    assert!(ramp(&bad) > 100.0, "{bad:?}");
    assert!(ramp(&trace) < 0.3 * ramp(&bad), "{trace:?}");
    assert!(ramp(&in_the_cold(20.0, 5.0)).abs() < 5.0, "the workshop thaws the evidence");
}

/// Head at the engine's pump after so many minutes, with the float doing its work or not.
pub fn day_tank(severity: Option<f64>) -> Vec<f64> {
    let plant = test_plants::genset();
    let faults: Vec<FaultInstance> =
        severity.iter().map(|s| FaultInstance::new("F27", "transfer pump", *s)).collect();
    let (plant, _) = sick(&plant, &faults);
    let Some(Component::ElectricPump(pump)) = plant.part("transfer pump").map(|p| &p.is) else { panic!() };
    let Command::Float { low, high, stuck, .. } = &pump.command else { panic!() };
    let mut run = Run::new(&plant, "pump in", 1.0, Effort::WATCHED);
    let n = run.car.net().top.engine.n;
    run.car.ramp(S, n + 2, 250.0, S / 10);
    run.car.ramp(4 * S, n + 1, 1500.0, S / 10);
    run.car.ramp(5 * S, n + 2, 0.0, S / 10);
    let day = run.car.net().top.reservoirs.iter().find(|r| r.name == "day tank").unwrap().v;
    let mut on = false;
    let mut heads = vec![];
    for minute in 1..=60_u64 {
        for part in 0..6 {
            let now = minute * 60 * S + part * 10 * S;
            run.car.cover(now);
            let share = run.car.state_at(now, day) / 30_000.0;
            let wanted = !stuck && if on { share < *high } else { share < *low };
            if wanted != on {
                on = wanted;
                run.voltage(now, if on { 13.5 } else { 0.0 });
            }
        }
        run.note(minute * 60 * S + 55 * S, R::Idle, &[]);
        heads.push(run.readings[R::Idle as usize]);
    }
    heads
}

#[test]
fn a_day_tank_that_is_not_refilled_sinks_in_a_straight_line() {
    let healthy = day_tank(None);
    let spread = |h: &[f64]| {
        h.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b)) - h.iter().fold(f64::INFINITY, |a, b| a.min(*b))
    };
    assert!(spread(&healthy[10..]) < 10.0, "{healthy:?}");
    let stuck = day_tank(Some(3.0));
    let (first, middle, last) = (stuck[2], stuck[16], stuck[30]);
    assert!(first - last > 5.0, "{stuck:?}");
    assert!(((first - middle) - (middle - last)).abs() < 0.25 * (first - last), "a straight line: {stuck:?}");
    assert!(day_tank(Some(5.0))[0] < first - 5.0, "worse: less left");
}

#[test]
fn drain_back_needs_a_leaking_valve_and_a_way_for_air() {
    let overnight = |faults: &[(&str, &str, f64)]| {
        let van = test_plants::van();
        let list: Vec<FaultInstance> = faults.iter().map(|(f, at, s)| FaultInstance::new(f, at, *s)).collect();
        let (car, _) = sick(&van, &list);
        let running = standard(&car, "filter in", 1.0);
        let mut run = Run::new(&car, "filter in", 1.0, Effort::WATCHED);
        run.car.cover(8 * 3600 * S);
        let y = run.car.snapshot(8 * 3600 * S);
        let net = run.car.net();
        let gas: f64 = (0..net.top.vessels.len()).map(|v| net.free_gas(v, &y).0[0]).sum();
        (running[R::Raised as usize], gas)
    };
    let sound = overnight(&[]);
    let valve = overnight(&[("F13", "non-return valve", 3.0)]);
    let joint = overnight(&[("F09", "filter in", 1.0)]);
    let both = overnight(&[("F13", "non-return valve", 3.0), ("F09", "filter in", 1.0)]);
    for (what, (raised, _)) in [("valve", valve), ("joint", joint), ("both", both)] {
        assert!((raised - sound.0).abs() < 25.0, "{what}: running values stay: {raised} against {}", sound.0);
    }
    assert!(valve.1 < 5.0, "no air, no fall: {valve:?}");
    assert!(both.1 > 60.0 && both.1 > 3.0 * joint.1, "both {both:?}, joint alone {joint:?}");
}

#[test]
fn dual_faults_mask_each_other_or_add_up() {
    let van = test_plants::van();
    let base = standard(&van, "pump in", 1.0);
    let moved = |faults: &[(&str, &str, f64)], reading: R| {
        let list: Vec<FaultInstance> = faults.iter().map(|(f, at, s)| FaultInstance::new(f, at, *s)).collect();
        let (car, reach) = sick(&van, &list);
        difference(reading, &standard(&car, "pump in", reach), &base)
    };
    // a worn pump draws less where a loaded filter would show more
    let (worn, loaded) = (("F26", "transfer pump", 3.0), ("F15", "filter", 1.5));
    let (a, b, both) = (moved(&[worn], R::Raised), moved(&[loaded], R::Raised), moved(&[worn, loaded], R::Raised));
    assert!(a > 5.0 && b < -20.0, "{a} and {b}");
    assert!(both > b + 4.0 && both < a, "{both} lies between {b} and {a}");
    assert!(moved(&[worn, loaded], R::DeadHead) > 60.0, "the dead-head tells");
    // a poor circuit and a worn pump: either alone is half of it
    let petrol = test_plants::petrol_return();
    let base = standard(&petrol, "line end", 1.0);
    let flow = |faults: &[(&str, &str, f64)]| {
        let list: Vec<FaultInstance> = faults.iter().map(|(f, at, s)| FaultInstance::new(f, at, *s)).collect();
        difference(R::Flow, &standard(&sick(&petrol, &list).0, "line end", 1.0), &base)
    };
    let (circuit, pump) = (flow(&[("F18", "pump/plug", 3.0)]), flow(&[("F17", "pump", 2.0)]));
    let both = flow(&[("F18", "pump/plug", 3.0), ("F17", "pump", 2.0)]);
    assert!((-14.0..=-6.0).contains(&pump), "repairing the circuit alone leaves {pump} %");
    assert!(both < circuit - 4.0 && both < pump - 4.0, "{both} against {circuit} and {pump}");
    // a blocked vent and a restriction add up at the pump
    let sum = moved(&[("F02", "tank", 2.0), ("F03", "strainer", 2.0)], R::Raised);
    let parts = moved(&[("F02", "tank", 2.0)], R::Raised) + moved(&[("F03", "strainer", 2.0)], R::Raised);
    assert!((sum / parts - 1.0).abs() < 0.3, "{sum} against {parts}");
}
