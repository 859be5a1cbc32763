//! The exact lines of `lab.toml` that settle a column.

use crate::intake::role::Role;
use crate::intake::unit::Unit;

/// The `[[log]]` table that says what one column is, ready to paste into `lab.toml`.
///
/// ```
/// use steadyfog::intake::{heading::snippet, role::Role};
/// assert_eq!(
///     snippet("logs/a.csv", "Bem.", &Role::Ignore, None),
///     "[[log]]\nfiles = \"logs/a.csv\"\n[log.columns]\n\"Bem.\" = \"ignore\"",
/// );
/// ```
pub fn snippet(files: &str, heading: &str, role: &Role, unit: Option<Unit>) -> String {
    format!(
        "[[log]]\nfiles = {}\n[log.columns]\n{}",
        quoted(files),
        column_line(heading, role, unit)
    )
}

/// The line of `[log.columns]` for one column.
pub(super) fn column_line(heading: &str, role: &Role, unit: Option<Unit>) -> String {
    let heading = quoted(heading);
    match (role, unit) {
        (Role::Ignore, _) => format!("{heading} = \"ignore\""),
        (role, None) => format!("{heading} = {{ is = \"{role}\" }}"),
        (role, Some(unit)) => format!("{heading} = {{ is = \"{role}\", unit = \"{unit}\" }}"),
    }
}

/// A TOML basic string.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
