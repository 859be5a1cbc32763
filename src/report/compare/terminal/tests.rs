//! The summary of the fixture at several widths, in colour, and with harm in its texts.

use super::*;
use crate::report::fixture::checks::{assert_text_is_harmless, without_colour};
use crate::report::fixture::{comparison, large_comparison, poisoned_comparison};

#[test]
fn the_summary_at_80_columns() {
    insta::assert_snapshot!(render(&comparison(), Style::default()));
}

#[test]
fn no_line_is_wider_than_asked_and_no_control_character_arrives() {
    for width in [40, 60, 80, 120] {
        let style = Style {
            colour: false,
            width,
        };
        for one in [comparison(), poisoned_comparison(), large_comparison(200)] {
            assert_text_is_harmless(&render(&one, style), width);
        }
    }
}

#[test]
fn colour_only_adds_to_the_words() {
    let style = Style {
        colour: true,
        width: 80,
    };
    let coloured = render(&comparison(), style);
    assert!(coloured.contains("\u{1b}[1m\u{1b}[31maction"));
    assert_eq!(
        without_colour(&coloured),
        render(&comparison(), Style::default())
    );
}

#[test]
fn of_many_cabinets_those_with_signals_are_listed() {
    let text = render(&large_comparison(1000), Style::default());
    assert!(text.contains("  C0040"));
    assert!(!text.contains("  C0001"));
    assert!(
        text.contains("904 cabinets are acceptable throughout."),
        "{text}"
    );
    assert!(text.contains("… and 56 more cabinets"), "{text}");
    assert!(text.lines().count() < 120);
}

#[test]
fn nothing_to_tell_is_said_and_empty_parts_are_left_out() {
    let mut one = comparison();
    one.findings.clear();
    one.explanations.clear();
    one.characteristics.clear();
    one.issues.clear();
    let text = render(&one, Style::default());
    assert!(text.contains("Nothing: no difference"));
    assert_eq!(text.matches("\n\n").count(), 1, "{text}");
}
