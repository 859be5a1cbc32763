//! Time of the demo lab's whole review, all outputs, as a process of its own.
//!
//! Run with `cargo bench --bench demo`; prints the median and the extremes.

#![allow(clippy::print_stdout, clippy::expect_used, clippy::panic)]

mod timed;

use std::path::Path;
use std::process::Command;

const RUNS: usize = 21;

fn main() {
    let lab = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo-lab");
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("demo-review");
    timed::print_times("demo review", RUNS, || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_steadyfog"));
        command
            .arg("review")
            .arg(&lab)
            .args(["--month", "2026-06", "--now", "2026-07-01T08:00:00Z"])
            .args(["--quiet", "--replace"])
            .arg("--out")
            .arg(&out);
        command
    });
    let written = std::fs::metadata(out.join("review.html")).expect("a review.html");
    assert!(written.len() > 10_000, "an empty report took no time");
}
