//! `steadyfog trial`: measures on made-up cabinets how early and honestly changes are seen.

use super::args::{Format, TrialArgs};
use super::console::Console;
use super::{CommandError, Status};
use crate::trial::{Settings, run as run_trial, text};

/// Runs the command.
pub(super) fn run(args: &TrialArgs) -> Result<Status, CommandError> {
    let console = Console::new(super::args::Colour::Never, args.quiet);
    let [phi_low, phi_high] = Settings::default().phi;
    let settings = Settings {
        seed: args.seed,
        cabinets: args.cabinets as usize,
        baseline: args.baseline as usize,
        phi: [phi_low, args.phi.unwrap_or(phi_high)],
        ..Settings::default()
    };
    let progress = super::progress(&console);
    let outcome = run_trial(&settings, progress.as_ref());
    match args.format {
        Format::Text => console.print(&text(&outcome))?,
        Format::Json => {
            let mut json = serde_json::to_string_pretty(&outcome)
                .map_err(|error| CommandError::Other(error.to_string()))?;
            json.push('\n');
            console.print_always(&json)?;
        }
    }
    Ok(Status::Done)
}
