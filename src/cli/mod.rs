//! The executable: arguments, files on disk, exit codes, and the bay in a plain terminal.
//!
//! Output is made of sentences, one after another, without colour and without tables where somebody
//! works: it reads well line by line, and aloud.

mod again;
mod args;
mod cache;
mod calibrate;
pub mod check;
mod debrief;
mod exit;
pub mod explain;
pub mod fair;
mod fit;
pub mod folder;
mod fresh;
#[cfg(feature = "app")]
mod heap;
mod job;
mod jobs;
pub mod manual;
mod mark;
mod new;
mod overrule;
mod pack;
mod plants;
mod preview;
mod read;
mod say;
pub mod script;
mod seal;
mod sign;
mod sit;
mod vary;

use std::process::ExitCode;

#[cfg(feature = "app")]
use anyhow::Context;
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
    let shelf = || job::Shelf::new(args.jobs.as_deref(), &args.secret);
    let mut out = std::io::stdout().lock();
    let exit = |code: u8| if code == 0 { Exit::Done } else { Exit::Failed };
    match args.command {
        None => {
            drop(out);
            #[cfg(feature = "app")]
            heap::give_back();
            window(&shelf()?, args.window, args.jobs.as_deref())
        }
        Some(Command::Jobs) => jobs::run(&shelf()?, &mut out),
        Some(Command::Sit(typed)) => sit::run(job::Sit::meant(typed, &shelf()?)?, &mut out),
        Some(Command::Mark(typed)) => mark::run(&typed, &shelf()?, &mut out),
        Some(Command::Debrief(typed)) => debrief::run(&typed, &shelf()?),
        Some(Command::Fair(typed)) => fair::run(&typed.into(), &shelf()?, &mut out),
        Some(Command::Key(typed)) => sign::key(&typed, &mut out),
        Some(Command::Sign { attempt }) => sign::sign(&attempt, args.secret.key.as_deref(), &mut out),
        Some(Command::Verify { attempt, signed_by }) => sign::verify(&attempt, &signed_by, &mut out),
        Some(Command::Override(typed)) => overrule::run(&typed, &shelf()?, &mut out),
        Some(Command::Calibrate(typed)) => calibrate::run(&typed, &shelf()?, &mut out),
        Some(Command::Preview(typed)) => preview::run(&typed, &shelf()?, &mut out),
        Some(Command::Read(typed)) => read::run(&typed, &shelf, &mut out),
        Some(Command::Fit(typed)) => fit::run(&typed, &shelf()?, &mut out),
        Some(Command::Check { files, format }) => {
            Ok(exit(check::run_with(&files, &args.secret, format.into(), &mut out)))
        }
        Some(Command::Pack(typed)) => pack::run(&typed, &args.secret, &shelf()?, &mut out),
        Some(Command::New { kind, name, into, plant }) => {
            new::run(&new::New { kind: kind.into(), name, into, plant }, &shelf, &mut out)
        }
        Some(Command::Plants { plant }) => plants::run(plant.as_deref(), &shelf()?, &mut out),
        Some(Command::Vary(typed)) => vary::run(&typed, &shelf()?, &mut out),
        Some(Command::Manual) => manual::run(&mut out),
        Some(Command::Explain { id }) => Ok(exit(explain::run(id.as_deref(), &mut out))),
    }
}

#[cfg(not(feature = "app"))]
fn window(_: &job::Shelf, _: args::Window, _: Option<&std::path::Path>) -> anyhow::Result<Exit> {
    use std::io::Write;
    let line =
        "This build has no window. Sit a job in the terminal with `faultbay sit JOB`; `faultbay jobs` lists them.";
    writeln!(std::io::stdout(), "{line}")?;
    Ok(Exit::Done)
}

#[cfg(feature = "app")]
fn window(shelf: &job::Shelf, typed: args::Window, named: Option<&std::path::Path>) -> anyhow::Result<Exit> {
    use crate::app::sitting::Jobs;
    use crate::app::{Launch, run_app, script};

    let mut jobs = Jobs::of(shelf.library(), typed.seed.unwrap_or_else(any_seed), typed.attempts, marker())
        .coached_by(coach())
        .guided_by(guide());
    // who sits a pack that was handed round doesn't write, and no job of his own stands in the place of one of it
    if named.is_none_or(std::path::Path::is_dir) {
        // jobs that are written go to the folder that was named, so that they are found there again
        jobs = jobs.writing_to(named.map(std::path::Path::to_owned), checker());
    }
    let mut launch = Launch::new(Box::new(jobs));
    if let Some(size) = typed.size {
        launch.size = size;
    }
    if let Some([steps, folder]) =
        typed.shots.as_deref().and_then(|pair| <&[std::path::PathBuf; 2]>::try_from(pair).ok())
    {
        let bytes = std::fs::read(steps).with_context(|| format!("can't read {}", steps.display()))?;
        let text = crate::diag::text_of(bytes).map_err(|why| anyhow::anyhow!("{} {why}", steps.display()))?;
        let steps = script::parse(&text).map_err(|why| anyhow::anyhow!("{}, {why}", steps.display()))?;
        std::fs::create_dir_all(folder).with_context(|| format!("can't create {}", folder.display()))?;
        launch.script = Some((steps, folder.clone()));
    }
    launch.places = typed.places;
    launch.offscreen = typed.offscreen;
    run_app(launch)?;
    Ok(Exit::Done)
}

/// The marking, which keeps what it simulated in the user's cache.
#[cfg(feature = "app")]
fn marker() -> crate::app::sitting::Marker {
    use crate::diagnosis::store::{Nowhere, Store};
    std::sync::Arc::new(|job, attempt, watched| {
        let folder = cache::Folder::of_user();
        let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
        crate::marking::mark::mark_with(job, attempt, store, watched)
    })
}

/// The coach, who asks the vehicles that the marking keeps.
#[cfg(feature = "app")]
fn coach() -> crate::app::coach::Coach {
    use crate::diagnosis::expected::expected;
    use crate::diagnosis::justify::VEHICLES;
    use crate::diagnosis::store::{Nowhere, Store};
    std::sync::Arc::new(|job, watched| {
        let folder = cache::Folder::of_user();
        let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
        expected(job, VEHICLES, store, watched)
    })
}

/// Who knows the cheapest way, from the same vehicles.
#[cfg(feature = "app")]
fn guide() -> crate::app::coach::Guide {
    use crate::diagnosis::expected::par_way;
    use crate::diagnosis::justify::VEHICLES;
    use crate::diagnosis::store::{Nowhere, Store};
    std::sync::Arc::new(|job, candidate, watched| {
        let folder = cache::Folder::of_user();
        let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
        par_way(job, candidate, VEHICLES, store, watched)
    })
}

/// The check of fairness, which keeps what it simulated in the user's cache.
#[cfg(feature = "app")]
fn checker() -> crate::app::editor::files::Checker {
    use crate::authoring::diagnosability::check;
    use crate::diagnosis::justify::VEHICLES;
    use crate::diagnosis::store::{Nowhere, Store};
    std::sync::Arc::new(|job, watched| {
        let folder = cache::Folder::of_user();
        let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
        check(job, VEHICLES, store, watched)
    })
}

/// Another vehicle every time, when none was asked for; the record says which it was.
#[cfg(feature = "app")]
fn any_seed() -> u64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
    since.as_secs() % 1_000_000
}
