//! The bounded knapsack: which pieces fill a length best.

/// One kind of thing to pack.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Thing {
    /// Its size, greater than zero.
    pub(crate) size: i64,
    /// Its worth; things worth nothing are never packed.
    pub(crate) worth: i64,
    /// How many there are.
    pub(crate) limit: u32,
}

/// What was packed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Packed {
    /// Worth of the things packed.
    pub(crate) worth: i64,
    /// No packing is worth more than this. Equal to `worth` unless the search
    /// was cut short.
    pub(crate) at_most: i64,
    /// How many of each thing, in the order given.
    pub(crate) counts: Vec<u32>,
}

/// Search steps before the best packing found so far is taken. The lantern's
/// parts need a few dozen; the published bin-packing sets up to some thousands.
/// A search cut short still gives a true upper bound.
const STEPS: u64 = 200_000;

/// The packing of greatest worth: depth first, densest things first, cut off
/// where filling the rest with the densest thing left cannot do better.
pub(crate) fn pack(capacity: i64, things: &[Thing]) -> Packed {
    let mut order: Vec<usize> = (0..things.len())
        .filter(|&i| things[i].worth > 0 && things[i].size <= capacity && things[i].limit > 0)
        .collect();
    order.sort_by(|&a, &b| density(&things[b]).total_cmp(&density(&things[a])).then(a.cmp(&b)));
    let mut smallest = i64::MAX;
    let mut tail: Vec<i64> = order
        .iter()
        .rev()
        .map(|&i| {
            smallest = smallest.min(things[i].size);
            smallest
        })
        .collect();
    tail.reverse();
    let sorted: Vec<Thing> = order.iter().map(|&i| things[i]).collect();
    let mut search = Search {
        things: &sorted,
        smallest: &tail,
        now: vec![0; sorted.len()],
        best: vec![0; sorted.len()],
        worth: 0,
        steps: STEPS,
    };
    search.from(0, capacity, 0);
    let cut_short = search.steps == 0;
    let root = rest_bound(&sorted, capacity);
    let mut counts = vec![0; things.len()];
    for (&i, &count) in order.iter().zip(&search.best) {
        counts[i] = count;
    }
    Packed { worth: search.worth, at_most: if cut_short { root.max(search.worth) } else { search.worth }, counts }
}

fn density(thing: &Thing) -> f64 {
    thing.worth as f64 / thing.size as f64
}

/// No packing of these things (densest first) in `room` is worth more: whole
/// things as far as they go, then a part of the next. The factor and the one
/// cover the rounding of the division.
fn rest_bound(things: &[Thing], mut room: i64) -> i64 {
    let mut worth = 0;
    for thing in things {
        let count = (room / thing.size).min(i64::from(thing.limit));
        worth += count * thing.worth;
        room -= count * thing.size;
        if count < i64::from(thing.limit) {
            return worth + (room as f64 * density(thing) * (1.0 + 1e-12)) as i64 + 1;
        }
    }
    worth
}

struct Search<'a> {
    things: &'a [Thing],
    /// Smallest size from each place on.
    smallest: &'a [i64],
    now: Vec<u32>,
    best: Vec<u32>,
    worth: i64,
    steps: u64,
}

impl Search<'_> {
    fn from(&mut self, place: usize, room: i64, worth: i64) {
        if worth > self.worth {
            self.worth = worth;
            self.best.copy_from_slice(&self.now);
        }
        if place == self.things.len() || room < self.smallest[place] || self.steps == 0 {
            return;
        }
        let thing = self.things[place];
        if worth + rest_bound(&self.things[place..], room) <= self.worth {
            return;
        }
        self.steps -= 1;
        let most = u32::try_from(room / thing.size).unwrap_or(u32::MAX).min(thing.limit);
        for count in (0..=most).rev() {
            self.now[place] = count;
            let used = i64::from(count);
            self.from(place + 1, room - used * thing.size, worth + used * thing.worth);
        }
        self.now[place] = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every packing, by brute force.
    fn brute(capacity: i64, things: &[Thing]) -> i64 {
        let Some((first, rest)) = things.split_first() else { return 0 };
        let most = (capacity / first.size).min(i64::from(first.limit));
        (0..=most).map(|n| n * first.worth.max(0) + brute(capacity - n * first.size, rest)).max().unwrap_or(0)
    }

    proptest! {
        #[test]
        fn packs_as_well_as_brute_force(
            capacity in 1i64..60,
            raw in proptest::collection::vec((1i64..20, -3i64..30, 0u32..4), 0..6),
        ) {
            let things: Vec<_> = raw.into_iter().map(|(size, worth, limit)| Thing { size, worth, limit }).collect();
            let packed = pack(capacity, &things);
            prop_assert_eq!(packed.worth, brute(capacity, &things));
            prop_assert_eq!(packed.at_most, packed.worth);
            let size: i64 = packed.counts.iter().zip(&things).map(|(n, t)| i64::from(*n) * t.size).sum();
            let worth: i64 = packed.counts.iter().zip(&things).map(|(n, t)| i64::from(*n) * t.worth).sum();
            prop_assert!(size <= capacity);
            prop_assert_eq!(worth, packed.worth);
            prop_assert!(packed.counts.iter().zip(&things).all(|(n, t)| *n <= t.limit));
        }
    }
}
