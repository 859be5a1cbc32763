//! Strict reading of TOML: every key must be known, every value of its type, and every
//! complaint carries line and column.
//!
//! It knows nothing of what the keys mean; `config`, `profile` and `baseline_file` do.

use super::error::{At, LabError, nearest};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The text of a settings file with its name.
#[derive(Debug)]
pub(crate) struct Text {
    pub(crate) file: Arc<str>,
    text: String,
}

impl Text {
    /// A text that is already at hand.
    pub(crate) fn new(file: impl Into<Arc<str>>, text: &str) -> Text {
        Text {
            file: file.into(),
            text: text.trim_start_matches('\u{feff}').to_owned(),
        }
    }

    /// The file of that relative name in the folder; `None` when there is none.
    pub(crate) fn read(root: &Path, file: &str) -> Result<Option<Text>, LabError> {
        let bytes = match std::fs::read(root.join(file)) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => {
                return Err(LabError::Unreadable {
                    file: file.to_owned(),
                    source,
                });
            }
        };
        match std::str::from_utf8(&bytes) {
            Ok(text) => Ok(Some(Text::new(file, text))),
            Err(e) => {
                let good = String::from_utf8_lossy(bytes.get(..e.valid_up_to()).unwrap_or(&[]));
                let text = Text::new(file, &good);
                Err(LabError::NotUtf8(text.at(text.text.len())))
            }
        }
    }

    /// Line and column of a byte offset.
    pub(crate) fn at(&self, offset: usize) -> At {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let before = self.text.get(..offset).unwrap_or("");
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        At {
            file: Arc::clone(&self.file),
            line: from_1(before.matches('\n').count()),
            column: from_1(before.get(line_start..).unwrap_or("").chars().count()),
        }
    }

    /// The document's root table.
    pub(crate) fn parse(&self) -> Result<Spanned<DeTable<'_>>, LabError> {
        DeTable::parse(&self.text).map_err(|e| LabError::Syntax {
            at: self.at(e.span().map_or(0, |s| s.start)),
            message: e.message().replace('\n', ", "),
        })
    }

    fn written(&self, span: Range<usize>) -> String {
        crate::issue::shown(self.text.get(span).unwrap_or("").trim())
    }
}

/// A count from 0 as a number from 1.
fn from_1(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX).saturating_add(1)
}

/// A value with the place and the key it was written at.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field<'a> {
    pub(crate) text: &'a Text,
    pub(crate) key: &'a str,
    key_start: usize,
    value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Field<'a> {
    /// Where the value stands.
    pub(crate) fn at(&self) -> At {
        self.text.at(self.value.span().start)
    }

    /// Where the key stands.
    pub(crate) fn key_at(&self) -> At {
        self.text.at(self.key_start)
    }

    /// The complaint that this value makes no sense.
    pub(crate) fn bad(&self, expected: impl Into<String>) -> LabError {
        LabError::BadValue {
            at: self.at(),
            key: self.key.to_owned(),
            found: self.text.written(self.value.span()),
            expected: expected.into(),
            nearest: None,
        }
    }

    /// The complaint that this is none of the accepted words.
    pub(crate) fn not_one_of(&self, written: &str, known: &[&str]) -> LabError {
        LabError::BadValue {
            at: self.at(),
            key: self.key.to_owned(),
            found: format!("\"{}\"", crate::issue::shown(written)),
            expected: format!("one of: {}", known.join(", ")),
            nearest: nearest(written, known.iter().copied()),
        }
    }

    fn wrong(&self, expected: &str) -> LabError {
        LabError::WrongType {
            at: self.at(),
            key: self.key.to_owned(),
            expected: expected.to_owned(),
            found: match self.value.get_ref() {
                DeValue::String(_) => "a text",
                DeValue::Integer(_) => "a whole number",
                DeValue::Float(_) => "a number",
                DeValue::Boolean(_) => "true or false",
                DeValue::Datetime(_) => "a date",
                DeValue::Array(_) => "a list",
                DeValue::Table(_) => "a table",
            },
        }
    }

    /// A text that is not blank.
    pub(crate) fn string(&self) -> Result<&'a str, LabError> {
        match self.value.get_ref() {
            DeValue::String(s) if s.trim().is_empty() => Err(self.bad("a text that is not blank")),
            DeValue::String(s) => Ok(s),
            _ => Err(self.wrong("a text in quotation marks")),
        }
    }

    /// One of a few words.
    pub(crate) fn word(&self, known: &[&str]) -> Result<&'a str, LabError> {
        let written = self.string()?;
        if known.contains(&written) {
            Ok(written)
        } else {
            Err(self.not_one_of(written, known))
        }
    }

    /// A finite number.
    pub(crate) fn number(&self) -> Result<f64, LabError> {
        let number = match self.value.get_ref() {
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix())
                .ok()
                .map(|i| i as f64),
            _ => return Err(self.wrong("a number")),
        };
        number
            .filter(|n| n.is_finite())
            .ok_or_else(|| self.bad("a finite number"))
    }

    /// A number above 0.
    pub(crate) fn positive(&self) -> Result<f64, LabError> {
        let number = self.number()?;
        if number > 0.0 {
            Ok(number)
        } else {
            Err(self.bad("a number above 0"))
        }
    }

    /// A whole number of at least `least`.
    pub(crate) fn count(&self, least: usize) -> Result<usize, LabError> {
        let DeValue::Integer(i) = self.value.get_ref() else {
            return Err(self.wrong("a whole number"));
        };
        i64::from_str_radix(i.as_str(), i.radix())
            .ok()
            .and_then(|i| usize::try_from(i).ok())
            .filter(|i| *i >= least)
            .ok_or_else(|| self.bad(format!("a whole number of at least {least}")))
    }

    /// `true` or `false`.
    pub(crate) fn boolean(&self) -> Result<bool, LabError> {
        match self.value.get_ref() {
            DeValue::Boolean(b) => Ok(*b),
            _ => Err(self.wrong("true or false, without quotation marks")),
        }
    }

    /// A single character.
    pub(crate) fn character(&self) -> Result<char, LabError> {
        let DeValue::String(s) = self.value.get_ref() else {
            return Err(self.wrong("one character in quotation marks"));
        };
        let mut chars = s.chars();
        match (chars.next(), chars.next()) {
            (Some(c), None) => Ok(c),
            _ => Err(self.bad("one character, as \";\"")),
        }
    }

    /// The items of a list.
    pub(crate) fn list(&self) -> Result<Vec<Field<'a>>, LabError> {
        let DeValue::Array(items) = self.value.get_ref() else {
            return Err(self.wrong("a list in square brackets"));
        };
        Ok(items
            .iter()
            .map(|value| Field {
                value,
                key_start: value.span().start,
                ..*self
            })
            .collect())
    }

    /// A list of texts.
    pub(crate) fn strings(&self) -> Result<Vec<String>, LabError> {
        self.list()?
            .iter()
            .map(|f| f.string().map(str::to_owned))
            .collect()
    }

    /// One value or a list of them, each a field.
    pub(crate) fn one_or_more(&self) -> Result<Vec<Field<'a>>, LabError> {
        match self.value.get_ref() {
            DeValue::Array(_) => {
                let items = self.list()?;
                if items.is_empty() {
                    return Err(self.bad("a list that is not empty"));
                }
                Ok(items)
            }
            _ => Ok(vec![*self]),
        }
    }

    /// A calendar day, in quotation marks or bare.
    pub(crate) fn day(&self) -> Result<chrono::NaiveDate, LabError> {
        let written = match self.value.get_ref() {
            DeValue::Datetime(date) => date.to_string(),
            DeValue::String(text) => text.trim().to_owned(),
            _ => return Err(self.wrong("a date, as 2026-03-14")),
        };
        chrono::NaiveDate::parse_from_str(&written, "%Y-%m-%d")
            .ok()
            .filter(|day| (1970..=2100).contains(&chrono::Datelike::year(day)))
            .ok_or_else(|| self.bad("a date from 1970 to 2100, as 2026-03-14"))
    }

    /// A table, whose keys are not yet checked.
    pub(crate) fn table(&self) -> Result<Table<'a>, LabError> {
        match self.value.get_ref() {
            DeValue::Table(table) => Ok(Table {
                text: self.text,
                name: self.key,
                start: self.value.span().start,
                table,
            }),
            _ => Err(self.wrong("a table")),
        }
    }

    /// Whether the value is a table.
    pub(crate) fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    /// Whether the value is a text.
    pub(crate) fn is_text(&self) -> bool {
        self.value.get_ref().is_str()
    }

    /// The tables of an array of tables.
    pub(crate) fn tables(&self) -> Result<Vec<Table<'a>>, LabError> {
        if self.is_table() {
            return Err(self.wrong(&format!("a list of tables, each under [[{}]]", self.key)));
        }
        self.list()?.iter().map(Field::table).collect()
    }
}

/// A table under strict reading.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Table<'a> {
    pub(crate) text: &'a Text,
    name: &'a str,
    start: usize,
    table: &'a DeTable<'a>,
}

impl<'a> Table<'a> {
    /// The root table of a parsed document.
    pub(crate) fn root(text: &'a Text, document: &'a Spanned<DeTable<'a>>) -> Table<'a> {
        Table {
            text,
            name: "the file",
            start: 0,
            table: document.get_ref(),
        }
    }

    /// Where the table begins.
    pub(crate) fn at(&self) -> At {
        self.text.at(self.start)
    }

    /// Refuses keys other than these.
    pub(crate) fn only(&self, known: &[&str]) -> Result<(), LabError> {
        match self.fields().find(|f| !known.contains(&f.key)) {
            None => Ok(()),
            Some(field) => Err(unknown_key(&field, known.iter().copied())),
        }
    }

    /// The value of a key; `None` when the key is absent.
    pub(crate) fn get(&self, key: &str) -> Option<Field<'a>> {
        self.fields().find(|f| f.key == key)
    }

    /// The value of a key that must be there.
    pub(crate) fn need(&self, key: &'static str, expected: &str) -> Result<Field<'a>, LabError> {
        self.get(key).ok_or_else(|| LabError::MissingKey {
            at: self.at(),
            within: self.name.to_owned(),
            key,
            expected: expected.to_owned(),
        })
    }

    /// All keys with their values, in the order of the file.
    pub(crate) fn fields(&self) -> impl Iterator<Item = Field<'a>> + use<'a> {
        let text = self.text;
        let mut fields: Vec<Field<'a>> = self
            .table
            .iter()
            .map(|(key, value)| Field {
                text,
                key: key.get_ref().as_ref(),
                key_start: key.span().start,
                value,
            })
            .collect();
        fields.sort_by_key(|f| f.key_start);
        fields.into_iter()
    }

    /// The value of a key under that reading; `None` when the key is absent.
    pub(crate) fn opt<T>(
        &self,
        key: &str,
        read: impl FnOnce(&Field<'a>) -> Result<T, LabError>,
    ) -> Result<Option<T>, LabError> {
        self.get(key).map(|f| read(&f)).transpose()
    }
}

/// The complaint about a key that means nothing where it stands.
pub(crate) fn unknown_key<'k>(
    field: &Field<'_>,
    known: impl Iterator<Item = &'k str> + Clone,
) -> LabError {
    LabError::UnknownKey {
        at: field.key_at(),
        key: crate::issue::shown(field.key),
        nearest: nearest(field.key, known.clone()),
        known: known.map(str::to_owned).collect(),
    }
}
