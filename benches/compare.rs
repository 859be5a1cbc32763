//! Time of comparing 50 labs of 20 cabinets over a year, as a process of its own.
//!
//! Run with `cargo bench --bench compare`. The labs are made once and kept below the
//! target folder; every pair of the 1,000 cabinets is judged in every characteristic, and
//! the time is told from start to end, reading of the logs included.

#![allow(clippy::print_stdout, clippy::expect_used, clippy::panic)]

mod timed;

use std::path::{Path, PathBuf};
use std::process::Command;
use steadyfog::demo::fleet;

const RUNS: usize = 5;
const LABS: u32 = 50;
const SIZE: fleet::Size = fleet::Size {
    cabinets: 20 * LABS,
    days: 365,
    files: LABS,
};

fn main() {
    let labs = labs(&Path::new(env!("CARGO_TARGET_TMPDIR")).join("compare-labs"));
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("compare-out");
    let what = format!(
        "comparison of {LABS} labs, {} cabinets, {} days",
        SIZE.cabinets, SIZE.days
    );
    timed::print_times(&what, RUNS, || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_steadyfog"));
        command
            .arg("compare")
            .args(&labs)
            .args(["--now", "2027-01-01T08:00:00Z", "--only", "json"])
            .args(["--quiet", "--replace"])
            .arg("--out")
            .arg(&out);
        command
    });
    assert_compared(&out.join("compare.json"));
}

/// A time counts only when the work was done: every pair in every characteristic.
fn assert_compared(json: &Path) {
    let text = std::fs::read_to_string(json).expect("a compare.json");
    let comparison: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let cabinets = u64::from(SIZE.cabinets);
    let compared = comparison["characteristics"].as_array().expect("a list");
    assert!(
        compared.len() >= 6,
        "only {} characteristics",
        compared.len()
    );
    for characteristic in compared {
        let pairs = &characteristic["pair_count"]["all"];
        assert_eq!(*pairs, cabinets * (cabinets - 1) / 2);
    }
}

/// The lab folders, made anew unless they are there.
fn labs(root: &Path) -> Vec<PathBuf> {
    let folders: Vec<PathBuf> = (1..=LABS)
        .map(|n| root.join(format!("lab-{n:02}")))
        .collect();
    let done = root.with_extension("done");
    let size = format!("{SIZE:?}");
    if std::fs::read_to_string(&done).is_ok_and(|text| text == size) {
        return folders;
    }
    let logs = fleet::write(&root.join("fleet"), SIZE).expect("a folder that can be written");
    for (n, (folder, log)) in (1..).zip(folders.iter().zip(&logs)) {
        std::fs::create_dir_all(folder.join("logs")).expect("a folder that can be written");
        std::fs::rename(log, folder.join("logs/checks.csv")).expect("a log to move");
        let settings = format!("[lab]\nname = \"Lab {n}\"\nprofile = \"iso-9227-nss\"\n");
        std::fs::write(folder.join("lab.toml"), settings).expect("a folder that can be written");
    }
    std::fs::write(&done, size).expect("a folder that can be written");
    folders
}
