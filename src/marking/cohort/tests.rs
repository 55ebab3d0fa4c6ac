//! Against numbers computed independently: numpy 2, scipy 1 and scikit-learn 1 over the same tables
//! (`numpy` variances with ddof = 1, `scipy.stats.f.ppf`, `scipy.stats.pearsonr`,
//! `sklearn.metrics.cohen_kappa_score`, `f1_score(average="macro")`, `balanced_accuracy_score`).

use super::*;

#[track_caller]
fn close(have: f64, want: f64) {
    assert!((have - want).abs() < 1e-9, "{have} for {want}");
}

/// Twelve learners, four jobs out of ten points each.
fn table() -> Scores {
    let rows: [[f64; 4]; 12] = [
        [7.0, 5.0, 8.0, 6.0],
        [9.0, 8.0, 9.0, 7.0],
        [4.0, 3.0, 6.0, 2.0],
        [6.0, 7.0, 7.0, 5.0],
        [8.0, 6.0, 9.0, 8.0],
        [3.0, 4.0, 5.0, 4.0],
        [7.0, 7.0, 6.0, 6.0],
        [5.0, 2.0, 7.0, 3.0],
        [9.0, 9.0, 8.0, 9.0],
        [6.0, 5.0, 7.0, 4.0],
        [2.0, 3.0, 4.0, 3.0],
        [8.0, 7.0, 8.0, 8.0],
    ];
    Scores::new(rows.iter().map(|r| r.to_vec()).collect(), vec![10.0; 4]).unwrap()
}

#[test]
fn reliability_of_a_table() {
    let scores = table();
    let a = alpha(&scores).unwrap();
    close(a, 0.936_798_531_984_807_8);
    let (low, high) = alpha_interval(a, 12, 4, 0.95);
    close(low, 0.847_541_316_844_164_3);
    close(high, 0.979_594_758_710_158_4);
    close(error_of_measurement(&scores).unwrap(), 1.933_881_844_865_137_8);
    let g = generalisability(&scores);
    close(g.learners, 3.464_646_464_646_465);
    close(g.items, 0.460_858_585_858_585_7);
    close(g.rest, 0.934_974_747_474_747_4);
    close(g.relative(4), a);
    close(g.absolute(4), 0.908_496_461_532_094_5);
    // Φ of 0.8 wants 4·(v_i + v_r)/v_p = 1.61 items, hence two
    assert_eq!(g.items_needed(0.80), Some(2));
    assert_eq!(Generalisability { learners: 1.0, items: 0.5, rest: 1.5 }.items_needed(0.80), Some(8));
    assert_eq!(Generalisability { learners: 0.0, items: 0.5, rest: 1.5 }.items_needed(0.80), None);
    close(Generalisability { learners: 1.0, items: 0.5, rest: 1.5 }.absolute_error(8), 0.5);
}

#[test]
fn items_of_a_table() {
    let scores = table();
    let rest = [0.949_514_797_439_187_8, 0.828_247_873_888_326_9, 0.781_567_204_545_919_3, 0.899_838_222_327_300_1];
    let apart = [17.0 / 30.0, 14.0 / 30.0, 10.0 / 30.0, 0.5];
    for (i, (rest, apart)) in rest.into_iter().zip(apart).enumerate() {
        let item = scores.item(i);
        close(item.item_rest.unwrap(), rest);
        close(item.upper_lower, apart);
        assert_eq!(item.flags, []);
    }
    close(scores.item(0).difficulty, 74.0 / 120.0);
}

#[test]
fn zeros_and_ones_give_kr20_and_the_point_biserial() {
    let rows = ["101", "111", "001", "110", "000", "111", "011", "000"];
    let rows = rows.iter().map(|r| r.bytes().map(|b| f64::from(b - b'0')).collect()).collect();
    let scores = Scores::new(rows, vec![1.0; 3]).unwrap();
    close(alpha(&scores).unwrap(), 0.607_594_936_708_861);
    for (i, r) in
        [0.480_384_461_415_260_8, 0.480_384_461_415_260_8, 0.298_142_396_999_971_96].into_iter().enumerate()
    {
        close(scores.item(i).item_rest.unwrap(), r);
    }
}

#[test]
fn odd_items_are_flagged() {
    let rows = vec![vec![10.0, 0.0, 3.0], vec![10.0, 0.0, 4.0], vec![9.5, 1.0, 5.0]];
    let scores = Scores::new(rows, vec![10.0; 3]).unwrap();
    assert_eq!(scores.item(0).flags, [Flag::TooEasy, Flag::TellsLittle]);
    assert_eq!(scores.item(1).flags, [Flag::TooHard]);
    assert_eq!(never_picked(&[0, 2, 2], 4), [1, 3]);
}

#[test]
fn findings_against_truths() {
    let truth = [0, 0, 0, 1, 1, 1, 2, 2, 2, 2, 0, 1];
    let said = [0, 0, 1, 1, 1, 2, 2, 2, 0, 2, 0, 1];
    let pairs: Vec<(usize, usize)> = truth.into_iter().zip(said).collect();
    let c = confusion(&pairs, 3);
    assert_eq!(c.counts, [[3, 1, 0], [0, 3, 1], [1, 0, 3]]);
    close(c.kappa().unwrap(), 0.625);
    close(c.macro_f1().unwrap(), 0.75);
    close(c.balanced_accuracy().unwrap(), 0.75);
    assert_eq!(confusion(&[(0, 0)], 2).kappa(), None);
    assert_eq!(confusion(&[], 2).macro_f1(), None);
}

#[test]
fn forecasts_against_outcomes() {
    let p = [0.5, 0.5, 0.6, 0.6, 0.6, 0.8, 0.8, 0.8, 0.8, 0.9, 0.9, 0.9];
    let o = [1, 0, 1, 0, 0, 1, 1, 0, 1, 1, 1, 1];
    let stated: Vec<(f64, bool)> = p.into_iter().zip(o.map(|x| x == 1)).collect();
    let b = brier(&stated).unwrap();
    close(b.score, 0.180_833_333_333_333_3);
    close(b.reliability, 0.021_111_111_111_111_11);
    close(b.resolution, 0.0625);
    close(b.uncertainty, 2.0 / 9.0);
    close(b.score, b.reliability - b.resolution + b.uncertainty);
    close(overconfidence(&stated).unwrap(), 0.058_333_333_333_333_4);
    assert_eq!(brier(&[]), None);
}

#[test]
fn judges_set_a_cut_with_its_band() {
    let cut = angoff(&[52.0, 58.0, 61.0, 55.0, 49.0, 63.0, 57.0, 60.0]).unwrap();
    close(cut.cut, 56.875);
    close(cut.error, 1.663_016_836_956_258_6);
    close(cut.band(3.2), 3.606_331_238_253_080_8);
    assert_eq!(angoff(&[50.0; 7]), None);
}

#[test]
fn few_learners_show_nothing() {
    let of = |n| {
        let s = showable(n);
        [s.anything, s.discrimination, s.alpha_alone]
    };
    assert_eq!(of(4), [false; 3]);
    assert_eq!(of(5), [true, false, false]);
    assert_eq!(of(20), [true, true, false]);
    assert_eq!(of(30), [true; 3]);
}

#[test]
fn wasted_and_first_tests() {
    let log = |list: &[(&str, f64)]| list.iter().map(|(t, m)| ((*t).to_owned(), *m)).collect::<Vec<_>>();
    let learners = [
        log(&[("hold", 2.0), ("hold", 3.0), ("idle", 0.0)]),
        log(&[("idle", 4.0)]),
        log(&[("hold", 1.0)]),
        log(&[]),
    ];
    assert_eq!(most_wasted(&learners), Some(Wasted { test: "hold".into(), learners: 0.5, minutes: 3.0 }));
    assert_eq!(most_wasted(&learners[3..]), None);
    assert_eq!(first_tests(&["b", "a", "b"]), [("b".to_owned(), 2), ("a".to_owned(), 1)]);
    close(breaches_in_100(&[0, 1, 0, 2]), 75.0);
}

#[test]
fn gaps_and_bad_scores_are_refused_by_name() {
    let some = |x: &[f64]| x.iter().copied().map(Some).collect::<Vec<_>>();
    let rows = [some(&[1.0, 2.0]), vec![Some(1.0), None], some(&[3.0, 3.0])];
    assert_eq!(Scores::complete_block(&rows, vec![5.0; 2]).unwrap().learners(), 2);
    let of = |rows: &[&[f64]]| Scores::new(rows.iter().map(|r| r.to_vec()).collect(), vec![5.0; 2]).unwrap_err();
    assert_eq!(of(&[&[1.0, 1.0]]), Unusable::TooFew);
    assert_eq!(of(&[&[1.0, 1.0], &[1.0]]), Unusable::Ragged(1));
    assert_eq!(of(&[&[1.0, 6.0], &[1.0, 1.0]]), Unusable::OutOfRange(0));
    assert_eq!(of(&[&[1.0, f64::NAN], &[1.0, 1.0]]), Unusable::OutOfRange(0));
}
