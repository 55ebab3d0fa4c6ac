//! temporary
pub mod fluid;
pub mod lanes;
pub mod ops;
pub mod plant;
pub mod random;
pub mod units;
