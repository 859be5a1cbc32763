//! `compare.json`: the comparison as bytes, and its JSON Schema.
//!
//! An item a line; nothing is rounded.

use crate::report::wire::Comparison;
use serde::Serialize;
use serde_json::ser::{PrettyFormatter, Serializer};
use std::io;

/// The comparison as JSON bytes, ending in a line feed.
///
/// # Errors
/// When a value cannot be serialised, which no [`Comparison`] brings about.
pub fn to_bytes(comparison: &Comparison) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let lines = PrettyFormatter::with_indent(b" ");
    comparison.serialize(&mut Serializer::with_formatter(&mut bytes, lines))?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The JSON Schema of `compare.json`, as the file that is shipped.
///
/// # Errors
/// When the schema cannot be serialised, which its types rule out.
pub fn schema() -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(Comparison))?;
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{comparison, poisoned_comparison};

    fn schema_file() -> std::path::PathBuf {
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data/schema/compare.schema.json")
    }

    fn validator() -> jsonschema::Validator {
        let schema: serde_json::Value = serde_json::from_str(&schema().unwrap()).unwrap();
        jsonschema::validator_for(&schema).unwrap()
    }

    /// To renew the file after a change of the wire format: `RENEW_SCHEMA=1 cargo test`.
    #[test]
    fn the_shipped_schema_is_current() {
        let current = schema().unwrap();
        if std::env::var_os("RENEW_SCHEMA").is_some() {
            std::fs::write(schema_file(), &current).unwrap();
        }
        let shipped = std::fs::read_to_string(schema_file()).unwrap();
        assert!(
            shipped == current,
            "data/schema/compare.schema.json is out of date: renew it with RENEW_SCHEMA=1"
        );
    }

    #[test]
    fn a_comparison_satisfies_its_schema_and_comes_back_the_same() {
        for one in [comparison(), poisoned_comparison()] {
            let bytes = to_bytes(&one).unwrap();
            let value: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
            let complaints: Vec<String> = validator()
                .iter_errors(&value)
                .map(|e| e.to_string())
                .collect();
            assert_eq!(complaints, Vec::<String>::new());
            let back: Comparison = serde_json::from_slice(&bytes).unwrap();
            assert_eq!(back, one);
        }
    }

    #[test]
    fn the_schema_refuses_what_is_not_a_comparison() {
        let validator = validator();
        let mut value = serde_json::to_value(comparison()).unwrap();
        assert!(validator.is_valid(&value));
        value["characteristics"][0]["pairs"][0]["difference"] = serde_json::Value::Null;
        assert!(!validator.is_valid(&value), "a difference is never missing");
        value["characteristics"][0]["pairs"][0]["difference"] = 0.3.into();
        value.as_object_mut().unwrap().remove("mismatch");
        assert!(!validator.is_valid(&value));
    }

    #[test]
    fn the_comparison_whole() {
        let mut one = comparison();
        // What repeats is shown once.
        one.characteristics.truncate(1);
        let text = String::from_utf8(to_bytes(&one).unwrap()).unwrap();
        insta::assert_snapshot!(text);
    }
}
