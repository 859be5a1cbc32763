//! From bytes to text: byte-order marks, UTF-16 without one, UTF-8, else Windows-1252.
//!
//! `lab.toml` may name the encoding; then nothing is detected. Whatever was replaced
//! or assumed is said in [`Decoded::note`].

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// A file as text.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Decoded {
    /// The text, without byte-order mark, with `\n` where the file ends lines by `\r` alone.
    pub(crate) text: String,
    /// Name of the encoding used.
    pub(crate) encoding: &'static str,
    /// What the reader should know: bytes that do not belong to the encoding.
    pub(crate) note: Option<String>,
}

/// Why bytes are not a text log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum NotText {
    /// No byte at all, or white space only.
    Empty,
    /// Another kind of file under the name of a text log: what it looks like.
    Other(&'static str),
    /// Bytes of no text.
    Binary,
    /// `lab.toml` names an encoding that does not exist.
    UnknownEncoding(String),
}

/// First bytes of files that get saved under the name of a text log.
const SIGNATURES: [(&[u8], &str); 6] = [
    (b"PK\x03\x04", "a ZIP file or a workbook (XLSX, ODS)"),
    (b"\xd0\xcf\x11\xe0", "a binary workbook (XLS)"),
    (b"%PDF", "a PDF"),
    (b"PAR1", "a Parquet file"),
    (b"\x1f\x8b", "a gzip-compressed file"),
    (b"\x89PNG", "a picture"),
];

/// The text of `bytes`.
///
/// # Errors
/// [`NotText`] when they are empty, binary, or the named encoding is unknown.
pub(crate) fn decode(bytes: Vec<u8>, named: Option<&str>) -> Result<Decoded, NotText> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(NotText::Empty);
    }
    if let Some((_, what)) = SIGNATURES.iter().find(|(s, _)| bytes.starts_with(s)) {
        return Err(NotText::Other(what));
    }
    let encoding = match named {
        Some(label) => Some(
            Encoding::for_label(label.trim().as_bytes())
                .ok_or_else(|| NotText::UnknownEncoding(label.to_owned()))?,
        ),
        None => detect(&bytes)?,
    };
    let (text, encoding, note) = match encoding {
        Some(encoding) => convert(bytes, encoding),
        // The usual case takes the bytes over, looked at once and without a copy.
        None => match String::from_utf8(bytes) {
            Ok(text) => (text, UTF_8, None),
            Err(error) => {
                let fault = error.utf8_error();
                let bytes = error.into_bytes();
                // A file cut off in the middle of its last character is still UTF-8.
                let is_cut = fault.error_len().is_none() && fault.valid_up_to() + 3 >= bytes.len();
                convert(bytes, if is_cut { UTF_8 } else { WINDOWS_1252 })
            }
        },
    };
    let text = if !text.contains('\n') && text.contains('\r') {
        text.replace('\r', "\n")
    } else {
        text
    };
    Ok(Decoded {
        text,
        encoding: encoding.name(),
        note,
    })
}

/// The encoding that the first bytes tell; `None` for UTF-8 or, where the bytes are not
/// that, Windows-1252.
fn detect(bytes: &[u8]) -> Result<Option<&'static Encoding>, NotText> {
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return Ok(Some(encoding));
    }
    let head = bytes.get(..bytes.len().min(4096)).unwrap_or_default();
    let zeros_at = |parity: usize| {
        head.iter()
            .skip(parity)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let pairs = head.len() / 2;
    let (even, odd) = (zeros_at(0), zeros_at(1));
    // Western text in UTF-16 has a zero in nearly every pair, always on the same side.
    if pairs > 0 && odd * 10 > pairs * 6 && even * 10 < pairs {
        return Ok(Some(UTF_16LE));
    }
    if pairs > 0 && even * 10 > pairs * 6 && odd * 10 < pairs {
        return Ok(Some(UTF_16BE));
    }
    let controls = head
        .iter()
        .filter(|b| b.is_ascii_control() && !matches!(b, b'\t' | b'\n' | b'\r' | 0x0c | 0x1a))
        .count();
    // A few stray control bytes are a dirty log; more than one in twenty is no log.
    if controls * 20 > head.len() {
        return Err(NotText::Binary);
    }
    Ok(None)
}

fn convert(
    mut bytes: Vec<u8>,
    encoding: &'static Encoding,
) -> (String, &'static Encoding, Option<String>) {
    if encoding == UTF_8 {
        if bytes.starts_with(b"\xef\xbb\xbf") {
            bytes.drain(..3);
        }
        return match String::from_utf8(bytes) {
            Ok(text) => (text, encoding, None),
            Err(error) => {
                let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
                let count = text.matches('\u{fffd}').count();
                (text, encoding, Some(replaced(count, encoding)))
            }
        };
    }
    let (text, used, malformed) = encoding.decode(&bytes);
    let note = malformed.then(|| replaced(text.matches('\u{fffd}').count(), used));
    (text.into_owned(), used, note)
}

fn replaced(count: usize, encoding: &'static Encoding) -> String {
    format!(
        "{count} place(s) are not {}; the characters there were lost and read as \u{fffd}.",
        encoding.name()
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str = "Datum;Kammer °C\n2026-01-05;35,1\n";

    fn utf16(text: &str, swap: bool) -> Vec<u8> {
        let bytes = |unit: u16| {
            if swap {
                unit.to_be_bytes()
            } else {
                unit.to_le_bytes()
            }
        };
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn reads_the_same_text_from_every_encoding() {
        let with = |bom: &[u8], body: Vec<u8>| [bom, &body].concat();
        let latin: Vec<u8> = LINE.chars().map(|c| c as u8).collect();
        let cases = [
            (LINE.as_bytes().to_vec(), "UTF-8"),
            (with(b"\xef\xbb\xbf", LINE.into()), "UTF-8"),
            (latin, "windows-1252"),
            (utf16(LINE, false), "UTF-16LE"),
            (utf16(LINE, true), "UTF-16BE"),
            (with(b"\xff\xfe", utf16(LINE, false)), "UTF-16LE"),
            (with(b"\xfe\xff", utf16(LINE, true)), "UTF-16BE"),
        ];
        for (bytes, name) in cases {
            let decoded = decode(bytes, None).unwrap();
            assert_eq!((decoded.text.as_str(), decoded.encoding), (LINE, name));
            assert_eq!(decoded.note, None);
        }
    }

    #[test]
    fn a_named_encoding_wins_and_an_unknown_one_is_told() {
        let decoded = decode(b"Temp \xb0".to_vec(), Some("iso-8859-2")).unwrap();
        assert_eq!(decoded.text, "Temp °");
        let error = decode(b"x".to_vec(), Some("ebcdic-9")).unwrap_err();
        assert_eq!(error, NotText::UnknownEncoding("ebcdic-9".into()));
    }

    #[test]
    fn what_is_not_text_is_refused() {
        assert_eq!(decode(b" \r\n".to_vec(), None), Err(NotText::Empty));
        assert!(matches!(
            decode(b"PK\x03\x04....".to_vec(), None),
            Err(NotText::Other(_))
        ));
        let noise: Vec<u8> = (0..2000_u32).map(|i| ((i * 7919) >> 3) as u8).collect();
        assert_eq!(decode(noise, None), Err(NotText::Binary));
    }

    #[test]
    fn carriage_returns_alone_end_lines() {
        let decoded = decode(b"a;b\r1;2\r".to_vec(), None).unwrap();
        assert_eq!(decoded.text, "a;b\n1;2\n");
    }

    #[test]
    fn a_file_cut_inside_a_character_stays_utf8_and_says_so() {
        let decoded = decode("6.8;35 °".as_bytes()[..8].to_vec(), None).unwrap();
        assert_eq!(decoded.encoding, "UTF-8");
        assert!(decoded.note.unwrap().contains("1 place"));
    }
}
