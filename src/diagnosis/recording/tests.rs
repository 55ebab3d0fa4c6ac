//! Recordings made in the bay are held against its own vehicles.

use super::programme::standard;
use super::*;
use crate::diagnosis::ensemble::Unwatched;
use crate::scenario::{Library, load_plant};

fn van() -> Plant {
    load_plant(&Library::builtin(), "a1-van").unwrap_or_else(|r| panic!("{r}")).0
}

/// A sitting on a vehicle with a fault, as the recorded states of a standard run.
fn recorded(job: &Job, faults: Vec<FaultInstance>, stretches: &[Stretch]) -> Vec<StateFeatures> {
    let programme = programme(job, "pump in", stretches, 2500.0).unwrap();
    let draw = Draw { candidate: 0, band: 0, seed: 77, faults, severity: 3.0 };
    run(job, &draw, &programme).unwrap().swap_remove(0)
}

fn at(fault: &str, at: &str) -> Vec<FaultInstance> {
    vec![FaultInstance { fault: fault.into(), at: at.into(), severity: 3.2, modifiers: vec![] }]
}

fn weighed(states: &[StateFeatures]) -> Weighed {
    weigh(&van(), &Recorded { states, joint: None, raised_rpm: None }, 3, &Unwatched).unwrap()
}

fn first(w: &Weighed) -> (&str, f64) {
    let best = w.candidates.iter().max_by(|a, b| a.2.total_cmp(&b.2)).unwrap();
    (&best.0, best.2)
}

#[test]
fn a_plugged_filter_leads_and_a_stranger_is_none_of_these() {
    let states = recorded(&job_of(&van()).unwrap(), at("F15", "filter"), &standard(true));
    let w = weighed(&states);
    let whole: f64 = w.candidates.iter().map(|c| c.2).sum();
    assert!((whole - 1.0).abs() < 1e-9, "{w:#?}");
    // what plugs it, dirt or the wrong element, isn't to be told from the pressure
    let filter: Vec<&str> =
        ["F05", "F15", "F16"].into_iter().filter_map(crate::fault::by_code).map(|f| f.name.said()).collect();
    let there: f64 = w.candidates.iter().filter(|c| filter.contains(&c.0.as_str())).map(|c| c.2).sum();
    assert!(there > 0.9, "{w:#?}");
    // a supply under pressure is no suction supply
    let mut other = states;
    for s in &mut other {
        for f in &mut s.list {
            if let Ok(e) = &mut f.1 {
                e.value = if f.0.unit() == "mbar" { 3900.0 } else { e.value };
            }
        }
    }
    let w = weighed(&other);
    assert_eq!(first(&w).0, "None of these", "{w:#?}");
}

#[test]
fn little_was_recorded_and_a_further_test_is_worth_something() {
    let idle = [Stretch { phase: Phase::Idle, from: 0.0, to: 40.0 }];
    let w = weighed(&recorded(&job_of(&van()).unwrap(), at("F26", "transfer pump"), &idle));
    let best = w.further.first().unwrap();
    assert!(best.bits > 0.1 && w.further.iter().any(|f| f.test.contains("dead-head")), "{w:#?}");
    assert!(w.further.windows(2).all(|f| f[0].bits / f[0].minutes >= f[1].bits / f[1].minutes));
    // one level doesn't settle what the whole run would
    assert!(first(&w).1 < 0.9, "{w:#?}");
}

#[test]
fn what_cannot_be_weighed_is_said() {
    let states =
        [StateFeatures { stretch: Stretch { phase: Phase::Other, from: 0.0, to: 9.0 }, list: vec![], shape: None }];
    let ask =
        |joint| weigh(&van(), &Recorded { states: &states, joint, raised_rpm: None }, 3, &Unwatched).unwrap_err();
    assert!(ask(None).contains("no state"), "{}", ask(None));
    assert!(ask(Some("roof")).contains("pump in"), "{}", ask(Some("roof")));
}

#[test]
fn every_fault_shows_everything_that_a_sound_vehicle_shows() {
    let job = job_of(&van()).unwrap();
    let programme = programme(&job, "pump in", &standard(true), 2500.0).unwrap();
    let mut missing = vec![];
    let all = draws(&job, 1);
    let sound = run(&job, all.last().unwrap(), &programme).unwrap();
    for draw in &all {
        let runs = run(&job, draw, &programme).unwrap();
        for (k, (have, want)) in runs.iter().zip(&sound).enumerate() {
            let have: Vec<Column> = columns(have).into_iter().map(|c| c.0).collect();
            let lost: Vec<Column> = columns(want).into_iter().map(|c| c.0).filter(|c| !have.contains(c)).collect();
            if !lost.is_empty() {
                missing.push((draw.faults.clone(), k, lost));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}

/// A reference vehicle is read in a range that reaches what its joint gives, at the recorded joint and at the others.
#[test]
fn petrol_is_read_in_a_range_that_reaches_it() {
    let plant = load_plant(&Library::builtin(), "a4-hatchback").unwrap_or_else(|r| panic!("{r}")).0;
    let job = job_of(&plant).unwrap();
    let programme = programme(&job, "rail in", &standard(false), 2500.0).unwrap();
    let sound = run(&job, draws(&job, 1).last().unwrap(), &programme).unwrap();
    let idle =
        |states: &Vec<StateFeatures>| columns(states).into_iter().find(|c| c.0 == (Phase::Idle, What::Level));
    let levels: Vec<f64> = sound.iter().filter_map(idle).map(|c| c.1).collect();
    assert!(levels.len() > 1 && levels[0] > 3500.0, "{levels:?}");
    // nothing stands at the very end of a range
    assert!(levels.iter().all(|l| (l - 3000.0).abs() > 1.0), "{levels:?}");
}
