//! The steadyfog program: hands its arguments to `steadyfog::cli` and exits with its answer.

use clap::Parser;
use std::process::ExitCode;
use steadyfog::cli::{self, Cli};

fn main() -> ExitCode {
    cli::run(Cli::parse()).into()
}
