//! The program: takes the arguments, runs one verb, prints its text or its problems, sets the exit code.

use putby::verbs::{self, Exit};
use std::process::ExitCode;

fn main() -> ExitCode {
    let exit = verbs::guarded(|| verbs::run_from(std::env::args_os()));
    ExitCode::from(match exit {
        Exit::Done => 0,
        Exit::Found => 1,
        Exit::WrongCommandLine => 2,
        Exit::BadInput => 3,
        Exit::OurFault => 70,
    })
}
