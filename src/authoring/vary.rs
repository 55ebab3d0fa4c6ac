//! Equivalent variants of a job: other numbers and other words around the same reasoning.
//!
//! A seed draws them, each within what the job's field `varies` allows; then each is put through the whole check that
//! a job goes through ([`super::diagnosability`]), on the same reference vehicles as the original, and what doesn't
//! come out alike is rejected with the reason. So two who sit side by side can't copy a number from one another, and
//! neither has the easier job.
//!
//! Draws come from `rand_distr`, of which only the triangular and the uniform distribution are used: they take
//! arithmetic and a square root, which are exact everywhere. Each is rounded before it enters a file.

mod measured;

use rand_distr::{Triangular, Uniform};
use serde::{Deserialize, Serialize};

pub use measured::{Measured, measured};

use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::justify::Part;
use crate::diagnosis::store::{Memory, Store};
use crate::marking::sentence::number as in_figures;
use crate::random::{Purpose, child_seed, drawn};
use crate::scenario::model::Job;
use crate::scenario::variant::{Choice, Leeway, speaks_of_distances, written};
use crate::scenario::{Kind, Library, load_job};

/// Most variants asked for at once.
pub const MOST: usize = 60;
/// Draws for every variant that is wanted, before it is given up.
pub const TRIES: usize = 3;
/// Distances differ by this share at most.
const MILEAGE: f64 = 0.1;
/// Numbers that pick a vehicle are smaller.
const VEHICLES: f64 = 1e6;

/// How far a variant may lie from the original and still be called equivalent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bands {
    /// Par minutes, share of the original's.
    pub minutes: f64,
    /// Par cost, share of the original's.
    pub credits: f64,
    /// Credits below which a difference of cost doesn't matter.
    pub least_credits: f64,
    /// Difficulty: share of middling learners who don't solve it.
    pub difficulty: f64,
    /// Belief in what is hidden that all tests bear.
    pub reachable: f64,
    /// How far what a sound vehicle shows may move, in doubts of a reading: the card must stay true.
    pub sound: f64,
}

impl Bands {
    /// A fifth of the time or the cost is what a hand that is a little slower takes. Difficulty is counted over 400 simulated
    /// sittings, so by chance alone two of the same job differ by 0.07 once in twenty.
    pub const STANDARD: Self =
        Self { minutes: 0.20, credits: 0.20, least_credits: 3.0, difficulty: 0.12, reachable: 0.15, sound: 2.0 };
}

/// A variant as it was drawn and judged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Variant {
    /// Name of the job: the original's, a hyphen and a number from 1; none when it was rejected.
    pub name: Option<String>,
    /// Number of the draw, from 1.
    pub draw: usize,
    /// Number that picks its vehicle.
    pub vehicle: u64,
    /// What differs, in words.
    pub differs: Vec<String>,
    /// What the check found; none where the file couldn't be used.
    pub measured: Option<Measured>,
    /// Why it isn't equivalent; none when it is.
    pub because: Vec<String>,
    /// The file.
    #[serde(skip)]
    pub text: String,
}

/// The variants of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Varied {
    /// Name of the job.
    pub job: String,
    /// Seed.
    pub seed: u64,
    /// What equivalent means.
    pub bands: Bands,
    /// What the check found of the job itself.
    pub original: Measured,
    /// Every draw, in order.
    pub variants: Vec<Variant>,
}

impl Varied {
    /// Those that are equivalent.
    pub fn equivalent(&self) -> impl Iterator<Item = &Variant> {
        self.variants.iter().filter(|v| v.because.is_empty())
    }
}

/// What is asked for.
pub struct Asked<'a> {
    /// Name of the job.
    pub job: &'a str,
    /// Variants wanted.
    pub count: usize,
    /// Seed.
    pub seed: u64,
    /// Reference vehicles a candidate.
    pub vehicles: usize,
    /// What equivalent means.
    pub bands: Bands,
}

/// Draws variants until enough are equivalent, or three times as many were drawn; `told` hears of each as soon as it is
/// judged.
///
/// # Errors
/// A sentence or a report in words: the job can't be used, or the work was cancelled.
pub fn vary(
    library: &Library,
    asked: &Asked<'_>,
    store: &dyn Store,
    watch: &dyn Watch,
    told: &dyn Fn(&Variant),
) -> Result<Varied, String> {
    let (job, _) = load_job(library, asked.job).map_err(|report| report.to_string())?;
    let (file, text) = library.entry(Kind::Job, asked.job).ok_or("the job has no file")?;
    let leeway = Leeway::of(text, &job).map_err(|report| report.to_string())?;
    let kept = Kept { near: Memory::default(), far: store };
    let steps = (asked.count + 1) as f64;
    let first = Part { whole: watch, from: 0.0, span: 1.0 / steps };
    let original = measured(&job, job.vehicle.unwrap_or(1), asked.vehicles, &kept, &first)?;
    let mut found: Vec<Variant> = vec![];
    for draw in 1..=TRIES * asked.count {
        let done = found.iter().filter(|v| v.because.is_empty()).count();
        if done == asked.count {
            break;
        }
        let choice = chosen(&leeway, asked, draw);
        let part = Part { whole: watch, from: (done + 1) as f64 / steps, span: 1.0 / steps };
        let name = format!("{}-{}", asked.job, done + 1);
        let mut variant = Variant {
            name: None,
            draw,
            vehicle: choice.vehicle,
            differs: differs(&job, &leeway, &choice),
            measured: None,
            because: vec![],
            text: written(text, &leeway, &choice)?,
        };
        match checked(library, &name, file, &variant.text) {
            Ok(new) => {
                let of = measured(&new, choice.vehicle, asked.vehicles, &kept, &part)?;
                variant.because = of.unlike(&original, &asked.bands);
                variant.measured = Some(of);
            }
            Err(why) => variant.because.push(why),
        }
        variant.name = variant.because.is_empty().then_some(name);
        told(&variant);
        found.push(variant);
    }
    Ok(Varied { job: asked.job.into(), seed: asked.seed, bands: asked.bands, original, variants: found })
}

/// The job that a variant's text describes.
fn checked(library: &Library, name: &str, file: &str, text: &str) -> Result<Job, String> {
    let mut with = library.clone();
    with.insert(Kind::Job, name, file, text);
    load_job(&with, name).map(|(job, _)| job).map_err(|report| {
        let first = report.diagnostics().first().map_or_else(String::new, |d| d.message.clone());
        format!("The file isn't valid: {first}.")
    })
}

/// A store that never simulates twice in one call, whether or not the other one keeps anything.
struct Kept<'a> {
    near: Memory,
    far: &'a dyn Store,
}

impl Store for Kept<'_> {
    fn get(&self, key: &str) -> Option<Vec<u8>> {
        self.near.get(key).or_else(|| self.far.get(key))
    }

    fn put(&self, key: &str, bytes: &[u8]) {
        self.near.put(key, bytes);
        self.far.put(key, bytes);
    }
}

/// Values of one draw. Each has an index of its own, so that a wording more doesn't move a number.
fn chosen(leeway: &Leeway, asked: &Asked<'_>, draw: usize) -> Choice {
    let seed = child_seed(asked.seed, asked.job, draw as u64);
    let between = |index: u64, [mode, low, high]: [f64; 3]| {
        // what is written may lie outside of what the author allows the variants
        let mode = mode.clamp(low, high.max(low));
        Triangular::new(low, high, mode)
            .map_or(mode, |d| drawn(seed, Purpose::Variant, index, &d))
            .clamp(low, high.max(low))
    };
    let evenly = |index: u64, below: f64| {
        Uniform::new(0.0, below).map_or(0.0, |d| drawn(seed, Purpose::Variant, index, &d)).floor()
    };
    let severities = leeway.severities.iter().zip(100..);
    let wordings = leeway.wordings.iter().zip(200..);
    Choice {
        vehicle: evenly(0, VEHICLES) as u64,
        temperature_c: between(1, leeway.temperature_c).round(),
        fill_l: whole_unless(leeway.fill_l[0], between(2, leeway.fill_l)),
        mileage: if leeway.mileage { between(3, [1.0, 1.0 - MILEAGE, 1.0 + MILEAGE]) } else { 1.0 },
        severities: severities.map(|(s, i)| (10.0 * between(i, *s)).round() / 10.0).collect(),
        wordings: wordings.map(|(w, i)| evenly(i, w.len() as f64) as usize).collect(),
        head: format!("Variant of {}, made by `faultbay vary` from seed {}, draw {draw}.", asked.job, asked.seed),
    }
}

/// Whole litres, but what is written where nothing may differ.
fn whole_unless(written: f64, drawn: f64) -> f64 {
    if drawn == written { written } else { drawn.round() }
}

/// What differs, for the author.
fn differs(job: &Job, leeway: &Leeway, choice: &Choice) -> Vec<String> {
    let mut list = vec![];
    for ((fault, [was, ..]), now) in job.hidden.0.iter().zip(&leeway.severities).zip(&choice.severities) {
        if was != now {
            list.push(format!("{} {now:.1} for {was:.1}", fault.fault));
        }
    }
    let mut number = |was: f64, now: f64, unit: &str| {
        if was != now {
            list.push(format!("{} for {} {unit}", in_figures(now, 0), in_figures(was, 0)));
        }
    };
    number(leeway.temperature_c[0], choice.temperature_c, "°C");
    number(leeway.fill_l[0], choice.fill_l, "l");
    if (choice.mileage - 1.0).abs() > 1e-9 && speaks_of_distances(job) {
        list.push(format!("distances × {:.2}", choice.mileage));
    }
    for (words, &which) in leeway.wordings.iter().zip(&choice.wordings) {
        if which > 0 {
            list.push(format!("\u{201c}{}\u{201d} for \u{201c}{}\u{201d}", words[which], words[0]));
        }
    }
    list
}
