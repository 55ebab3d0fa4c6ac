//! What was said in a sitting that goes on: told again while it is done again, so that the history is whole.

use super::messages::Messages;
use crate::bay::action::Micros;
use crate::bay::observation::{Answer, Breach, EngineRun, Observation};
use crate::scenario::model::{Job, Mode};

/// The history so far.
pub(super) struct Retold {
    /// What was said.
    pub messages: Messages,
    engine: EngineRun,
    breaches: usize,
    practice: bool,
}

impl Retold {
    /// Of a sitting with a job, at its beginning.
    pub(super) fn of(job: &Job) -> Self {
        let practice = job.mode == Mode::Practice;
        Self { messages: Messages::default(), engine: EngineRun::Off, breaches: 0, practice }
    }

    /// After an entry of the record: its answer, and what can be perceived then.
    pub(super) fn after(&mut self, at: Micros, answer: Option<&Answer>, seen: &Observation, breaches: &[Breach]) {
        if let Some(answer) = answer {
            self.messages.answer(at, answer);
        }
        let was = std::mem::replace(&mut self.engine, seen.engine);
        self.messages.engine(at, was, seen.engine);
        let told = std::mem::replace(&mut self.breaches, breaches.len());
        for breach in breaches.iter().skip(told).filter(|_| self.practice) {
            self.messages.breach(at, breach);
        }
        self.messages.caution_once(at, &seen.cautions);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::messages::Kind;
    use crate::bay::observation::BreachClass;

    #[test]
    fn a_hint_a_refusal_and_a_broken_rule_are_told_again_with_their_times() {
        let job = crate::scenario::load_job(&crate::scenario::Library::builtin(), "nothing-wrong").unwrap().0;
        let mut retold = Retold::of(&job);
        let done = Answer::Done { says: "Look at the card. Hint 1.".into(), breach: None };
        let seen = |engine| Observation { engine, ..Observation::default() };
        retold.after(5, Some(&done), &seen(EngineRun::Off), &[]);
        retold.after(
            7,
            Some(&Answer::Refused { because: "The key is off.".into() }),
            &seen(EngineRun::Cranking),
            &[],
        );
        let breach = Breach { at: 8, class: BreachClass::Minor, rule: "no-tray".into(), words: "Drips.".into() };
        retold.after(9, None, &seen(EngineRun::Steady), std::slice::from_ref(&breach));
        retold.after(11, None, &seen(EngineRun::Steady), &[breach]);
        let told: Vec<(u64, Kind)> = retold.messages.all.iter().map(|m| (m.at, m.kind)).collect();
        assert_eq!(told, [(5, Kind::Said), (7, Kind::Refused), (9, Kind::Said), (9, Kind::Breach)]);
    }
}
