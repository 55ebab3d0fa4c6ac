//! How much work the standard run is, counted: steps thrown away, Jacobians and right-hand sides are the same on every
//! computer, where times aren't. A change of laws or tolerances moves them, and ought to say so here: a count that
//! grows by a tenth is a vehicle that has become dear.

#[path = "../oracle/programme.rs"]
#[allow(dead_code, reason = "shared with the comparison with another integrator, which uses the rest")]
mod programme;

use faultbay::authoring::preview::Wrong;
use faultbay::authoring::standard::Standard;
use faultbay::authoring::work::{As, Toil, toil};
use faultbay::fault::{CATALOGUE, Place};
use faultbay::plant::Plant;
use faultbay::plant::assemble::Detail;
use faultbay::plant::step::{Effort, Work};
use faultbay::plant::vehicle::Vehicle;
use faultbay::scenario::{Kind, Library, load_plant};
use programme::{Run, S};

/// Plant, joint, and of the watched vehicle and of a member of an ensemble: steps, rejected, right-hand sides,
/// Jacobians, factorisations.
const COUNTED: &[(&str, &str, [u64; 5], [u64; 5])] = &[
    ("a1-van", "pump in", [1344, 294, 9534, 1344, 1638], [510, 211, 1952, 510, 721]),
    ("a4-hatchback", "rail in", [542, 68, 3592, 542, 610], [313, 44, 1027, 313, 357]),
    ("a7-truck", "pump in", [1068, 116, 6988, 1068, 1184], [420, 77, 1414, 420, 497]),
];

fn counted(name: &str, joint: &str, detail: Detail, effort: Effort) -> [u64; 5] {
    let run = Run::of(name, joint, detail, 600 * S);
    let Work { steps, rejected, evaluations, jacobians, factorisations, forced, .. } =
        run.ours(detail, effort, &[], |_, _| {}).work();
    assert_eq!(forced, 0, "{name}");
    [steps, rejected, evaluations, jacobians, factorisations]
}

#[test]
fn the_standard_run_is_as_much_work_as_it_was() {
    let mut moved = String::new();
    for &(name, joint, watched, member) in COUNTED {
        let now = [
            counted(name, joint, Detail::FULL, Effort::WATCHED),
            counted(name, joint, Detail::COARSE, Effort::ENSEMBLE),
        ];
        if now != [watched, member] {
            moved += &format!("(\"{name}\", \"{joint}\", {:?}, {:?}),\n", now[0], now[1]);
        }
    }
    assert!(moved.is_empty(), "counted now:\n{moved}");
}

/// Most memory that one member of an ensemble may hold, bytes.
const MOST_BYTES: usize = 64 * 1024;

#[test]
fn a_member_of_an_ensemble_fits_into_64_kib() {
    let library = Library::builtin();
    let mut largest = 0;
    for name in library.names(Kind::Plant) {
        let (plant, _) = load_plant(&library, &name).unwrap_or_else(|_| panic!("{name}"));
        for (joint, _) in plant.joints() {
            let rig = programme::rig(&joint);
            let cars = Vehicle::side_by_side([&plant; 8], [&rig; 8], Detail::COARSE, Effort::ENSEMBLE).unwrap();
            let member = cars.bytes() / 8;
            // at least its states, its four stages and the ends of a step must have been counted
            assert!(member > 7 * 8 * cars.net().states(), "{name} at {joint}: {member} bytes");
            assert!(member < MOST_BYTES, "{name} at {joint}: {member} bytes");
            largest = largest.max(member);
        }
    }
    println!("the largest member holds {largest} bytes");
}

/// Most tries (steps kept or thrown away) in a minute of a reference vehicle and of a watched one. The dearest minute of
/// all is one with air at the tee (1 871) and one of a large leak (2 114); what crawls takes ten thousand and more.
const MOST_A_MINUTE: [u64; 2] = [2_500, 3_000];
/// Most tries before time 0, where a vehicle ran and then stood for ten minutes.
const MOST_BEFORE: u64 = 6_000;

/// What may be wrong with a plant: nothing, or a fault at the first, middle and last place where there are more.
fn wrongs(plant: &Plant, severities: &[f64]) -> Vec<Wrong> {
    let mut list = vec![Wrong::nothing()];
    for fault in CATALOGUE {
        let mut places = fault.places(plant);
        if matches!(fault.place, Place::Kit | Place::Nowhere) {
            places.push(String::new());
        }
        let n = places.len();
        let some = places.iter().enumerate().filter(|(i, _)| [0, n / 2, n - 1].contains(i));
        for (_, place) in some {
            for severity in severities {
                // where a fault doesn't fit after all there is nothing to drive
                list.extend(Wrong::read(plant, &[format!("{}@{place}:{severity}", fault.code)]));
            }
        }
    }
    list
}

/// Every plant through the standard run with everything that may be wrong with it.
fn fleet(as_one: As, severities: &[f64], most: u64) {
    let library = Library::builtin();
    let mut dear = String::new();
    for plant in &library.names(Kind::Plant) {
        let run = Standard::of(&library, plant, None).unwrap_or_else(|e| panic!("{plant}: {e}"));
        let (described, _) = load_plant(&library, plant).unwrap_or_else(|_| panic!("{plant}"));
        let wrongs = wrongs(&described, severities);
        let toils: Vec<Toil> =
            wrongs.iter().map(|w| toil(&run, w, 1, as_one).unwrap_or_else(|e| panic!("{plant}: {e}"))).collect();
        let mean = toils.iter().map(Toil::mean).sum::<f64>() / toils.len() as f64;
        let dearest = toils.iter().map(|t| t.dearest().1).max().unwrap();
        println!("{plant}, {as_one:?}: {} runs, {mean:.0} tries a minute, dearest minute {dearest}", toils.len());
        for (wrong, toil) in wrongs.iter().zip(&toils) {
            let (minute, tries) = toil.dearest();
            if tries > most || toil.before > MOST_BEFORE || toil.work.forced > 0 {
                let before = toil.before;
                dear += &format!("{plant}, {}: {tries} in minute {minute}, {before} before\n", wrong.words);
            }
        }
    }
    assert!(dear.is_empty(), "as {as_one:?}, more than {most} tries in a minute:\n{dear}");
}

#[test]
fn no_reference_vehicle_crawls() {
    fleet(As::Reference, &[1.0, 3.0, 5.0], MOST_A_MINUTE[0]);
}

#[test]
fn no_watched_vehicle_crawls() {
    fleet(As::Watched, &[5.0], MOST_A_MINUTE[1]);
}
