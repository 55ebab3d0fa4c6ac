//! Hints on request while practising: how to compare, where to look, what to test. They follow from what the sheet
//! holds and lacks, never from what is wrong with the vehicle, and never name a cause. A job's own hints go first.

use super::Bay;
use super::action::{Micros, SECOND, State};
use super::sheet::EvidenceKind;
use crate::scenario::model::Mode;

/// Shortest time between two hints.
const PAUSE: Micros = 30 * SECOND;
/// States in the order in which a lack of them is worth a word.
const WORTH: [State; 6] = [State::Rest, State::Idle, State::Raised, State::Load, State::DeadHead, State::Hold];

impl Bay {
    /// Hints taken: when and of which level.
    pub fn hints(&self) -> &[(Micros, u8)] {
        &self.hints
    }

    pub(super) fn hint(&mut self, level: u8) -> Result<String, String> {
        if self.job.mode == Mode::Assessment {
            return Err("There are no hints in an assessment.".into());
        }
        if !(1..=3).contains(&level) {
            return Err("Hints have three levels: 1 how to compare, 2 where to look, 3 what to test.".into());
        }
        if self.finding().is_some() {
            return Err("The finding is in: hints come too late.".into());
        }
        if let Some(&(last, _)) = self.hints.last()
            && self.now() < last + PAUSE
        {
            return Err("Give the last hint half a minute first.".into());
        }
        let cost = self.job.rubric.hints[usize::from(level) - 1];
        let says = match (self.job.hints.get(usize::from(level) - 1), level) {
            // the author knows the job and has weighed what it gives away
            (Some(own), _) => own.clone(),
            (None, 1) => self.how_to_compare(),
            (None, 2) => self.where_to_look(),
            (None, _) => self.what_to_test(),
        };
        self.hints.push((self.now(), level));
        self.mark("hint");
        Ok(format!("{says} (Hint of level {level}: {cost} points of 100.)"))
    }

    /// Joints and states of which a reading was written.
    fn read_so_far(&self) -> Vec<(String, State)> {
        let level = |e: &super::Evidence| match &e.kind {
            EvidenceKind::Level { joint, state, .. } => Some((joint.clone(), *state)),
            _ => None,
        };
        self.evidence().iter().filter_map(level).collect()
    }

    fn how_to_compare(&self) -> String {
        let read = self.read_so_far();
        let has = |state: State| read.iter().any(|(_, s)| *s == state);
        if read.is_empty() {
            return "Compare the vehicle with its card: read one joint at rest and at idle, and hold both against the ranges."
                .into();
        }
        if !(has(State::Idle) && (has(State::Raised) || has(State::Load))) {
            return "Compare two flows at one joint: what grows with speed is a way that is too narrow, what doesn't is \
                    something else."
                .into();
        }
        if !has(State::Hold) {
            return "Compare running with standing: stop the engine and see whether the line keeps what it had."
                .into();
        }
        "Compare two joints in the same state: whatever lies between them makes the difference.".into()
    }

    fn where_to_look(&self) -> String {
        let read = self.read_so_far();
        let taken = |joint: &str| read.iter().any(|(j, _)| j == joint);
        let joints = &self.job.joints;
        let open: Vec<&str> = joints.iter().filter(|(j, _)| !taken(j)).map(|(_, l)| l.as_str()).collect();
        match (open.first(), joints.iter().rev().find(|(j, _)| taken(j))) {
            (_, None) => match joints.last() {
                Some((_, last)) => format!("Nothing is read yet. The {last} has the whole supply behind it."),
                None => "Begin with what needs no tee: tank, cap, codes, sounds.".into(),
            },
            (Some(open), Some((_, known))) => {
                format!("You know the {known}. Of the stretch that begins at the {open} nothing is written yet.")
            }
            (None, _) => {
                "Every joint is read. What is left lies before the first of them, beyond the last, or in your kit."
                    .into()
            }
        }
    }

    fn what_to_test(&self) -> String {
        let read = self.read_so_far();
        let Some((joint, label)) = self
            .drive
            .tee()
            .and_then(|tee| self.job.joints.iter().find(|(j, _)| j == tee))
            .or(self.job.joints.last())
        else {
            return "Dip the tank and draw a sample.".into();
        };
        let lacking = WORTH.into_iter().find(|&state| {
            let allowed = state != State::DeadHead || self.may_dead_head_at(joint);
            let listed = self.job.limit(joint, state).is_some();
            allowed && listed && !read.iter().any(|(j, s)| j == joint && *s == state)
        });
        if let Some(state) = lacking {
            return format!("Read {} at the {label}, and write it down.", state.word());
        }
        let noted = |e: &super::Evidence| matches!(e.kind, EvidenceKind::Word { .. });
        if !self.evidence().iter().any(noted) {
            return "Write down what the glass shows, and how the engine runs.".into();
        }
        match self.job.joints.iter().find(|(j, _)| !read.iter().any(|(r, _)| r == j)) {
            Some((_, next)) => format!("Move the tee to the {next} and take the same readings there."),
            None => "Open the filler cap while the complaint is there, and watch the gauge.".into(),
        }
    }
}
