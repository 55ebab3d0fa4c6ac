//! A sitting under way: the bay, and the record that grows with it.

use super::record::{Attempt, Entry, Event, Header, LONGEST_TIME};
use super::replay::{Going, ReplayError, replay_told};
use crate::bay::Bay;
use crate::bay::action::{Action, Finding, Micros, Prediction, SECOND};
use crate::bay::instruct::{Instructed, Instruction};
use crate::bay::observation::{Answer, Breach, Observation, SheetLine};
use crate::bay::truth::Closed;
use crate::language::said;
use crate::scenario::model::Job;
use crate::trace::{Beside, Trace};

/// A bay whose every action is recorded before anybody sees its effect.
///
/// The owner writes [`take_lines`](Self::take_lines) to its file after every call; a cut then loses
/// at most the action or the second under way.
pub struct Sitting {
    job: Job,
    bay: Bay,
    attempt: Attempt,
    unwritten: Vec<String>,
    /// Time that a replay of the record would reach.
    reached: Micros,
}

impl Sitting {
    /// Hands over the job card.
    ///
    /// # Errors
    /// A sentence when the job's vehicle can't be built.
    pub fn begin(job: Job, seed: u64, name: Option<&str>) -> Result<Self, String> {
        let bay = Bay::new(&job, seed)?;
        let (attempt, line) = Attempt::begin(Header {
            job: job.name.clone(),
            job_hash: job.hash.clone(),
            seed,
            engine: env!("CARGO_PKG_VERSION").to_owned(),
            name: name.map(|name| name.chars().take(200).collect()),
        });
        let reached = bay.now();
        Ok(Self { job, bay, attempt, unwritten: vec![line], reached })
    }

    /// Goes on where a record ends. The lines of the record don't come out of
    /// [`take_lines`](Self::take_lines) again.
    ///
    /// # Errors
    /// As [`replay`](super::replay()).
    pub fn resume(job: Job, attempt: &Attempt) -> Result<Self, ReplayError> {
        Self::resume_watched(job, attempt, &mut |_| true)
    }

    /// The same for somebody who waits.
    ///
    /// # Errors
    /// As [`replay_watched`](super::replay_watched).
    pub fn resume_watched(job: Job, attempt: &Attempt, going: Going<'_>) -> Result<Self, ReplayError> {
        Self::resume_told(job, attempt, &mut |_, _| (), going)
    }

    /// The same; `each` is shown the answer to each entry (`None` for a tick) and the bay after it.
    ///
    /// # Errors
    /// As [`replay_watched`](super::replay_watched).
    pub fn resume_told(
        job: Job,
        attempt: &Attempt,
        each: &mut dyn FnMut(Option<&Answer>, &Bay),
        going: Going<'_>,
    ) -> Result<Self, ReplayError> {
        let bay = replay_told(&job, attempt, &mut |_, answer, bay| each(answer, bay), going)?;
        let reached = bay.now();
        Ok(Self { job, bay, attempt: attempt.clone(), unwritten: Vec::new(), reached })
    }

    /// Does something, now, and records it; refused actions too, because they happened.
    ///
    /// What couldn't be recorded isn't done: a number that isn't one, a text of absurd length, a
    /// wait past the longest sitting, anything after hand-back.
    pub fn act(&mut self, action: &Action) -> Answer {
        if self.bay.is_over() {
            return refused(said("bay-attempt-over"));
        }
        let span = match *action {
            Action::Wait { secs } | Action::Crank { secs } => secs,
            _ => 0.0,
        };
        let left = LONGEST_TIME.saturating_sub(self.bay.now()) as f64 / SECOND as f64;
        if self.bay.now() > LONGEST_TIME || span > left {
            return refused(said("bay-attempt-30-days"));
        }
        match self.attempt.push(Entry { at: self.bay.now(), event: Event::Act(action.clone()) }) {
            Ok(line) => self.unwritten.push(line),
            Err(because) => return Answer::Refused { because },
        }
        let answer = self.bay.act(action);
        self.reached = self.bay.now();
        answer
    }

    /// Carries out what an instructor does, now, and records it; what is refused, too.
    pub fn instruct(&mut self, what: &Instruction) -> Answer {
        if self.bay.is_over() {
            return refused(said("bay-attempt-over"));
        }
        match self.attempt.push(Entry { at: self.bay.now(), event: Event::Class(what.clone()) }) {
            Ok(line) => self.unwritten.push(line),
            Err(because) => return Answer::Refused { because },
        }
        let answer = self.bay.instruct(what);
        self.reached = self.bay.now();
        answer
    }

    /// What an instructor did so far.
    pub fn instructed(&self) -> Instructed {
        self.bay.instructed()
    }

    /// Lets time pass. Every whole second of it leaves a heartbeat, so that less than a second is
    /// lost when the sitting is cut off.
    pub fn advance(&mut self, by: Micros) {
        if self.bay.is_over() {
            return;
        }
        self.bay.advance_to(self.bay.now().saturating_add(by).min(LONGEST_TIME.max(self.bay.now())));
        let whole = self.bay.now().saturating_sub(self.reached) / SECOND * SECOND;
        if whole > 0
            && let Ok(line) = self.attempt.push(Entry { at: self.reached + whole, event: Event::Tick })
        {
            self.unwritten.push(line);
            self.reached += whole;
        }
    }

    /// Lines of the attempt file that weren't taken yet, without line ends; the header comes first.
    pub fn take_lines(&mut self) -> Vec<String> {
        std::mem::take(&mut self.unwritten)
    }

    /// The record so far.
    pub fn attempt(&self) -> &Attempt {
        &self.attempt
    }

    /// The job.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Opens the wall, once the vehicle was handed back: the record, and the bay that knows what was
    /// wrong.
    ///
    /// # Errors
    /// The sitting itself, when it isn't over.
    pub fn close(self) -> Result<(Attempt, Closed), Box<Self>> {
        let Self { job, bay, attempt, unwritten, reached } = self;
        match bay.close() {
            Ok(closed) => Ok((attempt, closed)),
            Err(bay) => Err(Box::new(Self { job, bay: *bay, attempt, unwritten, reached })),
        }
    }

    /// Simulated time.
    pub fn now(&self) -> Micros {
        self.bay.now()
    }

    /// What can be perceived now.
    pub fn observe(&self) -> Observation {
        self.bay.observe()
    }

    /// The instrument's memory.
    pub fn trace(&self) -> &Trace {
        self.bay.trace()
    }

    /// What the instruments beside the tee showed.
    pub fn beside(&self) -> &Beside {
        self.bay.beside()
    }

    /// The test sheet.
    pub fn sheet(&self) -> &[SheetLine] {
        self.bay.sheet()
    }

    /// Predictions made.
    pub fn predictions(&self) -> &[(Micros, Prediction)] {
        self.bay.predictions()
    }

    /// Points stated last, by candidate in the order of the job.
    pub fn points(&self) -> Option<&[u8]> {
        self.bay.points()
    }

    /// Rules broken.
    pub fn breaches(&self) -> &[Breach] {
        self.bay.breaches()
    }

    /// The finding, once submitted.
    pub fn finding(&self) -> Option<&Finding> {
        self.bay.finding()
    }

    /// The vehicle was handed back.
    pub fn is_over(&self) -> bool {
        self.bay.is_over()
    }
}

fn refused(because: &str) -> Answer {
    Answer::Refused { because: because.to_owned() }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::attempt::{replay, replay_each};
    use crate::bay::words::{self, Said, Terms};
    use crate::scenario::{Library, load_job};

    fn job(name: &str) -> Job {
        load_job(&Library::builtin(), name).expect("a built-in job").0
    }

    /// What happens at a desk: something is said, or time runs.
    #[derive(Clone, Debug)]
    enum Step {
        Act(Action),
        Run(Micros),
    }

    fn say(job: &Job, line: &str) -> Action {
        match words::read(line, &Terms::of(job), 0) {
            Ok(Some(Said::Do(action))) => action,
            other => panic!("{line}: {other:?}"),
        }
    }

    /// Lines that make sense in some order, and in others are refused.
    const LINES: &[&str] = &[
        "safe protection",
        "safe pressure-away",
        "ask whine",
        "look filter",
        "fit pump-in",
        "fit filter-in old-seals",
        "remove",
        "purge",
        "zero",
        "key on",
        "key off",
        "crank 8",
        "idle",
        "speed raised",
        "valve shut",
        "valve open",
        "valve 0.4",
        "cap open",
        "cap shut",
        "container filter-in",
        "container back",
        "prime 12",
        "wait 20",
        "wait 10min",
        "record idle -85 mbar within",
        "record rest 0 mbar outside from card",
        "amend 1 hold 3 bar invalid",
        "note glass clear",
        "predict idle -150..-40 mbar",
        "believe plugged-filter 100",
        "submit plugged-filter 85",
        "repair filter replace",
        "bleed",
        "leakcheck",
        "handback",
    ];

    fn steps() -> impl Strategy<Value = Vec<Step>> {
        let job = job("nothing-wrong");
        let known: Vec<Action> = LINES.iter().map(|line| say(&job, line)).collect();
        let step = prop_oneof![
            8 => prop::sample::select(known).prop_map(Step::Act),
            1 => crate::bay::words::tests::action().prop_map(Step::Act),
            4 => (1..5 * SECOND).prop_map(Step::Run),
            1 => (1..600 * SECOND).prop_map(Step::Run),
        ];
        prop::collection::vec(step, 0..25)
    }

    /// Ready to run, so that chance alone needn't find the way there.
    const READY: &[&str] = &["fit pump-in", "purge", "zero", "key on", "crank 10", "wait 15"];

    fn sit(job: &Job, steps: &[Step]) -> (Sitting, String) {
        let mut sitting = Sitting::begin(job.clone(), 3, Some("N. N.")).unwrap();
        let mut text = String::new();
        let ready = READY.iter().map(|line| Step::Act(say(job, line)));
        for step in ready.chain(steps.iter().cloned()) {
            match step {
                Step::Act(action) => drop(sitting.act(&action)),
                Step::Run(by) => sitting.advance(by),
            }
            text.extend(sitting.take_lines().into_iter().map(|line| line + "\n"));
            let behind = sitting.now() - sitting.reached;
            assert!(behind < SECOND, "{behind} µs would be lost");
        }
        (sitting, text)
    }

    /// Everything that a bay lets out, time apart.
    fn all_of(bay: &Bay) -> String {
        format!(
            "{} {:?} {:?} {:?} {:?} {:?} {:?} {}",
            bay.trace().hash(),
            bay.trace().ticks,
            bay.sheet(),
            bay.predictions(),
            bay.points(),
            bay.breaches(),
            bay.finding(),
            bay.is_over(),
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn a_replay_is_the_sitting_to_the_bit(steps in steps()) {
            let job = job("nothing-wrong");
            let (sitting, text) = sit(&job, &steps);
            let (attempt, warnings) = Attempt::read(&text).unwrap();
            prop_assert!(warnings.is_empty());
            prop_assert_eq!(&attempt, sitting.attempt());
            let mut again = replay(&job, &attempt).unwrap();
            prop_assert_eq!(again.now(), sitting.reached);
            if !again.is_over() {
                again.advance_to(sitting.now());
            }
            prop_assert_eq!(all_of(&again), all_of(&sitting.bay));
            prop_assert_eq!(again.observe(), sitting.observe());
        }

        #[test]
        fn a_sitting_resumed_anywhere_goes_on_as_if_it_had_never_stopped(
            steps in steps(),
            at in any::<prop::sample::Index>(),
        ) {
            let job = job("nothing-wrong");
            let (sitting, text) = sit(&job, &steps);
            let whole = sitting.attempt();
            let count = at.index(whole.entries().len() + 1);
            let mut resumed = Sitting::resume(job, &whole.first(count)).unwrap();
            prop_assert!(resumed.take_lines().is_empty());
            let mut grown = whole.first(count).text();
            for entry in &whole.entries()[count..] {
                resumed.advance(entry.at - resumed.now());
                if let Event::Act(action) = &entry.event {
                    resumed.act(action);
                }
                grown.extend(resumed.take_lines().into_iter().map(|line| line + "\n"));
            }
            prop_assert_eq!(grown, text);
            resumed.advance(sitting.now() - resumed.now());
            prop_assert_eq!(all_of(&resumed.bay), all_of(&sitting.bay));
        }
    }

    #[test]
    fn how_time_is_cut_changes_the_heartbeats_only() {
        let job = job("nothing-wrong");
        let run = |slice: Micros| {
            let (mut sitting, _) = sit(&job, &[]);
            let end = sitting.now() + 40 * SECOND;
            while sitting.now() < end {
                sitting.advance(slice.min(end - sitting.now()));
                assert!(sitting.now() - sitting.reached < SECOND);
            }
            let _ = sitting.act(&say(&job, "key off"));
            sitting
        };
        let (frames, once) = (run(16_667), run(40 * SECOND));
        assert_eq!(all_of(&frames.bay), all_of(&once.bay));
        let acts = |sitting: &Sitting| {
            let entries = sitting.attempt().entries().iter();
            entries.filter(|entry| entry.event != Event::Tick).cloned().collect::<Vec<_>>()
        };
        assert_eq!(acts(&frames), acts(&once));
        let ticks = |sitting: &Sitting| sitting.attempt().entries().len() - acts(sitting).len();
        assert_eq!((ticks(&frames), ticks(&once)), (40, 1));
    }

    #[test]
    fn what_an_instructor_does_is_replayed_to_the_bit_and_opens_the_wall_only_when_shown() {
        let job = job("nothing-wrong");
        let (mut sitting, _) = sit(&job, &[]);
        let plug = Instruction::Inject { fault: "F15".into(), at: "filter".into(), severity: 3.5 };
        assert!(matches!(sitting.instruct(&plug), Answer::Done { .. }));
        sitting.advance(20 * SECOND);
        assert_eq!(crate::attempt::reveal(&job, sitting.attempt()).err(), Some(ReplayError::NotOver));
        sitting.instruct(&Instruction::Reveal);
        sitting.advance(5 * SECOND);
        let (attempt, _) = Attempt::read(sitting.attempt().text()).unwrap();
        assert_eq!(&attempt, sitting.attempt());
        let mut again = replay(&job, &attempt).unwrap();
        again.advance_to(sitting.now());
        assert_eq!(all_of(&again), all_of(&sitting.bay));
        assert_eq!(again.observe(), sitting.observe());
        let (words, opened) = crate::attempt::reveal(&job, &attempt).unwrap();
        assert!(words.contains("Filter element plugged"), "{words}");
        assert!(!opened.places.is_empty());
        // the sitting goes on, is handed back, and gives no mark
        sitting.act(&say(&job, "key off"));
        sitting.act(&Action::HandBack);
        assert!(sitting.is_over() && sitting.instructed().no_mark().is_some());
        let resumed = Sitting::resume(job.clone(), &sitting.attempt().first(attempt.entries().len())).unwrap();
        assert_eq!(resumed.instructed(), sitting.instructed());
    }

    /// So is what their hands do at the tank, in whatever slices time goes.
    #[test]
    fn what_is_poured_in_and_let_out_is_replayed_to_the_bit() {
        let job = job("nothing-wrong");
        let (mut sitting, _) = sit(&job, &[]);
        let kinds = [("F01", "tank", 4.0), ("F05", "filter", 3.0), ("F06", "tank", 3.0)];
        for (fault, at, severity) in kinds {
            let what = Instruction::Inject { fault: fault.into(), at: at.into(), severity };
            let answer = sitting.instruct(&what);
            assert!(matches!(answer, Answer::Done { .. }), "{fault}: {answer:?}");
            sitting.advance(7 * SECOND);
            sitting.instruct(&Instruction::Clear);
            for _ in 0..50 {
                sitting.advance(SECOND / 10);
            }
        }
        let (attempt, _) = Attempt::read(sitting.attempt().text()).unwrap();
        let mut again = replay(&job, &attempt).unwrap();
        again.advance_to(sitting.now());
        assert_eq!(all_of(&again), all_of(&sitting.bay));
        assert_eq!(again.observe(), sitting.observe());
        let resumed = Sitting::resume(job.clone(), &attempt).unwrap();
        assert_eq!(resumed.observe(), sitting.observe());
    }

    #[test]
    fn in_an_assessment_an_instructor_is_refused_and_that_is_on_record() {
        let exam = Job { mode: crate::scenario::model::Mode::Assessment, ..job("nothing-wrong") };
        let mut sitting = Sitting::begin(exam.clone(), 3, None).unwrap();
        assert!(matches!(sitting.instruct(&Instruction::Reveal), Answer::Refused { .. }));
        assert_eq!(sitting.attempt().entries().len(), 1);
        assert_eq!(crate::attempt::reveal(&exam, sitting.attempt()).err(), Some(ReplayError::NotOver));
        // nor does it help to call the same record one of a practice job
        let mut forged = exam.clone();
        forged.mode = crate::scenario::model::Mode::Practice;
        forged.hash = "0".repeat(32);
        assert!(matches!(crate::attempt::reveal(&forged, sitting.attempt()), Err(ReplayError::ChangedJob { .. })));
    }

    #[test]
    fn a_refusal_is_recorded_and_refused_again() {
        let job = job("nothing-wrong");
        let mut sitting = Sitting::begin(job.clone(), 3, None).unwrap();
        let answer = sitting.act(&say(&job, "idle"));
        assert!(matches!(answer, Answer::Refused { .. }), "{answer:?}");
        assert_eq!(sitting.attempt().entries().len(), 1);
        let mut again = None;
        replay_each(&job, sitting.attempt(), |_, answer, _| again = answer.cloned()).unwrap();
        assert_eq!(again, Some(answer));
    }

    #[test]
    fn what_cannot_be_recorded_is_not_done() {
        let job = job("nothing-wrong");
        let mut sitting = Sitting::begin(job.clone(), 3, None).unwrap();
        let before = (all_of(&sitting.bay), sitting.now());
        for action in [
            Action::Crank { secs: f64::NAN },
            Action::Speed { rpm: f64::INFINITY },
            Action::Wait { secs: 1e300 },
            Action::Look { part: "x".repeat(100_000) },
        ] {
            let answer = sitting.act(&action);
            assert!(matches!(answer, Answer::Refused { .. }), "{answer:?}");
        }
        assert_eq!((all_of(&sitting.bay), sitting.now()), before);
        assert!(sitting.attempt().entries().is_empty());
    }

    #[test]
    fn no_sitting_outlasts_its_record() {
        let job = job("nothing-wrong");
        let mut sitting = Sitting::begin(job.clone(), 3, None).unwrap();
        sitting.advance(u64::MAX);
        assert_eq!(sitting.now(), LONGEST_TIME);
        let answer = sitting.act(&say(&job, "wait 1"));
        assert!(matches!(answer, Answer::Refused { .. }), "{answer:?}");
        let text = sitting.attempt().text();
        assert_eq!(Attempt::read(text).unwrap().0.entries().len(), 1);
    }

    #[test]
    fn after_hand_back_the_record_is_closed_and_the_wall_opens() {
        let job = job("nothing-wrong");
        let sitting = Sitting::begin(job.clone(), 3, None).unwrap();
        let mut sitting = *sitting.close().err().expect("the wall opened too early");
        let handed = sitting.act(&Action::HandBack);
        assert!(sitting.is_over(), "{handed:?}");
        let lines = sitting.attempt().entries().len();
        assert!(matches!(sitting.act(&Action::Purge), Answer::Refused { .. }));
        sitting.advance(10 * SECOND);
        assert_eq!(sitting.attempt().entries().len(), lines);
        let mut longer = sitting.attempt().clone();
        longer.push(Entry { at: sitting.now(), event: Event::Act(Action::Purge) }).unwrap();
        assert_eq!(replay(&job, &longer).err(), Some(ReplayError::AfterEnd { line: lines + 2 }));
        let (attempt, closed) = sitting.close().ok().expect("the wall stays closed");
        assert_eq!((attempt.entries().len(), closed.faults().len()), (lines, 0));
    }

    #[test]
    fn a_record_of_another_job_or_a_changed_one_is_not_replayed() {
        let (mine, other) = (job("nothing-wrong"), job("primer-air"));
        let (sitting, _) = sit(&mine, &[]);
        let attempt = sitting.attempt();
        assert!(matches!(replay(&other, attempt), Err(ReplayError::OtherJob { .. })));
        let changed = Job { hash: "0".repeat(32), ..mine.clone() };
        assert!(matches!(replay(&changed, attempt), Err(ReplayError::ChangedJob { .. })));
        // an action moved to a time when the hands were busy, with a chain that holds
        let mut forged = Attempt::begin(attempt.header().clone()).0;
        for entry in attempt.entries() {
            forged.push(Entry { at: entry.at.min(60 * SECOND), event: entry.event.clone() }).unwrap();
        }
        assert!(matches!(replay(&mine, &forged), Err(ReplayError::OutOfStep { .. })));
    }
}
