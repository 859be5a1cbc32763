//! steadyfog reads months of salt-fog cabinet check logs and sees a cabinet on its
//! way out of its standard's window before it gets there.

#![cfg_attr(
    test,
    allow(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::print_stdout,
        clippy::print_stderr
    )
)]

pub mod capability;
pub mod characteristic;
pub mod chart;
pub mod cli;
pub mod compare;
pub mod demo;
pub mod detect;
pub mod drift;
pub mod finding;
pub mod intake;
pub mod issue;
pub mod lab;
pub mod output;
pub mod progress;
pub mod quantity;
pub mod report;
pub mod review;
pub mod series;
pub mod signal;
pub mod stats;
pub mod time;
pub mod trial;
