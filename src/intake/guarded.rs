//! Runs a foreign reader so that a panic in it costs one file, not the program.
//!
//! Decoders of binary formats are not hardened against every damaged file. What they
//! print while panicking would tell a reader nothing: it is kept from the terminal.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// Whether this thread is inside [`guarded`], so that a panic will be told by its caller.
pub(crate) fn is_guarded() -> bool {
    GUARDED.get()
}

/// What `read` gives; `None` when it panics.
pub(crate) fn guarded<T>(read: impl FnOnce() -> T) -> Option<T> {
    let outer = GUARDED.replace(true);
    let result = catch_unwind(AssertUnwindSafe(read)).ok();
    GUARDED.set(outer);
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_none_and_the_mark_is_taken_away() {
        assert_eq!(guarded(|| 7), Some(7));
        let nested = guarded(|| {
            assert!(is_guarded());
            let inner: Option<u8> = guarded(|| Vec::new()[1]);
            assert!(is_guarded());
            inner
        });
        assert_eq!(nested, Some(None));
        assert!(!is_guarded());
    }
}
