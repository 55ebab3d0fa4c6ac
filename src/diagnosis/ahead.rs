//! Looking two tests ahead: which pair of tests tells most a minute, and what a test opens for the one after it.
//!
//! What two tests tell together needs no average over the first one's outcomes: it is the expected gain of both at once,
//! `EIG(a, b) = EIG(a) + E[EIG(b) after a]`. The second is picked beforehand, as in [`super::tabled::Policy::TwoSteps`].
//!
//! Where it stops being true: a pair begins with one of the few tests that tell most a minute by themselves, and a test
//! that tells nothing at all by itself stays immaterial. A yardstick that misses a pair is milder, never stricter.

use super::survey::BOUND_SLACK;
use super::worth::{MATERIAL_BITS, opened_bits};

/// Tests that a pair may begin with.
const FIRSTS: usize = 4;

/// What there is to choose from where things stand. Tests have numbers from 0.
pub trait Choices: Sync {
    /// How many tests there are.
    fn count(&self) -> usize;
    /// Minutes that a test is charged with: as things stand, or after another test.
    fn minutes(&self, test: usize, after: Option<usize>) -> f64;
    /// Bits that some tests together can be expected to tell; `roughly` for picking among many.
    ///
    /// # Errors
    /// A sentence when they can't be forecast.
    fn bits(&self, tests: &[usize], roughly: bool) -> Result<f64, String>;
    /// Bits that are open: nothing tells more.
    fn open_bits(&self) -> f64;
}

/// Two tests, one after the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Number of the first.
    pub first: usize,
    /// Number of the second.
    pub second: usize,
    /// Bits that both together can be expected to tell.
    pub bits: f64,
    /// Minutes that both are charged with.
    pub minutes: f64,
}

/// The pair that tells most a minute, where it is better than `top` bits a minute, the best test alone; the first of equals.
///
/// # Errors
/// See [`Choices::bits`].
pub fn best_pair(tests: &impl Choices, top: f64) -> Result<Option<Pair>, String> {
    let open = tests.open_bits() + BOUND_SLACK;
    let mut firsts: Vec<(f64, usize)> = vec![];
    for t in 0..tests.count() {
        // its minutes alone may be too many for any second test to make up for
        if open / tests.minutes(t, None) > top {
            firsts.push((tests.bits(&[t], true)? / tests.minutes(t, None), t));
        }
    }
    firsts.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut best: Option<Pair> = None;
    for &(_, first) in firsts.iter().take(FIRSTS) {
        for second in (0..tests.count()).filter(|&s| s != first) {
            let minutes = tests.minutes(first, None) + tests.minutes(second, Some(first));
            let so_far = best.map_or(top, |b| b.bits / b.minutes);
            if open / minutes <= so_far {
                continue;
            }
            let bits = tests.bits(&[first, second], true)?;
            if bits >= MATERIAL_BITS && bits / minutes > so_far {
                best = Some(Pair { first, second, bits, minutes });
            }
        }
    }
    let Some(found) = best else { return Ok(None) };
    // it was picked for being estimated high: weighed anew it must still be better
    let bits = tests.bits(&[found.first, found.second], false)?;
    Ok(Some(Pair { bits, ..found }).filter(|p| p.bits / p.minutes > top))
}

/// What was done, to be held against what could have been.
pub struct Made<'a> {
    /// Bits that it could be expected to tell.
    pub bits: f64,
    /// Minutes that a test is charged with after it.
    pub minutes_after: &'a (dyn Fn(usize) -> f64 + Sync),
    /// Bits that it and a test could be expected to tell together; roughly or not.
    pub bits_with: &'a (dyn Fn(usize, bool) -> Result<f64, String> + Sync),
}

/// Bits that what was done opens for the best test after it; `best` is the best rate over one test or two. Less than is
/// material is nothing: the estimates aren't better.
///
/// # Errors
/// See [`Choices::bits`].
pub fn opened(made: &Made<'_>, tests: &impl Choices, best: f64) -> Result<f64, String> {
    let open = tests.open_bits() + BOUND_SLACK;
    let mut most: Option<(f64, usize)> = None;
    for second in 0..tests.count() {
        let minutes = (made.minutes_after)(second);
        let so_far = most.map_or(MATERIAL_BITS, |m| m.0);
        if opened_bits(open, made.bits, minutes, best) <= so_far {
            continue;
        }
        let opens = opened_bits((made.bits_with)(second, true)?, made.bits, minutes, best);
        if opens > so_far {
            most = Some((opens, second));
        }
    }
    let Some((_, second)) = most else { return Ok(0.0) };
    let minutes = (made.minutes_after)(second);
    let opens = opened_bits((made.bits_with)(second, false)?, made.bits, minutes, best);
    Ok(if opens < MATERIAL_BITS { 0.0 } else { opens })
}

#[cfg(test)]
mod tests {
    use super::super::tabled::{Policy, Table, Tables};
    use super::super::worked::close;
    use super::super::worth::wasted_minutes;
    use super::*;
    use crate::random::{Purpose, uniform};

    /// Tests with few outcomes, none of them made yet.
    struct OnTables<'a>(&'a Tables);

    impl Choices for OnTables<'_> {
        fn count(&self) -> usize {
            self.0.tests.len()
        }

        fn minutes(&self, test: usize, _: Option<usize>) -> f64 {
            self.0.tests[test].minutes
        }

        fn bits(&self, tests: &[usize], _: bool) -> Result<f64, String> {
            Ok(self.0.gain_of_all(&self.0.prior, tests))
        }

        fn open_bits(&self) -> f64 {
            self.0.entropy(&self.0.prior)
        }
    }

    fn told(a: [f64; 4]) -> Vec<Vec<f64>> {
        a.map(|p| vec![p, 1.0 - p]).to_vec()
    }

    /// Two readings that tell little each and nearly all together, and one that tells some by itself.
    fn together() -> Tables {
        Tables {
            prior: vec![0.25; 4],
            groups: vec![0, 1, 1, 0],
            tests: vec![
                Table { minutes: 1.0, likes: told([1.0, 0.6, 0.0, 0.0]) },
                Table { minutes: 1.0, likes: told([1.0, 0.0, 0.6, 0.0]) },
                Table { minutes: 2.0, likes: told([0.85, 0.15, 0.15, 0.85]) },
            ],
        }
    }

    #[test]
    fn the_pair_is_that_of_the_policy_over_tables() {
        let luck = |seed: u64, n: u64| uniform(seed, Purpose::VirtualLearner, n);
        let mut found = 0;
        for seed in 0..40 {
            // no more tests than a pair may begin with
            let tests = (0..FIRSTS as u64).map(|t| {
                let likes = [0, 1, 2, 3].map(|h| if luck(seed, 8 * t + h) < 0.5 { 0.1 } else { 0.9 });
                Table { minutes: 1.0 + 4.0 * luck(seed, 8 * t + 7), likes: told(likes) }
            });
            let tables = Tables { prior: vec![0.25; 4], groups: vec![0, 1, 1, 0], tests: tests.collect() };
            let single = tables.next(&tables.prior, &[], Policy::Greedy).map_or(0.0, |b| b.2);
            let two = tables.next(&tables.prior, &[], Policy::TwoSteps).map_or(0.0, |b| b.2);
            let pair = best_pair(&OnTables(&tables), single).unwrap();
            close(pair.map_or(single, |p| p.bits / p.minutes), two, 1e-9);
            found += u32::from(pair.is_some());
        }
        assert!(found > 5, "hardly any pair was better than a test alone: {found}");
    }

    #[test]
    fn whoever_begins_the_best_pair_wastes_nothing() {
        let tables = together();
        let tests = OnTables(&tables);
        let single = tables.next(&tables.prior, &[], Policy::Greedy).unwrap();
        assert_eq!(single.0, 2, "one ahead, the test that tells some by itself");
        let pair = best_pair(&tests, single.2).unwrap().unwrap();
        let best = pair.bits / pair.minutes;
        assert!(pair.first < 2 && pair.second < 2 && best > 1.3 * single.2, "{pair:?} and {single:?}");
        let wasted = |test: usize, looks_ahead: bool| {
            let bits = tables.gain_bits(&tables.prior, test, &[]);
            assert!(bits >= MATERIAL_BITS);
            let made = Made {
                bits,
                minutes_after: &|t| if t == test { f64::INFINITY } else { tables.tests[t].minutes },
                bits_with: &|t, _| Ok(tables.gain_of_all(&tables.prior, &[test, t])),
            };
            let opens = if looks_ahead { opened(&made, &tests, best).unwrap() } else { 0.0 };
            let minutes = tables.tests[test].minutes;
            wasted_minutes(minutes, (bits + opens) / minutes, best, true)
        };
        close(wasted(pair.first, true), 0.0, 1e-9);
        // the formula that forgets what a test opens takes it for waste
        assert!(wasted(pair.first, false) > 0.3, "{}", wasted(pair.first, false));
        // and a test that opens nothing isn't lifted by what may come after it
        close(wasted(2, true), wasted(2, false), 1e-12);
        assert!(wasted(2, true) > 0.2);
    }
}
