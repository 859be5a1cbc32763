//! Any text as a date or time cell, any number as a spreadsheet's day: no panic, and an
//! ISO date reads back as itself.

#![no_main]

use libfuzzer_sys::fuzz_target;
use steadyfog::intake::date::{
    DateReading, DateStyle, Epoch, Stamp, from_serial, infer_order, read, read_time,
};
use steadyfog::lab::DateOrder;

fuzz_target!(|input: (f64, &str)| {
    let (serial, text) = input;
    let _ = from_serial(serial, Epoch::default());
    let _ = read_time(text);
    let _ = infer_order(text.split('\n'));
    for order in [
        None,
        Some(DateOrder::DayFirst),
        Some(DateOrder::MonthFirst),
        Some(DateOrder::YearFirst),
    ] {
        let style = DateStyle {
            order,
            ..DateStyle::default()
        };
        if let DateReading::Read(Stamp::Day(day)) = read(text, style) {
            let again = read(&day.format("%Y-%m-%d").to_string(), style);
            assert_eq!(again, DateReading::Read(Stamp::Day(day)));
        }
    }
});
