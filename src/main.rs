//! The program: hands the words of the command line to [`nockwright::command_line`] and ends with its exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    nockwright::command_line::run()
}
