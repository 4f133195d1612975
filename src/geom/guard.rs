//! Calls into libraries that may fail by a panic, which is caught and answered.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};

thread_local! {
    /// How many guarded calls this thread is in.
    static GUARDED: Cell<u32> = const { Cell::new(0) };
}

/// Runs `call`; a panic in it ends as an `Err`.
///
/// # Errors
/// What the panic carried.
pub fn guarded<T>(call: impl FnOnce() -> T) -> std::thread::Result<T> {
    GUARDED.set(GUARDED.get() + 1);
    let done = catch_unwind(AssertUnwindSafe(call));
    GUARDED.set(GUARDED.get() - 1);
    done
}

/// From now on nothing is printed of panics that [`guarded`] catches: whoever called
/// it has another way or tells the fault in its own words.
pub fn keep_quiet() {
    let told = take_hook();
    set_hook(Box::new(move |panic| {
        if GUARDED.get() == 0 {
            told(panic);
        }
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_ends_as_an_error_and_the_thread_is_free_again() {
        assert_eq!(guarded(|| 1).ok(), Some(1));
        let inner = || guarded(|| assert_eq!(GUARDED.get(), 3, "told in a test only")).is_err();
        assert!(guarded(inner).is_ok_and(|failed| failed));
        assert_eq!(GUARDED.get(), 0);
    }

    #[test]
    fn nothing_is_printed_of_what_is_caught_and_everything_else_is() {
        thread_local!(static TOLD: Cell<u32> = const { Cell::new(0) });
        let before = take_hook();
        set_hook(Box::new(|_| TOLD.set(TOLD.get() + 1)));
        keep_quiet();
        let fails = || assert_eq!(1, 2, "asked for");
        assert!(guarded(fails).is_err());
        let silent = TOLD.get();
        assert!(catch_unwind(fails).is_err());
        let told = TOLD.get();
        set_hook(before);
        assert_eq!((silent, told), (0, 1));
    }
}
