//! A lab folder in a temporary place, and the program run on it as a subprocess.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The clock of every test.
pub const NOW: &str = "2026-07-01T08:00:00Z";

/// A temporary folder to run the program in.
pub struct Workplace {
    dir: tempfile::TempDir,
}

/// What the program printed and how it ended.
#[derive(Debug)]
pub struct Ran {
    pub status: i32,
    pub stdout: String,
    pub stderr: String,
}

impl Workplace {
    pub fn new() -> Workplace {
        Workplace {
            dir: tempfile::tempdir().unwrap(),
        }
    }

    /// A workplace whose `lab` folder holds the given files.
    pub fn with(files: &[(&str, &[u8])]) -> Workplace {
        let place = Workplace::new();
        fs::create_dir_all(place.path("lab")).unwrap();
        for (path, bytes) in files {
            place.write(&format!("lab/{path}"), bytes);
        }
        place
    }

    pub fn path(&self, relative: &str) -> PathBuf {
        self.dir.path().join(relative)
    }

    pub fn write(&self, relative: &str, bytes: &[u8]) {
        let path = self.path(relative);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }

    pub fn read(&self, relative: &str) -> String {
        fs::read_to_string(self.path(relative))
            .unwrap_or_else(|error| panic!("{relative}: {error}"))
    }

    pub fn json(&self, relative: &str) -> serde_json::Value {
        serde_json::from_str(&self.read(relative)).unwrap()
    }

    /// Runs the program in the workplace.
    pub fn run(&self, args: &[&str]) -> Ran {
        let output = Command::new(env!("CARGO_BIN_EXE_steadyfog"))
            .args(args)
            .current_dir(self.dir.path())
            .env_remove("COLUMNS")
            .env_remove("NO_COLOR")
            .output()
            .unwrap();
        Ran::from(output)
    }

    /// Runs `steadyfog review lab --out out` with the tests' clock and further options.
    pub fn review(&self, more: &[&str]) -> Ran {
        let mut args = vec!["review", "lab", "--out", "out", "--now", NOW];
        args.extend_from_slice(more);
        self.run(&args)
    }

    /// Every file below a folder, relative, in order.
    pub fn files(&self, relative: &str) -> Vec<String> {
        let root = self.path(relative);
        let mut found = Vec::new();
        collect(&root, &root, &mut found);
        found.sort();
        found
    }
}

impl Ran {
    /// Asserts the exit status, showing what was printed when it differs.
    #[track_caller]
    pub fn expect(self, status: i32) -> Ran {
        assert_eq!(
            self.status, status,
            "\n--- stdout\n{}\n--- stderr\n{}",
            self.stdout, self.stderr
        );
        assert!(!self.stderr.contains("panicked"), "{}", self.stderr);
        self
    }

    /// Asserts that standard error says this.
    #[track_caller]
    pub fn complains(self, text: &str) -> Ran {
        assert!(
            self.stderr.contains(text),
            "standard error lacks {text:?}:\n{}",
            self.stderr
        );
        self
    }
}

impl From<Output> for Ran {
    fn from(output: Output) -> Ran {
        Ran {
            status: output.status.code().unwrap_or(-1),
            stdout: String::from_utf8_lossy(&output.stdout).into_owned(),
            stderr: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

/// A well-kept log: `days` working days of one cabinet from 2026-01-01 on, seeded.
pub fn plain_log(cabinet: &str, days: usize) -> Vec<u8> {
    let mut text =
        String::from("Date;Cabinet;Cabinet temp (°C);Tower temp (°C);Air pressure (kPa);pH\n");
    let mut date = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
    let mut state = 7_u64;
    let mut noise = || {
        // A small linear congruential generator (Knuth's MMIX constants): uniform in -0.5..0.5.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
    };
    for _ in 0..days {
        while matches!(
            chrono::Datelike::weekday(&date),
            chrono::Weekday::Sat | chrono::Weekday::Sun
        ) {
            date = date.succ_opt().unwrap();
        }
        text.push_str(&format!(
            "{date};{cabinet};{:.1};{:.1};{:.1};{:.2}\n",
            35.0 + noise(),
            47.8 + noise(),
            98.0 + 2.0 * noise(),
            6.85 + 0.1 * noise(),
        ));
        date = date.succ_opt().unwrap();
    }
    text.into_bytes()
}

fn collect(root: &Path, folder: &Path, found: &mut Vec<String>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, found);
        } else {
            let relative = path.strip_prefix(root).unwrap();
            found.push(relative.to_string_lossy().replace('\\', "/"));
        }
    }
}
