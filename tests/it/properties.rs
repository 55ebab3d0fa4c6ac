//! What holds for any plant, any faults, any handling.

use faultbay::lanes::Lanes;
use faultbay::plant::Plant;
use faultbay::plant::assemble::{Detail, Rig, TeeFitting};
use faultbay::plant::network::{Law, Network, Param};
use faultbay::plant::step::Effort;
use faultbay::plant::vehicle::Vehicle;
use proptest::prelude::*;

use crate::random_plant::{Draw, random_plant};

const S: u64 = 1_000_000;
/// Steps that a minute of anything may take. Usually it is some hundreds; where a column swings on a hole
/// whose pressure is that of the air, the corner of the hole's law is met twenty times a second, and it takes
/// tens of thousands.
const MOST_STEPS: u64 = 300_000;

/// What a hand does at a time: lever, to where (0 … 1), microseconds after the last.
type Move = (u8, f64, u64);

fn moves() -> impl Strategy<Value = Vec<Move>> {
    prop::collection::vec((0u8..10, 0.0f64..1.0, 1u64..6_000_000), 1..10)
}

/// What a random plant is made from; small to read when a case fails.
#[derive(Clone, Debug)]
struct Recipe {
    before: Vec<u8>,
    pump: u8,
    after: Vec<u8>,
    seed: u64,
}

impl Recipe {
    fn plant(&self) -> Plant {
        random_plant(&self.before, self.pump, &self.after, self.seed)
    }
}

prop_compose! {
    fn recipes()(
        before in prop::collection::vec(0u8..12, 0..5),
        pump in 0u8..4,
        after in prop::collection::vec(0u8..12, 0..4),
        seed in any::<u64>(),
    ) -> Recipe {
        Recipe { before, pump, after, seed }
    }
}

/// Parameters that faults change, with the bounds of what they make of them.
fn faults(net: &Network<1>) -> Vec<(Param, f64, f64)> {
    let mut list = vec![];
    for link in &net.top.links {
        let now = |param: Param| net.at(param).0[0];
        match link.law {
            Law::Resistance { a, b } | Law::Element { a, b, .. } => {
                list.extend([(a, now(a), 50.0 * now(a)), (b, now(b), 50.0 * now(b))]);
            }
            Law::NonReturn { stuck_open, lift, seat_leak, .. } => {
                list.extend([(stuck_open, 0.0, 1.0), (lift, 0.0, 1.0), (seat_leak, 1e-10, 1e-5)]);
            }
            Law::Pipe { fittings, .. } => list.push((fittings, 0.0, 1000.0)),
            Law::Valve { reach, leak, .. } => list.extend([(reach, 0.0, 1.0), (leak, 0.0, 0.1)]),
            Law::Relief { set, leak, .. } => list.extend([(set, 0.0, now(set)), (leak, 0.0, 1e-7)]),
            Law::Slip { turning, rest, .. } => list.extend([(turning, 1e-6, 3e-5), (rest, 1e-12, 2e-8)]),
            Law::Electric { slip, .. } => list.push((slip, 1e-5, 1.2e-4)),
            Law::Diaphragm { leak, .. } => list.push((leak, 0.0, 1e-5)),
            _ => {}
        }
    }
    for motor in &net.top.motors {
        list.extend([(motor.circuit, 0.05, 2.0), (motor.winding, 0.3, 1e5)]);
    }
    for hole in &net.top.holes {
        list.push((hole.area, 0.0, 0.3));
    }
    for r in &net.top.reservoirs {
        list.push((r.cap, 0.0, 2000.0));
    }
    list
}

/// Does one thing; returns whether it keeps fuel and air (opening a part doesn't).
fn act<const L: usize>(car: &mut Vehicle<L>, t: u64, (lever, to, _): Move, faults: &[(Param, f64, f64)]) {
    let top = car.net().top.clone();
    let n = top.engine.n;
    match lever {
        0 => car.ramp(t, n + 2, 210.0 * to.round(), S / 10),
        1 => car.ramp(t, n + 1, 2500.0 * to, S),
        2 => car.ramp(t, n + 1, 0.0, S / 10),
        3 => car.ramp(t, n + 5, to, S),
        4 | 5 => {
            // whatever has a voltage or a pressure asked for
            for motor in &top.motors {
                car.ramp(t, motor.i + 2, if lever == 4 { 13.6 } else { 13.6 * to.round() }, S / 50);
            }
            for c in &top.controllers {
                car.ramp(t, c.s + 1, 5e5 * to, S / 10);
            }
        }
        6 => {
            let handles = car.assembly().handles.clone();
            for (_, state, _) in &handles.levers {
                car.ramp(t, *state, to, S * 3 / 10);
            }
        }
        7 => {
            let handles = car.assembly().handles.clone();
            for (_, state) in &handles.primers {
                car.ramp(t, *state, to.round(), S / 10);
            }
        }
        _ => {
            let (param, low, high) = faults[(to * faults.len() as f64) as usize % faults.len()];
            car.change(t, |net, _| net.params[param.index()] = Lanes::all(low + (high - low) * to));
        }
    }
}

fn script<const L: usize>(car: &mut Vehicle<L>, moves: &[Move], faults: &[(Param, f64, f64)]) -> u64 {
    let mut t = 0;
    for &what in moves {
        t += what.2;
        act(car, t, what, faults);
    }
    t += 20 * S;
    car.cover(t);
    t
}

fn cases(usual: u32) -> ProptestConfig {
    // the environment asks for more
    let config = ProptestConfig::default();
    if std::env::var_os("PROPTEST_CASES").is_some() {
        config
    } else {
        ProptestConfig { cases: usual, max_shrink_iters: 200, ..config }
    }
}

/// Drives a plant; fuel and air must be conserved, nothing tear below vapour pressure, no step be forced.
fn keeps_its_books(recipe: &Recipe, moves: &[Move]) -> Result<(), TestCaseError> {
    let plant = recipe.plant();
    let mut car = Vehicle::new(&plant, &Rig::default(), Detail::FULL, Effort::WATCHED).unwrap();
    let faults = faults(car.net());
    let start = car.snapshot(0);
    let (fuel, air) = (car.net().liquid_balance(&start).0[0], car.net().air_balance(&start).0[0]);
    let t = script(&mut car, moves, &faults);
    let y = car.snapshot(t);
    prop_assert!(y.iter().all(|v| v.0[0].is_finite()));
    let net = car.net();
    let (fuel_now, air_now) = (net.liquid_balance(&y).0[0], net.air_balance(&y).0[0]);
    prop_assert!((fuel - fuel_now).abs() < 1e-9 * fuel, "fuel {fuel} became {fuel_now}");
    prop_assert!((air - air_now).abs() < 1e-9 * air, "air {air} became {air_now}");
    for (v, vessel) in net.top.vessels.iter().enumerate() {
        prop_assert!(net.pressure(v, &y).0[0] > net.at(net.top.zones[vessel.zone].vapour).0[0]);
    }
    prop_assert_eq!(car.work().forced, 0);
    let minutes = t as f64 / 60e6;
    prop_assert!((car.work().steps as f64) < MOST_STEPS as f64 * minutes.max(1.0), "{:?}", car.work());
    Ok(())
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn any_plant_keeps_its_books(recipe in recipes(), moves in moves()) {
        keeps_its_books(&recipe, &moves)?;
    }
}

/// A siphon from a swirl pot into a second tank leaves the pot empty and no emptier: its pick-up, a few millimetres under
/// the rounding of its mouth, had drawn fuel from where there was none.
#[test]
fn a_pot_that_a_siphon_empties_is_empty() {
    let recipe = Recipe { before: vec![3, 0, 4], pump: 3, after: vec![0], seed: 17291768934759743943 };
    let moves = [
        (9, 0.047166820882627726, 1014168),
        (6, 0.727418261557235, 1889199),
        (0, 0.994950650965997, 3737529),
        (5, 0.2904272981674084, 4380625),
        (0, 0.7635748626549514, 596024),
        (3, 0.6757116787918717, 5257937),
    ];
    keeps_its_books(&recipe, &moves).unwrap();
}

/// A full tank into which a siphon brings a third of a litre a second runs over; it had taken no more than a fifth, and what
/// was too much was pressed into the last of its air.
#[test]
fn a_tank_that_a_siphon_fills_runs_over() {
    let recipe = Recipe { before: vec![], pump: 0, after: vec![], seed: 16865385599582734803 };
    keeps_its_books(&recipe, &[(0, 0.0, 8_000_000), (2, 0.0, 8_000_000)]).unwrap();
}

/// A vessel whose gas isn't followed and which empties: its slope had no place in the Jacobian.
#[test]
fn a_vessel_without_cells_may_empty() {
    let recipe = Recipe { before: vec![6], pump: 3, after: vec![9], seed: 14734955498450022966 };
    let moves = [
        (4, 0.15038635923153326, 1373861),
        (7, 0.48565652048784186, 774905),
        (1, 0.5981347283060132, 5946029),
        (4, 0.17023453937581495, 2444032),
        (2, 0.8014557771842332, 4907571),
        (2, 0.8867309629858566, 3432384),
        (7, 0.9308090388594266, 5533487),
        (4, 0.8683145790829783, 4950343),
        (7, 0.3295034394953937, 4590764),
    ];
    keeps_its_books(&recipe, &moves).unwrap();
}

proptest! {
    #![proptest_config(cases(40))]

    /// Looking more often changes no bit.
    #[test]
    fn any_plant_gives_the_same_bits_in_any_slices(recipe in recipes(), moves in moves(), every in 7_000u64..900_000) {
        let plant = recipe.plant();
        let run = |every: Option<u64>| {
            let mut car = Vehicle::new(&plant, &Rig::default(), Detail::FULL, Effort::WATCHED).unwrap();
            let faults = faults(car.net());
            let mut t = 0;
            let look = |car: &mut Vehicle, from: u64, to: u64| {
                let mut t = from;
                while let Some(step) = every && t + step < to {
                    t += step;
                    car.cover(t);
                }
                car.cover(to);
            };
            for &what in &moves {
                look(&mut car, t, t + what.2);
                t += what.2;
                act(&mut car, t, what, &faults);
            }
            look(&mut car, t, t + 10 * S);
            car.snapshot(t + 10 * S).iter().map(|v| v.0[0].to_bits()).collect::<Vec<_>>()
        };
        prop_assert!(run(None) == run(Some(every)));
    }

    /// Four vehicles side by side, one of them with other resistances: each as if it were alone.
    #[test]
    fn any_plant_is_the_same_in_company(recipe in recipes(), moves in moves()) {
        let plant = recipe.plant();
        let rig = Rig::default();
        let effort = Effort { relative: 1e-6, absolute: 0.1, ..Effort::WATCHED };
        let mut alone = Vehicle::new(&plant, &rig, Detail::FULL, effort).unwrap();
        let faults = faults(alone.net());
        // faults that switch between two laws in an instant would make small differences large
        let moves: Vec<Move> = moves.into_iter().map(|m| if m.0 >= 6 { (m.0 % 4, m.1, m.2) } else { m }).collect();
        let mut four: Vehicle<4> =
            Vehicle::side_by_side([&plant; 4], [&rig; 4], Detail::FULL, effort).unwrap();
        let pipes: Vec<Param> = four.net().top.links.iter().filter_map(|link| match link.law {
            Law::Pipe { fittings, .. } => Some(fittings),
            _ => None,
        }).collect();
        four.change(0, |net, _| for p in &pipes { net.params[p.index()].0[2] *= 3.0; });
        let t = script(&mut alone, &moves, &faults);
        script(&mut four, &moves, &faults);
        let (one, all) = (alone.snapshot(t), four.snapshot(t));
        for v in 0..alone.net().top.vessels.len() {
            let (a, b) = (alone.net().pressure(v, &one).0[0], four.net().pressure(v, &all));
            for lane in [0, 1, 3] {
                prop_assert!((a - b.0[lane]).abs() < 200.0 + 1e-3 * a, "{a} alone, {} in lane {lane}", b.0[lane]);
            }
        }
    }

    /// Fitting and removing kit, parts fitted dry, joints opened: the state stays one.
    #[test]
    fn any_plant_can_be_worked_on(recipe in recipes(), moves in moves()) {
        let plant = recipe.plant();
        let joints = plant.joints();
        let mut car = Vehicle::new(&plant, &Rig::default(), Detail::FULL, Effort::WATCHED).unwrap();
        let mut draw = Draw::new(moves.len() as u64);
        let mut t = 0;
        for &(what, to, wait) in &moves {
            t += wait;
            let joint = joints[draw.of(joints.len())].0.clone();
            match what {
                0..=2 => {
                    let tee = (what < 2).then(|| TeeFitting { joint: joint.clone(), hose_air: 2.0, valve_reach: 1.0 });
                    let container = (what == 1).then(|| joints[draw.of(joints.len())].0.clone());
                    // a rig that this plant can't take is refused, and nothing has happened
                    let rig = Rig { tee, container };
                    let _ = car.rebuild(t, [&plant], [&rig], Some(&joint));
                }
                3 => car.fill_with_gas(t, &joint, to),
                _ => {
                    let faults = faults(car.net());
                    act(&mut car, t, (what - 3, to, wait), &faults);
                }
            }
        }
        t += 10 * S;
        car.cover(t);
        let y = car.snapshot(t);
        prop_assert!(y.iter().all(|v| v.0[0].is_finite()));
        prop_assert_eq!(car.work().forced, 0);
    }
}
