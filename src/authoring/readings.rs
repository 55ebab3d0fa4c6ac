//! What a sound vehicle reads: the standard run at every joint, state by state, beside what its card says.
//!
//! For whoever writes a vehicle. The vehicle is the middling one, as its file has it, without tolerances; each
//! reading is that of the gauge at the end of its state. Training values.

use super::preview::{Shown, Wrong, drive_watched};
use super::standard::Standard;
use crate::bay::action::State;
use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::justify::Part;
use crate::language::said;
use crate::plant::Plant;
use crate::scenario::model::Limit;

/// Least distance of a proposed limit from a reading, mbar, and its share of the reading: what tolerances of sound
/// vehicles and the gauge take up.
const ROOM_MBAR: f64 = 20.0;
const ROOM: f64 = 0.35;

/// A reading at a joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    /// State.
    pub state: State,
    /// In words: the state, or which reading of the hold.
    pub words: &'static str,
    /// Range of the card, mbar gauge.
    pub limit: Option<(f64, f64)>,
    /// What a sound vehicle shows.
    pub shown: Shown,
}

impl Read {
    /// The card calls what a sound vehicle shows unhealthy.
    pub fn is_outside(&self) -> bool {
        self.limit.is_some_and(|(low, high)| self.shown.mbar < low || self.shown.mbar > high)
    }

    /// A range round it for a card, mbar gauge, in whole fives.
    pub fn proposed(&self) -> (f64, f64) {
        let room = ROOM_MBAR.max(ROOM * self.shown.mbar.abs());
        let fives = |v: f64| v / 5.0;
        (fives(self.shown.mbar - room).floor() * 5.0, fives(self.shown.mbar + room).ceil() * 5.0)
    }
}

/// The readings at a joint.
#[derive(Clone, Debug, PartialEq)]
pub struct AtJoint {
    /// Name of the joint.
    pub joint: String,
    /// In trade words.
    pub label: String,
    /// In the order of the run, or why there are none.
    pub reads: Result<Vec<Read>, String>,
}

/// The readings at every joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// In the order of the file.
    pub joints: Vec<AtJoint>,
}

/// Runs a sound vehicle with the tee at one joint after the other.
///
/// # Errors
/// A sentence when it was cancelled, or the vehicle has no joint. What fails at a joint is told there.
pub fn sound_readings(plant: &Plant, card: &[Limit], watch: &dyn Watch) -> Result<Readings, String> {
    let joints = plant.joints();
    if joints.is_empty() {
        return Err(said("readings-no-joint").to_owned());
    }
    let span = 1.0 / joints.len() as f64;
    let mut all = vec![];
    for (i, (joint, label)) in joints.iter().enumerate() {
        let part = Part { whole: watch, from: i as f64 * span, span };
        let reads = at_joint(plant, card, joint, &part);
        if watch.cancelled() {
            return Err(super::standard::CANCELLED.said().to_owned());
        }
        all.push(AtJoint { joint: joint.clone(), label: label.clone(), reads });
        watch.progress((i + 1) as f64 * span);
    }
    Ok(Readings { joints: all })
}

fn at_joint(plant: &Plant, card: &[Limit], joint: &str, watch: &dyn Watch) -> Result<Vec<Read>, String> {
    let run = Standard::on(plant, card, Some(joint), watch)?;
    let seen = drive_watched(&run, &Wrong::nothing(), watch)?;
    let read = |(read, shown): (&super::standard::Read, Shown)| Read {
        state: read.state,
        words: read.words,
        limit: run.limit(read).map(|l| (l.low_mbar, l.high_mbar)),
        shown,
    };
    Ok(run.reads.iter().zip(seen.readings).map(read).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Unwatched;
    use crate::scenario::{Library, load_card, load_plant};

    #[test]
    fn a_sound_van_reads_within_its_card_at_every_joint_but_for_the_rest_that_air_spoils() {
        let library = Library::builtin();
        let (plant, card) = (load_plant(&library, "a1-van").unwrap().0, load_card(&library, "a1-van").unwrap().0);
        let all = sound_readings(&plant, &card, &Unwatched).unwrap();
        assert_eq!(all.joints.len(), plant.joints().len());
        for at in &all.joints {
            let reads = at.reads.as_ref().unwrap_or_else(|e| panic!("{}: {e}", at.joint));
            assert!(reads.len() >= 6, "{}", at.joint);
            for read in reads {
                let (low, high) = read.proposed();
                assert!(low < read.shown.mbar && read.shown.mbar < high && high - low >= 2.0 * ROOM_MBAR);
                // air that the fitting let into the column holds the filter's inlet 1.4 mbar above its card
                let is_known = at.joint == "filter in" && read.state == State::Rest;
                assert_eq!(read.is_outside(), is_known, "{}: {read:?}", at.joint);
            }
        }
    }

    #[test]
    fn a_card_that_a_sound_vehicle_breaks_is_told() {
        let library = Library::builtin();
        let plant = load_plant(&library, "a1-van").unwrap().0;
        let mut card = load_card(&library, "a1-van").unwrap().0;
        for limit in card.iter_mut().filter(|l| l.joint == "pump in" && l.state == State::Idle) {
            (limit.low_mbar, limit.high_mbar) = (0.0, 50.0);
        }
        let all = sound_readings(&plant, &card, &Unwatched).unwrap();
        let at = all.joints.iter().find(|j| j.joint == "pump in").unwrap();
        let outside: Vec<&str> =
            at.reads.as_ref().unwrap().iter().filter(|r| r.is_outside()).map(|r| r.words).collect();
        assert_eq!(outside, ["idle"]);
    }
}
