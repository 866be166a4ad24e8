//! The program: hands the command line to the library.

#![forbid(unsafe_code)]

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(tinworm::cli::run(std::env::args_os()))
}
