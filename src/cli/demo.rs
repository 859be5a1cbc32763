//! `steadyfog demo DIR`: writes the folder of a demo lab.

use super::args::{Colour, DemoArgs, DemoChoice};
use super::console::Console;
use super::{CommandError, Status};
use crate::demo::DemoLab;

/// Runs the command.
pub(super) fn run(args: &DemoArgs) -> Result<Status, CommandError> {
    let lab = match args.lab {
        DemoChoice::Home => DemoLab::Home,
        DemoChoice::Partner => DemoLab::Partner,
    };
    let written = lab
        .write(&args.dir)
        .map_err(|error| CommandError::Other(error.to_string()))?;
    let mut text = format!(
        "An invented lab of {} files is in {}. Next:\n  steadyfog review {}\n",
        written.len(),
        args.dir.display(),
        args.dir.display()
    );
    text.push_str("Files:\n");
    for path in &written {
        text.push_str(&format!("  {}\n", path.display()));
    }
    Console::new(Colour::Never, args.quiet).print(&text)?;
    Ok(Status::Done)
}
