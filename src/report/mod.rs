//! Renderers: each turns the wire format into bytes and computes nothing.

pub mod wire;
