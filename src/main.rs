//! The program: everything it does is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    barrelwalk::cli::run(std::env::args_os())
}
