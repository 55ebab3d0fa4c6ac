//! The stepper against an independent integrator on the same equations.

mod programme;
#[path = "../it/reference_plant.rs"]
#[allow(dead_code, reason = "shared with the tests of the plant itself, which use the rest")]
mod reference_plant;
mod rival;

use diffsol::{NalgebraLU, NalgebraMat};
use faultbay::lanes::Lanes;
use faultbay::plant::assemble::Detail;
use faultbay::plant::network::Law;
use faultbay::plant::step::Effort;

use programme::{Run, S, apart};
use rival::{Method, rival};

/// Readings of our own stepper.
fn ours(run: &Run, effort: Effort, times: &[u64]) -> Vec<[f64; 3]> {
    let mut seen = vec![];
    let car = run.ours(Detail::FULL, effort, times, |_, y| seen.push(run.watched(y)));
    assert_eq!(car.work().forced, 0);
    assert_eq!(seen.len(), times.len());
    seen
}

/// Readings of the other integrator.
fn theirs(run: &Run, method: Method, times: &[u64]) -> Vec<[f64; 3]> {
    let mut seen = vec![];
    let effort = rival::<NalgebraMat<f64>, NalgebraLU<f64>>(run, method, 1e-8, 1e-3, times, |_, y| {
        seen.push(run.watched(y));
    });
    effort.unwrap_or_else(|e| panic!("{method:?}: {e}"));
    assert_eq!(seen.len(), times.len());
    seen
}

fn compare(run: &Run, method: Method) {
    let times = run.times(S / 20);
    assert!(times.len() > 2500);
    let other = theirs(run, method, &times);
    let depth = other.iter().flatten().copied().fold(0.0, f64::min);
    assert!(depth < -500.0, "the programme reaches {depth:.0} mbar only");
    for (effort, name, allowed) in [(Effort::WATCHED, "watched", 0.5), (Effort::REFERENCE, "reference", 0.05)] {
        let off = apart(&ours(run, effort, &times), &other);
        println!("{method:?}, {name}: {off:.4} mbar");
        assert!(off < allowed, "{method:?}: {name} is off by {off:.4} mbar");
    }
}

fn suction() -> Run {
    Run::new(reference_plant::plant(), reference_plant::rig(), Detail::FULL, [780.0, 2300.0], 600 * S)
}

#[test]
fn the_suction_plant_agrees_with_tr_bdf2() {
    compare(&suction(), Method::TrBdf2);
}

#[test]
fn the_suction_plant_agrees_with_esdirk34() {
    compare(&suction(), Method::Esdirk34);
}

#[test]
fn the_suction_plant_agrees_with_bdf() {
    compare(&suction(), Method::Bdf);
}

/// The van of the first job, tee at the pump inlet.
fn van() -> Run {
    Run::of("a1-van", "pump in", Detail::FULL, 600 * S)
}

#[test]
fn the_van_agrees_with_tr_bdf2() {
    compare(&van(), Method::TrBdf2);
}

#[test]
fn the_van_agrees_with_esdirk34() {
    compare(&van(), Method::Esdirk34);
}

#[test]
fn the_van_agrees_with_bdf() {
    compare(&van(), Method::Bdf);
}

#[test]
fn an_equation_that_differs_is_caught() {
    // for one side only, the filter resists a tenth more
    let run = suction();
    let mut changed = suction();
    let top = changed.assembly.net.top.clone();
    for link in &top.links {
        if let Law::Element { a, .. } | Law::Resistance { a, .. } = link.law {
            changed.assembly.net.params[a.index()] *= Lanes([1.1]);
        }
    }
    let times = run.times(S / 20);
    let off = apart(&ours(&run, Effort::WATCHED, &times), &theirs(&changed, Method::Esdirk34, &times));
    assert!(off > 2.0, "only {off:.2} mbar apart");
}
