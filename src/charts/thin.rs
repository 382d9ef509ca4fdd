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

/// Which points of a line matter: those left out lie within `tolerance` of the straight line between their
/// neighbours that stay (Douglas and Peucker, Cartographica 10(2), 1973, doi:10.3138/FM57-6770-U75U-7727).
pub(super) fn corners(points: &[(f64, f64)], tolerance: f64) -> Vec<usize> {
    let Some(last) = points.len().checked_sub(1) else { return Vec::new() };
    let mut kept = vec![0, last];
    let mut open = vec![(0, last)];
    while let Some((from, to)) = open.pop() {
        let farthest = (from + 1..to)
            .map(|i| (i, distance(points[i], points[from], points[to])))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((i, _)) = farthest.filter(|f| f.1 > tolerance) {
            kept.push(i);
            open.extend([(from, i), (i, to)]);
        }
    }
    kept.sort_unstable();
    kept.dedup();
    kept
}

/// From a point to the straight line through `a` and `b`, or to `a` when both are one.
fn distance(point: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (along, away) = ((b.0 - a.0, b.1 - a.1), (point.0 - a.0, point.1 - a.1));
    match along.0.hypot(along.1) {
        0.0 => away.0.hypot(away.1),
        length => (along.0 * away.1 - along.1 * away.0).abs() / length,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_keeps_its_corners_and_nothing_else() {
        let line: Vec<(f64, f64)> = (0..=100).map(|i| (f64::from(i), f64::from((i - 40).max(0)))).collect();
        assert_eq!(corners(&line, 0.1), [0, 40, 100]);
        assert_eq!(corners(&[], 0.1), [] as [usize; 0]);
        assert_eq!(corners(&[(1.0, 1.0)], 0.1), [0]);
    }

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
