//! From a trace to features: what a window of it says, with uncertainty.
//!
//! Knows traces and nothing else; a trace of another origin serves as well.

pub mod window;
