//! The one integration test binary: a module a subject.

mod arrows;
mod source;
mod tidy;
