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
        "{} cabinets a row, seed {}",
        asked.cabinets, asked.seed
    )?;
    writeln!(
        out,
        "catch of 1.5 mL/h, limits 1.0 and 2.0, noise {noise_low} to {noise_high} mL/h"
    )?;
    writeln!(
        out,
        "lag-1 autocorrelation {phi_low} to {phi_high}; catches rounded to {:.3} mL/h",
        asked.resolution
    )?;
    writeln!(
        out,
        "weekday checks with gaps, own baseline of {} readings\n",
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
            "  {:>6} mL/h a day  {:<30}{:>7.1} %{:>7}",
            row.slope,
            row.contestant.label(),
            100.0 * row.caught,
            number(row.way_left, 2)
        )?;
    }
    let [step_low, step_high] = asked.steps;
    writeln!(
        out,
        "\nSteps of {step_low} to {step_high} sd: share caught within 100 checks, and median days"
    )?;
    for row in &outcome.steps {
        let days = number(row.days, 0);
        writeln!(
            out,
            "  {:<30}{:>7.1} %{days:>7}",
            row.contestant.label(),
            100.0 * row.caught
        )?;
    }
    let dates = &outcome.dates;
    writeln!(out, "\nDate of a step, median error in days")?;
    writeln!(
        out,
        "  {:<30}{:>8}",
        "start of the signal",
        number(dates.of_signal, 1)
    )?;
    writeln!(
        out,
        "  {:<30}{:>8}   ({:.0} % of steps told)",
        "shift, told 40 checks later",
        number(dates.of_shift, 1),
        100.0 * dates.shifts_told
    )?;
    writeln!(
        out,
        "\n80 % forecast of the breach, made half way to the limit"
    )?;
    writeln!(
        out,
        "  {:<24}{:>8}{:>17}{:>12}{:>14}",
        "", "told", "holds the truth", "days wide", "oracle's"
    )?;
    for row in &outcome.forecasts {
        writeln!(
            out,
            "  {:>6} {:<17}{:>6.0} %{:>15} %{:>12}{:>14}",
            row.slope,
            "mL/h a day",
            100.0 * row.told,
            number(row.covered.map(|share| 100.0 * share), 0),
            number(row.width, 0),
            number(row.oracle_width, 0)
        )?;
    }
    writeln!(
        out,
        "\nCabinets on which an alarm was on when the change came are left out. The oracle\n\
         alarms as often as the default set is asked to, on the same steady cabinets.\n\
         What alarms often is early partly by luck."
    )
}

/// A number with that many decimals, or a dash.
fn number(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |v| format!("{v:.decimals$}"))
}
