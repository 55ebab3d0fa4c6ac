//! What the program says lies in files, the same in every language.

use std::collections::{BTreeMap, BTreeSet};

use faultbay::language::{Gap, Language, name_id, named, said, told, within};
use faultbay::plant::component::Component;
use faultbay::plant::{Node, Warmth};
use faultbay::scenario::{Kind, Library, load_plant};
use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};

use crate::source::files;

/// Which gaps a message has.
type Messages = BTreeMap<String, BTreeSet<String>>;

/// Every message of a language with its gaps; panics where a file can't be read or an id stands twice.
fn messages(language: Language) -> Messages {
    let mut all = Messages::new();
    for (name, text) in language.files() {
        let resource = match fluent_syntax::parser::parse(*text) {
            Ok(resource) => resource,
            Err((_, errors)) => panic!("{name}.ftl, {language:?}: {errors:?}"),
        };
        for entry in resource.body {
            let Entry::Message(message) = entry else { continue };
            let mut gaps = BTreeSet::new();
            let id = message.id.name.to_owned();
            pattern(&message.value.unwrap_or_else(|| panic!("{id}, {language:?}: says nothing")), &mut gaps);
            assert!(all.insert(id.clone(), gaps).is_none(), "{id} stands twice, {name}.ftl, {language:?}");
        }
    }
    all
}

fn pattern(pattern: &Pattern<&str>, gaps: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            match expression {
                Expression::Inline(inline) => gap(inline, gaps),
                Expression::Select { selector, variants } => {
                    gap(selector, gaps);
                    variants.iter().for_each(|v| self::pattern(&v.value, gaps));
                }
            }
        }
    }
}

fn gap(inline: &InlineExpression<&str>, gaps: &mut BTreeSet<String>) {
    match inline {
        InlineExpression::VariableReference { id } => {
            gaps.insert(id.name.to_owned());
        }
        InlineExpression::Placeable { expression } => {
            if let Expression::Inline(inner) = &**expression {
                gap(inner, gaps);
            }
        }
        _ => {}
    }
}

/// A place in the source that names a message: where, its id and, where it fills gaps, their names.
struct Use {
    at: String,
    id: String,
    gaps: Option<BTreeSet<String>>,
}

/// What an author wrote needs no message in English.
fn is_name(id: &str) -> bool {
    id.starts_with("name-") || id.starts_with("text-")
}

/// What stands in quotes on a line.
fn quoted(line: &str) -> Vec<String> {
    let mut letters = line.chars();
    let (mut found, mut now) = (vec![], None::<String>);
    while let Some(letter) = letters.next() {
        match (&mut now, letter) {
            (Some(text), '\\') => text.extend(letters.next()),
            (Some(_), '"') => found.extend(now.take()),
            (Some(text), letter) => text.push(letter),
            (None, '"') => now = Some(String::new()),
            _ => {}
        }
    }
    found
}

fn uses() -> Vec<Use> {
    let mut found = Vec::new();
    for file in files(&["src"], &[".rs"])
        .into_iter()
        .filter(|f| f.path != "src/language.rs" && !f.path.ends_with("tests.rs"))
    {
        for (call, fills) in [("said(", false), ("msg!(", false), ("tell!(", true)] {
            for (start, _) in file.text.match_indices(call) {
                let rest = file.text[start + call.len()..].trim_start();
                let Some((id, rest)) = rest.strip_prefix('"').and_then(|r| r.split_once('"')) else { continue };
                let line = file.text[..start].matches('\n').count() + 1;
                let gaps = fills.then(|| names(rest));
                found.push(Use { at: format!("{}:{line}", file.path), id: id.to_owned(), gaps });
            }
        }
    }
    found
}

/// The names filled by the rest of a `tell!`: what stands before `=` at its own depth.
fn names(rest: &str) -> BTreeSet<String> {
    let (mut depth, mut word, mut names, mut quoted) = (0, String::new(), BTreeSet::new(), false);
    let letters: Vec<char> = rest.chars().collect();
    for (i, &letter) in letters.iter().enumerate() {
        if quoted {
            quoted = letter != '"' || letters[i - 1] == '\\';
            continue;
        }
        match letter {
            '"' => quoted = true,
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => break,
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 => word.clear(),
            '=' if depth == 0 && letters[i - 1] == ' ' && letters.get(i + 1) == Some(&' ') => {
                names.insert(std::mem::take(&mut word).trim().to_owned());
            }
            _ if depth == 0 => word.push(letter),
            _ => {}
        }
    }
    names
}

#[test]
fn every_language_says_the_same_messages_with_the_same_gaps() {
    let english = messages(Language::English);
    assert!(english.len() > 3);
    for language in Language::ALL {
        let mut other = messages(language);
        other.retain(|id, _| english.contains_key(id) || !is_name(id));
        let missing: Vec<_> = english.keys().filter(|id| !other.contains_key(*id)).collect();
        let more: Vec<_> = other.keys().filter(|id| !english.contains_key(*id)).collect();
        assert!(missing.is_empty() && more.is_empty(), "{language:?} lacks {missing:?} and has besides {more:?}");
        let differ: Vec<_> = english.iter().filter(|(id, gaps)| &&other[*id] != gaps).collect();
        assert!(differ.is_empty(), "{language:?}: other gaps in {differ:?}");
    }
}

#[test]
fn every_message_is_used_and_every_use_has_its_message() {
    let english = messages(Language::English);
    let uses = uses();
    let unknown: Vec<_> =
        uses.iter().filter(|u| !english.contains_key(&u.id)).map(|u| format!("{}: {}", u.at, u.id)).collect();
    assert!(unknown.is_empty(), "no such message:\n{}", unknown.join("\n"));
    let wrong: Vec<_> = uses
        .iter()
        .filter(|u| english[&u.id] != u.gaps.clone().unwrap_or_default())
        .map(|u| format!("{}: {} has the gaps {:?}, filled are {:?}", u.at, u.id, english[&u.id], u.gaps))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let known: BTreeSet<&str> = uses.iter().map(|u| u.id.as_str()).collect();
    let unused: Vec<_> = english.keys().filter(|id| !known.contains(id.as_str())).collect();
    assert!(unused.is_empty(), "nobody says {unused:?}");
}

#[test]
fn every_name_is_one_of_a_built_in_vehicle_or_job_or_a_word_of_the_source() {
    let texts = files(&["scenarios", "src"], &[".ron", ".rs"]);
    let quoted: BTreeSet<String> =
        texts.iter().flat_map(|f| f.text.lines()).flat_map(quoted).map(|q| name_id(&q)).collect();
    let (english, german) = (messages(Language::English), messages(Language::German));
    let names = || german.keys().filter(|id| is_name(id) && !english.contains_key(*id));
    let stray: Vec<_> = names().filter(|id| !quoted.contains(*id)).collect();
    assert!(stray.is_empty(), "nothing says {stray:?}");
    assert!(names().count() > 800);
}

#[test]
fn a_message_is_said_in_the_language_asked_for_and_in_no_other() {
    let english = said("bay-sound-relay");
    let german = within(Language::German, || said("bay-sound-relay"));
    assert_ne!(english, german);
    assert_eq!(said("bay-sound-relay"), english, "the language before came back");
    let long = within(Language::Stretched, || said("bay-sound-relay"));
    assert!(long.len() > english.len() && long != english, "{long}");
    // another thread isn't touched
    within(Language::German, || {
        std::thread::scope(|s| s.spawn(|| assert_eq!(said("bay-sound-relay"), english)).join()).unwrap();
    });
}

#[test]
fn what_is_missing_is_named_and_nothing_panics() {
    assert_eq!(said("there-is-no-such-message"), "there-is-no-such-message");
    assert_eq!(told("nor-this", [("gap", Gap::Text("x".to_owned()))]), "nor-this");
    assert_eq!(Language::of("de_AT.UTF-8"), Some(Language::German));
    assert_eq!(Language::of("xx"), None);
}

#[test]
fn every_number_that_an_author_sets_has_german_words() {
    let library = Library::builtin();
    let mut words: BTreeSet<&str> =
        Component::samples().iter().flat_map(Component::numbers).map(|n| n.words).collect();
    for name in library.names(Kind::Plant) {
        let (plant, _) = load_plant(&library, &name).unwrap_or_else(|_| unreachable!());
        words.extend(plant.nodes.iter().flat_map(Node::numbers).map(|n| n.words));
        words.extend(plant.warmth.iter().flat_map(Warmth::numbers).map(|n| n.words));
    }
    assert!(words.len() > 80);
    let same: Vec<&str> = within(Language::German, || words.into_iter().filter(|w| named(w) == *w).collect());
    assert!(same.is_empty(), "no German for {same:?}");
}
