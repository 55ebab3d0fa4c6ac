//! Times and spans in the form of ISO 8601.

use crate::bay::action::Micros;

/// The moment at which a sitting began, UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Start {
    /// Milliseconds since the beginning of 1970.
    millis: i64,
}

const DAY: i64 = 86_400_000;

const fn leap(year: i64) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

const fn days_of(year: i64, month: i64) -> i64 {
    match month {
        2 if leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from the beginning of 1970 to that of a year from 1970 on.
fn days_before(year: i64) -> i64 {
    let past = |n: i64| (year - 1) / n - 1969 / n;
    365 * (year - 1970) + past(4) - past(100) + past(400)
}

impl Start {
    /// Reads `2026-03-14T09:00:00Z`, with or without a fraction of a second. Years 1970 … 2199.
    pub fn read(text: &str) -> Option<Self> {
        let (date, time) = text.strip_suffix('Z')?.split_once('T')?;
        let number = |text: &str, digits: usize| {
            (text.len() == digits && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse::<i64>().ok())?
        };
        let mut parts = date.split('-');
        let (year, month, day) = (number(parts.next()?, 4)?, number(parts.next()?, 2)?, number(parts.next()?, 2)?);
        let mut clock = time.split(':');
        let (hour, minute) = (number(clock.next()?, 2)?, number(clock.next()?, 2)?);
        let (second, fraction) = clock.next().map(|s| s.split_once('.').unwrap_or((s, "0")))?;
        let second = number(second, 2)?;
        let fraction = fraction.get(..fraction.len().min(3)).filter(|f| !f.is_empty())?;
        let millis = number(fraction, fraction.len())? * [100, 10, 1][fraction.len() - 1];
        let whole = parts.next().is_none() && clock.next().is_none();
        let fits = (1970..2200).contains(&year)
            && (1..=12).contains(&month)
            && (1..=days_of(year, month)).contains(&day)
            && hour < 24
            && minute < 60
            && second < 60;
        if !(whole && fits) {
            return None;
        }
        let days = days_before(year) + (1..month).map(|m| days_of(year, m)).sum::<i64>() + day - 1;
        Some(Self { millis: days * DAY + ((hour * 60 + minute) * 60 + second) * 1000 + millis })
    }

    /// The moment so much later, with milliseconds.
    pub fn after(self, at: Micros) -> String {
        // a sitting is bounded to 30 days, far from the end of the numbers
        let millis = self.millis + i64::try_from(at / 1000).unwrap_or(0);
        let (mut days, rest) = (millis / DAY, millis % DAY);
        let mut year = 1970 + days / 366;
        while days_before(year + 1) <= days {
            year += 1;
        }
        days -= days_before(year);
        let mut month = 1;
        while days >= days_of(year, month) {
            days -= days_of(year, month);
            month += 1;
        }
        let (seconds, millis) = (rest / 1000, rest % 1000);
        let (hour, minute, second) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
        format!("{year:04}-{month:02}-{:02}T{hour:02}:{minute:02}:{second:02}.{millis:03}Z", days + 1)
    }
}

/// A span, to the hundredth of a second.
pub fn duration(span: Micros) -> String {
    let hundredths = span / 10_000;
    let (h, m, s) = (hundredths / 360_000, hundredths / 6_000 % 60, hundredths % 6_000);
    let mut text = String::from("PT");
    if h > 0 {
        text += &format!("{h}H");
    }
    if m > 0 {
        text += &format!("{m}M");
    }
    match (s / 100, s % 100) {
        (0, 0) if h + m > 0 => {}
        (s, 0) => text += &format!("{s}S"),
        (s, part) => text += &format!("{s}.{part:02}S"),
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bay::action::{MINUTE, SECOND};

    #[test]
    fn times_go_on_over_midnight_and_leap_days() {
        let after = |text: &str, at| Start::read(text).unwrap().after(at);
        assert_eq!(after("2026-03-14T09:00:00Z", 90 * MINUTE), "2026-03-14T10:30:00.000Z");
        assert_eq!(after("2028-02-28T23:59:59.5Z", SECOND), "2028-02-29T00:00:00.500Z");
        assert_eq!(after("2027-02-28T23:59:59Z", SECOND), "2027-03-01T00:00:00.000Z");
        assert_eq!(after("2099-12-31T23:59:59.999Z", 1000), "2100-01-01T00:00:00.000Z");
        assert_eq!(after("1970-01-01T00:00:00Z", 0), "1970-01-01T00:00:00.000Z");
        assert_eq!(after("2100-02-28T12:00:00Z", 24 * 60 * MINUTE), "2100-03-01T12:00:00.000Z");
    }

    #[test]
    fn every_day_comes_back() {
        let mut start = Start { millis: 0 };
        while start.millis < 230 * 365 * DAY {
            let text = start.after(0);
            assert_eq!(Start::read(&text), Some(start), "{text}");
            start.millis += 17 * DAY + 3_723_004;
        }
    }

    #[test]
    fn spans_are_short() {
        let spans = [0, 30_000, 4 * SECOND, 90 * SECOND, 60 * MINUTE, 148 * MINUTE + 45_300_000].map(duration);
        assert_eq!(spans, ["PT0S", "PT0.03S", "PT4S", "PT1M30S", "PT1H", "PT2H28M45.30S"]);
    }
}
