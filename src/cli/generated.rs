//! `steadyfog completions` and `steadyfog manpage`: generated from the command definitions.

use super::args::Colour;
use super::console::Console;
use super::{Cli, CommandError, Status};
use clap::CommandFactory;

/// Prints the completion script for a shell.
pub(super) fn completions(shell: clap_complete::Shell) -> Result<Status, CommandError> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "steadyfog", &mut script);
    print(&script)
}

/// Prints the manual: one page for the program and one section a command.
pub(super) fn manpage() -> Result<Status, CommandError> {
    let mut page = Vec::new();
    let mut command = Cli::command();
    command.build();
    clap_mangen::Man::new(command.clone()).render(&mut page)?;
    for subcommand in command.get_subcommands().filter(|c| c.get_name() != "help") {
        clap_mangen::Man::new(subcommand.clone()).render(&mut page)?;
    }
    print(&page)
}

fn print(bytes: &[u8]) -> Result<Status, CommandError> {
    Console::new(Colour::Never, false).print_always(&String::from_utf8_lossy(bytes))?;
    Ok(Status::Done)
}
