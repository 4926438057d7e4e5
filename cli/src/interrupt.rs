//! Ctrl-C as a wish, not an end: long work is asked to stop and gives the best it has.

use std::io::IsTerminal;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

/// Set when the builder wants the work to end. A second Ctrl-C ends the program.
fn flag() -> &'static AtomicBool {
    static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();
    FLAG.get_or_init(|| {
        let flag = Arc::new(AtomicBool::new(false));
        let handler = Arc::clone(&flag);
        // Without a handler Ctrl-C ends the program as everywhere; nothing is lost but the wish.
        let _ = ctrlc::set_handler(move || {
            if handler.swap(true, Ordering::Relaxed) {
                end();
            }
        });
        flag
    })
}

/// Whether the builder wants the work to end.
pub(crate) fn asked() -> bool {
    flag().load(Ordering::Relaxed)
}

/// The same for work that goes on step by step.
pub(crate) fn until_asked() -> ControlFlow<()> {
    match asked() {
        true => ControlFlow::Break(()),
        false => ControlFlow::Continue(()),
    }
}

/// Ends the program here and now, with what a shell says of one that Ctrl-C has ended. Files are written whole
/// or not at all, so that none is left half.
#[expect(
    clippy::exit,
    reason = "asked for twice, and no other thread would hear of it"
)]
fn end() -> ! {
    std::process::exit(130)
}

/// Whether progress has somebody to read it.
pub(crate) fn someone_watches() -> bool {
    std::io::stderr().is_terminal()
}
