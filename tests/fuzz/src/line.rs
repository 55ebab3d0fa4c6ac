//! Fuzzes the reading of one line of a script or a sitting.
#![no_main]
#[path = "readers.rs"]
mod readers;
libfuzzer_sys::fuzz_target!(|data: &[u8]| readers::line(data));
