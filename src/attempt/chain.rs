//! The hash that ties a line to the one before it.
//!
//! `hash = BLAKE3(previous hash as 32 hex digits, a line feed, the line without its "hash" member)`,
//! of which the first 32 hex digits (128 bits) are kept. The first line follows an empty hash.

/// Hex digits kept of each hash.
pub(super) const DIGITS: usize = 32;
const LEAD: &str = ",\"hash\":\"";
const TAIL: &str = "\"}";

/// The hash of a line's body (a JSON object without its hash) that follows `previous`.
pub(super) fn hash(previous: &str, body: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(previous.as_bytes());
    hasher.update(b"\n");
    hasher.update(body.as_bytes());
    hasher.finalize().to_hex().as_str()[..DIGITS].to_owned()
}

/// The line as it stands in the file, and its hash.
pub(super) fn seal(previous: &str, body: &str) -> (String, String) {
    let hash = hash(previous, body);
    let open = body.strip_suffix('}').unwrap_or(body);
    (format!("{open}{LEAD}{hash}{TAIL}"), hash)
}

/// Body and hash of a line; `None` when it doesn't end in a hash of the right form.
pub(super) fn unseal(line: &str) -> Option<(String, &str)> {
    let rest = line.strip_suffix(TAIL)?;
    let hash = rest.get(rest.len().checked_sub(DIGITS)?..)?;
    let open = rest.get(..rest.len() - DIGITS)?.strip_suffix(LEAD)?;
    let hex = hash.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
    hex.then(|| (format!("{open}}}"), hash))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_sealed_can_be_unsealed() {
        let body = r#"{"n":1,"at":0,"tick":true}"#;
        let (line, made) = seal("", body);
        assert_eq!(unseal(&line), Some((body.to_owned(), made.as_str())));
        assert_eq!(made.len(), DIGITS);
        assert_eq!(made, hash("", body));
        assert_ne!(made, hash("0", body), "the line before doesn't enter the hash");
    }

    #[test]
    fn other_ends_are_refused() {
        let (line, _) = seal("", "{}");
        for wrong in [
            "",
            "}",
            "\"}",
            "é\"}",
            &line[1..3],
            &line[..line.len() - 1],
            &line.to_uppercase(),
            &format!("{line} "),
            &"é".repeat(40),
        ] {
            assert_eq!(unseal(wrong), None, "{wrong}");
        }
    }
}
