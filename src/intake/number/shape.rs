//! How short numbers of a column are written: so many figures, the decimal sign there, and
//! what follows. Cells of a column have few shapes.
//!
//! Held against a shape, a cell is recognised, its end found and its value read out of eight
//! bytes at once, in a third of the steps of going through it byte by byte. What a number is
//! stays [`read_plain`]'s to say: a shape is made of a cell that it has read.

use super::{Decimal, POWERS, Style, read_plain};

/// Bytes that are looked at together.
const WORD: usize = 8;
const ONES: u64 = u64::MAX / 255;
/// The highest bit of each byte.
const HIGH: u64 = ONES << 7;

/// The shape of a number of at most seven characters, with what follows it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    /// `0` for each figure, and the other bytes as they are; the first byte lowest.
    expected: u64,
    /// All bits of the bytes that matter.
    looked_at: u64,
    /// What must not carry into the highest bit of a byte: lets figures be 0 to 9 above
    /// what is expected, other bytes nothing.
    room: u64,
    /// Moves the number to the upper end of the word, in bits.
    shift: u32,
    /// There, the figures before and after the decimal sign.
    before: u64,
    after: u64,
    power: f64,
    length: usize,
}

impl Shape {
    /// The shape of `cell` with the bytes that follow it, eight at most in all; `None` for
    /// a longer one, for one that is not plain, and for one with a minus sign.
    pub(crate) fn of(cell: &[u8], then: &[u8], style: Style) -> Option<Shape> {
        read_plain(cell, style)?;
        let length = cell.len() + then.len();
        let spare = WORD.checked_sub(cell.len())?;
        if length > WORD || cell.first() == Some(&b'-') {
            return None;
        }
        let sign = match style.decimal {
            Decimal::Point => b'.',
            Decimal::Comma => b',',
            Decimal::PerCell => return None,
        };
        let mut shape = Shape {
            expected: 0,
            looked_at: 0,
            room: 0,
            shift: u32::try_from(8 * spare).ok()?,
            before: 0,
            after: u64::MAX,
            power: 1.0,
            length,
        };
        for (place, &byte) in cell.iter().chain(then).enumerate() {
            let is_figure = place < cell.len() && byte != sign;
            let (expected, room) = if is_figure {
                (b'0', 0x76)
            } else {
                (byte, 0x7f)
            };
            shape.expected |= u64::from(expected) << (8 * place);
            shape.room |= room << (8 * place);
            shape.looked_at |= 0xff << (8 * place);
        }
        if let Some(place) = cell.iter().position(|byte| *byte == sign) {
            // A plain number has a figure on either side of the sign.
            let place_above = spare + place + 1;
            shape.after = u64::MAX.checked_shl(u32::try_from(8 * place_above).ok()?)?;
            shape.before = !shape.after >> 8;
            shape.power = *POWERS.get(WORD - place_above)?;
        }
        Some(shape)
    }

    /// The value of a number of this shape at the start of `word`, the first byte lowest.
    #[inline(always)]
    pub(crate) fn read(&self, word: u64) -> Option<f64> {
        let figures = (word ^ self.expected) & self.looked_at;
        if (figures.wrapping_add(self.room) | figures) & HIGH != 0 {
            return None;
        }
        let moved = figures << self.shift;
        let eight = (moved & self.before) << 8 | moved & self.after;
        // Pairs, then fours, then all eight.
        let pairs = eight.wrapping_mul(10 * 256 + 1) >> 8;
        let fours = (pairs & 0x00ff_00ff_00ff_00ff).wrapping_mul(100 * 65_536 + 1) >> 16;
        let mantissa = (fours & 0x0000_ffff_0000_ffff).wrapping_mul((10_000 << 32) + 1) >> 32;
        Some(mantissa as f64 / self.power)
    }

    /// Bytes of the number and what follows it.
    pub(crate) fn length(&self) -> usize {
        self.length
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn word(text: &str) -> u64 {
        let bytes = text.bytes().chain(std::iter::repeat(b'~')).take(WORD);
        let places = bytes.enumerate();
        places.fold(0, |word, (place, byte)| {
            word | u64::from(byte) << (8 * place)
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn reads_every_number_of_its_shape(a in "[0-9]{0,4}[.]?[0-9]{0,4}", b in "[0-9]{8}") {
            let shape = Shape::of(a.as_bytes(), b";", Style::POINT);
            let is_short = a.len() < WORD && read_plain(a.as_bytes(), Style::POINT).is_some();
            prop_assert_eq!(shape.is_some(), is_short, "{}", a);
            let mut figures = b.chars();
            let like: String = a
                .chars()
                .map(|c| if c == '.' { c } else { figures.next().unwrap_or('0') })
                .collect();
            for cell in [&a, &like] {
                let found = shape.and_then(|shape| shape.read(word(&format!("{cell};"))));
                let expected = read_plain(cell.as_bytes(), Style::POINT).filter(|_| is_short);
                prop_assert_eq!(found.map(f64::to_bits), expected.map(f64::to_bits));
            }
        }

        #[test]
        fn takes_nothing_of_another_shape(bytes in any::<[u8; 8]>(), near in 0_usize..6, by in any::<u8>()) {
            let shape = Shape::of(b"35,1", b"\r\n", Style::COMMA).unwrap();
            let mut almost = *b"35,1\r\n~~";
            almost[near] = by;
            for bytes in [bytes, almost] {
                let is_so = bytes[..2].iter().chain(&bytes[3..4]).all(u8::is_ascii_digit)
                    && bytes[2] == b','
                    && bytes[4..6] == *b"\r\n";
                let found = shape.read(u64::from_le_bytes(bytes));
                prop_assert_eq!(found.is_some(), is_so, "{:?}", bytes);
            }
        }
    }

    #[test]
    fn says_how_far_it_reaches() {
        let shape = Shape::of(b"6.8", b",", Style::POINT).unwrap();
        assert_eq!(
            (shape.length(), shape.read(word("7.1,35.2"))),
            (4, Some(7.1))
        );
        for cell in ["12345678", "-6.8", "6.", ".8", "6,8", ""] {
            assert!(
                Shape::of(cell.as_bytes(), b",", Style::POINT).is_none(),
                "{cell}"
            );
        }
        assert!(Shape::of(b"6.8", b",", Style::PER_CELL).is_none());
    }
}
