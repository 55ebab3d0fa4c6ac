//! The words of the program, in the languages it speaks.
//!
//! Every sentence a person reads lies in `assets/words/LANGUAGE/*.ftl`, in the open format Fluent, under an id.
//! Code names ids: [`said`] for a message without gaps, [`tell!`](crate::tell) for one with gaps. Words that an
//! author wrote (a job, a plant) stay in the author's language, and so do ids, file formats and what a program reads.
//!
//! Which language is spoken is said once by the front end ([`speak`]) and can be another within one call
//! ([`within`]). Words never decide anything: no hash, mark or replay depends on them.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU8, Ordering};

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use serde::{Deserialize, Serialize};
use unic_langid::LanguageIdentifier;

/// A language the program speaks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English as spoken in Britain. What is missing elsewhere is said in it.
    #[default]
    English,
    /// German.
    German,
    /// English, a third as long again and with accents: shows on screen what isn't external and what doesn't fit.
    Stretched,
    /// English from right to left, letter by letter: shows what is put together from pieces in one order, and what holds only
    /// because a line begins with its longest word. Letters of such scripts it hasn't; the window can't set them.
    Mirrored,
}

/// The files of a language: name and text.
type Files = &'static [(&'static str, &'static str)];

macro_rules! files {
    ($folder:literal: $($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../assets/words/", $folder, "/", $name, ".ftl")))),*]
    };
}

const ENGLISH: Files = files!("en": "app", "bay", "editor", "fault", "report");
const GERMAN: Files = files!("de": "app", "bay", "editor", "fault", "jobs", "names", "numbers", "report", "terms");

impl Language {
    /// Every language a person may choose.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its name in itself.
    pub const fn own_name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
            Self::Stretched => "[Éñgļįšħ]",
            Self::Mirrored => "[hsilgnE]",
        }
    }

    /// Its tag (BCP 47).
    pub const fn tag(self) -> &'static str {
        match self {
            Self::English | Self::Stretched | Self::Mirrored => "en-GB",
            Self::German => "de-DE",
        }
    }

    /// The language of a tag such as `de`, `de-AT` or `de_DE.UTF-8`, if it is spoken here.
    pub fn of(tag: &str) -> Option<Self> {
        match tag.split(['-', '_', '.']).next()?.to_ascii_lowercase().as_str() {
            "en" => Some(Self::English),
            "de" => Some(Self::German),
            "qps" => Some(Self::Stretched),
            "qpm" => Some(Self::Mirrored),
            _ => None,
        }
    }

    /// The texts of its files: name of the file and what stands in it.
    pub const fn files(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::English | Self::Stretched | Self::Mirrored => ENGLISH,
            Self::German => GERMAN,
        }
    }

    const fn index(self) -> u8 {
        match self {
            Self::English => 0,
            Self::German => 1,
            Self::Stretched => 2,
            Self::Mirrored => 3,
        }
    }

    const fn from_index(index: u8) -> Self {
        match index {
            1 => Self::German,
            2 => Self::Stretched,
            3 => Self::Mirrored,
            _ => Self::English,
        }
    }
}

/// What a gap is filled with.
#[derive(Clone, Debug, PartialEq)]
pub enum Gap {
    /// Words, or a number already written out.
    Text(String),
    /// A count, after which a language may choose its plural.
    Count(u32),
}

/// What can fill a gap; looked at, never taken away.
pub trait Fill {
    /// As it goes into the message.
    fn gap(&self) -> Gap;
}

impl<T: Fill + ?Sized> Fill for &mut T {
    fn gap(&self) -> Gap {
        (**self).gap()
    }
}

impl<T: Fill + ?Sized> Fill for &T {
    fn gap(&self) -> Gap {
        (**self).gap()
    }
}

macro_rules! fills {
    ($make:expr; $($kind:ty),* $(,)?) => {
        $(impl Fill for $kind {
            fn gap(&self) -> Gap {
                $make(self)
            }
        })*
    };
}

fills!(written; str, String, std::borrow::Cow<'_, str>, std::path::Display<'_>, char, f64, i32, i64);
fills!(counted; u8, u16, u32, u64, usize);

fn written<T: ToString + ?Sized>(value: &T) -> Gap {
    Gap::Text(value.to_string())
}

fn counted<T: Copy + ToString + TryInto<u32>>(value: &T) -> Gap {
    (*value).try_into().map_or_else(|_| written(value), Gap::Count)
}

/// A language made ready.
struct Spoken {
    bundle: FluentBundle<FluentResource>,
    /// Messages without gaps, written out.
    plain: BTreeMap<String, String>,
    /// What is done to every message afterwards.
    dress: fn(String) -> String,
}

impl Spoken {
    fn new(language: Language) -> Self {
        // tags are constants, and a test reads them
        let tag: LanguageIdentifier = language.tag().parse().unwrap_or_default();
        let mut bundle = FluentBundle::new_concurrent(vec![tag]);
        // marks around gaps would be letters the font doesn't have
        bundle.set_use_isolating(false);
        let mut ids = Vec::new();
        for (_, text) in language.files() {
            // what can't be read is left out and said in English; a test wants every file to be readable
            let resource = FluentResource::try_new((*text).to_owned()).unwrap_or_else(|(part, _)| part);
            ids.extend(resource.entries().filter_map(|entry| match entry {
                fluent_syntax::ast::Entry::Message(message) => Some(message.id.name.to_owned()),
                _ => None,
            }));
            bundle.add_resource_overriding(resource);
        }
        let dress: fn(String) -> String = match language {
            Language::English | Language::German => |text| text,
            Language::Stretched => |text: String| stretch(&text),
            Language::Mirrored => |text: String| text.chars().rev().collect(),
        };
        let mut spoken = Self { bundle, plain: BTreeMap::new(), dress };
        spoken.plain = ids.into_iter().filter_map(|id| spoken.filled(&id, None).map(|text| (id, text))).collect();
        spoken
    }

    /// A message with its gaps filled; nothing when it isn't there or a gap stays empty.
    fn filled(&self, id: &str, args: Option<&FluentArgs>) -> Option<String> {
        let pattern = self.bundle.get_message(id)?.value()?;
        let mut errors = Vec::new();
        let text = self.bundle.format_pattern(pattern, args, &mut errors).into_owned();
        errors.is_empty().then(|| (self.dress)(text))
    }
}

/// The same words, a third as long again, with accents: legible, and plainly not what stands in the code.
fn stretch(text: &str) -> String {
    let mut longer = String::with_capacity(text.len() * 2);
    for letter in text.chars() {
        longer.push(match letter {
            'a' => 'á',
            'e' => 'ë',
            'i' => 'í',
            'o' => 'ø',
            'u' => 'ü',
            'A' => 'Å',
            'E' => 'É',
            'O' => 'Ö',
            other => other,
        });
        // every vowel twice
        if "aeiouAEO".contains(letter) {
            longer.push(letter);
        }
    }
    longer
}

static SPOKEN: [OnceLock<Spoken>; 4] = [const { OnceLock::new() }; 4];
static CHOSEN: AtomicU8 = AtomicU8::new(0);

thread_local! {
    static WITHIN: Cell<Option<Language>> = const { Cell::new(None) };
}

/// From now on the program speaks this language.
pub fn speak(language: Language) {
    CHOSEN.store(language.index(), Ordering::Relaxed);
}

/// The language spoken.
pub fn spoken() -> Language {
    WITHIN.get().unwrap_or_else(|| Language::from_index(CHOSEN.load(Ordering::Relaxed)))
}

/// Does something in a language, on this thread only.
pub fn within<T>(language: Language, what: impl FnOnce() -> T) -> T {
    /// Also when `what` panics, the language before comes back.
    struct Before(Option<Language>);
    impl Drop for Before {
        fn drop(&mut self) {
            WITHIN.set(self.0);
        }
    }
    let _before = Before(WITHIN.replace(Some(language)));
    what()
}

fn ready(language: Language) -> &'static Spoken {
    SPOKEN[usize::from(language.index())].get_or_init(|| Spoken::new(language))
}

/// A message without gaps in the language spoken; in English when that language lacks it, and its id when both do.
///
/// ```
/// use faultbay::language::{Language, said, within};
/// assert_eq!(said("bay-sound-relay"), "A relay clicks.");
/// assert_eq!(within(Language::German, || said("bay-sound-relay")), "Ein Relais klickt.");
/// ```
pub fn said(id: &'static str) -> &'static str {
    let plain = |language| ready(language).plain.get(id).map(String::as_str);
    plain(spoken()).or_else(|| plain(Language::English)).unwrap_or(id)
}

/// What an author called something, in the language spoken when a built-in vehicle says the same and that language has
/// a word for it; else as the author wrote it.
///
/// ```
/// use faultbay::language::{Language, named, within};
/// within(Language::German, || {
///     assert_eq!(named("filter inlet"), "Filtereingang");
///     assert_eq!(named("grandfather's pump"), "grandfather's pump");
/// });
/// ```
pub fn named(text: &str) -> &str {
    match spoken() {
        Language::English => text,
        // what stands in quotes was named before it was quoted
        _ if text.starts_with(['\u{201c}', '\u{201e}']) => text,
        language => ready(language).plain.get(&name_id(text)).map_or(text, String::as_str),
    }
}

/// The same with a capital letter at its beginning, whatever letter that is.
///
/// ```
/// assert_eq!(faultbay::language::capital("über"), "Über");
/// ```
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A number that is shown, with the sign between whole and tenths that the language spoken writes: a text that begins with
/// a number, such as `-0.52 bar`; any other comes back as it is, and so does what has two points, such as a version. What
/// is typed is read with either sign (`app::words::read_number`); what is kept is written with a point and never goes
/// through here.
///
/// ```
/// use faultbay::language::{Language, decimal, within};
/// assert_eq!(decimal("0.52 bar".to_owned()), "0.52 bar");
/// assert_eq!(within(Language::German, || decimal("0.52 bar".to_owned())), "0,52 bar");
/// ```
pub fn decimal(written: String) -> String {
    if spoken() != Language::German || !written.contains('.') {
        return written;
    }
    let mut letters = written.chars().skip_while(|c| "+-\u{2212}±≤≥ ".contains(*c));
    if !letters.next().is_some_and(|c| c.is_ascii_digit()) {
        return written;
    }
    let within_number = |c: char| c.is_ascii_digit() || c == '.';
    let mut out = String::with_capacity(written.len());
    let mut rest = written.as_str();
    while let Some(start) = rest.find(within_number) {
        let (before, from) = rest.split_at(start);
        let (number, after) = from.split_at(from.find(|c| !within_number(c)).unwrap_or(from.len()));
        out.push_str(before);
        match number.split_once('.') {
            Some((whole, part)) if !whole.is_empty() && !part.is_empty() && !part.contains('.') => {
                out.extend([whole, ",", part]);
            }
            _ => out.push_str(number),
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

/// Longest text that is its own id, letters and signs.
const LONG: usize = 48;

/// The id of what an author wrote: its letters and digits, with one hyphen for whatever lies between; of a longer text
/// ten digits of its hash (BLAKE3).
pub fn name_id(text: &str) -> String {
    if text.chars().count() > LONG {
        return format!("text-{}", &blake3::hash(text.as_bytes()).to_hex()[..10]);
    }
    let mut id = String::from("name");
    // a pole of a battery is its whole difference
    let pole = |word| match word {
        "+" => "plus",
        "\u{2212}" => "minus",
        other => other,
    };
    let words = text.split(' ').flat_map(|word| pole(word).split(|c: char| !c.is_ascii_alphanumeric()));
    for word in words.filter(|word| !word.is_empty()) {
        id.push('-');
        id.push_str(&word.to_ascii_lowercase());
    }
    id
}

/// A message with its gaps filled, as [`said`]; [`tell!`](crate::tell) is the handy form.
pub fn told<const N: usize>(id: &'static str, gaps: [(&'static str, Gap); N]) -> String {
    let mut args = FluentArgs::with_capacity(N);
    for (name, gap) in gaps {
        let value = match gap {
            // a part, a joint, a state: what has a name in the language spoken goes in by that name
            // and a number as it is written there
            Gap::Text(text) => FluentValue::from(decimal(named(&text).to_owned())),
            Gap::Count(count) => FluentValue::from(count),
        };
        args.set(name, value);
    }
    let filled = |language| ready(language).filled(id, Some(&args));
    filled(spoken()).or_else(|| filled(Language::English)).unwrap_or_else(|| id.to_owned())
}

/// A message with gaps, filled by name: `tell!("sheet-line", line = 3, state = "idle")`.
#[macro_export]
macro_rules! tell {
    ($id:literal, $($name:ident = $value:expr),+ $(,)?) => {
        $crate::language::told($id, [$((stringify!($name), $crate::language::Fill::gap(&$value))),+])
    };
}

/// A message of a table, which is there before any language is: said where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Msg(&'static str);

impl Msg {
    /// No words.
    pub const NONE: Self = Self("");

    /// By its id; [`msg!`](crate::msg) is the form that a test finds.
    pub const fn new(id: &'static str) -> Self {
        Self(id)
    }

    /// Its id.
    pub const fn id(self) -> &'static str {
        self.0
    }

    /// In the language spoken.
    pub fn said(self) -> &'static str {
        if self.0.is_empty() { "" } else { said(self.0) }
    }
}

impl std::ops::Deref for Msg {
    type Target = str;

    fn deref(&self) -> &str {
        self.said()
    }
}

impl std::fmt::Display for Msg {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.said())
    }
}

impl From<Msg> for String {
    fn from(msg: Msg) -> Self {
        msg.said().to_owned()
    }
}

impl Fill for Msg {
    fn gap(&self) -> Gap {
        self.said().gap()
    }
}

/// A [`Msg`](crate::language::Msg) by its id, for tables.
#[macro_export]
macro_rules! msg {
    ($id:literal) => {
        $crate::language::Msg::new($id)
    };
}
