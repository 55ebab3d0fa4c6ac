//! `faultbay debrief`: an attempt marked, and the mark written as documents.

use std::io::{Read, Write};
use std::path::Path;

use anyhow::{Context, bail};

use super::exit::Exit;
use super::job::{Shelf, read_attempt};
use super::{args, mark};
use crate::report::debrief::{Head, debrief};
use crate::report::document::Document;
use crate::report::html::{LARGEST_TEMPLATE, TEMPLATES, Templates};
use crate::report::{json, xapi};

/// Marks the attempt and writes what was asked for.
pub fn run(typed: &args::Debrief, shelf: &Shelf) -> anyhow::Result<Exit> {
    // whatever can be wrong with the order is said before the marking, which takes a while
    let templates = typed.template.as_deref().map_or_else(|| Ok(Templates::default()), templates)?;
    let options = options(&typed.statements)?;
    if typed.pdf.is_some() && cfg!(not(feature = "pdf")) {
        bail!("this build writes no PDF; write --html and print it from a browser");
    }
    let (attempt, warnings) = read_attempt(&typed.attempt)?;
    for warning in warnings {
        writeln!(std::io::stderr(), "{}: {warning}", typed.attempt.display())?;
    }
    let job = shelf.job(&attempt.header().job)?;
    let decided = typed.mark.as_deref().map(super::overrule::read_mark).transpose()?;
    if decided.as_ref().is_some_and(|m| m.attempt_hash != attempt.hash()) {
        bail!("the mark with the assessor's decision belongs to another attempt");
    }
    let mut mark =
        mark::known(&job, &attempt).map_err(|why| anyhow::anyhow!("{}: {why}", typed.attempt.display()))?;
    if let Some(decided) = decided {
        if decided.total.to_bits() != mark.total.to_bits() {
            bail!("the computed mark is {} now, and was {} when it was decided on", mark.total, decided.total);
        }
        mark.overrides = decided.overrides;
    }
    let head = Head { date: typed.date.clone(), ..Head::of(shelf.library(), &job) };
    let document = debrief(&job, &attempt, &mark, &head)?;
    if let Some(file) = &typed.html {
        write(file, templates.page(&document)?.as_bytes())?;
    }
    if let Some(file) = &typed.pdf {
        write(file, &pdf(&document)?)?;
    }
    if let Some(file) = &typed.json {
        write(file, json::mark(&mark).as_bytes())?;
    }
    if let Some(file) = &typed.xapi {
        write(file, xapi::statements(&job, &attempt, &mark, &options)?.as_bytes())?;
    }
    Ok(Exit::Done)
}

/// Writes a file and says so.
pub fn write(file: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    std::fs::write(file, bytes).map_err(|why| anyhow::anyhow!("{}: {why}", file.display()))?;
    writeln!(std::io::stderr(), "{} is written.", file.display())?;
    Ok(())
}

#[cfg(feature = "pdf")]
fn pdf(document: &Document) -> anyhow::Result<Vec<u8>> {
    Ok(crate::report::pdf::write(document)?)
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Document) -> anyhow::Result<Vec<u8>> {
    bail!("this build writes no PDF")
}

/// The templates of a folder over those of the house.
fn templates(folder: &Path) -> anyhow::Result<Templates> {
    if !folder.is_dir() {
        bail!("{} isn't a folder", folder.display());
    }
    let mut templates = Templates::default();
    let mut any = false;
    for (name, _) in TEMPLATES {
        let path = folder.join(name);
        if !path.exists() {
            continue;
        }
        let mut bytes = Vec::new();
        let file = std::fs::File::open(&path).with_context(|| format!("can't read {}", path.display()))?;
        file.take(LARGEST_TEMPLATE as u64 + 1)
            .read_to_end(&mut bytes)
            .with_context(|| format!("can't read {}", path.display()))?;
        // cut in the middle of a character it is too large anyway, and is told so
        let text = match String::from_utf8(bytes) {
            Ok(text) => text,
            Err(e) if e.as_bytes().len() > LARGEST_TEMPLATE => String::from_utf8_lossy(e.as_bytes()).into_owned(),
            Err(e) => {
                bail!("{}: isn't text in UTF-8 (byte {})", path.display(), e.utf8_error().valid_up_to())
            }
        };
        templates.replace(name, &text)?;
        any = true;
    }
    if !any {
        let names = TEMPLATES.map(|(name, _)| name).join(", ");
        bail!("{} holds none of the files that can be replaced: {names}", folder.display());
    }
    Ok(templates)
}

fn options(typed: &args::Statements) -> anyhow::Result<xapi::Options> {
    let options = xapi::Options {
        base: typed.base.clone().unwrap_or_else(|| xapi::BASE.to_owned()),
        learner: typed.learner.clone(),
        started: typed.started.clone(),
        released: typed.released,
    };
    options.check()?;
    Ok(options)
}
