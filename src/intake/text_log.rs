//! Delimited text: which delimiter, and records with the line they start on.
//!
//! A quoted cell may hold line breaks, so lines come from the record's byte position,
//! never from counting records. Cells are not interpreted here.

use super::grid::{Row, RowVisitor};
use super::pieces::Pieces;
use super::plain;
use std::cell::RefCell;
use std::ops::ControlFlow;

/// Delimiters that logs use, the least ambiguous first: a comma may be a decimal sign.
pub(crate) const DELIMITERS: [u8; 4] = [b'\t', b';', b'|', b','];

/// Text read to find the delimiter, in bytes.
const SAMPLE: usize = 64 << 10;

/// Longest stretch between quotation marks that is still taken for one cell, in bytes.
const LONGEST_QUOTED: usize = 16 << 10;

/// A text log with its delimiter.
#[derive(Debug)]
pub(crate) struct TextTable {
    text: String,
    start: usize,
    start_line: u64,
    delimiter: u8,
    quoting: bool,
    /// Whether no quotation mark has a meaning: none is there, or none encloses.
    plain: bool,
    /// The rest of a large log, of which `text` is the beginning.
    rest: Option<RefCell<Rest>>,
}

/// The rest of a large log while it is read.
#[derive(Debug)]
struct Rest {
    pieces: Pieces,
    /// Bytes of the whole log.
    size: u64,
    state: RestState,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum RestState {
    Unread,
    /// All of it, once, as far as the rows were wanted.
    Read,
    /// It would have been needed otherwise than once from start to end.
    NeedsWhole,
}

impl TextTable {
    /// The table of a decoded text; `named` is the delimiter that `lab.toml` says.
    pub(crate) fn new(text: String, named: Option<char>) -> TextTable {
        let (start, told) = separator_line(&text);
        let body = text.get(start..).unwrap_or_default();
        let delimiter = named
            .and_then(|c| u8::try_from(c).ok())
            .or(told)
            .unwrap_or_else(|| detect_delimiter(body));
        let has_mark = memchr::memchr(b'"', body.as_bytes()).is_some();
        let quoting = !has_mark || quotes_are_closed(body, delimiter);
        TextTable {
            plain: delimiter.is_ascii() && !(quoting && has_mark),
            start_line: if start > 0 { 2 } else { 1 },
            text,
            start,
            delimiter,
            quoting,
            rest: None,
        }
    }

    /// The table of a large text that begins with `text`, whole lines; `None` where quotation
    /// marks may have a meaning.
    pub(crate) fn in_pieces(
        text: String,
        named: Option<char>,
        pieces: Pieces,
        size: u64,
    ) -> Option<TextTable> {
        let mut table = TextTable::new(text, named);
        let has_mark = memchr::memchr(b'"', table.text.as_bytes()).is_some();
        table.rest = Some(RefCell::new(Rest {
            pieces,
            size,
            state: RestState::Unread,
        }));
        (table.plain && !has_mark).then_some(table)
    }

    /// The digest of a log read in pieces; `None` where it has to be read whole instead.
    pub(crate) fn digest_of_pieces(self) -> Option<String> {
        let rest = self.rest?.into_inner();
        (rest.state == RestState::Read).then(|| rest.pieces.sha256())
    }

    /// The memory that the text took.
    pub(crate) fn into_bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }

    /// The delimiter in use.
    pub(crate) fn delimiter(&self) -> char {
        char::from(self.delimiter)
    }

    /// Whether quotation marks enclose cells; false where one is never closed.
    pub(crate) fn quoting(&self) -> bool {
        self.quoting
    }

    /// The delimiter that the text itself suggests.
    pub(crate) fn suggested_delimiter(&self) -> char {
        char::from(detect_delimiter(
            self.text.get(self.start..).unwrap_or_default(),
        ))
    }

    /// About how many records there are, judged by the length of the first lines.
    pub(crate) fn about_rows(&self) -> usize {
        let text = self.text.as_bytes();
        let sample = text.get(..text.len().min(SAMPLE)).unwrap_or_default();
        let lines = memchr::memchr_iter(b'\n', sample).count() + 1;
        let long = sample.len() / lines;
        let size = match &self.rest {
            Some(rest) => usize::try_from(rest.borrow().size).unwrap_or(usize::MAX),
            None => text.len(),
        };
        size / long.max(1) + 1
    }

    /// The delimiter, where the log can be read without looking for quotation marks.
    pub(crate) fn plain_delimiter(&self) -> Option<u8> {
        self.plain.then_some(self.delimiter)
    }

    /// Hands each record with its first line to `visitor` until it breaks.
    ///
    /// The rest of a large log is handed on once only, and only to a visitor of all rows.
    pub(crate) fn walk<V: RowVisitor>(&self, visitor: &mut V) {
        let body = self.text.get(self.start..).unwrap_or_default();
        if self.plain {
            let mut records = Records {
                visitor,
                lines_before: self.start_line - 1,
            };
            let end = plain::visit(body, self.delimiter, &mut records);
            if let (ControlFlow::Continue(line), Some(rest)) = (end, &self.rest) {
                let mut rest = rest.borrow_mut();
                let is_first = rest.state == RestState::Unread && V::WANTS_ALL;
                rest.state = match is_first {
                    true => rest.walk(line, self.delimiter, &mut records),
                    false => RestState::NeedsWhole,
                };
            }
            return;
        }
        let mut reader = reader(body, self.delimiter, self.quoting);
        let mut record = csv::StringRecord::new();
        // The text is valid UTF-8 and the reader flexible, so reading cannot fail; an
        // error would end the table rather than loop.
        while let Ok(true) = reader.read_record(&mut record) {
            let line = record.position().map_or(0, |position| {
                let byte = usize::try_from(position.byte()).unwrap_or(usize::MAX);
                // The position is that of the blank lines skipped before the record.
                let skipped = body.as_bytes().get(byte..).map_or(0, |rest| {
                    rest.iter()
                        .take_while(|b| matches!(b, b'\n' | b'\r'))
                        .filter(|b| **b == b'\n')
                        .count()
                });
                position.line() + skipped as u64 + self.start_line - 1
            });
            if visitor.row(line, Row::Record(&record)).is_break() {
                return;
            }
        }
    }
}

impl Rest {
    /// Hands on the records from that line on.
    fn walk(
        &mut self,
        mut line: u64,
        delimiter: u8,
        records: &mut Records<'_, impl RowVisitor>,
    ) -> RestState {
        loop {
            let Ok(piece) = self.pieces.next(1) else {
                return RestState::NeedsWhole;
            };
            if piece.is_empty() {
                return RestState::Read;
            }
            let has_mark = memchr::memchr(b'"', piece).is_some();
            let (Ok(text), false) = (std::str::from_utf8(piece), has_mark) else {
                return RestState::NeedsWhole;
            };
            match plain::visit_from(line, text, delimiter, records) {
                ControlFlow::Continue(next) => line = next,
                ControlFlow::Break(()) => return RestState::NeedsWhole,
            }
        }
    }
}

/// Hands records on as rows, with their line in the file.
struct Records<'a, V> {
    visitor: &'a mut V,
    lines_before: u64,
}

impl<V: RowVisitor> plain::Visitor for Records<'_, V> {
    #[inline]
    fn quick(&mut self, line: u64, rest: &str) -> Option<usize> {
        self.visitor.quick(line + self.lines_before, rest)
    }

    fn record(&mut self, line: u64, record: plain::Line<'_>) -> ControlFlow<()> {
        self.visitor
            .row(line + self.lines_before, Row::Plain(record))
    }
}

fn reader(body: &str, delimiter: u8, quoting: bool) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .quoting(quoting)
        .buffer_capacity(1 << 16)
        .from_reader(body.as_bytes())
}

/// Where the table starts and the delimiter, when the first line is `sep=;`.
fn separator_line(text: &str) -> (usize, Option<u8>) {
    let line = text.split_inclusive('\n').next().unwrap_or_default();
    match line.trim_end().as_bytes() {
        [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', delimiter] => (line.len(), Some(*delimiter)),
        // `trim_end` takes a tab away.
        b"sep=" if line.starts_with("sep=\t") => (line.len(), Some(b'\t')),
        _ => (0, None),
    }
}

/// The delimiter that splits most records of the sample into the same number of cells.
fn detect_delimiter(body: &str) -> u8 {
    let mut end = body.len().min(SAMPLE);
    while !body.is_char_boundary(end) {
        end -= 1;
    }
    let sample = body.get(..end).unwrap_or_default();
    let mut best = (0, b',');
    for delimiter in DELIMITERS {
        let mut counts = std::collections::BTreeMap::<usize, usize>::new();
        let mut records = 0;
        for record in reader(sample, delimiter, true).records().flatten() {
            let filled = record.iter().filter(|c| !c.trim().is_empty()).count();
            if filled == 0 {
                continue;
            }
            records += 1;
            *counts.entry(record.len()).or_default() += 1;
        }
        let agreeing = counts
            .iter()
            .filter(|(cells, _)| **cells >= 2)
            .map(|(cells, n)| (*n, *cells))
            .max();
        let Some((agreeing, _)) = agreeing else {
            continue;
        };
        // Share of records in permille. The comma comes last and must do better than an
        // earlier delimiter, because a decimal comma splits records evenly too.
        let share = agreeing * 1000 / usize::max(records, 1);
        if share > best.0 {
            best = (share, delimiter);
        }
    }
    best.1
}

/// Whether every quotation mark that opens a cell is closed.
///
/// A mark counts as never closed when the text ends inside it, when its cell is longer
/// than [`LONGEST_QUOTED`], or when a cell over several lines "closes" in front of
/// other text, which is where the next cell in marks really begins.
fn quotes_are_closed(body: &str, delimiter: u8) -> bool {
    let bytes = body.as_bytes();
    let ends_cell = |byte: Option<&u8>| match byte {
        None => true,
        Some(byte) => *byte == delimiter || byte.is_ascii_whitespace(),
    };
    let find = |from: usize| {
        let rest = bytes.get(from..).unwrap_or_default();
        memchr::memchr(b'"', rest).map(|at| from + at)
    };
    let mut next = 0;
    while let Some(open) = find(next) {
        let before = open.checked_sub(1).and_then(|at| bytes.get(at));
        let opens = before.is_none_or(|b| *b == delimiter || matches!(b, b'\n' | b'\r'));
        next = open + 1;
        if !opens {
            continue;
        }
        let close = loop {
            let Some(mark) = find(next) else {
                return false;
            };
            if bytes.get(mark + 1) != Some(&b'"') {
                break mark;
            }
            next = mark + 2;
        };
        let cell = bytes.get(open + 1..close).unwrap_or_default();
        let spans_lines = memchr::memchr(b'\n', cell).is_some();
        if spans_lines && (cell.len() > LONGEST_QUOTED || !ends_cell(bytes.get(close + 1))) {
            return false;
        }
        next = close + 1;
    }
    true
}

#[cfg(test)]
mod tests {
    use super::super::grid::EachRow;
    use super::*;

    fn lines(table: &TextTable) -> Vec<(u64, Vec<String>)> {
        let mut all = Vec::new();
        table.walk(&mut EachRow(&mut |line, row| {
            all.push((line, row.texts()));
            ControlFlow::Continue(())
        }));
        all
    }

    #[test]
    fn a_cell_with_a_line_break_does_not_shift_lines() {
        let text = "date,pH,note\n\n\n2026-01-05,6.8,\"wiped\nlid\"\r\n\r\n2026-01-06,6.9,\n";
        let table = TextTable::new(text.into(), None);
        let found: Vec<_> = lines(&table).into_iter().map(|l| l.0).collect();
        assert_eq!(found, [1, 4, 7]);
    }

    #[test]
    fn finds_the_delimiter_in_spite_of_decimal_commas_and_titles() {
        let cases = [
            ("Datum;T;Turm\n2026-01-05;35,1\n2026-01-06;35,2\n", ';'),
            (
                "Daily log, cabinet Plover\n\nDatum;T;Turm\n05.01.2026;35,1;47,9\n06.01.2026;35,0;48,0\n",
                ';',
            ),
            ("date,pH,note\n2026-01-05,6.8,a;b\n2026-01-06,6.9,\n", ','),
            ("date\tpH\n2026-01-05\t6,8\n", '\t'),
            ("date|pH|sg\n2026-01-05|6,8|1,03\n", '|'),
            ("sep=;\ndate;pH,x\n", ';'),
        ];
        for (text, delimiter) in cases {
            assert_eq!(
                TextTable::new(text.into(), None).delimiter(),
                delimiter,
                "{text}"
            );
        }
    }

    #[test]
    fn the_separator_line_is_no_row_but_counts_as_a_line() {
        let table = TextTable::new("sep=;\r\ndate;pH\r\n2026-01-05;6,8\r\n".into(), None);
        let all = lines(&table);
        assert_eq!(all[0], (2, vec!["date".into(), "pH".into()]));
        assert_eq!(all[1].0, 3);
    }

    #[test]
    fn a_mark_never_closed_does_not_swallow_the_log() {
        let text = "date,pH,note\n2026-01-05,6.8,\"open\n2026-01-06,6.9,\n2026-01-07,7.0,\n";
        let table = TextTable::new(text.into(), None);
        assert!(!table.quoting());
        assert_eq!(lines(&table).len(), 4);
        let again = "date,note,pH\n2026-01-05,\"open,6.8\n2026-01-06,\"wiped\",6.9\n";
        assert_eq!(lines(&TextTable::new(again.into(), None)).len(), 3);
        let closed = TextTable::new("date,pH\n2026-01-05,\"6\"\"8\n\"\n".into(), None);
        assert!(closed.quoting());
    }
}
