//! What stands around the digits of a cell: signs, bounds, flag marks, units, and the
//! many ways of writing that there is nothing.

use super::body::{self, Body};
use super::{Marked, Reading, Refusal, Style};
use crate::intake::unit::Unit;
use crate::intake::words;

/// Ways of writing that nothing was measured, folded (English, German, French, Spanish,
/// Dutch, Italian, Portuguese); dashes and dots are looked at apart.
const NOTHING: [&str; 43] = [
    "n/a",
    "na",
    "n.a.",
    "n.a",
    "n/d",
    "nd",
    "n.d.",
    "n.d",
    "k.a.",
    "k.a",
    "ka",
    "k. a.",
    "k/a",
    "s/o",
    "s.o.",
    "so",
    "s/d",
    "s.d.",
    "sd",
    "n.v.",
    "n.v",
    "nv",
    "n.b.",
    "n.r.",
    "nr",
    "#n/a",
    "#nv",
    "#n/d",
    "#n/v",
    "null",
    "none",
    "nil",
    "missing",
    "fehlt",
    "no data",
    "sin dato",
    "not measured",
    "nicht gemessen",
    "non mesure",
    "no medido",
    "keine angabe",
    "non determine",
    "niet gemeten",
];

/// Signs put before a number that is only about right.
const ABOUT: [&str; 10] = [
    "~", "≈", "≃", "ca.", "ca ", "approx.", "etwa ", "env.", "aprox.", "c.",
];

/// Reads a cell that is not plainly a number.
pub(super) fn read(text: &str, style: Style) -> Reading {
    let text = words::trim(text);
    // Spreadsheets keep a text marker in front of numbers typed as text.
    let text = text.strip_prefix('\'').map_or(text, words::trim);
    if is_nothing(text) {
        return Reading::Missing;
    }
    let folded = words::fold(text);
    if is_not_finite(&folded) {
        return Reading::Refused(Refusal::NotFinite);
    }
    if is_formula_error(text) {
        return Reading::Refused(Refusal::FormulaError);
    }
    if text.starts_with(['<', '≤', '⩽', '‹']) {
        return Reading::Refused(Refusal::Below);
    }
    if text.starts_with(['>', '≥', '⩾', '›']) {
        return Reading::Refused(Refusal::Above);
    }
    let (about, text) = split_about(text);
    let Some((negative, number, rest)) = split_number(text) else {
        return Reading::Refused(Refusal::Words);
    };
    let (value, other_decimal) = match number.value(style) {
        Ok((value, other)) => (if negative { -value } else { value }, other),
        Err(refusal) => return Reading::Refused(refusal),
    };
    let Some((unit, flag)) = beside(rest) else {
        return Reading::Refused(refusal_of(rest));
    };
    let flag = match (about, flag) {
        (Some(about), Some(flag)) => Some(format!("{about} {flag}")),
        (about, flag) => about.map(str::to_owned).or(flag),
    };
    if unit.is_none() && flag.is_none() && !other_decimal {
        return Reading::Value(value);
    }
    Reading::Marked(Marked {
        value,
        unit,
        flag,
        other_decimal,
    })
}

/// The number at the front of a cell, past a sign for "about"; for inference.
pub(super) fn number_of(text: &str) -> Option<Body> {
    let text = words::trim(text);
    let (_, text) = split_about(text);
    split_number(text).map(|(_, body, _)| body)
}

/// Whether a cell says that there is nothing.
pub(super) fn is_nothing(text: &str) -> bool {
    let text = words::trim(text);
    let only_signs = text.chars().all(|c| {
        matches!(
            c,
            '-' | '–' | '—' | '−' | '‐' | '‑' | '―' | '.' | '…' | '_' | '/' | '?' | ' ' | '·'
        )
    });
    // More than a handful is still a line drawn through the cell.
    only_signs || (text.len() <= 24 && NOTHING.contains(&words::fold(text).as_str()))
}

fn is_not_finite(folded: &str) -> bool {
    let bare = folded.trim_start_matches(['+', '-', '−']);
    matches!(
        bare,
        "nan"
            | "inf"
            | "infinity"
            | "∞"
            | "1.#inf"
            | "1.#ind"
            | "1.#qnan"
            | "-1.#ind"
            | "unendlich"
    )
}

/// `#DIV/0!`, `#WERT!`, `#¿NOMBRE?`, `Err:502`, and `####` of a column too narrow.
fn is_formula_error(text: &str) -> bool {
    let named = text.strip_prefix('#').is_some_and(|rest| {
        rest.starts_with(|c: char| c.is_alphabetic() || matches!(c, '¡' | '¿'))
            && rest.ends_with(['!', '?'])
    });
    named
        || text
            .strip_prefix("Err:")
            .is_some_and(|n| n.parse::<u16>().is_ok())
        || (text.len() >= 2 && text.chars().all(|c| c == '#'))
}

/// A sign for "about" and the text after it.
fn split_about(text: &str) -> (Option<&str>, &str) {
    for sign in ABOUT {
        let head = text.get(..sign.len());
        if head.is_some_and(|h| h.eq_ignore_ascii_case(sign)) {
            let rest = text.get(sign.len()..).unwrap_or_default();
            return (head.map(str::trim), words::trim(rest));
        }
    }
    (None, text)
}

/// Whether it is negative, the digits, and what follows them.
fn split_number(text: &str) -> Option<(bool, Body, &str)> {
    let negative = text.starts_with(['-', '−', '–', '‐', '‑', '—']);
    let unsigned = text.strip_prefix(['-', '−', '–', '‐', '‑', '—', '+']);
    let digits = unsigned.map_or(text, words::trim);
    body::split(digits).map(|(body, rest)| (negative, body, rest))
}

/// Unit and flag in what follows the digits; `None` when it holds anything else.
fn beside(rest: &str) -> Option<(Option<Unit>, Option<String>)> {
    let mut rest = words::trim(rest);
    let mut flags: Vec<&str> = Vec::new();
    let mut unit = None;
    while !rest.is_empty() {
        // A lone figure is a footnote (`6.8 [1]`) or a second number, never the unit 1.
        let worded = rest
            .chars()
            .any(|c| c.is_alphabetic() || matches!(c, '°' | '%'));
        if let Some(found) = Unit::parse(rest).filter(|_| worded) {
            unit = Some(found);
            break;
        }
        let (before, flag) = split_flag(rest)?;
        flags.push(flag);
        rest = words::trim(before);
    }
    flags.reverse();
    Some((unit, (!flags.is_empty()).then(|| flags.join(" "))))
}

/// Takes one flag off the end: a bracketed note of at most 40 characters, or a mark.
fn split_flag(text: &str) -> Option<(&str, &str)> {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if text.ends_with(close) {
            let at = text.rfind(open)?;
            let (before, note) = text.split_at_checked(at)?;
            return (note.chars().count() <= 40).then_some((before, note));
        }
    }
    let last = text.chars().next_back()?;
    let mark = matches!(
        last,
        '*' | '†'
            | '‡'
            | '#'
            | '!'
            | '?'
            | '§'
            | '¹'
            | '²'
            | '³'
            | '⁴'
            | 'ᵃ'
            | 'ᵇ'
            | '⚠'
            | '✓'
            | '^'
    );
    let at = text.len() - last.len_utf8();
    mark.then(|| text.split_at_checked(at)).flatten()
}

/// What is wrong with a number followed by that.
fn refusal_of(rest: &str) -> Refusal {
    let joined = words::trim(rest);
    let digits = joined.chars().any(|c| c.is_ascii_digit());
    let joins = joined.starts_with(|c: char| {
        c.is_ascii_digit() || matches!(c, '-' | '–' | '/' | '±' | ';' | '+' | '…' | '~' | '|' | '−')
    });
    if digits && joins {
        Refusal::SeveralNumbers
    } else {
        Refusal::NumberAndWords
    }
}
