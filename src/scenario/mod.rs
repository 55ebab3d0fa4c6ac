//! (in work)
pub mod model;
