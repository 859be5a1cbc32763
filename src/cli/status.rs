//! Exit statuses: what the program tells a script.

use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Done.
    Done,
    /// Done, and `--fail-on` matched.
    Matched,
    /// Could not be done; nothing of use was written.
    Failed,
    /// Done, but some input was rejected and `--strict` was given.
    Rejected,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> ExitCode {
        ExitCode::from(match status {
            Status::Done => 0,
            Status::Matched => 1,
            Status::Failed => 2,
            Status::Rejected => 3,
        })
    }
}
