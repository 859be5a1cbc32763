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
    crate::report::json::schema_of::<Comparison>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::checks::assert_schema_is_shipped;
    use crate::report::fixture::{comparison, poisoned_comparison};

    fn validator() -> jsonschema::Validator {
        let schema: serde_json::Value = serde_json::from_str(&schema().unwrap()).unwrap();
        jsonschema::validator_for(&schema).unwrap()
    }

    #[test]
    fn the_shipped_schema_is_current() {
        assert_schema_is_shipped("compare.schema.json", &schema().unwrap());
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
