//! Two tests ahead from where a stretch of work begins: the best pair of the menu, and what the stretch opens.

use super::super::ahead::{Choices, Made, best_pair, opened};
use super::super::menu::Standing;
use super::super::moves::Stretch;
use super::super::outlook::Outlook;
use super::super::rows::probe_of_two;
use super::{Offer, Weighing};
use crate::tell;

/// The tests of the menu from where a stretch begins.
pub(super) struct Offers<'a> {
    pub(super) weighing: &'a Weighing<'a>,
    pub(super) outlook: &'a Outlook<'a>,
    pub(super) stretch: &'a Stretch,
    /// Lines that were evidence before it.
    pub(super) known: &'a [usize],
}

impl Offers<'_> {
    /// Bits of some lines, the learner's or the complete run's, each once.
    fn bits_of(&self, mut lines: Vec<usize>, roughly: bool) -> Result<f64, String> {
        lines.sort_unstable();
        lines.dedup();
        if lines.is_empty() {
            return Ok(0.0);
        }
        let w = self.weighing;
        let probe = probe_of_two(&w.joint, &lines, &w.recorded.marks);
        let forecast = self.outlook.predict(&probe).map_err(|e| e.to_string())?;
        let places = &w.outcome.places;
        Ok(if roughly { forecast.gain_roughly(places) } else { forecast.gain_bits(places) })
    }

    /// Lines of a test that would tell something new.
    fn lines(&self, test: usize) -> Vec<usize> {
        self.weighing.new_lines(&self.weighing.survey.menu.tests[test], self.known)
    }

    fn charged(&self, test: usize, standing: &Standing) -> f64 {
        self.weighing.charged(&self.weighing.survey.menu.tests[test], standing)
    }

    /// Puts the best pair in the place of the best test where it tells more a minute. What the stretch, which wrote these
    /// lines and could be expected to tell so many bits, opens for the test after it, bits.
    pub(super) fn look_two_ahead(&self, lines: &[usize], bits: f64, best: &mut Offer) -> Result<f64, String> {
        let rate = |o: &Offer| if o.minutes > 0.0 { o.bits / o.minutes } else { 0.0 };
        if let Some(pair) = best_pair(self, rate(best))? {
            let words = |t: usize| &self.weighing.survey.menu.tests[t].words;
            best.words =
                tell!("diagnosis-one-then-another", first = words(pair.first), second = words(pair.second));
            (best.bits, best.minutes) = (pair.bits, pair.minutes);
            let tests = [pair.first, pair.second].map(|t| &self.weighing.survey.menu.tests[t]);
            best.made = tests.into_iter().all(|test| self.weighing.is_made(test, lines));
        }
        let made = Made {
            bits,
            minutes_after: &|t| self.charged(t, &self.stretch.left),
            bits_with: &|t, roughly| self.bits_of([self.lines(t), lines.to_vec()].concat(), roughly),
        };
        opened(&made, self, rate(best))
    }
}

impl Choices for Offers<'_> {
    fn count(&self) -> usize {
        self.weighing.survey.menu.tests.len()
    }

    fn minutes(&self, test: usize, after: Option<usize>) -> f64 {
        let standing = &self.stretch.standing;
        match after {
            None => self.charged(test, standing),
            Some(first) => self.charged(test, &self.weighing.survey.menu.tests[first].leaves(standing)),
        }
    }

    fn bits(&self, tests: &[usize], roughly: bool) -> Result<f64, String> {
        self.bits_of(tests.iter().flat_map(|&t| self.lines(t)).collect(), roughly)
    }

    fn open_bits(&self) -> f64 {
        self.outlook.open_bits(&self.weighing.outcome.places)
    }
}
