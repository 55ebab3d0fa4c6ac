//! Fuzzes the forms of files that are being written.
#![no_main]
#[path = "readers.rs"]
mod readers;
libfuzzer_sys::fuzz_target!(|data: &[u8]| readers::form(data));
