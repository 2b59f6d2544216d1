//! Between ratatui and the guard: gathers a frame's bytes, leaves out what changes nothing, never asks the terminal.

use std::borrow::Cow;
use std::io;

use crossterm::QueueableCommand;
use crossterm::cursor::{Hide, MoveTo, Show};
use ratatui::Frame;
use ratatui::Terminal;
use ratatui::backend::{Backend, ClearType, CrosstermBackend, WindowSize};
use ratatui::buffer::Cell;
use ratatui::layout::{Position, Size};
use unicode_width::UnicodeWidthStr;

use crate::cellar::core::label::is_unsafe;
use crate::tui::edge::terminal::TerminalGuard;

/// Draws frames onto the guarded terminal.
pub struct Painter {
    terminal: Terminal<Canvas>,
}

impl Painter {
    /// A painter for the terminal at standard output, which need not be taken yet.
    pub fn new() -> io::Result<Painter> {
        Ok(Painter { terminal: Terminal::new(Canvas::default())? })
    }

    /// The size of the terminal now.
    pub fn size(&self) -> io::Result<Size> {
        self.terminal.size()
    }

    /// Draws a frame and writes what differs from the last one in one piece; nothing at all if nothing differs.
    pub fn paint(&mut self, guard: &TerminalGuard, draw: impl FnOnce(&mut Frame<'_>)) -> io::Result<()> {
        self.terminal.draw(draw)?;
        let bytes = self.terminal.backend_mut().take();
        if bytes.is_empty() { Ok(()) } else { guard.write_frame(&bytes) }
    }

    /// Forgets what the terminal shows, after others have written to it: the next frame is drawn in full.
    pub fn forget(&mut self) -> io::Result<()> {
        *self.terminal.backend_mut() = Canvas::default();
        // Asks the canvas, not the terminal, for the cursor.
        self.terminal.clear()
    }
}

/// A backend that gathers bytes. It starts as the guard leaves the terminal: cursor hidden.
#[derive(Debug, Default)]
pub struct Canvas {
    bytes: Vec<u8>,
    cursor_shown: bool,
    // None once something was drawn: the cursor then stands where the drawing ended.
    cursor: Option<Position>,
}

impl Canvas {
    /// Takes the bytes gathered since the last time.
    pub fn take(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.bytes)
    }
}

impl Backend for Canvas {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        // Texts are made harmless where they are laid out; what was forgotten there is still not let out here.
        let spared: Vec<(u16, u16, Cow<'_, Cell>)> = content.map(|(x, y, cell)| (x, y, harmless(cell))).collect();
        let mut content = spared.iter().map(|(x, y, cell)| (*x, *y, cell.as_ref())).peekable();
        if content.peek().is_none() {
            return Ok(());
        }
        self.cursor = None;
        CrosstermBackend::new(&mut self.bytes).draw(content)
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        if std::mem::replace(&mut self.cursor_shown, false) {
            self.bytes.queue(Hide)?;
        }
        Ok(())
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        if !std::mem::replace(&mut self.cursor_shown, true) {
            self.bytes.queue(Show)?;
        }
        Ok(())
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Ok(self.cursor.unwrap_or_default())
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        let position = position.into();
        if self.cursor.replace(position) != Some(position) {
            self.bytes.queue(MoveTo(position.x, position.y))?;
        }
        Ok(())
    }

    fn clear(&mut self) -> io::Result<()> {
        self.clear_region(ClearType::All)
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        CrosstermBackend::new(&mut self.bytes).clear_region(clear_type)
    }

    fn size(&self) -> io::Result<Size> {
        let size = rustix::termios::tcgetwinsize(rustix::stdio::stdout())?;
        Ok(usable(size.ws_col, size.ws_row))
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        Ok(WindowSize { columns_rows: self.size()?, pixels: Size::ZERO })
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A cell as it may be drawn: a point in as many columns for what is unsafe.
fn harmless(cell: &Cell) -> Cow<'_, Cell> {
    let symbol = cell.symbol();
    if symbol.is_ascii() && !symbol.bytes().any(|byte| byte.is_ascii_control()) || !symbol.chars().any(is_unsafe) {
        return Cow::Borrowed(cell);
    }
    let mut point = cell.clone();
    point.set_symbol(&format!("{:<1$}", '·', symbol.width().max(1)));
    Cow::Owned(point)
}

/// A terminal that does not know its size, as on a serial line, says nothing by nothing.
fn usable(width: u16, height: u16) -> Size {
    if width == 0 || height == 0 { Size::new(80, 24) } else { Size::new(width, height) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_changes_nothing_writes_nothing() {
        let mut canvas = Canvas::default();
        canvas.hide_cursor().unwrap();
        canvas.draw(std::iter::empty()).unwrap();
        canvas.flush().unwrap();
        assert_eq!(canvas.take(), b"");

        canvas.show_cursor().unwrap();
        canvas.set_cursor_position((3, 1)).unwrap();
        assert_eq!(canvas.take(), b"\x1b[?25h\x1b[2;4H");
        canvas.show_cursor().unwrap();
        canvas.set_cursor_position((3, 1)).unwrap();
        assert_eq!(canvas.take(), b"");
    }

    #[test]
    fn the_cursor_is_put_back_after_drawing() {
        let mut canvas = Canvas::default();
        canvas.set_cursor_position((3, 1)).unwrap();
        canvas.draw([(0, 0, &Cell::new("x"))].into_iter()).unwrap();
        canvas.take();
        canvas.set_cursor_position((3, 1)).unwrap();
        assert_eq!(canvas.take(), b"\x1b[2;4H");
    }

    #[test]
    fn what_no_layout_made_harmless_is_not_drawn() {
        let mut canvas = Canvas::default();
        let cells = [Cell::new("\u{1b}]52;c;AA\u{7}"), Cell::new("a\u{202e}"), Cell::new("\u{2764}\u{fe0f}")];
        canvas.draw(cells.iter().zip(0..).map(|(cell, x)| (x, 0, cell))).unwrap();
        let drawn = String::from_utf8(canvas.take()).unwrap();
        assert!(!drawn.contains("]52") && !drawn.contains(['\u{7}', '\u{202e}', '\u{fe0f}']), "{drawn:?}");
    }

    #[test]
    fn a_terminal_without_a_size_is_taken_as_the_usual_one() {
        assert_eq!(usable(0, 0), Size::new(80, 24));
        assert_eq!(usable(1, 1), Size::new(1, 1));
    }
}
