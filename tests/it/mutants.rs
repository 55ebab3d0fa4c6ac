//! Sound and broken files, changed at random, go through every reader: none panics. Quicker than the fuzzer and blind, where
//! that follows what a text reaches; it begins with what the fuzzer has gathered.
//!
//! `MUTANTS=10000000 cargo test --release … mutants` tries so many a reader, on all cores, with a part of them in each; `READER=pack`
//! takes one reader. What is tried follows from the numbers alone.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

use crate::hostile::{READERS, files};

/// Readers that build vehicles, or read hundreds of lines for several: the fuzzer has them.
const SLOW: [&str; 2] = ["sitting", "script"];
/// Tries a reader in a usual run.
const TRIES: usize = 300;
/// Longest piece of a file, bytes; a whole file is taken once in so many tries.
const PIECE: usize = 500;
const WHOLE: u32 = 50;
/// Bytes that mean something to one of the readers.
const BYTES: &[u8] = b"()[]{}<>,;:.\"'\\/#=-+_0123456789eE \t\r\n\x00\x7f\xff\xc3";
/// What stands for a number.
const NUMBERS: [&str; 10] =
    ["0", "-0", "-1", "1e400", "1e-320", "NaN", "inf", "99999999999999999999", "0.1.2", "18446744073709551616"];

fn seeds(name: &str, folders: &[(&str, &str)]) -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths: Vec<PathBuf> = files(&root.join("tests/fuzz/corpus").join(name), None);
    for (folder, ending) in folders {
        paths.extend(files(&root.join(folder), Some(ending)));
    }
    paths.iter().map(|path| fs::read(path).expect("a seed file")).collect()
}

/// A place in so many bytes, and how many of them from there.
fn stretch(rng: &mut ChaCha8Rng, len: usize, most: usize) -> core::ops::Range<usize> {
    let at = rng.random_range(0..=len);
    at..(at + rng.random_range(0..=most)).min(len)
}

fn change(bytes: &mut Vec<u8>, other: &[u8], rng: &mut ChaCha8Rng) {
    let place = stretch(rng, bytes.len(), 24);
    match rng.random_range(0..7_u32) {
        0 if place.start < bytes.len() => bytes[place.start] ^= 1 << rng.random_range(0..8_u32),
        1 if place.start < bytes.len() => bytes[place.start] = BYTES[rng.random_range(0..BYTES.len())],
        2 => drop(bytes.drain(place)),
        3 => {
            let again = bytes[place].to_vec();
            let at = rng.random_range(0..=bytes.len());
            bytes.splice(at..at, again);
        }
        4 => {
            let from = stretch(rng, other.len(), 48);
            bytes.splice(place.start..place.start, other[from].iter().copied());
        }
        5 => {
            // a number, if one begins near
            let near = bytes[place.start..].iter().position(u8::is_ascii_digit).map(|n| place.start + n);
            if let Some(from) = near {
                let to = bytes[from..].iter().position(|b| !b.is_ascii_digit()).map_or(bytes.len(), |n| from + n);
                bytes.splice(from..to, NUMBERS[rng.random_range(0..NUMBERS.len())].bytes());
            }
        }
        _ => bytes.insert(place.start, BYTES[rng.random_range(0..BYTES.len())]),
    }
}

/// One try: a file or a piece of one, changed in a few places.
fn mutant(seeds: &[Vec<u8>], rng: &mut ChaCha8Rng) -> Vec<u8> {
    let seed = &seeds[rng.random_range(0..seeds.len())];
    let mut bytes = if rng.random_range(0..WHOLE) == 0 {
        seed.clone()
    } else {
        // half of them begin where the file does
        let from = if rng.random_bool(0.5) { 0 } else { rng.random_range(0..=seed.len()) };
        seed[from..(from + rng.random_range(0..=PIECE)).min(seed.len())].to_vec()
    };
    let other = &seeds[rng.random_range(0..seeds.len())];
    for _ in 0..rng.random_range(1..=6_u32) {
        change(&mut bytes, other, rng);
    }
    bytes
}

/// Tries of one reader, of which `part` takes every `parts`-th thousand; the bytes of the first that panics.
fn tried(reader: fn(&[u8]), seeds: &[Vec<u8>], tries: usize, (part, parts): (usize, usize)) -> Option<Vec<u8>> {
    const BATCH: usize = 1000;
    (0..tries.div_ceil(BATCH)).filter(|batch| batch % parts == part).find_map(|batch| {
        let mut rng = ChaCha8Rng::seed_from_u64(batch as u64);
        (0..BATCH.min(tries - batch * BATCH)).find_map(|_| {
            let bytes = mutant(seeds, &mut rng);
            catch_unwind(AssertUnwindSafe(|| reader(&bytes))).is_err().then_some(bytes)
        })
    })
}

#[test]
fn files_changed_at_random_do_no_harm() {
    let tries = std::env::var("MUTANTS").ok().map(|n| n.parse().expect("MUTANTS is a number"));
    let only = std::env::var("READER").ok();
    let parts = if tries.is_some() { std::thread::available_parallelism().map_or(1, usize::from) } else { 1 };
    for (name, reader, folders) in READERS {
        if SLOW.contains(&name) || only.as_ref().is_some_and(|only| only != name) {
            continue;
        }
        let seeds = seeds(name, folders);
        let (tries, seeds) = (tries.unwrap_or(TRIES), &seeds);
        let bad = std::thread::scope(|scope| {
            let all: Vec<_> =
                (0..parts).map(|part| scope.spawn(move || tried(reader, seeds, tries, (part, parts)))).collect();
            all.into_iter().find_map(|one| one.join().expect("what panics within was caught"))
        });
        assert!(bad.is_none(), "{name} panics at {:?}", bad.map(|b| b.escape_ascii().to_string()));
        println!("{name}: {tries} tried");
    }
}

/// A reader that panics is found out, and mutants differ from one another.
#[test]
fn a_reader_that_panics_is_caught() {
    let seeds = vec![b"Job(minutes: 40)".to_vec()];
    let fussy = |bytes: &[u8]| assert!(!bytes.contains(&b'#'), "a hash");
    let bad = tried(fussy, &seeds, 2000, (0, 1)).expect("one of two thousand has a hash");
    assert!(bad.contains(&b'#'));
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let some: std::collections::BTreeSet<Vec<u8>> = (0..200).map(|_| mutant(&seeds, &mut rng)).collect();
    assert!(some.len() > 150, "{} kinds", some.len());
}
