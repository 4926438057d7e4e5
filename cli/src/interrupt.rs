//! Ctrl-C as a wish, not an end: long work is asked to stop and gives the best it has.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

/// Set when the builder wants the work to end. A second Ctrl-C ends the program.
pub(crate) fn flag() -> Arc<AtomicBool> {
    static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();
    let flag = FLAG.get_or_init(|| {
        let flag = Arc::new(AtomicBool::new(false));
        let handler = Arc::clone(&flag);
        // Without a handler Ctrl-C ends the program as everywhere; nothing is lost but the wish.
        let _ = ctrlc::set_handler(move || {
            if handler.swap(true, Ordering::Relaxed) {
                // As a shell says of a program that Ctrl-C has ended.
                std::process::exit(130);
            }
        });
        flag
    });
    Arc::clone(flag)
}

/// Whether progress has somebody to read it.
pub(crate) fn someone_watches() -> bool {
    std::io::stderr().is_terminal()
}
