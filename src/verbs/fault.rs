//! Faults of the program itself: a panic becomes one sentence and its own exit code.

use super::{Exit, deliver};
use crate::output::text::visible;
use std::any::Any;
use std::panic::{self, AssertUnwindSafe};
use std::sync::{Arc, Mutex, PoisonError};

/// Runs the program and answers for its faults: whatever panics inside ends as [`Exit::OurFault`].
///
/// The usual message of a panic is not printed; one sentence takes its place.
pub fn guarded(program: impl FnOnce() -> Exit) -> Exit {
    let place: Arc<Mutex<Option<String>>> = Arc::default();
    let noted = Arc::clone(&place);
    // The hook runs where the fault is, perhaps on another thread; the first fault is the one to report.
    panic::set_hook(Box::new(move |info| {
        let at = info.location().map(ToString::to_string);
        let mut noted = noted.lock().unwrap_or_else(PoisonError::into_inner);
        if noted.is_none() {
            *noted = at;
        }
    }));
    // Nothing of what the program had in hand is used after a fault.
    let ended = panic::catch_unwind(AssertUnwindSafe(program));
    let _ = panic::take_hook();
    match ended {
        Ok(exit) => exit,
        Err(payload) => {
            let place = place.lock().unwrap_or_else(PoisonError::into_inner);
            deliver::complain(&sentence(&*payload, place.as_deref()), Exit::OurFault)
        }
    }
}

/// Says in one sentence that the program failed, what it said and where.
fn sentence(payload: &(dyn Any + Send), place: Option<&str>) -> String {
    let said = payload
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| payload.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no word why");
    format!(
        "This is a fault of putby, not of your files: please report it, with the command you gave and these words: \
         {} ({}, putby {}).",
        visible(said),
        place.unwrap_or("place unknown"),
        env!("CARGO_PKG_VERSION")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_our_fault_and_one_sentence() {
        assert_eq!(guarded(|| Exit::Found), Exit::Found);
        assert_eq!(guarded(|| panic!("made up for a test")), Exit::OurFault);
        let payload: Box<dyn Any + Send> = Box::new("books are\noff".to_owned());
        let words = sentence(&*payload, Some("src/kitchen/books.rs:7:9"));
        assert!(words.contains("books are") && words.contains("src/kitchen/books.rs:7:9"));
        assert_eq!(words.lines().count(), 1, "{words}");
        let unknown: Box<dyn Any + Send> = Box::new(7);
        assert!(sentence(&*unknown, None).contains("no word why"));
    }
}
