//! Reads the command line and calls a face.

use std::process::ExitCode;

fn main() -> ExitCode {
    heelpoint::command::run().into()
}
