//! A marked attempt as documents that stand alone: HTML, PDF, JSON and learning-record statements. Each
//! is readable without the program and printable; every picture has a twin in words.
//!
//! Text and bytes come out; no file is opened and no clock is read. Nothing here decides anything about
//! the mark, and nothing asks what is hidden.

pub mod debrief;
pub mod document;
pub mod figure;
pub mod html;
pub mod json;
pub mod look;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod plot;
pub mod xapi;
