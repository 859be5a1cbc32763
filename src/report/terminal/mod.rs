//! The summary for a terminal: what needs the reader, the matrix of states, the counts.
//!
//! Plain text of a given width; colour only when asked for, and then only as an addition
//! to words. It lists no files: whoever writes them does.

mod matrix;
mod page;

use super::format::{count, date, dates, number};
use super::wire::Review;

pub(super) use page::{Page, wrap};

/// How the summary is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Whether to use colour and weight.
    pub colour: bool,
    /// Columns of the terminal.
    pub width: usize,
}

impl Default for Style {
    fn default() -> Style {
        Style {
            colour: false,
            width: 80,
        }
    }
}

/// The summary of a review, ending in a line feed.
///
/// No line is wider than `style.width` (60 at least): longer words are broken.
/// Control and direction-changing characters of the input never reach it.
pub fn render(review: &Review, style: Style) -> String {
    let mut page = Page::new(style);
    head(&mut page, review);
    page.needs(
        &review.findings,
        "Nothing: no breach, no drift, no unexplained signal.",
    );
    matrix::write(&mut page, review);
    counts(&mut page, review);
    page.out
}

fn head(page: &mut Page, review: &Review) {
    let title = format!(
        "{}: review of {}",
        review.lab,
        dates(&review.period.from, &review.period.to)
    );
    page.title(&title);
    let standards: Vec<&str> = review.profiles.iter().map(|p| p.title.as_str()).collect();
    let standards = if standards.is_empty() {
        "no profile: readings are not judged against a standard".to_owned()
    } else {
        standards.join("; ")
    };
    page.say("Standard: ", &standards);
    let made = format!(
        "{} {}, made {}",
        review.program.name,
        review.program.version,
        date(&review.made_at)
    );
    page.say("Program:  ", &made);
}

fn counts(page: &mut Page, review: &Review) {
    let summary = &review.summary;
    page.heading("In numbers");
    let missing: usize = review.cabinets.iter().map(|c| c.missing_days.len()).sum();
    let chance = match summary.expected_false_alarms {
        Some(expected) => format!("; chance alone would bring about {}", number(expected, 1)),
        None => String::new(),
    };
    let rows = [
        (
            "checks",
            format!(
                "{} of {}",
                summary.checks,
                count(summary.cabinets, "cabinet", "cabinets")
            ),
        ),
        (
            "signals",
            format!(
                "{} without an explanation, {} explained by an event{chance}",
                summary.signals, summary.signals_explained
            ),
        ),
        (
            "breaches",
            count(
                summary.breaches,
                "reading outside the window",
                "readings outside the window",
            ),
        ),
        ("days without check", missing.to_string()),
    ];
    for (name, says) in rows {
        page.say(&format!("  {name:<20}"), &says);
    }
    let unused = unused(review);
    if !unused.is_empty() {
        page.say(&format!("  {:<20}", "not used"), &unused);
    }
}

/// What of the input could not be used, and where to see it; empty when all was used.
fn unused(review: &Review) -> String {
    let of = |effect: &str| -> u64 {
        let such = review.issues.iter().filter(|i| i.effect == effect);
        such.map(|i| i.count).sum()
    };
    let parts = [
        (review.summary.rejected_cells, "cell", "cells"),
        (of("row-rejected"), "row", "rows"),
        (of("column-left-out"), "column left out", "columns left out"),
        (of("file-unreadable"), "file", "files"),
    ];
    let told: Vec<String> = parts
        .iter()
        .filter(|(n, _, _)| *n > 0)
        .map(|(n, one, many)| count(*n, one, many))
        .collect();
    if told.is_empty() {
        return String::new();
    }
    format!("{}; `steadyfog intake LAB` says where", told.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::checks::{assert_text_is_harmless, without_colour};
    use crate::report::fixture::{poisoned, review};

    #[test]
    fn the_summary_at_80_columns() {
        insta::assert_snapshot!(render(&review(), Style::default()));
    }

    #[test]
    fn no_line_is_too_wide_and_nothing_hostile_arrives() {
        for width in [60, 80, 120] {
            let style = Style {
                colour: false,
                width,
            };
            assert_text_is_harmless(&render(&review(), style), width);
            // Its states are no words of ours, which the matrix has room for.
            assert_text_is_harmless(&render(&poisoned(), style), usize::MAX);
        }
    }

    #[test]
    fn colour_only_adds_to_the_words() {
        let style = Style {
            colour: true,
            width: 80,
        };
        let coloured = render(&review(), style);
        assert!(coloured.contains("\u{1b}[1m\u{1b}[31mbreached"));
        assert_eq!(
            without_colour(&coloured),
            render(&review(), Style::default())
        );
    }

    #[test]
    fn a_fleet_is_listed_by_what_is_not_steady() {
        let mut review = review();
        for i in 0..20 {
            let mut cabinet = review.cabinets[2].clone();
            cabinet.id = format!("extra-{i}");
            review.cabinets.push(cabinet);
        }
        let text = render(&review, Style::default());
        let words: Vec<&str> = text.split_whitespace().collect();
        let text = words.join(" ");
        assert!(text.contains("Plover drifting: collection rate"));
        assert!(text.contains("Curlew shifted: tower temperature; unsteady: near/far spread"));
        assert!(text.contains("21 cabinets are steady throughout."));
    }

    #[test]
    fn nothing_to_tell_is_said() {
        let mut review = review();
        review.findings.clear();
        review.profiles.clear();
        let text = render(&review, Style::default());
        assert!(text.contains("Nothing: no breach"));
        assert!(text.contains("no profile"));
    }
}
