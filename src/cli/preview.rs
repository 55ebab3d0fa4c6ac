//! `faultbay preview PLANT|JOB`: what a fault shows in the standard run, in numbers and as traces. For authors.

use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;

use anyhow::{Context, bail};

use super::args;
use super::exit::Exit;
use super::job::Shelf;
use crate::authoring::preview::{Preview, Seen, Shown, Wrong, drive};
use crate::authoring::readings::sound_readings;
use crate::authoring::silent::preview_of;
use crate::authoring::standard::Standard;
use crate::bay::observation::EngineRun;
use crate::diagnosis::ensemble::Unwatched;
use crate::marking::sentence::number;
use crate::report::figure::Figure;
use crate::report::plot::traces::{Chart, Pen, chart};
use crate::scenario::model::Job;
use crate::scenario::{Kind, load_card};

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
    let is = |kind| shelf.library().entry(kind, &typed.plant).is_some();
    if is(Kind::Job) && !is(Kind::Plant) {
        return of_a_job(typed, shelf, out);
    }
    if typed.card {
        out.write_all(card(shelf, &typed.plant)?.as_bytes())?;
        return Ok(Exit::Done);
    }
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

/// A card round what a sound vehicle reads. The states are those of the run; load and dead-head only where the card has
/// them already, since whoever allows them decides that.
fn card(shelf: &Shelf, name: &str) -> anyhow::Result<String> {
    let plant = shelf.plant(name)?;
    let (known, _) = load_card(shelf.library(), name).map_err(|report| anyhow::anyhow!("{report}"))?;
    let found = sound_readings(&plant, &known, &Unwatched).map_err(anyhow::Error::msg)?;
    let mut t = String::from(
        "    // Training values, proposed from one sound vehicle: look at each line. On a real machine use its maker's data.\n    card: [\n",
    );
    for at in &found.joints {
        let reads = at.reads.as_ref().map_err(|why| anyhow::anyhow!("{}: {why}", at.joint))?;
        for (i, read) in reads.iter().enumerate() {
            // of the hold the first reading
            if reads[..i].iter().any(|before| before.state == read.state) {
                continue;
            }
            let (low, high) = read.proposed();
            let _ = writeln!(
                t,
                "        (joint: {:?}, state: {:?}, low: mbar({low}), high: mbar({high})),",
                at.joint,
                read.state.word()
            );
        }
    }
    Ok(t + "    ],\n")
}

fn of_a_job(typed: &args::Preview, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    if typed.card
        || typed.page.is_some()
        || typed.svg.is_some()
        || typed.commonest.is_some()
        || !typed.fault.is_empty()
    {
        bail!(
            "of a job its own hidden faults are shown, in numbers: --fault, --commonest, --card, --svg and --page want a plant"
        );
    }
    shelf.tells_answers_of(&typed.plant)?;
    let job = shelf.job(&typed.plant)?;
    let shown = preview_of(&job, typed.joint.as_deref(), false, &Unwatched).map_err(anyhow::Error::msg)?;
    out.write_all(of_job_text(&job, &shown).as_bytes())?;
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
    limit.map_or_else(String::new, |l| between((l.low_mbar, l.high_mbar)))
}

fn between((low, high): (f64, f64)) -> String {
    format!("{} … {}", number(low, 0), number(high, 0))
}

fn has_moved(sound: f64, other: f64) -> bool {
    (other - sound).abs() > MOVED.0.max(MOVED.1 * sound.abs())
}

/// A vehicle's readings in lines, each beside the sound one's.
struct Line<'a> {
    state: &'a str,
    shown: &'a Shown,
    sound: &'a Shown,
    limit: Option<(f64, f64)>,
}

impl Line<'_> {
    /// What a learner could tell from the sound vehicle.
    fn differs(&self) -> bool {
        let seen = |s: &Shown| (s.glass, s.engine);
        has_moved(self.sound.mbar, self.shown.mbar) || seen(self.shown) != seen(self.sound)
    }

    fn text(&self) -> String {
        let (sound, shown) = (self.sound.mbar, self.shown.mbar);
        let moved = if has_moved(sound, shown) { number(shown - sound, 0) } else { String::new() };
        let moved = if moved.is_empty() || moved.starts_with('−') { moved } else { format!("+{moved}") };
        format!(
            "  {:<12} {:>8} {:>7}  card {:<15} {:<8} glass {:<8} engine {}\n",
            self.state,
            level(shown),
            moved,
            self.limit.map_or_else(String::new, between),
            if self.shown.is_outside(self.limit) { "outside" } else { "" },
            self.shown.glass,
            self.shown.engine
        )
    }
}

/// What an author wants to know of a vehicle whose readings are those of a sound one.
const NOTHING_MOVES: &str = "  Nothing of this differs from the sound vehicle: too mild, hidden by what controls the pump, or seen elsewhere only\n  (another joint: --joint; current, voltage, sound, a sample, after standing, later in the run).\n";

fn lines<'a>(name: &str, all: impl Iterator<Item = Line<'a>>, is_sound: bool) -> String {
    let mut out = format!("\n{name}\n");
    let mut differs = is_sound;
    for line in all {
        out += &line.text();
        differs |= line.differs();
    }
    if differs { out } else { out + NOTHING_MOVES }
}

const HEADING: &str =
    "Each line: the state, its reading, how far that lies from the sound vehicle's, the card's range.\n";
const CAUTION: &str = "\nTraining values. On a real machine use its maker's data.\n";

fn text(d: &Driven) -> String {
    let mut out = format!("{}\nStandard run, tee at the {}; pressures in mbar gauge\n", d.title, d.run.label);
    if !d.others.is_empty() {
        out += HEADING;
    }
    let of = |seen: &Seen, name: &str, is_sound: bool| {
        let all = d.run.reads.iter().enumerate().map(|(k, read)| Line {
            state: read.words,
            shown: &seen.readings[k],
            sound: &d.sound.readings[k],
            limit: d.run.limit(read).map(|l| (l.low_mbar, l.high_mbar)),
        });
        lines(name, all, is_sound)
    };
    out += &of(&d.sound, "Nothing wrong", true);
    for (wrong, seen) in &d.others {
        out += &of(seen, &wrong.words, false);
    }
    out + CAUTION
}

/// A job's own vehicle, as it comes in and with what is hidden in it.
fn of_job_text(job: &Job, shown: &Preview) -> String {
    let of = |wrong: bool| {
        shown.rows.iter().map(move |row| Line {
            state: row.state,
            shown: if wrong { &row.wrong } else { &row.sound },
            sound: &row.sound,
            limit: row.limit,
        })
    };
    let mut out = format!(
        "{} ({}), on {}\nStandard run, tee at the {}; pressures in mbar gauge\n{HEADING}",
        job.title, job.name, job.plant.title, shown.joint
    );
    out += &lines("Nothing wrong", of(false), true);
    out += &lines(&shown.words, of(true), shown.is_at_times);
    if shown.is_at_times {
        out += "  It shows at times only, by its \"when\"; this run is short and needn't have met it.\n";
    }
    if shown.silent {
        out += "  Nor does any other test that the job allows show anything: nobody could find it (`faultbay explain FB-S127`).\n";
    }
    let falters = |s: &Shown| s.engine == EngineRun::Uneven.word() || s.engine == EngineRun::Stalled.word();
    if !shown.is_at_times && !shown.rows.iter().any(|row| falters(&row.wrong)) {
        out += "  The engine runs steadily all through the run: let the customer complain of what this vehicle does.\n";
    }
    out + CAUTION
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
