//! Which causes the allowed tests can tell apart, and which then form one group.
//!
//! `e_ij = ½·P_i(L_j > L_i) + ½·P_j(L_i > L_j)`, ties counting half: how often vehicles with one cause
//! look more like the other. Causes are separable when e ≤ 0.10; groups are what hangs together by
//! pairs that aren't.

/// Share of mistaken vehicles up to which two causes count as told apart.
pub const SEPARABLE: f64 = 0.10;

/// `e_ij` from log-likelihoods: `shown[i]` holds, for each vehicle with cause i, the log-likelihoods of
/// all causes. 0 on the diagonal and where a cause has no vehicle.
pub fn mistaken(shown: &[Vec<Vec<f64>>]) -> Vec<Vec<f64>> {
    let half = |i: usize, j: usize| -> Option<f64> {
        let n = shown[i].len() as f64;
        let wrong: f64 = shown[i]
            .iter()
            .map(|l| {
                if l[j] > l[i] {
                    1.0
                } else if l[j] < l[i] {
                    0.0
                } else {
                    0.5
                }
            })
            .sum();
        (n > 0.0).then_some(0.5 * wrong / n)
    };
    (0..shown.len())
        .map(|i| {
            (0..shown.len())
                .map(|j| if i == j { 0.0 } else { half(i, j).zip(half(j, i)).map_or(0.0, |(a, b)| a + b) })
                .collect()
        })
        .collect()
}

/// Numbers the connected components of "not separable" or "same repair" from 0, in order of their
/// first cause. The last group is that of "none of these", alone.
pub fn groups(mistaken: &[Vec<f64>], limit: f64, same_repair: &[(usize, usize)]) -> Vec<usize> {
    let n = mistaken.len();
    let mut of: Vec<usize> = (0..n).collect();
    let joined = |i: usize, j: usize| {
        mistaken[i][j] > limit || same_repair.contains(&(i, j)) || same_repair.contains(&(j, i))
    };
    for i in 0..n {
        for j in 0..i {
            if joined(i, j) && of[i] != of[j] {
                let (from, to) = (of[i].max(of[j]), of[i].min(of[j]));
                for g in &mut of {
                    if *g == from {
                        *g = to;
                    }
                }
            }
        }
    }
    let mut names: Vec<usize> = of.clone();
    names.sort_unstable();
    names.dedup();
    let mut numbered: Vec<usize> = of.iter().map(|g| names.iter().position(|n| n == g).unwrap_or(0)).collect();
    numbered.push(names.len());
    numbered
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_count_both_ways_and_ties_half() {
        // cause 0: one of two vehicles looks more like 1; cause 1: one right, one tie
        let shown = vec![
            vec![vec![0.0, -1.0, -9.0], vec![-2.0, -1.0, -9.0]],
            vec![vec![-3.0, 0.0, -9.0], vec![-1.0, -1.0, -9.0]],
            vec![],
        ];
        let e = mistaken(&shown);
        assert_eq!(e[0][1], 0.5 * 0.5 + 0.5 * 0.25);
        assert_eq!(e[1][0], e[0][1]);
        assert_eq!([e[0][0], e[0][2], e[2][1]], [0.0; 3]);
    }

    #[test]
    fn what_hangs_together_is_one_group() {
        let mut e = vec![vec![0.0; 5]; 5];
        for (i, j) in [(0, 3), (3, 4)] {
            e[i][j] = 0.3;
            e[j][i] = 0.3;
        }
        assert_eq!(groups(&e, SEPARABLE, &[]), [0, 1, 2, 0, 0, 3]);
        assert_eq!(groups(&e, SEPARABLE, &[(2, 1)]), [0, 1, 1, 0, 0, 2]);
        assert_eq!(groups(&e, 0.5, &[]), [0, 1, 2, 3, 4, 5]);
    }
}
