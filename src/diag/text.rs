//! From the bytes of a file to its text: what editors put before it, and what isn't UTF-8.

/// The mark that some editors put before a text in UTF-8. It says how the text is encoded and isn't part of it.
const MARK: char = '\u{feff}';

/// The text of a file that people write; a mark before it is left out.
///
/// # Errors
/// What the bytes are instead, and what to do: "isn't text in UTF-8 …: save the file as UTF-8".
pub fn text_of(bytes: Vec<u8>) -> Result<String, String> {
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(e) => return Err(instead(e.as_bytes(), e.utf8_error().valid_up_to())),
    };
    // two bytes a letter without a mark: letters are letters then, with a zero beside each
    if 3 * text.bytes().filter(|b| *b == 0).count() > text.len() {
        return Err(UTF_16.to_owned());
    }
    Ok(match text.strip_prefix(MARK) {
        Some(rest) => rest.to_owned(),
        None => text,
    })
}

const UTF_16: &str = "is text in UTF-16: save the file as UTF-8";

/// What bytes are that aren't UTF-8 from one place on.
fn instead(bytes: &[u8], from: usize) -> String {
    if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") {
        return UTF_16.to_owned();
    }
    let odd = bytes.iter().filter(|b| **b < 9 || (14..32).contains(*b)).count();
    if 200 * odd > bytes.len() {
        return "isn't text".to_owned();
    }
    let line = 1 + bytes[..from].iter().filter(|b| **b == b'\n').count();
    format!("isn't text in UTF-8 (a sign in line {line} is written in another way): save the file as UTF-8")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_no_text_and_other_encodings_are_named() {
        let of = |bytes: &[u8]| text_of(bytes.to_vec());
        assert_eq!(of(b"\xEF\xBB\xBFJob()"), Ok("Job()".to_owned()));
        assert_eq!(of("J\u{f6}b".as_bytes()), Ok("J\u{f6}b".to_owned()));
        assert_eq!(of(b""), Ok(String::new()));
        let utf_16 = |mark: &[u8], low_first: bool| -> Vec<u8> {
            let pairs = "Job(title: \"\u{f6}\")".encode_utf16();
            let bytes = pairs.flat_map(|c| if low_first { c.to_le_bytes() } else { c.to_be_bytes() });
            mark.iter().copied().chain(bytes).collect()
        };
        for bytes in [utf_16(b"\xFF\xFE", true), utf_16(b"\xFE\xFF", false)] {
            assert_eq!(of(&bytes), Err(UTF_16.to_owned()));
        }
        let bare: Vec<u8> = "Job(title: \"o\")".encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(of(&bare), Err(UTF_16.to_owned()));
        let latin = of(b"Job(\n title: \"\xF6\")").unwrap_err();
        assert!(latin.contains("line 2") && latin.ends_with("save the file as UTF-8"), "{latin}");
        assert_eq!(of(b"\x89PNG\0\0\0\x01"), Err("isn't text".to_owned()));
    }
}
