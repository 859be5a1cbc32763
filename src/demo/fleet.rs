//! A generated fleet for the benchmark: large, plain and steady logs.
//!
//! Nothing is planted in it and nothing is dirty: it measures speed and memory. The
//! writer formats whole numbers itself, since formatting is most of its time.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Size of a fleet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Cabinets, all in all.
    pub cabinets: u32,
    /// Days, one check a day and cabinet.
    pub days: u32,
    /// Files, one a site; cabinets are shared out among them.
    pub files: u32,
}

/// The fleet of the benchmark: 1,000 cabinets, ten years, ten files, about 200 MB.
pub const BENCHMARK: Size = Size {
    cabinets: 1_000,
    days: 3_650,
    files: 10,
};

const HEADING: &str = "date,cabinet,cabinet temp °C,tower temp °C,air pressure kPa,\
                       collection near mL/h/80cm²,collection far mL/h/80cm²,pH\n";

/// A column: level and standard deviation in units of the last decimal, and decimals.
struct Column {
    level: f64,
    sd: f64,
    decimals: usize,
}

const COLUMNS: [Column; 6] = [
    Column {
        level: 350.0,
        sd: 3.0,
        decimals: 1,
    },
    Column {
        level: 480.0,
        sd: 3.5,
        decimals: 1,
    },
    Column {
        level: 980.0,
        sd: 16.0,
        decimals: 1,
    },
    Column {
        level: 155.0,
        sd: 4.0,
        decimals: 2,
    },
    Column {
        level: 150.0,
        sd: 4.0,
        decimals: 2,
    },
    Column {
        level: 685.0,
        sd: 6.0,
        decimals: 2,
    },
];

/// Share of the day before that carries over.
const CARRY_OVER: f64 = 0.3;

/// Writes a lab folder with the fleet's logs and a `lab.toml`; returns the logs.
///
/// Rows are by date, then by cabinet, as a site's book keeps them. The same size makes
/// the same bytes. `size.files` of 0 is taken as 1.
///
/// # Errors
/// What the system says when a file or folder cannot be written.
pub fn write(dir: &Path, size: Size) -> io::Result<Vec<PathBuf>> {
    std::fs::create_dir_all(dir.join("logs"))?;
    std::fs::write(dir.join("lab.toml"), LAB_TOML)?;
    let files = size.files.max(1);
    (0..files)
        .into_par_iter()
        .map(|file| {
            let path = dir.join("logs").join(format!("site-{:02}.csv", file + 1));
            let cabinets: Vec<u32> = (0..size.cabinets).filter(|c| c % files == file).collect();
            let mut out = BufWriter::with_capacity(1 << 20, File::create(&path)?);
            write_site(&mut out, &cabinets, size.days)?;
            out.flush()?;
            Ok(path)
        })
        .collect()
}

const LAB_TOML: &str = "[lab]\nprofile = \"iso-9227-nss\"\n";

fn write_site(out: &mut impl Write, cabinets: &[u32], days: u32) -> io::Result<()> {
    let mut generator = ChaCha8Rng::seed_from_u64(0xF1EE7);
    generator.set_stream(u64::from(cabinets.first().copied().unwrap_or(0)));
    let mut states = vec![[0.0f64; COLUMNS.len()]; cabinets.len()];
    let fresh_share = (1.0 - CARRY_OVER * CARRY_OVER).sqrt();
    let mut line: Vec<u8> = Vec::with_capacity(128);
    out.write_all(HEADING.as_bytes())?;
    let first = chrono::NaiveDate::from_ymd_opt(2016, 7, 4).unwrap_or_default();
    for date in first.iter_days().take(days as usize) {
        let date = date.to_string();
        for (cabinet, state) in cabinets.iter().zip(&mut states) {
            line.clear();
            line.extend_from_slice(date.as_bytes());
            line.extend_from_slice(b",cabinet-");
            push_digits(&mut line, u64::from(*cabinet) + 1, 4);
            for (column, last) in COLUMNS.iter().zip(state.iter_mut()) {
                *last = CARRY_OVER * *last + fresh_share * normal(&mut generator);
                let value = (column.level + column.sd * *last).round().max(0.0) as u64;
                push_decimal(&mut line, value, column.decimals);
            }
            line.push(b'\n');
            out.write_all(&line)?;
        }
    }
    Ok(())
}

/// Four uniform numbers of 16 bits, summed and scaled to mean 0 and variance 1: within
/// ± 3.5, and quick.
fn normal(generator: &mut ChaCha8Rng) -> f64 {
    const MEAN: f64 = 2.0 * 65_535.0;
    /// Standard deviation of the sum: √(4 (2¹⁶² − 1) / 12).
    const SD: f64 = 37_837.23;
    let bits = generator.next_u64();
    let sum = (bits & 0xFFFF) + (bits >> 16 & 0xFFFF) + (bits >> 32 & 0xFFFF) + (bits >> 48);
    (sum as f64 - MEAN) / SD
}

/// `,` and the value with a point before its last decimals.
fn push_decimal(line: &mut Vec<u8>, value: u64, decimals: usize) {
    let scale = 10u64.pow(decimals as u32);
    line.push(b',');
    push_digits(line, value / scale, 1);
    line.push(b'.');
    push_digits(line, value % scale, decimals);
}

/// The value in at least `least` digits.
fn push_digits(line: &mut Vec<u8>, mut value: u64, least: usize) {
    let start = line.len();
    while value > 0 || line.len() - start < least {
        line.push(b'0' + (value % 10) as u8);
        value /= 10;
    }
    if let Some(digits) = line.get_mut(start..) {
        digits.reverse();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SMALL: Size = Size {
        cabinets: 5,
        days: 400,
        files: 2,
    };

    #[test]
    fn every_cabinet_has_a_row_a_day_and_two_runs_agree() {
        let dir = tempfile::tempdir().unwrap();
        let logs = write(dir.path(), SMALL).unwrap();
        let texts: Vec<String> = logs
            .iter()
            .map(|path| std::fs::read_to_string(path).unwrap())
            .collect();
        let rows: usize = texts.iter().map(|text| text.lines().count() - 1).sum();
        assert_eq!(rows, 2_000);
        assert_eq!(texts[0].matches(",cabinet-0003,").count(), 400);
        let again = tempfile::tempdir().unwrap();
        let logs = write(again.path(), SMALL).unwrap();
        assert_eq!(texts[0], std::fs::read_to_string(&logs[0]).unwrap());
        assert_ne!(texts[0], texts[1]);
    }

    #[test]
    fn columns_have_their_level_and_spread() {
        let dir = tempfile::tempdir().unwrap();
        let logs = write(dir.path(), SMALL).unwrap();
        let text = std::fs::read_to_string(&logs[0]).unwrap();
        let near: Vec<f64> = text
            .lines()
            .skip(1)
            .map(|line| line.split(',').nth(5).unwrap().parse().unwrap())
            .collect();
        let mean = near.iter().sum::<f64>() / near.len() as f64;
        let sd =
            (near.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (near.len() - 1) as f64).sqrt();
        assert!((mean - 1.55).abs() < 0.006, "{mean}");
        assert!((sd - 0.04).abs() < 0.004, "{sd}");
    }

    #[test]
    fn decimals_keep_their_zeros() {
        let mut line = Vec::new();
        push_decimal(&mut line, 1_505, 2);
        push_decimal(&mut line, 7, 1);
        assert_eq!(line, b",15.05,0.7");
    }
}
