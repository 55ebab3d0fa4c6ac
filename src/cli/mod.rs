//! The executable: arguments, files on disk, exit codes, and the bay in a plain terminal.
//!
//! Output is made of sentences, one after another, without colour and without tables where somebody
//! works: it reads well line by line, and aloud.

mod args;
pub mod check;
mod exit;
pub mod explain;
pub mod folder;
mod job;
mod jobs;
mod mark;
mod say;
mod sit;

use std::io::Write;
use std::process::ExitCode;

use clap::Parser;

use args::{Args, Command};
use exit::Exit;

/// Runs the executable.
pub fn main() -> ExitCode {
    match Args::try_parse() {
        Ok(args) => exit::finish(run(args)),
        Err(error) => {
            // help and version go to standard output and are no error
            let _ = error.print();
            u8::try_from(error.exit_code()).unwrap_or(Exit::Failed.code()).into()
        }
    }
}

fn run(args: Args) -> anyhow::Result<Exit> {
    let shelf = || job::Shelf::new(args.jobs.as_deref());
    let mut out = std::io::stdout().lock();
    let exit = |code: u8| if code == 0 { Exit::Done } else { Exit::Failed };
    match args.command {
        None => window(&mut out),
        Some(Command::Jobs) => jobs::run(&shelf()?, &mut out),
        Some(Command::Sit(typed)) => sit::run(job::Sit::meant(typed, &shelf()?)?, &mut out),
        Some(Command::Mark(typed)) => mark::run(&typed, &shelf()?, &mut out),
        Some(Command::Check { files, format }) => Ok(exit(check::run(&files, format.into(), &mut out))),
        Some(Command::Explain { id }) => Ok(exit(explain::run(id.as_deref(), &mut out))),
    }
}

#[cfg(not(feature = "app"))]
fn window(out: &mut impl Write) -> anyhow::Result<Exit> {
    writeln!(
        out,
        "This build has no window. Sit a job in the terminal with `faultbay sit JOB`; `faultbay jobs` lists them."
    )?;
    Ok(Exit::Done)
}

#[cfg(feature = "app")]
fn window(out: &mut impl Write) -> anyhow::Result<Exit> {
    writeln!(
        out,
        "The window isn't built in yet. Sit a job in the terminal with `faultbay sit JOB`; `faultbay jobs` lists them."
    )?;
    Ok(Exit::Done)
}
