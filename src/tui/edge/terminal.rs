//! The terminal guard: remembers what it switched on, and undoes exactly that.

use std::fs::File;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::os::fd::AsFd;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;
use std::time::Duration;

use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::style::{Attribute, SetAttribute, force_color_output};
use crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use crossterm::{QueueableCommand, queue};

// What is switched on, a bit each. A bit is set before its switch is thrown: a failure halfway is undone as well.
const RAW_MODE: u8 = 1;
const ALTERNATE_SCREEN: u8 = 1 << 1;
const HIDDEN_CURSOR: u8 = 1 << 2;
const BRACKETED_PASTE: u8 = 1 << 3;
const OPEN_FRAME: u8 = 1 << 4;

/// The terminal for as long as the full screen has it. Dropping it gives the terminal back.
#[derive(Debug)]
pub struct TerminalGuard {
    restorer: Restorer,
}

/// Can give the terminal back from anywhere: a panic hook, a signal thread. Takes no lock, so that nothing that is stuck
/// can hold it up.
#[derive(Debug, Clone)]
pub struct Restorer {
    switched_on: Arc<AtomicU8>,
    // Not `Stdout`, whose lock a thread might hold and whose small buffer would cut a frame in pieces.
    output: Arc<File>,
}

impl TerminalGuard {
    /// Prepares to take the terminal at standard output; nothing is switched on yet.
    pub fn new() -> io::Result<TerminalGuard> {
        let stdout = io::stdout();
        if !stdout.is_terminal() {
            return Err(io::Error::new(
                ErrorKind::Unsupported,
                "The full screen needs a terminal, and standard output is none. Run it without a pipe or redirection.",
            ));
        }
        let output = File::from(stdout.as_fd().try_clone_to_owned()?);
        let switched_on = Arc::new(AtomicU8::new(0));
        Ok(TerminalGuard { restorer: Restorer { switched_on, output: Arc::new(output) } })
    }

    /// Takes the terminal: raw mode, alternate screen, no cursor, bracketed paste. Asks the terminal nothing, as one that
    /// does not answer would hold up the first frame.
    pub fn start(&self) -> io::Result<()> {
        // The theme alone decides about colours. Left to itself, crossterm would answer NO_COLOR by writing sequences
        // that also wipe out bold and reversed, and the selection with them.
        force_color_output(true);
        self.restorer.mark(RAW_MODE);
        enable_raw_mode()?;
        self.restorer.mark(ALTERNATE_SCREEN | HIDDEN_CURSOR | BRACKETED_PASTE);
        let mut bytes = Vec::new();
        // The clearing is for terminals without an alternate screen.
        queue!(bytes, EnterAlternateScreen, Clear(ClearType::All), Hide, EnableBracketedPaste)?;
        self.restorer.write(&bytes)
    }

    /// Gives the terminal back. Whatever is not switched on is left alone, so a second call does nothing.
    pub fn stop(&self) {
        self.restorer.stop();
    }

    /// Whether the terminal is taken.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.restorer.switched_on.load(Ordering::SeqCst) != 0
    }

    /// A handle that can give the terminal back from elsewhere.
    #[must_use]
    pub fn restorer(&self) -> Restorer {
        self.restorer.clone()
    }

    /// From now on a panic, in any thread, first gives the terminal back, then says its message where it can be read,
    /// then does what else is to be done.
    pub fn restore_on_panic(&self, and_then: impl Fn() + Send + Sync + 'static) {
        let restorer = self.restorer();
        let tell = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            restorer.stop();
            tell(panic);
            and_then();
        }));
    }

    /// Writes one frame in one piece, between the marks that keep a terminal from showing half of it.
    pub fn write_frame(&self, frame: &[u8]) -> io::Result<()> {
        let mut bytes = Vec::with_capacity(frame.len() + 16);
        bytes.queue(BeginSynchronizedUpdate)?;
        bytes.extend_from_slice(frame);
        bytes.queue(EndSynchronizedUpdate)?;
        self.restorer.mark(OPEN_FRAME);
        self.restorer.write(&bytes)?;
        self.restorer.switched_on.fetch_and(!OPEN_FRAME, Ordering::SeqCst);
        Ok(())
    }
}

impl Drop for TerminalGuard {
    fn drop(&mut self) {
        self.stop();
    }
}

impl Restorer {
    /// Gives the terminal back. Errors are passed over: on a terminal that is gone there is nothing to restore.
    pub fn stop(&self) {
        let switched_on = self.switched_on.swap(0, Ordering::SeqCst);
        let mut bytes = Vec::new();
        let _ = undo(switched_on, &mut bytes).and_then(|()| self.write(&bytes));
        if switched_on & RAW_MODE != 0 {
            let _ = disable_raw_mode();
        }
    }

    fn mark(&self, bits: u8) {
        self.switched_on.fetch_or(bits, Ordering::SeqCst);
    }

    fn write(&self, bytes: &[u8]) -> io::Result<()> {
        let mut rest = bytes;
        while !rest.is_empty() {
            match (&*self.output).write(rest) {
                Ok(0) => return Err(ErrorKind::WriteZero.into()),
                Ok(written) => rest = &rest[written..],
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                // Another program may have left the shared terminal in non-blocking mode.
                Err(error) if error.kind() == ErrorKind::WouldBlock => thread::sleep(Duration::from_millis(1)),
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}

/// The bytes that undo what is switched on, in the reverse order of switching on.
fn undo(switched_on: u8, bytes: &mut Vec<u8>) -> io::Result<()> {
    if switched_on & OPEN_FRAME != 0 {
        bytes.queue(EndSynchronizedUpdate)?.queue(SetAttribute(Attribute::Reset))?;
    }
    if switched_on & BRACKETED_PASTE != 0 {
        bytes.queue(DisableBracketedPaste)?;
    }
    if switched_on & HIDDEN_CURSOR != 0 {
        bytes.queue(Show)?;
    }
    if switched_on & ALTERNATE_SCREEN != 0 {
        bytes.queue(LeaveAlternateScreen)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn undone(switched_on: u8) -> String {
        let mut bytes = Vec::new();
        undo(switched_on, &mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn exactly_what_was_switched_on_is_undone() {
        assert_eq!(undone(0), "");
        assert_eq!(undone(RAW_MODE), "");
        assert_eq!(undone(BRACKETED_PASTE), "\u{1b}[?2004l");
        assert_eq!(
            undone(RAW_MODE | ALTERNATE_SCREEN | HIDDEN_CURSOR | BRACKETED_PASTE),
            "\u{1b}[?2004l\u{1b}[?25h\u{1b}[?1049l"
        );
        assert!(undone(OPEN_FRAME).starts_with("\u{1b}[?2026l"));
    }
}
