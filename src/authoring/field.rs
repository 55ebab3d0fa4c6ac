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
const CUTS: usize = 15;
/// Most outcomes of a number. Three of them tell most before any other test; what two causes with the same first
/// result differ in often lies within one of the three, so finer cuts are added while they tell anything.
const OUTCOMES: usize = 6;
/// Bits that a finer cut must add.
const CUT_BITS: f64 = 0.01;
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
    /// Line of the complete run that it looks at.
    pub line: usize,
    /// In words.
    pub words: String,
    /// Outcomes in words.
    pub outcomes: Vec<String>,
    /// Chance of each outcome, by vehicle.
    chance: Vec<Vec<f64>>,
    /// Bits that it tells before any other test.
    pub bits: f64,
    /// The same with fewer outcomes: in words, and which of them each outcome belongs to.
    few: (Vec<String>, Vec<usize>),
}

impl Sight {
    /// The sight with three outcomes at most.
    fn coarse(&self) -> Self {
        let (words, belongs) = &self.few;
        let joined = |row: &Vec<f64>| {
            let mut few = vec![0.0; words.len()];
            row.iter().zip(belongs).for_each(|(c, &v)| few[v] += c);
            few
        };
        let each = (0..words.len()).collect();
        let chance = self.chance.iter().map(joined).collect();
        Self { outcomes: words.clone(), chance, few: (words.clone(), each), ..self.clone() }
    }
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
    /// Looks that are in the menu, too, and tell nothing: of each its test.
    pub blank: Vec<usize>,
    tests: Vec<Test>,
    per_credit: f64,
    per_risk: f64,
}

/// The pen's mark between two outcomes: a number and its doubt.
struct Number {
    value: Vec<f64>,
    doubt: f64,
}

impl Number {
    /// Values between which it may be cut, rising.
    fn cuts(&self) -> Vec<f64> {
        let mut sorted = self.value.clone();
        sorted.sort_by(f64::total_cmp);
        let mut cuts: Vec<f64> = (1..=CUTS).map(|i| sorted[sorted.len() * i / (CUTS + 1)]).collect();
        cuts.dedup();
        cuts
    }

    /// For each vehicle the chance to fall below the first cut, between the first and the second, and so on.
    fn chances(&self, at: &[f64]) -> Vec<Vec<f64>> {
        let doubt = self.doubt.max(f64::MIN_POSITIVE);
        let of = |&v: &f64| {
            let mut before = 0.0;
            let mut row: Vec<f64> = vec![];
            for cut in at {
                let below = 1.0 / (1.0 + ops::exp(-LOGIT * (cut - v) / doubt));
                row.push((below - before).max(0.0));
                before = below;
            }
            row.push(1.0 - before);
            row
        };
        self.value.iter().map(of).collect()
    }
}

/// Which of the outcomes between a few cuts each outcome between finer cuts belongs to; the few are among the finer.
fn belongs(finer: &[f64], few: &[f64]) -> Vec<usize> {
    let below = |k: usize| few.iter().filter(|c| k > 0 && **c <= finer[k - 1]).count();
    (0..=finer.len()).map(below).collect()
}

/// The outcomes between cuts in words.
fn between(at: &[f64], unit: &str) -> Vec<String> {
    let mut words = vec![tell!("outcome-below", low = written(at[0]), unit = unit)];
    words.extend(
        at.windows(2).map(|w| tell!("outcome-between", low = written(w[0]), high = written(w[1]), unit = unit)),
    );
    let last = written(at[at.len() - 1]);
    words.push(if at.len() == 1 {
        tell!("outcome-above", low = last, unit = unit)
    } else {
        tell!("outcome-above-high", high = last, unit = unit)
    });
    words
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
            blank: vec![],
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
            Ok(field.sight((t, line), words, says, &shown, &alone))
        });
        field.sights = sights.unwrap_or_default().into_iter().flatten().collect();
        field.keep_the_best();
        let lines = |&t: &usize| field.tests[t].lines.len() - field.sights.iter().filter(|s| s.test == t).count();
        let menu = (0..field.tests.len()).filter(|&t| field.tests[t].kind != Kind::Run);
        field.blank = menu.flat_map(|t| std::iter::repeat_n(t, lines(&t))).collect();
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
        (test, line): (usize, usize),
        words: String,
        (says, unit): (&[&str], &str),
        shown: &[&Feature],
        groups: &[usize],
    ) -> Option<Sight> {
        let all: Vec<f64> = self.cars.iter().map(|c| c.weight).collect();
        let finished = |outcomes: Vec<String>, chance: Vec<Vec<f64>>| {
            let few = (outcomes.clone(), (0..outcomes.len()).collect());
            let mut sight = Sight { test, line, words: words.clone(), outcomes, chance, bits: 0.0, few };
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
        let cuts = number.cuts();
        let cut = |at: &[f64]| finished(between(at, unit), number.chances(at));
        let pairs = cuts.iter().enumerate().flat_map(|(i, &low)| cuts[i..].iter().map(move |&high| (low, high)));
        let mut few: Option<(Vec<f64>, Sight)> = None;
        for (low, high) in pairs {
            let at = if high > low { vec![low, high] } else { vec![low] };
            if at.len() == 2 && written(low) == written(high) {
                continue;
            }
            let sight = cut(&at);
            if few.as_ref().is_none_or(|f| sight.bits > f.1.bits) {
                few = Some((at, sight));
            }
        }
        let (few, mut sight) = few?;
        let (words, mut at) = (sight.outcomes.clone(), few.clone());
        while sight.outcomes.len() < OUTCOMES {
            let open = cuts.iter().filter(|c| at.iter().all(|a| written(*a) != written(**c)));
            let finer = open.map(|&c| {
                let mut with = at.clone();
                with.push(c);
                with.sort_by(f64::total_cmp);
                (cut(&with), with)
            });
            match finer.max_by(|a, b| a.0.bits.total_cmp(&b.0.bits)) {
                Some((finer, with)) if finer.bits >= sight.bits + CUT_BITS => (sight, at) = (finer, with),
                _ => break,
            }
        }
        sight.few = (words, belongs(&at, &few));
        Some(sight)
    }

    /// The same world with every number cut into three outcomes at most, for work that grows with their number.
    pub fn coarse(&self) -> Self {
        let sights = self.sights.iter().map(Sight::coarse).collect();
        let (cars, blank, tests) = (self.cars.clone(), self.blank.clone(), self.tests.clone());
        Self { cars, sights, blank, tests, ..*self }
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

    /// Weights that add up to this belief by cause ("none of these" left out), within each cause shared out as
    /// `weights` are, or as at the start where nothing of it is left.
    pub fn led_by(&self, weights: &[f64], belief: &[f64]) -> Vec<f64> {
        let mut sums = vec![(0.0, 0.0); belief.len()];
        for (car, w) in self.cars.iter().zip(weights) {
            sums[car.cause].0 += w;
            sums[car.cause].1 += car.weight;
        }
        let share = |(car, w): (&Car, &f64)| match sums[car.cause] {
            (now, _) if now > f64::MIN_POSITIVE => belief[car.cause] * w / now,
            (_, whole) => belief[car.cause] * car.weight / whole,
        };
        self.cars.iter().zip(weights).map(share).collect()
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

    /// Minutes charged for a test from how things stand; a second look at the same test costs next to nothing.
    pub fn charged(&self, test: usize, standing: &Standing, is_made: bool) -> f64 {
        if is_made {
            return charged_minutes(0.0, 0.0, 0.0, 0.0, 0.0);
        }
        let test = &self.tests[test];
        let (net, money) = (test.minutes(standing), test.credits(standing));
        charged_minutes(net, money, self.per_credit, test.risk(), self.per_risk)
    }

    /// How things stand after a test.
    pub fn leaves(&self, test: usize, standing: &Standing) -> Standing {
        self.tests[test].leaves(standing)
    }

    /// The test behind a sight.
    pub fn test(&self, sight: usize) -> &Test {
        &self.tests[self.sights[sight].test]
    }

    /// Minutes charged for a sight, with these looked at before.
    pub fn minutes(&self, sight: usize, standing: &Standing, done: &[usize]) -> f64 {
        let test = self.sights[sight].test;
        self.charged(test, standing, done.iter().any(|&d| self.sights[d].test == test))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A number cut finely is the same number cut coarsely, with some of its outcomes joined.
    #[test]
    fn outcomes_of_finer_cuts_add_up_to_those_of_a_few() {
        let number = Number { value: (0..40).map(|i| -90.0 + 4.1 * f64::from(i)).collect(), doubt: 8.0 };
        let (finer, few) = ([-70.0, -40.0, -10.0, 20.0, 50.0], [-40.0, 20.0]);
        let chance = number.chances(&finer);
        assert!(chance.iter().all(|row| row.len() == 6 && (row.iter().sum::<f64>() - 1.0).abs() < 1e-12));
        let (outcomes, words) = (between(&finer, "mbar"), between(&few, "mbar"));
        assert_eq!((outcomes.len(), words.len(), belongs(&finer, &few)), (6, 3, vec![0, 0, 1, 1, 2, 2]));
        let few_of = (words, belongs(&finer, &few));
        let sight = Sight { test: 0, line: 0, words: String::new(), outcomes, chance, bits: 0.0, few: few_of };
        for (joined, coarse) in sight.coarse().chance.iter().zip(number.chances(&few)) {
            assert!(joined.iter().zip(&coarse).all(|(a, b)| (a - b).abs() < 1e-12), "{joined:?} {coarse:?}");
        }
        // what lies far below every cut falls there, and one at a cut is even
        assert!(number.chances(&[200.0])[0][0] > 0.999 && (number.chances(&[-90.0])[0][0] - 0.5).abs() < 1e-12);
    }
}
