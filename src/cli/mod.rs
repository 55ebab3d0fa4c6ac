//! The command line: one file a subcommand, each a plain function that writes to what it is handed
//! and returns the exit code.

pub mod check;
pub mod explain;
pub mod folder;
