//! Pictures on the job card.

use super::page::{LONGEST_TEXT, Page};
use crate::diag::{id, quotable};
use crate::scenario::library::Library;
use crate::scenario::model::Shown;
use crate::scenario::raw::RawPicture;
use crate::scenario::source::At;

/// Fewest letters that say what a picture shows: two or three words.
const FEWEST_LETTERS: usize = 12;

pub(super) fn check_pictures(page: &mut Page<'_>, at: At<'_>, raw: &[RawPicture], library: &Library) -> Vec<Shown> {
    let mut found = vec![];
    for (i, shown) in raw.iter().enumerate() {
        let here = at.item(i);
        let words = here.field("shows");
        page.text(words, "what the picture shows", &shown.shows, LONGEST_TEXT);
        let letters = shown.shows.trim().chars().count();
        if (1..FEWEST_LETTERS).contains(&letters) {
            page.say(
                page.at(id::BAD_TEXT, words.span(), "this says too little of what the picture shows")
                    .label(format!("{letters} letters"))
                    .help("write what somebody would have to be told who can't see it"),
            );
        }
        match library.picture(&shown.name) {
            Some(picture) => {
                found.push(Shown { name: shown.name.clone(), shows: shown.shows.clone(), picture: picture.clone() })
            }
            None => {
                let message = format!("no picture is called {:?}", quotable(&shown.name));
                page.say(
                    page.at(id::UNKNOWN_PICTURE, here.field("name").span(), message)
                        .label("no PNG file of that name in \"pictures\", or one that can't be shown")
                        .among(&shown.name, library.pictures()),
                );
            }
        }
    }
    page.unique(at, "name", "pictures", raw.iter().map(|p| p.name.as_str()));
    found
}
