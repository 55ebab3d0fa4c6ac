//! How causes are described: shares by hand, leaving one out against making anew, causes that look alike.

use super::*;
use crate::random::{Purpose, normal};

/// Vehicles by number: severity, numbers around a centre that moves with severity, one word of two.
fn drawn(seed: u64, count: usize, width: usize, severe: bool, slope: f64) -> Vec<(f64, Vec<f64>, Vec<usize>)> {
    (0..count)
        .map(|i| {
            let severity = if severe { 1.0 + 4.0 * (i as f64 + 0.5) / count as f64 } else { 0.0 };
            let at = |j: usize| normal(seed, Purpose::Tolerance, (i * 64 + j) as u64);
            // a tolerance in common and one for each
            let numbers: Vec<f64> = (0..width).map(|j| at(60) + at(j) + slope * severity).collect();
            let word = usize::from(at(61) > 0.5);
            (severity, numbers, vec![word])
        })
        .collect()
}

fn vehicles(rows: &[(f64, Vec<f64>, Vec<usize>)]) -> Vec<Vehicle<'_>> {
    rows.iter().map(|(severity, f, c)| Vehicle { severity: *severity, features: f, categories: c }).collect()
}

struct Kept {
    spans: Vec<f64>,
    doubt: Vec<f64>,
}

fn kept(width: usize) -> Kept {
    Kept { spans: vec![2.0; width], doubt: vec![0.04; width] }
}

impl Kept {
    fn frame(&self) -> Frame<'_> {
        Frame { spans: &self.spans, vocabulary: &[2], doubt: &self.doubt }
    }
}

#[test]
fn shares_are_those_of_what_happened() {
    let never = f64::NEG_INFINITY;
    // four vehicles that only the first way makes, one that only the second makes
    let shares_of = shares(&[&[0.0, 0.0, 0.0, 0.0, never], &[never, never, never, never, -3.0]]);
    assert!((shares_of[0] - 0.8).abs() < 1e-12 && (shares_of[1] - 0.2).abs() < 1e-12);
    // one that neither makes changes nothing, nor do many
    assert_eq!(shares(&[&[0.0, never], &[never, never]]), [1.0, 0.0]);
    assert_eq!(shares(&[&[never], &[never]]), [0.5, 0.5]);
    // what can't be told apart is shared evenly; what is always worse goes
    assert_eq!(shares(&[&[-1.0, -2.0], &[-1.0, -2.0]]), [0.5, 0.5]);
    assert_eq!(shares(&[&[-1.0, -2.0], &[-3.0, -4.0]]), [1.0, 0.0]);
}

/// What a way says of a vehicle that it hasn't seen is what the others, made into bells anew, say.
#[test]
fn leaving_one_out_is_making_the_bells_without_it() {
    for width in [3, 20] {
        let rows = [drawn(1, 17, width, true, 0.5), drawn(2, 9, width, true, 0.0)];
        let bands: Vec<Vec<Vehicle<'_>>> = rows.iter().map(|r| vehicles(r)).collect();
        let (bands, kept) = (by_severity(&bands), kept(width));
        let frame = kept.frame();
        let ways = [Way::whole(&bands), Way::cut(&bands, 3, false), Way::cut(&bands, 3, true)];
        for way in ways {
            let quick = without_itself(&way, &frame).unwrap();
            let mut at = quick.iter();
            for (own, (_, members)) in way.parts.iter().enumerate() {
                for out in 0..members.len() {
                    let mut parts = way.parts.clone();
                    let vehicle = parts[own].1.remove(out);
                    let rest = Way { parts, common: way.common }.strata(&frame);
                    let slow = by_stranger(&rest, &[vehicle], &frame).unwrap()[0];
                    let quick = at.next().unwrap();
                    assert!((quick - slow).abs() < 1e-8, "{width} numbers: {quick} and {slow}");
                }
            }
        }
    }
}

/// Mean and spread of how far belief moves between two causes, ln, over vehicles that neither has seen.
fn moved(causes: &[Vec<Stratum>], fresh: &[(f64, Vec<f64>, Vec<usize>)], frame: &Frame<'_>) -> (f64, f64) {
    let fresh = vehicles(fresh);
    let fresh: Vec<&Vehicle<'_>> = fresh.iter().collect();
    let (a, b) = (by_stranger(&causes[0], &fresh, frame).unwrap(), by_stranger(&causes[1], &fresh, frame).unwrap());
    let n = a.len() as f64;
    let mean = a.iter().zip(&b).map(|(a, b)| a - b).sum::<f64>() / n;
    let size = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).sum::<f64>() / n;
    (mean, size)
}

#[test]
fn causes_that_look_alike_are_described_alike_and_others_are_not() {
    let width = 8;
    let kept = kept(width);
    let frame = kept.frame();
    // nothing wrong; a fault that shows nothing; two faults that show the same; one that shows
    let rows = [
        drawn(1, 72, width, false, 0.0),
        drawn(2, 72, width, true, 0.0),
        drawn(3, 72, width, true, 1.0),
        drawn(4, 72, width, true, 1.0),
        drawn(5, 72, width, true, -2.0),
    ];
    let causes: Vec<Vec<Vec<Vehicle<'_>>>> = rows.iter().map(|r| vec![vehicles(r)]).collect();
    let all = described(&causes, &frame).unwrap();
    for strata in &all {
        assert!((strata.iter().map(|s| s.weight).sum::<f64>() - 1.0).abs() < 1e-12);
    }
    let plain: Vec<Vec<Stratum>> =
        causes.iter().map(|c| Way::cut(&by_severity(c), OWN_SPREAD, false).strata(&frame)).collect();
    for (pair, fresh) in [([0, 1], drawn(11, 200, width, false, 0.0)), ([2, 3], drawn(12, 200, width, true, 1.0))] {
        let of = |from: &[Vec<Stratum>]| moved(&[from[pair[0]].clone(), from[pair[1]].clone()], &fresh, &frame);
        let ((mean, size), (_, separately)) = (of(&all), of(&plain));
        println!("{pair:?}: {mean:.2} and {size:.2}, guessed at separately {separately:.2}");
        assert!(mean.abs() < 0.15 && size < 0.35, "{pair:?}: {mean} and {size}");
        assert!(separately > 2.0 * size, "{pair:?}: {separately} and {size}");
    }
    let (mean, _) = moved(&[all[4].clone(), all[0].clone()], &drawn(13, 200, width, true, -2.0), &frame);
    println!("one that shows: {mean:.1}");
    assert!(mean > 5.0, "{mean}");
}

#[test]
fn without_any_doubt_a_cause_keeps_its_plain_strata() {
    // every vehicle alike and read without doubt: no density, and no panic
    let rows: Vec<(f64, Vec<f64>, Vec<usize>)> = (0..8).map(|i| (f64::from(i), vec![1.0, 1.0], vec![0])).collect();
    let frame = Frame { spans: &[0.0, 0.0], vocabulary: &[1], doubt: &[0.0, 0.0] };
    let strata = described(&[vec![vehicles(&rows)]], &frame).unwrap().remove(0);
    assert_eq!(strata.iter().map(|s| s.weight).collect::<Vec<_>>(), [0.5, 0.5]);
}
