//! The cheapest way to certainty over a few tests, exactly: dynamic programming over everything that the tests may show,
//! on the vehicles of the [`Field`]. It says what looking one test ahead, which sets par and judges the choice of
//! tests unless a job says two, costs beside the best that there is, and what looking two ahead costs.
//!
//! Both ways are held to the same few tests, the same stop (sure enough, or nothing tells any more) and the same
//! charges, set-up included; so the ratio compares policies and not menus. Where it stops being true: with tests that
//! aren't among the few a cheaper way may exist. A bound from below says how much cheaper at most: no test with three
//! outcomes tells more than log2 3 bits.

use std::collections::BTreeMap;

use super::field::Field;
use crate::diagnosis::menu::Standing;
use crate::diagnosis::worth::{MATERIAL_BITS, SHORTEST_TEST_MIN};
use crate::ops;

/// Most tests that are planned over.
const MOST_TESTS: usize = 8;
/// Ways that fewer vehicles than this share take end where they are.
const RARE: f64 = 0.002;

/// What exact planning found.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Exact {
    /// The tests that were planned over, in words.
    pub tests: Vec<String>,
    /// What the best way begins with.
    pub first: Option<String>,
    /// Expected minutes of the best way.
    pub minutes: f64,
    /// Expected minutes of the most telling test a minute, over the same tests.
    pub greedy_minutes: f64,
    /// Expected minutes of looking two tests ahead, over the same tests.
    pub two_minutes: f64,
    /// No way over any tests of this job that ends as sure takes fewer minutes on average.
    pub bound_minutes: f64,
    /// Situations that were looked at.
    pub situations: usize,
}

impl Exact {
    /// How many times as long looking one test ahead takes; 1 where it is the best.
    pub fn ratio(&self) -> f64 {
        self.ratio_ahead(1)
    }

    /// The same of looking one test ahead or two.
    pub fn ratio_ahead(&self, tests: u32) -> f64 {
        let minutes = if tests > 1 { self.two_minutes } else { self.greedy_minutes };
        if self.minutes > 0.0 { minutes / self.minutes } else { 1.0 }
    }
}

/// How a way is chosen.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Best,
    Greedy,
    /// By the best rate of a test alone or of it and the best one after it, picked beforehand.
    TwoSteps,
}

/// Outcome of each test, in the order of the tests: 0 not made, v + 1 for outcome v.
type Shown = Vec<u8>;

struct Planner<'a> {
    field: &'a Field,
    places: &'a [usize],
    enough: f64,
    sights: Vec<usize>,
    whole: f64,
    /// Minutes to go and bits open at the end, expected, from a situation.
    known: BTreeMap<(Shown, Vec<u8>), Ahead>,
}

/// Minutes to go, bits open at the end, and the test to begin with.
type Ahead = (f64, f64, Option<usize>);

/// A standing as a key: the joint, whether the engine runs, whether it is fed from a container.
fn key_of(standing: &Standing) -> Vec<u8> {
    let mut key = vec![u8::from(standing.running), u8::from(standing.container)];
    key.extend(standing.tee.as_deref().unwrap_or("\u{0}").bytes());
    key
}

impl Planner<'_> {
    fn done(&self, shown: &Shown) -> Vec<usize> {
        (0..self.sights.len()).filter(|&i| shown[i] > 0).map(|i| self.sights[i]).collect()
    }

    /// Expected minutes to go, expected bits open at the end, and the next test.
    fn from(&mut self, shown: &Shown, weights: &[f64], standing: &Standing, way: Way) -> (f64, f64, Option<usize>) {
        let key = (shown.clone(), key_of(standing));
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let here: f64 = weights.iter().sum();
        let open = self.field.entropy(weights, self.places);
        let sure = self.field.belief(weights, self.places).into_iter().fold(0.0, f64::max);
        let mut found = (0.0, open, None);
        if sure < self.enough && here / self.whole >= RARE {
            let done = self.done(shown);
            let field = self.field;
            let offers: Vec<(usize, f64, f64)> = (self.sights.iter().filter(|s| !done.contains(s)))
                .map(|&s| {
                    (s, field.gain(weights, &field.sights[s], self.places), field.minutes(s, standing, &done))
                })
                .filter(|o| o.1 >= MATERIAL_BITS)
                .collect();
            let greedy = offers.iter().max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2)).then(b.0.cmp(&a.0)));
            let tried: Vec<(usize, f64)> = match way {
                Way::Best => offers.iter().map(|o| (o.0, o.2)).collect(),
                Way::Greedy => greedy.iter().map(|o| (o.0, o.2)).collect(),
                Way::TwoSteps => self.best_of_two(&offers, shown, weights, standing).into_iter().collect(),
            };
            let mut best: Option<(f64, f64, Option<usize>)> = None;
            for (s, minutes) in tried {
                let (rest, left) = self.after(shown, weights, standing, s, way);
                if best.is_none_or(|b| minutes + rest < b.0) {
                    best = Some((minutes + rest, left, Some(s)));
                }
            }
            found = best.unwrap_or(found);
        }
        self.known.insert(key, found);
        found
    }

    /// The test to begin with when two ahead are looked, and its minutes.
    fn best_of_two(
        &self,
        offers: &[(usize, f64, f64)],
        shown: &Shown,
        weights: &[f64],
        standing: &Standing,
    ) -> Option<(usize, f64)> {
        let field = self.field;
        let here: f64 = weights.iter().sum();
        let mut best: Option<(f64, usize, f64)> = None;
        for &(first, bits, minutes) in offers {
            let (next, mut done) = (self.leaves(first, shown, standing), self.done(shown));
            done.push(first);
            let sight = &field.sights[first];
            let left: Vec<Vec<f64>> = (0..sight.outcomes.len()).map(|v| field.after(weights, sight, v)).collect();
            let mut rate = bits / minutes;
            for &second in self.sights.iter().filter(|s| !done.contains(s)) {
                let further: f64 = (left.iter())
                    .map(|w| w.iter().sum::<f64>() / here * field.gain(w, &field.sights[second], self.places))
                    .sum();
                rate = rate.max((bits + further) / (minutes + field.minutes(second, &next, &done)));
            }
            if best.is_none_or(|b| rate > b.0) {
                best = Some((rate, first, minutes));
            }
        }
        best.map(|(_, first, minutes)| (first, minutes))
    }

    /// How things stand after a test.
    fn leaves(&self, s: usize, shown: &Shown, standing: &Standing) -> Standing {
        let same = |&d: &usize| self.field.sights[d].test == self.field.sights[s].test;
        if self.done(shown).iter().any(same) { standing.clone() } else { self.field.test(s).leaves(standing) }
    }

    /// The same after a test, expected over its outcomes.
    fn after(&mut self, shown: &Shown, weights: &[f64], standing: &Standing, s: usize, way: Way) -> (f64, f64) {
        let field = self.field;
        let sight = &field.sights[s];
        let next = self.leaves(s, shown, standing);
        let place = self.sights.iter().position(|&x| x == s).unwrap_or(0);
        let here: f64 = weights.iter().sum();
        let (mut minutes, mut open) = (0.0, 0.0);
        for v in 0..sight.outcomes.len() {
            let left = field.after(weights, sight, v);
            let chance = left.iter().sum::<f64>() / here;
            if chance <= 0.0 {
                continue;
            }
            let mut with = shown.clone();
            with[place] = v as u8 + 1;
            let (rest, bits, _) = self.from(&with, &left, &next, way);
            minutes += chance * rest;
            open += chance * bits;
        }
        (minutes, open)
    }
}

/// The tests to plan over: those with most bits a minute from cold, and those that tell most of all, in turn.
fn chosen(field: &Field, places: &[usize]) -> Vec<usize> {
    let mut offers = field.offers(&field.start(), places, &Standing::default(), &[]);
    offers.sort_by(|a, b| (b.1 / b.2).total_cmp(&(a.1 / a.2)).then(a.0.cmp(&b.0)));
    let by_rate: Vec<usize> = offers.iter().map(|o| o.0).collect();
    offers.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut picked: Vec<usize> = vec![];
    for (rate, bits) in by_rate.into_iter().zip(offers.iter().map(|o| o.0)) {
        for s in [rate, bits] {
            if picked.len() < MOST_TESTS && !picked.contains(&s) {
                picked.push(s);
            }
        }
    }
    picked.sort_unstable();
    picked
}

/// Plans exactly over a few tests of a job.
pub fn exact(field: &Field, places: &[usize], enough: f64) -> Exact {
    let sights = chosen(field, places);
    let start = field.start();
    let whole = start.iter().sum();
    let mut planner = Planner { field, places, enough, sights, whole, known: BTreeMap::new() };
    let (none, cold) = (vec![0; planner.sights.len()], Standing::default());
    let (greedy_minutes, ..) = planner.from(&none, &start, &cold, Way::Greedy);
    planner.known.clear();
    let (two_minutes, ..) = planner.from(&none, &start, &cold, Way::TwoSteps);
    planner.known.clear();
    let (minutes, open, first) = planner.from(&none, &start, &cold, Way::Best);
    let words = |&s: &usize| field.sights[s].words.clone();
    let outcomes = field.sights.iter().map(|s| s.outcomes.len()).max().unwrap_or(2);
    let cheapest = (0..field.sights.len()).map(|s| field.minutes(s, &cold, &[])).fold(f64::INFINITY, f64::min);
    let told = (field.entropy(&start, places) - open).max(0.0);
    Exact {
        tests: planner.sights.iter().map(words).collect(),
        first: first.as_ref().map(words),
        minutes,
        greedy_minutes,
        two_minutes,
        // the first costs what it costs from cold, any other no less than the least that is charged
        bound_minutes: if first.is_some() {
            cheapest + (told / ops::log2(outcomes as f64) - 1.0).max(0.0) * SHORTEST_TEST_MIN
        } else {
            0.0
        },
        situations: planner.known.len(),
    }
}
