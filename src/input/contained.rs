//! Work of a library that may panic over damaged bytes, with the panic as one more answer.
//!
//! Knows nothing of the work. An abort, such as the one when memory runs out, cannot be answered; whoever hands work in bounds
//! beforehand what it may take.

use std::cell::Cell;
use std::panic::{self, AssertUnwindSafe};
use std::sync::Once;

thread_local! {
    /// Whether a panic on this thread is answered below and none of the reader's business.
    static ANSWERED: Cell<bool> = const { Cell::new(false) };
}

/// Puts a hook before the one that is in force: silent for panics that are answered here, passing on all others.
static HOOK: Once = Once::new();

/// Does the work; none if it panicked, of which nothing is printed.
pub(super) fn contained<T>(work: impl FnOnce() -> T) -> Option<T> {
    HOOK.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |fault| {
            if !ANSWERED.get() {
                usual(fault);
            }
        }));
    });
    let outer = ANSWERED.replace(true);
    // Nothing of what the work had in hand is used after a panic.
    let done = panic::catch_unwind(AssertUnwindSafe(work));
    ANSWERED.set(outer);
    done.ok()
}

#[cfg(test)]
mod tests {
    use super::contained;

    #[test]
    fn a_panic_is_an_answer_and_the_next_work_is_done() {
        assert_eq!(contained(|| 7), Some(7));
        let none: [u8; 0] = [];
        assert_eq!(contained(|| none[std::hint::black_box(3)]), None);
        assert_eq!(
            contained(|| contained(|| panic!("made up for a test"))),
            Some(None::<()>)
        );
        assert_eq!(contained(|| 8), Some(8));
        let outside = std::panic::catch_unwind(|| panic!("made up for a test"));
        assert!(outside.is_err(), "what is not handed in is not contained");
    }
}
