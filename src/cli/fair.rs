//! `faultbay fair JOB`: can what is hidden be found, by what, and is the job worth sitting? For authors; it tells the
//! answer.

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicU8, Ordering};

use super::cache::Folder;
use super::exit::Exit;
use super::job::Shelf;
use crate::authoring::diagnosability::{Diagnosability, TestRow, Weight, check};
use crate::authoring::route::{Node, Step};
use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::justify::VEHICLES;
use crate::diagnosis::store::{Nowhere, Store};

/// What is asked.
pub struct Asked {
    /// Jobs; all when empty.
    pub jobs: Vec<String>,
    /// For programs.
    pub json: bool,
    /// Only the table of simulated learners, as a page.
    pub learners: bool,
    /// The table of jobs, as a page.
    pub page: bool,
    /// Reference vehicles a candidate.
    pub vehicles: Option<usize>,
}

impl From<super::args::Fair> for Asked {
    fn from(typed: super::args::Fair) -> Self {
        Self {
            json: matches!(typed.format, super::args::Format::Json),
            jobs: typed.job,
            learners: typed.learners,
            page: typed.page,
            vehicles: typed.vehicles.map(|n| n as usize),
        }
    }
}

/// Says how far it is, on standard error, where somebody watches.
pub(super) struct Progress(pub(super) AtomicU8, pub(super) bool);

impl Watch for Progress {
    fn progress(&self, done: f64) {
        let tenth = (done * 10.0) as u8;
        if self.1 && self.0.fetch_max(tenth, Ordering::Relaxed) < tenth {
            let _ = write!(std::io::stderr(), "\r{} of 100 …", tenth * 10);
        }
    }
}

/// Simulates and tells. Exit code 2 when a job isn't fair.
pub fn run(asked: &Asked, shelf: &Shelf, out: &mut impl Write) -> anyhow::Result<Exit> {
    let folder = Folder::of_user();
    let store: &dyn Store = folder.as_ref().map_or(&Nowhere, |f| f);
    let names = if asked.jobs.is_empty() { shelf.names() } else { asked.jobs.clone() };
    if asked.vehicles.is_some_and(|n| n < VEHICLES) {
        writeln!(
            std::io::stderr(),
            "With fewer than {VEHICLES} reference vehicles a candidate the verdict is rough: look again without --vehicles."
        )?;
    }
    let mut all = vec![];
    for name in &names {
        shelf.tells_answers_of(name)?;
        let job = shelf.job(name)?;
        let watch = Progress(AtomicU8::new(0), std::io::stderr().is_terminal());
        let vehicles = asked.vehicles.unwrap_or(VEHICLES);
        let found = check(&job, vehicles, store, &watch).map_err(|why| anyhow::anyhow!("{name}: {why}"))?;
        if watch.1 {
            writeln!(std::io::stderr())?;
        }
        all.push(found);
    }
    if asked.json {
        serde_json::to_writer_pretty(&mut *out, &all)?;
        writeln!(out)?;
    } else if asked.learners {
        out.write_all(learners(&all).as_bytes())?;
    } else if asked.page {
        out.write_all(page(&all).as_bytes())?;
    } else if asked.jobs.is_empty() {
        out.write_all(table(&all).as_bytes())?;
    } else {
        for found in &all {
            out.write_all(text(found).as_bytes())?;
        }
    }
    out.flush()?;
    let unfair = all.iter().any(|f| f.gravest() == Some(Weight::Unfair));
    Ok(if unfair { Exit::Failed } else { Exit::Done })
}

fn in_100(share: f64) -> String {
    format!("{:.0}", 100.0 * share)
}

/// What is to be said of a job in a word.
pub(super) fn verdict(found: &Diagnosability) -> &'static str {
    match found.gravest() {
        Some(Weight::Unfair) => "not fair",
        Some(Weight::NotForAssessment) => "practice only",
        _ => "fair",
    }
}

/// All jobs in one table.
fn table(all: &[Diagnosability]) -> String {
    let mut text = String::from(
        "| job | verdict | reachable | par min | par credits | difficulty | discrimination | alike | off by |\n\
         |---|---|---:|---:|---:|---:|---:|---:|---:|\n",
    );
    for f in all {
        text += &format!(
            "| {} | {} | {} | {:.0} | {:.0} | {:.2} | {:.2} | {} | {} |\n",
            f.job.0,
            verdict(f),
            in_100(f.attainable),
            f.par.0,
            f.par.1,
            f.difficulty(),
            f.discrimination(),
            f.alike.len(),
            in_100(f.calibration.0)
        );
    }
    text + "\nReachable: belief in 100 that all tests bear, in the hidden cause and what counts as it. Difficulty: share of middling learners who don't solve it. \
            Alike: pairs that can't be told apart. Off by: calibration error in 100.\n"
}

/// The table as a page of the guide, with what speaks against each job.
fn page(all: &[Diagnosability]) -> String {
    let mut t = String::from(
        "# Jobs by their check\n\n\
         Made by `faultbay fair --page`: every job put through its simulated reference vehicles and learners who don't exist. \
         Nobody has sat these jobs for it; once thirty people have, theirs are the numbers to go by.\n\n",
    );
    t += &table(all);
    t += READING;
    t += "\n## What it found, and what to change\n";
    for f in all {
        t += &remarks(f);
    }
    t
}

/// How to read the table, for whoever teaches.
const READING: &str = "\n## How to read it\n\n\
    - **verdict**: *fair* may be assessed with; *practice only* says why below; *not fair* must be changed first.\n\
    - **reachable**: somebody who makes every test that is allowed may be so sure of the hidden cause, in 100. Below 60 the job \
    asks for a guess. What can't be told from it counts as it, so look at **alike**, too.\n\
    - **par**: marked minutes and credits that sound work takes, with the right part. Announce at least as much.\n\
    - **difficulty**: of 100 middling learners so many don't solve it, written as a share.\n\
    - **discrimination**: so much oftener does somebody solve it who chooses tests well than somebody who takes any. Near 0 the \
    job says nothing about the learner; above 0.3 it does. What is taken may tell nothing here; all have twice the par \
    time.\n\
    - **alike**: pairs of candidates that can't be told apart with the tests that are allowed.\n\
    - **off by**: how far a belief of the program lies from how often it is right, in 100. Above 5 the marks for being sure weigh \
    too much.\n";

/// What speaks for and against a job in sentences, with what to change.
fn remarks(f: &Diagnosability) -> String {
    let [random, middling, greedy] = f.skills;
    let mut t = format!("\n### {} ({}): {}\n\n", f.job.1, f.job.0, verdict(f));
    t += &format!(
        "Of 100 sittings a middling learner solves {}, one who takes any test {}, one who chooses well {}. \
         Sound work takes {:.0} marked minutes.\n",
        in_100(middling),
        in_100(random),
        in_100(greedy),
        f.par.0
    );
    if f.lints.is_empty() {
        return t + "\nNothing to change.\n";
    }
    t += "\n";
    for lint in &f.lints {
        let weight = weight_words(lint.weight);
        t += &format!("- **{weight}.** {} *To change:* {} (`{}`)\n", lint.says, lint.advice, lint.name);
    }
    t
}

fn weight_words(weight: Weight) -> &'static str {
    match weight {
        Weight::Unfair => "Not fair",
        Weight::NotForAssessment => "Not for assessment",
        Weight::Remark => "To know",
    }
}

/// One job in sentences.
fn text(found: &Diagnosability) -> String {
    let label = |c: usize| format!("\u{201c}{}\u{201d}", found.labels[c]);
    let mut t = format!("{} ({}): {}.\n\n", found.job.1, found.job.0, verdict(found));
    t += &reach(found);
    t += "\nWhat to know and to change\n";
    if found.lints.is_empty() {
        t += "  Nothing.\n";
    }
    for lint in &found.lints {
        let weight = weight_words(lint.weight);
        t += &format!("  {weight} [{}]: {}\n    To change: {}\n", lint.name, lint.says, lint.advice);
    }
    t += &format!("\nPar\n  {:.0} marked minutes, {:.0} credits with the right part.\n", found.par.0, found.par.1);
    let [random, middling, greedy] = found.skills;
    t += &format!(
        "\nHow hard\n  Of 100 sittings, one who takes any test solves {}, a middling learner {}, one who chooses well {}.\n",
        in_100(random),
        in_100(middling),
        in_100(greedy)
    );
    t += "\nTests, the most telling a minute first (minutes from cold)\n";
    // both are estimates over drawn vehicles, so the best test may come out a hair above all there is to know
    let open = found.route.bits.0;
    let share = |test: &TestRow| if open > 1e-6 { (test.bits / open).clamp(0.0, 1.0) } else { 0.0 };
    let mut tests: Vec<_> = found.tests.iter().collect();
    tests.sort_by(|a, b| (b.bits / b.minutes).total_cmp(&(a.bits / a.minutes)));
    let (telling, silent): (Vec<_>, Vec<_>) =
        tests.into_iter().partition(|test| in_100(share(test)) != "0" || test.separates > 0);
    for test in telling {
        t += &format!(
            "  {}: tells {} in 100 of what is open, in {:.1} min and for {:.0} credits; shows {} of {} faults, tells {} pairs apart.\n",
            test.words,
            in_100(share(test)),
            test.minutes,
            test.credits,
            test.detects.len(),
            found.labels.len() - 1,
            test.separates
        );
    }
    if !silent.is_empty() {
        let words: Vec<&str> = silent.iter().map(|test| &*test.words).collect();
        t += &format!("  Tell nothing in this job: {}.\n", words.join("; "));
    }
    t += "\nFewest tests that tell apart what one test can\n";
    for words in &found.isolating {
        t += &format!("  {words}\n");
    }
    t += "\nCan't be told apart\n";
    if found.alike.is_empty() {
        t += "  Nothing.\n";
    }
    for a in &found.alike {
        let would =
            a.would.as_ref().map_or("No single test that there is would.".into(), |w| format!("The {w} would."));
        t += &format!(
            "  {} and {}: of 100 vehicles {} look more like the other; {}. {would}{}\n",
            label(a.pair.0),
            label(a.pair.1),
            in_100(a.mistaken),
            a.because,
            a.from.map_or_else(String::new, |s| format!(" From severity {s} on they are told apart."))
        );
    }
    if !found.pairs.is_empty() {
        t += "\nTwo faults at once\n";
    }
    for p in &found.pairs {
        let (this, other) = &p.faults;
        t += &match p.single {
            None => format!(
                "  {}: no candidate stands for {this} alone, so {other} can't be masked by it.\n",
                label(p.pair)
            ),
            Some(s) => format!(
                "  {} beside {}: of 100 vehicles {} look more like the other; {other} {}.\n",
                label(p.pair),
                label(s),
                in_100(p.mistaken),
                if p.is_masked() { "is masked" } else { "shows" }
            ),
        };
    }
    let e = &found.exact;
    t += &format!(
        "\nLooking ahead\n  Whoever always takes the test that tells most a minute needs {:.1} min on average over {} tests, \
         whoever plans all of them ahead {:.1} min{}: {:.2} times as long; \
         whoever looks two tests ahead {:.1} min, {:.2} times as long. No plan takes fewer than {:.1} min ({} situations looked at).\n",
        e.greedy_minutes,
        e.tests.len(),
        e.minutes,
        e.first.as_ref().map_or_else(String::new, |first| format!(" (beginning with the {first})")),
        e.ratio(),
        e.two_minutes,
        e.ratio_ahead(2),
        e.bound_minutes,
        e.situations
    );
    let r = &found.route;
    t += &format!(
        "\nThe way of sound work: {:.0} min on average, {:.0} at most; settled in {} of 100; {} in 100 of what there is to know stay open\n",
        r.minutes,
        r.worst_minutes,
        in_100(r.settles),
        in_100(r.bits.1 / r.bits.0.max(1e-9))
    );
    tree(&r.root, found, 1, &mut t);
    t += "\nSimulated learners\n";
    for f in &found.learners {
        t += &format!(
            "  {}: total {:.0} ({:.0} to {:.0}), reached in {} of 100, {:.0} min.\n",
            f.kind.words(),
            f.total[1],
            f.total[0],
            f.total[2],
            in_100(f.reached),
            f.minutes
        );
    }
    t += &format!(
        "\nHow far the program's belief may be trusted\n  It is off by {} in 100; \u{201c}none of these\u{201d} leads on {} in 100. {} reference vehicles.\n",
        in_100(found.calibration.0),
        in_100(found.calibration.1),
        found.vehicles
    );
    t
}

/// How sure every test together can make, and of what: what nobody can tell from the hidden cause counts as it.
/// Empty where no candidate stands for it.
pub fn reach(found: &Diagnosability) -> String {
    let Some(truth) = found.truth else { return String::new() };
    let label = |c: &usize| format!("\u{201c}{}\u{201d}", found.labels[*c]);
    let others = found.counts_as_hidden();
    let alone = format!("{} by itself: {} in 100.", label(&truth), in_100(found.alone));
    if others.len() + 1 == found.labels.len() {
        return format!(
            "No test tells any candidate from any other, so all count as one answer, and how sure one can be of it says \
             nothing. {alone}\n"
        );
    }
    let all: Vec<String> = core::iter::once(&truth).chain(&others).map(label).collect();
    let of_what = all.join(" or ");
    let mut t = format!(
        "A learner who makes every test can hold {of_what} likely to {} in 100 (at least 60 are needed): on the middle one of \
         the candidate's vehicles, with the weights of the job before any test.\n",
        in_100(found.attainable)
    );
    if !others.is_empty() {
        t += &format!("These count as one answer, because no test tells them apart. {alone}\n");
    }
    t
}

/// Outcomes that fewer vehicles show are summed up, and what comes after so many tests isn't printed; `--format json`
/// has all of it.
const SHOWN: f64 = 0.03;
const DEEP: usize = 9;

fn tree(node: &Node, found: &Diagnosability, depth: usize, t: &mut String) {
    let pad = "  ".repeat(depth);
    let likely: Vec<String> = node
        .likely
        .iter()
        .filter(|l| l.1 >= 0.05)
        .map(|&(c, p)| format!("{} {}", found.labels[c], in_100(p)))
        .collect();
    match &node.next {
        Some(Step { test, minutes, branches, .. }) if depth <= DEEP => {
            *t += &format!("{pad}{test} ({minutes:.1} min)\n");
            let (shown, rare): (Vec<_>, Vec<_>) = branches.iter().partition(|(_, n)| n.share >= SHOWN);
            for (outcome, node) in shown {
                *t += &format!("{pad}  {outcome} ({} in 100)\n", in_100(node.share));
                tree(node, found, depth + 2, t);
            }
            if !rare.is_empty() {
                let outcomes: Vec<&str> = rare.iter().map(|(o, _)| o.as_str()).collect();
                *t += &format!("{pad}  rarer: {}\n", outcomes.join("; "));
            }
        }
        next => {
            let ends = if node.settled {
                "settled"
            } else if next.is_some() {
                "goes on"
            } else {
                "open"
            };
            *t += &format!("{pad}{ends}: {}.\n", likely.join(", "));
        }
    }
}

/// The table of simulated learners as a page of the guide.
fn learners(all: &[Diagnosability]) -> String {
    let jobs: Vec<&str> = all.iter().map(|f| f.job.0.as_str()).collect();
    let mut t = format!(
        "# Simulated learners\n\n\
         Made by `faultbay fair --learners {}`; nobody of these exists. Each sits a job two hundred times on vehicles like the \
         hidden one, with the tests, minutes and outcomes of the job's reference vehicles, writes every number down right \
         and is marked by the formulas of the mark. Total: middle, and in brackets the range that 8 in 10 lie in. Shares of \
         the components on average: D right diagnosis, J justified, X cited, S choice, M measurement, P procedure, C how \
         sure, R economy.\n",
        jobs.join(" ")
    );
    for f in all {
        t += &format!("\n## {}\n\n", f.job.1);
        t += "| learner | total | reached | min | D | J | X | S | M | P | C | R |\n\
              |---|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|\n";
        for l in &f.learners {
            let shares: Vec<String> = l.shares.iter().map(|s| format!("{s:.2}")).collect();
            t += &format!(
                "| {} | {:.0} ({:.0} to {:.0}) | {} % | {:.0} | {} |\n",
                l.kind.words(),
                l.total[1],
                l.total[0],
                l.total[2],
                in_100(l.reached),
                l.minutes,
                shares.join(" | ")
            );
        }
    }
    t
}
