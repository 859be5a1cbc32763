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
        let (start, end) = self.bounds(column)?;
        self.text.get(start..end)
    }

    /// Where the cell of that column begins and ends in the record.
    #[inline]
    fn bounds(&self, column: usize) -> Option<(usize, usize)> {
        let end = *self.ends.get(column)?;
        let start = match column.checked_sub(1) {
            None => 0,
            // Past the delimiter, which is one byte.
            Some(before) => self.ends.get(before)? + 1,
        };
        Some((start, end))
    }
}

/// Bytes that are looked at together.
const WORD: usize = 8;
const ONES: u64 = u64::MAX / 255;

/// The highest bit of every byte of `word` that equals `byte`, and no other bit.
#[inline]
fn equal_bytes(word: u64, byte: u8) -> u64 {
    const LOW: u64 = ONES * 0x7f;
    let differs = word ^ (ONES * u64::from(byte));
    !(((differs & LOW) + LOW) | differs | LOW)
}

/// Appends where cells end to `ends`; gives the length of the record.
#[inline]
fn split(record: &[u8], delimiter: u8, ends: &mut Vec<usize>) -> usize {
    let (words, rest) = record.as_chunks::<WORD>();
    let mut at = 0;
    for bytes in words {
        let word = u64::from_le_bytes(*bytes);
        let cells = equal_bytes(word, delimiter);
        let lines = equal_bytes(word, b'\n') | equal_bytes(word, b'\r');
        // Of delimiters only those before the end of the line count.
        let mut before = cells & (lines & lines.wrapping_neg()).wrapping_sub(1);
        while before != 0 {
            ends.push(at + before.trailing_zeros() as usize / 8);
            before &= before - 1;
        }
        if lines != 0 {
            return at + lines.trailing_zeros() as usize / 8;
        }
        at += WORD;
    }
    for byte in rest {
        if *byte == delimiter {
            ends.push(at);
        } else if matches!(byte, b'\n' | b'\r') {
            break;
        }
        at += 1;
    }
    at
}

/// Who looks at the records of a text log.
pub(crate) trait Visitor {
    /// Takes the record of that line at the start of `rest` as it stands and gives its
    /// length; `None` to have it split.
    fn quick(&mut self, line: u64, rest: &str) -> Option<usize>;

    /// Takes the record of that line.
    fn record(&mut self, line: u64, record: Line<'_>) -> ControlFlow<()>;
}

/// Hands each record of `body` with its line, from 1, to `visitor` until it breaks; gives the
/// line after the last otherwise.
///
/// `delimiter` is an ASCII character.
pub(crate) fn visit(body: &str, delimiter: u8, visitor: &mut impl Visitor) -> ControlFlow<(), u64> {
    // The general reader passes over a byte-order mark at the start, too.
    let body = body.strip_prefix('\u{feff}').unwrap_or(body);
    visit_from(1, body, delimiter, visitor)
}

/// As [`visit`], for what stands on that line and after it.
pub(crate) fn visit_from(
    mut line: u64,
    mut rest: &str,
    delimiter: u8,
    visitor: &mut impl Visitor,
) -> ControlFlow<(), u64> {
    let mut ends: Vec<usize> = Vec::new();
    loop {
        let breaks = rest
            .bytes()
            .take_while(|byte| matches!(byte, b'\n' | b'\r'))
            .inspect(|byte| line += u64::from(*byte == b'\n'))
            .count();
        rest = rest.get(breaks..).unwrap_or_default();
        if rest.is_empty() {
            return ControlFlow::Continue(line);
        }
        if let Some(length) = visitor.quick(line, rest) {
            rest = rest.get(length..).unwrap_or_default();
            continue;
        }
        ends.clear();
        let length = split(rest.as_bytes(), delimiter, &mut ends);
        ends.push(length);
        let (text, after) = rest.split_at_checked(length).unwrap_or((rest, ""));
        let record = Line { text, ends: &ends };
        visitor.record(line, record)?;
        rest = after;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Splits every record, up to `most` of them.
    struct Splitter {
        all: Vec<(u64, Vec<String>)>,
        most: usize,
    }

    impl Visitor for Splitter {
        fn quick(&mut self, _line: u64, _rest: &str) -> Option<usize> {
            None
        }

        fn record(&mut self, line: u64, record: Line<'_>) -> ControlFlow<()> {
            let cells = (0..record.len()).map(|c| record.get(c).unwrap().to_owned());
            self.all.push((line, cells.collect()));
            assert_eq!(record.get(record.len()), None);
            if self.all.len() == self.most {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        }
    }

    fn first_records(body: &str, delimiter: u8, most: usize) -> Vec<(u64, Vec<String>)> {
        let all = Vec::new();
        let mut splitter = Splitter { all, most };
        let _ = visit(body, delimiter, &mut splitter);
        splitter.all
    }

    fn records(body: &str, delimiter: u8) -> Vec<(u64, Vec<String>)> {
        first_records(body, delimiter, usize::MAX)
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
                let mut at = record.position().unwrap().byte() as usize;
                if at == 0 && body.starts_with('\u{feff}') {
                    at = 3;
                }
                let skipped = body[at..].bytes().take_while(|b| b"\r\n".contains(b));
                let first = at + skipped.count();
                let line = 1 + body[..first].matches('\n').count() as u64;
                (line, record.iter().map(str::to_owned).collect())
            })
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn splits_as_the_csv_crate_does(body in "[a,;\r\n ü\u{feff}]{0,40}") {
            for delimiter in [b',', b';'] {
                prop_assert_eq!(records(&body, delimiter), by_csv(&body, delimiter, true));
            }
        }

        #[test]
        fn marks_without_a_meaning_are_ordinary(body in "[a,\"\n]{0,40}") {
            prop_assert_eq!(records(&body, b','), by_csv(&body, b',', false));
        }
    }

    #[test]
    fn stops_when_told() {
        assert_eq!(first_records("a\nb\nc\n", b',', 2).len(), 2);
    }
}
