//! The words headings are made of.
