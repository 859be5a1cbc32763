//! Findings: what the reader is told, ranked, each with its evidence and where to look.

/// How urgent a finding is, most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// Outside the standard's window.
    Breach,
    /// On its way out, with a forecast.
    HeadingForBreach,
    /// Changed, but not on its way out.
    Changed,
    /// Unusual, cause unknown.
    Unusual,
    /// About the records: copied entries, missing days, rejected input.
    Records,
}
