//! Fuzzes a whole sitting of typed lines.
#![no_main]
#[path = "readers.rs"]
mod readers;
libfuzzer_sys::fuzz_target!(|data: &[u8]| readers::sitting(data));
