//! Capability of a steady series against its conformance limits
//! (NIST/SEMATECH e-Handbook 6.1.6).

/// Capability indices with their intervals.
#[derive(Debug, Clone, PartialEq)]
pub struct Capability {
    /// Cp (within sigma); `None` when a limit is missing.
    pub cp: Option<crate::stats::Interval>,
    /// Cpk (within sigma).
    pub cpk: crate::stats::Interval,
    /// Pp (overall s); `None` when a limit is missing.
    pub pp: Option<f64>,
    /// Ppk (overall s).
    pub ppk: f64,
    /// Expected fraction outside, under normality with the overall s.
    pub expected_outside: f64,
    /// Readings it rests on.
    pub n: usize,
}

/// Why capability is not given: one sentence for the reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal(pub String);
