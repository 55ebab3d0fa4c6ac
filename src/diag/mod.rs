//! What is wrong with a file, where, and what to do about it.
//!
//! A [`Report`] collects [`Diagnostic`]s; checking goes on after the first, so that an author sees
//! every mistake in one run. [`render`] turns a report into text with the line and a caret, or into
//! JSON for editors. [`pages`] says about each [`Id`] what it means, with a wrong and a corrected
//! example.
//!
//! This room knows neither vehicles nor files on disk: it is handed names, texts and places.

mod examples;
pub mod id;
pub mod pages;
pub mod render;
mod report;
mod sealed;
mod text;

pub use id::Id;
pub(crate) use report::quotable;
pub use report::{Diagnostic, Report, Severity, SourceFile, nearest};
pub use sealed::{is_in_letters, is_sealed, sealed};
pub use text::text_of;
