//! What sums of board costs there are: a bound is raised to the next.

/// Sums looked at before the plain bound is taken.
const SUMS: i64 = 100_000;

/// The least sum of board costs that is at least `least`.
pub(super) fn next_sum(costs: &[i64], least: i64) -> i64 {
    let mut costs = costs.to_vec();
    costs.sort_unstable();
    costs.dedup();
    let Some((&cheapest, dearer)) = costs.split_first() else { return least };
    if least <= 0 || !few(dearer, least) {
        return least.max(0);
    }
    smallest_sum(cheapest, dearer, least)
}

/// Whether the sums to look at are few. Their number grows with the power of
/// the costs and leaves 64 bits on a lumber yard's list of sixteen boards.
fn few(dearer: &[i64], least: i64) -> bool {
    let tries = dearer.iter().try_fold(1i64, |n, c| n.checked_mul(least / c + 2).filter(|n| *n <= SUMS));
    tries.is_some()
}

fn smallest_sum(cheapest: i64, dearer: &[i64], least: i64) -> i64 {
    let Some((&cost, rest)) = dearer.split_last() else {
        return (least.max(0) + cheapest - 1) / cheapest * cheapest;
    };
    let most = (least.max(0) + cost - 1) / cost;
    (0..=most).map(|n| n * cost + smallest_sum(cheapest, rest, least - n * cost)).min().unwrap_or(least)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_is_raised_to_the_next_sum_there_is() {
        assert_eq!(next_sum(&[350, 799], 800), 1050, "three of the cheaper");
        assert_eq!(next_sum(&[350, 799], 1100), 1149, "one of each");
        assert_eq!(next_sum(&[350], 0), 0, "nothing costs nothing");
    }

    /// The board list of a yard, 50 boxes: the product of the tries is negative
    /// in 64 bits, and the sums took for ever.
    #[test]
    fn a_long_list_of_boards_keeps_the_plain_bound() {
        let costs = [243, 357, 454, 568, 339, 511, 665, 837, 443, 673, 870, 1107, 540, 827, 1082, 1369];
        let tries = |least: i64| costs.iter().map(|c| i128::from(least / c + 2)).product::<i128>();
        assert!(tries(16_000) > i128::from(i64::MAX), "the case that went round");
        for least in [1_000, 16_000, 1 << 40] {
            assert_eq!(next_sum(&costs, least), least, "not looked at");
        }
    }
}
