//! The text for the terminal as it grows, of a review and of a comparison: wrapping that
//! never passes the width, looks that only add to words, and the list of findings.

use super::Style;
use crate::report::format::clean;
use crate::report::wire::Finding;
use anstyle::Style as Look;

/// Findings told at most; the most urgent come first.
const MOST_FINDINGS: usize = 20;
/// Hints told with a finding at most.
const MOST_HINTS: usize = 3;
/// Narrowest layout; a smaller width is taken as this.
const NARROWEST: usize = 40;

/// The text and how it is laid out.
pub(in crate::report) struct Page {
    pub(in crate::report) out: String,
    pub(in crate::report) width: usize,
    colour: bool,
}

impl Page {
    pub(in crate::report) fn new(style: Style) -> Page {
        Page {
            out: String::new(),
            width: style.width.max(NARROWEST),
            colour: style.colour,
        }
    }

    /// The text in that look, or plain.
    pub(in crate::report) fn painted(&self, text: &str, look: Look) -> String {
        if self.colour {
            format!("{look}{text}{look:#}")
        } else {
            text.to_owned()
        }
    }

    /// A line in bold for each line that the text needs.
    pub(in crate::report) fn title(&mut self, text: &str) {
        for line in wrap(text, self.width) {
            let line = self.painted(&line, Look::new().bold());
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    /// A title with an empty line before it.
    pub(in crate::report) fn heading(&mut self, text: &str) {
        self.out.push('\n');
        self.title(text);
    }

    /// Wraps a text: `first` before its first line, as many spaces before the others.
    pub(in crate::report) fn say(&mut self, first: &str, text: &str) {
        let indent = first.chars().count();
        let lines = wrap(text, self.width.saturating_sub(indent).max(1));
        for (i, line) in lines.iter().enumerate() {
            if i == 0 {
                self.out.push_str(first);
            } else {
                self.out.extend(std::iter::repeat_n(' ', indent));
            }
            self.out.push_str(line);
            self.out.push('\n');
        }
    }

    /// "… and 12 more", where there are more than were told.
    pub(in crate::report) fn more(&mut self, all: usize, told: usize, what: &str) {
        if all > told {
            let text = format!(
                "… and {} more {what}; the other outputs hold all.",
                all - told
            );
            self.say("     ", &text);
        }
    }

    /// What needs the reader: the findings with their first hints; `nothing` without any.
    pub(in crate::report) fn needs(&mut self, findings: &[Finding], nothing: &str) {
        self.heading("What needs you");
        if findings.is_empty() {
            self.say("  ", nothing);
        }
        for finding in findings.iter().take(MOST_FINDINGS) {
            self.say(&format!("{:>3}. ", finding.rank), &finding.sentence);
            self.hints(finding);
        }
        self.more(findings.len(), MOST_FINDINGS, "findings");
    }

    /// The first hints; cautions stand in the report, beside the work they belong to.
    fn hints(&mut self, finding: &Finding) {
        let hints = || {
            let all = finding.look_at.iter().map(|l| l.trim_end_matches('.'));
            all.filter(|l| !l.starts_with("Caution"))
        };
        let mut told: Vec<&str> = hints().take(MOST_HINTS).collect();
        if hints().nth(MOST_HINTS).is_some() {
            told.push("…");
        }
        if !told.is_empty() {
            self.say("     ", &format!("Look first at: {}", told.join("; ")));
        }
    }
}

/// Breaks a text, cleaned, at spaces into lines of at most `room` characters; a longer
/// word is broken where the line ends.
pub(in crate::report) fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut length = 0;
    for word in clean(text).split(' ').filter(|w| !w.is_empty()) {
        let letters: Vec<char> = word.chars().collect();
        for piece in letters.chunks(room.max(1)) {
            if length > 0 && length + 1 + piece.len() > room {
                lines.push(std::mem::take(&mut line));
                length = 0;
            }
            if length > 0 {
                line.push(' ');
                length += 1;
            }
            line.extend(piece);
            length += piece.len();
        }
    }
    if length > 0 {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_words_are_broken_and_nothing_is_lost() {
        assert_eq!(wrap("a bb ccccccc d", 4), ["a bb", "cccc", "ccc", "d"]);
        assert_eq!(wrap("  ", 4), Vec::<String>::new());
        assert_eq!(wrap("x\u{1b}y", 9), ["x\u{fffd}y"]);
    }
}
