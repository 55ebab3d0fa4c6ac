//! The way of sound work through a job, as a tree that a teacher can read: which test first, and what next for
//! each thing that it may show.
//!
//! Built by taking the most telling test a minute at every branch, over reference vehicles. Where it stops being
//! true: looking one test ahead misses what tells something only together; how much that may matter is told
//! ([`Route::pair_gain`]).

use super::field::Field;
use crate::diagnosis::menu::Standing;

/// Branches that fewer vehicles than this share reach aren't followed.
const RARE: f64 = 0.01;
/// Deepest branch.
const DEEPEST: usize = 7;
/// First tests for which a second one is looked for.
const FIRSTS: usize = 6;

/// A point of the way.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Node {
    /// Share of all vehicles that come here, by prior.
    pub share: f64,
    /// The likeliest candidates, with their beliefs; at most three.
    pub likely: Vec<(usize, f64)>,
    /// What to do next; none where it is settled, or nothing tells any more.
    pub next: Option<Step>,
    /// Sure enough to stop.
    pub settled: bool,
}

/// A test and what follows from it.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Step {
    /// In words.
    pub test: String,
    /// Minutes charged, set-up included.
    pub minutes: f64,
    /// Credits for seals.
    pub credits: f64,
    /// Bits that it can be expected to tell here.
    pub bits: f64,
    /// For each outcome, what it leads to.
    pub branches: Vec<(String, Node)>,
}

/// The whole way.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Route {
    /// Its beginning.
    pub root: Node,
    /// Expected minutes and credits.
    pub minutes: f64,
    /// Credits for seals, expected.
    pub credits: f64,
    /// Most minutes of any branch that is followed.
    pub worst_minutes: f64,
    /// Expected minutes by candidate.
    pub by_candidate: Vec<f64>,
    /// Share of vehicles for which it ends sure enough.
    pub settles: f64,
    /// Bits open at the start, and at the end on average.
    pub bits: (f64, f64),
    /// How many times as many bits a minute the best two tests together tell as the best single one.
    pub pair_gain: f64,
    /// The most bits that any one test tells at the start, and which: its number can't be lower than bits over this.
    pub most_telling: Option<(String, f64)>,
}

struct Builder<'a> {
    field: &'a Field,
    /// Group of each cause, "none of these" last.
    places: &'a [usize],
    enough: f64,
    candidates: usize,
    whole: f64,
    // sums over leaves
    minutes: Vec<f64>,
    reached: Vec<f64>,
    worst: f64,
    credits: f64,
    settled: f64,
    open: f64,
}

impl Builder<'_> {
    fn by_candidate(&self, weights: &[f64]) -> Vec<f64> {
        let mut all = vec![0.0; self.candidates];
        for (car, w) in self.field.cars.iter().zip(weights) {
            all[car.candidate] += w;
        }
        all
    }

    fn node(&mut self, weights: &[f64], standing: &Standing, done: &[usize], spent: (f64, f64)) -> Node {
        let by_candidate = self.by_candidate(weights);
        let here: f64 = by_candidate.iter().sum();
        let mut likely: Vec<(usize, f64)> = by_candidate.iter().map(|p| p / here).enumerate().collect();
        likely.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        likely.truncate(3);
        let sure = self.field.belief(weights, self.places).into_iter().fold(0.0, f64::max);
        let mut node = Node { share: here / self.whole, likely, next: None, settled: sure >= self.enough };
        if !node.settled && done.len() < DEEPEST && node.share >= RARE {
            node.next = self.step(weights, standing, done, spent);
        }
        if node.next.is_none() {
            for (c, w) in by_candidate.iter().enumerate() {
                self.minutes[c] += w * spent.0;
                self.reached[c] += w;
            }
            self.worst = self.worst.max(spent.0);
            self.credits += here * spent.1;
            self.open += here * self.field.entropy(weights, self.places);
            self.settled += if node.settled { here } else { 0.0 };
        }
        node
    }

    fn step(&mut self, weights: &[f64], standing: &Standing, done: &[usize], spent: (f64, f64)) -> Option<Step> {
        let offers = self.field.offers(weights, self.places, standing, done);
        let &(s, bits, minutes) =
            offers.iter().max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2)).then(b.0.cmp(&a.0)))?;
        let test = self.field.test(s);
        let repeat = done.iter().any(|&d| self.field.sights[d].test == self.field.sights[s].test);
        let credits = if repeat { 0.0 } else { test.credits(standing) };
        let after = if repeat { standing.clone() } else { test.leaves(standing) };
        let mut with = done.to_vec();
        with.push(s);
        let sight = &self.field.sights[s];
        let mut branches = vec![];
        for (v, outcome) in sight.outcomes.iter().enumerate() {
            let left = self.field.after(weights, sight, v);
            if left.iter().sum::<f64>() / self.whole > RARE / 20.0 {
                let node = self.node(&left, &after, &with, (spent.0 + minutes, spent.1 + credits));
                branches.push((outcome.clone(), node));
            }
        }
        Some(Step { test: sight.words.clone(), minutes, credits, bits, branches })
    }

    /// Bits a minute of the best pair over those of the best single test, at the start.
    fn pair_gain(&self, weights: &[f64]) -> f64 {
        let cold = Standing::default();
        let mut offers = self.field.offers(weights, self.places, &cold, &[]);
        offers.sort_by(|a, b| (b.1 / b.2).total_cmp(&(a.1 / a.2)).then(a.0.cmp(&b.0)));
        let Some(&(_, bits, minutes)) = offers.first() else { return 1.0 };
        let single = bits / minutes;
        let mut best = single;
        for &(s, bits, minutes) in offers.iter().take(FIRSTS) {
            let after = self.field.test(s).leaves(&cold);
            let sight = &self.field.sights[s];
            let splits: Vec<Vec<f64>> =
                (0..sight.outcomes.len()).map(|v| self.field.after(weights, sight, v)).collect();
            for second in (0..self.field.sights.len()).filter(|&x| x != s) {
                let further: f64 = splits
                    .iter()
                    .map(|w| {
                        let chance = w.iter().sum::<f64>() / self.whole;
                        chance * self.field.gain(w, &self.field.sights[second], self.places)
                    })
                    .sum();
                best = f64::max(best, (bits + further) / (minutes + self.field.minutes(second, &after, &[s])));
            }
        }
        best / single
    }
}

/// The way of sound work, to a belief of `enough` in one repair.
pub fn route(field: &Field, places: &[usize], candidates: usize, enough: f64) -> Route {
    let start = field.start();
    let mut b = Builder {
        field,
        places,
        enough,
        candidates,
        whole: start.iter().sum(),
        minutes: vec![0.0; candidates],
        reached: vec![0.0; candidates],
        worst: 0.0,
        credits: 0.0,
        settled: 0.0,
        open: 0.0,
    };
    let root = b.node(&start, &Standing::default(), &[], (0.0, 0.0));
    let most = field.sights.iter().max_by(|a, b| a.bits.total_cmp(&b.bits));
    let all: f64 = b.reached.iter().sum();
    Route {
        minutes: b.minutes.iter().sum::<f64>() / all,
        credits: b.credits / all,
        worst_minutes: b.worst,
        by_candidate: b.minutes.iter().zip(&b.reached).map(|(m, w)| m / w.max(f64::MIN_POSITIVE)).collect(),
        settles: b.settled / all,
        bits: (field.entropy(&start, places), b.open / all),
        pair_gain: b.pair_gain(&start),
        most_telling: most.map(|s| (s.words.clone(), s.bits)),
        root,
    }
}
