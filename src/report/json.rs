//! `review.json`: the wire format as bytes, and its JSON Schema.
//!
//! The outer levels take a line an item and the inner ones share a line (a reading, a
//! signal, a piece of evidence each on one), so that the file can be read by a person,
//! compared line by line, and does not grow threefold in white space.

use super::wire::Review;
use rayon::prelude::*;
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};
use std::io::{self, Write};

/// Levels that take a line an item; anything deeper shares its line.
const LEVELS_ON_LINES: usize = 4;

/// Items of a long list that one thread turns into text at a time.
const ITEMS_AT_ONCE: usize = 32;

/// Such pieces made side by side while those before them are written: enough that threads
/// seldom wait for each other, few enough that a fleet's text is never whole in memory.
const PIECES_AT_ONCE: usize = 32;

/// The review as JSON bytes, ending in a line feed.
///
/// # Errors
/// When a value cannot be serialised, which no [`Review`] brings about.
pub fn to_bytes(review: &Review) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    write(review, &mut bytes)?;
    Ok(bytes)
}

/// Writes the review as JSON, ending in a line feed.
///
/// The long lists of a fleet are made in pieces side by side, and written while the next
/// ones are made; the bytes are those of one writer from start to end.
///
/// # Errors
/// Those of the writer, after which it may hold a part of the review.
pub fn write<W: Write + Send>(review: &Review, to: W) -> io::Result<()> {
    // Taken apart by name: a field that is added cannot be forgotten here.
    let Review {
        schema,
        program,
        made_at,
        lab,
        zone,
        period,
        profiles,
        cabinets,
        inputs,
        issues,
        events,
        series,
        findings,
        summary,
        rules,
        cautions,
    } = review;
    let mut object = Object::open(to)?;
    object.field("schema", schema)?;
    object.field("program", program)?;
    object.field("made_at", made_at)?;
    object.field("lab", lab)?;
    object.field("zone", zone)?;
    object.field("period", period)?;
    object.field("profiles", profiles)?;
    object.list("cabinets", cabinets)?;
    object.field("inputs", inputs)?;
    object.list("issues", issues)?;
    object.field("events", events)?;
    object.list("series", series)?;
    object.list("findings", findings)?;
    object.field("summary", summary)?;
    object.field("rules", rules)?;
    object.field("cautions", cautions)?;
    object.close()
}

/// The outermost object while its fields are written one by one.
struct Object<W> {
    to: W,
    /// Made, not yet written.
    bytes: Vec<u8>,
    lines: Lines,
    is_first: bool,
}

impl<W: Write + Send> Object<W> {
    fn open(to: W) -> io::Result<Object<W>> {
        let (mut bytes, mut lines) = (Vec::new(), Lines::default());
        lines.begin_object(&mut bytes)?;
        Ok(Object {
            to,
            bytes,
            lines,
            is_first: true,
        })
    }

    fn key(&mut self, name: &str) -> io::Result<()> {
        self.lines
            .begin_object_key(&mut self.bytes, self.is_first)?;
        self.is_first = false;
        serde_json::to_writer(&mut self.bytes, name)?;
        self.lines.begin_object_value(&mut self.bytes)
    }

    fn field<T: Serialize>(&mut self, name: &str, value: &T) -> io::Result<()> {
        self.key(name)?;
        self.lines.value(&mut self.bytes, value)?;
        self.lines.end_object_value(&mut self.bytes)
    }

    fn list<T: Serialize + Sync>(&mut self, name: &str, items: &[T]) -> io::Result<()> {
        self.key(name)?;
        self.lines.begin_array(&mut self.bytes)?;
        let depth = self.lines.depth;
        // What is written, and what is made meanwhile; they change places.
        let mut ready = vec![std::mem::take(&mut self.bytes)];
        let mut next: Vec<Vec<u8>> = vec![Vec::new(); PIECES_AT_ONCE];
        for (round, items) in items.chunks(ITEMS_AT_ONCE * PIECES_AT_ONCE).enumerate() {
            let (written, made) = rayon::join(
                || write_pieces(&mut self.to, &ready),
                || {
                    next.par_iter_mut()
                        .zip(items.par_chunks(ITEMS_AT_ONCE))
                        .enumerate()
                        .try_for_each(|(place, (piece, items))| {
                            make_piece(piece, items, depth, round == 0 && place == 0)
                        })
                },
            );
            written?;
            made?;
            next.truncate(items.len().div_ceil(ITEMS_AT_ONCE));
            ready.resize(PIECES_AT_ONCE, Vec::new());
            std::mem::swap(&mut ready, &mut next);
        }
        write_pieces(&mut self.to, &ready)?;
        self.lines.holds_something = !items.is_empty();
        self.lines.end_array(&mut self.bytes)?;
        self.lines.end_object_value(&mut self.bytes)
    }

    fn close(mut self) -> io::Result<()> {
        self.lines.end_object(&mut self.bytes)?;
        self.bytes.push(b'\n');
        self.to.write_all(&self.bytes)
    }
}

/// The text of some items of a list, at that depth, in place of what `piece` held.
fn make_piece<T: Serialize>(
    piece: &mut Vec<u8>,
    items: &[T],
    depth: usize,
    opens_list: bool,
) -> io::Result<()> {
    piece.clear();
    let mut lines = Lines {
        depth,
        holds_something: !opens_list,
    };
    for (place, item) in items.iter().enumerate() {
        lines.begin_array_value(piece, opens_list && place == 0)?;
        lines.value(piece, item)?;
        lines.end_array_value(piece)?;
    }
    Ok(())
}

fn write_pieces<W: Write>(to: &mut W, pieces: &[Vec<u8>]) -> io::Result<()> {
    pieces.iter().try_for_each(|piece| to.write_all(piece))
}

/// The JSON Schema of `review.json`, as the file that is shipped.
///
/// # Errors
/// When the schema cannot be serialised, which its types rule out.
pub fn schema() -> serde_json::Result<String> {
    schema_of::<Review>()
}

/// The JSON Schema of a wire format as text, ending in a line feed.
pub(super) fn schema_of<T: schemars::JsonSchema>() -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(T))?;
    text.push('\n');
    Ok(text)
}

/// Line breaks and indents on the outer levels, none on the inner ones.
#[derive(Debug, Default)]
struct Lines {
    depth: usize,
    holds_something: bool,
}

impl Lines {
    /// Writes a value at this depth.
    fn value<T: Serialize>(&self, writer: &mut Vec<u8>, value: &T) -> io::Result<()> {
        let lines = Lines {
            depth: self.depth,
            holds_something: false,
        };
        value.serialize(&mut Serializer::with_formatter(writer, lines))?;
        Ok(())
    }

    fn open<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth += 1;
        self.holds_something = false;
        writer.write_all(bracket)
    }

    fn close<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        let on_lines = self.depth <= LEVELS_ON_LINES;
        self.depth -= 1;
        if on_lines && self.holds_something {
            self.line(writer)?;
        }
        self.holds_something = true;
        writer.write_all(bracket)
    }

    fn item<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        if self.depth <= LEVELS_ON_LINES {
            self.line(writer)
        } else if first {
            Ok(())
        } else {
            writer.write_all(b" ")
        }
    }

    fn line<W: ?Sized + Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        for _ in 0..self.depth {
            writer.write_all(b" ")?;
        }
        Ok(())
    }
}

impl Formatter for Lines {
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"[")
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"]")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, w: &mut W, first: bool) -> io::Result<()> {
        self.item(w, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.holds_something = true;
        Ok(())
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, w: &mut W, first: bool) -> io::Result<()> {
        self.item(w, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.holds_something = true;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::checks::assert_schema_is_shipped;
    use crate::report::fixture::review;

    #[test]
    fn the_shipped_schema_is_current() {
        assert_schema_is_shipped("review.schema.json", &schema().unwrap());
    }

    #[test]
    fn a_review_satisfies_its_schema_and_comes_back_the_same() {
        let bytes = to_bytes(&review()).unwrap();
        let value: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
        let schema: serde_json::Value = serde_json::from_str(&schema().unwrap()).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let complaints: Vec<String> = validator
            .iter_errors(&value)
            .map(|e| e.to_string())
            .collect();
        assert_eq!(complaints, Vec::<String>::new());
        let back: Review = serde_json::from_slice(&bytes).unwrap();
        assert_eq!(back, review());
    }

    #[test]
    fn the_schema_refuses_what_is_not_a_review() {
        let schema: serde_json::Value = serde_json::from_str(&schema().unwrap()).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let mut value = serde_json::to_value(review()).unwrap();
        value["series"][0]["points"][0]["value"] = "6.8".into();
        assert!(!validator.is_valid(&value));
        value["series"][0]["points"][0]["value"] = 6.8.into();
        assert!(validator.is_valid(&value));
        value.as_object_mut().unwrap().remove("findings");
        assert!(!validator.is_valid(&value));
    }

    #[test]
    fn pieces_written_side_by_side_are_the_bytes_of_one_writer() {
        let mut many = review();
        while many.series.len() < 2 * ITEMS_AT_ONCE * PIECES_AT_ONCE + 3 * ITEMS_AT_ONCE {
            many.series.extend(review().series);
        }
        let mut bare = review();
        bare.series.clear();
        bare.findings.clear();
        bare.issues.clear();
        for review in [many, bare, review()] {
            let mut whole = Vec::new();
            let mut serializer = Serializer::with_formatter(&mut whole, Lines::default());
            review.serialize(&mut serializer).unwrap();
            whole.push(b'\n');
            assert!(to_bytes(&review).unwrap() == whole);
        }
    }

    #[test]
    fn a_reading_takes_one_line_and_numbers_keep_every_digit() {
        let mut review = review();
        review.series[0].points[0].value = 0.1 + 0.2;
        let text = String::from_utf8(to_bytes(&review).unwrap()).unwrap();
        let line = text
            .lines()
            .find(|l| l.contains("0.30000000000000004"))
            .unwrap();
        assert!(line.starts_with("    {\"at\": \"") && line.contains("\"stage\": 0}"));
        assert!(text.starts_with("{\n \"schema\": \"steadyfog.review/1\",\n"));
        assert!(text.ends_with("\n}\n"));
    }
}
