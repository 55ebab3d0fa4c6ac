//! A marked attempt as JSON, and the schema that says what is in it.

use crate::marking::model::Mark;

/// JSON Schema (2020-12) of a marked attempt.
pub const SCHEMA: &str = include_str!("../../assets/schema/mark.schema.json");

/// The mark as JSON, ending in a line end: the same text for the same mark.
pub fn mark(mark: &Mark) -> String {
    // a mark holds nothing that JSON can't say: strings, numbers and lists of them
    serde_json::to_string_pretty(mark).unwrap_or_default() + "\n"
}
