//! What an author lets differ between variants of a job.

use super::page::{LONGEST_TEXT, Page};
use super::parts::check_fill;
use super::plant::check_temperature;
use crate::diag::id;
use crate::plant::Plant;
use crate::plant::component::Component;
use crate::scenario::raw::RawJob;
use crate::scenario::source::At;
use crate::scenario::variant::stands_in_the_papers;

pub(super) fn check_varies(page: &mut Page<'_>, root: At<'_>, raw: &RawJob, plant: &Plant) {
    let Some(varies) = &raw.varies else { return };
    let at = root.field("varies");
    if let Some(severity) = varies.severity {
        page.known(at, "varies", "severity", "the distance of a severity", severity);
    }
    if let Some((low, high)) = varies.temperature {
        let here = at.field("temperature");
        check_temperature(page, here.item(0), low);
        check_temperature(page, here.item(1), high);
        rising(page, here, low.kelvin(), high.kelvin(), "the colder temperature");
    }
    if let Some((low, high)) = varies.fill {
        let here = at.field("fill");
        let tank = plant.parts.iter().find_map(|p| if let Component::Tank(t) = &p.is { Some(t) } else { None });
        if let Some(tank) = tank {
            check_fill(page, here.item(0), low, tank.capacity);
            check_fill(page, here.item(1), high, tank.capacity);
        }
        rising(page, here, low.si(), high.si(), "the lesser fill");
    }
    for (i, wording) in varies.words.iter().enumerate() {
        let here = at.field("words").item(i);
        for (k, words) in wording.one_of.iter().enumerate() {
            page.text(here.field("one_of").item(k), "what may stand there", words, LONGEST_TEXT);
        }
        if wording.one_of.is_empty() {
            page.say(page.at(id::BAD_TEXT, here.field("one_of").span(), "nothing may stand there").label("empty"));
        }
        let words = here.field("instead_of");
        if wording.instead_of.trim().is_empty() || !stands_in_the_papers(root, &wording.instead_of) {
            page.say(
                page.at(id::UNKNOWN_WORDS, words.span(), "these words stand nowhere in the job's papers")
                    .label("not found in title, customer, complaint, facts, goals, traps, hints, answers or looks")
                    .help("write them exactly as they stand there, within one text"),
            );
        }
    }
}

fn rising(page: &mut Page<'_>, at: At<'_>, low: f64, high: f64, what: &str) {
    if low > high {
        let message = format!("{what} comes second");
        page.say(page.at(id::OUT_OF_RANGE, at.span(), message).label("the other way round"));
    }
}
