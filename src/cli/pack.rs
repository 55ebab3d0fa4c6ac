//! `faultbay pack`: jobs, and courses with their jobs, with what they need as one file, open or sealed.

use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result, anyhow, bail};

use super::args::Pack as Typed;
use super::cache::Folder;
use super::check::looked_at;
use super::exit::Exit;
use super::fair::verdict;
use super::fresh;
use super::job::Shelf;
use super::seal::{self, Secret};
use crate::authoring::diagnosability::{Weight, kept};
use crate::diag::{is_sealed, text_of};
use crate::diagnosis::justify::VEHICLES;
use crate::diagnosis::store::{Nowhere, Store};
use crate::scenario::pack::{LARGEST_PACK, Pack};
use crate::scenario::{Kind, Library, load_job};

/// Packs jobs. Each must be free of errors: a broken job helps nobody.
pub fn run(typed: &Typed, secret: &Secret, shelf: &Shelf, out: &mut impl Write) -> Result<Exit> {
    if typed.names.is_empty() {
        bail!("no job was named");
    }
    fresh::is_free(&typed.out)?;
    let library = shelf.library();
    let mut pack = Pack::empty();
    for name in &typed.names {
        if library.text(Kind::Job, name).is_none() && library.text(Kind::Course, name).is_some() {
            pack.add_course(library, name)?;
        } else {
            shelf.job(name)?;
            pack.add(library, name)?;
        }
    }
    for job in pack.jobs() {
        shelf.job(job)?;
    }
    let sealed = typed.seal || !typed.to.is_empty();
    if let Some(name) = pack.jobs().iter().find(|name| !sealed && shelf.came_sealed(name)) {
        bail!("{name} came sealed: seal it again with --seal or --to");
    }
    if sealed {
        pack.salt(&seal::salt());
    }
    let bytes = if sealed { seal::close(&pack.text(), &typed.to, secret)? } else { pack.text().into_bytes() };
    fresh::write(&typed.out, &bytes)?;
    let how = if sealed {
        "Sealed: its jobs are seen only by who can open it"
    } else {
        "Not sealed: who reads it sees each hidden cause"
    };
    let pictures = match pack.pictures() {
        0 => String::new(),
        1 => " and a picture".to_owned(),
        n => format!(" and {n} pictures"),
    };
    let (file, jobs) = (typed.out.display(), pack.jobs().join(", "));
    writeln!(out, "{file} holds {} files with {jobs}{pictures}. {how}.", pack.len())?;
    for name in pack.jobs() {
        doubts(name, shelf, out)?;
    }
    Ok(Exit::Done)
}

/// What whoever hands a job round should know of it: what the check warns of, and whether it is fair, as far as that was
/// checked. Jobs that are built in were looked at already; of one that came sealed nothing is told.
fn doubts(name: &str, shelf: &Shelf, out: &mut impl Write) -> Result<()> {
    let library = shelf.library();
    let is_builtin = library.text(Kind::Job, name) == Library::builtin().text(Kind::Job, name);
    if is_builtin || shelf.came_sealed(name) {
        return Ok(());
    }
    let Ok((job, _)) = load_job(library, name) else { return Ok(()) };
    // the same that the check says, so that its count is right
    let (named, text) = library.entry(Kind::Job, name).unwrap_or_default();
    let report = looked_at(Some(Kind::Job), named, text, library);
    let file = shelf.file_of(name);
    match report.warnings() {
        0 => {}
        1 => writeln!(out, "Mind: the check warns of something in {name}; see it with `faultbay check {file}`.")?,
        n => {
            writeln!(out, "Mind: the check warns of {n} things in {name}; see them with `faultbay check {file}`.")?
        }
    }
    let options = shelf.options();
    let folder = Folder::of_user();
    let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
    match kept(&job, VEHICLES, store) {
        None => {
            writeln!(
                out,
                "Mind: whether {name} is fair wasn\u{2019}t checked, or not since it was changed: faultbay fair {name}{options}"
            )?;
        }
        Some(found) if found.gravest().is_some_and(|weight| weight > Weight::Remark) => {
            writeln!(
                out,
                "Mind: {name} is {} by its check. See why: faultbay fair {name}{options}",
                verdict(&found)
            )?;
        }
        Some(_) => {}
    }
    Ok(())
}

/// Lays a pack over a library; a sealed one is opened first, and its jobs are named.
///
/// # Errors
/// It can't be read, opened or believed.
pub fn lay_over(library: &mut Library, file: &Path, secret: &Secret) -> Result<Vec<String>> {
    let (pack, sealed) = opened(file, secret)?;
    pack.lay_over(library, &file.display().to_string());
    Ok(if sealed { pack.jobs().into_iter().map(str::to_owned).collect() } else { vec![] })
}

/// The pack in a file, and whether it came sealed.
///
/// # Errors
/// It can't be read, opened or believed.
pub fn opened(file: &Path, secret: &Secret) -> Result<(Pack, bool)> {
    let name = || file.display().to_string();
    let bytes = super::job::read_file(file, 2 * LARGEST_PACK)?;
    let sealed = is_sealed(&bytes);
    let text = if sealed {
        seal::open(&bytes, secret).with_context(name)?
    } else {
        text_of(bytes).map_err(|why| anyhow!("{} {why}", file.display()))?
    };
    Ok((Pack::read(&text).with_context(name)?, sealed))
}
