//! The search for the barrels of a plan, in a thread of its own that can be stopped.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use crate::cellar::views::wood::fill::{FillPlan, PreparedFill};
use crate::reckon::fill::{Answer as Choice, choose};
use crate::tui::core::work::Answer;
use crate::tui::edge::screen::Mailbox;

/// After so long the best so far must do: what is not proved then is rarely proved later, and a laptop in the aisle runs on
/// its battery (our choice).
const LONGEST: Duration = Duration::from_secs(60);

/// The search that runs, if one does; it stops when this is dropped.
#[derive(Debug, Default)]
pub struct Searching {
    stop: Arc<AtomicBool>,
}

impl Searching {
    /// Stops the search that runs: it tells the best it has.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Searches in place of what runs. What is found is posted under the number, better and better; the last is told as such.
    pub fn begin(&mut self, number: u32, prepared: Arc<PreparedFill>, mailbox: Mailbox<Answer>) -> Vec<Answer> {
        self.stop();
        let stop = Arc::new(AtomicBool::new(false));
        self.stop = Arc::clone(&stop);
        let search = move || {
            let begun = Instant::now();
            let is_due = || stop.load(Ordering::Relaxed) || begun.elapsed() >= LONGEST;
            let mut better = |choice: &Choice| {
                let plan = FillPlan::so_far(&prepared, choice.clone());
                if !mailbox.post(Answer::FillBest { number, plan }) {
                    stop.store(true, Ordering::Relaxed);
                }
            };
            let found = choose(&prepared.question, &is_due, &mut better);
            let told = found.map(|answer| FillPlan::of(&prepared, answer)).map_err(|error| error.to_string());
            // Whoever asked may have left.
            let _ = mailbox.post(Answer::Filled { number, told });
        };
        match thread::Builder::new().name("fill".to_owned()).spawn(search) {
            Ok(_) => Vec::new(),
            Err(error) => {
                let told = Err(format!("Nothing can be searched beside the screen now: {error}."));
                vec![Answer::Filled { number, told }]
            }
        }
    }
}

impl Drop for Searching {
    fn drop(&mut self) {
        self.stop();
    }
}
