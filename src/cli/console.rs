//! Standard output and error, with colour only where asked and no panic on a closed pipe.

use super::args::Colour;
use anstream::{AutoStream, ColorChoice};
use std::io::{self, IsTerminal, Write};

/// Where a command prints.
#[derive(Debug)]
pub(crate) struct Console {
    colour: Colour,
    quiet: bool,
}

impl Console {
    /// A console that colours as told and, when `quiet`, prints errors only.
    pub(crate) fn new(colour: Colour, quiet: bool) -> Console {
        Console { colour, quiet }
    }

    /// A console for errors that end a command.
    pub(crate) fn errors_only() -> Console {
        Console::new(Colour::Never, true)
    }

    /// Whether text for standard output should be coloured.
    pub(crate) fn colours(&self) -> bool {
        match self.colour {
            Colour::Always => true,
            Colour::Never => false,
            // A bare `NO_COLOR` in the environment is honoured by anstream as well.
            Colour::Auto => {
                AutoStream::choice(&io::stdout()) != ColorChoice::Never
                    && io::stdout().is_terminal()
            }
        }
    }

    /// Columns to write in: the terminal's, at most 100 and at least 40; 80 elsewhere.
    pub(crate) fn width(&self) -> usize {
        terminal_columns().map_or(80, |columns| columns.clamp(40, 100))
    }

    /// Whether standard error is a terminal and not quiet: progress may be shown.
    pub(crate) fn shows_progress(&self) -> bool {
        !self.quiet && io::stderr().is_terminal()
    }

    /// Whether only errors are printed: text for [`Console::print`] need not be made.
    pub(crate) fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// Prints to standard output unless quiet.
    ///
    /// # Errors
    /// Those of writing, except a closed pipe, which is not an error.
    pub(crate) fn print(&self, text: &str) -> io::Result<()> {
        if self.quiet {
            return Ok(());
        }
        self.print_always(text)
    }

    /// Prints to standard output, quiet or not: output that was asked for by name.
    ///
    /// # Errors
    /// Those of writing, except a closed pipe, which is not an error.
    pub(crate) fn print_always(&self, text: &str) -> io::Result<()> {
        let stdout = io::stdout();
        let mut out = stdout.lock();
        forgive_closed_pipe(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
    }

    /// Prints a note to standard error unless quiet, so that it never mixes with JSON.
    pub(crate) fn note(&self, text: &str) {
        if !self.quiet {
            self.complain(text);
        }
    }

    /// Prints an error to standard error.
    pub(crate) fn complain(&self, text: &str) {
        // Nothing is left to tell the reader with when standard error fails.
        let _ = writeln!(io::stderr().lock(), "{text}");
    }
}

fn forgive_closed_pipe(result: io::Result<()>) -> io::Result<()> {
    match result {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

fn terminal_columns() -> Option<usize> {
    if !io::stdout().is_terminal() {
        return None;
    }
    std::env::var("COLUMNS").ok()?.parse().ok()
}
