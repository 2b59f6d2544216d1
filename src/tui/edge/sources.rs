//! The threads that listen to the outside, and send all they hear to the one channel of the driver.

use std::io;
use std::os::fd::AsFd;
use std::sync::mpsc::Sender;
use std::thread;

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use rustix::event::{PollFd, PollFlags};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;

use crate::tui::edge::driver::Incoming;
use crate::tui::edge::terminal::Restorer;

/// Says that the terminal is gone when the thread that reads it ends, for whatever reason.
struct Farewell<Answer>(Sender<Incoming<Answer>>);

impl<Answer> Drop for Farewell<Answer> {
    fn drop(&mut self) {
        let _ = self.0.send(Incoming::HungUp);
    }
}

/// Reads keys, pastes and changes of size.
pub fn listen_to_keys<Answer: Send + 'static>(sender: Sender<Incoming<Answer>>) -> io::Result<()> {
    start("keys", move || {
        let farewell = Farewell(sender);
        while let Ok(event) = crossterm::event::read() {
            if let Some(incoming) = heard(event)
                && farewell.0.send(incoming).is_err()
            {
                return;
            }
        }
    })
}

/// Waits for the terminal to go away. The reader of keys cannot tell: at the end of its input it would only spin.
pub fn listen_to_hang_up<Answer: Send + 'static>(sender: Sender<Incoming<Answer>>) -> io::Result<()> {
    start("hang-up", move || {
        let stdout = io::stdout();
        loop {
            // Asks for no readiness: a hang-up and an error are told unasked.
            let mut terminal = [PollFd::from_borrowed_fd(stdout.as_fd(), PollFlags::empty())];
            match rustix::event::poll(&mut terminal, None) {
                Err(rustix::io::Errno::INTR) => {}
                Err(_) => return,
                Ok(_) => break,
            }
        }
        drop(Farewell(sender));
    })
}

/// Waits for signals. The first that asks for an end goes to the driver; a second one does not wait for it.
pub fn listen_to_signals<Answer: Send + 'static>(
    sender: Sender<Incoming<Answer>>,
    restorer: Restorer,
) -> io::Result<()> {
    let mut signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGCONT])?;
    start("signals", move || {
        let mut asked = false;
        for signal in signals.forever() {
            match signal {
                SIGTSTP => drop(sender.send(Incoming::Suspend)),
                SIGCONT => drop(sender.send(Incoming::Continued)),
                // A terminal that closes tells so more than once: the first telling is on its way, or the driver has ended by it already.
                SIGHUP => {
                    asked |= sender.send(Incoming::Terminate(signal)).is_ok();
                }
                _ if asked || sender.send(Incoming::Terminate(signal)).is_err() => {
                    restorer.stop();
                    let _ = signal_hook::low_level::emulate_default_handler(signal);
                }
                _ => asked = true,
            }
        }
    })
}

/// Whether a shell could continue this program's job. One that was started as a terminal's only program, or by a script
/// that is, would sleep for ever.
pub fn can_be_continued() -> bool {
    rustix::process::getsid(None).is_ok_and(|session| session != rustix::process::getpgrp())
}

/// Stops this program and whatever runs with it in its job, as Ctrl-Z does.
pub fn stop_job() {
    let _ = rustix::process::kill_current_process_group(rustix::process::Signal::STOP);
}

/// What the driver makes of a terminal event; nothing for key releases, mouse and focus.
fn heard<Answer>(event: Event) -> Option<Incoming<Answer>> {
    match event {
        Event::Key(key) if key.kind == KeyEventKind::Release => None,
        Event::Key(KeyEvent { code: KeyCode::Char('z'), modifiers: KeyModifiers::CONTROL, .. }) => {
            Some(Incoming::Suspend)
        }
        Event::Key(key) => Some(Incoming::Key(key)),
        Event::Paste(text) => Some(Incoming::Paste(text)),
        Event::Resize(..) => Some(Incoming::Resized),
        Event::FocusGained | Event::FocusLost | Event::Mouse(_) => None,
    }
}

fn start(name: &str, listen: impl FnOnce() + Send + 'static) -> io::Result<()> {
    thread::Builder::new().name(name.to_owned()).spawn(listen).map(drop)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn releases_are_dropped_and_repeats_are_keys() {
        let key = |kind| KeyEvent::new_with_kind(KeyCode::Char(' '), KeyModifiers::NONE, kind);
        assert!(heard::<()>(Event::Key(key(KeyEventKind::Release))).is_none());
        for kind in [KeyEventKind::Press, KeyEventKind::Repeat] {
            assert!(matches!(heard::<()>(Event::Key(key(kind))), Some(Incoming::Key(heard)) if heard == key(kind)));
        }
    }

    #[test]
    fn control_z_suspends_and_a_plain_z_is_a_key() {
        let z = |modifiers| Event::Key(KeyEvent::new(KeyCode::Char('z'), modifiers));
        assert!(matches!(heard::<()>(z(KeyModifiers::CONTROL)), Some(Incoming::Suspend)));
        assert!(matches!(heard::<()>(z(KeyModifiers::NONE)), Some(Incoming::Key(_))));
    }
}
