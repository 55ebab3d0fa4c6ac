//! tmp
use faultbay::plant::Plant;
use faultbay::plant::assemble::{Detail, Rig, TeeFitting};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use faultbay::scenario::{self, Library};
fn drive<const L: usize>(plants: [&Plant; L], d: Detail, e: Effort) -> Vehicle<L> {
    const S: u64 = 1_000_000;
    let rig =
        Rig { tee: Some(TeeFitting { joint: "pump in".into(), hose_air: 0.0, valve_reach: 1.0 }), container: None };
    let mut car = Vehicle::<L>::side_by_side(plants, [&rig; L], d, e).unwrap();
    let n = car.net().top.engine.n;
    let valve = car.assembly().handles.valve.unwrap();
    for (at, state, target, over) in [
        (50, n + 2, 210.0, 1),
        (80, n + 1, 780.0, 1),
        (80, n + 2, 0.0, 1),
        (680, n + 1, 2500.0, 10),
        (980, n + 1, 780.0, 10),
        (1100, valve, 0.0, 3),
        (1153, valve, 1.0, 3),
        (1250, n + 1, 0.0, 1),
    ] {
        car.ramp(at * S / 10, state, target, over * S / 10);
    }
    car.cover(600 * S);
    car
}
fn go<const L: usize>(name: &str, plants: &[Plant], d: Detail, e: Effort, times: usize) {
    let mut best = f64::INFINITY;
    let mut work = Default::default();
    for _ in 0..times {
        let t = std::time::Instant::now();
        let car = drive::<L>(core::array::from_fn(|i| &plants[i]), d, e);
        best = best.min(t.elapsed().as_secs_f64());
        work = car.work();
    }
    println!("{name} L={L}: {:.2} ms, {:.2} ms a member {work:?}", best * 1e3, best * 1e3 / L as f64);
}
fn plants() -> Vec<Plant> {
    let (plant, _) = scenario::load_plant(&Library::builtin(), "a1-van").unwrap();
    (0..8)
        .map(|i| {
            let mut p = plant.clone();
            if let faultbay::plant::component::Component::Filter(f) = &mut p.part_mut("filter").unwrap().is {
                f.clogged = 0.08 * i as f64;
            }
            p
        })
        .collect()
}
#[test]
fn zz_one() {
    go::<1>("watched full", &plants(), Detail::FULL, Effort::WATCHED, 30);
}
#[test]
fn zz_four() {
    go::<4>("ensemble coarse", &plants(), Detail::COARSE, Effort::ENSEMBLE, 50);
}
#[test]
fn zz_time() {
    let plants = plants();
    go::<1>("watched full", &plants, Detail::FULL, Effort::WATCHED, 9);
    go::<1>("ensemble coarse", &plants, Detail::COARSE, Effort::ENSEMBLE, 9);
    go::<4>("ensemble coarse", &plants, Detail::COARSE, Effort::ENSEMBLE, 9);
    go::<8>("ensemble coarse", &plants, Detail::COARSE, Effort::ENSEMBLE, 9);
}
