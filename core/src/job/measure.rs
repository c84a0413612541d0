//! What a person reads off: decimals kept as typed, and wall time with its offset.

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, FixedOffset, Offset, SecondsFormat, Utc};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::id::{NotRead, as_text};

/// A decimal as it was typed: 119.60 keeps its last zero.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Decimal {
    digits: i64,
    places: u8,
}

impl Decimal {
    /// Digits a person can read off any instrument, and more.
    const MOST_DIGITS: usize = 15;

    /// `digits` with `places` of them after the point: `new(1196, 1)` is 119.6.
    pub const fn new(digits: i64, places: u8) -> Self {
        Self { digits, places }
    }

    /// The value as a floating-point number, for `circuit` and for showing only.
    pub fn to_f64(self) -> f64 {
        // Dividing by an exact power of ten gives the nearest double of the decimal.
        #[allow(clippy::cast_precision_loss, reason = "at most 15 digits are kept, which a double holds exactly")]
        let digits = self.digits as f64;
        digits / 10f64.powi(i32::from(self.places))
    }

    /// The value in units of `10^-places` as an exact integer, if it has no finer digits and fits.
    pub fn in_units(self, places: u8) -> Option<i64> {
        if self.places <= places {
            self.digits.checked_mul(10i64.checked_pow(u32::from(places - self.places))?)
        } else {
            let unit = 10i64.checked_pow(u32::from(self.places - places))?;
            (self.digits % unit == 0).then(|| self.digits / unit)
        }
    }

    /// Rounds a computed value to `places` after the point, for keeping beside a reading.
    pub fn rounded(value: f64, places: u8) -> Option<Self> {
        let scaled = (value * 10f64.powi(i32::from(places))).round();
        #[allow(clippy::cast_possible_truncation, reason = "the range is checked first")]
        (scaled.is_finite() && scaled.abs() < 1e15).then_some(Self { digits: scaled as i64, places })
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.digits < 0 { "-" } else { "" };
        let digits = self.digits.unsigned_abs();
        if self.places == 0 {
            return write!(f, "{sign}{digits}");
        }
        let unit = 10u64.saturating_pow(u32::from(self.places));
        let width = usize::from(self.places);
        write!(f, "{sign}{}.{:0width$}", digits / unit, digits % unit)
    }
}

impl fmt::Debug for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Decimal {
    type Err = NotRead;
    /// Takes `12`, `-0.5` and `119.60`; a comma is read as a point, as many keypads type it.
    fn from_str(text: &str) -> Result<Self, NotRead> {
        let wrong = || NotRead::new(text, "a number such as 119.6");
        let (negative, body) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, part) = body.split_once(['.', ',']).unwrap_or((body, ""));
        let pointed = body.contains(['.', ',']);
        let digits = format!("{whole}{part}");
        let all_digits = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        if !all_digits || whole.is_empty() || (pointed && part.is_empty()) || digits.len() > Self::MOST_DIGITS {
            return Err(wrong());
        }
        let value: i64 = digits.parse().map_err(|_| wrong())?;
        let places = u8::try_from(part.len()).map_err(|_| wrong())?;
        Ok(Self { digits: if negative { -value } else { value }, places })
    }
}
as_text!(Decimal);

/// A moment on somebody's wall clock: shown and kept, never used for order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Wall {
    /// Milliseconds since 1970, UTC.
    pub utc_ms: i64,
    /// Minutes that the wall clock is ahead of UTC.
    pub offset_min: i16,
}

impl Wall {
    fn moment(self) -> DateTime<FixedOffset> {
        let offset = FixedOffset::east_opt(i32::from(self.offset_min) * 60).unwrap_or_else(|| Utc.fix());
        let utc = DateTime::from_timestamp_millis(self.utc_ms).unwrap_or_default();
        utc.with_timezone(&offset)
    }

    /// Hours and minutes on the wall: `08:52`.
    pub fn clock(self) -> String {
        self.moment().format("%H:%M").to_string()
    }

    /// The day on the wall: `2026-05-12`.
    pub fn day(self) -> String {
        self.moment().format("%Y-%m-%d").to_string()
    }
}

impl fmt::Display for Wall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.moment().to_rfc3339_opts(SecondsFormat::Millis, false))
    }
}

impl fmt::Debug for Wall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Wall {
    type Err = NotRead;
    /// Takes RFC 3339, for example `2026-05-12T08:41:00.000-05:00`.
    fn from_str(text: &str) -> Result<Self, NotRead> {
        let wrong = || NotRead::new(text, "a time such as 2026-05-12T08:41:00-05:00");
        let moment = DateTime::parse_from_rfc3339(text).map_err(|_| wrong())?;
        let offset_min = i16::try_from(moment.offset().local_minus_utc() / 60).map_err(|_| wrong())?;
        Ok(Self { utc_ms: moment.timestamp_millis(), offset_min })
    }
}
as_text!(Wall);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_stays_as_typed() {
        for text in ["0", "119.6", "119.60", "-0.3", "0.05", "4000"] {
            assert_eq!(text.parse::<Decimal>().map(|d| d.to_string()), Ok(text.to_owned()));
        }
        assert_eq!("119,6".parse::<Decimal>().map(|d| d.to_string()), Ok("119.6".to_owned()));
        for text in ["", "-", ".", "1.", ".5", "1e3", "1.2.3", " 1", "NaN", "1234567890123456"] {
            assert!(text.parse::<Decimal>().is_err(), "{text:?} was taken for a number");
        }
    }

    #[test]
    fn a_volume_counts_as_an_exact_integer() {
        assert_eq!(Decimal::new(320, 1).in_units(4), Some(320_000));
        assert_eq!(Decimal::new(123_456, 5).in_units(4), None);
        assert_eq!(Decimal::new(123_450, 5).in_units(4), Some(12_345));
    }

    #[test]
    fn a_wall_time_keeps_its_offset() {
        let text = "2026-05-12T08:41:00.000-05:00";
        let wall: Wall = text.parse().unwrap();
        assert_eq!(wall.to_string(), text);
        assert_eq!((wall.clock().as_str(), wall.day().as_str()), ("08:41", "2026-05-12"));
    }
}
