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

    /// The lines of a test, among the learner's and those of the complete run, that would tell something new: not a
    /// reading of the standard run that was written down before. To read it again shows the same vehicle once more, and
    /// where the tee sits still it costs next to nothing, so that it would seem the best of all.
    pub(super) fn new_lines(&self, test: &Test, known: &[usize]) -> Vec<usize> {
        let (own, names) = (self.recorded.counted.len(), &self.survey.menu.names);
        // later lines of that name belong to tests that change something first: warmth, the cap, a slope
        let is_first = |l: usize| !names[..l].contains(&names[l]);
        let read = |l: usize| {
            let kind = |line: &usize| &self.bay.evidence()[self.recorded.counted[*line]].kind;
            known.iter().any(|line| match kind(line) {
                EvidenceKind::Word { .. } => false,
                kind => names[l] == line_name(kind, *line),
            })
        };
        test.lines.iter().filter(|&&l| !(is_first(l) && read(l))).map(|l| own + l).collect()
    }

    /// The best that could be done instead of these lines from where things stood, and what was known then.
    pub(super) fn best(
        &self,
        outlook: &Outlook<'_>,
        stretch: &Stretch,
        (known, own_lines): (&[usize], &[usize]),
    ) -> Result<Offer, String> {
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
            let lines = self.new_lines(test, known);
            if lines.is_empty() {
                continue;
            }
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
