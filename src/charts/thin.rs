//! Fewer points when there are many: a picture of 3,000 dots shows no more than one of some hundreds.

/// At most so many points are drawn in one plot.
pub(super) const MOST_POINTS: usize = 240;
/// This part of them is kept for the largest values, which an even choice would lose.
const FOR_EXTREMES: f64 = 0.05;

/// Which of `count` points to draw, in their order: all when there are few; otherwise those of the largest `weight`,
/// and an even choice of the rest.
pub(super) fn thin(count: usize, most: usize, weight: impl Fn(usize) -> f64) -> Vec<usize> {
    if count <= most {
        return (0..count).collect();
    }
    let mut by_weight: Vec<usize> = (0..count).collect();
    by_weight.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)));
    let extremes = (most as f64 * FOR_EXTREMES) as usize;
    let mut kept = by_weight[..extremes].to_vec();
    let even = most - extremes;
    kept.extend((0..even).map(|i| i * (count - 1) / (even - 1).max(1)));
    kept.sort_unstable();
    kept.dedup();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_points_all_stay() {
        assert_eq!(thin(3, 10, |_| 0.0), [0, 1, 2]);
    }

    #[test]
    fn of_many_the_extremes_and_both_ends_stay() {
        let kept = thin(3_000, 240, |i| if i == 1_234 { 1.0 } else { 0.0 });
        assert!(kept.len() <= 240 && kept.contains(&1_234) && kept.contains(&0) && kept.contains(&2_999));
        assert!(kept.is_sorted());
    }
}
