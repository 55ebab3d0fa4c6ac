//! The reference vehicles of a job as a world in which many sittings cost next to nothing.
//!
//! Each test becomes a *sight*: the one number or word that it shows, with the number cut into "low", "middle"
//! and "high" where that tells most. A vehicle shows an outcome with a chance, because an instrument isn't sharp;
//! what stays possible is a weight on each vehicle, so results that hang together through shared tolerances aren't
//! counted twice. Where it stops being true: a sight is coarser than the number it comes from, so the belief here
//! is a little less sure than the one that marks an attempt.

use crate::diagnosis::belief::{entropy_bits, grouped};
use crate::diagnosis::ensemble::Feature;
use crate::diagnosis::menu::{Kind, Standing, Test};
use crate::diagnosis::survey::{Survey, in_parallel};
use crate::diagnosis::worth::{MATERIAL_BITS, charged_minutes};
use crate::ops;
use crate::scenario::model::Job;
use crate::tell;

/// Places at which a number may be cut.
const CUTS: usize = 9;
/// Most sights; the most telling are kept.
const MOST_SIGHTS: usize = 40;
/// Share of what is possible below which it is as good as impossible; a thousand such vehicles make a thousandth.
const LEFT: f64 = 1e-6;
/// A logistic that lies within 0.01 of the normal distribution takes this slope.
const LOGIT: f64 = 1.702;

/// What one test shows, with few outcomes.
#[derive(Clone, Debug)]
pub struct Sight {
    /// Test of the menu.
    pub test: usize,
    /// In words.
    pub words: String,
    /// Outcomes in words.
    pub outcomes: Vec<String>,
    /// Chance of each outcome, by vehicle.
    chance: Vec<Vec<f64>>,
    /// Bits that it tells before any other test.
    pub bits: f64,
}

/// One vehicle.
#[derive(Clone, Copy, Debug)]
pub struct Car {
    /// Candidate that it has.
    pub candidate: usize,
    /// Its cause: candidate and place.
    pub cause: usize,
    /// Share of all vehicles, by prior.
    pub weight: f64,
    /// Severity of its fault.
    pub severity: f64,
}

/// Vehicles and sights of a job.
pub struct Field {
    /// Vehicles.
    pub cars: Vec<Car>,
    /// Sights, in the order of the menu.
    pub sights: Vec<Sight>,
    tests: Vec<Test>,
    per_credit: f64,
    per_risk: f64,
}

/// The pen's mark between two outcomes: a number and its doubt.
struct Number {
    value: Vec<f64>,
    doubt: f64,
}

impl Field {
    /// From a survey.
    pub fn new(job: &Job, survey: &Survey) -> Self {
        let usable: Vec<_> =
            survey.draws.iter().zip(&survey.rows).filter_map(|(d, r)| Some((d, r.as_ref()?))).collect();
        let mut of_cause = vec![0.0; survey.causes.named()];
        for (draw, _) in &usable {
            of_cause[survey.causes.of(draw).0] += 1.0;
        }
        let cars: Vec<Car> = usable
            .iter()
            .map(|(draw, _)| {
                let cause = survey.causes.of(draw).0;
                let weight = survey.causes.prior[cause] / of_cause[cause];
                Car { candidate: draw.candidate, cause, weight, severity: draw.severity }
            })
            .collect();
        let mut field = Self {
            cars,
            sights: vec![],
            tests: survey.menu.tests.clone(),
            per_credit: job.rubric.minutes_per_credit,
            per_risk: job.rubric.minutes_per_risk,
        };
        let alone: Vec<usize> = (0..survey.causes.prior.len()).collect();
        let single = survey.menu.tests.iter().enumerate().filter(|(_, t)| t.kind != Kind::Run);
        let looks: Vec<(usize, &Test, usize, usize)> = single
            .flat_map(|(t, test)| test.lines.iter().enumerate().map(move |(k, &l)| (t, test, k, l)))
            .collect();
        let sights = in_parallel(&looks, |&(t, test, k, line)| {
            let shown: Vec<&Feature> = usable.iter().filter_map(|(_, row)| row[line].first()).collect();
            if shown.len() < field.cars.len() {
                return Ok(None);
            }
            let words = if k > 0 {
                tell!("field-line-of-test", test = test.words, line = survey.menu.labels[line])
            } else {
                test.words.clone()
            };
            let says = (survey.menu.words[line].as_slice(), survey.menu.units[line]);
            Ok(field.sight(t, words, says, &shown, &alone))
        });
        field.sights = sights.unwrap_or_default().into_iter().flatten().collect();
        field.keep_the_best();
        field
    }

    fn keep_the_best(&mut self) {
        let mut order: Vec<usize> = (0..self.sights.len()).collect();
        order.sort_by(|&a, &b| self.sights[b].bits.total_cmp(&self.sights[a].bits).then(a.cmp(&b)));
        order.truncate(MOST_SIGHTS);
        let mut index = 0;
        self.sights.retain(|s| {
            index += 1;
            s.bits >= MATERIAL_BITS && order.contains(&(index - 1))
        });
    }

    fn sight(
        &self,
        test: usize,
        words: String,
        (says, unit): (&[&str], &str),
        shown: &[&Feature],
        groups: &[usize],
    ) -> Option<Sight> {
        let all: Vec<f64> = self.cars.iter().map(|c| c.weight).collect();
        let finished = |outcomes: Vec<String>, chance: Vec<Vec<f64>>| {
            let mut sight = Sight { test, words: words.clone(), outcomes, chance, bits: 0.0 };
            sight.bits = self.gain(&all, &sight, groups);
            sight
        };
        if let Feature::Word { of, .. } = shown.first()? {
            let row = |f: &&Feature| -> Vec<f64> {
                // nobody hears or sees amiss more than once in fifty
                let miss = 0.02 / (*of as f64 - 1.0).max(1.0);
                (0..*of)
                    .map(|w| if matches!(f, Feature::Word { index, .. } if *index == w) { 0.98 } else { miss })
                    .collect()
            };
            let outcomes = (0..*of).map(|w| says.get(w).copied().unwrap_or("?").to_owned()).collect();
            return Some(finished(outcomes, shown.iter().map(row).collect()));
        }
        let number = Number {
            value: shown.iter().map(|f| if let Feature::Number { value, .. } = f { *value } else { 0.0 }).collect(),
            doubt: shown
                .iter()
                .map(|f| if let Feature::Number { random, .. } = f { *random } else { 0.0 })
                .fold(0.0, f64::max),
        };
        let mut sorted = number.value.clone();
        sorted.sort_by(f64::total_cmp);
        let mut cuts: Vec<f64> = (1..=CUTS).map(|i| sorted[sorted.len() * i / (CUTS + 1)]).collect();
        cuts.dedup();
        let mut best: Option<Sight> = None;
        for (i, &low) in cuts.iter().enumerate() {
            for &high in &cuts[i..] {
                let below = |v: f64, cut: f64| 1.0 / (1.0 + ops::exp(-LOGIT * (cut - v) / number.doubt));
                let chance: Vec<Vec<f64>> = number
                    .value
                    .iter()
                    .map(|&v| {
                        let (a, b) = (below(v, low), below(v, high));
                        if high > low { vec![a, (b - a).max(0.0), 1.0 - b] } else { vec![a, 1.0 - a] }
                    })
                    .collect();
                let (low, high) = (written(low), written(high));
                let outcomes = if high == low || chance[0].len() == 2 {
                    vec![
                        tell!("outcome-below", low = low, unit = unit),
                        tell!("outcome-above", low = low, unit = unit),
                    ]
                } else {
                    vec![
                        tell!("outcome-below", low = low, unit = unit),
                        tell!("outcome-between", low = low, high = high, unit = unit),
                        tell!("outcome-above-high", high = high, unit = unit),
                    ]
                };
                if outcomes.len() != chance[0].len() {
                    continue;
                }
                let sight = finished(outcomes, chance);
                if best.as_ref().is_none_or(|b| sight.bits > b.bits) {
                    best = Some(sight);
                }
            }
        }
        best
    }

    /// Weights before any test.
    pub fn start(&self) -> Vec<f64> {
        self.cars.iter().map(|c| c.weight).collect()
    }

    /// Belief by cause, given weights; `groups` counts "none of these" at its end.
    pub fn belief(&self, weights: &[f64], groups: &[usize]) -> Vec<f64> {
        let mut by_cause = vec![0.0; groups.len()];
        for (car, w) in self.cars.iter().zip(weights) {
            by_cause[car.cause] += w;
        }
        let whole: f64 = by_cause.iter().sum();
        grouped(&by_cause.iter().map(|p| p / whole).collect::<Vec<_>>(), groups)
    }

    /// Bits that are open.
    pub fn entropy(&self, weights: &[f64], groups: &[usize]) -> f64 {
        entropy_bits(&self.belief(weights, groups))
    }

    /// Bits that a sight can be expected to tell.
    pub fn gain(&self, weights: &[f64], sight: &Sight, groups: &[usize]) -> f64 {
        let width = groups.iter().max().map_or(0, |g| g + 1);
        let outcomes = sight.outcomes.len();
        // thousands of situations are gone through, and in most of them nearly every vehicle is as good as out
        let least = LEFT * weights.iter().sum::<f64>();
        // a row of groups for each outcome, and one for all
        let mut sums = vec![0.0; (outcomes + 1) * width];
        for ((car, &w), chance) in self.cars.iter().zip(weights).zip(&sight.chance) {
            if w > least {
                let group = groups[car.cause];
                sums[outcomes * width + group] += w;
                for (v, c) in chance.iter().enumerate() {
                    sums[v * width + group] += w * c;
                }
            }
        }
        let mut rows = sums.chunks_exact(width).map(open_of);
        let later: f64 = rows.by_ref().take(outcomes).map(|(whole, bits)| whole * bits).sum();
        let (whole, now) = rows.next().unwrap_or((0.0, 0.0));
        if whole > 0.0 { (now - later / whole).clamp(0.0, now) } else { 0.0 }
    }

    /// Weights after an outcome.
    pub fn after(&self, weights: &[f64], sight: &Sight, outcome: usize) -> Vec<f64> {
        weights.iter().zip(&sight.chance).map(|(w, c)| w * c[outcome]).collect()
    }

    /// The outcome that a vehicle shows when luck, 0 … 1, falls so.
    pub fn outcome(&self, car: usize, sight: &Sight, luck: f64) -> usize {
        let mut rest = luck;
        let found = sight.chance[car].iter().position(|c| {
            rest -= c;
            rest <= 0.0
        });
        found.unwrap_or(sight.outcomes.len() - 1)
    }

    /// Log-likelihoods of the candidates for an outcome, by the vehicles of each.
    pub fn log_like(&self, sight: &Sight, outcome: usize, candidates: usize) -> Vec<f64> {
        (0..candidates)
            .map(|c| {
                let own = || (0..self.cars.len()).filter(|&i| self.cars[i].candidate == c);
                let whole: f64 = own().map(|i| self.cars[i].weight).sum();
                let shows: f64 = own().map(|i| self.cars[i].weight * sight.chance[i][outcome]).sum();
                ops::ln((shows / whole.max(f64::MIN_POSITIVE)).max(1e-6))
            })
            .collect()
    }

    /// The test behind a sight.
    pub fn test(&self, sight: usize) -> &Test {
        &self.tests[self.sights[sight].test]
    }

    /// Minutes charged for a sight from how things stand; a second look at the same test costs next to nothing.
    pub fn minutes(&self, sight: usize, standing: &Standing, done: &[usize]) -> f64 {
        if done.iter().any(|&d| self.sights[d].test == self.sights[sight].test) {
            return charged_minutes(0.0, 0.0, 0.0, 0.0, 0.0);
        }
        let test = self.test(sight);
        let (net, money) = (test.minutes(standing), test.credits(standing));
        charged_minutes(net, money, self.per_credit, test.risk(), self.per_risk)
    }

    /// Material sights that weren't taken, with their bits and minutes.
    pub fn offers(
        &self,
        weights: &[f64],
        groups: &[usize],
        standing: &Standing,
        done: &[usize],
    ) -> Vec<(usize, f64, f64)> {
        let open = (0..self.sights.len()).filter(|s| !done.contains(s));
        open.map(|s| (s, self.gain(weights, &self.sights[s], groups), self.minutes(s, standing, done)))
            .filter(|o| o.1 >= MATERIAL_BITS)
            .collect()
    }
}

/// What a row of sums over groups holds, and the bits that are open in it.
fn open_of(sums: &[f64]) -> (f64, f64) {
    let whole: f64 = sums.iter().sum();
    let shares = sums.iter().map(|s| s / whole).filter(|&p| p > LEFT);
    (whole, if whole > 0.0 { -shares.map(|p| p * ops::log2(p)).sum::<f64>() } else { 0.0 })
}

/// A cut as a person would say it.
fn written(x: f64) -> String {
    let step = if x.abs() >= 200.0 {
        10.0
    } else if x.abs() >= 20.0 {
        5.0
    } else if x.abs() >= 5.0 {
        1.0
    } else {
        0.05
    };
    let text = format!("{:.2}", (x / step).round() * step + 0.0);
    text.trim_end_matches('0').trim_end_matches('.').replace('-', "\u{2212}")
}
