//! All integration tests in one binary: linking is the slow part on two cores.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stderr,
    missing_docs,
    unreachable_pub
)]

mod bad_input;
mod baseline;
mod commands;
mod compare;
mod demo_compare;
mod demo_partner;
mod demo_review;
mod false_alarm_rate;
mod hostile_text;
mod memory_rules;
mod support;
mod workbooks;
