//! Time of the demo lab's whole review, all outputs, as a process of its own.
//!
//! Run with `cargo bench --bench demo`; prints the median and the extremes.

#![allow(clippy::print_stdout, clippy::expect_used, clippy::panic)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

const RUNS: usize = 21;

fn main() {
    let lab = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo-lab");
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("demo-review");
    let mut seconds: Vec<f64> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            let status = Command::new(env!("CARGO_BIN_EXE_steadyfog"))
                .arg("review")
                .arg(&lab)
                .args(["--month", "2026-06", "--now", "2026-07-01T08:00:00Z"])
                .args(["--quiet", "--replace"])
                .arg("--out")
                .arg(&out)
                .stdout(Stdio::null())
                .status()
                .expect("a program that starts");
            assert!(status.success(), "the review ended with {status}");
            start.elapsed().as_secs_f64()
        })
        .collect();
    let written = std::fs::metadata(out.join("review.html")).expect("a review.html");
    assert!(written.len() > 10_000, "an empty report took no time");
    seconds.sort_by(f64::total_cmp);
    println!(
        "demo review: median {:.3} s of {RUNS} runs ({:.3} to {:.3} s)",
        seconds[RUNS / 2],
        seconds[0],
        seconds[RUNS - 1]
    );
}
