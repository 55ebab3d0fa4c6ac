//! Actions that a job doesn't offer.

use super::page::{LONGEST_TEXT, Page};
use crate::diag::{id, quotable};
use crate::scenario::model::{WITHHOLDABLE, Withheld};
use crate::scenario::raw::RawWithheld;
use crate::scenario::source::At;

pub(super) fn check_withheld(page: &mut Page<'_>, at: At<'_>, raw: &[RawWithheld]) -> Vec<Withheld> {
    for (i, entry) in raw.iter().enumerate() {
        let here = at.item(i);
        page.text(here.field("because"), "the reason", &entry.because, LONGEST_TEXT);
        if !WITHHOLDABLE.contains(&entry.word.as_str()) {
            page.say(
                page.at(
                    id::UNKNOWN_ACTION,
                    here.field("word").span(),
                    format!("{:?} isn't an action that a job can withhold", quotable(&entry.word)),
                )
                .label("not one of them")
                .among(&entry.word, WITHHOLDABLE.iter().copied()),
            );
        }
    }
    page.unique(at, "word", "withheld actions", raw.iter().map(|w| w.word.as_str()));
    raw.iter().map(|w| Withheld { word: w.word.clone(), because: w.because.clone() }).collect()
}
