//! The vehicle that comes nearest to a recording made elsewhere: which fault, where, how severe, with what tolerances,
//! and what fits as well.
//!
//! Law: for a cause at a place, `f(s)` is what a middling vehicle with severity `s` shows, `J` how it moves with each
//! tolerance (in standard deviations), `R` the doubts of measuring and of the model. Then
//!
//! `p(y | cause, s) = t₅(y; f(s), R + J·Jᵀ)`,
//!
//! tolerances being normal and small enough for a straight line. So severity is the one thing that has to be searched,
//! and it is searched whole: first over all causes at five severities, then finely over those that come near. The
//! interval of the severity is that of `p` over 1 … 5, each as likely before; the fitted tolerances are
//! `Jᵀ·(R + J·Jᵀ)⁻¹·(y − f(s))`.
//!
//! Where it stops being true: what [`super`] says of the belief; and a fault that bends the effect of a tolerance by
//! more than a straight line follows.

mod elsewhere;

pub use self::elsewhere::Elsewhere;
use self::elsewhere::{Nearness, better_elsewhere};
use super::programme::{Programme, only};
use super::{
    Column, Recorded, columns, evidence, followed, job_of, joint_of, observed_of, raised_of, row, scale, value,
};
use crate::analysis::features::{StateFeatures, What};
use crate::analysis::states::{Phase, Stretch};
use crate::bay::draw::tolerances;
use crate::bay::drive::Drive;
use crate::diagnosis::ensemble::{Row, Watch};
use crate::diagnosis::likelihood::{Evidence, cholesky, log_sum_exp, reading_covariance, student_t_log_density};
use crate::diagnosis::survey::in_parallel;
use crate::fault::FaultInstance;
use crate::language::said;
use crate::ops;
use crate::plant::Plant;
use crate::scenario::model::Job;
use crate::trace::Trace;

/// Severities at which every cause is tried.
const COARSE: [f64; 5] = [1.0, 2.0, 3.0, 4.0, 5.0];
/// Distance of those at which the nearest are tried again.
const FINE: f64 = 0.25;
/// Distance at which the curve between them is read.
const GRID: f64 = 0.05;
/// Causes that are tried finely, and how far behind the best they may lie, natural logarithm.
const MOST_NEAR: usize = 10;
const NEAR: f64 = 8.0;
/// Squared distance in doubts from a sound vehicle below which a cause leaves no trace.
const UNSEEN: f64 = 1.0;
/// What makes a recording less than ten times less likely than the best does fits as well: one ban.
const AS_WELL: f64 = 10.0;
/// Squares of the doubts beyond their number by so many of their standard deviations, nothing fits.
const STRANGE: f64 = 5.0;

/// What can be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// One cause fits, others less than a tenth as well.
    Found,
    /// Several causes fit.
    CantTell,
    /// No vehicle of this plant with one of these causes shows it.
    NothingFits,
}

/// A cause at a place that fits.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Fit {
    /// Code in the catalogue; empty for a sound supply.
    pub code: String,
    /// In words.
    pub label: String,
    /// Part or node; empty where it has none.
    pub at: String,
    /// Severity: the middle, and the ends between which it lies nine times in ten; 0 for a sound supply.
    pub severity: [f64; 3],
    /// How likely it makes the recording, against the best.
    pub against_best: f64,
    /// Of vehicles like the best, the share that this cause would explain better.
    pub mistaken: f64,
}

/// A number that was compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// State.
    pub phase: Phase,
    /// What.
    pub what: What,
    /// Recorded, and shown by the fitted vehicle.
    pub values: (f64, f64),
    /// Difference in doubts of measuring and model.
    pub off: f64,
}

/// What was fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Joint at which the tee was taken to sit.
    pub joint: String,
    /// What can be said.
    pub verdict: Verdict,
    /// What fits, the best first; the best alone where nothing does.
    pub fits: Vec<Fit>,
    /// What could be there besides without leaving a trace in this recording: label, place, and up to which severity.
    pub unseen: Vec<(String, String, f64)>,
    /// Every number that was compared, with the best.
    pub compared: Vec<Compared>,
    /// Tolerances of the fitted vehicle, standard deviations.
    pub tolerances: Vec<f64>,
    /// What the fitted vehicle shows, µs from the begin of the first state.
    pub trace: Trace,
    /// Vehicles simulated.
    pub vehicles: usize,
    /// Another joint that explains the recording far better.
    pub elsewhere: Option<Elsewhere>,
}

impl Fitted {
    /// Codes that fit, the best first, each once.
    pub fn codes(&self) -> Vec<&str> {
        let mut codes: Vec<&str> = vec![];
        for fit in &self.fits {
            if !codes.contains(&fit.code.as_str()) {
                codes.push(&fit.code);
            }
        }
        codes
    }
}

/// A cause at a place with what it shows by severity.
struct Curve {
    code: String,
    label: String,
    at: String,
    /// Severity and features; none where such a vehicle can't go through the states.
    points: Vec<(f64, Option<Vec<f64>>)>,
    /// How features move with each tolerance.
    moves: Vec<Vec<f64>>,
    /// An offset has a sign, which hangs on whether the severity's tenths are even: each sign is a curve of its own.
    even: Option<bool>,
}

impl Curve {
    /// What a vehicle of this severity shows, between its neighbours.
    fn at(&self, severity: f64) -> Option<Vec<f64>> {
        let after = self.points.iter().position(|p| p.0 >= severity - 1e-9)?;
        let (s, there) = (self.points[after].0, self.points[after].1.as_ref()?);
        if after == 0 || (s - severity).abs() < 1e-9 {
            return Some(there.clone());
        }
        let (s0, before) = (self.points[after - 1].0, self.points[after - 1].1.as_ref()?);
        let share = (severity - s0) / (s - s0);
        Some(before.iter().zip(there).map(|(a, b)| a + share * (b - a)).collect())
    }

    fn severities(&self) -> Vec<f64> {
        let steps = (4.0 / GRID).round() as usize;
        if self.code.is_empty() { vec![0.0] } else { (0..=steps).map(|i| 1.0 + GRID * i as f64).collect() }
    }

    /// The severity next to this one that has the curve's sign.
    fn signed(&self, severity: f64) -> f64 {
        let Some(even) = self.even else { return severity };
        let tenths = (10.0 * severity).round() as i64;
        let off = i64::from((tenths % 2 == 0) != even);
        let tenths = if tenths + off > 50 { tenths - off } else { tenths + off };
        // a little beyond the tenth, so that it isn't cut off below it
        (tenths as f64 / 10.0 + 1e-6).min(5.0)
    }

    fn fault(&self, severity: f64) -> Vec<FaultInstance> {
        if self.code.is_empty() {
            vec![]
        } else {
            vec![FaultInstance::new(&self.code, &self.at, self.signed(severity))]
        }
    }
}

/// How likely a curve makes the evidence by severity.
struct Scored {
    by_severity: Vec<(f64, f64)>,
    /// Logarithm of the mean over severities.
    whole: f64,
}

impl Scored {
    fn best(&self) -> (f64, f64) {
        let first = self.by_severity.first().copied().unwrap_or((0.0, f64::NEG_INFINITY));
        self.by_severity.iter().copied().fold(first, |a, b| if b.1 > a.1 { b } else { a })
    }

    /// Severity below which this share of the likelihood lies.
    fn quantile(&self, share: f64) -> f64 {
        let all = log_sum_exp(&self.by_severity.iter().map(|p| p.1).collect::<Vec<_>>());
        let mut sum = 0.0;
        for (s, l) in &self.by_severity {
            sum += ops::exp(l - all);
            if sum >= share {
                return *s;
            }
        }
        self.best().0
    }
}

/// The recording and everything that it is held against.
struct Bench<'a> {
    job: &'a Job,
    programme: Programme,
    wanted: Vec<(usize, Column)>,
    evidence: Evidence,
    measuring: Vec<f64>,
    tolerances: usize,
    watch: &'a dyn Watch,
}

impl Bench<'_> {
    /// What a vehicle shows of what was recorded.
    fn shown(&self, faults: &[FaultInstance], deviations: &[f64]) -> Result<Option<Vec<f64>>, String> {
        if self.watch.cancelled() {
            return Err(said("diagnosis-cancelled").into());
        }
        let runs = self.runs(faults, deviations, &self.programme).map(|r| r.0);
        let row: Option<Row> = runs.and_then(|runs| row(&runs, &self.wanted));
        Ok(row.map(|r| (0..self.wanted.len()).map(|k| value(&r, k)).collect()))
    }

    fn runs(
        &self,
        faults: &[FaultInstance],
        deviations: &[f64],
        programme: &Programme,
    ) -> Option<(Vec<Vec<StateFeatures>>, Trace)> {
        let (plant, stood) = (&self.job.plant, self.job.stood_s);
        let drive = Drive::given(plant, stood, (deviations, faults), programme.probes.clone()).ok()?;
        followed(drive, faults, programme)
    }

    /// How what is shown moves with each tolerance, by a standard deviation.
    fn moves(&self, faults: &[FaultInstance], middle: &[f64]) -> Result<Vec<Vec<f64>>, String> {
        let numbered: Vec<usize> = (0..self.tolerances).collect();
        in_parallel(&numbered, |&i| {
            let mut deviations = vec![0.0; self.tolerances];
            deviations[i] = 1.0;
            let shown = self.shown(faults, &deviations)?;
            // who can't go through the states with it says nothing about how far it moves
            Ok(shown
                .map_or_else(|| vec![0.0; middle.len()], |s| s.iter().zip(middle).map(|(a, b)| a - b).collect()))
        })
    }

    /// Doubts of measuring and model with those of the tolerances.
    fn covariance(&self, moves: &[Vec<f64>]) -> Vec<f64> {
        let n = self.wanted.len();
        let mut all = self.measuring.clone();
        for m in moves {
            for i in 0..n {
                for j in 0..n {
                    all[i * n + j] += m[i] * m[j];
                }
            }
        }
        all
    }

    /// Squared distance of a curve's point from another vehicle, in the doubts of a third.
    fn apart(&self, covariance: &[f64], curve: &Curve, severity: f64, from: &[f64]) -> Option<f64> {
        let off: Vec<f64> = curve.at(severity)?.iter().zip(from).map(|(a, b)| a - b).collect();
        Some(square(covariance, &off))
    }

    fn residual(&self, shown: &[f64]) -> Vec<f64> {
        self.evidence.readings.iter().zip(shown).map(|(r, s)| r.value - s).collect()
    }

    fn score(&self, curve: &Curve) -> Scored {
        let covariance = self.covariance(&curve.moves);
        let one = |s: f64| {
            let shown = curve.at(s);
            let l = shown.and_then(|f| student_t_log_density(&self.residual(&f), &covariance).ok());
            (s, l.unwrap_or(f64::NEG_INFINITY))
        };
        let by_severity: Vec<(f64, f64)> = curve.severities().into_iter().map(one).collect();
        let whole =
            log_sum_exp(&by_severity.iter().map(|p| p.1).collect::<Vec<_>>()) - ops::ln(by_severity.len() as f64);
        Scored { by_severity, whole }
    }
}

/// Solves `A·x = b` for a positive definite `A`.
fn solved(a: &[f64], b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let l = cholesky(a, n).ok()?;
    let mut x = b.to_vec();
    for i in 0..n {
        for k in 0..i {
            x[i] -= l[i * n + k] * x[k];
        }
        x[i] /= l[i * n + i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            x[i] -= l[k * n + i] * x[k];
        }
        x[i] /= l[i * n + i];
    }
    Some(x)
}

/// Squared distance in doubts.
fn square(covariance: &[f64], off: &[f64]) -> f64 {
    solved(covariance, off).map_or(f64::INFINITY, |x| x.iter().zip(off).map(|(a, b)| a * b).sum())
}

/// Every cause that a plant can have, at each of its places, without a curve yet.
fn causes(job: &Job) -> Vec<Curve> {
    let mut all = vec![];
    for c in &job.candidates {
        let empty = |code: &str, at: &str, even: Option<bool>| Curve {
            code: code.into(),
            label: c.label.clone(),
            at: at.into(),
            points: vec![],
            moves: vec![],
            even,
        };
        if c.vehicles.is_empty() {
            all.push(empty("", "", None));
        }
        for band in &c.vehicles {
            let signs: &[Option<bool>] = if band.fault == "M2" { &[Some(true), Some(false)] } else { &[None] };
            all.extend(signs.iter().map(|sign| empty(&band.fault, &band.at, *sign)));
        }
    }
    all
}

/// Fits a recording.
///
/// # Errors
/// A sentence: the joint isn't one of the plant's, nothing was recorded that can be weighed, no vehicle shows it, or
/// the work was cancelled.
pub fn fit(plant: &Plant, recorded: &Recorded<'_>, watch: &dyn Watch) -> Result<Fitted, String> {
    let job = job_of(plant)?;
    let joint = joint_of(&job, recorded.joint)?;
    let observed = observed_of(recorded, plant)?;
    let bench = bench(&job, &joint, recorded, &observed, watch)?;
    let (mut curves, mut vehicles) = coarse(&bench)?;
    watch.progress(0.6);
    let unseen = traceless(&bench, &curves);
    let near = nearest(&bench, &curves, &unseen);
    vehicles += finely(&bench, &mut curves, &near)?;
    watch.progress(0.95);
    let stretches: Vec<Stretch> = recorded.states.iter().map(|s| s.stretch).collect();
    let picture = only(&job, &joint, &stretches, speed_of(plant, recorded), true)?;
    let (mut fitted, nearness) = told(&bench, &curves, &near, &observed, &picture)?;
    let whole = |c: &usize| (curves[*c].label.clone(), curves[*c].at.clone(), 5.0);
    fitted.unseen.extend(unseen.iter().map(whole));
    let more = mild_beside_sound(&bench, &curves, &fitted);
    fitted.unseen.extend(more);
    if nearness.is_poor() {
        let other = better_elsewhere(&job, &joint, recorded, &observed, &nearness, watch)?;
        vehicles += other.1;
        fitted.elsewhere = other.0;
    }
    (fitted.joint, fitted.vehicles) = (joint, vehicles + 1);
    Ok(fitted)
}

/// Raised speed of the recording, 1/min.
fn speed_of(plant: &Plant, recorded: &Recorded<'_>) -> f64 {
    recorded.raised_rpm.unwrap_or_else(|| raised_of(plant)).clamp(900.0, 4000.0)
}

/// What was recorded at a joint, beside what any vehicle shows of it.
fn bench<'a>(
    job: &'a Job,
    joint: &str,
    recorded: &Recorded<'_>,
    observed: &[(Column, f64, f64)],
    watch: &'a dyn Watch,
) -> Result<Bench<'a>, String> {
    let stretches: Vec<Stretch> = recorded.states.iter().map(|s| s.stretch).collect();
    let evidence = evidence(observed, &stretches);
    Ok(Bench {
        programme: only(job, joint, &stretches, speed_of(&job.plant, recorded), false)?,
        wanted: observed.iter().map(|o| (0, o.0)).collect(),
        measuring: reading_covariance(&evidence.readings),
        evidence,
        tolerances: tolerances(&job.plant),
        job,
        watch,
    })
}

/// Every cause at a few severities, with the tolerances' effect on a sound vehicle.
fn coarse(bench: &Bench<'_>) -> Result<(Vec<Curve>, usize), String> {
    let mut curves = causes(bench.job);
    let mut vehicles = 1;
    let moves = match bench.shown(&[], &[])? {
        Some(middle) => {
            vehicles += bench.tolerances;
            bench.moves(&[], &middle)?
        }
        None => vec![],
    };
    let asked: Vec<(usize, f64)> = (0..curves.len())
        .flat_map(|c| if curves[c].code.is_empty() { vec![(c, 0.0)] } else { COARSE.map(|s| (c, s)).to_vec() })
        .collect();
    let done = std::sync::atomic::AtomicUsize::new(0);
    let shown = in_parallel(&asked, |&(c, s)| {
        let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        bench.watch.progress(0.05 + 0.55 * so_far as f64 / asked.len() as f64);
        bench.shown(&curves[c].fault(s), &[])
    })?;
    vehicles += asked.len();
    for ((c, s), shown) in asked.into_iter().zip(shown) {
        curves[c].points.push((s, shown));
    }
    for c in &mut curves {
        c.moves.clone_from(&moves);
    }
    if curves.iter().all(|c| c.points.iter().all(|p| p.1.is_none())) {
        return Err("no vehicle of this plant goes through the recorded states".into());
    }
    Ok((curves, vehicles))
}

/// Causes that show at no severity anything that a sound vehicle doesn't.
fn traceless(bench: &Bench<'_>, curves: &[Curve]) -> Vec<usize> {
    let Some(sound) = curves.iter().find(|c| c.code.is_empty()) else { return vec![] };
    let (Some(middle), covariance) = (sound.at(0.0), bench.covariance(&sound.moves)) else { return vec![] };
    let shows_nothing = |c: &Curve| {
        let far =
            |(s, _): &(f64, Option<Vec<f64>>)| bench.apart(&covariance, c, *s, &middle).is_none_or(|d| d > UNSEEN);
        !c.code.is_empty() && !c.points.iter().any(far)
    };
    (0..curves.len()).filter(|&c| shows_nothing(&curves[c])).collect()
}

/// Causes that come near, the nearest first; the sound supply, which is the simplest, is always one.
fn nearest(bench: &Bench<'_>, curves: &[Curve], unseen: &[usize]) -> Vec<usize> {
    let best = |c: usize| bench.score(&curves[c]).best().1;
    let mut order: Vec<(usize, f64)> =
        (0..curves.len()).filter(|c| !unseen.contains(c)).map(|c| (c, best(c))).collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let top = order[0].1;
    let mut near: Vec<usize> =
        order.into_iter().filter(|o| top - o.1 <= NEAR).take(MOST_NEAR).map(|o| o.0).collect();
    let sound = curves.iter().position(|c| c.code.is_empty());
    near.extend(sound.filter(|s| !near.contains(s)));
    near
}

/// The nearest at more severities, with the tolerances' effect where each is likeliest.
fn finely(bench: &Bench<'_>, curves: &mut [Curve], near: &[usize]) -> Result<usize, String> {
    let mut vehicles = 0;
    for &c in near {
        if curves[c].code.is_empty() {
            continue;
        }
        let best = bench.score(&curves[c]).best().0;
        let steps = (4.0 / FINE).round() as usize;
        // beyond one and a half from the likeliest the coarse curve will do
        let more: Vec<f64> = (0..=steps)
            .map(|i| 1.0 + FINE * i as f64)
            .filter(|s| (s - best).abs() <= 1.5 && (s - s.round()).abs() > 1e-9)
            .collect();
        let shown = in_parallel(&more, |&s| bench.shown(&curves[c].fault(s), &[]))?;
        vehicles += more.len();
        curves[c].points.extend(more.into_iter().zip(shown));
        curves[c].points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (best, _) = bench.score(&curves[c]).best();
        let middle = bench.shown(&curves[c].fault(best), &[])?;
        if let Some(middle) = middle {
            curves[c].moves = bench.moves(&curves[c].fault(best), &middle)?;
            vehicles += bench.tolerances + 1;
        }
    }
    Ok(vehicles)
}

/// What follows: verdict, rivals, the fitted vehicle.
fn told(
    bench: &Bench<'_>,
    curves: &[Curve],
    near: &[usize],
    observed: &[(Column, f64, f64)],
    picture: &Programme,
) -> Result<(Fitted, Nearness), String> {
    let mut scored: Vec<(&Curve, Scored)> = near.iter().map(|&c| (&curves[c], bench.score(&curves[c]))).collect();
    scored.sort_by(|a, b| b.1.whole.total_cmp(&a.1.whole));
    let top = scored[0].1.whole;
    scored.retain(|(_, s)| ops::exp(s.whole - top) * AS_WELL >= 1.0);
    let unseen = hidden_behind_sound(bench, &mut scored);
    let (leader, top) = (scored[0].0, &scored[0].1);
    let severity = if leader.code.is_empty() { 0.0 } else { top.best().0 };
    let middle = leader.at(severity).ok_or("no vehicle shows what was recorded")?;
    let covariance = bench.covariance(&leader.moves);
    let off = bench.residual(&middle);
    let n = off.len() as f64;
    let beyond = (square(&covariance, &off) - n) / (2.0 * n).sqrt();
    let strange = beyond > STRANGE;
    let nearness = Nearness { beyond, whole: top.whole };
    let mut fits = vec![];
    for (curve, s) in scored.iter().take(if strange { 1 } else { scored.len() }) {
        let apart = curve.severities().into_iter().filter_map(|x| bench.apart(&covariance, curve, x, &middle));
        let apart = apart.fold(f64::INFINITY, f64::min);
        fits.push(Fit {
            code: curve.code.clone(),
            label: curve.label.clone(),
            at: curve.at.clone(),
            severity: if curve.code.is_empty() { [0.0; 3] } else { [0.5, 0.05, 0.95].map(|q| s.quantile(q)) },
            against_best: ops::exp(s.whole - top.whole),
            mistaken: 0.5 * ops::erfc(apart.max(0.0).sqrt() / 8.0_f64.sqrt()),
        });
    }
    let several = fits.iter().any(|f| f.code != fits[0].code);
    let verdict = match (strange, several) {
        (true, _) => Verdict::NothingFits,
        (false, true) => Verdict::CantTell,
        (false, false) => Verdict::Found,
    };
    let pulled = solved(&covariance, &off).unwrap_or_else(|| vec![0.0; off.len()]);
    let pull = |m: &Vec<f64>| m.iter().zip(&pulled).map(|(a, b)| a * b).sum::<f64>().clamp(-2.5, 2.5);
    let tolerances: Vec<f64> = leader.moves.iter().map(pull).collect();
    let (compared, trace) = beside(bench, &leader.fault(severity), &tolerances, observed, picture)
        .ok_or("the fitted vehicle doesn't go through the recorded states")?;
    let fitted = Fitted {
        joint: String::new(),
        verdict,
        fits,
        unseen,
        compared,
        tolerances,
        trace,
        vehicles: 0,
        elsewhere: None,
    };
    Ok((fitted, nearness))
}

/// Where a sound vehicle fits as well, causes that at their likeliest show nothing else are taken out: nobody can say
/// that they are there. What was taken out, and up to which severity it would go unseen.
fn hidden_behind_sound(bench: &Bench<'_>, scored: &mut Vec<(&Curve, Scored)>) -> Vec<(String, String, f64)> {
    let Some(at) = scored.iter().position(|(c, _)| c.code.is_empty()) else { return vec![] };
    let Some(middle) = scored[at].0.at(0.0) else { return vec![] };
    let covariance = bench.covariance(&scored[at].0.moves);
    let mut unseen = vec![];
    scored.retain(|(curve, s)| {
        let likeliest = s.quantile(0.5);
        let shows = |x: f64| bench.apart(&covariance, curve, x, &middle).is_none_or(|d| d > UNSEEN);
        if curve.code.is_empty() || shows(likeliest) {
            return true;
        }
        unseen.push((curve.label.clone(), curve.at.clone(), s.quantile(0.95)));
        false
    });
    unseen
}

/// Where a sound vehicle fits, what isn't told yet and fits as well while it is mild: label, place, and up to which
/// severity.
fn mild_beside_sound(bench: &Bench<'_>, curves: &[Curve], fitted: &Fitted) -> Vec<(String, String, f64)> {
    if !fitted.fits.iter().any(|f| f.code.is_empty()) || fitted.verdict == Verdict::NothingFits {
        return vec![];
    }
    let Some(sound) = curves.iter().find(|c| c.code.is_empty()) else { return vec![] };
    let least = bench.score(sound).whole - ops::ln(AS_WELL);
    let is_told = |c: &Curve| {
        fitted.fits.iter().any(|f| f.code == c.code && f.at == c.at)
            || fitted.unseen.iter().any(|u| u.0 == c.label && u.1 == c.at)
    };
    let mild = |c: &Curve| {
        let by_severity = bench.score(c).by_severity;
        let last = by_severity.iter().take_while(|(_, l)| *l >= least).last()?.0;
        Some((c.label.clone(), c.at.clone(), last))
    };
    curves.iter().filter(|c| !c.code.is_empty() && !is_told(c)).filter_map(mild).collect()
}

/// The fitted vehicle beside the recording.
fn beside(
    bench: &Bench<'_>,
    faults: &[FaultInstance],
    tolerances: &[f64],
    observed: &[(Column, f64, f64)],
    picture: &Programme,
) -> Option<(Vec<Compared>, Trace)> {
    let (runs, mut trace) = bench.runs(faults, tolerances, picture)?;
    let shown = columns(runs.first()?);
    let compared = observed
        .iter()
        .zip(&bench.evidence.readings)
        .filter_map(|((column, value, _), reading)| {
            let there = shown.iter().find(|c| c.0 == *column)?.1;
            let doubt =
                (reading.random * reading.random + reading.bias * reading.bias * reading.sensitivity).sqrt();
            let off = (reading.value - scale(column.1, there)) / doubt;
            Some(Compared { phase: column.0, what: column.1, values: (*value, there), off })
        })
        .collect();
    let base = picture.runs.first()?.0;
    let from = trace.at.partition_point(|&t| t < base);
    for column in [&mut trace.mbar, &mut trace.gas] {
        column.drain(..from);
    }
    trace.at.drain(..from);
    trace.at.iter_mut().for_each(|t| *t -= base);
    Some((compared, trace))
}

#[cfg(test)]
mod tests;
