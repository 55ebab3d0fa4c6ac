//! What the fuzzer has found once stays harmless: its corpus goes through the same readers again, and so does every
//! seed file cut short at many places.

#[path = "../fuzz/src/readers.rs"]
mod readers;

use std::fs;
use std::path::{Path, PathBuf};

type Reader = fn(&[u8]);

/// Folders of seed files and their ending.
type Seeds = &'static [(&'static str, &'static str)];

/// Each reader with its seeds.
pub const READERS: [(&str, Reader, Seeds); 10] = [
    (
        "scenario",
        readers::scenario,
        &[("scenarios/jobs", "ron"), ("scenarios/plants", "ron"), ("tests/scenarios", "ron")],
    ),
    (
        "form",
        readers::form,
        &[("scenarios/jobs", "ron"), ("scenarios/plants", "ron"), ("scenarios/rubrics", "ron")],
    ),
    ("pack", readers::pack, &[("tests/fuzz/corpus/pack", "pack")]),
    ("picture", readers::picture, &[("assets/guide/gallery", "png")]),
    ("script", readers::script, &[("demo-data", "txt")]),
    ("attempt", readers::attempt, &[("demo-data", "jsonl")]),
    ("recording", readers::recording, &[("demo-data", "csv")]),
    ("words", readers::words, &[("demo-data", "txt")]),
    ("line", readers::line, &[]),
    ("sitting", readers::sitting, &[]),
];

pub fn files(folder: &Path, ending: Option<&str>) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return vec![] };
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry of the folder").path())
        .filter(|path| path.is_file() && ending.is_none_or(|e| path.extension().is_some_and(|x| x == e)))
        .collect();
    files.sort();
    files
}

#[test]
fn what_the_fuzzer_found_does_no_harm() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (name, reader, _) in READERS {
        let corpus = files(&root.join("tests/fuzz/corpus").join(name), None);
        assert!(!corpus.is_empty(), "no corpus for {name}");
        for path in corpus {
            reader(&fs::read(path).expect("a file of the corpus"));
        }
    }
}

#[test]
fn files_that_are_cut_short_do_no_harm() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (name, reader, folders) in READERS {
        for (folder, ending) in folders {
            let seeds = files(&root.join(folder), Some(ending));
            assert!(!seeds.is_empty(), "no seed for {name} in {folder}");
            for path in seeds {
                let bytes = fs::read(path).expect("a seed file");
                for part in 1..8 {
                    reader(&bytes[..bytes.len() * part / 8]);
                }
            }
        }
    }
}
