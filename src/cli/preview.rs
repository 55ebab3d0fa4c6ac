//! `faultbay preview PLANT`: what a fault shows in the standard run, in numbers and as traces. For authors.

use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;

use anyhow::Context;

use super::args;
use super::exit::Exit;
use super::job::Shelf;
use crate::authoring::preview::{Seen, Wrong, drive};
use crate::authoring::standard::Standard;
use crate::marking::sentence::number;
use crate::report::figure::Figure;
use crate::report::plot::traces::{Chart, Pen, chart};
use crate::scenario::Kind;

/// How many commonest faults a page shows when nothing else is asked for.
const COMMONEST: u8 = 5;
/// A reading that moves by less isn't called moved, mbar, and as a share of the sound one.
const MOVED: (f64, f64) = (10.0, 0.02);

/// One plant with all that was driven.
struct Driven {
    run: Standard,
    title: String,
    sound: Seen,
    others: Vec<(Wrong, Seen)>,
}

/// Drives, tells, draws.
pub fn run(typed: &args::Preview, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let names = if typed.plant == "all" { shelf.library().names(Kind::Plant) } else { vec![typed.plant.clone()] };
    let mut page = String::new();
    for name in &names {
        let driven = driven(typed, shelf, name)?;
        let figure = figure(&driven);
        match &typed.page {
            Some(path) => {
                let folder = path.with_extension("");
                std::fs::create_dir_all(&folder).with_context(|| format!("can't create {}", folder.display()))?;
                let picture = folder.join(format!("{name}.svg"));
                write(&picture, &figure.standalone())?;
                let beside = folder.file_name().map(|f| f.to_string_lossy().into_owned()).unwrap_or_default();
                page += &section(&driven, &format!("{beside}/{name}.svg"));
            }
            None => out.write_all(text(&driven).as_bytes())?,
        }
        if let Some(path) = &typed.svg {
            write(path, &figure.standalone())?;
            writeln!(std::io::stderr(), "The traces are in {}.", path.display())?;
        }
    }
    if let Some(path) = &typed.page {
        write(path, &(head(typed) + &page))?;
        writeln!(std::io::stderr(), "The page is {}.", path.display())?;
    }
    out.flush()?;
    Ok(Exit::Done)
}

fn write(path: &Path, text: &str) -> anyhow::Result<()> {
    std::fs::write(path, text).with_context(|| format!("can't write {}", path.display()))
}

fn driven(typed: &args::Preview, shelf: &Shelf, name: &str) -> anyhow::Result<Driven> {
    let plant = shelf.plant(name)?;
    let run = Standard::of(shelf.library(), name, typed.joint.as_deref()).map_err(anyhow::Error::msg)?;
    let count = typed.commonest.or((typed.page.is_some() && typed.fault.is_empty()).then_some(COMMONEST));
    let wrong = match count {
        Some(count) => Wrong::commonest(&plant, count.into()),
        None if typed.fault.is_empty() => Ok(vec![]),
        None => Wrong::read(&plant, &typed.fault).map(|w| vec![w]),
    };
    let wrong = wrong.map_err(anyhow::Error::msg)?;
    let seen = |w: &Wrong| drive(&run, w).map_err(|why| anyhow::anyhow!("{name}, {}: {why}", w.words));
    let sound = seen(&Wrong::nothing())?;
    let mut others = vec![];
    for w in wrong {
        let shown = seen(&w)?;
        others.push((w, shown));
    }
    Ok(Driven { run, title: plant.title, sound, others })
}

fn figure(d: &Driven) -> Figure {
    let levels = |seen: &Seen| seen.readings.iter().map(|r| r.mbar).collect::<Vec<f64>>();
    let names: Vec<&str> = d.run.reads.iter().map(|r| r.words).collect();
    let sound = levels(&d.sound);
    let others: Vec<Vec<f64>> = d.others.iter().map(|(_, seen)| levels(seen)).collect();
    let pens: Vec<Pen<'_>> = d
        .others
        .iter()
        .zip(&others)
        .map(|((wrong, seen), readings)| Pen { name: &wrong.words, trace: &seen.trace, readings })
        .collect();
    chart(&Chart {
        title: &format!("{}, tee at {}", d.title, d.run.label),
        sound: Pen { name: "nothing wrong", trace: &d.sound.trace, readings: &sound },
        others: &pens,
        readings: &names,
        times: (d.run.begins, d.run.stops + 20 * crate::bay::action::SECOND, d.run.ends),
    })
}

/// Decimals for a level: tenths for small ones.
fn level(mbar: f64) -> String {
    number(mbar, usize::from(mbar.abs() < 99.95))
}

fn range(d: &Driven, k: usize) -> String {
    let limit = d.run.limit(&d.run.reads[k]);
    limit.map_or_else(String::new, |l| format!("{} … {}", number(l.low_mbar, 0), number(l.high_mbar, 0)))
}

fn has_moved(sound: f64, other: f64) -> bool {
    (other - sound).abs() > MOVED.0.max(MOVED.1 * sound.abs())
}

fn text(d: &Driven) -> String {
    let mut out = format!("{}\nStandard run, tee at the {}; pressures in mbar gauge\n", d.title, d.run.label);
    let of = |seen: &Seen, out: &mut String, name: &str| {
        let _ = writeln!(out, "\n{name}");
        for (k, (read, shown)) in d.run.reads.iter().zip(&seen.readings).enumerate() {
            let sound = d.sound.readings[k].mbar;
            let moved = if has_moved(sound, shown.mbar) { number(shown.mbar - sound, 0) } else { String::new() };
            let moved = if moved.is_empty() || moved.starts_with('−') { moved } else { format!("+{moved}") };
            let outside = d.run.limit(read).is_some_and(|l| shown.mbar < l.low_mbar || shown.mbar > l.high_mbar);
            let _ = writeln!(
                out,
                "  {:<12} {:>8} {:>7}  card {:<15} {:<8} glass {:<8} engine {}",
                read.words,
                level(shown.mbar),
                moved,
                range(d, k),
                if outside { "outside" } else { "" },
                shown.glass,
                shown.engine
            );
        }
    };
    of(&d.sound, &mut out, "Nothing wrong");
    for (wrong, seen) in &d.others {
        of(seen, &mut out, &wrong.words);
    }
    out + "\nTraining values. On a real machine use its maker's data.\n"
}

fn head(typed: &args::Preview) -> String {
    let what = match (&typed.fault[..], typed.commonest) {
        ([], count) => format!("--commonest {}", count.unwrap_or(COMMONEST)),
        (faults, _) => faults.iter().map(|f| format!("--fault {f:?}")).collect::<Vec<_>>().join(" "),
    };
    format!(
        "# What faults show\n\nThe standard run on each vehicle with the tee at the last joint through which fuel is drawn (else the last before the engine): at rest, while cranking, at \
         idle, at raised speed, under\nload and against the shut valve where the card has them, and the hold. Grey: the sound \
         vehicle; in ink: the same vehicle with\none fault at severity 3 (the customer complains). The faults are those that such \
         vehicles have most often. Twenty seconds\nafter the engine stops the paper runs slower. Made by\n\n```sh\nfaultbay preview {} \
         {what} --page OUT.md\n```\n\n**Training values. On a real machine use its maker's data.** Pressures in mbar gauge.\n",
        typed.plant
    )
}

fn section(d: &Driven, picture: &str) -> String {
    let mut out = format!("\n## {}\n\nTee at the {}.\n\n![The traces]({picture})\n\n| |", d.title, d.run.label);
    for read in &d.run.reads {
        let _ = write!(out, " {} |", read.words);
    }
    out += " glass at idle | engine at raised |\n|---|";
    out += &"---:|".repeat(d.run.reads.len());
    out += "---|---|\n| card |";
    for k in 0..d.run.reads.len() {
        let _ = write!(out, " {} |", range(d, k));
    }
    out += " | |\n";
    let at = |seen: &Seen, words: &str| {
        let k = d.run.reads.iter().position(|r| r.words == words);
        k.map_or(("", ""), |k| (seen.readings[k].glass, seen.readings[k].engine))
    };
    let mut row = |name: &str, seen: &Seen| {
        let _ = write!(out, "| {name} |");
        for shown in &seen.readings {
            let _ = write!(out, " {} |", number(shown.mbar, 0));
        }
        let _ = writeln!(out, " {} | {} |", at(seen, "idle").0, at(seen, "raised").1);
    };
    row("nothing wrong", &d.sound);
    for (wrong, seen) in &d.others {
        row(&wrong.words, seen);
    }
    out
}
