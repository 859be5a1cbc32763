//! `exposures.csv`: which test stood in which cabinet, from when to when.
//!
//! The review uses it to say which tests a breach may have touched; it decides nothing
//! about them.

use super::error::LabError;
use super::listing::{Listing, Row};
use super::names::fold_name;
use super::{Exposure, Lab};
use crate::issue::Issue;

const FILE: &str = "exposures.csv";
const NEEDED: [&str; 3] = ["job", "cabinet", "start"];
const OPTIONAL: [&str; 2] = ["end", "standard"];

/// Reads the exposures of the lab folder into `lab`, in order of their start.
///
/// # Errors
/// [`LabError::Unreadable`] when the file is there but cannot be read.
pub(crate) fn read(lab: &mut Lab) -> Result<(), LabError> {
    let mut issues = Vec::new();
    let listing = Listing::read(&lab.root, FILE, &NEEDED, &OPTIONAL, &mut issues)?;
    take(listing, lab, issues);
    Ok(())
}

fn take(listing: Option<Listing>, lab: &mut Lab, issues: Vec<Issue>) {
    let mut exposures = Listing::take(listing, lab, issues, exposure);
    exposures.sort_by_key(|e: &Exposure| e.start);
    lab.exposures = exposures;
}

fn exposure(row: &Row<'_>, lab: &Lab) -> Result<Exposure, Box<Issue>> {
    let start = row.moment("start", &lab.zone)?.start;
    // A date given as the end covers its whole day.
    let end = match row.cell("end") {
        "" => None,
        _ => Some(row.moment("end", &lab.zone)?.end),
    };
    if end.is_some_and(|end| end < start) {
        return Err(row.rejected("end", "The exposure ends before it starts.".into(), None));
    }
    let written = row.cell("cabinet");
    let folded = fold_name(written);
    if folded.is_empty() {
        return Err(row.rejected("cabinet", "Expected a cabinet's name.".into(), None));
    }
    if row.cell("job").is_empty() {
        return Err(row.rejected("job", "Expected a job's number or name.".into(), None));
    }
    Ok(Exposure {
        job: row.cell("job").to_owned(),
        cabinet: lab.cabinet_id(written).unwrap_or_else(|| folded.into()),
        start,
        end,
        standard: row.cell("standard").to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Zone;

    #[test]
    fn exposures_read_and_bad_ones_are_told() {
        let mut lab = Lab::bare("lab");
        let mut issues = Vec::new();
        let text = b"job,cabinet,start,end,standard\n\
            J-12,Plover,2026-03-02,2026-03-08,NSS 168 h\n\
            J-11,Plover,2026-02-02 08:00,,NSS\n\
            J-13,Plover,2026-03-09,2026-03-01,\n\
            ,Plover,2026-03-09,,\n";
        let listing = Listing::parse(text, FILE, &NEEDED, &OPTIONAL, &mut issues);
        take(listing, &mut lab, issues);
        let jobs: Vec<&str> = lab.exposures.iter().map(|e| e.job.as_str()).collect();
        assert_eq!(jobs, ["J-11", "J-12"]);
        let end = lab.exposures[1].end.unwrap();
        assert_eq!(Zone::AS_WRITTEN.rfc3339(end), "2026-03-09T00:00:00Z");
        let lines: Vec<Option<u64>> = lab.issues.iter().map(|i| i.place.line).collect();
        assert_eq!(lines, [Some(4), Some(5)]);
    }
}
