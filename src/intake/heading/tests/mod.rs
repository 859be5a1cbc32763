//! Headings as logs have them, one by one and in rows.

mod rows;
mod single;
