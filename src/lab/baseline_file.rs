//! `baselines/<cabinet>.toml`: frozen limits, with who approved them, from which
//! readings, without which and why.
//!
//! Pure text in both directions: who writes the file, and when one may be replaced, is
//! the baseline command's. Numbers are written as the shortest decimals that read back
//! to the same binary value, times in UTC; so a file read and rendered again is the
//! same to the byte.

use super::FrozenLimits;
use super::error::{At, LabError};
use super::moment;
use super::reader::{Field, Table, Text};
use crate::characteristic::Characteristic;
use crate::chart::{Limits, Origin, SigmaMethod};
use crate::time::{Instant, Zone};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

/// Value of the `format` key.
pub const FORMAT: &str = "steadyfog.baseline/1";

const KEYS: [&str; 20] = [
    "characteristic",
    "approved_by",
    "frozen_at",
    "digest",
    "n",
    "from",
    "to",
    "centre",
    "sigma",
    "sigma_method",
    "lower",
    "upper",
    "moving_range_mean",
    "moving_range_upper",
    "lag1",
    "resolution",
    "plain_sigma",
    "plain_centre",
    "moving_ranges",
    "moving_ranges_skipped",
];

/// The frozen limits of one cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct BaselineFile {
    /// Cabinet identifier.
    pub cabinet: Arc<str>,
    /// Program and version that computed them.
    pub program: String,
    /// Limits by characteristic.
    pub limits: BTreeMap<Characteristic, FrozenLimits>,
}

/// SHA-256 of the readings that limits rest on, as `sha256:` and 64 hexadecimal digits.
///
/// Hashed are lines of the reading's time in UTC (RFC 3339), a space, the shortest
/// decimal that reads back to the same value, and a line feed. `at` and `value` run in
/// parallel; a surplus of either is not hashed.
///
/// ```
/// use steadyfog::{lab::baseline_file::digest, time::Instant};
/// // printf '1970-01-01T00:00:00Z 6.8\n' | sha256sum
/// assert_eq!(
///     digest(&[Instant(0)], &[6.8]),
///     "sha256:db43161931085f48bd58ca024f8f66aa2338a79827f75b505631665e10ca57ee",
/// );
/// ```
pub fn digest(at: &[Instant], value: &[f64]) -> String {
    let mut hasher = Sha256::new();
    for (at, value) in at.iter().zip(value) {
        hasher.update(format!("{} {value}\n", Zone::AS_WRITTEN.rfc3339(*at)));
    }
    let mut text = String::from("sha256:");
    for byte in hasher.finalize() {
        // Writing to a String does not fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// The file's text.
///
/// [`Limits::origin`] is not written: limits read from a file are frozen ones.
pub fn render(file: &BaselineFile) -> String {
    let mut out = String::from(
        "# Frozen control limits: what this cabinet does when nothing special happens.\n\
         # Written by `steadyfog baseline`. To change them, freeze anew; do not edit.\n",
    );
    let mut line = |key: &str, value: String| {
        out.push_str(key);
        if !value.is_empty() {
            out.push_str(" = ");
            out.push_str(&value);
        }
        out.push('\n');
    };
    line("format", quoted(FORMAT));
    line("cabinet", quoted(&file.cabinet));
    line("program", quoted(&file.program));
    for (characteristic, frozen) in &file.limits {
        let limits = &frozen.limits;
        line("\n[[baseline]]", String::new());
        line("characteristic", quoted(characteristic.id()));
        line("approved_by", quoted(&frozen.approved_by));
        line("frozen_at", time(frozen.frozen_at));
        line("digest", quoted(&frozen.digest));
        line("n", limits.n.to_string());
        line("from", time(limits.from));
        line("to", time(limits.to));
        line("centre", number(limits.centre));
        line("sigma", number(limits.sigma));
        line("sigma_method", quoted(limits.sigma_method.id()));
        line("lower", number(limits.lower));
        line("upper", number(limits.upper));
        line("moving_range_mean", number(limits.moving_range_mean));
        line("moving_range_upper", number(limits.moving_range_upper));
        if let Some(lag1) = limits.lag1 {
            line("lag1", number(lag1));
        }
        if let Some(resolution) = limits.resolution {
            line("resolution", number(resolution));
        }
        line("plain_sigma", number(limits.plain_sigma));
        line("plain_centre", number(limits.plain_centre));
        line("moving_ranges", limits.moving_ranges.to_string());
        line(
            "moving_ranges_skipped",
            limits.moving_ranges_skipped.to_string(),
        );
        for (at, value) in &limits.screened {
            line("[[baseline.screened]]", String::new());
            line("at", time(*at));
            line("value", number(*value));
        }
        for (at, value, reason) in &frozen.excluded {
            line("[[baseline.excluded]]", String::new());
            line("at", time(*at));
            line("value", number(*value));
            line("reason", quoted(reason));
        }
    }
    out
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

fn number(value: f64) -> String {
    format!("{value:?}")
}

fn time(at: Instant) -> String {
    quoted(&Zone::AS_WRITTEN.rfc3339(at))
}

/// Reads the text of a baseline file; `name` is its path for complaints.
///
/// # Errors
/// [`LabError`] with line and column for anything missing, unknown or out of place:
/// a broken baseline must not be taken for none.
pub fn parse(name: &str, text: &str) -> Result<BaselineFile, LabError> {
    read(&Text::new(name, text))
}

pub(crate) fn read(text: &Text) -> Result<BaselineFile, LabError> {
    let document = text.parse()?;
    let root = Table::root(text, &document);
    root.only(&["format", "cabinet", "program", "baseline"])?;
    root.need("format", FORMAT)?.word(&[FORMAT])?;
    let cabinet = root.need("cabinet", "the cabinet's identifier")?.string()?;
    let mut limits = BTreeMap::new();
    for table in root.need("baseline", "the frozen limits")?.tables()? {
        let field = table.need("characteristic", "what the limits are of")?;
        let id = field.string()?;
        let characteristic: Characteristic = match id.parse() {
            Ok(characteristic) => characteristic,
            Err(never) => match never {},
        };
        if limits.insert(characteristic, frozen(&table)?).is_some() {
            return Err(LabError::Duplicate {
                at: field.at(),
                what: "baseline of",
                name: id.to_owned(),
                taken_by: "given above".into(),
            });
        }
    }
    Ok(BaselineFile {
        cabinet: cabinet.into(),
        program: root
            .need("program", "program and version")?
            .string()?
            .to_owned(),
        limits,
    })
}

fn frozen(table: &Table<'_>) -> Result<FrozenLimits, LabError> {
    let mut known = KEYS.to_vec();
    known.extend(["screened", "excluded"]);
    table.only(&known)?;
    let value = |key| table.need(key, "a number").and_then(|f| f.number());
    let when = |key| table.need(key, "a time").and_then(|f| instant(&f));
    let whole = |key| table.need(key, "a whole number").and_then(|f| f.count(0));
    let text = |key| {
        table
            .need(key, "a text")
            .and_then(|f| f.string().map(str::to_owned))
    };
    let method = table.need("sigma_method", "how sigma was estimated")?;
    let name = method.word(&SigmaMethod::ALL.map(SigmaMethod::id))?;
    let limits = Limits {
        origin: Origin::Frozen,
        n: whole("n")?,
        from: when("from")?,
        to: when("to")?,
        centre: value("centre")?,
        sigma: table.need("sigma", "a number above 0")?.positive()?,
        sigma_method: SigmaMethod::ALL
            .into_iter()
            .find(|method| method.id() == name)
            .unwrap_or(SigmaMethod::MovingRange),
        lower: value("lower")?,
        upper: value("upper")?,
        moving_range_mean: value("moving_range_mean")?,
        moving_range_upper: value("moving_range_upper")?,
        lag1: table.opt("lag1", Field::number)?,
        resolution: table.opt("resolution", Field::positive)?,
        plain_sigma: value("plain_sigma")?,
        plain_centre: value("plain_centre")?,
        moving_ranges: whole("moving_ranges")?,
        moving_ranges_skipped: whole("moving_ranges_skipped")?,
        screened: rows(table, "screened", |row| {
            row.only(&["at", "value"])?;
            reading(row)
        })?,
    };
    if !(limits.lower < limits.centre && limits.centre < limits.upper) {
        return Err(table
            .need("centre", "a number")?
            .bad("a centre line between lower and upper limit"));
    }
    Ok(FrozenLimits {
        limits,
        approved_by: text("approved_by")?,
        frozen_at: when("frozen_at")?,
        excluded: rows(table, "excluded", |row| {
            row.only(&["at", "value", "reason"])?;
            let (at, value) = reading(row)?;
            let reason = row.need("reason", "why it was left out")?.string()?;
            Ok((at, value, reason.to_owned()))
        })?,
        digest: text("digest")?,
    })
}

fn rows<T>(
    table: &Table<'_>,
    key: &str,
    read: impl Fn(&Table<'_>) -> Result<T, LabError>,
) -> Result<Vec<T>, LabError> {
    match table.get(key) {
        None => Ok(Vec::new()),
        Some(field) => field.tables()?.iter().map(read).collect(),
    }
}

fn reading(row: &Table<'_>) -> Result<(Instant, f64), LabError> {
    Ok((
        row.need("at", "a time").and_then(|f| instant(&f))?,
        row.need("value", "a number")?.number()?,
    ))
}

fn instant(field: &Field<'_>) -> Result<Instant, LabError> {
    moment::read(field.string()?, &Zone::AS_WRITTEN)
        .ok()
        .filter(|m| m.start == m.end)
        .map(|m| m.start)
        .ok_or_else(|| field.bad("a time as 2026-03-14T07:30:00Z"))
}

/// Reads every baseline of the lab folder.
pub(crate) fn read_all(lab: &mut super::Lab) -> Result<(), LabError> {
    let folder = lab.root.join("baselines");
    let entries = match std::fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(source) => {
            return Err(LabError::Unreadable {
                file: "baselines".into(),
                source,
            });
        }
    };
    let mut names: Vec<String> = entries
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    names.sort();
    for name in names {
        let path = format!("baselines/{name}");
        let Some(text) = Text::read(&lab.root, &path)? else {
            continue;
        };
        let file = read(&text)?;
        let cabinet = lab
            .cabinet_id(&file.cabinet)
            .unwrap_or_else(|| super::fold_name(&file.cabinet).into());
        if lab.baselines.insert(cabinet, file.limits).is_some() {
            return Err(LabError::Duplicate {
                at: At {
                    file: path.into(),
                    line: 1,
                    column: 1,
                },
                what: "baseline of cabinet",
                name: file.cabinet.to_string(),
                taken_by: "given in another file of baselines/".into(),
            });
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "baseline_file_tests.rs"]
mod tests;
