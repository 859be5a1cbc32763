//! The demo lab: an invented scenario, seeded, written as a lab folder.
