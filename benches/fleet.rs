//! Speed and memory on a generated fleet: 1,000 cabinets, ten years, about 200 MB of CSV.
//!
//! Run with `cargo bench --bench fleet`. It prints how long polars takes merely to read
//! the same files, how long the review to JSON takes, the most memory the review held,
//! and the two ratios that matter: time over reading time, memory over the files' size.
//! The reading program is a package of its own (`benches/reading`), built at the first run.
//! Both programs run as processes of their own, start to end, in turn, and the median of
//! each counts: what else the machine does then falls on both alike. The fleet is made once and kept below the target folder.

#![allow(clippy::print_stdout, clippy::expect_used, clippy::panic)]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use steadyfog::demo::fleet;

const RUNS: usize = 11;

fn main() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fleet");
    let logs = fleet_logs(&folder);
    let bytes: u64 = logs
        .iter()
        .map(|path| {
            std::fs::metadata(path)
                .expect("a log that was written")
                .len()
        })
        .sum();
    println!("fleet      {:?}", fleet::BENCHMARK);
    println!("files      {} of {:.1} MB in all", logs.len(), mega(bytes));

    let reader = reader();
    let read = || {
        let mut command = Command::new(&reader);
        command.args(&logs);
        command
    };
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fleet-review");
    let review = || {
        // A month is reviewed into a folder of its own; taking an old report's place is not timed.
        let _ = std::fs::remove_dir_all(&out);
        let mut command = Command::new(env!("CARGO_BIN_EXE_steadyfog"));
        command
            .arg("review")
            .arg(&folder)
            .args(["--month", "2026-06", "--now", "2026-07-01T08:00:00Z"])
            .args(["--only", "json", "--points", "none", "--quiet"])
            .arg("--out")
            .arg(&out);
        command
    };
    let (reading, review) = in_turn(read, review);
    assert_reviewed(&out.join("review.json"));
    println!("polars     reads the files in {:.3} s", reading.seconds());
    println!("steadyfog  reviews them in    {:.3} s", review.seconds());
    println!(
        "ratio      {:.2} × the reading time",
        review.seconds() / reading.seconds()
    );
    match (review.peak, reading.peak) {
        (Some(peak), Some(polars)) => println!(
            "memory     {:.0} MB at most, {:.2} × the files' size (polars: {:.0} MB)",
            mega(peak),
            peak as f64 / bytes as f64,
            mega(polars)
        ),
        _ => println!("memory     not measured: this system has no /proc"),
    }
}

/// A time counts only when the work was done: every cabinet, every day of the month.
fn assert_reviewed(json: &Path) {
    let text = std::fs::read_to_string(json).expect("a review.json");
    let review: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let cabinets = u64::from(fleet::BENCHMARK.cabinets);
    let summary = &review["summary"];
    assert_eq!(summary["cabinets"], cabinets);
    assert_eq!(summary["checks"], 30 * cabinets);
    assert_eq!(summary["rejected_cells"], 0);
}

/// The fleet's logs, made anew unless a complete one is there.
fn fleet_logs(folder: &Path) -> Vec<PathBuf> {
    let done = folder.with_extension("done");
    let size = format!("{:?}", fleet::BENCHMARK);
    if std::fs::read_to_string(&done).is_ok_and(|text| text == size) {
        let mut logs: Vec<PathBuf> = std::fs::read_dir(folder.join("logs"))
            .expect("the fleet's logs")
            .map(|entry| entry.expect("a log").path())
            .collect();
        logs.sort();
        return logs;
    }
    let start = Instant::now();
    let logs = fleet::write(folder, fleet::BENCHMARK).expect("a folder that can be written");
    std::fs::write(&done, size).expect("a folder that can be written");
    println!("generated  in {:.1} s", start.elapsed().as_secs_f64());
    logs
}

/// The program that only reads, built from `benches/reading` (minutes, the first time).
fn reader() -> PathBuf {
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("reading");
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/reading/Cargo.toml");
    let status = Command::new(env!("CARGO"))
        .args(["build", "--release", "--locked", "--manifest-path"])
        .arg(manifest)
        .arg("--target-dir")
        .arg(&target)
        .status()
        .expect("cargo");
    assert!(status.success(), "benches/reading was not built");
    target.join("release/reading")
}

/// What a run took.
#[derive(Debug, Clone, Copy)]
struct Run {
    time: Duration,
    /// Most resident memory, bytes.
    peak: Option<u64>,
}

impl Run {
    fn seconds(&self) -> f64 {
        self.time.as_secs_f64()
    }
}

/// Of two commands, the median time of runs in turn and the memory of one more run.
fn in_turn(one: impl Fn() -> Command, other: impl Fn() -> Command) -> (Run, Run) {
    let times = (0..RUNS).map(|_| (time(one()), time(other())));
    let (mut of_one, mut of_other): (Vec<Duration>, Vec<Duration>) = times.unzip();
    let run = |times: &mut Vec<Duration>, command: Command| {
        times.sort();
        Run {
            time: times[RUNS / 2],
            peak: peak(command),
        }
    };
    (run(&mut of_one, one()), run(&mut of_other, other()))
}

fn time(mut command: Command) -> Duration {
    let start = Instant::now();
    let status = command
        .stdout(Stdio::null())
        .status()
        .expect("a program that starts");
    let time = start.elapsed();
    assert!(status.success(), "{command:?} ended with {status}");
    time
}

/// Most resident memory of a run, bytes. It is not timed: asking a thousand times a second
/// takes a twentieth of a core from a program that uses them all.
fn peak(mut command: Command) -> Option<u64> {
    let mut child = command
        .stdout(Stdio::null())
        .spawn()
        .expect("a program that starts");
    let mut peak = None;
    let status = loop {
        // The kernel's own high-water mark only rises, so the last look before the end counts.
        peak = high_water(child.id()).max(peak);
        if let Some(status) = child.try_wait().expect("a child to wait for") {
            break status;
        }
        std::thread::sleep(Duration::from_millis(1));
    };
    assert!(status.success(), "{command:?} ended with {status}");
    peak
}

/// Most resident memory of a process so far, bytes, from its `VmHWM` line.
fn high_water(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kibibytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes * 1024)
}

fn mega(bytes: u64) -> f64 {
    bytes as f64 / 1e6
}
