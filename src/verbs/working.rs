//! A line that says that long work goes on: only on a terminal, only after two seconds, and gone before the answer.
//!
//! Knows nothing of the work itself, so that no result can depend on it.

use std::io::{IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::sync::{Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// Work shorter than this is not told.
const PATIENCE: Duration = Duration::from_secs(2);
/// How often the line changes.
const TICK: Duration = Duration::from_secs(1);
/// Takes the line away: to its begin, and empty to its end.
const AWAY: &str = "\r\u{1b}[K";

/// What ends the line: a word to the thread that writes it.
struct Line {
    stop: Sender<()>,
    writer: JoinHandle<()>,
}

/// The line that stands now, if any: there is one error stream, so one line.
static NOW: Mutex<Option<Line>> = Mutex::new(None);

/// Begins to wait, if people sit before the error stream.
pub(super) fn begin() {
    if !std::io::stderr().is_terminal() {
        return;
    }
    let (stop, stopped) = mpsc::channel();
    let spawned = thread::Builder::new().spawn(move || {
        let mut seconds = PATIENCE.as_secs();
        let mut wait = PATIENCE;
        while stopped.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
            write(&line(seconds));
            seconds += TICK.as_secs();
            wait = TICK;
        }
        if wait == TICK {
            write(AWAY);
        }
    });
    // A line that cannot be written is no reason not to work.
    if let Ok(writer) = spawned {
        *NOW.lock().unwrap_or_else(PoisonError::into_inner) = Some(Line { stop, writer });
    }
}

/// Takes the line away, so that what follows begins at the begin of a line.
pub(super) fn end() {
    let line = NOW.lock().unwrap_or_else(PoisonError::into_inner).take();
    if let Some(Line { stop, writer }) = line {
        let _ = stop.send(());
        let _ = writer.join();
    }
}

/// The words after so many seconds.
fn line(seconds: u64) -> String {
    format!("{AWAY}Working, {seconds} s …")
}

/// Writes at once; a closed error stream has nobody before it.
fn write(text: &str) {
    let mut errors = std::io::stderr().lock();
    let _ = errors
        .write_all(text.as_bytes())
        .and_then(|()| errors.flush());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_takes_its_own_place_and_ends_without_a_line_end() {
        assert_eq!(line(7), "\r\u{1b}[KWorking, 7 s …");
        assert!(
            line(7).starts_with(AWAY),
            "each line takes the one before away"
        );
    }

    /// Ending twice, or without a begin, is nothing; the thread is gone afterwards.
    #[test]
    fn ending_is_always_allowed() {
        end();
        begin();
        end();
        end();
        assert!(NOW.lock().unwrap_or_else(PoisonError::into_inner).is_none());
    }
}
