//! Colours and line styles of the charts.
//!
//! Chosen by us to stay apart in lightness as well as hue, so that they survive the
//! common colour deficiencies and a grey printer.

use plotters::style::RGBColor;

/// Text and the frame.
pub(in crate::report) const INK: RGBColor = RGBColor(0x1d, 0x2b, 0x33);
/// Lesser text.
pub(in crate::report) const MUTED: RGBColor = RGBColor(0x5b, 0x69, 0x70);
/// Grid lines.
pub(in crate::report) const GRID: RGBColor = RGBColor(0xe6, 0xe9, 0xe8);
/// Readings and the line between them.
pub(in crate::report) const DATA: RGBColor = RGBColor(0x24, 0x56, 0x73);
/// Readings before the period, on small charts.
pub(in crate::report) const EARLIER: RGBColor = RGBColor(0x9f, 0xb3, 0xbd);
/// Conformance limits: a heavy solid line.
pub(in crate::report) const CONFORMANCE: RGBColor = RGBColor(0x9c, 0x4a, 0x06);
/// Control limits: a dashed line.
pub(in crate::report) const CONTROL: RGBColor = RGBColor(0x2b, 0x7a, 0x78);
/// Centre line: a thin solid line.
pub(in crate::report) const CENTRE: RGBColor = RGBColor(0x6b, 0x93, 0x92);
/// Signals and drift.
pub(in crate::report) const SIGNAL: RGBColor = RGBColor(0x7d, 0x1d, 0x57);
/// Poles of events: a dotted line.
pub(in crate::report) const EVENT: RGBColor = RGBColor(0x4b, 0x45, 0x37);
/// Shade of the baseline stretch.
pub(in crate::report) const BASELINE: RGBColor = RGBColor(0xed, 0xf2, 0xf1);
/// Shade of the forecast.
pub(in crate::report) const FORECAST: RGBColor = RGBColor(0xe4, 0xc2, 0xd9);
/// Shade of the dates that a step may have.
pub(in crate::report) const STEP: RGBColor = RGBColor(0xf3, 0xe4, 0xee);
/// Most likely course of the forecast: a dashed line.
pub(in crate::report) const COURSE: RGBColor = RGBColor(0x7d, 0x1d, 0x58);
/// Paper.
pub(in crate::report) const PAPER: RGBColor = RGBColor(0xff, 0xff, 0xff);

/// Colours whose strokes are broken, with their dash pattern in drawing units. Each is
/// used for nothing else, which is how the finished text is told to dash them.
pub(in crate::report) const BROKEN: [(RGBColor, &str); 3] =
    [(CONTROL, "22 14"), (EVENT, "4 9"), (COURSE, "12 10")];
