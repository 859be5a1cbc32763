//! The trial's outcome as text, for the terminal and the README. Computes nothing.

use super::{Contestant, Outcome};
use std::fmt::Write;

impl Contestant {
    /// Name for the reader.
    pub fn label(self) -> &'static str {
        match self {
            Contestant::Steadyfog => "steadyfog, default set",
            Contestant::ThreeSigma => "plain three-sigma limits",
            Contestant::WesternElectric => "Western Electric tests",
            Contestant::Oracle => "oracle (knows all but when)",
        }
    }
}

/// The outcome as a table of at most 80 columns.
pub fn text(outcome: &Outcome) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_all(&mut out, outcome);
    out
}

fn write_all(out: &mut String, outcome: &Outcome) -> std::fmt::Result {
    let asked = &outcome.settings;
    let ([noise_low, noise_high], [phi_low, phi_high]) = (asked.noise, asked.phi);
    writeln!(
        out,
        "{} cabinets a row, seed {}. Catch of 1.5 mL/h, limits 1.0 and 2.0; noise {noise_low} to",
        asked.cabinets, asked.seed
    )?;
    writeln!(
        out,
        "{noise_high} mL/h, lag-1 autocorrelation {phi_low} to {phi_high}, rounded to {:.4} mL/h,",
        asked.resolution
    )?;
    writeln!(
        out,
        "weekday checks with gaps, own baseline of {} readings.\n",
        asked.baseline
    )?;
    writeln!(out, "False alarms on steady cabinets, per 370 checks")?;
    writeln!(
        out,
        "  {:<30}{:>8}   by autocorrelation, low to high",
        "", "all"
    )?;
    for row in &outcome.steady {
        let [low, middle, high] = row.per_370_by_phi;
        writeln!(
            out,
            "  {:<30}{:>8.2}   {low:.2}  {middle:.2}  {high:.2}",
            row.contestant.label(),
            row.per_370
        )?;
    }
    writeln!(
        out,
        "\nRamps: share caught before breach, and share of the way left at the signal"
    )?;
    for row in &outcome.ramps {
        writeln!(
            out,
            "  {:>6} mL/h a day  {:<30}{:>7.1} %{:>7.2}",
            row.slope,
            row.contestant.label(),
            100.0 * row.caught,
            row.way_left
        )?;
    }
    let [step_low, step_high] = asked.steps;
    writeln!(
        out,
        "\nSteps of {step_low} to {step_high} sd: share caught within 100 checks, and median days"
    )?;
    for row in &outcome.steps {
        let days = row.days.map_or("-".to_owned(), |d| format!("{d:.0}"));
        writeln!(
            out,
            "  {:<30}{:>7.1} %{days:>7}",
            row.contestant.label(),
            100.0 * row.caught
        )?;
    }
    let dates = &outcome.dates;
    writeln!(out, "\nDate of a step, median error in days")?;
    writeln!(out, "  start of the signal{:>20.1}", dates.of_signal)?;
    writeln!(
        out,
        "  shift told 40 checks later{:>13.1}   ({:.0} % of steps told)",
        dates.of_shift,
        100.0 * dates.shifts_told
    )?;
    writeln!(out, "\n80 % breach forecast, made half way to the limit")?;
    for row in &outcome.forecasts {
        writeln!(
            out,
            "  {:>6} mL/h a day  told {:>3.0} %  holds the truth {:>3.0} %  width {:.0} d (oracle {:.0} d)",
            row.slope,
            100.0 * row.told,
            100.0 * row.covered,
            row.width,
            row.oracle_width
        )?;
    }
    writeln!(
        out,
        "\nAlarms that were on when the change came are left out. The oracle alarms as often as\n\
         the default set is asked to, on the same steady cabinets."
    )
}
