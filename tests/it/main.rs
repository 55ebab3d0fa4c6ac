//! The one integration test binary: a module a subject.

mod arrows;
mod shell;
mod sit;
mod source;
mod tidy;
