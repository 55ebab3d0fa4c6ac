//! Learners who don't exist: they sit a job many times in the [`Field`], each in a way that teachers know, and their
//! sittings are marked by the formulas of the mark. How hard a job is and whether it tells the good from the lucky is
//! read off them.
//!
//! They write every number down right and cite as their kind would; so the marks say what *choosing and concluding*
//! earns. What they believe is what the numbers bear that they looked at, weighed as the mark weighs them ([`Judge`]); what to
//! look at next they choose among the coarse sights of the field. Where it stops being true: nobody is one of these.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use super::field::Field;
use crate::diagnosis::belief::{divergence_bits, jackknife_groups, posterior};
use crate::diagnosis::ensemble::Row;
use crate::diagnosis::menu::Standing;
use crate::diagnosis::rows::{Strata, evidence};
use crate::diagnosis::survey::{Survey, in_parallel};
use crate::diagnosis::worth::{MATERIAL_BITS, wasted_minutes};
use crate::marking::claims::{
    Against, Cited, ClaimRules, ClaimVerdict, Claims, claim_of_line, rivals, split_claims, weight_bans,
};
use crate::marking::components::{
    Match, Severity, calibration, choice, diagnosis, economy, justified, procedure, progress, reference_belief,
};
use crate::marking::model::Outcome;
use crate::marking::result::{CRITICAL_CAP, Gated, outcome, weighted};
use crate::ops;
use crate::random::{Purpose, child_seed, uniform};
use crate::scenario::model::Rubric;

/// Belief at which a virtual learner stops, in trials of difficulty.
const STOPS: f64 = 0.80;
/// Most tests that anybody makes.
const MOST_TESTS: usize = 14;
/// A sitting lasts this many par times at most.
const PATIENCE: f64 = 2.0;
/// How much steeper than its mean rate a middling learner follows the rate.
const MIDDLING: f64 = 3.0;

/// A way to work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Takes any test.
    Random,
    /// Takes the test that tells most, whatever it costs.
    ByBits,
    /// Takes the test that tells most a minute.
    ByRate,
    /// Changes the likeliest part, then the next.
    Swap,
    /// Guesses, and is right.
    Lucky,
    /// Works by rate and breaks a critical rule.
    Unsafe,
    /// Takes his time: by rate, with whatever is at hand looked at in between, needed or not, until quite sure.
    Slow,
}

impl Kind {
    /// Every kind, in the order of the table.
    pub const ALL: [Self; 7] =
        [Self::Random, Self::ByBits, Self::ByRate, Self::Swap, Self::Lucky, Self::Unsafe, Self::Slow];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Random => "takes any test",
            Self::ByBits => "most telling test first, whatever it costs",
            Self::ByRate => "most telling test a minute",
            Self::Swap => "swaps the likeliest part, then the next",
            Self::Lucky => "guesses right without a test",
            Self::Unsafe => "most telling a minute, breaks a critical rule",
            Self::Slow => "slow but sound",
        }
    }
}

/// A vehicle, and the lines that were looked at.
type Looked = (usize, Vec<usize>);

/// What readings make believe: each vehicle is weighed by the reference vehicles without it.
pub struct Judge<'a> {
    survey: &'a Survey,
    folds: Vec<Strata>,
    /// In which of them each usable vehicle is left out.
    fold_of: Vec<usize>,
    /// Of the usable vehicles, in the order of the field, what each shows.
    rows: Vec<&'a Row>,
    /// Learners who work alike look at the same.
    known: Mutex<BTreeMap<Looked, Vec<f64>>>,
}

impl<'a> Judge<'a> {
    /// Of a survey.
    ///
    /// # Errors
    /// A sentence when a cause has no usable vehicle.
    pub fn new(survey: &'a Survey) -> Result<Self, String> {
        let rows = survey.rows.iter().flatten().collect();
        let usable = survey.draws.iter().zip(&survey.rows).filter(|(_, row)| row.is_some());
        let fold_of = jackknife_groups(usable.map(|(draw, _)| survey.causes.of(draw).0));
        Ok(Self { survey, folds: survey.folds()?, fold_of, rows, known: Mutex::default() })
    }

    /// Belief by cause, "none of these" last, after these lines of a vehicle; none where they can't be weighed.
    fn belief(&self, car: usize, mut lines: Vec<usize>) -> Option<Vec<f64>> {
        lines.sort_unstable();
        let key = (car, lines);
        let lock = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = lock().get(&key) {
            return Some(known.clone());
        }
        let like = self.folds[self.fold_of[car]].log_likelihoods(&evidence(self.rows[car], &key.1)).ok()?;
        let belief = posterior(&self.survey.causes.prior, &like);
        lock().insert(key, belief.clone());
        Some(belief)
    }
}

/// What a job is, for those who sit it.
pub struct World<'a> {
    /// Vehicles and sights.
    pub field: &'a Field,
    /// What their numbers bear.
    pub judge: &'a Judge<'a>,
    /// Group of each cause by repair, "none of these" last.
    pub places: &'a [usize],
    /// Group of each candidate, "none of these" last.
    pub groups: &'a [usize],
    /// Prior of each candidate, "none of these" last.
    pub prior: &'a [f64],
    /// The true candidate.
    pub truth: usize,
    /// Vehicles that the job may stand on: they have what is hidden in it.
    pub cars: Vec<usize>,
    /// Belief in the truth that all tests bear.
    pub attainable: f64,
    /// Par time, min.
    pub par_minutes: f64,
    /// Bits left when everything was tested.
    pub all_bits: f64,
    /// Price of the right part, and of each candidate's part.
    pub prices: Vec<f64>,
    /// How it is marked.
    pub rubric: &'a Rubric,
}

/// How one kind of learner fared.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Fared {
    /// Who.
    pub kind: Kind,
    /// Sittings.
    pub sittings: usize,
    /// Total: lowest tenth, middle, highest tenth.
    pub total: [f64; 3],
    /// Share that reached the job.
    pub reached: f64,
    /// Mean shares of D J X S M P C R.
    pub shares: [f64; 8],
    /// Mean minutes.
    pub minutes: f64,
}

/// One test made.
struct Made {
    /// What was looked at, and what it showed; none of a test that shows nothing anybody could tell causes by.
    seen: Option<(usize, usize)>,
    wasted: f64,
    material: bool,
}

struct Sat {
    made: Vec<Made>,
    weights: Vec<f64>,
    minutes: f64,
    /// Largest share of the leader's belief that each candidate ever had.
    rivalled: Vec<f64>,
    standing: Standing,
    /// Sights that were looked at, and looks that told nothing.
    done: Vec<usize>,
    blank: Vec<usize>,
    /// Lines that told something.
    lines: Vec<usize>,
}

/// What is looked at.
enum Look {
    /// A sight.
    At(usize),
    /// One of the looks that tell nothing.
    Blank(usize),
}

/// How a test is picked.
enum Pick {
    /// Anything of the menu that wasn't looked at, telling or not.
    Any,
    /// What takes the fewest minutes from here, telling or not.
    AtHand,
    /// In proportion to e^(β·rate).
    Softly(f64),
    Bits,
    Rate,
}

impl World<'_> {
    fn candidates(&self) -> usize {
        self.prior.len() - 1
    }

    /// Belief in all that is named, "none of these" left out.
    fn named(&self) -> f64 {
        (1.0 - self.prior[self.candidates()]).max(0.97)
    }

    /// Belief by candidate group.
    fn belief(&self, weights: &[f64]) -> Vec<f64> {
        let mut by = vec![0.0; self.candidates()];
        for (car, w) in self.field.cars.iter().zip(weights) {
            by[car.candidate] += w;
        }
        let whole: f64 = by.iter().sum();
        let last = self.groups.last().copied().unwrap_or(0);
        let mut grouped = vec![0.0; last + 1];
        for (c, p) in by.iter().enumerate() {
            grouped[self.groups[c]] += p / whole * self.named();
        }
        grouped[last] = 1.0 - grouped.iter().sum::<f64>();
        grouped
    }

    fn sit(&self, car: usize, pick: &Pick, stop: f64, extra: bool, seed: u64) -> Sat {
        let field = self.field;
        let mut weights = field.start();
        // nobody's own vehicle is among those it is held against
        weights[car] = 0.0;
        let mut sat = Sat {
            made: vec![],
            weights,
            minutes: 0.0,
            rivalled: vec![0.0; self.candidates()],
            standing: Standing::default(),
            done: vec![],
            blank: vec![],
            lines: vec![],
        };
        let luck = |step: usize, what: u64| uniform(seed, Purpose::VirtualLearner, step as u64 * 4 + what);
        for step in 0..MOST_TESTS {
            let belief = self.belief(&sat.weights);
            let top = belief.iter().copied().fold(0.0, f64::max);
            for (c, most) in sat.rivalled.iter_mut().enumerate() {
                *most = most.max(belief[self.groups[c]] / top);
            }
            let sure = field.belief(&sat.weights, self.places).into_iter().fold(0.0, f64::max);
            if sure >= stop || sat.minutes >= PATIENCE * self.par_minutes {
                break;
            }
            let offers = field.offers(&sat.weights, self.places, &sat.standing, &sat.done);
            let best = offers.iter().map(|o| o.1 / o.2).fold(0.0, f64::max);
            let pick = if extra && step % 2 == 1 { &Pick::AtHand } else { pick };
            let Some(look) = self.next(&sat, pick, &offers, luck(step, 0)) else { break };
            self.make(&mut sat, car, &look, best, luck(step, 1));
        }
        sat
    }

    /// What is looked at next.
    fn next(&self, sat: &Sat, pick: &Pick, offers: &[(usize, f64, f64)], luck: f64) -> Option<Look> {
        let by = |score: fn(&(usize, f64, f64)) -> f64| {
            offers.iter().max_by(|a, b| score(a).total_cmp(&score(b)).then(b.0.cmp(&a.0))).map(|o| o.0)
        };
        let open = || {
            let sights = (0..self.field.sights.len()).filter(|s| !sat.done.contains(s)).map(Look::At);
            sights.chain((0..self.field.blank.len()).filter(|b| !sat.blank.contains(b)).map(Look::Blank))
        };
        match pick {
            Pick::Any => {
                let mut open: Vec<Look> = open().collect();
                let n = (luck * open.len() as f64) as usize;
                (n < open.len()).then(|| open.swap_remove(n))
            }
            Pick::AtHand => open().min_by(|a, b| self.minutes(sat, a).total_cmp(&self.minutes(sat, b))),
            Pick::Softly(beta) => softly(offers, *beta, luck).map(Look::At),
            Pick::Bits => by(|o| o.1).map(Look::At),
            Pick::Rate => by(|o| o.1 / o.2).map(Look::At),
        }
    }

    /// The test of a look, and whether it was made.
    fn test(&self, sat: &Sat, look: &Look) -> (usize, bool) {
        let field = self.field;
        let test = match look {
            Look::At(s) => field.sights[*s].test,
            Look::Blank(b) => field.blank[*b],
        };
        let is_made = sat.done.iter().any(|&d| field.sights[d].test == test)
            || sat.blank.iter().any(|&b| field.blank[b] == test);
        (test, is_made)
    }

    /// Minutes that are charged for a look from here.
    fn minutes(&self, sat: &Sat, look: &Look) -> f64 {
        let (test, is_made) = self.test(sat, look);
        self.field.charged(test, &sat.standing, is_made)
    }

    /// Makes the test where it wasn't made yet, looks, and learns from it. `best` is the best rate there was.
    fn make(&self, sat: &mut Sat, car: usize, look: &Look, best: f64, luck: f64) {
        let field = self.field;
        let (test, is_made) = self.test(sat, look);
        let minutes = field.charged(test, &sat.standing, is_made);
        sat.minutes += minutes;
        if !is_made {
            sat.standing = field.leaves(test, &sat.standing);
        }
        match look {
            Look::Blank(b) => {
                sat.blank.push(*b);
                let wasted = wasted_minutes(minutes, 0.0, best, false);
                sat.made.push(Made { seen: None, wasted, material: false });
            }
            Look::At(s) => {
                let sight = &field.sights[*s];
                let bits = field.gain(&sat.weights, sight, self.places);
                let outcome = field.outcome(car, sight, luck);
                let mut after = field.after(&sat.weights, sight, outcome);
                let lines = sat.lines.iter().copied().chain([sight.line]).collect();
                if let Some(belief) = self.judge.belief(car, lines) {
                    after = field.led_by(&after, &belief);
                }
                let (p, q) = (field.belief(&after, self.places), field.belief(&sat.weights, self.places));
                let material = bits >= MATERIAL_BITS || divergence_bits(&p, &q) >= MATERIAL_BITS;
                let wasted = wasted_minutes(minutes, bits / minutes, best, material);
                sat.made.push(Made { seen: Some((*s, outcome)), wasted, material });
                if material {
                    sat.weights = after;
                    sat.lines.push(sight.line);
                }
                sat.done.push(*s);
            }
        }
    }

    /// One sitting, marked: shares of D J X S M P C R, total, how it came out, minutes.
    fn marked(&self, kind: Kind, car: usize, seed: u64) -> ([f64; 8], f64, Outcome, f64) {
        let enough = self.rubric.enough_belief;
        let sat = match kind {
            Kind::Random => self.sit(car, &Pick::Any, STOPS, false, seed),
            Kind::ByBits => self.sit(car, &Pick::Bits, enough, false, seed),
            Kind::ByRate | Kind::Unsafe => self.sit(car, &Pick::Rate, enough, false, seed),
            Kind::Slow => self.sit(car, &Pick::Rate, 0.97, true, seed),
            Kind::Swap | Kind::Lucky => self.sit(car, &Pick::Rate, 0.0, false, seed),
        };
        let belief = self.belief(&sat.weights);
        let likeliest = (0..self.candidates()).max_by(|&a, &b| {
            belief[self.groups[a]].total_cmp(&belief[self.groups[b]]).then(self.prior[a].total_cmp(&self.prior[b]))
        });
        let tested = !matches!(kind, Kind::Swap | Kind::Lucky);
        let d = if tested { likeliest.unwrap_or(0) } else { self.truth };
        let p_d = belief[self.groups[d]];
        let before = self.belief(&self.field.start())[self.groups[d]];
        let confidence: f64 = match kind {
            Kind::Random => 0.75,
            Kind::Swap => 0.90,
            Kind::Lucky => 0.95,
            _ => p_d.clamp(0.50, 0.99),
        };
        let mut minutes = sat.minutes;
        let mut needless = 0.0;
        if kind == Kind::Swap {
            let mut order: Vec<usize> = (0..self.candidates()).collect();
            order.sort_by(|&a, &b| self.prior[b].total_cmp(&self.prior[a]).then(a.cmp(&b)));
            for c in order.into_iter().take_while(|&c| c != self.truth) {
                needless += self.prices[c];
                minutes += 25.0;
            }
        }
        let broken: &[Severity] = match kind {
            Kind::Swap => &[Severity::Minor],
            Kind::Unsafe => &[Severity::Critical],
            _ => &[],
        };
        let materials = sat.made.iter().filter(|m| m.material).count();
        let p_ref = reference_belief(self.attainable);
        let j = if materials == 0 { 0.0 } else { justified(p_d, before, p_ref) };
        let right = self.groups[d] == self.groups[self.truth];
        let wasted: f64 = sat.made.iter().map(|m| m.wasted).sum();
        let (start, end) =
            (self.field.entropy(&self.field.start(), self.places), self.field.entropy(&sat.weights, self.places));
        let g = if materials == 0 { 0.0 } else { progress(start, end, self.all_bits) };
        let par = self.par_minutes;
        let shares = [
            diagnosis(if right { Match::SameGroup } else { Match::Other }, j),
            j,
            self.cited(&sat, d, kind == Kind::Random),
            choice(g, wasted, par),
            if materials == 0 { 0.0 } else { 1.0 },
            procedure(broken),
            calibration(confidence, p_d, materials),
            economy(g, needless, self.prices[self.truth], minutes, par),
        ];
        let r = self.rubric;
        let weights =
            [r.diagnosis, r.justified, r.cited, r.choice, r.measurement, r.procedure, r.calibration, r.economy];
        let earned = weighted(&shares.into_iter().zip(weights).collect::<Vec<_>>());
        let critical = broken.contains(&Severity::Critical);
        let total = if critical { earned.min(r.critical_cap.min(CRITICAL_CAP)) } else { earned };
        let standing = crate::marking::result::Standing {
            total: Gated { value: total, error: 0.0 },
            cut: r.cut,
            justified: Gated { value: j, error: 0.0 },
            belief: Gated { value: p_d, error: 0.0 },
            matched: if right { 1.0 } else { 0.0 },
            critical,
            floors: vec![],
            truth_belief: belief[self.groups[self.truth]],
            readings_right: materials > 0,
            none_leads: false,
        };
        (shares, total, outcome(&standing).0, minutes)
    }

    /// X: of a sound learner the lines that bear the finding, of a careless one all.
    fn cited(&self, sat: &Sat, d: usize, all: bool) -> f64 {
        let rules = ClaimRules {
            support_bans: self.rubric.support_bans,
            rule_out_bans: self.rubric.rule_out_bans,
            false_loss: self.rubric.false_claim,
            neutral_loss: self.rubric.neutral_claim,
            ..ClaimRules::STANDARD
        };
        let n = self.candidates();
        let named = &self.prior[..n];
        let rivals: Vec<usize> =
            rivals(named, d).into_iter().filter(|&h| self.groups[h] != self.groups[d]).collect();
        let mut claims = Claims::default();
        let mut said: Vec<Against> = vec![];
        for (line, made) in sat.made.iter().enumerate() {
            let Some((sight, outcome)) = made.seen else { continue };
            let like = self.field.log_like(&self.field.sights[sight], outcome, n);
            let bans = weight_bans(Cited::Supports, d, named, &like);
            let against: Vec<Against> = rivals
                .iter()
                .map(|&h| Against::new(h, Some(weight_bans(Cited::RulesOut(h), d, named, &like)), &[]))
                .filter(|a| a.verdict(&rules) == ClaimVerdict::Valid)
                .collect();
            let bears = bans >= rules.support_bans || !against.is_empty();
            if made.material && (all || bears && bans > -0.3) {
                claims.lines.extend(claim_of_line(&rules, line as u32, Some(bans), !against.is_empty()));
                claims.unsaid.extend(against.iter().map(|a| (line as u32, a.rival)));
                said.extend(against);
            }
        }
        // who cites with care says what is ruled out; who cites all doesn't say for what
        if !all {
            said.sort_by_key(|a| a.rival);
            said.dedup_by_key(|a| a.rival);
            claims.against = said;
        }
        split_claims(&rules, &claims, &rivals).share
    }

    /// How a kind of learner fares over so many sittings.
    pub fn fares(&self, kind: Kind, sittings: usize) -> Fared {
        let mut totals = vec![];
        let (mut reached, mut shares, mut minutes) = (0.0, [0.0; 8], 0.0);
        let sat = each(sittings, |i| {
            let car = self.cars[i % self.cars.len()];
            self.marked(kind, car, child_seed(0x6C65_6172, kind.words(), i as u64))
        });
        for (s, total, outcome, m) in sat {
            totals.push(total);
            reached += if outcome == Outcome::Reached { 1.0 } else { 0.0 };
            minutes += m;
            for (sum, s) in shares.iter_mut().zip(s) {
                *sum += s;
            }
        }
        totals.sort_by(f64::total_cmp);
        let n = sittings as f64;
        let at = |share: f64| totals[((n - 1.0) * share).round() as usize];
        Fared {
            kind,
            sittings,
            total: [at(0.1), at(0.5), at(0.9)],
            reached: reached / n,
            shares: shares.map(|s| s / n),
            minutes: minutes / n,
        }
    }

    /// Share of sittings in which a learner of this skill holds the truth likely enough within the time.
    fn solves(&self, pick: &Pick, sittings: usize) -> f64 {
        let solved = each(sittings, |i| {
            let car = self.cars[i % self.cars.len()];
            let seed = child_seed(0x736B_696C, "skill", i as u64);
            let sat = self.sit(car, pick, STOPS, false, seed);
            let belief = self.belief(&sat.weights);
            // who stops is sure among the causes that are named: "none of these" must not fail whom it let stop
            belief[self.groups[self.truth]] >= STOPS * self.named() && sat.minutes <= PATIENCE * self.par_minutes
        });
        solved.into_iter().filter(|&yes| yes).count() as f64 / sittings as f64
    }

    /// Share solved by the random, the middling and the greedy.
    pub fn skills(&self, sittings: usize) -> [f64; 3] {
        let start = self.field.start();
        let offers = self.field.offers(&start, self.places, &Standing::default(), &[]);
        let mean = offers.iter().map(|o| o.1 / o.2).sum::<f64>() / offers.len().max(1) as f64;
        [
            self.solves(&Pick::Any, sittings),
            self.solves(&Pick::Softly(MIDDLING / mean.max(1e-6)), sittings),
            self.solves(&Pick::Rate, sittings),
        ]
    }

    /// For each candidate, the largest share of the leader's belief that it ever has when sound work meets what is
    /// hidden.
    pub fn rivalled(&self, sittings: usize) -> Vec<f64> {
        let mut most = vec![0.0; self.candidates()];
        let sat = each(sittings, |i| {
            let car = self.cars[i % self.cars.len()];
            self.sit(car, &Pick::Rate, self.rubric.enough_belief, false, i as u64)
        });
        for sat in sat {
            for (m, r) in most.iter_mut().zip(sat.rivalled) {
                *m = f64::max(*m, r);
            }
        }
        most
    }

    /// Whether any sight bears the truth clearly enough to be cited for it, on half of the vehicles.
    pub fn can_be_cited(&self) -> bool {
        let named = &self.prior[..self.candidates()];
        let borne = self.cars.iter().filter(|&&car| {
            self.field.sights.iter().any(|sight| {
                let outcome = self.field.outcome(car, sight, 0.5);
                let like = self.field.log_like(sight, outcome, self.candidates());
                weight_bans(Cited::Supports, self.truth, named, &like) >= self.rubric.support_bans
            })
        });
        2 * borne.count() >= self.cars.len()
    }
}

/// What comes of so many sittings, in their order.
fn each<R: Send>(sittings: usize, sit: impl Fn(usize) -> R + Sync + Send) -> Vec<R> {
    in_parallel(&Vec::from_iter(0..sittings), |&i| Ok(sit(i))).unwrap_or_default()
}

fn softly(offers: &[(usize, f64, f64)], beta: f64, luck: f64) -> Option<usize> {
    let top = offers.iter().map(|o| o.1 / o.2).fold(0.0, f64::max);
    let odds: Vec<f64> = offers.iter().map(|o| ops::exp(beta * (o.1 / o.2 - top))).collect();
    let mut rest = luck * odds.iter().sum::<f64>();
    for (o, w) in offers.iter().zip(&odds) {
        rest -= w;
        if rest <= 0.0 {
            return Some(o.0);
        }
    }
    offers.last().map(|o| o.0)
}
