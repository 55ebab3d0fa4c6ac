//! A marked attempt as a document that stands alone: one HTML file with its plots inside, readable
//! without the program, printable, every picture with a twin in words.
//!
//! Writes text from a mark and a trace and knows nothing else; never asks what is hidden.

pub mod html;
pub mod plot;
