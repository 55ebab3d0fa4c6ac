//! Hints on request while practising: how to compare, where to look, what to test. They follow from what the sheet
//! holds and lacks, never from what is wrong with the vehicle, and never name a cause. A job's own hints go first.

use super::Bay;
use super::action::{Micros, SECOND, State};
use super::sheet::EvidenceKind;
use crate::language::said;
use crate::scenario::model::Mode;
use crate::tell;

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
            return Err(said("bay-hint-none-in-assessment").into());
        }
        if !(1..=3).contains(&level) {
            return Err(said("bay-hint-levels").into());
        }
        if self.finding().is_some() {
            return Err(said("bay-hint-too-late").into());
        }
        if let Some(&(last, _)) = self.hints.last()
            && self.now() < last + PAUSE
        {
            return Err(said("bay-hint-wait").into());
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
        Ok(tell!("bay-hint-with-cost", says = says, level = level, cost = cost))
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
            return said("bay-hint-compare-card").into();
        }
        if !(has(State::Idle) && (has(State::Raised) || has(State::Load))) {
            return said("bay-hint-compare-flows").into();
        }
        if !has(State::Hold) {
            return said("bay-hint-compare-standing").into();
        }
        said("bay-hint-compare-joints").into()
    }

    fn where_to_look(&self) -> String {
        let read = self.read_so_far();
        let taken = |joint: &str| read.iter().any(|(j, _)| j == joint);
        let joints = &self.job.joints;
        let open: Vec<&str> = joints.iter().filter(|(j, _)| !taken(j)).map(|(_, l)| l.as_str()).collect();
        match (open.first(), joints.iter().rev().find(|(j, _)| taken(j))) {
            (_, None) => match joints.last() {
                Some((_, last)) => tell!("bay-hint-look-last", last = last),
                None => said("bay-hint-look-without-tee").into(),
            },
            (Some(open), Some((_, known))) => {
                tell!("bay-hint-look-stretch", known = known, open = open)
            }
            (None, _) => said("bay-hint-look-all-read").into(),
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
            return said("bay-hint-test-tank").into();
        };
        let lacking = WORTH.into_iter().find(|&state| {
            let allowed = state != State::DeadHead || self.may_dead_head_at(joint);
            let listed = self.job.limit(joint, state).is_some();
            allowed && listed && !read.iter().any(|(j, s)| j == joint && *s == state)
        });
        if let Some(state) = lacking {
            return tell!("bay-hint-test-state", state = state.of_reading(), label = label);
        }
        let noted = |e: &super::Evidence| matches!(e.kind, EvidenceKind::Word { .. });
        if !self.evidence().iter().any(noted) {
            return said("bay-hint-test-note").into();
        }
        match self.job.joints.iter().find(|(j, _)| !read.iter().any(|(r, _)| r == j)) {
            Some((_, next)) => tell!("bay-hint-test-move", next = next),
            None => said("bay-hint-test-cap").into(),
        }
    }
}
