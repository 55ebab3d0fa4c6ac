//! `faultbay vary JOB`: variants of a job that are as hard as it is, as files. For authors; it tells the answer.

use std::fs::{self, OpenOptions};
use std::io::{IsTerminal, Write};
use std::path::Path;
use std::sync::atomic::AtomicU8;

use anyhow::{Context, bail};

use super::again;
use super::args::{Format, Vary};
use super::cache::Folder;
use super::exit::Exit;
use super::fair::Progress;
use super::job::Shelf;
use crate::authoring::vary::{Asked, Bands, Measured, TRIES, Variant, Varied, vary};
use crate::diagnosis::justify::VEHICLES;
use crate::diagnosis::store::{Nowhere, Store};
use crate::scenario::{Kind, Library, PICTURES};

/// Draws, proves, writes. Exit code 2 when there are fewer equivalent ones than wanted.
pub fn run(typed: &Vary, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    // what exists is told before minutes are spent
    let file = |name: &str| typed.into.join(Kind::Job.folder()).join(format!("{name}.ron"));
    for n in 1..=typed.count {
        let path = file(&format!("{}-{n}", typed.job));
        if path.exists() {
            bail!("{} exists and isn\u{2019}t overwritten: name another folder with --into", path.display());
        }
    }
    shelf.tells_answers_of(&typed.job)?;
    let job = shelf.job(&typed.job)?;
    let folder = Folder::of_user();
    let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
    let watch = Progress(AtomicU8::new(0), std::io::stderr().is_terminal());
    let asked = Asked {
        job: &typed.job,
        count: typed.count.into(),
        seed: typed.seed,
        vehicles: typed.vehicles.map_or(VEHICLES, |n| n as usize),
        bands: Bands::STANDARD,
    };
    let told = |variant: &Variant| {
        if watch.1 {
            let _ = write!(std::io::stderr(), "\r{}", judged(variant));
        }
    };
    if watch.1 {
        writeln!(
            std::io::stderr(),
            "Simulates {} and up to {} draws; each takes as long as faultbay fair does. Ctrl C stops it: nothing is written \
             then, and what was simulated is kept for the next time.",
            typed.job,
            TRIES * asked.count
        )?;
    }
    let varied = vary(shelf.library(), &asked, store, &watch, &told)
        .map_err(|why| anyhow::anyhow!("{}: {why}", typed.job))?;
    if watch.1 {
        writeln!(std::io::stderr())?;
    }
    for variant in varied.equivalent() {
        if let Some(name) = &variant.name {
            write(&file(name), variant.text.as_bytes())?;
        }
    }
    // a plant or rubric of the author's own goes along, and so do the pictures of the card
    for (kind, name) in [(Kind::Plant, &job.plant.name), (Kind::Rubric, &job.rubric.name)] {
        let text = shelf.library().text(kind, name).unwrap_or_default();
        let path = typed.into.join(kind.folder()).join(format!("{name}.ron"));
        if Library::builtin().text(kind, name) != Some(text) && !path.exists() {
            write(&path, text.as_bytes())?;
        }
    }
    for shown in &job.pictures {
        let path = typed.into.join(PICTURES).join(format!("{}.png", shown.name));
        if !path.exists() {
            write(&path, shown.picture.png())?;
        }
    }
    let enough = varied.equivalent().count() == asked.count;
    match typed.format {
        Format::Json => {
            serde_json::to_writer_pretty(&mut *out, &varied)?;
            writeln!(out)?;
        }
        Format::Text => out.write_all(text(&varied, typed, shelf.options()).as_bytes())?,
    }
    out.flush()?;
    Ok(if enough { Exit::Done } else { Exit::Failed })
}

/// What became of a draw, for somebody who waits.
fn judged(variant: &Variant) -> String {
    match (&variant.name, variant.because.first()) {
        (Some(name), _) => format!("Draw {}: {name} is equivalent.\n", variant.draw),
        (None, Some(why)) => format!("Draw {}: rejected. {why}\n", variant.draw),
        (None, None) => format!("Draw {}: rejected.\n", variant.draw),
    }
}

fn write(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let failed = || format!("can\u{2019}t write {}", path.display());
    fs::create_dir_all(path.parent().unwrap_or(Path::new("."))).with_context(failed)?;
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).with_context(failed)?;
    file.write_all(bytes).with_context(failed)
}

fn row(name: &str, vehicle: &str, m: Option<&Measured>, says: &str) -> String {
    let Some(m) = m else { return format!("| {name} | {vehicle} | | | | | | {says} |\n") };
    format!(
        "| {name} | {vehicle} | {:.1} | {:.1} | {:.2} | {:.0} | {:.0} | {says} |\n",
        m.minutes,
        m.credits,
        m.difficulty,
        100.0 * m.reachable,
        100.0 * m.own
    )
}

fn text(varied: &Varied, typed: &Vary, options: &str) -> String {
    let count = varied.equivalent().count();
    let mut t = format!(
        "{}: {count} of {} draws are equivalent (seed {}).\n\n\
         | job | vehicle | par min | par credits | difficulty | reachable | on its own vehicle | differs |\n\
         |---|---|---:|---:|---:|---:|---:|---|\n",
        varied.job,
        varied.variants.len(),
        varied.seed
    );
    t += &row(&varied.job, "", Some(&varied.original), "");
    for v in &varied.variants {
        let name = v.name.clone().unwrap_or_else(|| format!("draw {}, rejected", v.draw));
        t += &row(&name, &v.vehicle.to_string(), v.measured.as_ref(), &v.differs.join("; "));
    }
    for v in varied.variants.iter().filter(|v| !v.because.is_empty()) {
        t += &format!("\nDraw {} isn't equivalent\n", v.draw);
        for why in &v.because {
            t += &format!("  {why}\n");
        }
    }
    let b = &varied.bands;
    t += &format!(
        "\nEquivalent: the same first test (here \u{201c}{}\u{201d}), the same candidates that can't be told apart, the same \
         right answer, no graver remark of the check; par minutes within {:.0} in 100, par cost within {:.0} in 100 or {:.0} \
         credits, difficulty within {:.2}, reachable belief within {:.2}; what a \
         sound vehicle shows within {:.0} doubts of a reading.\n",
        varied.original.first,
        100.0 * b.minutes,
        100.0 * b.credits,
        b.least_credits,
        b.difficulty,
        b.reachable,
        b.sound
    );
    if count < typed.count.into() {
        t += &format!(
            "\nOnly {count} of {} wanted. Narrow what may differ in the job's field \u{201c}varies\u{201d}, or look at what the \
             check says of it: faultbay fair {}{options}\n",
            typed.count, varied.job
        );
    } else {
        t += &format!("\nSit one: faultbay sit {}-1 --jobs {}\n", varied.job, again::path(&typed.into));
    }
    t
}
