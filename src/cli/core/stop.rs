//! When a search that could go on for long is to end.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use signal_hook::consts::SIGINT;

/// When the search is to end: after a time, or when the person presses Ctrl-C and wants what there is.
pub struct Stop {
    begun: Instant,
    within: Duration,
    pressed: Arc<AtomicBool>,
    listening: Option<signal_hook::SigId>,
}

impl Stop {
    /// Due after so long.
    pub fn within(within: Duration) -> Stop {
        let pressed = Arc::new(AtomicBool::new(false));
        // Where it cannot be arranged, Ctrl-C ends the program as it always does.
        let listening = signal_hook::flag::register(SIGINT, Arc::clone(&pressed)).ok();
        Stop { begun: Instant::now(), within, pressed, listening }
    }

    /// Whether it is to end now.
    pub fn is_due(&self) -> bool {
        self.pressed.load(Ordering::Relaxed) || self.begun.elapsed() >= self.within
    }
}

impl Drop for Stop {
    fn drop(&mut self) {
        self.listening.map(signal_hook::low_level::unregister);
    }
}
