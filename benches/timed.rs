//! What the benchmarks of a whole command share: run it several times and tell how long.

use std::process::{Command, Stdio};
use std::time::Instant;

/// Runs what `command` makes `runs` times, each as a process of its own, and prints the
/// median and the extremes after `what`.
pub(crate) fn print_times(what: &str, runs: usize, command: impl Fn() -> Command) {
    let mut seconds: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            let status = command()
                .stdout(Stdio::null())
                .status()
                .expect("a program that starts");
            assert!(status.success(), "{what}: ended with {status}");
            start.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    println!(
        "{what}: median {:.3} s of {runs} runs ({:.3} to {:.3} s)",
        seconds[runs / 2],
        seconds[0],
        seconds[runs - 1]
    );
}
