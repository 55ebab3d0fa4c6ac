//! A job that is being written: a change touches its own place only, undoing gives the bytes back, and whatever is done
//! leaves a text that can be read.

use faultbay::authoring::draft::{Draft, Page};
use faultbay::scenario::patch::{self, Change, Edit, places, quoted};
use faultbay::scenario::{Kind, Library};
use proptest::prelude::*;
use proptest::sample::Index;

/// Texts of authors, with their remarks, and one that is written all in one line.
fn texts() -> Vec<String> {
    let library = Library::builtin();
    let mut all: Vec<String> =
        library.jobs().iter().map(|name| library.text(Kind::Job, name).unwrap().to_owned()).collect();
    all.push("Job(title:\"a\",facts:[],questions:[(name:\"n\",ask:\"\",answer:\"\")],hidden:[] )".to_owned());
    all
}

/// What somebody may put into a field: mostly sensible, sometimes not a value at all.
fn values() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => any::<String>().prop_map(|words| quoted(&words)),
        3 => (-1e6_f64..1e6).prop_map(patch::number),
        1 => Just("(fault: \"F15\", severity: 2)".to_owned()),
        1 => Just("[]".to_owned()),
        1 => ".{0,12}",
        1 => "[(\\[{\"',:/#a-z\\])} \n]{0,10}",
    ]
}

fn edits() -> impl Strategy<Value = (u8, Index, usize, String)> {
    (any::<u8>(), any::<Index>(), 0_usize..6, values())
}

/// A change somewhere in the text as it is.
fn aimed(text: &str, (kind, where_, n, value): &(u8, Index, usize, String)) -> Edit {
    let known = places(text);
    let place = match known.len() {
        0 => "title".to_owned(),
        _ => known[where_.index(known.len())].0.clone(),
    };
    let list = place.rsplit_once('[').map_or(place.clone(), |(list, _)| list.to_owned());
    match kind % 6 {
        0 | 1 => Edit::set(place, value),
        2 => Edit::remove(place),
        3 => Edit::insert(list, *n, value),
        4 => Edit::swap(list, *n),
        _ => Edit::set(["level", "when", "hints", "x", "a.b", "hidden[0].at"][*n], value),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_change_touches_its_own_place_only(which in any::<Index>(), where_ in any::<Index>(), words in any::<String>()) {
        let all = texts();
        let text = &all[which.index(all.len())];
        let before = places(text);
        let i = where_.index(before.len());
        let (place, _) = &before[i];
        let changed = patch::edit(text, &Edit::text(place, &words)).unwrap();
        let after = places(&changed);
        prop_assert_eq!(after.len(), before.len());
        for (k, (a, b)) in before.iter().zip(&after).enumerate() {
            prop_assert_eq!(&a.0, &b.0);
            prop_assert_eq!(&b.1, if k == i { &b.1 } else { &a.1 });
        }
        prop_assert_eq!(ron::from_str::<String>(&after[i].1).unwrap(), words);
        let span = patch::span(text, place).unwrap();
        prop_assert!(changed.starts_with(&text[..span.start]) && changed.ends_with(&text[span.end..]));
        // and back to the byte
        let back = patch::edit(&changed, &Edit::set(place, &before[i].1)).unwrap();
        prop_assert_eq!(&back, text);
    }

    #[test]
    fn an_entry_that_is_put_in_and_taken_out_leaves_no_trace(which in any::<Index>(), where_ in any::<Index>(), n in 0_usize..9) {
        let all = texts();
        let text = &all[which.index(all.len())];
        let lists: Vec<String> = places(text)
            .into_iter()
            .filter_map(|(place, _)| place.rsplit_once('[').map(|(list, _)| list.to_owned()))
            .collect();
        prop_assume!(!lists.is_empty());
        let list = &lists[where_.index(lists.len())];
        let count = (0..).take_while(|i| patch::value(text, &format!("{list}[{i}]")).is_some()).count();
        let n = n.min(count);
        let with = patch::edit(text, &Edit::insert(list, n, "\"new\"")).unwrap();
        let place = format!("{list}[{n}]");
        prop_assert_eq!(patch::value(&with, &place), Some("\"new\"".to_owned()));
        let without = patch::edit(&with, &Edit::remove(&place)).unwrap();
        prop_assert_eq!(places(&without), places(text));
    }

    #[test]
    fn whatever_is_done_can_be_undone_and_read(which in any::<Index>(), all_edits in prop::collection::vec(edits(), 1..24)) {
        let all = texts();
        let text = all[which.index(all.len())].clone();
        let mut draft = Draft::of("any", &text, None, true);
        let mut versions = vec![text];
        for change in &all_edits {
            let now = draft.text(Page::File).unwrap().to_owned();
            draft.settle();
            let edit = aimed(&now, change);
            match draft.edit(Page::File, std::slice::from_ref(&edit)) {
                Ok(()) => {
                    let after = draft.text(Page::File).unwrap();
                    // only a whole that is replaced by a plain value has no places of its own
                    prop_assert!(!places(after).is_empty(), "{edit:?}\n{after}");
                    if after != now {
                        versions.push(after.to_owned());
                    }
                }
                Err(why) => {
                    prop_assert!(!why.is_empty());
                    prop_assert_eq!(draft.text(Page::File).unwrap(), now);
                }
            }
        }
        while let Some(version) = versions.pop() {
            prop_assert_eq!(draft.text(Page::File).unwrap(), version);
            prop_assert_eq!(draft.can_undo(), !versions.is_empty());
            draft.undo();
        }
        prop_assert!(draft.is_saved(), "it stands as it stood");
    }

    #[test]
    fn a_text_typed_by_anybody_is_checked_without_a_panic(which in any::<Index>(), cut in any::<Index>(), end in any::<Index>(), put in ".{0,8}") {
        let all = texts();
        let mut text = all[which.index(all.len())].clone();
        let floor = |i: usize, t: &str| (0..=i).rev().find(|i| t.is_char_boundary(*i)).unwrap_or(0);
        let (a, b) = (cut.index(text.len()), end.index(text.len()));
        let (a, b) = (floor(a.min(b), &text), floor(a.max(b).min(a.min(b) + 40), &text));
        text.replace_range(a..b.max(a), &put);
        let draft = Draft::of("any", &text, None, false);
        let proof = draft.proof(&Library::builtin());
        prop_assert_eq!(proof.job.is_some(), proof.errors() == 0);
        for finding in &proof.findings {
            prop_assert!(!finding.message.is_empty());
            if finding.page == Some(Page::File) {
                prop_assert!(finding.span.start <= text.len());
            }
            if let Some((_, edit)) = &finding.mend {
                let mut mended = draft.clone();
                mended.edit(Page::File, std::slice::from_ref(edit)).unwrap();
                prop_assert_ne!(mended.text(Page::File), draft.text(Page::File));
            }
        }
    }
}

#[test]
fn a_list_keeps_its_remarks_when_its_entries_move() {
    let text =
        "Job(\n    facts: [\n        \"one\", // first\n        // about the second\n        \"two\",\n    ],\n)\n";
    let moved = patch::edit(text, &Edit { at: "facts".into(), change: Change::Swap(0) }).unwrap();
    assert_eq!(moved, text.replace("one", "x").replace("two", "one").replace('x', "two"));
}
