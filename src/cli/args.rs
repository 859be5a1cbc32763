//! What may be typed: the commands and options, as clap reads them.
//!
//! Nothing is validated here beyond its form; each command's own file does that.

use crate::time::Instant;
use chrono::NaiveDate;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Reads salt-fog cabinet check logs, sees drift before a limit is breached, and
/// writes the monthly quality review.
#[derive(Debug, Parser)]
#[command(name = "steadyfog", version, about, max_term_width = 100)]
#[command(
    after_help = "Exit status: 0 done; 1 done, and --fail-on matched; 2 could not be done; \
3 done, but some input was rejected and --strict was given.\n\n\
The report does not replace the standard, the lab's procedure or a competent person's decision."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write the monthly quality review of every cabinet.
    Review(ReviewArgs),
    /// Compare cabinets and labs: do they differ, in what, and does it explain the coupons.
    Compare(CompareArgs),
    /// Show what was understood of the logs, and what was not.
    Intake(IntakeArgs),
    /// Compute control limits, show what changes, and freeze them on request.
    Baseline(BaselineArgs),
    /// Write the demo lab folder.
    Demo(DemoArgs),
    /// Measure on made-up cabinets how early and how honestly changes are seen.
    Trial(TrialArgs),
    /// Print the completion script for a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page (roff).
    Manpage,
}

/// Options that every command of a lab shares.
#[derive(Debug, Args)]
pub struct Common {
    /// What to print on standard output.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// The clock, as 2026-07-01T08:00:00Z: same input and same clock, same bytes.
    #[arg(long, value_name = "RFC3339", value_parser = parse_instant)]
    pub now: Option<Instant>,
    /// Print nothing but errors.
    #[arg(long, short)]
    pub quiet: bool,
    /// When to colour the text.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub color: Colour,
    /// Exit with status 3 when any input was rejected.
    #[arg(long)]
    pub strict: bool,
}

/// Form of standard output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For reading.
    Text,
    /// For programs.
    Json,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// On a terminal only.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What makes `review` exit with status 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    /// Nothing.
    Never,
    /// A signal that no event explains, or a breach.
    Signal,
    /// A reading outside the conformance limits that no event explains.
    Breach,
}

/// An output of `review` or `compare`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum Output {
    /// review.json, or compare.json
    Json,
    /// review.html, or compare.html
    Html,
    /// charts/*.svg
    Charts,
}

/// Which readings `review.json` lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PointsChoice {
    /// None.
    None,
    /// Those that signals start at, are known at or last fire at, and breaches.
    Signals,
    /// All.
    All,
}

/// `steadyfog review`
#[derive(Debug, Args)]
pub struct ReviewArgs {
    /// The lab folder.
    pub lab: PathBuf,
    /// The month to review; without it and --from/--to, the month of the last check.
    #[arg(long, value_name = "YYYY-MM", value_parser = parse_month, conflicts_with_all = ["from", "to"])]
    pub month: Option<NaiveDate>,
    /// First day to review.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "to")]
    pub from: Option<NaiveDate>,
    /// Last day to review.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "from")]
    pub to: Option<NaiveDate>,
    /// Folder for the report; without it, review-YYYY-MM (or review-FROM-TO) beside you.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write only these, separated by commas.
    #[arg(long, value_enum, value_delimiter = ',', value_name = "LIST")]
    pub only: Vec<Output>,
    /// Which readings review.json lists.
    #[arg(long, value_enum, default_value_t = PointsChoice::All)]
    pub points: PointsChoice,
    /// Rule set, in place of the one in lab.toml.
    #[arg(long, value_name = "SET")]
    pub rules: Option<String>,
    /// Exit with status 1 when the review finds this.
    #[arg(long, value_enum, default_value_t = FailOn::Never, value_name = "WHAT")]
    pub fail_on: FailOn,
    /// Replace an earlier report in the output folder.
    #[arg(long)]
    pub replace: bool,
    /// Options shared by all commands.
    #[command(flatten)]
    pub common: Common,
}

/// What makes `compare` exit with status 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CompareFailOn {
    /// Nothing.
    Never,
    /// A pair that differs by more than instruments and chance explain.
    Differ,
}

/// `steadyfog compare`
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The lab folders: one with several cabinets, or several. The first one's [compare]
    /// settings and windows hold.
    #[arg(required = true, value_name = "LAB")]
    pub labs: Vec<PathBuf>,
    /// Only this coupon round; may be given more than once.
    #[arg(long, value_name = "ID")]
    pub round: Vec<String>,
    /// First day compared; without it and --to, the days that lie within all logs.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "to")]
    pub from: Option<NaiveDate>,
    /// Last day compared.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "from")]
    pub to: Option<NaiveDate>,
    /// Folder for the report; without it, compare-FROM-to-TO beside you.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write only these, separated by commas.
    #[arg(long, value_enum, value_delimiter = ',', value_name = "LIST")]
    pub only: Vec<Output>,
    /// Exit with status 1 when the comparison finds this.
    #[arg(long, value_enum, default_value_t = CompareFailOn::Never, value_name = "WHAT")]
    pub fail_on: CompareFailOn,
    /// Replace an earlier report in the output folder.
    #[arg(long)]
    pub replace: bool,
    /// Options shared by all commands.
    #[command(flatten)]
    pub common: Common,
}

/// `steadyfog intake`
#[derive(Debug, Args)]
pub struct IntakeArgs {
    /// The lab folder.
    pub lab: PathBuf,
    /// Draft lab.toml from what was understood; never overwrites one.
    #[arg(long)]
    pub write_lab_toml: bool,
    /// Options shared by all commands.
    #[command(flatten)]
    pub common: Common,
}

/// `steadyfog baseline`
#[derive(Debug, Args)]
pub struct BaselineArgs {
    /// The lab folder.
    pub lab: PathBuf,
    /// The cabinet.
    #[arg(long, value_name = "ID")]
    pub cabinet: String,
    /// Only this characteristic; may be given more than once.
    #[arg(long, value_name = "NAME")]
    pub characteristic: Vec<String>,
    /// First day of the baseline; without it, the start of the current stage.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub from: Option<NaiveDate>,
    /// Last day of the baseline; without it, as many readings as lab.toml asks for.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub to: Option<NaiveDate>,
    /// Leave out a day, with its reason: 2026-03-09="lid left open". May be repeated.
    #[arg(long, value_name = "DATE=REASON", value_parser = parse_exclusion)]
    pub exclude: Vec<(NaiveDate, String)>,
    /// Who approves the limits; without it nothing is written.
    #[arg(long, value_name = "NAME")]
    pub approved_by: Option<String>,
    /// Replace limits frozen earlier.
    #[arg(long)]
    pub replace: bool,
    /// Options shared by all commands.
    #[command(flatten)]
    pub common: Common,
}

/// `steadyfog demo`
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Folder to write; must be new or empty.
    pub dir: PathBuf,
    /// Which of the two invented labs: the one to review, or its partner in a comparison.
    #[arg(long, value_enum, default_value_t = DemoChoice::Home)]
    pub lab: DemoChoice,
    /// Print nothing but errors.
    #[arg(long, short)]
    pub quiet: bool,
}

/// A demo lab.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DemoChoice {
    /// Saltmarsh Bench: five cabinets, a month to review.
    Home,
    /// Acabados Orilla Gris: three cabinets, to be compared with the other.
    Partner,
}

/// `steadyfog trial`
#[derive(Debug, Args)]
pub struct TrialArgs {
    /// Seed of all chance: same seed, same outcome.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Cabinets of each scenario; 2000 give two sure digits.
    #[arg(long, default_value_t = 400, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub cabinets: u32,
    /// Readings of the own baseline.
    #[arg(long, default_value_t = 30, value_parser = clap::value_parser!(u32).range(15..=200))]
    pub baseline: u32,
    /// Strongest lag-1 autocorrelation, from 0 to 0.9 [default: 0.5].
    #[arg(long, value_parser = parse_phi)]
    pub phi: Option<f64>,
    /// What to print on standard output.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Print nothing but errors.
    #[arg(long, short)]
    pub quiet: bool,
}

fn parse_phi(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|phi| (0.0..=0.9).contains(phi))
        .ok_or_else(|| "expected a number from 0 to 0.9".to_owned())
}

fn parse_instant(text: &str) -> Result<Instant, String> {
    chrono::DateTime::parse_from_rfc3339(text)
        .map(|t| Instant(t.timestamp()))
        .map_err(|_| "expected a time with its offset, as 2026-07-01T08:00:00Z".to_owned())
}

fn parse_month(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(&format!("{text}-01"), "%Y-%m-%d")
        .map_err(|_| "expected a month, as 2026-06".to_owned())
}

fn parse_exclusion(text: &str) -> Result<(NaiveDate, String), String> {
    let expected = "expected DATE=REASON, as 2026-03-09=\"lid left open\"";
    let (date, reason) = text.split_once('=').ok_or(expected)?;
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(format!("a reason is missing: {expected}"));
    }
    match NaiveDate::parse_from_str(date.trim(), "%Y-%m-%d") {
        Ok(date) => Ok((date, reason.to_owned())),
        Err(_) => Err(expected.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_definition_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_reason_is_required_for_an_exclusion() {
        assert!(
            parse_exclusion("2026-03-09=")
                .unwrap_err()
                .contains("reason")
        );
        assert!(parse_exclusion("9 March=lid").is_err());
        let (date, reason) = parse_exclusion("2026-03-09=lid open").unwrap();
        assert_eq!(
            (date.to_string().as_str(), reason.as_str()),
            ("2026-03-09", "lid open")
        );
    }

    #[test]
    fn a_month_is_its_first_day() {
        assert_eq!(parse_month("2026-06").unwrap().to_string(), "2026-06-01");
        assert!(parse_month("06/2026").is_err());
    }
}
