//! From evidence to points: components, the total with its gates, and a ledger in which every
//! hundredth of a point has a sentence.
//!
//! Pure functions over plain numbers. J, X, S and C never see which cause is the true one; the
//! truth enters through D (the match), R (which parts were sound), M (true values) and the result.

mod case;
pub mod claims;
pub mod cohort;
pub mod components;
mod drafts;
mod faithful;
pub mod kept;
pub mod ledger;
pub mod mark;
pub mod model;
pub mod overrule;
mod parts;
pub mod readings;
pub mod result;
pub mod sentence;
pub mod tabled;
pub mod tracking;
mod traps;
