//! What sums of board costs there are: a bound is raised to the next.

/// Sums looked at before the plain bound is taken.
const SUMS: i64 = 100_000;

/// The least sum of board costs that is at least `least`.
pub(super) fn next_sum(costs: &[i64], least: i64) -> i64 {
    let mut costs = costs.to_vec();
    costs.sort_unstable();
    costs.dedup();
    let Some((&cheapest, dearer)) = costs.split_first() else { return least };
    let tries: i64 = dearer.iter().map(|c| least / c + 2).product();
    if least <= 0 || tries > SUMS {
        return least.max(0);
    }
    smallest_sum(cheapest, dearer, least)
}

fn smallest_sum(cheapest: i64, dearer: &[i64], least: i64) -> i64 {
    let Some((&cost, rest)) = dearer.split_last() else {
        return (least.max(0) + cheapest - 1) / cheapest * cheapest;
    };
    let most = (least.max(0) + cost - 1) / cost;
    (0..=most).map(|n| n * cost + smallest_sum(cheapest, rest, least - n * cost)).min().unwrap_or(least)
}
