//! Courses of half an hour that a technician knows by heart, on the vehicles that learners meet: does the model tell the
//! same story?

use faultbay::authoring::preview::{Wrong, drive};
use faultbay::authoring::standard::Standard;
use faultbay::fault::{FaultInstance, apply_all};
use faultbay::lanes::Lanes;
use faultbay::plant::Plant;
use faultbay::plant::assemble::{Detail, Rig, TeeFitting};
use faultbay::plant::component::{Component, Tank};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::scenario::{Kind, Library};
use faultbay::units::{GaugePressure, Temperature, Volume, VolumeFlow};

use crate::test_plants::built_in;

const S: u64 = 1_000_000;
const MINUTE: u64 = 60 * S;

/// A vehicle with a tee, what is done with it, and what it shows.
struct Course {
    car: Vehicle,
    plant: Plant,
}

/// mbar gauge at the tee, 1/min, gas behind the glass in 100, air space of the first tank in mbar gauge.
#[derive(Clone, Copy, Debug)]
struct Seen {
    mbar: f64,
    rpm: f64,
    gas: f64,
    tank: f64,
}

fn tank(plant: &mut Plant) -> &mut Tank {
    let tank = plant.parts.iter_mut().find_map(|p| if let Component::Tank(t) = &mut p.is { Some(t) } else { None });
    tank.unwrap()
}

impl Course {
    fn new(mut plant: Plant, joint: &str, faults: &[(&str, &str, f64)], finish: impl Fn(&mut Plant)) -> Self {
        let faults: Vec<FaultInstance> = faults.iter().map(|(f, at, s)| FaultInstance::new(f, at, *s)).collect();
        apply_all(&mut plant, &faults).unwrap_or_else(|e| panic!("{}: {e}", plant.name));
        finish(&mut plant);
        let tee = TeeFitting { joint: joint.into(), hose_air: 0.0, valve_reach: 1.0 };
        let rig = Rig { tee: Some(tee), container: None };
        let car = Vehicle::new(&plant, &rig, Detail::COARSE, Effort::WATCHED).unwrap();
        Self { car, plant }
    }

    /// Engine input `offset` goes to a value within a tenth of a second.
    fn engine(&mut self, t: u64, offset: usize, value: f64) {
        let n = self.car.net().top.engine.n;
        self.car.ramp(t, n + offset, value, S / 10);
    }

    /// On the starter for so long, asking for idle.
    fn crank(&mut self, t: u64, span: u64) {
        let engine = self.plant.engine().unwrap();
        let (starter, idle) = (engine.starter.si(), engine.idle.si());
        self.engine(t, 2, starter);
        self.engine(t + S, 1, idle);
        self.engine(t + span, 2, 0.0);
    }

    fn raise(&mut self, t: u64) {
        let raised = self.plant.engine().unwrap().raised.si();
        self.engine(t, 1, raised);
    }

    fn look(&mut self, t: u64) -> Seen {
        self.car.cover(t);
        let (y, net) = (self.car.snapshot(t), self.car.net());
        let tee = self.car.assembly().handles.tee.unwrap();
        let air = net.at(net.top.common.air).0[0];
        Seen {
            mbar: net.gauge(tee, &y).0[0] / 100.0,
            rpm: y[net.top.engine.n].0[0],
            gas: 100.0 * net.gas_share(tee, &y).0[0],
            tank: (net.air_space(0, &y).0[0] - air) / 100.0,
        }
    }
}

/// First minute at which a reading holds, of at most two hours.
fn when(course: &mut Course, mut holds: impl FnMut(Seen) -> bool) -> Option<u64> {
    (1..=120).find(|&minute| holds(course.look(minute * MINUTE)))
}

/// A tractor at full work whose cap was off a moment ago, the tee behind its lift pump.
fn at_work(litres: f64) -> Course {
    let mut course = Course::new(built_in("a10-tractor"), "pump out", &[("F02", "tank", 4.0)], |plant| {
        let tank = tank(plant);
        tank.fill = Volume::from_si(litres * 1e-3);
        tank.air_space = GaugePressure::from_mbar(0.0);
    });
    course.crank(S, 4 * S);
    course.raise(20 * S);
    course.engine(21 * S, 5, 1.0);
    course
}

#[test]
fn the_supply_of_a_tractor_with_a_blocked_vent_gives_way_at_work_and_comes_back_with_the_cap() {
    let mut course = at_work(70.0);
    let fresh = course.look(2 * MINUTE);
    assert!(fresh.mbar > 300.0, "{fresh:?}");
    // the spring hides it until the pump can't fill any more: then its pressure goes within minutes
    let faded = when(&mut course, |seen| seen.mbar < 150.0).expect("it fades");
    let seen = course.look(faded * MINUTE);
    println!("faded after {faded} min: {seen:.1?}");
    assert!((15..=45).contains(&faded), "after {faded} min: {seen:?}");
    course.car.change(faded * MINUTE, |net, _| {
        let cap = net.top.reservoirs[0].cap;
        net.params[cap.index()] = Lanes([2000.0]);
    });
    let open = course.look((faded + 1) * MINUTE);
    assert!(open.mbar > 300.0 && open.tank > -1.0, "the cap is off: {open:?}");
    // half full there is seven times the air
    let half = at_work(40.0).look(faded * MINUTE);
    assert!(half.mbar > 300.0, "half full it doesn't fade yet: {half:?}");
}

#[test]
fn a_truck_with_its_filter_badly_fitted_draws_air_at_the_head() {
    let at_idle = |joint: &str, severity: f64| {
        let faults = [("F16", "primary filter", severity)];
        let mut course =
            Course::new(built_in("a7-truck"), joint, if severity > 0.0 { &faults } else { &[] }, |_| {});
        course.crank(S, 5 * S);
        course.look(MINUTE)
    };
    let (sound, behind) = (at_idle("pump in", 0.0), at_idle("pump in", 4.9));
    assert!(sound.gas < 0.1 && behind.gas > 10.0, "{sound:?} and {behind:?}");
    assert!((-90.0..-30.0).contains(&(behind.mbar - sound.mbar)), "too fine as well: {sound:?} and {behind:?}");
    let before = at_idle("primary in", 4.9);
    assert!(before.gas < 0.3, "clear before the head: {before:?}");
    // a gear pump of 3.3 mL a turn takes that much air along: it runs, and not well
    assert!((400.0..550.5).contains(&behind.rpm), "{behind:?}");
}

#[test]
fn a_brimmed_tank_without_a_vent_sinks_by_the_gas_law_and_soon_stops_the_van() {
    for (litres, dies) in [(60.0, false), (69.0, false), (69.8, true)] {
        let mut course = Course::new(built_in("a1-van"), "pump in", &[], |plant| {
            let tank = tank(plant);
            tank.fill = Volume::from_si(litres * 1e-3);
            tank.vent = VolumeFlow::from_si(0.0);
        });
        let room = {
            let net = course.car.net();
            net.at(net.top.reservoirs[0].capacity).0[0] - course.car.snapshot(0)[net.top.reservoirs[0].v].0[0]
        };
        course.crank(S, 4 * S);
        for minute in [2, 5, 20] {
            let seen = course.look(minute * MINUTE);
            let net = course.car.net();
            let tank = &net.top.reservoirs[0];
            let now = net.at(tank.capacity).0[0] - course.car.state_at(minute * MINUTE, tank.v);
            // at constant temperature; what comes back from the engine brings a little air
            let expected = 1013.25 * (room / now - 1.0);
            assert!(
                (seen.tank - expected).abs() < 3.0 + 0.03 * expected.abs(),
                "{litres} l: {seen:?}, by the gas law {expected}"
            );
        }
        let last = course.look(20 * MINUTE);
        assert_eq!(last.rpm < 300.0, dies, "{litres} l: {last:?}");
        let work = course.car.work();
        assert!(work.forced == 0 && work.steps + work.rejected < 2000, "{litres} l: {work:?}");
    }
}

#[test]
fn a_day_tank_that_is_filled_on_and_on_runs_over_into_the_bulk_tank() {
    let mut course = Course::new(built_in("a8-genset"), "pump in", &[], |_| {});
    let motor = course.car.net().top.motors[0].i;
    let start = course.car.net().liquid_balance(&course.car.snapshot(0)).0[0];
    let litres = |course: &Course, t: u64, name: &str| {
        let v = course.car.net().top.reservoirs.iter().find(|r| r.name == name).unwrap().v;
        course.car.state_at(t, v) / 1000.0
    };
    // the float sticks in the worse way
    course.car.ramp(S, motor + 2, 13.6, S / 50);
    let filling = course.look(10 * MINUTE);
    let full = course.look(30 * MINUTE);
    let (day, bulk) = (litres(&course, 30 * MINUTE, "day tank"), litres(&course, 30 * MINUTE, "bulk tank"));
    let later = course.look(120 * MINUTE);
    assert!((94.0..96.0).contains(&day), "{day} l");
    assert!((day - litres(&course, 120 * MINUTE, "day tank")).abs() < 0.01);
    assert!((bulk - litres(&course, 120 * MINUTE, "bulk tank")).abs() < 0.01);
    assert!(
        filling.mbar < full.mbar - 1.0 && (full.mbar - later.mbar).abs() < 0.1,
        "{filling:?}, {full:?}, {later:?}"
    );
    let now = course.car.net().liquid_balance(&course.car.snapshot(120 * MINUTE)).0[0];
    assert!((now - start).abs() < 1e-9 * start, "{start} mL became {now}");
    let work = course.car.work();
    assert!(work.forced == 0 && work.steps + work.rejected < 2000, "{work:?}");
}

#[test]
fn hot_petrol_on_winters_fuel_boils_in_the_glass_and_a_cool_day_cures_it() {
    let seen = |celsius: f64, faults: &[(&str, &str, f64)]| {
        let mut course = Course::new(built_in("a10-petrol"), "pump in", faults, |plant| {
            plant.temperature = Temperature::from_celsius(celsius);
        });
        course.crank(S, 4 * S);
        course.raise(30 * S);
        let seen = course.look(8 * MINUTE);
        println!("{celsius} °C, {faults:?}: {seen:.1?}, {:?}", course.car.work());
        assert_eq!(course.car.work().forced, 0);
        seen
    };
    let hot = [("F12", "tank line", 3.0)];
    let (mild, warm) = (seen(7.0, &hot), seen(27.0, &hot));
    let sound = seen(27.0, &[]);
    assert!(
        warm.gas > 10.0 && warm.gas > 3.0 * sound.gas.max(mild.gas),
        "{warm:?}; sound {sound:?}, mild {mild:?}"
    );
    assert!(sound.rpm > 1500.0 && mild.rpm > 1500.0, "{sound:?}, {mild:?}");
}

/// Where the engine fires at once, cranking is read while the pressure still rises; and the starter pulls the battery
/// down, which a pump in the tank feels.
#[test]
fn a_sound_vehicle_in_the_bay_lies_within_its_card() {
    let library = Library::builtin();
    let mut outside = String::new();
    for name in library.names(Kind::Plant) {
        for (joint, _) in built_in(&name).joints() {
            let run = Standard::of(&library, &name, Some(&joint)).unwrap_or_else(|e| panic!("{name}: {e}"));
            let seen = drive(&run, &Wrong::nothing()).unwrap_or_else(|e| panic!("{name}: {e}"));
            for (read, shown) in run.reads.iter().zip(&seen.readings) {
                let Some(limit) = run.limit(read) else { continue };
                // a card is written in steps of five millibar
                if !(limit.low_mbar - 2.0..=limit.high_mbar + 2.0).contains(&shown.mbar) {
                    outside += &format!(
                        "{name} at {joint}, {}: {:.0} mbar, the card says {} … {}\n",
                        read.words, shown.mbar, limit.low_mbar, limit.high_mbar
                    );
                }
            }
        }
    }
    assert!(outside.is_empty(), "{outside}");
}
