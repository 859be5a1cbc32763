//! A whole comparison: labs and their logs in, `compare.json` out.
//!
//! Here the parts meet: levels and pairs, scores, precision, coupons and what they go with.
//! Each of those decides for itself; this module finds who took part and when, hands every
//! part what it needs, and puts the results on the wire. It reads no file.

mod account;
mod coupon_levels;
mod daily;
mod entrants;
mod fill;
mod findings;
mod look_at;
mod members;
mod method;
mod pairs;
mod participants;
mod precision;
mod rounds;
mod run;
mod scoring;
mod shared;

pub use entrants::{Entrant, NotComparable};
pub use run::{CompareOptions, compare};
