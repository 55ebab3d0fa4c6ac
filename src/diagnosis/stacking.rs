//! Which bells a cause is made of: as many as its own vehicles bear out, and those of its neighbours.
//!
//! Vehicles of a cause can be described in several ways: all by one bell; by strata of severity, each with a spread of its
//! own; by more strata that share one spread; by the bell of a vehicle with nothing wrong, which is what a fault shows that is
//! too mild or sits where nobody looks; and as those of the two causes that look most like it. Every way is asked how
//! likely it makes each vehicle that it hasn't seen (leave-one-out), and the ways are mixed by the shares that make all
//! vehicles likeliest. So two causes that look alike are described alike, and belief between them stays what it was before;
//! guessed at separately, from a few dozen vehicles each, they would differ by chance, and belief would take that for evidence.
//!
//! Sources: D. H. Wolpert, "Stacked generalization", Neural Networks 5 (1992) 241, for densities P. Smyth, D. Wolpert,
//! Machine Learning 36 (1999) 59; a common spread: J. H. Friedman, "Regularized Discriminant Analysis", JASA 84 (1989) 165.
//!
//! Where it stops being true: the numbers are asked about in blocks of at most `BLOCK`, as if blocks were independent,
//! because some sixty numbers have no covariance that a few dozen vehicles could tell.

use super::likelihood::{Bell, log_sum_exp};
use super::reference::{
    DISCREPANCY, SHRINKAGE, Stratum, Vehicle, for_strangers, for_strangers_with, mixed, strata,
};
use super::survey::in_parallel;
use crate::ops;

/// Most strata of severity with a spread of their own; with a common one there may be twice as many.
const OWN_SPREAD: usize = 4;
const COMMON_SPREAD: usize = 8;
/// Vehicles that a stratum must hold: leaving one out, a spread can still be told.
const FEWEST: usize = 4;
/// Numbers that are asked about together.
const BLOCK: usize = 12;
/// A way with a smaller share isn't kept: it would cost every later judgement more than it tells.
const LEAST_SHARE: f64 = 0.05;
/// Other causes, besides nothing wrong, that a cause is held against.
const NEIGHBOURS: usize = 2;
/// Rounds of finding shares; they start equal and hardly move after some dozens.
const ROUNDS: usize = 60;

/// What all causes have in common.
pub struct Frame<'a> {
    /// Span of each number over all causes, as [`super::reference::spans`] gives it.
    pub spans: &'a [f64],
    /// Size of each categorical feature's vocabulary.
    pub vocabulary: &'a [usize],
    /// Variance of the reading of each number.
    pub doubt: &'a [f64],
}

/// A way to cut the vehicles of a cause: shares and members of its strata.
struct Way<'v> {
    parts: Vec<(f64, Vec<&'v Vehicle<'v>>)>,
    common: bool,
}

impl<'v> Way<'v> {
    fn cut(bands: &[Vec<&'v Vehicle<'v>>], most: usize, common: bool) -> Self {
        let mut parts = vec![];
        for band in bands {
            let (n, count) = (band.len(), (band.len() / FEWEST).clamp(1, most));
            for s in 0..count {
                let members = band[s * n / count..(s + 1) * n / count].to_vec();
                parts.push((members.len() as f64 / (n * bands.len()) as f64, members));
            }
        }
        Self { parts, common }
    }

    fn whole(bands: &[Vec<&'v Vehicle<'v>>]) -> Self {
        Self { parts: vec![(1.0, bands.concat())], common: false }
    }

    fn strata(&self, frame: &Frame<'_>) -> Vec<Stratum> {
        let members: Vec<&[&Vehicle<'_>]> = self.parts.iter().map(|(_, m)| m.as_slice()).collect();
        let shares = self.parts.iter().map(|(share, _)| *share);
        let bells = strata(&members, self.common, frame.spans, frame.vocabulary);
        bells.into_iter().zip(shares).map(|(bell, weight)| Stratum { weight, ..bell }).collect()
    }
}

/// How likely a way makes each vehicle, without having seen it, and what it is made of.
type Told = (Vec<f64>, Vec<Stratum>);

/// A cause as its own vehicles describe it.
struct Own<'v> {
    /// Its vehicles in the order in which ways tell of them.
    all: Vec<&'v Vehicle<'v>>,
    ways: Vec<Told>,
    whole: Stratum,
    /// Centres of its strata: where it is looked for among its neighbours.
    centres: Vec<Vec<f64>>,
    /// What its own ways come to together, or the plainest way where none could be judged.
    strata: Vec<Stratum>,
}

/// Strata of every cause from its vehicles by band; the weights of a cause sum to 1. Bands count alike, however many
/// vehicles they have.
///
/// # Errors
/// Never by itself: the shape is that of work that is shared out.
///
/// # Panics
/// When a cause has no vehicle.
pub fn described(causes: &[Vec<Vec<Vehicle<'_>>>], frame: &Frame<'_>) -> Result<Vec<Vec<Stratum>>, String> {
    let is_sound = |bands: &&Vec<Vec<Vehicle<'_>>>| bands.iter().flatten().all(|v| v.severity <= 0.0);
    let sound = causes.iter().find(is_sound).map(|bands| Way::whole(&by_severity(bands)).strata(frame).remove(0));
    let each: Vec<&[Vec<Vehicle<'_>>]> = causes.iter().map(Vec::as_slice).collect();
    let own = in_parallel(&each, |&bands| Ok(by_itself(bands, sound.as_ref(), frame)))?;
    let numbered: Vec<usize> = (0..own.len()).collect();
    in_parallel(&numbered, |&c| Ok(among_neighbours(c, &own, sound.as_ref(), frame)))
}

fn by_severity<'v>(bands: &'v [Vec<Vehicle<'v>>]) -> Vec<Vec<&'v Vehicle<'v>>> {
    let mut sorted: Vec<Vec<&Vehicle<'_>>> =
        bands.iter().filter(|b| !b.is_empty()).map(|b| b.iter().collect()).collect();
    assert!(!sorted.is_empty(), "a cause needs at least one reference vehicle");
    for band in &mut sorted {
        band.sort_by(|a, b| a.severity.total_cmp(&b.severity));
    }
    sorted
}

fn by_itself<'v>(bands: &'v [Vec<Vehicle<'v>>], sound: Option<&Stratum>, frame: &Frame<'_>) -> Own<'v> {
    let sorted = by_severity(bands);
    let mut ways = vec![Way::whole(&sorted)];
    if sorted.iter().flatten().any(|v| v.severity > 0.0) {
        ways.push(Way::cut(&sorted, OWN_SPREAD, false));
        ways.push(Way::cut(&sorted, COMMON_SPREAD, true));
    }
    let all = sorted.concat();
    let made: Vec<Vec<Stratum>> = ways.iter().map(|w| w.strata(frame)).collect();
    let plain = made[1.min(made.len() - 1)].clone();
    let (whole, centres) = (made[0][0].clone(), plain.iter().map(|s| s.mean.clone()).collect());
    let judged = ways.iter().zip(made).filter_map(|(way, made)| Some((without_itself(way, frame)?, made)));
    let ways: Vec<Told> = judged.collect();
    let strata = together(ways.iter().cloned().chain(of_sound(sound, &all, frame)).collect()).unwrap_or(plain);
    Own { all, ways, whole, centres, strata }
}

/// Vehicles of another cause as ones with nothing wrong.
fn of_sound(sound: Option<&Stratum>, all: &[&Vehicle<'_>], frame: &Frame<'_>) -> Option<Told> {
    let sound = [Stratum { weight: 1.0, ..sound?.clone() }];
    Some((by_stranger(&sound, all, frame)?, sound.to_vec()))
}

fn among_neighbours(c: usize, own: &[Own<'_>], sound: Option<&Stratum>, frame: &Frame<'_>) -> Vec<Stratum> {
    let me = &own[c];
    let is_sound = |o: &Own<'_>| sound == Some(&o.whole);
    let mut near: Vec<(f64, usize)> = vec![];
    for (k, other) in own.iter().enumerate() {
        if k != c
            && let Some(likely) = centres_likely(&me.centres, &other.whole, frame)
        {
            near.push((likely, k));
        }
    }
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut ways = me.ways.clone();
    for &(_, k) in near.iter().take(NEIGHBOURS).filter(|(_, k)| !is_sound(&own[*k])) {
        let other = &own[k].strata;
        ways.extend(by_stranger(other, &me.all, frame).map(|likely| (likely, other.clone())));
    }
    if !is_sound(me) {
        ways.extend(of_sound(sound, &me.all, frame));
    }
    // numbers that repeat each other without any doubt have no density; then there is nothing to choose by
    if me.ways.is_empty() { me.strata.clone() } else { together(ways).unwrap_or_else(|| me.strata.clone()) }
}

/// Ways mixed by the shares that make the vehicles likeliest; `None` without any.
fn together(ways: Vec<Told>) -> Option<Vec<Stratum>> {
    let likely: Vec<&[f64]> = ways.iter().map(|(l, _)| l.as_slice()).collect();
    let shares = if ways.is_empty() { return None } else { shares(&likely) };
    let kept = ways.into_iter().zip(shares).filter(|(_, share)| *share > 0.0);
    Some(mixed(kept.map(|((_, strata), share)| (share, strata)).collect()))
}

/// Shares of several descriptions that make what happened likeliest; `log_likely[m][i]` is the logarithm of the density that
/// description m gives to i. Sum 1; those below `LEAST_SHARE` are 0.
///
/// Expectation and maximisation: `share_m ← mean over i of share_m·p_m(i) / Σ share·p(i)`; every round makes the
/// whole likelier.
pub fn shares(log_likely: &[&[f64]]) -> Vec<f64> {
    let (ways, n) = (log_likely.len(), log_likely.first().map_or(0, |l| l.len()));
    let mut share = vec![1.0 / ways as f64; ways];
    for _ in 0..ROUNDS {
        let mut next = vec![0.0; ways];
        for i in 0..n {
            let terms: Vec<f64> = share.iter().zip(log_likely).map(|(s, l)| ops::ln(*s) + l[i]).collect();
            let whole = log_sum_exp(&terms);
            // what no description makes at all tells nothing about their shares
            if whole == f64::NEG_INFINITY {
                continue;
            }
            for (next, term) in next.iter_mut().zip(&terms) {
                *next += ops::exp(term - whole) / n as f64;
            }
        }
        if next.iter().all(|&s| s <= 0.0) {
            break;
        }
        share = next;
    }
    let kept: f64 = share.iter().filter(|&&s| s >= LEAST_SHARE).sum();
    share.iter().map(|&s| if s >= LEAST_SHARE { s / kept } else { 0.0 }).collect()
}

/// Log density of vehicles by bells that were made of others. `None` where one has none.
fn by_stranger(strata: &[Stratum], vehicles: &[&Vehicle<'_>], frame: &Frame<'_>) -> Option<Vec<f64>> {
    let mut terms: Vec<Vec<f64>> = vehicles
        .iter()
        .map(|v| strata.iter().map(|s| ops::ln(s.weight) + words(v, &s.counts, false)).collect())
        .collect();
    for (q, s) in strata.iter().enumerate() {
        for (from, to) in blocks(frame.spans.len()) {
            let bell = block_of(s, from, to, frame)?;
            for (terms, v) in terms.iter_mut().zip(vehicles) {
                terms[q] += bell.log_density(&minus(&v.features[from..to], &s.mean[from..to]));
            }
        }
    }
    Some(terms.iter().map(|t| log_sum_exp(t)).collect())
}

/// How likely a bell makes some centres, all in all.
fn centres_likely(centres: &[Vec<f64>], stratum: &Stratum, frame: &Frame<'_>) -> Option<f64> {
    let mut sum = 0.0;
    for (from, to) in blocks(frame.spans.len()) {
        let bell = block_of(stratum, from, to, frame)?;
        for centre in centres {
            sum += bell.log_density(&minus(&centre[from..to], &stratum.mean[from..to]));
        }
    }
    Some(sum)
}

fn block_of(stratum: &Stratum, from: usize, to: usize, frame: &Frame<'_>) -> Option<Bell> {
    let width = frame.spans.len();
    factored(to - from, |i, j| stratum.cov[(from + i) * width + from + j], &frame.doubt[from..to])
}

/// Even blocks of at most `BLOCK` numbers.
fn blocks(width: usize) -> impl Iterator<Item = (usize, usize)> {
    let count = width.div_ceil(BLOCK).max(1);
    (0..count).map(move |b| (b * width / count, (b + 1) * width / count)).filter(|(from, to)| to > from)
}

fn minus(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

fn factored(d: usize, cov: impl Fn(usize, usize) -> f64, doubt: &[f64]) -> Option<Bell> {
    let mut block = vec![0.0; d * d];
    for i in 0..d {
        for j in 0..d {
            block[i * d + j] = cov(i, j) + if i == j { doubt[i] } else { 0.0 };
        }
    }
    Bell::new(&block, d).ok()
}

/// Log share of a vehicle's words among counted ones, itself among them or not.
fn words(v: &Vehicle<'_>, counts: &[Vec<u32>], itself: bool) -> f64 {
    let of = |(&word, counts): (&usize, &Vec<u32>)| {
        let less = if itself { 1.0 } else { 0.0 };
        let n = f64::from(counts.iter().sum::<u32>()) - less;
        ops::ln((f64::from(counts[word]) - less + 0.5) / (n + 0.5 * counts.len() as f64))
    };
    v.categories.iter().zip(counts).map(of).sum()
}

/// Sums over the members of a stratum, within a block.
struct Sums {
    n: f64,
    mean: Vec<f64>,
    /// Σ (x − mean)(x − mean)ᵀ.
    scatter: Vec<f64>,
}

impl Sums {
    fn of(members: &[&Vehicle<'_>], from: usize, to: usize) -> Self {
        let (n, d) = (members.len() as f64, to - from);
        let mean: Vec<f64> = (from..to).map(|j| members.iter().map(|v| v.features[j]).sum::<f64>() / n).collect();
        let mut scatter = vec![0.0; d * d];
        for v in members {
            let off = minus(&v.features[from..to], &mean);
            for i in 0..d {
                for j in 0..d {
                    scatter[i * d + j] += off[i] * off[j];
                }
            }
        }
        Self { n, mean, scatter }
    }

    /// Without one member: its mean, and what falls out of the scatter: `n/(n−1)·(x − mean)(x − mean)ᵀ`.
    fn without(&self, x: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let off = minus(x, &self.mean);
        let mean = self.mean.iter().zip(&off).map(|(m, o)| m - o / (self.n - 1.0)).collect();
        let less = self.n / (self.n - 1.0);
        (mean, off.iter().flat_map(|a| off.iter().map(move |b| less * a * b)).collect())
    }
}

/// A bell from a scatter, as a stratum has it: shrunk, wider for strangers, with discrepancy and doubt.
fn bell(scatter: &[f64], over: f64, wider: f64, frame: &Frame<'_>, from: usize, to: usize) -> Option<Bell> {
    let d = to - from;
    let spread = if over > 0.0 { wider / over } else { 0.0 };
    let cov = |i: usize, j: usize| {
        let sample = spread * scatter[i * d + j];
        let discrepancy = DISCREPANCY * frame.spans[from + i];
        if i == j { sample + discrepancy * discrepancy } else { (1.0 - SHRINKAGE) * sample }
    };
    factored(d, cov, &frame.doubt[from..to])
}

/// Log density of each vehicle of a cause, in the order of the strata, by the bells that the others make. `None` where they
/// make none.
fn without_itself(way: &Way<'_>, frame: &Frame<'_>) -> Option<Vec<f64>> {
    let parts = &way.parts;
    if parts.iter().any(|(_, members)| members.len() < 3) {
        return None;
    }
    let counts: Vec<Vec<Vec<u32>>> = way.strata(frame).into_iter().map(|s| s.counts).collect();
    // by vehicle, then by stratum
    let mut terms: Vec<Vec<f64>> = vec![];
    for (own, (_, members)) in parts.iter().enumerate() {
        for v in members {
            let of = |(q, (share, _)): (usize, &(f64, Vec<_>))| ops::ln(*share) + words(v, &counts[q], q == own);
            terms.push(parts.iter().enumerate().map(of).collect());
        }
    }
    for (from, to) in blocks(frame.spans.len()) {
        let sums: Vec<Sums> = parts.iter().map(|(_, members)| Sums::of(members, from, to)).collect();
        if way.common {
            with_common_spread(parts, &sums, frame, (from, to), &mut terms)?
        } else {
            with_own_spread(parts, &sums, frame, (from, to), &mut terms)?
        }
    }
    Some(terms.iter().map(|t| log_sum_exp(t)).collect())
}

type Parts<'v> = [(f64, Vec<&'v Vehicle<'v>>)];

/// Adds, for every vehicle in turn, its log density in a block by the bells that are made without it. `without` is told which
/// stratum loses a vehicle and what falls out of its scatter, and gives the density by each stratum's bell then, at a distance
/// from that stratum's centre.
fn in_turn<D: FnMut(usize, &[f64]) -> Option<f64>>(
    parts: &Parts<'_>,
    sums: &[Sums],
    (from, to): (usize, usize),
    terms: &mut [Vec<f64>],
    without: impl Fn(usize, &[f64]) -> Option<D>,
) -> Option<()> {
    let mut terms = terms.iter_mut();
    for (own, (_, members)) in parts.iter().enumerate() {
        for v in members {
            let (x, terms) = (&v.features[from..to], terms.next()?);
            let (mean, less) = sums[own].without(x);
            let mut density = without(own, &less)?;
            for (q, term) in terms.iter_mut().enumerate() {
                let centre = if q == own { &mean } else { &sums[q].mean };
                *term += density(q, &minus(x, centre))?;
            }
        }
    }
    Some(())
}

fn with_own_spread(
    parts: &Parts<'_>,
    sums: &[Sums],
    frame: &Frame<'_>,
    (from, to): (usize, usize),
    terms: &mut [Vec<f64>],
) -> Option<()> {
    let of = |scatter: &[f64], n: f64| bell(scatter, n - 1.0, for_strangers(n as usize), frame, from, to);
    let whole: Option<Vec<Bell>> = sums.iter().map(|s| of(&s.scatter, s.n)).collect();
    let whole = &whole?;
    in_turn(parts, sums, (from, to), terms, |own, less| {
        let others = of(&minus(&sums[own].scatter, less), sums[own].n - 1.0)?;
        Some(move |q: usize, off: &[f64]| Some(if q == own { &others } else { &whole[q] }.log_density(off)))
    })
}

fn with_common_spread(
    parts: &Parts<'_>,
    sums: &[Sums],
    frame: &Frame<'_>,
    (from, to): (usize, usize),
    terms: &mut [Vec<f64>],
) -> Option<()> {
    let d = to - from;
    let all: f64 = sums.iter().map(|s| s.n).sum();
    let over = all - 1.0 - sums.len() as f64;
    let scatter: Vec<f64> = (0..d * d).map(|at| sums.iter().map(|s| s.scatter[at]).sum()).collect();
    in_turn(parts, sums, (from, to), terms, |own, less| {
        let rest = minus(&scatter, less);
        // strata of equal size are equally wide, so few bells serve them all
        let mut bells: Vec<(usize, Bell)> = vec![];
        Some(move |q: usize, off: &[f64]| {
            let n = sums[q].n as usize - usize::from(q == own);
            if !bells.iter().any(|(of, _)| *of == n) {
                let wider = for_strangers_with(n, all as usize - 1);
                bells.push((n, bell(&rest, over, wider, frame, from, to)?));
            }
            bells.iter().find(|(of, _)| *of == n).map(|(_, bell)| bell.log_density(off))
        })
    })
}

#[cfg(test)]
mod tests;
