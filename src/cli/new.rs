//! `faultbay new KIND NAME`: a file to begin with.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

use super::exit::Exit;
use super::job::Shelf;
use super::say::plain;
use super::{again, folder};
use crate::authoring::draft::file_name;
use crate::authoring::first_job::first_job;
use crate::scenario::{Kind, Library, starter};

/// What is wanted.
pub struct New {
    /// What kind of file.
    pub kind: Kind,
    /// Its name, without the ending.
    pub name: String,
    /// Folder that holds those of the kinds.
    pub into: PathBuf,
    /// Vehicle of a job.
    pub plant: Option<String>,
}

/// Writes it where the check and `--jobs` look for it. A file that exists isn't touched.
pub fn run(new: &New, shelf: &impl Fn() -> anyhow::Result<Shelf>, out: &mut impl Write) -> anyhow::Result<Exit> {
    let New { kind, name, into, .. } = new;
    usable(name)?;
    let folder = into.join(kind.folder());
    let path = folder.join(format!("{name}.ron"));
    let taken = || format!("{} exists and isn\u{2019}t overwritten: take another name", path.display());
    if path.exists() {
        bail!(taken());
    }
    let text = text(new, shelf)?;
    fs::create_dir_all(&folder).with_context(|| format!("can\u{2019}t create {}", folder.display()))?;
    let file = OpenOptions::new().write(true).create_new(true).open(&path);
    let mut file = match file {
        // somebody was quicker
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => bail!(taken()),
        other => other.with_context(|| format!("can\u{2019}t write {}", path.display()))?,
    };
    file.write_all(text.as_bytes())?;
    what_next(new, &path, out)?;
    if Library::builtin().entry(*kind, name).is_some() {
        let word = kind.word();
        writeln!(out, "Mind: a {word} called {name} is built in; with --jobs this one stands in its place.")?;
    }
    Ok(Exit::Done)
}

fn usable(name: &str) -> anyhow::Result<()> {
    let odd = name.chars().find(|c| !(c.is_alphanumeric() || "-_".contains(*c)));
    if !name.is_empty() && name.chars().count() <= 60 && odd.is_none() {
        return Ok(());
    }
    let nearest = match file_name(name) {
        usable if usable.is_empty() => String::new(),
        usable => format!("; \u{201c}{usable}\u{201d} could"),
    };
    bail!(
        "a name is made of letters, digits and hyphens, at most 60: \u{201c}{}\u{201d} can\u{2019}t be one{nearest}",
        plain(name)
    )
}

/// The blank page, or one that fits a vehicle: of the folder it goes to, of the one that was named, or built in.
fn text(new: &New, shelf: &impl Fn() -> anyhow::Result<Shelf>) -> anyhow::Result<String> {
    let Some(plant) = &new.plant else { return Ok(starter::starter(new.kind, &new.name)) };
    if new.kind != Kind::Job {
        bail!("only a job is on a vehicle: leave --plant out, or begin a job");
    }
    let shelf = shelf()?;
    let mut library = shelf.library().clone();
    // what can't be read there only matters when it is the vehicle that was named, and is told then
    let _ = folder::lay_over(&mut library, &new.into);
    first_job(&library, plant, &new.name).map_err(|why| anyhow::anyhow!("{}: {why}", plain(plant)))
}

fn what_next(new: &New, path: &Path, out: &mut impl Write) -> anyhow::Result<()> {
    let (name, into) = (&new.name, again::path(&new.into));
    writeln!(
        out,
        "{} is written and can be used as it stands. Make it yours; what is left to write says",
        path.display()
    )?;
    writeln!(out, "  faultbay check {}", again::path(path))?;
    match new.kind {
        Kind::Job => {
            writeln!(out, "what the hidden fault shows, whether it can be found, and how it is sat:")?;
            writeln!(out, "  faultbay preview {name} --jobs {into}")?;
            writeln!(out, "  faultbay fair {name} --jobs {into}")?;
            writeln!(out, "  faultbay sit {name} --jobs {into}")?;
        }
        Kind::Plant => {
            writeln!(out, "what it reads, a card made from that, and a job on it:")?;
            writeln!(out, "  faultbay preview {name} --jobs {into}")?;
            writeln!(out, "  faultbay preview {name} --jobs {into} --card")?;
            writeln!(out, "  faultbay new job JOB --plant {name} --into {into}")?;
        }
        Kind::Course => {
            writeln!(out, "how it is listed:")?;
            writeln!(out, "  faultbay jobs --jobs {into}")?;
        }
        Kind::Rubric => writeln!(out, "A job is marked by it that says rubric: \"{name}\".")?,
    }
    Ok(())
}
