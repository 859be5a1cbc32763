//! A progress bar on a terminal, and nothing anywhere else.

use crate::progress::Progress;
use indicatif::{ProgressBar, ProgressStyle};

/// A bar on standard error.
#[derive(Debug)]
pub(crate) struct Bar(ProgressBar);

impl Bar {
    /// A bar that is drawn from its first step on.
    pub(crate) fn new() -> Bar {
        let bar = ProgressBar::new(0);
        if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {percent} %") {
            bar.set_style(style);
        }
        Bar(bar)
    }
}

impl Default for Bar {
    fn default() -> Self {
        Bar::new()
    }
}

impl Progress for Bar {
    fn begin(&self, what: &str, total: u64) {
        self.0.set_length(total);
        self.0.set_position(0);
        self.0.set_message(what.to_owned());
    }
    fn advance(&self, steps: u64) {
        self.0.inc(steps);
    }
    fn end(&self) {
        self.0.finish_and_clear();
    }
}
