//! Any text as a heading row: no panic, a reading for every column, always with a reason.

#![no_main]

use libfuzzer_sys::fuzz_target;
use steadyfog::intake::heading::{Outcome, RowContext, recognise_row};

fuzz_target!(|text: &str| {
    let headings: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let columns = recognise_row(&headings, &RowContext::default());
    assert_eq!(columns.len(), headings.len());
    for column in columns {
        if let Outcome::LeftOut { problem, hint } = column.outcome {
            assert!(!problem.is_empty() && !hint.is_empty());
        }
    }
});
