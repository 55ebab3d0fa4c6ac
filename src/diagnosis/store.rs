//! Keeping what simulated vehicles showed, so that a job's reference set is made once.
//!
//! Who keeps it decides where: below `report` nothing touches a file. An entry names its contents: the
//! key is a hash of everything that made it. What comes back is checked: bytes that were damaged, or
//! that another version of the model made, are as good as absent.

use std::collections::BTreeMap;
use std::sync::Mutex;

use super::ensemble::{Course, Feature, Row, Watch, run};
use super::hypothesis::Draw;
use crate::scenario::model::Job;

/// A place to keep bytes by key. Losing them costs time, never correctness.
pub trait Store: Sync {
    /// What was kept under a key, if it still is.
    fn get(&self, key: &str) -> Option<Vec<u8>>;
    /// Keeps bytes under a key; may decline.
    fn put(&self, key: &str, bytes: &[u8]);
}

/// Keeps nothing.
pub struct Nowhere;

impl Store for Nowhere {
    fn get(&self, _: &str) -> Option<Vec<u8>> {
        None
    }

    fn put(&self, _: &str, _: &[u8]) {}
}

/// Keeps everything in memory.
#[derive(Default)]
pub struct Memory(Mutex<BTreeMap<String, Vec<u8>>>);

impl Store for Memory {
    fn get(&self, key: &str) -> Option<Vec<u8>> {
        self.0.lock().ok()?.get(key).cloned()
    }

    fn put(&self, key: &str, bytes: &[u8]) {
        if let Ok(mut kept) = self.0.lock() {
            kept.insert(key.to_owned(), bytes.to_vec());
        }
    }
}

/// First bytes of an entry; the digit is the version of the layout.
const MAGIC: &[u8] = b"FBREF1\n\0";
/// A row with more lines or features than this wasn't written by us.
const MOST: usize = 10_000;

/// Rows as bytes, with a hash in front.
pub fn encode(rows: &[Option<Row>]) -> Vec<u8> {
    let mut body = (rows.len() as u32).to_le_bytes().to_vec();
    for row in rows {
        let lines = row.as_ref().map_or(u32::MAX, |r| r.len() as u32);
        body.extend(lines.to_le_bytes());
        for features in row.iter().flatten() {
            body.extend((features.len() as u32).to_le_bytes());
            for feature in features {
                match *feature {
                    Feature::Number { value, random, resolution } => {
                        body.push(0);
                        for x in [value, random, resolution] {
                            body.extend(x.to_bits().to_le_bytes());
                        }
                    }
                    Feature::Word { index, of } => {
                        body.push(1);
                        body.extend((index as u32).to_le_bytes());
                        body.extend((of as u32).to_le_bytes());
                    }
                }
            }
        }
    }
    closed(&body)
}

/// Bytes with their hash in front.
pub fn closed(body: &[u8]) -> Vec<u8> {
    [MAGIC, blake3::hash(body).as_bytes(), body].concat()
}

/// What [`closed`] was given; `None` when a bit of it changed.
pub fn opened(bytes: &[u8]) -> Option<Vec<u8>> {
    let (hash, body) = bytes.strip_prefix(MAGIC)?.split_at_checked(32)?;
    (blake3::hash(body).as_bytes() == hash).then(|| body.to_vec())
}

/// Rows from bytes; `None` when they aren't exactly what [`encode`] wrote.
pub fn decode(bytes: &[u8]) -> Option<Vec<Option<Row>>> {
    let body = opened(bytes)?;
    let mut left = body.as_slice();
    let rows = word(&mut left)?;
    let mut all = vec![];
    for _ in 0..rows {
        let lines = word(&mut left)?;
        if lines == u32::MAX as usize {
            all.push(None);
            continue;
        }
        let row: Option<Row> = (0..checked(lines)?).map(|_| features(&mut left)).collect();
        all.push(Some(row?));
    }
    left.is_empty().then_some(all)
}

fn checked(count: usize) -> Option<usize> {
    (count <= MOST).then_some(count)
}

fn take<const N: usize>(left: &mut &[u8]) -> Option<[u8; N]> {
    let (head, tail) = left.split_at_checked(N)?;
    *left = tail;
    head.try_into().ok()
}

fn word(left: &mut &[u8]) -> Option<usize> {
    take::<4>(left).map(|b| u32::from_le_bytes(b) as usize)
}

fn number(left: &mut &[u8]) -> Option<f64> {
    take::<8>(left).map(|b| f64::from_bits(u64::from_le_bytes(b)))
}

fn features(left: &mut &[u8]) -> Option<Vec<Feature>> {
    let count = checked(word(left)?)?;
    (0..count)
        .map(|_| match take::<1>(left)? {
            [0] => Some(Feature::Number { value: number(left)?, random: number(left)?, resolution: number(left)? }),
            [1] => {
                let (index, of) = (word(left)?, word(left)?);
                (index < of && of <= MOST).then_some(Feature::Word { index, of })
            }
            _ => None,
        })
        .collect()
}

/// Name of what these vehicles show in this very job on this course, for a mark that says what it rests on: a hash of job,
/// version, vehicles and course.
pub fn key(job: &Job, draws: &[Draw], course: &Course) -> String {
    hashed(&[job.name.as_bytes(), job.hash.as_bytes()], draws, course)
}

/// Key under which it is kept: a hash of what is simulated, whatever the job around it says. Jobs that differ in what is
/// hidden or in words alone, as variants of a job do, have the same reference vehicles.
fn kept_under(job: &Job, draws: &[Draw], course: &Course) -> String {
    let (plant, stood) = (format!("{:?}", job.plant), job.stood_s.to_bits().to_le_bytes());
    hashed(&[plant.as_bytes(), &stood], draws, course)
}

fn hashed(of: &[&[u8]], draws: &[Draw], course: &Course) -> String {
    let mut hash = blake3::Hasher::new();
    let mut add = |bytes: &[u8]| {
        hash.update(&(bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    add(env!("CARGO_PKG_VERSION").as_bytes());
    add(&super::reference::TRANSFORMS_VERSION.to_le_bytes());
    of.iter().for_each(|bytes| add(bytes));
    for draw in draws {
        add(&draw.seed.to_le_bytes());
        add(format!("{:?}", draw.faults).as_bytes());
    }
    add(course.fingerprint().as_bytes());
    hash.finalize().to_hex().to_string()
}

/// What the vehicles show: from the store, or simulated and kept. `None` when cancelled.
///
/// An entry is trusted only after its first vehicles, simulated anew, show the same to the bit.
pub fn shown(
    job: &Job,
    draws: &[Draw],
    course: &Course,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Option<Vec<Option<Row>>> {
    let key = kept_under(job, draws, course);
    if let Some(rows) = store.get(&key).and_then(|bytes| decode(&bytes)) {
        let sample = super::ensemble::first_batch(draws);
        let anew = run(job, &draws[..sample], course, &super::ensemble::Unwatched);
        if rows.len() == draws.len() && anew.is_some_and(|a| a[..] == rows[..sample]) {
            watch.progress(1.0);
            return Some(rows);
        }
    }
    let rows = run(job, draws, course, watch)?;
    store.put(&key, &encode(&rows));
    Some(rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows() -> Vec<Option<Row>> {
        vec![
            Some(vec![
                vec![
                    Feature::Number { value: -120.25, random: 8.0, resolution: 0.1 },
                    Feature::Number { value: f64::NAN, random: 0.0, resolution: 0.0 },
                ],
                vec![Feature::Word { index: 2, of: 6 }],
            ]),
            None,
            Some(vec![]),
        ]
    }

    #[test]
    fn rows_come_back_to_the_bit() {
        let bytes = encode(&rows());
        let back = decode(&bytes).unwrap();
        assert_eq!(encode(&back), bytes);
        assert_eq!(back.len(), 3);
        assert_eq!(decode(&encode(&[])), Some(vec![]));
    }

    #[test]
    fn kept_rows_are_used_and_wrong_ones_are_made_anew() {
        use crate::bay::Bay;
        use crate::bay::action::{Action, Micros, Perceived, SECOND};
        use crate::diagnosis::ensemble::Unwatched;
        let Ok((job, _)) = crate::scenario::load_job(&crate::scenario::Library::builtin(), "bypass-puff") else {
            panic!("the built-in job loads");
        };
        let draws = &crate::diagnosis::hypothesis::draws(&job, 16)[..6];
        let mut bay = Bay::rehearsal(&job).unwrap();
        bay.act(&Action::Cap { open: true });
        bay.advance_to(40 * SECOND);
        bay.act(&Action::Note { what: Perceived::Cap, seen: "silent".into() });
        let course = Course::of(&bay, Micros::MAX);
        let store = Memory::default();
        let of = |store: &Memory| shown(&job, draws, &course, store, &Unwatched).unwrap();
        let rows = of(&store);
        assert!(rows[0].as_ref().is_some_and(|r| r.len() == 1));
        let name = kept_under(&job, draws, &course);
        assert_eq!(store.get(&name), Some(encode(&rows)));
        // an entry whose later rows are missing is believed as far as its first vehicles show the same …
        let mut marked = rows.clone();
        marked[5] = None;
        store.put(&name, &encode(&marked));
        assert_eq!(of(&store), marked);
        // … one whose first vehicle shows something else isn't, nor is rubbish
        let mut other = rows.clone();
        other[0] = Some(vec![vec![Feature::Word { index: 1, of: 9 }]]);
        for bytes in [encode(&other), encode(&rows[..1]), b"rubbish".to_vec()] {
            store.put(&name, &bytes);
            assert_eq!(of(&store), rows);
        }
        assert_ne!(kept_under(&job, draws, &Course::of(&bay, 0)), name);
        // what isn't simulated moves no key; what is, does
        let mut other = job.clone();
        (other.name, other.hash) = ("another".into(), "another".into());
        other.hidden.0.clear();
        assert_eq!(kept_under(&other, draws, &course), name);
        assert_ne!(super::key(&other, draws, &course), super::key(&job, draws, &course));
        other.stood_s += 1.0;
        assert_ne!(kept_under(&other, draws, &course), name);
        let mut other = job.clone();
        other.plant.temperature = crate::units::Temperature::from_celsius(21.0);
        assert_ne!(kept_under(&other, draws, &course), name);
    }

    proptest! {
        #[test]
        fn damaged_bytes_are_refused(at in 0..200_usize, bit in 0..8_u32, cut in 0..200_usize) {
            let bytes = encode(&rows());
            let mut flipped = bytes.clone();
            let at = at % flipped.len();
            flipped[at] ^= 1 << bit;
            prop_assert_eq!(decode(&flipped), None);
            prop_assert_eq!(decode(&bytes[..cut.min(bytes.len() - 1)]), None);
        }

        #[test]
        fn bytes_at_random_with_a_right_hash_never_panic(body in prop::collection::vec(any::<u8>(), 0..200)) {
            let _ = decode(&[MAGIC, blake3::hash(&body).as_bytes(), &body].concat());
        }
    }
}
