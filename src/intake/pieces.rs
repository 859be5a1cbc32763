//! A large text log piece by piece: whole lines, hashed on the way, never the file at once.
//!
//! A piece is parsed while it is still in the processor's cache. Only the plain case goes
//! this way: whatever needs a second look at the file is left to those who load it whole.

use super::load::{LONGEST_LINE, hexadecimal};
use sha2::{Digest, Sha256};
use std::io::{self, Read};

/// Bytes read at a time.
pub(crate) const PIECE: usize = 1 << 18;

/// A text log that is read line by line in pieces.
pub(crate) struct Pieces {
    source: Box<dyn Read>,
    hasher: Sha256,
    /// The last piece, then the beginning of the line after it.
    buffer: Vec<u8>,
    filled: usize,
    /// Length of the last piece.
    given: usize,
    /// Length so far of the line that the bytes read end with.
    open: usize,
    /// Bytes read at a time.
    piece: usize,
}

impl std::fmt::Debug for Pieces {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pieces").finish_non_exhaustive()
    }
}

impl Pieces {
    /// Reads `source` in pieces of about `piece` bytes.
    pub(crate) fn new(source: Box<dyn Read>, piece: usize) -> Pieces {
        Pieces {
            source,
            hasher: Sha256::new(),
            buffer: Vec::new(),
            filled: 0,
            given: 0,
            open: 0,
            piece,
        }
    }

    /// The next lines, at least `least` bytes of them unless the file ends; empty at its end.
    ///
    /// # Errors
    /// The system's, and for a line longer than any log's.
    pub(crate) fn next(&mut self, least: usize) -> io::Result<&[u8]> {
        self.buffer.copy_within(self.given..self.filled, 0);
        self.filled -= self.given;
        self.given = 0;
        loop {
            let end = self.filled + self.piece;
            if self.buffer.len() < end {
                self.buffer.resize(end, 0);
            }
            let free = self.buffer.get_mut(self.filled..end).unwrap_or_default();
            let n = match self.source.read(free) {
                Ok(n) => n,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            let part = free.get(..n).unwrap_or_default();
            self.hasher.update(part);
            if n == 0 {
                self.given = self.filled;
                break;
            }
            // Lines within a part are short; only one that runs over its ends can be long.
            let first = memchr::memchr2(b'\n', b'\r', part);
            let closed = first.map_or(0, |first| self.open + first);
            self.open = match memchr::memrchr2(b'\n', b'\r', part) {
                Some(last) => n - last - 1,
                None => self.open + n,
            };
            if closed.max(self.open) > LONGEST_LINE {
                return Err(io::Error::other("a line longer than any log's"));
            }
            let whole_lines = memchr::memrchr(b'\n', part).map(|last| self.filled + last + 1);
            self.filled += n;
            if let Some(length) = whole_lines.filter(|length| *length >= least) {
                self.given = length;
                break;
            }
        }
        Ok(self.buffer.get(..self.given).unwrap_or_default())
    }

    /// SHA-256 of all that was read, hexadecimal.
    pub(crate) fn sha256(self) -> String {
        hexadecimal(self.hasher)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn pieces_are_whole_lines_and_all_there_is(
            text in "[a-c\n]{0,200}",
            piece in 1_usize..40,
            least in 0_usize..60,
        ) {
            let source = io::Cursor::new(text.clone().into_bytes());
            let mut pieces = Pieces::new(Box::new(source), piece);
            let mut all = Vec::new();
            loop {
                let next = pieces.next(least).unwrap();
                if next.is_empty() {
                    break;
                }
                let is_last = all.len() + next.len() == text.len();
                prop_assert!(next.ends_with(b"\n") || is_last);
                prop_assert!(next.len() >= least || is_last);
                all.extend_from_slice(next);
            }
            prop_assert_eq!(&all, text.as_bytes());
            let expected: String = Sha256::digest(&all).iter().map(|b| format!("{b:02x}")).collect();
            prop_assert_eq!(pieces.sha256(), expected);
        }
    }

    #[test]
    fn a_line_without_an_end_is_refused() {
        let endless = io::repeat(b'7').take(4 * LONGEST_LINE as u64);
        let mut pieces = Pieces::new(Box::new(endless), PIECE);
        assert!(pieces.next(0).is_err());
    }

    #[test]
    fn a_line_is_as_long_here_as_in_a_file_read_whole() {
        for (length, is_read) in [(LONGEST_LINE, true), (LONGEST_LINE + 1, false)] {
            for before in [0, 1, PIECE - 2] {
                let text = [
                    vec![b'x'; before],
                    vec![b'\n'],
                    vec![b'7'; length],
                    vec![b'\n'],
                ]
                .concat();
                let mut pieces = Pieces::new(Box::new(io::Cursor::new(text)), PIECE);
                let all = loop {
                    match pieces.next(1) {
                        Ok([]) => break true,
                        Ok(_) => {}
                        Err(_) => break false,
                    }
                };
                assert_eq!(all, is_read, "{length} after {before}");
            }
        }
    }
}
