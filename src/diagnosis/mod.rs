//! (in work)
