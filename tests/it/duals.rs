//! Two things wrong at once, or one that comes and goes: pairs that hide each other, of which either alone passes, or
//! of which one stays when the other is cured. Those of worn pump and loaded filter, of circuit and pump, of vent and
//! strainer stand in `symptoms.rs`, the column that runs back there and in `severities.rs`.

use faultbay::fault::modifier::{Cause, Modifier, Threshold};
use faultbay::fault::{Conditions, FaultInstance, effective};
use faultbay::plant::Plant;
use faultbay::plant::component::Component;
use faultbay::plant::step::Effort;
use faultbay::units::{Span, Temperature};

use crate::symptoms::{R, Readings, difference, plant, sick, standard_at};

const S: u64 = 1_000_000;

fn faults(list: &[(&str, &str, f64)]) -> Vec<FaultInstance> {
    list.iter().map(|(code, at, severity)| FaultInstance::new(code, at, *severity)).collect()
}

fn readings(name: &str, joint: &str, list: &[(&str, &str, f64)]) -> Readings {
    let (car, reach) = sick(&plant(name), &faults(list));
    standard_at(&car, joint, reach, Effort::ENSEMBLE)
}

fn of(readings: &Readings, r: R) -> f64 {
    readings[r as usize]
}

#[test]
fn a_plugged_strainer_makes_warm_petrol_boil_that_would_not() {
    // at the inlet of a pump in the tank: flow and current
    let sound = readings("petrol", "line end", &[]);
    let moved = |list: &[(&str, &str, f64)]| {
        let r = readings("petrol", "line end", list);
        [R::Flow, R::Amps].map(|what| difference(what, &r, &sound))
    };
    let (heat, strainer) = (("F12", "line", 4.0), ("F03", "strainer", 1.7));
    let (warm, plugged, both) = (moved(&[heat]), moved(&[strainer]), moved(&[heat, strainer]));
    println!("warm {warm:.1?}, plugged {plugged:.1?}, both {both:.1?}");
    assert!(warm[0] > -8.0 && plugged[0] > -8.0, "either alone passes: {warm:?}, {plugged:?}");
    assert!(both[0] < warm[0] + plugged[0] - 8.0, "it boils: {both:?}; {warm:?} and {plugged:?} alone");
    assert!(both[1] < warm[1] - 4.0 && both[1] < plugged[1] - 4.0, "the current falls: {both:?}");
}

#[test]
fn an_adaptor_of_ones_own_hides_a_leak_that_stays_when_it_is_cured() {
    let van = |list: &[(&str, &str, f64)]| of(&readings("van", "pump in", list), R::GasIdle);
    let (leak, own) = (("F09", "filter in", 2.0), ("M1", "", 2.0));
    let (theirs, ours, both) = (van(&[leak]), van(&[own]), van(&[leak, own]));
    assert!(theirs > 1.5 && ours > 1.5, "{theirs} and {ours}");
    assert!(both > theirs + 1.0 && both > ours + 1.0, "{both} with both, {theirs} and {ours} alone");
    // before the filter there is nothing but one's own, so that is where it is told
    let upstream = |list: &[(&str, &str, f64)]| of(&readings("van", "tank line end", list), R::GasIdle);
    assert!(upstream(&[leak]) < 0.3 && upstream(&[leak, own]) > 0.5);
}

#[test]
fn a_sensor_that_reads_high_hides_what_the_pump_no_longer_gives() {
    // with the bias alone the control asks for less; a worn pump then gives what is asked
    let demand = |list: &[(&str, &str, f64)]| readings("demand", "line end", list);
    let (sound, worn) = (demand(&[]), demand(&[("F17", "pump", 3.0)]));
    let (bias, both) = (demand(&[("F24", "pump", 3.0)]), demand(&[("F24", "pump", 3.0), ("F17", "pump", 3.0)]));
    // each reading at the rail plus the bias is what the vehicle's own sensor says
    let sensor = |r: &Readings, bias: f64| of(r, R::GalleryRaised) + bias;
    for (r, bias) in [(&sound, 0.0), (&worn, 0.0), (&bias, 1000.0), (&both, 1000.0)] {
        assert!((sensor(r, bias) - 4000.0).abs() < 60.0, "on target by its own sensor: {}", sensor(r, bias));
    }
    assert!(of(&both, R::GalleryRaised) < of(&worn, R::GalleryRaised) - 900.0, "an independent gauge tells");
    // the worn pump works harder for it; the bias takes that back
    let [harder, less] = [&worn, &both].map(|r| difference(R::Amps, r, &sound));
    assert!(less < harder, "current: worn {harder} %, with the bias {less} %");
}

#[test]
fn an_element_that_water_plugged_is_renewed_and_the_water_stays() {
    let (car, _) = sick(&plant("a9-boat"), &faults(&[("F05", "primary filter", 3.0)]));
    let sound = plant("a9-boat");
    let mut renewed = car.clone();
    renewed.part_mut("primary filter").unwrap().is = sound.part("primary filter").unwrap().is.clone();
    let litres = |p: &Plant| {
        let water =
            |part: &faultbay::plant::Part| if let Component::Tank(t) = &part.is { t.water.si() } else { 0.0 };
        1e3 * p.parts.iter().map(water).sum::<f64>()
    };
    assert!(litres(&sound) == 0.0 && litres(&renewed) > 0.3, "{} l", litres(&renewed));
    // and in three weeks of forty hours it is plugged again
    let grows = [Modifier::Progressive { per_hour: 0.03 }];
    let after = |hours: f64| {
        effective(1.0, &grows, &Conditions { running_h: hours, stopped_s: None, ..Conditions::default() }, 1, 0)
    };
    assert_eq!(after(0.0), 1.0);
    assert!((after(60.0) - 2.8).abs() < 1e-9 && after(120.0) > 4.5 && after(1000.0) == 5.0);
    let drop = |severity: f64| {
        let list = [("F05", "primary filter", severity)];
        of(&readings("a9-boat", "pump in", &list), R::Raised)
    };
    let (now, later) = (drop(after(0.0)), drop(after(120.0)));
    assert!(later < now - 100.0, "{now} mbar, {later} three weeks later");
}

#[test]
fn a_relay_that_opens_hot_and_a_liner_that_vibration_lifts_come_and_go() {
    let relay = [Modifier::Temperature {
        when: Threshold::Above(Temperature::from_celsius(70.0)),
        lag: Span::from_si(0.0),
    }];
    let warm = |celsius: f64| {
        let t = move |_: f64| celsius;
        effective(4.0, &relay, &Conditions { temperature_c: &t, ..Conditions::default() }, 1, 0)
    };
    let flow = |severity: f64| {
        let list = [("F18", "pump/relay", severity)];
        let present = if severity > 0.0 { &list[..] } else { &[] };
        of(&readings("petrol", "line end", present), R::Flow)
    };
    assert_eq!((warm(60.0), warm(75.0)), (0.0, 4.0));
    let (cool, hot) = (flow(warm(60.0)), flow(warm(75.0)));
    assert!(hot < 0.82 * cool, "{cool} mL/s, {hot} with the relay hot");

    let liner = [Modifier::Intermittent { by: Cause::Vibration, share: 0.5, dwell: Span::from_si(2.0) }];
    let present = |vibration: f64| {
        let shaken = Conditions { vibration, stopped_s: None, ..Conditions::default() };
        let at = |i: u64| effective(4.0, &liner, &shaken, 3, i * 2 * S) > 0.0;
        (0..400).filter(|&i| at(i)).count()
    };
    assert_eq!(present(0.0), 0);
    // half of the time at the most: 200 of 400, give or take four times √100
    assert!(
        (160..=240).contains(&present(1.0)) && present(0.4) < present(1.0),
        "{} {}",
        present(0.4),
        present(1.0)
    );
}
