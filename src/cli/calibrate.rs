//! `faultbay calibrate PLANT`: how far belief may be trusted on a plant, measured on fresh vehicles. For authors.

use std::fmt::Write as _;
use std::io::Write;

use anyhow::Context;

use super::args;
use super::exit::Exit;
use super::job::Shelf;
use crate::authoring::calibrate::{CLASSES, Calibrated, calibrate};
use crate::authoring::standard::Standard;
use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::gate::MOST_ERROR;
use crate::scenario::Kind;

/// Shares below this aren't named as confusions.
const NAMED: f64 = 0.15;
/// Most confusions that are named of a plant.
const MOST_NAMED: usize = 12;

/// Tells how far the work has come, in tenths.
struct Tenths(std::sync::atomic::AtomicUsize);

impl Watch for Tenths {
    fn progress(&self, done: f64) {
        let tenth = (10.0 * done) as usize;
        if self.0.fetch_max(tenth, std::sync::atomic::Ordering::Relaxed) < tenth {
            // somebody who can't be told isn't told
            let _ = write!(std::io::stderr(), " {tenth}");
        }
    }
}

/// Simulates and tells. Exit code 2 when a plant misses the error that assessment asks for.
pub fn run(typed: &args::Calibrate, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let names = if typed.plant == "all" { shelf.library().names(Kind::Plant) } else { vec![typed.plant.clone()] };
    let (mut page, mut passes) = (String::new(), true);
    let mut overview = String::from(
        "| plant | causes | reference | fresh | error | by chance | claimed less right | error in groups | right | right group | none of these |\n\
         |---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n",
    );
    for name in &names {
        let run = Standard::of(shelf.library(), name, typed.joint.as_deref()).map_err(anyhow::Error::msg)?;
        write!(std::io::stderr(), "{name}:")?;
        let began = std::time::Instant::now();
        let found = calibrate(&run, typed.vehicles, typed.fresh, &Tenths(0.into())).map_err(anyhow::Error::msg)?;
        writeln!(std::io::stderr(), ", {:.0} s", began.elapsed().as_secs_f64())?;
        passes &= found.error.0 <= MOST_ERROR;
        let _ = writeln!(overview, "{}", line(name, &found));
        let text = told(name, &run, &found);
        match &typed.page {
            Some(_) => page += &text,
            None => out.write_all(text.as_bytes())?,
        }
    }
    match &typed.page {
        Some(path) => {
            let text = format!("{}{overview}{page}", head(typed));
            std::fs::write(path, text).with_context(|| format!("can't write {}", path.display()))?;
        }
        None => writeln!(out, "\n{overview}")?,
    }
    out.flush()?;
    Ok(if passes { Exit::Done } else { Exit::Failed })
}

fn line(name: &str, c: &Calibrated) -> String {
    format!(
        "| {name} | {} | {} | {} | {:.3} | {:.3} | {:+.3} | {:.3} | {:.0} % | {:.0} % | {:.1} % |",
        c.causes.len(),
        c.reference.1,
        c.fresh,
        c.error.0,
        c.chance,
        c.too_sure,
        c.error.1,
        100.0 * c.found.0,
        100.0 * c.found.1,
        100.0 * c.none.abs()
    )
}

fn head(typed: &args::Calibrate) -> String {
    format!(
        "# How far belief may be trusted\n\nFresh vehicles with known causes went through the standard run with the tee at the \
         usual joint, were watched in full\ndetail and read with the noise of the gauge; what their readings justify was \
         worked out by the engine that marks. Made by\n\n```sh\nfaultbay calibrate {} --vehicles {} --fresh {} --page OUT.md\n```\n\n\
         **Error** is the expected calibration error of the likeliest cause in ten bins (at most {MOST_ERROR} for \
         assessment), weighed by\nprior; **by chance** is what perfectly honest belief would show with so few vehicles; **claimed \
         less right** is positive where\nbelief is too sure. **Right** counts the very cause, **right group** those that this run can't \
         tell apart as one. All of it\nholds for somebody who takes this model for true: it says nothing about real vehicles.\n\n\
         The first table of a vehicle holds what was claimed against what came true: a line that says 75 % claimed and 74 % right is\n\
         honest. The second says for each cause how many of its vehicles are found by this run, by how far the fault has gone: \
         **faint** is up\nto severity 2.5, **plain** up to 3.5, **grave** above. What isn't found is taken for the causes in the last \
         column. A cause that\nshows nothing at this joint in this run can't be found by it and ends on a heap with \u{201c}sound\u{201d}; \
         the heaps are named below the table,\nand it takes another joint, test or state to break them up.\n\n",
        typed.plant, typed.vehicles, typed.fresh
    )
}

fn told(name: &str, run: &Standard, c: &Calibrated) -> String {
    let mut out = format!("\n## {name}, tee at the {}\n\n", run.label);
    out += "| claimed | share of vehicles | mean claimed | right | vehicles |\n|---|---:|---:|---:|---:|\n";
    for (i, bin) in c.bins.iter().enumerate().filter(|(_, b)| b.cases > 0) {
        let _ = writeln!(
            out,
            "| {} to {} % | {:.1} % | {:.0} % | {:.0} % | {} |",
            10 * i,
            10 * (i + 1),
            100.0 * bin.share,
            100.0 * bin.claimed,
            100.0 * bin.right,
            bin.cases
        );
    }
    let _ = write!(out, "\n| cause | prior |");
    for class in CLASSES {
        let _ = write!(out, " right, {class} |");
    }
    out += " taken for |\n|---|---:|---:|---:|---:|---|\n";
    let n = c.causes.len();
    let code = |k: usize| if k == n { "none of these".to_owned() } else { c.causes[k].code.clone() };
    for (k, cause) in c.causes.iter().enumerate() {
        let mut others: Vec<(usize, f64)> =
            c.confusion[k].iter().copied().enumerate().filter(|(j, share)| *j != k && *share > 0.0).collect();
        others.sort_by(|a, b| b.1.total_cmp(&a.1));
        others.truncate(4);
        let words: Vec<String> = others.iter().map(|(j, s)| format!("{} {:.0} %", code(*j), 100.0 * s)).collect();
        let _ = write!(out, "| {} {} | {:.1} % |", cause.code, cause.words, 100.0 * cause.prior);
        for found in cause.found {
            let _ = write!(out, " {:.0} % |", 100.0 * found);
        }
        let _ = writeln!(out, " {} |", words.join(", "));
    }
    out + &heaps(c) + &in_words(c)
}

/// The causes that this run leaves on one heap, in sentences.
fn heaps(c: &Calibrated) -> String {
    let last = c.causes.iter().map(|k| k.group).max().unwrap_or(0);
    let mut out = String::new();
    for group in 0..=last {
        let codes: Vec<&str> = c.causes.iter().filter(|k| k.group == group).map(|k| k.code.as_str()).collect();
        let prior: f64 = c.causes.iter().filter(|k| k.group == group).map(|k| k.prior).sum();
        if codes.len() > 1 {
            let _ = writeln!(out, "- {}: {:.0} of 100 vehicles.", codes.join(", "), 100.0 * prior);
        }
    }
    if out.is_empty() { out } else { format!("\nOn one heap after this run, so not told apart by it:\n\n{out}") }
}

/// The honest confusions, in sentences: the gravest first by how many vehicles they touch.
fn in_words(c: &Calibrated) -> String {
    let n = c.causes.len();
    let mut list: Vec<(f64, String)> = vec![];
    for (i, row) in c.confusion.iter().enumerate() {
        for (j, share) in row.iter().enumerate().filter(|(j, share)| *j != i && **share >= NAMED) {
            let other = if j == n { "none of these" } else { &c.causes[j].words };
            let cause = &c.causes[i];
            let text = format!(
                "- \u{201c}{}\u{201d} is taken for \u{201c}{other}\u{201d} in {:.0} of 100.",
                cause.words,
                100.0 * share
            );
            list.push((cause.prior * share, text));
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0));
    let left = list.len().saturating_sub(MOST_NAMED);
    list.truncate(MOST_NAMED);
    let mut out = String::from("\nConfusions, those that touch most vehicles first:\n\n");
    for (_, text) in &list {
        out += text;
        out += "\n";
    }
    if list.is_empty() {
        out += "- none from 15 in 100 on.\n";
    }
    if left > 0 {
        let _ = writeln!(out, "- and {left} rarer ones, in the table.");
    }
    out
}
