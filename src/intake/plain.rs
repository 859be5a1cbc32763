//! Records of a text log in which no quotation mark has a meaning: split at the delimiter
//! and at line ends, nothing else.
//!
//! Most logs are such, and the general reader's state machine and its copy of every cell
//! would be half the time of reading them. Rows come out as the general reader's would:
//! `\r`, `\n` and `\r\n` end a record, empty lines are none.

use std::ops::ControlFlow;

/// A record of a text log, borrowed from it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    text: &'a str,
    /// Where each cell ends in `text`, ascending; never empty.
    ends: &'a [usize],
}

impl<'a> Line<'a> {
    /// Number of cells.
    pub(crate) fn len(&self) -> usize {
        self.ends.len()
    }

    /// The cell of that column, untrimmed.
    #[inline]
    pub(crate) fn get(&self, column: usize) -> Option<&'a str> {
        let end = *self.ends.get(column)?;
        let start = match column.checked_sub(1) {
            None => 0,
            // Past the delimiter, which is one byte.
            Some(before) => self.ends.get(before)? + 1,
        };
        self.text.get(start..end)
    }
}

/// Hands each record of `body` with its line, from 1, to `visit` until it breaks.
///
/// `delimiter` is an ASCII character.
pub(crate) fn visit(
    body: &str,
    delimiter: u8,
    visit: &mut dyn FnMut(u64, Line<'_>) -> ControlFlow<()>,
) {
    // The general reader passes over a byte-order mark at the start, too.
    let mut rest = body.strip_prefix('\u{feff}').unwrap_or(body);
    let mut line = 1;
    let mut ends: Vec<usize> = Vec::new();
    loop {
        let breaks = rest
            .bytes()
            .take_while(|byte| matches!(byte, b'\n' | b'\r'))
            .inspect(|byte| line += u64::from(*byte == b'\n'))
            .count();
        rest = rest.get(breaks..).unwrap_or_default();
        if rest.is_empty() {
            return;
        }
        ends.clear();
        let mut length = rest.len();
        for (at, byte) in rest.bytes().enumerate() {
            if byte == delimiter {
                ends.push(at);
            } else if byte == b'\n' || byte == b'\r' {
                length = at;
                break;
            }
        }
        ends.push(length);
        let (text, after) = rest.split_at_checked(length).unwrap_or((rest, ""));
        if visit(line, Line { text, ends: &ends }).is_break() {
            return;
        }
        rest = after;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn split(body: &str, delimiter: u8) -> Vec<(u64, Vec<String>)> {
        let mut all = Vec::new();
        visit(body, delimiter, &mut |line, record| {
            let cells = (0..record.len()).map(|c| record.get(c).unwrap().to_owned());
            all.push((line, cells.collect()));
            assert_eq!(record.get(record.len()), None);
            ControlFlow::Continue(())
        });
        all
    }

    /// What the csv crate makes of it, each record on the line of its first byte.
    fn by_csv(body: &str, delimiter: u8, quoting: bool) -> Vec<(u64, Vec<String>)> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .quoting(quoting)
            .from_reader(body.as_bytes());
        reader
            .records()
            .map(|record| {
                let record = record.unwrap();
                let at = record.position().unwrap().byte() as usize;
                let skipped = body[at..].bytes().take_while(|b| b"\r\n".contains(b));
                let first = at + skipped.count();
                let line = 1 + body[..first].matches('\n').count() as u64;
                (line, record.iter().map(str::to_owned).collect())
            })
            .collect()
    }

    proptest! {
        #[test]
        fn splits_as_the_csv_crate_does(body in "[a,;\r\n ü\u{feff}]{0,40}") {
            for delimiter in [b',', b';'] {
                prop_assert_eq!(split(&body, delimiter), by_csv(&body, delimiter, true));
            }
        }

        #[test]
        fn marks_without_a_meaning_are_ordinary(body in "[a,\"\n]{0,40}") {
            prop_assert_eq!(split(&body, b','), by_csv(&body, b',', false));
        }
    }

    #[test]
    fn stops_when_told() {
        let mut seen = 0;
        visit("a\nb\nc\n", b',', &mut |_, _| {
            seen += 1;
            if seen == 2 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        assert_eq!(seen, 2);
    }
}
