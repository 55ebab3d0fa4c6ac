//! What further tests would show, given what was read so far, and what they would be worth.
//!
//! Each stratum of each cause, given the readings `y_A`, predicts a further test by the conditional
//! Student-t: with `S` the scale matrix over readings and test,
//!
//! `degrees = ν + |A|`, `mean = μ_T + S_TA S_AA⁻¹ (y − μ_A)`,
//! `scale = (ν + q)/(ν + |A|)·(S_TT − S_TA S_AA⁻¹ S_AT)`, `q = (y − μ_A)ᵀ S_AA⁻¹ (y − μ_A)`.
//!
//! Words are independent of everything else within a stratum. A test that only repeats what was read
//! is therefore worth little by itself, however surely it would be predicted.
//!
//! Source of the conditional: P. Ding, "On the conditional distribution of the multivariate t
//! distribution", Am. Stat. 70 (2016) 293.

mod bells;

use core::f64::consts::PI;

use self::bells::Bells;
use super::belief::{entropy_bits, grouped, posterior};
use super::likelihood::{
    DEGREES_OF_FREEDOM, Evidence, Reading, Unusable, WIDENING, cholesky, log_sum_exp, reading_covariance,
};
use super::reference::{Pooled, Stratum};
use super::sobol::{MOST_DIMENSIONS, points};
use super::student::{draws, nodes};
use super::worth::MATERIAL_BITS;
use crate::ops;

/// Draws a group for a test with several numbers.
pub const DRAWS: usize = 256;
/// Draws a group where the estimate lies near the limit of what is material.
pub const MORE_DRAWS: usize = 1024;
/// So near, bits.
const NEAR_BITS: f64 = 0.01;
/// Groups less likely than this aren't drawn from.
const NEGLIGIBLE: f64 = 1e-4;
/// Branches less likely than this (as a share of all) are left out of sums.
const VANISHING: f64 = 1e-12;
/// Most nodes for all branches of a test with one number, and the fewest for one branch.
const NODES: f64 = 1024.0;
const FEWEST_NODES: usize = 32;
const MOST_NODES: usize = 192;
/// Most combinations of words that are summed over one by one.
const MOST_COMBINATIONS: usize = 4096;

/// A test to come: what it would measure. The values of its readings play no part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Probe {
    /// Numbers it would give, with their uncertainties.
    pub readings: Vec<Reading>,
    /// Categorical features it would show.
    pub categories: Vec<usize>,
}

/// A stratum, given the readings so far.
#[derive(Clone)]
struct Given<'a> {
    cause: usize,
    /// Place of the first one that is the same bell under another cause, or its own: causes that look alike are described alike.
    bell: usize,
    /// ln of the height of the bell over the readings and of its determinant's root, and what their distance takes.
    ln_terms: [f64; 3],
    /// ln of its joint weight with the evidence, up to a common constant.
    ln_weight: f64,
    mean: &'a [f64],
    cov: &'a [f64],
    widen: f64,
    /// `None` for "none of these": every word alike.
    counts: Option<&'a [Vec<u32>]>,
    /// Cholesky factor of the scale over the readings, and the residual solved with it.
    l: Vec<f64>,
    z: Vec<f64>,
}

/// The strata of all causes, given the evidence so far.
pub struct Outlook<'a> {
    given: Vec<Given<'a>>,
    readings: Vec<Reading>,
    vocabulary: &'a [usize],
    belief: Vec<f64>,
    seen: Vec<(usize, usize)>,
}

const SCALE: f64 = (DEGREES_OF_FREEDOM - 2.0) / DEGREES_OF_FREEDOM;

fn solve(l: &[f64], n: usize, b: &[f64]) -> Vec<f64> {
    let mut z = vec![0.0; n];
    for i in 0..n {
        let mut rest = b[i];
        for k in 0..i {
            rest -= l[i * n + k] * z[k];
        }
        z[i] = rest / l[i * n + i];
    }
    z
}

impl<'a> Outlook<'a> {
    /// Weighs the evidence. `prior` holds the causes in order, "none of these" last.
    ///
    /// # Errors
    /// When the evidence can't be used; see [`Unusable`].
    pub fn new(
        causes: &'a [Vec<Stratum>],
        pooled: &'a Pooled,
        prior: &[f64],
        evidence: &Evidence,
    ) -> Result<Self, Unusable> {
        let r = reading_covariance(&evidence.readings);
        let mut seen: Vec<(usize, usize)> = vec![];
        for &(feature, word) in &evidence.categories {
            seen.retain(|(f, _)| *f != feature);
            seen.push((feature, word));
        }
        let mut given: Vec<Given<'_>> = vec![];
        for (cause, strata) in causes.iter().enumerate() {
            for s in strata {
                let ln = ops::ln(prior[cause].max(f64::MIN_POSITIVE)) + ops::ln(s.weight);
                let same =
                    |g: &&Given<'_>| g.mean == s.mean && g.cov == s.cov && g.counts == Some(s.counts.as_slice());
                let known = given.iter().find(same).map(|g| Given { cause, ln_weight: g.weighed(ln), ..g.clone() });
                given.push(match known {
                    Some(known) => known,
                    None => {
                        let bell = (&s.mean[..], &s.cov[..], 1.0);
                        condition((cause, given.len()), ln, bell, Some(&s.counts), evidence, &r)?
                    }
                });
            }
        }
        let none = ops::ln(prior[causes.len()].max(f64::MIN_POSITIVE));
        let widen = WIDENING * WIDENING;
        let place = (causes.len(), given.len());
        given.push(condition(place, none, (&pooled.mean, &pooled.cov, widen), None, evidence, &r)?);
        for g in &mut given {
            for &(feature, word) in &seen {
                g.ln_weight += ops::ln(word_share(g.counts, &pooled.vocabulary, feature, word));
            }
        }
        let mut log_like = vec![];
        for (cause, &before) in prior.iter().enumerate() {
            let own: Vec<f64> = given.iter().filter(|g| g.cause == cause).map(|g| g.ln_weight).collect();
            log_like.push(log_sum_exp(&own) - ops::ln(before.max(f64::MIN_POSITIVE)));
        }
        let belief = posterior(prior, &log_like);
        Ok(Self { given, readings: evidence.readings.clone(), vocabulary: &pooled.vocabulary, belief, seen })
    }

    /// Belief given the evidence, by cause, "none of these" last.
    pub fn belief(&self) -> &[f64] {
        &self.belief
    }

    /// Bits that are open over groups of causes: no test tells more.
    pub fn open_bits(&self, groups: &[usize]) -> f64 {
        entropy_bits(&grouped(&self.belief, groups))
    }

    /// What a test would show.
    ///
    /// # Errors
    /// When a test would add nothing of its own, not even noise.
    pub fn predict(&self, probe: &Probe) -> Result<Forecast, Unusable> {
        let degrees = DEGREES_OF_FREEDOM + self.readings.len() as f64;
        let all = log_sum_exp(&self.given.iter().map(|g| g.ln_weight).collect::<Vec<_>>());
        let joined: Vec<Reading> = self.readings.iter().chain(&probe.readings).copied().collect();
        let r = reading_covariance(&joined);
        let mut branches: Vec<Branch> = vec![];
        for g in &self.given {
            // weights within a cause as they are, between causes as the floored belief says
            let weight = ops::exp(g.ln_weight - all);
            if weight < VANISHING {
                continue;
            }
            let known = branches.iter().find(|b| b.bell == g.bell);
            let known = known.map(|b| Branch { cause: g.cause, weight, ..b.clone() });
            branches.push(match known {
                Some(known) => known,
                None => self.branch(g, probe, (&joined, &r), weight)?,
            });
        }
        let vocabulary = probe.categories.iter().map(|&c| self.vocabulary[c]).collect();
        Ok(Forecast { branches, causes: self.belief.len(), vocabulary, degrees })
    }

    /// One stratum's share of a forecast; `joined` holds the readings so far and those to come, with their covariance.
    fn branch(
        &self,
        g: &Given<'_>,
        probe: &Probe,
        (joined, r): (&[Reading], &[f64]),
        weight: f64,
    ) -> Result<Branch, Unusable> {
        let (n, k, width) = (self.readings.len(), probe.readings.len(), g.mean.len());
        let degrees = DEGREES_OF_FREEDOM + n as f64;
        let m = n + k;
        let scale = |i: usize, j: usize| {
            SCALE * (g.widen * g.cov[joined[i].feature * width + joined[j].feature] + r[i * m + j])
        };
        let columns: Vec<Vec<f64>> =
            (0..k).map(|t| solve(&g.l, n, &(0..n).map(|i| scale(i, n + t)).collect::<Vec<_>>())).collect();
        let square: f64 = g.z.iter().map(|z| z * z).sum();
        let stretch = (DEGREES_OF_FREEDOM + square) / degrees;
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mean = (0..k).map(|t| g.mean[probe.readings[t].feature] + dot(&columns[t], &g.z)).collect();
        let mut block = vec![0.0; k * k];
        for i in 0..k {
            for j in 0..k {
                block[i * k + j] = stretch * (scale(n + i, n + j) - dot(&columns[i], &columns[j]));
            }
        }
        let l = cholesky(&block, k)?;
        let d = k as f64;
        let half_log_det: f64 = (0..k).map(|i| ops::ln(l[i * k + i])).sum();
        let ln_height = ops::ln_gamma((degrees + d) / 2.0)
            - ops::ln_gamma(degrees / 2.0)
            - d / 2.0 * ops::ln(degrees * PI)
            - half_log_det;
        let words = probe
            .categories
            .iter()
            .map(|&c| {
                let noted = self.seen.iter().find(|(f, _)| *f == c).map(|(_, w)| *w);
                (0..self.vocabulary[c])
                    .map(|w| match noted {
                        // a word that is on the sheet already shows itself again
                        Some(was) => f64::from(u8::from(was == w)),
                        None => word_share(g.counts, self.vocabulary, c, w),
                    })
                    .collect()
            })
            .collect();
        Ok(Branch { cause: g.cause, bell: g.bell, weight, mean, l, ln_height, words })
    }
}

impl Given<'_> {
    /// ln of its joint weight with the evidence where its cause and its share are as likely as this.
    fn weighed(&self, ln_prior: f64) -> f64 {
        let [height, root, distance] = self.ln_terms;
        ln_prior + height - root - distance
    }
}

fn condition<'a>(
    (cause, bell): (usize, usize),
    ln_prior: f64,
    (mean, cov, widen): (&'a [f64], &'a [f64], f64),
    counts: Option<&'a [Vec<u32>]>,
    evidence: &Evidence,
    r: &[f64],
) -> Result<Given<'a>, Unusable> {
    let (n, width) = (evidence.readings.len(), mean.len());
    let mut block = vec![0.0; n * n];
    let mut residual = vec![0.0; n];
    for (i, a) in evidence.readings.iter().enumerate() {
        residual[i] = a.value - mean[a.feature];
        if !residual[i].is_finite() {
            return Err(Unusable::NotFinite { row: i });
        }
        for (j, b) in evidence.readings.iter().enumerate() {
            block[i * n + j] = SCALE * (widen * cov[a.feature * width + b.feature] + r[i * n + j]);
        }
    }
    let l = cholesky(&block, n)?;
    let z = solve(&l, n, &residual);
    let square: f64 = z.iter().map(|z| z * z).sum();
    let (nu, d) = (DEGREES_OF_FREEDOM, n as f64);
    let half_log_det: f64 = (0..n).map(|i| ops::ln(l[i * n + i])).sum();
    // the same for all, but kept: then this is the likelihood itself
    let height = ops::ln_gamma((nu + d) / 2.0) - ops::ln_gamma(nu / 2.0) - d / 2.0 * ops::ln(nu * PI);
    let ln_terms = [height, half_log_det, (nu + d) / 2.0 * ops::ln(1.0 + square / nu)];
    let given = Given { cause, bell, ln_terms, ln_weight: 0.0, mean, cov, widen, counts, l, z };
    Ok(Given { ln_weight: given.weighed(ln_prior), ..given })
}

fn word_share(counts: Option<&[Vec<u32>]>, vocabulary: &[usize], feature: usize, word: usize) -> f64 {
    match counts {
        None => 1.0 / vocabulary[feature] as f64,
        Some(counts) => {
            let n: u32 = counts[feature].iter().sum();
            (f64::from(counts[feature][word]) + 0.5) / (f64::from(n) + 0.5 * counts[feature].len() as f64)
        }
    }
}

/// One stratum's forecast of a test.
#[derive(Clone)]
struct Branch {
    cause: usize,
    /// Equal where two causes have the same bell: then mean, factor, height and words are the same, too.
    bell: usize,
    /// Share of all branches.
    weight: f64,
    mean: Vec<f64>,
    /// Cholesky factor of the conditional scale.
    l: Vec<f64>,
    ln_height: f64,
    /// Shares of the words of each categorical feature.
    words: Vec<Vec<f64>>,
}

impl Branch {
    /// Its density by logarithm and exponential: what [`bells`] must come to.
    #[cfg(test)]
    fn density(&self, y: &[f64], degrees: f64) -> f64 {
        let k = y.len();
        let mut z = [0.0; MOST_DIMENSIONS];
        let mut square = 0.0;
        for i in 0..k {
            let mut rest = y[i] - self.mean[i];
            for (l, z) in self.l[i * k..i * k + i].iter().zip(&z) {
                rest -= l * z;
            }
            z[i] = rest / self.l[i * k + i];
            square += z[i] * z[i];
        }
        ops::exp(self.ln_height - (degrees + k as f64) / 2.0 * ops::ln(1.0 + square / degrees))
    }

    fn at(&self, x: &[f64]) -> Vec<f64> {
        let k = x.len();
        (0..k)
            .map(|i| self.mean[i] + x[..=i].iter().zip(&self.l[i * k..]).map(|(x, l)| x * l).sum::<f64>())
            .collect()
    }
}

/// The branch at a height within the weight of its group.
fn pick<'a>(own: &[&'a Branch], height: f64) -> Option<&'a Branch> {
    let mut rest = height;
    let within = own.iter().position(|b| {
        rest -= b.weight;
        rest <= 0.0
    });
    within.map_or(own.last(), |i| own.get(i)).copied()
}

/// The word at a height within the shares of all.
fn spoken(shares: &[f64], height: f64) -> usize {
    let mut rest = height;
    let within = shares.iter().position(|s| {
        rest -= s;
        rest <= 0.0
    });
    within.unwrap_or(shares.len() - 1)
}

/// What a test would show: a mixture over the strata of all causes.
pub struct Forecast {
    branches: Vec<Branch>,
    causes: usize,
    vocabulary: Vec<usize>,
    degrees: f64,
}

impl Forecast {
    /// Expected information gain over groups of causes, bits: between 0 and the present entropy.
    /// Words alone are summed over exactly, one number by quadrature, several numbers by draws.
    pub fn gain_bits(&self, groups: &[usize]) -> f64 {
        let Some(first) = self.branches.first() else { return 0.0 };
        let width = first.mean.len();
        let combinations: usize = self.vocabulary.iter().product();
        if width == 0 && combinations <= MOST_COMBINATIONS || width == 1 && combinations == 1 {
            return self.gain_by_sums(groups, width, combinations);
        }
        let gain = self.gain_by_draws(groups, DRAWS);
        if (gain - MATERIAL_BITS).abs() < NEAR_BITS { self.gain_by_draws(groups, MORE_DRAWS) } else { gain }
    }

    /// [`Self::gain_bits`] from a quarter of the draws: for policies that are tried on many vehicles.
    pub fn gain_roughly(&self, groups: &[usize]) -> f64 {
        let Some(first) = self.branches.first() else { return 0.0 };
        let combinations: usize = self.vocabulary.iter().product();
        if first.mean.is_empty() && combinations <= MOST_COMBINATIONS {
            return self.gain_by_sums(groups, 0, combinations);
        }
        self.gain_by_draws(groups, DRAWS / 4)
    }

    fn now(&self, groups: &[usize]) -> (Vec<f64>, f64) {
        let mut p = vec![0.0; self.causes];
        for b in &self.branches {
            p[b.cause] += b.weight;
        }
        let now = entropy_bits(&grouped(&p, groups));
        (p, now)
    }

    fn word(&self, mut combination: usize) -> Vec<usize> {
        self.vocabulary
            .iter()
            .map(|&v| {
                let w = combination % v;
                combination /= v;
                w
            })
            .collect()
    }

    fn gain_by_sums(&self, groups: &[usize], width: usize, combinations: usize) -> f64 {
        let (_, now) = self.now(groups);
        let mut bells = Bells::new(&self.branches, groups, self.degrees);
        let mut later = 0.0;
        for combination in 0..combinations {
            let words = self.word(combination);
            if width == 0 {
                let chance: f64 = bells.at(&[], &words).iter().sum();
                if chance > 0.0 {
                    later += chance * bells.entropy();
                }
                continue;
            }
            for from in &self.branches {
                let share = from.weight * from.words.iter().zip(&words).map(|(s, &w)| s[w]).product::<f64>();
                if share < NEGLIGIBLE * NEGLIGIBLE {
                    continue;
                }
                let count = ((NODES * share) as usize).clamp(FEWEST_NODES, MOST_NODES);
                for (x, w) in nodes(self.degrees as u32, count) {
                    if w < 1e-10 {
                        continue;
                    }
                    bells.at(&from.at(&[x]), &words);
                    later += share * w * bells.entropy();
                }
            }
        }
        (now - later).clamp(0.0, now)
    }

    fn gain_by_draws(&self, groups: &[usize], count: usize) -> f64 {
        let (p, now) = self.now(groups);
        let width = self.branches[0].mean.len().min(MOST_DIMENSIONS - 1);
        let spare = MOST_DIMENSIONS - 1 - width;
        let by_group = grouped(&p, groups);
        let mut bells = Bells::new(&self.branches, groups, self.degrees);
        let picks = points(0, count, 0);
        let rows = draws(self.degrees as u32, width, count, 1);
        // words beyond the dimensions at hand share the last one; their number is small
        let tongues: Vec<Vec<f64>> = (0..self.vocabulary.len())
            .map(|c| points(1 + width + c.min(spare.saturating_sub(1)), count, c as u32))
            .collect();
        let (mut later, mut covered) = (0.0, 0.0);
        for (group, &share) in by_group.iter().enumerate() {
            if share < NEGLIGIBLE {
                continue;
            }
            covered += share;
            let own: Vec<&Branch> =
                bells.of.iter().map(|&b| &self.branches[b]).filter(|b| groups[b.cause] == group).collect();
            for i in 0..count {
                let Some(from) = pick(&own, picks[i] * share) else { continue };
                let words: Vec<usize> =
                    from.words.iter().zip(&tongues).map(|(shares, u)| spoken(shares, u[i])).collect();
                bells.at(&from.at(&rows[i]), &words);
                later += share / count as f64 * bells.entropy();
            }
        }
        if covered > 0.0 { (now - later / covered).clamp(0.0, now) } else { 0.0 }
    }

    /// Mean and standard deviation of each number under some causes, for contrasting two candidates.
    pub fn spread(&self, causes: &[usize]) -> Vec<(f64, f64)> {
        let own: Vec<&Branch> = self.branches.iter().filter(|b| causes.contains(&b.cause)).collect();
        let whole: f64 = own.iter().map(|b| b.weight).sum();
        let width = own.first().map_or(0, |b| b.mean.len());
        let inflate = self.degrees / (self.degrees - 2.0);
        (0..width)
            .map(|i| {
                let mean = own.iter().map(|b| b.weight * b.mean[i]).sum::<f64>() / whole;
                let square = own
                    .iter()
                    .map(|b| {
                        let scale: f64 = (0..=i).map(|j| b.l[i * width + j] * b.l[i * width + j]).sum();
                        let off = b.mean[i] - mean;
                        b.weight * (inflate * scale + off * off)
                    })
                    .sum::<f64>();
                (mean, (square / whole).sqrt())
            })
            .collect()
    }
}

#[cfg(test)]
mod tests;
