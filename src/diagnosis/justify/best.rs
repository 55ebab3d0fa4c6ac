//! The best test of the menu from where a stretch of work begins.

use super::super::menu::Test;
use super::super::moves::Stretch;
use super::super::outlook::Outlook;
use super::{BOUND_SLACK, EvidenceKind, Offer, Weighing, line_name};

impl Weighing<'_> {
    /// Whether some of the learner's lines hold all that a test of the menu reads.
    pub(super) fn is_made(&self, test: &Test, lines: &[usize]) -> bool {
        let menu = &self.survey.menu;
        let holds = |line: usize, menu_line: usize| match &self.bay.evidence()[self.recorded.counted[line]].kind {
            // the name of a word says which line it is
            EvidenceKind::Word { what, .. } => menu.names[menu_line].starts_with(&format!("{what:?} ")),
            kind => menu.names[menu_line] == line_name(kind, line),
        };
        test.lines.iter().all(|&l| lines.iter().any(|&line| holds(line, l)))
    }

    /// The best that could be done instead of these lines from where things stood, and what was known then.
    pub(super) fn best(
        &self,
        outlook: &Outlook<'_>,
        stretch: &Stretch,
        own_lines: &[usize],
    ) -> Result<Offer, String> {
        let own = self.recorded.counted.len();
        // no test tells more than what is open: the shortest first, then most needn't be weighed at all
        let most = outlook.open_bits(&self.outcome.places) + BOUND_SLACK;
        let mut tests: Vec<(f64, usize)> = (self.survey.menu.tests.iter().enumerate())
            .map(|(t, test)| (self.charged(test, &stretch.standing), t))
            .collect();
        tests.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut best = Offer::default();
        let mut first = usize::MAX;
        for (minutes, t) in tests {
            let top = best.bits / best.minutes;
            if best.minutes > 0.0 && most / minutes < top {
                break;
            }
            let test = &self.survey.menu.tests[t];
            let lines: Vec<usize> = test.lines.iter().map(|l| own + l).collect();
            let bits = self.bits(outlook, &lines)?;
            let rate = bits / minutes;
            if best.minutes <= 0.0 || rate > top || rate == top && t < first {
                let made = self.is_made(test, own_lines);
                best = Offer { words: test.words.clone(), bits, minutes, between: vec![], made };
                first = t;
            }
        }
        best.between = self.open_between(outlook);
        Ok(best)
    }
}
