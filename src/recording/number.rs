//! One cell: a number, a time of day, a gap, or something that is none of these.

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cell {
    /// Nothing was measured.
    Gap,
    /// A number.
    Number(f64),
    /// No number, or one beyond anything.
    Bad,
}

/// Beyond this a number is a slip of the logger, whatever its unit.
const BEYOND: f64 = 1e12;

/// Reads a cell; with `comma` the decimal sign is a comma and points group thousands.
pub(super) fn number(cell: &[u8], comma: bool) -> Cell {
    let Ok(text) = core::str::from_utf8(cell) else { return Cell::Bad };
    let text = text.trim();
    if is_gap(text) {
        return Cell::Gap;
    }
    let parsed = if comma && text.contains(',') {
        text.replace(['.', '\u{a0}', ' '], "").replace(',', ".").replace('−', "-").parse::<f64>()
    } else if text.contains('−') {
        text.replace('−', "-").parse::<f64>()
    } else {
        text.parse::<f64>()
    };
    match parsed {
        Ok(v) if v.is_nan() => Cell::Gap,
        Ok(v) if v.abs() <= BEYOND => Cell::Number(v),
        _ => Cell::Bad,
    }
}

fn is_gap(text: &str) -> bool {
    text.is_empty()
        || text.bytes().all(|b| b == b'-' || b == b'.')
        || ["n/a", "na", "null", "none", "#n/a"].iter().any(|g| text.eq_ignore_ascii_case(g))
}

/// Reads a time of day or a running clock, `12:03:04,5`, `3:04.5`, with or without a date before it; s.
pub(super) fn clock(cell: &[u8]) -> Option<f64> {
    let text = core::str::from_utf8(cell).ok()?.trim();
    let last = text.rsplit([' ', 'T']).next()?.trim_end_matches('Z');
    if !last.contains(':') {
        return None;
    }
    let mut seconds = 0.0;
    let mut count = 0;
    for part in last.split(':') {
        let v: f64 = part.replace(',', ".").parse().ok()?;
        if !(0.0..1e6).contains(&v) {
            return None;
        }
        seconds = 60.0 * seconds + v;
        count += 1;
    }
    (2..=3).contains(&count).then_some(seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_both_habits() {
        assert_eq!(number(b" -12.5 ", false), Cell::Number(-12.5));
        assert_eq!(number("−12,5".as_bytes(), true), Cell::Number(-12.5));
        assert_eq!(number(b"1.234,5", true), Cell::Number(1234.5));
        assert_eq!(number(b"1e3", true), Cell::Number(1000.0));
        assert_eq!(number(b"", false), Cell::Gap);
        assert_eq!(number(b"NaN", false), Cell::Gap);
        assert_eq!(number(b"--", false), Cell::Gap);
        for bad in ["inf", "1e400", "-1e300", "12,5", "0x10", "abc", "1 2"] {
            assert_eq!(number(bad.as_bytes(), false), Cell::Bad, "{bad}");
        }
    }

    #[test]
    fn clocks() {
        assert_eq!(clock(b"01:02:03.5"), Some(3723.5));
        assert_eq!(clock(b"2:03,25"), Some(123.25));
        assert_eq!(clock(b"2031-05-04 00:00:10"), Some(10.0));
        assert_eq!(clock(b"2031-05-04T00:00:10Z"), Some(10.0));
        for bad in ["12.5", "a:b", "1:2:3:4", "1:-2", ""] {
            assert_eq!(clock(bad.as_bytes()), None, "{bad}");
        }
    }
}
