//! From a trace to features: what a window of it says, with uncertainty.
//!
//! Knows traces and nothing else; a trace of another origin serves as well. Every function takes plain
//! points (time in seconds, value), in which gaps (NaN) and unequal sampling are normal, and gives
//! value, standard uncertainty and number of samples, or the reason why nothing can be said.

pub mod aeration;
pub mod changepoint;
pub mod current;
pub mod dead_head;
pub mod decay;
pub mod delay;
pub mod features;
pub mod known;
mod least_squares;
pub mod level;
mod pattern;
pub mod ripple;
pub mod robust;
pub mod saw;
pub mod spikes;
pub mod states;
pub mod step;
pub mod window;
