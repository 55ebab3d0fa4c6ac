//! How a sealed file begins, so that whoever reads one can say what it is instead of what it isn't.

use super::{Diagnostic, id};

/// A sealed file in the `age` format, and the same in letters.
const BEGINNINGS: [&[u8]; 2] = [b"age-encryption.org/v1", LETTERS];
const LETTERS: &[u8] = b"-----BEGIN AGE ENCRYPTED FILE-----";

/// Whether these bytes are a sealed file or begin one.
pub fn is_sealed(bytes: &[u8]) -> bool {
    BEGINNINGS.iter().any(|beginning| bytes.starts_with(beginning))
}

/// Whether they are one that was turned into letters afterwards.
pub fn is_in_letters(bytes: &[u8]) -> bool {
    bytes.starts_with(LETTERS)
}

/// What is said where a sealed file stands in place of one that can be read.
pub fn sealed(file: &str) -> Diagnostic {
    Diagnostic::new(id::SEALED, file, 0..0, "this file is sealed: without its passphrase or its key nobody reads it")
        .help(
            "of a sealed pack, \"faultbay check FILE --passphrase SECRET\" (or --key SECRET) says whether it can be used, \
             and \"faultbay sit JOB --jobs FILE\" sits a job of it; SECRET is the file with the passphrase or the key",
        )
}
