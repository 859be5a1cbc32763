//! The figures and names of a written date, before anything decides their order.

use super::names;
use crate::lab::DateOrder;
use chrono::{NaiveDate, Weekday};

/// A date as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Written {
    /// Three figures, and the sign between them.
    Figures {
        /// As written; the length tells a year.
        parts: [Figure; 3],
        /// The sign between the first two.
        sign: char,
    },
    /// The month by name.
    Named {
        day: Figure,
        month: u32,
        /// `None` when the year is missing.
        year: Option<Figure>,
    },
    /// Two figures: the year is missing.
    NoYear,
}

/// A figure with the number of its digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Figure {
    pub(super) value: u32,
    pub(super) digits: usize,
}

impl Figure {
    /// The year it means: two digits from 70 on are of the last century.
    fn year(self) -> Option<i32> {
        match (self.digits, self.value) {
            (4, year) => Some(year as i32),
            (2, year @ 70..) => Some(1900 + year as i32),
            (2, year) => Some(2000 + year as i32),
            _ => None,
        }
    }
}

impl Written {
    /// The orders in which it may be read.
    pub(super) fn orders(&self) -> &'static [DateOrder] {
        use DateOrder::{DayFirst, MonthFirst, YearFirst};
        match self {
            Written::NoYear | Written::Named { year: None, .. } => &[],
            Written::Named { .. } => &[DayFirst],
            Written::Figures { parts, sign } => {
                let [first, _, last] = parts;
                match (first.digits, last.digits) {
                    (4, _) => &[YearFirst],
                    // Only dashes are used for years of two digits in front.
                    (2, 2) if *sign == '-' => &[DayFirst, MonthFirst, YearFirst],
                    _ => &[DayFirst, MonthFirst],
                }
            }
        }
    }

    /// Whether a column's order may be applied to it.
    pub(super) fn allows(&self, order: DateOrder) -> bool {
        self.orders().contains(&order)
            || matches!(self, Written::Figures { parts: [a, _, c], .. }
                if order == DateOrder::YearFirst && a.digits == 2 && c.digits <= 2)
    }

    /// The day in that order; `None` when there is no such day.
    pub(super) fn as_order(&self, order: DateOrder) -> Option<NaiveDate> {
        match *self {
            Written::NoYear => None,
            Written::Named { day, month, year } => {
                NaiveDate::from_ymd_opt(year?.year()?, month, day.value)
            }
            Written::Figures { parts, .. } => {
                let [a, b, c] = parts;
                let (year, month, day) = match order {
                    DateOrder::DayFirst => (c, b, a),
                    DateOrder::MonthFirst => (c, a, b),
                    DateOrder::YearFirst => (a, b, c),
                };
                NaiveDate::from_ymd_opt(year.year()?, month.value, day.value)
            }
        }
    }
}

/// Weekdays in front, the date, and what follows it; `None` when the folded text does not
/// start with a date.
pub(super) fn split(folded: &str) -> Option<(Vec<Weekday>, Written, &str)> {
    let mut cursor = Cursor { rest: folded };
    let mut weekdays = Vec::new();
    if let Some(word) = cursor.word() {
        weekdays = names::weekday(word);
        // `Mar` may be Tuesday or March: a month name in front of its day wins where no
        // other month follows.
        let as_month = names::month(word);
        let mut after = Cursor { rest: cursor.rest };
        after.filler();
        if let Some(month) = as_month
            && let Some(written) = month_first(&mut after, month)
            && (weekdays.is_empty() || matches!(written, Written::Named { year: Some(_), .. }))
        {
            return Some((Vec::new(), written, after.rest));
        }
        if weekdays.is_empty() {
            return None;
        }
        cursor.filler();
        if let Some(word) = cursor.word() {
            let month = names::month(word)?;
            cursor.filler();
            let written = month_first(&mut cursor, month)?;
            return Some((weekdays, written, cursor.rest));
        }
    }
    let written = figure_first(&mut cursor)?;
    Some((weekdays, written, cursor.rest))
}

/// `March 2, 2026`: after the name of the month.
fn month_first(cursor: &mut Cursor, month: u32) -> Option<Written> {
    let day = cursor.figure()?;
    if day.digits > 2 {
        return None;
    }
    cursor.ordinal();
    let year = cursor.year_behind();
    Some(Written::Named { day, month, year })
}

/// `02.03.2026`, `2. März 2026`, `2026-03-02`, `2026-Mar-02`, `20260302`.
fn figure_first(cursor: &mut Cursor) -> Option<Written> {
    if let Some(written) = cursor.eight_digits() {
        return Some(written);
    }
    let first = cursor.figure()?;
    cursor.ordinal();
    let sign = cursor.sign();
    if let Some(word) = cursor.peek_word()
        && let Some(month) = names::month(word)
    {
        cursor.word();
        cursor.filler();
        if first.digits == 4 {
            let day = cursor.figure()?;
            let year = Some(first);
            return Some(Written::Named { day, month, year });
        }
        let year = cursor.year_behind();
        let day = first;
        return Some(Written::Named { day, month, year });
    }
    let sign = sign?;
    let second = cursor.figure()?;
    if second.digits > 2 {
        return None;
    }
    let again = cursor.sign();
    let third = match again {
        Some(again) if again == sign => cursor.figure(),
        _ => None,
    };
    let Some(third) = third else {
        // `02.03.` without a year; a lone `35.1` is no date at all.
        let dated = again == Some(sign) && sign == '.' || sign == '/';
        return (dated && cursor.rest.trim().is_empty()).then_some(Written::NoYear);
    };
    // One figure must be able to be a year, the others not.
    let years = [first.digits, third.digits];
    let shaped = matches!(years, [4, 1 | 2] | [1 | 2, 4] | [1 | 2, 2]);
    shaped.then_some(Written::Figures {
        parts: [first, second, third],
        sign,
    })
}

/// What is left of a folded text.
struct Cursor<'a> {
    rest: &'a str,
}

impl<'a> Cursor<'a> {
    fn take(&mut self, bytes: usize) -> Option<&'a str> {
        let (head, tail) = self.rest.split_at_checked(bytes)?;
        self.rest = tail;
        Some(head)
    }

    fn peek_word(&self) -> Option<&'a str> {
        let text = self.rest;
        let end = text
            .char_indices()
            .find(|(i, c)| {
                !(c.is_alphabetic()
                    || (*c == '-'
                        && *i > 0
                        && text.get(i + 1..).is_some_and(|t| t.starts_with("feira"))))
            })
            .map_or(text.len(), |(i, _)| i);
        text.get(..end).filter(|word| !word.is_empty())
    }

    fn word(&mut self) -> Option<&'a str> {
        let word = self.peek_word()?;
        self.take(word.len())
    }

    /// One to four digits, not more.
    fn figure(&mut self) -> Option<Figure> {
        let digits = self.rest.bytes().take_while(u8::is_ascii_digit).count();
        if !(1..=4).contains(&digits) {
            return None;
        }
        let value = self.take(digits)?.parse().ok()?;
        Some(Figure { value, digits })
    }

    /// `20260302`.
    fn eight_digits(&mut self) -> Option<Written> {
        if self.rest.bytes().take_while(u8::is_ascii_digit).count() != 8 {
            return None;
        }
        let mut part = |digits: usize| -> Option<Figure> {
            let value = self.take(digits)?.parse().ok()?;
            Some(Figure { value, digits })
        };
        let parts = [part(4)?, part(2)?, part(2)?];
        Some(Written::Figures { parts, sign: '-' })
    }

    /// `st`, `nd`, `rd`, `th`, `er`, `º` behind a day.
    fn ordinal(&mut self) {
        for ending in ["st", "nd", "rd", "th", "er", "o", "a", "ª"] {
            if let Some(rest) = self.rest.strip_prefix(ending)
                && !rest.starts_with(char::is_alphabetic)
            {
                self.rest = rest;
                return;
            }
        }
    }

    /// The sign between two figures, blanks around it skipped; a blank alone is one too.
    fn sign(&mut self) -> Option<char> {
        let blanks = self.rest.len() - self.rest.trim_start().len();
        self.rest = self.rest.trim_start();
        let sign = self
            .rest
            .chars()
            .next()
            .filter(|c| matches!(c, '.' | '/' | '-' | '–' | '−' | '‐'));
        let Some(sign) = sign else {
            self.of();
            return (blanks > 0).then_some(' ');
        };
        self.take(sign.len_utf8());
        self.rest = self.rest.trim_start();
        Some(if matches!(sign, '–' | '−' | '‐') {
            '-'
        } else {
            sign
        })
    }

    /// `de`, `of` between day, month and year.
    fn of(&mut self) {
        for word in ["de ", "of ", "del ", "di ", "den ", "the "] {
            if let Some(rest) = self.rest.strip_prefix(word) {
                self.rest = rest.trim_start();
            }
        }
    }

    /// Blanks and signs behind a name.
    fn filler(&mut self) {
        self.rest = self
            .rest
            .trim_start_matches([' ', '.', ',', '-', '/', '–', '\'', '(', ')']);
        self.of();
    }

    /// The year behind day and month; two digits or four.
    fn year_behind(&mut self) -> Option<Figure> {
        let mut ahead = Cursor { rest: self.rest };
        ahead.filler();
        let year = ahead.figure().filter(|f| matches!(f.digits, 2 | 4))?;
        // `2 March 07:30` has a time, not the year 7.
        if ahead.rest.starts_with([':', 'h']) {
            return None;
        }
        self.rest = ahead.rest;
        Some(year)
    }
}
