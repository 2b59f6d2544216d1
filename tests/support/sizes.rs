//! Draws at every size a terminal may have.

use ratatui::backend::TestBackend;
use ratatui::{Frame, Terminal};

/// Draws frames of all sizes up to 200 by 60: every one up to 30 by 15, where layouts break, and in steps beyond. Says
/// which size it was when the drawing panics.
pub fn every_size(mut draw: impl FnMut(&mut Frame<'_>)) {
    for height in (0..15).chain((15..=60).step_by(5)).chain([24]) {
        for width in (0..30).chain((30..=200).step_by(10)).chain([79, 81]) {
            let drawing = std::panic::AssertUnwindSafe(|| draw_at(width, height, &mut draw));
            if let Err(panic) = std::panic::catch_unwind(drawing) {
                eprintln!("drawing panics at {width} by {height}");
                std::panic::resume_unwind(panic);
            }
        }
    }
}

/// Draws one frame of a size and gives back its lines of text, without the spaces at their ends.
pub fn draw_at(width: u16, height: u16, draw: impl FnOnce(&mut Frame<'_>)) -> Vec<String> {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("a test terminal never fails");
    terminal.draw(draw).expect("a test terminal never fails");
    let buffer = terminal.backend().buffer();
    let line = |row: u16| (0..width).map(|column| buffer[(column, row)].symbol()).collect::<String>();
    (0..height).map(|row| line(row).trim_end().to_owned()).collect()
}
