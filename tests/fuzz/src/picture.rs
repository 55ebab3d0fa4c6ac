//! Fuzzes the reading of pictures.
#![no_main]
#[path = "readers.rs"]
mod readers;
libfuzzer_sys::fuzz_target!(|data: &[u8]| readers::picture(data));
