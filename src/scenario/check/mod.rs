//! From raw shapes to the model: everything that a shape alone can't tell.
//!
//! Names must lead somewhere, fuel must find a way from the tank to the engine, numbers must be
//! such as a vehicle has, and a job must be one that can be solved and marked. Every check goes on
//! after a failure, so that an author sees all of them.

mod candidates;
mod card;
mod course;
mod ends;
mod fits;
mod flaws;
mod job;
mod page;
mod parts;
mod path;
mod pictures;
mod place;
mod plant;
mod pumps;
mod rubric;
mod snares;
mod varies;
mod withheld;

pub(super) use course::course;
pub(super) use job::job;
pub(super) use plant::{card, drawable, plant};
pub(super) use rubric::rubric;

use crate::diag::{Id, id};

/// Whether a diagnostic may only be there because a piece of the file couldn't be read.
pub(super) fn from_a_lack(id: Id) -> bool {
    [
        id::UNKNOWN_NODE,
        id::FLOATING_NODE,
        id::OFF_THE_PATH,
        id::NO_TANK,
        id::UNFIT_END,
        id::WRONG_REFERENCE,
        id::OPPOSED_PUMPS,
        id::DEAD_HEADED,
        id::IDLE_RELIEF,
        id::ONE_ENGINE,
        id::NO_JOINT,
        id::UNKNOWN_JOINT,
        id::HEALTHY_CANDIDATE,
        id::UNCOVERED_FAULT,
        id::UNKNOWN_CANDIDATE,
        id::HEAVY_PRIOR,
        id::CARD_GAPS,
        id::NO_LOOK,
        id::FEW_CANDIDATES,
        id::TRAP_MISFITS,
        id::ALSO_RIGHT_MISFITS,
        id::ANSWER_TOLD,
        id::COURSE_ORDER,
        id::LEVEL_DROPS,
    ]
    .contains(&id)
}
