//! How much work a vehicle is: the solver's tries in every minute of the standard run, as somebody watches it and as one
//! of many reference vehicles. A count is the same on every computer; a law that makes the solver crawl shows here.

use super::preview::{Wrong, leaves_out};
use super::standard::Standard;
use crate::bay::action::{MINUTE, Micros};
use crate::bay::drive::op::Timed;
use crate::bay::drive::{Drive, Fidelity};
use crate::plant::step::Work;

/// Work of one vehicle in the standard run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Toil {
    /// All of it, with what came before time 0.
    pub work: Work,
    /// Tries before time 0: the vehicle ran and stood.
    pub before: u64,
    /// Tries (steps kept or thrown away) in every minute from time 0.
    pub minutes: Vec<u64>,
}

impl Toil {
    /// The dearest minute: which, and its tries.
    pub fn dearest(&self) -> (usize, u64) {
        let all = self.minutes.iter().copied().enumerate();
        all.max_by_key(|&(minute, tries)| (tries, std::cmp::Reverse(minute))).unwrap_or_default()
    }

    /// Tries a minute on the mean.
    pub fn mean(&self) -> f64 {
        self.minutes.iter().sum::<u64>() as f64 / self.minutes.len().max(1) as f64
    }
}

/// Which vehicle the run is done with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum As {
    /// One that somebody watches.
    Watched,
    /// A reference vehicle, by itself.
    Reference,
}

/// Drives a vehicle through the run and counts.
///
/// # Errors
/// A sentence when it can't be built.
pub fn toil(run: &Standard, wrong: &Wrong, seed: u64, as_one: As) -> Result<Toil, String> {
    let fidelity = match as_one {
        As::Watched => Fidelity::Watched,
        As::Reference => Fidelity::Reference,
    };
    let vehicle = [(seed, wrong.faults())];
    let mut drive = Drive::<1>::new(&run.job.plant, run.job.stood_s, vehicle, fidelity, vec![])?;
    let tries = |drive: &Drive<1>| drive.work().steps + drive.work().rejected;
    let (mut minutes, before) = (vec![], tries(&drive));
    let mut last = before;
    let mut count = |drive: &mut Drive<1>, to: Micros| {
        while (minutes.len() as u64 + 1) * MINUTE <= to {
            drive.advance_to((minutes.len() as u64 + 1) * MINUTE);
            minutes.push(tries(drive) - last);
            last = tries(drive);
        }
        drive.advance_to(to);
    };
    for Timed { at, op } in &run.ops {
        count(&mut drive, *at);
        if !leaves_out(wrong.faults(), op) {
            drive.apply(op)?;
        }
    }
    count(&mut drive, run.ends.next_multiple_of(MINUTE));
    Ok(Toil { work: drive.work(), before, minutes })
}
