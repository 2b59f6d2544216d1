//! A real program in a real pseudo-terminal: press keys, send signals, see the screen and every byte that was written.

use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};
use rustix::termios::Termios;

/// Long enough for any machine; nothing that succeeds waits for it.
pub const PATIENCE: Duration = Duration::from_secs(10);

/// What the program has written so far, raw and as a terminal shows it.
struct Output {
    bytes: Vec<u8>,
    parser: vt100::Parser,
    first_byte: Option<Instant>,
    last_byte: Option<Instant>,
    // Nobody will look at what comes; the reader lets go of the terminal at the next byte.
    unwanted: bool,
    ended: bool,
}

type Shared = Arc<(Mutex<Output>, Condvar)>;

/// A program in a pseudo-terminal. It is killed when this is dropped.
pub struct Pty {
    child: Box<dyn Child + Send + Sync>,
    master: Option<Box<dyn MasterPty + Send>>,
    // The terminal's own end, held open so that its state can be seen after the program has ended.
    terminal: OwnedFd,
    writer: Option<Box<dyn Write + Send>>,
    output: Shared,
    modes_before: Termios,
    started: Instant,
}

/// What of a terminal is not as it was before the program ran.
#[derive(Debug, Default, PartialEq, Eq)]
#[allow(clippy::struct_excessive_bools)] // each is one switch of the terminal
pub struct Left {
    /// Still in the alternate screen.
    pub alternate_screen: bool,
    /// The cursor is still hidden.
    pub hidden_cursor: bool,
    /// Pastes are still bracketed.
    pub bracketed_paste: bool,
    /// A synchronized update was begun and not ended.
    pub open_frame: bool,
    /// Raw mode, or any other change of the line discipline.
    pub modes: bool,
}

impl Left {
    /// Nothing is left behind.
    pub const NOTHING: Left =
        Left { alternate_screen: false, hidden_cursor: false, bracketed_paste: false, open_frame: false, modes: false };
}

impl Pty {
    /// Starts a program in a terminal of a size, as its only program.
    pub fn start(program: &Path, arguments: &[&str], variables: &[(&str, &str)], width: u16, height: u16) -> Pty {
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        Pty::start_command(command, variables, width, height)
    }

    /// Starts a program as a job of a shell, as at a prompt: it can be stopped and continued. When it stops or ends, the
    /// shell runs `when_stopped`.
    pub fn start_as_job(program: &Path, when_stopped: &str, width: u16, height: u16) -> Pty {
        Pty::start_in_shell(program, &format!("set -m; \"$0\"; {when_stopped}"), width, height)
    }

    /// Starts a shell with a script, in which `$0` is the program.
    pub fn start_in_shell(program: &Path, script: &str, width: u16, height: u16) -> Pty {
        let mut command = CommandBuilder::new("sh");
        command.args(["-c", script]);
        command.arg(program);
        Pty::start_command(command, &[], width, height)
    }

    fn start_command(mut command: CommandBuilder, variables: &[(&str, &str)], width: u16, height: u16) -> Pty {
        command.env_clear();
        for (name, value) in [
            ("PATH", "/usr/bin:/bin"),
            ("TERM", "xterm-256color"),
            ("LANG", "C.UTF-8"),
            ("BARRELWALK_LOOKS", "no looks"),
        ] {
            command.env(name, value);
        }
        for (name, value) in variables {
            command.env(name, value);
        }
        let pair = native_pty_system().openpty(size(width, height)).expect("a pseudo-terminal opens");
        let name = pair.master.tty_name().expect("a terminal has a name");
        let terminal = open_terminal(&name);
        let modes_before = rustix::termios::tcgetattr(&terminal).expect("a terminal has modes");
        let started = Instant::now();
        let child = pair.slave.spawn_command(command).expect("the program starts");
        let reader = pair.master.try_clone_reader().expect("a terminal can be read");
        let writer = pair.master.take_writer().expect("a terminal can be written to");
        let output = Output {
            bytes: Vec::new(),
            parser: vt100::Parser::new(height, width, 0),
            first_byte: None,
            last_byte: None,
            unwanted: false,
            ended: false,
        };
        let output: Shared = Arc::new((Mutex::new(output), Condvar::new()));
        read_all(reader, Arc::clone(&output));
        let (master, writer) = (Some(pair.master), Some(writer));
        Pty { child, master, terminal, writer, output, modes_before, started }
    }

    /// Types keys, as bytes of the terminal.
    pub fn keys(&mut self, keys: &str) {
        let writer = self.writer.as_mut().expect("the terminal has not hung up");
        writer.write_all(keys.as_bytes()).expect("a terminal takes keys");
        writer.flush().expect("a terminal takes keys");
    }

    /// The text on the screen, line by line.
    pub fn screen(&self) -> String {
        self.output().parser.screen().contents()
    }

    /// Every byte the program has written.
    pub fn raw_bytes(&self) -> Vec<u8> {
        self.output().bytes.clone()
    }

    /// What the terminal shows, cell by cell.
    pub fn cells<T>(&self, look: impl FnOnce(&vt100::Screen) -> T) -> T {
        look(self.output().parser.screen())
    }

    /// Waits until a text stands on the screen. Panics with the screen when it does not come.
    pub fn wait_for(&self, text: &str, patience: Duration) {
        let found = self.wait_until(patience, |output| output.parser.screen().contents().contains(text));
        assert!(found, "'{text}' does not come; the screen shows:\n{}", self.screen());
    }

    /// Waits until a text no longer stands on the screen. Panics with the screen when it stays.
    pub fn wait_until_gone(&self, text: &str, patience: Duration) {
        let gone = self.wait_until(patience, |output| !output.parser.screen().contents().contains(text));
        assert!(gone, "'{text}' does not go; the screen shows:\n{}", self.screen());
    }

    /// Waits until nothing has been written for a while, and says how many bytes there are by then.
    pub fn wait_for_quiet(&self, quiet: Duration) -> usize {
        loop {
            let written = self.output().bytes.len();
            if !self.wait_until(quiet, |output| output.bytes.len() != written) {
                return written;
            }
        }
    }

    /// From the start of the program to the first byte it wrote.
    pub fn time_to_first_byte(&self) -> Option<Duration> {
        self.output().first_byte.map(|at| at.duration_since(self.started))
    }

    /// From the start of the program to the last byte it wrote so far.
    pub fn time_to_last_byte(&self) -> Option<Duration> {
        self.output().last_byte.map(|at| at.duration_since(self.started))
    }

    /// Gives the terminal another size.
    pub fn resize(&self, width: u16, height: u16) {
        let master = self.master.as_ref().expect("the terminal has not hung up");
        master.resize(size(width, height)).expect("a terminal can be resized");
        // The parser cannot wrap a line in a terminal of one row.
        self.output().parser.screen_mut().set_size(height.max(2), width.max(2));
    }

    /// The process that was started.
    pub fn process(&self) -> u32 {
        self.child.process_id().expect("the program has a number")
    }

    /// Sends a signal to the process that was started.
    pub fn signal(&self, signal: Signal) {
        send(self.process(), signal);
    }

    /// Takes the terminal away, as when its window is closed. The program must answer one last key by drawing, for the
    /// reader to wake up and let go.
    pub fn hang_up(&mut self) {
        self.output().unwanted = true;
        self.keys("x");
        self.wait_until(PATIENCE, |output| output.ended);
        self.writer = None;
        self.master = None;
    }

    /// Waits for the program to end. Panics when it does not.
    pub fn wait_for_end(&mut self) -> ExitStatus {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().expect("a child can be waited for") {
                return status;
            }
            assert!(Instant::now() < until, "the program does not end; the screen shows:\n{}", self.screen());
            thread::sleep(Duration::from_millis(2));
        }
    }

    /// What the program, now or at its end, has left switched on.
    pub fn left(&self) -> Left {
        // The last bytes of a program may still be on their way when it has ended.
        self.wait_for_quiet(Duration::from_millis(50));
        let modes_now = rustix::termios::tcgetattr(&self.terminal).expect("a terminal has modes");
        let output = self.output();
        let screen = output.parser.screen();
        let count = |mark: &[u8]| output.bytes.windows(mark.len()).filter(|bytes| *bytes == mark).count();
        Left {
            alternate_screen: screen.alternate_screen(),
            hidden_cursor: screen.hide_cursor(),
            bracketed_paste: screen.bracketed_paste(),
            open_frame: count(b"\x1b[?2026h") > count(b"\x1b[?2026l"),
            modes: !same_modes(&self.modes_before, &modes_now),
        }
    }

    fn output(&self) -> MutexGuard<'_, Output> {
        self.output.0.lock().expect("the reader does not panic")
    }

    fn wait_until(&self, patience: Duration, mut done: impl FnMut(&Output) -> bool) -> bool {
        let waiting =
            self.output.1.wait_timeout_while(self.output(), patience, |output| !done(output) && !output.ended);
        let (output, _) = waiting.expect("the reader does not panic");
        done(&output)
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Sends a signal to a process.
pub fn send(process: u32, signal: Signal) {
    let process = i32::try_from(process).ok().and_then(Pid::from_raw).expect("a process has a number");
    kill_process(process, signal).expect("the process is there");
}

/// Processor time that a process has used, all its threads together. Linux only: elsewhere nothing.
pub fn processor_time(process: u32) -> Option<Duration> {
    let line = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The name of the program, in brackets, may hold spaces; the fields after it are counted from the third.
    let fields: Vec<&str> = line.rsplit_once(')')?.1.split_whitespace().collect();
    let ticks: u64 = fields.get(11)?.parse::<u64>().ok()? + fields.get(12)?.parse::<u64>().ok()?;
    Some(Duration::from_millis(ticks * 1_000 / rustix::param::clock_ticks_per_second()))
}

/// Whether a process is stopped, as by Ctrl-Z. Linux only.
pub fn is_stopped(process: u32) -> bool {
    let line = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    line.rsplit_once(')').is_some_and(|(_, rest)| rest.trim_start().starts_with('T'))
}

/// An example program of this package, built beside this test.
pub fn example(name: &str) -> PathBuf {
    let test = std::env::current_exe().expect("this program has a path");
    let profile = test.parent().and_then(Path::parent).expect("tests lie in target/PROFILE/deps");
    let program = profile.join("examples").join(name);
    assert!(program.exists(), "{name} is not built: run all tests, or `cargo build --examples` before one of them");
    program
}

fn size(width: u16, height: u16) -> PtySize {
    PtySize { rows: height, cols: width, pixel_width: 0, pixel_height: 0 }
}

fn open_terminal(name: &Path) -> OwnedFd {
    use std::os::unix::fs::OpenOptionsExt;
    let not_ours = i32::try_from(rustix::fs::OFlags::NOCTTY.bits()).expect("a flag is small");
    let file = std::fs::OpenOptions::new().read(true).write(true).custom_flags(not_ours).open(name);
    file.expect("a terminal opens").into()
}

fn same_modes(one: &Termios, other: &Termios) -> bool {
    let modes = |all: &Termios| (all.input_modes, all.output_modes, all.control_modes, all.local_modes);
    modes(one) == modes(other)
}

fn read_all(mut reader: Box<dyn Read + Send>, output: Shared) {
    thread::spawn(move || {
        let mut piece = vec![0; 65_536];
        loop {
            let read = reader.read(&mut piece).unwrap_or(0);
            let mut shared = output.0.lock().expect("no test panics while it looks");
            let now = Instant::now();
            let over = read == 0 || shared.unwanted;
            if over {
                shared.ended = true;
            } else {
                shared.first_byte.get_or_insert(now);
                shared.last_byte = Some(now);
                shared.bytes.extend_from_slice(&piece[..read]);
                shared.parser.process(&piece[..read]);
            }
            output.1.notify_all();
            if over {
                return;
            }
        }
    });
}
