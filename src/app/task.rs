//! Slow work beside the window: on a thread of its own, watched, and stopped when nobody wants its answer any more.

use crate::language::said;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError, channel};
use std::time::Duration;

use super::sitting::Watched;

/// Work under way. It knows what it was asked about, so that an answer to an old question can be dropped; dropping the
/// task asks the work to stop.
pub struct Task<T> {
    about: u64,
    answer: Receiver<Result<T, String>>,
    watched: Arc<Watched>,
}

impl<T> Drop for Task<T> {
    fn drop(&mut self) {
        self.watched.leave();
    }
}

impl<T: Send + 'static> Task<T> {
    /// Starts it. `about` tells questions apart.
    pub fn start(about: u64, work: impl FnOnce(&Watched) -> Result<T, String> + Send + 'static) -> Self {
        let (send, answer) = channel();
        let watched = Arc::<Watched>::default();
        let watch = watched.clone();
        std::thread::spawn(move || {
            // nobody waits any longer when the task is gone
            let _ = send.send(work(&watch));
        });
        Self { about, answer, watched }
    }

    /// What it was asked about.
    pub fn about(&self) -> u64 {
        self.about
    }

    /// Share that is done, 0 … 1.
    pub fn share(&self) -> f32 {
        self.watched.share()
    }

    /// The answer, if it comes within a while.
    pub fn within(&self, long: Duration) -> Option<Result<T, String>> {
        match self.answer.recv_timeout(long) {
            Ok(answer) => Some(answer),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => Some(Err(said("task-stopped").to_owned())),
        }
    }

    /// The answer, once it is there.
    pub fn poll(&self) -> Option<Result<T, String>> {
        match self.answer.try_recv() {
            Ok(answer) => Some(answer),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err(said("task-stopped").to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::ensemble::Watch;

    fn wait<T: Send + 'static>(task: &Task<T>) -> Result<T, String> {
        loop {
            if let Some(answer) = task.poll() {
                return answer;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn an_answer_comes_once_and_a_panic_is_an_answer() {
        let task = Task::start(3, |watch| {
            watch.progress(0.5);
            Ok(7)
        });
        assert_eq!((wait(&task), task.about()), (Ok(7), 3));
        assert!((task.share() - 0.5).abs() < 1e-3);
        let broken = Task::<u8>::start(0, |_| std::panic::resume_unwind(Box::new("no message on purpose")));
        assert!(wait(&broken).is_err());
    }

    #[test]
    fn work_that_nobody_waits_for_is_told_so() {
        let (tell, told) = channel();
        let task = Task::start(0, move |watch| {
            while !watch.cancelled() {
                std::thread::yield_now();
            }
            let _ = tell.send(());
            Ok(())
        });
        drop(task);
        told.recv().expect("it stopped");
    }
}
