//! Memory that the window no longer needs goes back to the computer.
//!
//! The C library of Linux gives a large block back as soon as it is free, until the first such block is freed:
//! from then on it keeps blocks up to that size in its heaps, and a picture of the window or a set of simulated
//! vehicles leaves holes there that stay (some 40 MiB after one job and its marking). It leaves that off when it
//! is told how much may lie free at the end of a heap, which it reads once, at the start of a program; so the
//! window sets that and starts anew.

/// What the C library reads, and how many bytes may lie free: with the 128 KiB that are usual a frame takes a
/// sixth longer, because what it frees is given back and asked for again.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
const KEPT: (&str, &str) = ("MALLOC_TRIM_THRESHOLD_", "16777216");

/// Starts the same program in the same process with that set, once; where that fails it goes on as it is.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn give_back() {
    use std::os::unix::process::CommandExt;

    let (name, kept) = KEPT;
    let mut typed = std::env::args_os();
    let (Some(called), Ok(me), None) = (typed.next(), std::env::current_exe(), std::env::var_os(name)) else {
        return;
    };
    // it comes back only with an error
    let _ = std::process::Command::new(me).arg0(called).args(typed).env(name, kept).exec();
}

/// Elsewhere nothing is to be done.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn give_back() {}
