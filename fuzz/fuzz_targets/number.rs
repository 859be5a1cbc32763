//! Any text as a number cell: no panic, only finite values, and one answer from the fast
//! path and from the careful one.

#![no_main]

use libfuzzer_sys::fuzz_target;
use steadyfog::intake::number::{Style, infer, read, read_plain};

fuzz_target!(|text: &str| {
    for style in [Style::POINT, Style::COMMA, Style::PER_CELL] {
        let reading = read(text, style);
        assert!(reading.value().is_none_or(f64::is_finite));
        if let Some(plain) = read_plain(text.as_bytes(), style) {
            assert_eq!(reading.value(), Some(plain));
        }
        // What is printed reads back as itself.
        if let (Some(value), true) = (reading.value(), style == Style::POINT) {
            assert_eq!(read(&value.to_string(), style).value(), Some(value));
        }
    }
    let _ = infer(text.split('\n'));
});
