//! Meters in the bay, each held against another that must agree with it: the voltmeter against Kirchhoff's rule and
//! the clamp, the vehicle's own sensor against an independent gauge, the thermometer and the gauge's ranges against
//! what the vehicle is known to have, stored codes against what was done.

use super::*;

/// Points of the hatchback's circuit in the order in which the current passes them.
const CIRCUIT: [&str; 9] = [
    "battery +",
    "fuse",
    "relay",
    "cut-off switch",
    "module plug feed side",
    "module plug earth side",
    "earth point",
    "battery −",
    "battery +",
];

fn volts(job: &Job, bay: &mut Bay, from: &str, to: &str) -> f64 {
    does(job, bay, &format!("volts {from:?} {to:?}"));
    last(bay)
}

/// A hatchback with its pump kept running, the clamp zeroed.
fn pumping(faults: &[(&str, &str, f64)]) -> (Job, Bay) {
    let job = sick("a4-hatchback", faults);
    let mut bay = Bay::new(&job, 4).unwrap();
    does(&job, &mut bay, SAFE);
    does(&job, &mut bay, "bridge fuel-pump on\nwait 5\nclampzero");
    (job, bay)
}

/// The poles keep their signs, a number the comma of the language, and what was seen is told in it.
#[test]
fn a_reading_is_told_in_the_language_spoken() {
    use crate::language::{Language, within};
    within(Language::German, || {
        let job = sick("a4-hatchback", &[]);
        let mut bay = Bay::new(&job, 4).unwrap();
        let words = does(&job, &mut bay, "volts \"battery +\" \"battery −\"");
        let volts = words.strip_prefix("Batterie + gegen Batterie −: 12,").unwrap_or_else(|| panic!("{words}"));
        assert!(volts.starts_with(|c: char| c.is_ascii_digit()), "{words}");
    });
}

#[test]
fn volts_between_any_two_points_add_up_round_the_circuit() {
    let (job, mut bay) = pumping(&[]);
    let points = bay.drive.points(0);
    for point in CIRCUIT {
        assert!(points.iter().any(|p| p == point), "{point}: {points:?}");
    }
    // a reading is good to half a per cent and a step of a hundredth
    let near = |a: f64, b: f64| (a - b).abs() <= 0.03 + 0.01 * a.abs().max(b.abs());
    for from in &points {
        for to in &points {
            let there = volts(&job, &mut bay, from, to);
            let back = volts(&job, &mut bay, to, from);
            assert!(near(there, -back), "{from} to {to}: {there} V, and back {back} V");
            let by_earth = volts(&job, &mut bay, from, "battery −") - volts(&job, &mut bay, to, "battery −");
            assert!(near(there, by_earth), "{from} to {to}: {there} V, {by_earth} V over the battery's earth");
        }
    }
    let steps: Vec<f64> = CIRCUIT.windows(2).map(|pair| volts(&job, &mut bay, pair[0], pair[1])).collect();
    assert!(steps.iter().sum::<f64>().abs() < 0.1, "round the circuit: {steps:?}");
}

#[test]
fn a_drop_is_the_joints_own_and_there_only_while_current_flows() {
    let drops = |job: &Job, bay: &mut Bay| -> Vec<f64> {
        CIRCUIT[..5].windows(2).map(|pair| volts(job, bay, pair[0], pair[1])).collect()
    };
    let (job, mut bay) = pumping(&[]);
    let sound = drops(&job, &mut bay);
    does(&job, &mut bay, "clamp fuel-pump");
    let amps = last(&bay);
    // fuse, relay, switch, plug as the vehicle's file has them, mΩ
    for (volts, milliohm) in sound.iter().zip([12.0, 18.0, 10.0, 40.0]) {
        assert!((volts - amps * milliohm * 1e-3).abs() < 0.012, "{volts} V at {amps} A, {milliohm} mΩ");
    }
    let (job, mut bay) = pumping(&[("F18", "fuel pump/relay", 3.0)]);
    let poor = drops(&job, &mut bay);
    for (i, (sound, poor)) in sound.iter().zip(&poor).enumerate() {
        if i == 1 {
            assert!(*poor > 0.8 && *poor > 5.0 * sound, "the relay: {poor} V, sound {sound} V");
        } else {
            assert!((poor - sound).abs() < 0.1, "joint {i}: {poor} V, sound {sound} V");
        }
    }
    // with nothing switched on a poor joint looks sound
    does(&job, &mut bay, "bridge fuel-pump off\nwait 30");
    let says = does(&job, &mut bay, &format!("volts {:?} {:?}", CIRCUIT[1], CIRCUIT[2]));
    assert!(last(&bay).abs() < 0.02, "{says}");
    assert!(says.contains(said("bay-read-no-pump-running")), "{says}");
}

#[test]
fn a_sensor_with_a_bias_is_caught_by_an_independent_gauge() {
    // what the gauge at the sensor's own joint shows, what the sensor sends, %: effort of the control
    let readings = |faults: &[(&str, &str, f64)]| {
        let job = sick("a6-saloon", faults);
        let mut bay = Bay::new(&job, 6).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "fit hp-inlet\nrange pressure\npurge\nzero\nkey on\ncrank 8\nwait 30");
        let gauge = bay.observe().gauge.unwrap().mbar;
        let [sensor, effort] = ["sensor", "effort"].map(|what| {
            does(&job, &mut bay, &format!("read {what}"));
            last(&bay)
        });
        (gauge, sensor, effort)
    };
    let (gauge, sensor, effort) = readings(&[]);
    assert!((gauge - sensor).abs() < 150.0, "sound: gauge {gauge}, sensor {sensor}");
    for (severity, bias) in [(2.0, 500.0), (3.0, 1000.0), (4.0, 1700.0)] {
        let (low, sent, less) = readings(&[("F24", "fuel pump", severity)]);
        assert!((sent - sensor).abs() < 150.0, "the control holds what its sensor says: {sent}, sound {sensor}");
        assert!((sent - low - bias).abs() < 150.0, "severity {severity}: sensor {sent}, gauge {low}");
        assert!(less < effort - 2.0, "it works less for it: {less} %, sound {effort} %");
    }
}

#[test]
fn the_wrong_range_is_told_and_shows_the_end_of_it() {
    let job = petrol();
    let shown = |range: &str| {
        let mut bay = Bay::new(&job, 3).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, &format!("fit rail-in{range}\npurge\nzero\nkey on\ncrank 8\nwait 20"));
        bay.observe().gauge.unwrap()
    };
    // the suction range is what comes out of the drawer
    let (wrong, right) = (shown(""), shown("\nrange pressure"));
    assert!(wrong.over_range && (2990.0..=3010.0).contains(&wrong.mbar), "{wrong:?}");
    assert!(!right.over_range && (3700.0..4300.0).contains(&right.mbar), "{right:?}");
}

#[test]
fn a_thermometer_tells_a_warm_engine_from_a_cold_tank() {
    let job = with("a2-estate");
    let mut bay = Bay::new(&job, 3).unwrap();
    does(&job, &mut bay, SAFE);
    does(&job, &mut bay, "key on\ncrank 8\nwait 1800\nthermometer hp-inlet");
    let under_the_bonnet = last(&bay);
    does(&job, &mut bay, "thermometer strainer");
    let at_the_tank = last(&bay);
    assert!(under_the_bonnet > at_the_tank + 5.0, "{under_the_bonnet} and {at_the_tank} °C");
    assert!((job.plant.temperature.celsius() - 2.0..45.0).contains(&at_the_tank), "{at_the_tank} °C");
}

#[test]
fn a_heater_that_stays_cold_takes_no_current() {
    let truck = |celsius: f64, faults: &[(&str, &str, f64)]| {
        let mut job = sick("a7-truck", faults);
        job.plant.temperature = crate::units::Temperature::from_celsius(celsius);
        job.plant.fuel = crate::plant::Filling::Of(crate::fluid::FuelClass::WinterDiesel.into());
        job
    };
    let amps = |celsius: f64, faults: &[(&str, &str, f64)]| {
        let job = truck(celsius, faults);
        let mut bay = Bay::new(&job, 5).unwrap();
        does(&job, &mut bay, SAFE);
        does(&job, &mut bay, "clampzero\nclamp \"primary filter\"");
        let off = last(&bay);
        does(&job, &mut bay, "key on\nwait 5\nclamp \"primary filter\"");
        (off, last(&bay))
    };
    let (off, sound) = amps(-9.0, &[]);
    // 14 K of 12 W each, at 24 V and a little more
    assert!(off.abs() < 0.05 && (5.5..7.5).contains(&sound), "{off} and {sound} A");
    let weak = amps(-9.0, &[("F11", "primary filter", 3.0)]).1;
    let dead = amps(-9.0, &[("F11", "primary filter", 5.0)]).1;
    assert!((weak / sound - 0.2).abs() < 0.05 && dead.abs() < 0.05, "{weak} and {dead} A of {sound}");
    // the workshop thaws the evidence: by its thermostat a sound one takes nothing either
    assert!(amps(20.0, &[]).1.abs() < 0.05);
    let job = truck(-9.0, &[]);
    let mut bay = Bay::new(&job, 5).unwrap();
    refuses(&job, &mut bay, "clamp \"secondary filter\"", said("bay-read-nothing-to-clamp"));
}
