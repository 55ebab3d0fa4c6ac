//! What is open: which of two candidates it is, or where one sits.

use super::{Placed, Weighing};
use crate::diagnosis::belief::entropy_bits;
use crate::diagnosis::outlook::Outlook;

impl Weighing<'_> {
    /// What was open most: the two likeliest candidates, or one whose place is.
    pub(super) fn open_between(&self, outlook: &Outlook<'_>) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.job.candidates.len()).collect();
        let belief = self.causes.by_candidate(outlook.belief());
        order.sort_by(|&a, &b| belief[b].total_cmp(&belief[a]));
        let which = entropy_bits(&belief);
        let place = outlook.open_bits(&self.outcome.places) - which;
        if place > which {
            order.truncate(1);
            return order;
        }
        // what no test tells apart isn't what any of them was wanted for
        let groups = &self.outcome.groups;
        let rival = order.iter().copied().find(|&h| groups[h] != groups[order[0]]);
        order.into_iter().take(1).chain(rival).collect()
    }

    /// Where the likeliest candidate most likely sits.
    pub(super) fn placed(&self, belief: &[f64]) -> Option<Placed> {
        let by_candidate = self.causes.by_candidate(belief);
        let named = 0..self.job.candidates.len();
        let likeliest = named.reduce(|a, b| if by_candidate[b] > by_candidate[a] { b } else { a })?;
        let own: Vec<usize> = (0..self.causes.named()).filter(|&c| self.causes.candidate[c] == likeliest).collect();
        let groups = &self.outcome.places;
        let share = |group: usize| own.iter().filter(|&&c| groups[c] == group).map(|&c| belief[c]).sum::<f64>();
        let best = own.iter().map(|&c| groups[c]).reduce(|a, b| if share(b) > share(a) { b } else { a })?;
        let at: Vec<String> =
            own.iter().filter(|&&c| groups[c] == best).map(|&c| self.causes.place[c].clone()).collect();
        let whole = by_candidate[likeliest];
        let named = at.iter().all(|place| !place.is_empty());
        (own.len() > 1 && named && whole > 0.0).then(|| Placed { at, share: share(best) / whole })
    }
}
