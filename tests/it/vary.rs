//! Variants of a job: as hard as it is, the same from the same seed, and rejected with the reason where they aren't.

use std::sync::LazyLock;

use faultbay::authoring::vary::{Asked, Bands, Varied, vary};
use faultbay::diagnosis::ensemble::Unwatched;
use faultbay::diagnosis::store::Memory;
use faultbay::scenario::{Kind, Library, check_text};

use crate::shell::Folder;

/// Reference vehicles a candidate: fewer than for marks, as in the test of the check itself.
const VEHICLES: usize = 48;

static KEPT: LazyLock<Memory> = LazyLock::new(Memory::default);

fn varied(library: &Library, count: usize, seed: u64) -> Varied {
    let asked = Asked { job: "bypass-puff", count, seed, vehicles: VEHICLES, bands: Bands::STANDARD };
    vary(library, &asked, &*KEPT, &Unwatched, &|_| ()).unwrap()
}

/// The built-in job with a field more.
fn with(field: &str) -> Library {
    let mut library = Library::builtin();
    let text = library.text(Kind::Job, "bypass-puff").unwrap();
    let text = text.replacen("    minutes: 40,\n", &format!("    minutes: 40,\n    {field},\n"), 1);
    library.insert(Kind::Job, "bypass-puff", "bypass-puff.ron", &text);
    library
}

#[test]
fn three_variants_are_equivalent_and_the_same_to_the_byte_from_the_same_seed() {
    let library = Library::builtin();
    let first = varied(&library, 3, 7);
    let good: Vec<_> = first.equivalent().collect();
    assert_eq!(good.len(), 3, "{first:#?}");
    for v in &good {
        let report = check_text(Some(Kind::Job), "v.ron", &v.text, &library);
        assert!(report.is_empty(), "{report}");
        // the author's own remarks are still there
        assert!(v.text.contains("// A van that has lost its pull little by little."), "{}", v.text);
        assert!(v.differs.len() >= 2, "{:?}", v.differs);
    }
    assert!(good[0].text != good[1].text && good[1].text != good[2].text);
    let again = varied(&library, 3, 7);
    let texts = |v: &Varied| v.variants.iter().map(|v| v.text.clone()).collect::<Vec<_>>();
    assert_eq!(texts(&first), texts(&again));
    assert_eq!(first.original, again.original);
    // golden: the draws of a seed are the same on every computer and in every version of the program, whatever becomes
    // of them in the check
    let drawn = first.variants.iter().take(3);
    let golden: Vec<(u64, &[String])> = drawn.map(|v| (v.vehicle, v.differs.as_slice())).collect();
    assert_eq!(format!("{golden:?}"), GOLDEN);
}

const GOLDEN: &str = "[(754053, [\"F15 3.2 for 3.4\", \"21 for 20 °C\", \"41 for 40 l\", \"distances × 1.03\"]), \
     (179802, [\"F15 3.6 for 3.4\", \"19 for 20 °C\", \"39 for 40 l\", \"distances × 1.02\"]), \
     (148703, [\"F15 3.6 for 3.4\", \"distances × 1.03\"])]";

#[test]
fn a_variant_forced_out_of_the_band_is_rejected_with_the_reason() {
    let found = varied(&with("varies: (temperature: (degC(-16), degC(-16)))"), 1, 7);
    assert_eq!(found.equivalent().count(), 0, "{found:#?}");
    for v in &found.variants {
        assert!(v.name.is_none() && v.because.iter().any(|w| w.contains("card would no longer be true")), "{v:#?}");
    }
}

#[test]
fn the_executable_refuses_what_it_would_overwrite_and_what_it_does_not_know() {
    let folder = Folder::new();
    std::fs::create_dir_all(folder.path("out/jobs")).unwrap();
    folder.write("out/jobs/bypass-puff-2.ron", "mine");
    folder.run("vary bypass-puff --count 3 --into out").ended(2).complains("isn\u{2019}t overwritten");
    assert_eq!(folder.read("out/jobs/bypass-puff-2.ron"), "mine");
    folder.run("vary bypass-puf --count 1 --into out").ended(2).complains("bypass-puff");
    folder.run("vary bypass-puff --count 0 --into out").ended(2);
}
