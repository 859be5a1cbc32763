//! Reads the CSV files named as arguments with polars, each into a frame that is let go again.
//!
//! `cargo bench --bench fleet` builds and times it. It prints the number of rows read.

use polars::prelude::*;

fn main() -> PolarsResult<()> {
    let mut rows = 0;
    for path in std::env::args().skip(1) {
        let frame = CsvReadOptions::default()
            .with_has_header(true)
            .try_into_reader_with_file_path(Some(path.into()))
            .and_then(CsvReader::finish)?;
        rows += frame.height();
    }
    println!("{rows}");
    Ok(())
}
