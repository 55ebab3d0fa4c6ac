//! How much work the standard run is, counted: steps thrown away, Jacobians and right-hand sides are the same on every
//! computer, where times aren't. A change of laws or tolerances moves them, and ought to say so here: a count that
//! grows by a tenth is a vehicle that has become dear.

#[path = "../oracle/programme.rs"]
#[allow(dead_code, reason = "shared with the comparison with another integrator, which uses the rest")]
mod programme;

use faultbay::plant::assemble::Detail;
use faultbay::plant::step::{Effort, Work};
use programme::{Run, S};

/// Plant, joint, and of the watched vehicle and of a member of an ensemble: steps, rejected, right-hand sides,
/// Jacobians, factorisations.
const COUNTED: &[(&str, &str, [u64; 5], [u64; 5])] = &[
    ("a1-van", "pump in", [1343, 281, 9463, 1343, 1624], [600, 142, 4310, 600, 742]),
    ("a4-hatchback", "rail in", [615, 377, 5575, 615, 992], [310, 106, 2390, 310, 416]),
    ("a7-truck", "pump in", [1141, 165, 7671, 1141, 1306], [465, 112, 3350, 465, 577]),
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
