//! How the executable ends.

use std::io::ErrorKind;
use std::process::ExitCode;

/// How a command came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// As it should.
    Done,
    /// The sitting ended without a hand-back.
    Unfinished,
    /// It went on to its end in spite of an error, which it has reported.
    Failed,
}

impl Exit {
    /// The code that the shell sees: 0, 1 or 2.
    pub const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Unfinished => 1,
            Self::Failed => 2,
        }
    }
}

/// Reports an error, once, and gives the exit code. A reader that went away (`faultbay … | head`)
/// isn't an error.
pub fn finish(result: anyhow::Result<Exit>) -> ExitCode {
    match result {
        Ok(exit) => exit.code().into(),
        Err(error) if is_closed_pipe(&error) => Exit::Done.code().into(),
        Err(error) => {
            // nothing can be done when even this can't be written
            let _ = std::io::Write::write_all(&mut std::io::stderr(), format!("faultbay: {error:#}\n").as_bytes());
            Exit::Failed.code().into()
        }
    }
}

fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.downcast_ref::<std::io::Error>().is_some_and(|e| e.kind() == ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_bare_closed_pipe_is_forgiven() {
        let pipe = || std::io::Error::from(ErrorKind::BrokenPipe);
        assert!(is_closed_pipe(&pipe().into()));
        assert!(!is_closed_pipe(&std::io::Error::from(ErrorKind::NotFound).into()));
        assert!(!is_closed_pipe(&anyhow::anyhow!("the job has a broken pipe")));
    }
}
