//! Fuzzes the reading of scripts of sittings.
#![no_main]
#[path = "readers.rs"]
mod readers;
libfuzzer_sys::fuzz_target!(|data: &[u8]| readers::script(data));
