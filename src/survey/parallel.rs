//! Many faces on several threads, the same result on any number of them.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// Does `work` for `0..count` on so many threads and hands each result to `take`,
/// on the calling thread, as it comes. The order of the calls to `take` is not
/// fixed; what it is told is.
///
/// `take` says whether to go on; no work is begun after it said no.
pub fn each<T: Send>(
    count: usize,
    threads: usize,
    work: impl Fn(usize) -> T + Sync,
    mut take: impl FnMut(usize, T) -> bool,
) {
    let next = AtomicUsize::new(0);
    // Room for a few results only: a slow taker holds the workers up rather than
    // letting results pile up.
    let (give, got) = mpsc::sync_channel(2 * threads.max(1));
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, count.max(1)) {
            let (give, next, work) = (give.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count || give.send((i, work(i))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(give);
        for (i, result) in got {
            if !take(i, result) {
                break;
            }
        }
    });
}
