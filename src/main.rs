//! The steadyfog program: hands its arguments to `steadyfog::cli`.

fn main() {}
