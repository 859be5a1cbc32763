//! The shipped defaults of `data/instruments.toml`, read once.

use super::super::error::LabError;
use super::super::reader::{Field, Table, Text};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What an unknown instrument is taken to be good for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Assumed {
    /// Expanded uncertainty, k = 2.
    pub(super) expanded: f64,
    /// Its unit as written; empty where there is none.
    pub(super) unit: String,
    /// The reason, in words.
    pub(super) says: String,
    /// Its source.
    pub(super) source: String,
}

/// The default of that name: a characteristic's, or a part's such as `cylinder`.
///
/// `None` for a name that the file does not have; the tests rule out that the file itself
/// is broken.
pub(super) fn assumed(name: &str) -> Option<&'static Assumed> {
    static SHIPPED: LazyLock<BTreeMap<String, Assumed>> =
        LazyLock::new(|| parse(include_str!("../../../data/instruments.toml")).unwrap_or_default());
    SHIPPED.get(name)
}

/// The entries of a file of defaults.
pub(super) fn parse(text: &str) -> Result<BTreeMap<String, Assumed>, LabError> {
    let text = Text::new("instruments.toml", text);
    let document = text.parse()?;
    let mut all = BTreeMap::new();
    for field in Table::root(&text, &document).fields() {
        let table = field.table()?;
        table.only(&["expanded_uncertainty", "unit", "says", "source"])?;
        let assumed = Assumed {
            expanded: table
                .need("expanded_uncertainty", "a number above 0")?
                .positive()?,
            unit: table.opt("unit", Field::string)?.unwrap_or("").to_owned(),
            says: table.need("says", "why that much")?.string()?.to_owned(),
            source: table.need("source", "where from")?.string()?.to_owned(),
        };
        all.insert(field.key.to_owned(), assumed);
    }
    Ok(all)
}
