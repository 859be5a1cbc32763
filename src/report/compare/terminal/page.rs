//! The text for the terminal as it grows: wrapping that never passes the width, and looks
//! that only add to words.

use crate::report::format::clean;
use crate::report::terminal::Style;
use anstyle::Style as Look;

/// Narrowest layout; a smaller width is taken as this.
const NARROWEST: usize = 40;

/// The text and how it is laid out.
pub(super) struct Page {
    pub(super) out: String,
    pub(super) width: usize,
    colour: bool,
}

impl Page {
    pub(super) fn new(style: Style) -> Page {
        Page {
            out: String::new(),
            width: style.width.max(NARROWEST),
            colour: style.colour,
        }
    }

    /// The text in that look, or plain.
    pub(super) fn painted(&self, text: &str, look: Look) -> String {
        if self.colour {
            format!("{look}{text}{look:#}")
        } else {
            text.to_owned()
        }
    }

    /// A line in bold for each line that the text needs.
    pub(super) fn title(&mut self, text: &str) {
        for line in wrap(text, self.width) {
            let line = self.painted(&line, Look::new().bold());
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    /// A title with an empty line before it.
    pub(super) fn heading(&mut self, text: &str) {
        self.out.push('\n');
        self.title(text);
    }

    /// Wraps a text: `first` before its first line, as many spaces before the others.
    pub(super) fn say(&mut self, first: &str, text: &str) {
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

    /// A row of counts behind a name that has so much room.
    pub(super) fn counted(&mut self, room: usize, name: &str, counts: [String; 4]) {
        let [differ, agree, cannot_tell, all] = counts;
        let row = format!("  {name:<room$}{differ:>6}{agree:>7}{cannot_tell:>13}{all:>8}");
        self.out.push_str(row.trim_end());
        self.out.push('\n');
    }

    /// "… and 12 more", where there are more than were told.
    pub(super) fn more(&mut self, all: usize, told: usize, what: &str) {
        if all > told {
            let text = format!(
                "… and {} more {what}; the other outputs hold all.",
                all - told
            );
            self.say("     ", &text);
        }
    }
}

/// Breaks a text, cleaned, at spaces into lines of at most `room` characters; a longer
/// word is broken where the line ends.
pub(super) fn wrap(text: &str, room: usize) -> Vec<String> {
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
