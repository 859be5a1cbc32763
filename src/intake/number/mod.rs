//! One cell of a log as a number: a value, a value with something beside it, nothing,
//! or a refusal in words.
//!
//! Which decimal sign a column uses is `decimal`'s; which unit it has is `heading`'s.
//! Nothing is guessed: a cell that can be read two ways is refused.

mod body;
mod decimal;
mod marks;
mod shape;

pub use decimal::{Evidence, infer, settle};
pub(crate) use shape::Shape;

use super::unit::Unit;
use crate::issue::shown;

/// The sign between whole and fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Decimal {
    /// `35.1`.
    Point,
    /// `35,1`.
    Comma,
    /// The column mixes both; a cell is read when it can mean one thing only.
    PerCell,
}

/// How the numbers of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Style {
    /// The decimal sign.
    pub decimal: Decimal,
    /// Whether the other sign alone before three digits marks thousands (`1,234`); true
    /// where `lab.toml` or the column itself settles it.
    pub grouped: bool,
}

impl Style {
    /// Decimal point, as samples show it.
    pub const POINT: Style = Style {
        decimal: Decimal::Point,
        grouped: false,
    };
    /// Decimal comma, as samples show it.
    pub const COMMA: Style = Style {
        decimal: Decimal::Comma,
        grouped: false,
    };
    /// Each cell by itself.
    pub const PER_CELL: Style = Style {
        decimal: Decimal::PerCell,
        grouped: false,
    };

    /// The style that `decimal = "."` or `decimal = ","` of `lab.toml` declares.
    pub fn declared(sign: char) -> Option<Style> {
        let decimal = match sign {
            '.' => Decimal::Point,
            ',' => Decimal::Comma,
            _ => return None,
        };
        Some(Style {
            decimal,
            grouped: true,
        })
    }
}

/// What a cell turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// Blank, or a way of writing that there is nothing (`n/a`, `-`, `k.A.`, `s/o`).
    Missing,
    /// A number and nothing else.
    Value(f64),
    /// A number that is used, with what stood beside it.
    Marked(Marked),
    /// Not used, with the reason.
    Refused(Refusal),
}

impl Reading {
    /// The number, where there is one to use.
    pub fn value(&self) -> Option<f64> {
        match self {
            Reading::Value(value) => Some(*value),
            Reading::Marked(marked) => Some(marked.value),
            Reading::Missing | Reading::Refused(_) => None,
        }
    }
}

/// A number with something beside it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Marked {
    /// The number, in the unit beside it where there is one.
    pub value: f64,
    /// The unit in the cell; it wins over the column's, and a difference should be told.
    pub unit: Option<Unit>,
    /// A flag mark or bracketed note, as written (`*`, `(a)`, `~`).
    pub flag: Option<String>,
    /// Whether the decimal sign is not the column's, though it can only be one.
    pub other_decimal: bool,
}

impl Marked {
    /// The sentence to tell beside the reading; `None` where only a unit stands beside it.
    pub fn says(&self) -> Option<String> {
        match (&self.flag, self.other_decimal) {
            (Some(flag), _) => Some(format!(
                "the number carries the mark {}; read as {} and kept",
                shown(flag),
                self.value
            )),
            (None, true) => Some(format!(
                "the decimal sign differs from the rest of the column; read as {}",
                self.value
            )),
            (None, false) => None,
        }
    }
}

/// Why a cell is not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Refusal {
    /// `<1`, `≤ 2`: only that it is below.
    Below,
    /// `>7`, `≥ 7`: only that it is above.
    Above,
    /// Words, or anything that does not start with a number.
    Words,
    /// A number followed by something that is neither a unit nor a mark.
    NumberAndWords,
    /// Several numbers (`35-36`, `34.8/35.2`, `35 ± 1`).
    SeveralNumbers,
    /// A date in a column of numbers.
    Date,
    /// Error value of a spreadsheet formula, or `####`.
    FormulaError,
    /// NaN or infinity, spelt out or as a float.
    NotFinite,
    /// Beyond any reading.
    TooLarge,
    /// `1,234`: thousands or decimals.
    ThousandsOrDecimal,
    /// Thousands marks at wrong places (`12,34,5`).
    Grouping,
}

impl Refusal {
    /// What was found against what was expected, as a sentence for
    /// [`crate::issue::Issue::problem`].
    pub fn problem(self) -> &'static str {
        match self {
            Refusal::Below => {
                "a bound, not a value: the reading lies below it, how far is not said; \
                 expected a number"
            }
            Refusal::Above => {
                "a bound, not a value: the reading lies above it, how far is not said; \
                 expected a number"
            }
            Refusal::Words => "text; expected a number",
            Refusal::NumberAndWords => {
                "a number followed by text that is neither a unit nor a mark; expected a number"
            }
            Refusal::SeveralNumbers => "more than one number; expected one",
            Refusal::Date => "a date; expected a number",
            Refusal::FormulaError => "an error value of the spreadsheet; expected a number",
            Refusal::NotFinite => "not a finite number; expected a number",
            Refusal::TooLarge => "a number larger than any reading can be",
            Refusal::ThousandsOrDecimal => {
                "the sign before three digits may mark thousands or decimals"
            }
            Refusal::Grouping => "thousands marks not every three digits; expected a number",
        }
    }

    /// What to do about it.
    pub fn hint(self) -> &'static str {
        match self {
            Refusal::Below | Refusal::Above => {
                "write what the instrument showed, or leave the cell blank and say it in the remarks"
            }
            Refusal::Words | Refusal::NumberAndWords => {
                "put words into the remarks column; leave the cell blank where nothing was measured"
            }
            Refusal::SeveralNumbers => {
                "write one number a cell; a second collector gets its own column"
            }
            Refusal::Date => "check whether the spreadsheet turned a number into a date",
            Refusal::FormulaError => "repair the formula, or widen the column before exporting",
            Refusal::NotFinite | Refusal::TooLarge | Refusal::Grouping => "correct the cell",
            Refusal::ThousandsOrDecimal => {
                "write it without thousands marks, or set decimal = \".\" or decimal = \",\" \
                 for this log in lab.toml"
            }
        }
    }
}

/// Nothing measured at a cabinet comes near it; a typing slip or a filler like 1e308 does.
const LARGEST: f64 = 1e12;

/// Powers of ten that are exact in binary64 with all those before them.
const POWERS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// Reads one cell. Any text is accepted; surrounding blanks do not matter.
///
/// ```
/// use steadyfog::intake::number::{read, Reading, Refusal, Style};
/// assert_eq!(read("1.234,5", Style::COMMA), Reading::Value(1234.5));
/// assert_eq!(read("<1", Style::POINT), Reading::Refused(Refusal::Below));
/// assert_eq!(read("6.8*", Style::POINT).value(), Some(6.8));
/// assert_eq!(read("k.A.", Style::COMMA), Reading::Missing);
/// ```
pub fn read(text: &str, style: Style) -> Reading {
    match read_plain(text.as_bytes(), style) {
        Some(value) => Reading::Value(value),
        None => marks::read(text, style),
    }
}

/// The value of a plain cell, `[-]digits[sign digits]` in the column's decimal sign with
/// no more than 17 characters; `None` for anything else, which [`read`] looks at closely.
///
/// This is the path that millions of cells take: no allocation, no look at the text as
/// Unicode.
#[inline]
pub fn read_plain(bytes: &[u8], style: Style) -> Option<f64> {
    // Up to 15 digits and a power of ten up to 10^15 are both exact in binary64, so one
    // division rounds correctly: the same value as std's parse, without its generality.
    let sign = match style.decimal {
        Decimal::Point => b'.',
        Decimal::Comma => b',',
        // Whole numbers need no sign; `b'0'` is caught as a digit before it is compared.
        Decimal::PerCell => b'0',
    };
    let (negative, digits) = match bytes.split_first() {
        Some((b'-', rest)) => (true, rest),
        _ => (false, bytes),
    };
    if digits.len() > 16 {
        return None;
    }
    let mut mantissa: u64 = 0;
    let mut count = 0;
    let mut point: Option<usize> = None;
    for (index, &byte) in digits.iter().enumerate() {
        if byte.is_ascii_digit() {
            mantissa = mantissa * 10 + u64::from(byte - b'0');
            count += 1;
        } else if byte == sign && point.is_none() && index > 0 {
            point = Some(index);
        } else {
            return None;
        }
    }
    let decimals = point.map_or(0, |index| digits.len() - index - 1);
    if count == 0 || count > 15 || (point.is_some() && decimals == 0) {
        return None;
    }
    let value = mantissa as f64 / POWERS.get(decimals)?;
    (value <= LARGEST).then_some(if negative { -value } else { value })
}

/// Whether a cell says that there is nothing: blank, a dash, `n/a`, `k.A.`, `s/o`.
pub fn is_missing(text: &str) -> bool {
    marks::is_nothing(text)
}

/// A number that a spreadsheet already holds as one.
pub fn from_float(value: f64) -> Reading {
    if !value.is_finite() {
        Reading::Refused(Refusal::NotFinite)
    } else if value.abs() > LARGEST {
        Reading::Refused(Refusal::TooLarge)
    } else {
        Reading::Value(value)
    }
}

#[cfg(test)]
mod tests;
