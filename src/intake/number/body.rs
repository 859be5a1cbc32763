//! The digits of a number and the marks between them: which mark is the decimal sign,
//! which marks thousands, and what can be either.
//!
//! Signs, units and notes around the digits are `marks`'s.

use super::{Decimal, LARGEST, Refusal, Style};

/// What the marks of one number prove by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Proof {
    /// No mark, or marks that both conventions read alike.
    Nothing,
    /// The point is the decimal sign.
    Point,
    /// The comma is.
    Comma,
    /// One mark before three digits: the point (`'.'`) or comma (`','`) may be either.
    Either(char),
}

/// Digits with marks, split off the front of a text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Body {
    /// Digits before, between and after points and commas, thousands spaces removed.
    groups: Vec<String>,
    /// The points and commas between the groups.
    marks: Vec<char>,
    /// Whether spaces or apostrophes mark the thousands.
    spaced: bool,
    /// Power of ten after `e`.
    exponent: i32,
    /// Whether a space or apostrophe stands where no thousands mark can.
    broken: bool,
}

/// Splits the number off the front of a text without a sign: the body and the rest.
pub(super) fn split(text: &str) -> Option<(Body, &str)> {
    let mut body = Body {
        groups: vec![String::new()],
        marks: Vec::new(),
        spaced: false,
        exponent: 0,
        broken: false,
    };
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let digit_at = |i: usize| chars.get(i).is_some_and(|(_, c)| c.is_ascii_digit());
    let run_from = |i: usize| (i..).take_while(|&j| digit_at(j)).count();
    // Digits since the last space or apostrophe, to see that groups have three.
    let mut since_space = 0;
    let mut at = 0;
    while let Some(&(_, c)) = chars.get(at) {
        if c.is_ascii_digit() {
            if let Some(group) = body.groups.last_mut() {
                group.push(c);
            }
            since_space += 1;
        } else if matches!(c, '.' | ',') {
            // A mark belongs to the number when a digit follows, or when it ends it (`35.`).
            let starts = since_space == 0 && body.marks.is_empty();
            if starts && !digit_at(at + 1) {
                break;
            }
            if !digit_at(at + 1) && !ends_here(&chars, at + 1) {
                break;
            }
            if body.spaced && body.marks.is_empty() && since_space != 3 {
                body.broken = true;
            }
            body.marks.push(c);
            body.groups.push(String::new());
        } else if is_thousands_space(c)
            && since_space > 0
            && body.marks.is_empty()
            && run_from(at + 1) == 3
        {
            if since_space > 3 || (body.spaced && since_space != 3) {
                break;
            }
            body.spaced = true;
            since_space = 0;
        } else {
            break;
        }
        at += 1;
    }
    if body.groups.iter().all(String::is_empty) {
        return None;
    }
    // An exponent only counts when it is whole: `1.5e3`, not `1.5 e`.
    if matches!(chars.get(at), Some((_, 'e' | 'E'))) {
        let signed = matches!(chars.get(at + 1), Some((_, '+' | '-')));
        let start = at + 1 + usize::from(signed);
        let length = run_from(start);
        if (1..=4).contains(&length) {
            let digits: String = chars
                .iter()
                .skip(start)
                .take(length)
                .map(|(_, c)| *c)
                .collect();
            let power: i32 = digits.parse().unwrap_or(0);
            let negative = matches!(chars.get(at + 1), Some((_, '-')));
            body.exponent = if negative { -power } else { power };
            at = start + length;
        }
    }
    let rest = chars
        .get(at)
        .map_or("", |(byte, _)| text.get(*byte..).unwrap_or_default());
    Some((body, rest))
}

/// Whether the number ends at that place: end of text, a blank or a mark beside it.
fn ends_here(chars: &[(usize, char)], at: usize) -> bool {
    chars
        .get(at)
        .is_none_or(|(_, c)| c.is_whitespace() || matches!(c, '*' | '(' | '[' | '°' | '%'))
}

/// Spaces of any width and the apostrophes that mark thousands.
fn is_thousands_space(c: char) -> bool {
    matches!(
        c,
        ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2007}' | '\'' | '\u{2019}' | '\u{2bc}'
    )
}

impl Body {
    /// Whether every group after the first has three digits and the first one to three.
    fn is_grouped(&self, groups: &[String]) -> bool {
        groups.split_first().is_some_and(|(first, rest)| {
            (1..=3).contains(&first.len()) && rest.iter().all(|g| g.len() == 3)
        })
    }

    /// What the marks prove about the decimal sign.
    pub(super) fn proof(&self) -> Proof {
        let of = |c: char| if c == '.' { Proof::Point } else { Proof::Comma };
        match self.marks.as_slice() {
            [] => Proof::Nothing,
            [only] if self.spaced => of(*only),
            [only] => {
                let whole = self.groups.first().map_or("", String::as_str);
                let thousands = self.groups.last().is_some_and(|g| g.len() == 3)
                    && (1..=3).contains(&whole.len())
                    && !whole.starts_with('0');
                if thousands {
                    Proof::Either(*only)
                } else {
                    of(*only)
                }
            }
            [first, .., last] if first != last => of(*last),
            // Repeated marks group thousands, so the other sign is the decimal one.
            [first, ..] if *first == '.' => Proof::Comma,
            [..] => Proof::Point,
        }
    }

    /// Whether it reads like a date: `02.03.2026`, `2.3.26`.
    pub(super) fn looks_like_date(&self) -> bool {
        self.marks == ['.', '.']
            && !self.is_grouped(&self.groups)
            && self.groups.iter().all(|g| (1..=4).contains(&g.len()))
    }

    /// The number and whether its decimal sign is not the style's.
    pub(super) fn value(&self, style: Style) -> Result<(f64, bool), Refusal> {
        if self.broken {
            return Err(Refusal::Grouping);
        }
        let own = match style.decimal {
            Decimal::Point => Some('.'),
            Decimal::Comma => Some(','),
            Decimal::PerCell => None,
        };
        let decimals_after_last = || self.number(self.groups.len().saturating_sub(1));
        let other = |mark: char| own.is_some_and(|sign| sign != mark);
        match self.marks.as_slice() {
            [] => self.number(self.groups.len()).map(|v| (v, false)),
            [mark] => {
                let either = matches!(self.proof(), Proof::Either(_));
                if own == Some(*mark) || !either {
                    decimals_after_last().map(|v| (v, other(*mark)))
                } else if style.grouped {
                    self.number(self.groups.len()).map(|v| (v, false))
                } else {
                    Err(Refusal::ThousandsOrDecimal)
                }
            }
            [grouping @ .., last] => {
                let alike = grouping.iter().all(|m| Some(m) == grouping.first());
                let mixed = grouping.first() != Some(last);
                let whole = self.groups.len() - usize::from(mixed);
                let grouped = self
                    .groups
                    .get(..whole)
                    .is_some_and(|groups| self.is_grouped(groups));
                if self.looks_like_date() {
                    Err(Refusal::Date)
                } else if !alike || !grouped || self.spaced {
                    Err(Refusal::Grouping)
                } else {
                    self.number(whole).map(|v| (v, mixed && other(*last)))
                }
            }
        }
    }

    /// The number whose whole part is the first `whole` groups, the rest decimals.
    fn number(&self, whole: usize) -> Result<f64, Refusal> {
        let mut text = String::with_capacity(24);
        for (index, group) in self.groups.iter().enumerate() {
            if index == whole {
                text.push('.');
            }
            text.push_str(group);
        }
        text.push('e');
        text.push_str(&self.exponent.to_string());
        match text.parse::<f64>() {
            Ok(value) if value.abs() <= LARGEST => Ok(value),
            Ok(_) => Err(Refusal::TooLarge),
            Err(_) => Err(Refusal::Words),
        }
    }
}
