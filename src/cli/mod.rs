//! The commands: parse, call the library, write, and answer with an exit status.
//!
//! This is the only place that reads the machine's clock and the terminal.

mod args;
mod baseline;
mod compare;
mod console;
mod demo;
mod generated;
mod intake;
mod intake_run;
mod outputs;
mod progress;
mod review;
mod status;
mod trial;

pub use args::Cli;
pub use status::Status;

use crate::time::Instant;
use args::{Command, Common};
use console::Console;
use thiserror::Error;

/// Why a command could not be done; the text is for the person at the terminal.
#[derive(Debug, Error)]
pub(crate) enum CommandError {
    /// The lab folder could not be opened.
    #[error(transparent)]
    Lab(#[from] crate::lab::LabError),
    /// Files could not be written.
    #[error(transparent)]
    Output(#[from] crate::output::OutputError),
    /// Standard output failed.
    #[error("cannot write to standard output: {0}")]
    Stdout(#[from] std::io::Error),
    /// Something the command's own file explains.
    #[error("{0}")]
    Other(String),
}

/// Runs one command and tells how it ended; errors are told on standard error.
pub fn run(cli: Cli) -> Status {
    keep_guarded_panics_quiet();
    let outcome = match cli.command {
        Command::Review(args) => review::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Intake(args) => intake_run::run(&args),
        Command::Baseline(args) => baseline::run(&args),
        Command::Demo(args) => demo::run(&args),
        Command::Trial(args) => trial::run(&args),
        Command::Completions { shell } => generated::completions(shell),
        Command::Manpage => generated::manpage(),
    };
    outcome.unwrap_or_else(|error| {
        Console::errors_only().complain(&format!("steadyfog: {error}"));
        Status::Failed
    })
}

/// A panic inside a guarded reader is told as a damaged file; its own text would tell nothing.
fn keep_guarded_panics_quiet() {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !crate::intake::is_guarded() {
            usual(panic);
        }
    }));
}

/// The clock: the one passed in, else the machine's.
#[allow(clippy::disallowed_methods)] // the one place where the machine's clock is read
pub(crate) fn now(common: &Common) -> Instant {
    common
        .now
        .unwrap_or_else(|| Instant(chrono::Utc::now().timestamp()))
}

/// A progress bar where one may be shown.
pub(crate) fn progress(console: &Console) -> Box<dyn crate::progress::Progress> {
    if console.shows_progress() {
        Box::new(progress::Bar::new())
    } else {
        Box::new(crate::progress::Silent)
    }
}

/// The console of a command.
pub(crate) fn console(common: &Common) -> Console {
    Console::new(common.color, common.quiet)
}
