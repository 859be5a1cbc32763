//! The partner lab of the demo: "Acabados Orilla Gris", an invented finishing shop that
//! runs the same standard and gets less corrosion on the same steel.
//!
//! It makes its folder in memory and tells what was planted; writing is the parent's.

mod coupons;
#[cfg(test)]
mod intake_tests;
mod scenario;
mod spanish;
mod truth;

use super::DemoError;
use super::page::Dirt;
use std::collections::BTreeMap;

/// The partner's files by path relative to its folder.
///
/// # Errors
/// [`DemoError::Brine`], should the scenario be changed so that its densities leave the
/// range of the brine model.
pub(super) fn files() -> Result<BTreeMap<String, Vec<u8>>, DemoError> {
    let mut files: BTreeMap<String, Vec<u8>> = [
        ("lab.toml", include_bytes!("papers/lab.toml").as_slice()),
        ("events.csv", include_bytes!("papers/events.csv")),
        ("exposures.csv", include_bytes!("papers/exposures.csv")),
    ]
    .into_iter()
    .map(|(name, bytes)| (name.to_owned(), bytes.to_vec()))
    .collect();
    files.insert(coupons::PATH.to_owned(), coupons::file().0);
    for page in spanish::pages()? {
        files.insert(page.path, page.bytes);
    }
    Ok(files)
}

/// What was planted in the partner lab against the home lab, and every piece of dirt, as
/// TOML.
///
/// # Errors
/// As [`files`]; [`DemoError::Truth`] when the text cannot be made.
pub(super) fn truth() -> Result<String, DemoError> {
    truth::text(dirt()?)
}

/// Dirt of the logs, then of the coupons.
fn dirt() -> Result<Vec<Dirt>, DemoError> {
    let pages = spanish::pages()?;
    let mut dirt: Vec<Dirt> = pages.into_iter().flat_map(|page| page.dirt).collect();
    dirt.extend(coupons::file().1);
    Ok(dirt)
}
