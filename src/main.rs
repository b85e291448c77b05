//! Arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    reedbook::commands::run_from_arguments()
}
