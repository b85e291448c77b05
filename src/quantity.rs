//! Quantities with units: parsed and printed here and nowhere else; and [`search`], for numbers that have no formula.
//!
//! A quantity keeps the digits and the unit that were typed, so that a file read and written again has the same bytes;
//! the SI value is computed beside it. Conversion factors: the international inch, foot and pound (exact by the
//! 1959 agreement), the conventional millimetre of mercury and inch of mercury (ISO 80000-4:2019 / NIST SP 811, 2008, B.8;
//! from memory, except 1 inHg = 3386.389 Pa, which was read in a second copy).

mod kinds;
mod measure;
pub mod search;
mod units;

pub use kinds::*;
pub use measure::{Kind, Measure};
pub use units::{Dimension, Units};

use thiserror::Error;
use units::Unit;

/// One value with its unit, as typed and in SI.
#[derive(Debug, Clone)]
pub struct Quantity {
    dimension: Dimension,
    unit: &'static Unit,
    si: f64,
    text: String,
    bare: bool,
}

/// What can be wrong with a typed quantity.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QuantityError {
    /// No digits could be read.
    #[error("\"{found}\" is not a number with a unit.")]
    NotANumber {
        /// The text as typed.
        found: String,
        /// An example that would be accepted.
        example: String,
    },
    /// NaN or infinite.
    #[error("\"{found}\" is not a finite number.")]
    NotFinite {
        /// The text as typed.
        found: String,
    },
    /// A decimal comma.
    #[error("\"{found}\" has a comma: decimals are written with a point.")]
    Comma {
        /// The text as typed.
        found: String,
    },
    /// The unit is known but measures something else.
    #[error("\"{found}\" is {is}; {wanted} is wanted here.")]
    WrongKind {
        /// The text as typed.
        found: String,
        /// What the unit measures, with its article.
        is: &'static str,
        /// What the place asks for, with its article.
        wanted: String,
        /// Units that are accepted; empty where only a bare number is.
        allowed: String,
    },
    /// The unit is not known at all.
    #[error("\"{unit}\" is not a unit that is known here.")]
    UnknownUnit {
        /// The unit as typed.
        unit: String,
        /// Units that are accepted; empty where only a bare number is.
        allowed: String,
    },
    /// A unit that means one thing to one reader and another to the next.
    #[error("\"{found}\" could be {first} or {second}.")]
    EitherWay {
        /// The text as typed.
        found: String,
        /// What it is as the one, in the usual unit.
        first: String,
        /// What it is as the other.
        second: String,
        /// The two units.
        units: String,
    },
    /// A number without a unit where one must be written.
    #[error("\"{found}\" has no unit.")]
    BareRefused {
        /// The text as typed.
        found: String,
        /// Units that are accepted.
        allowed: String,
    },
}

impl QuantityError {
    /// What would be accepted instead, as a sentence.
    pub fn help(&self) -> String {
        match self {
            Self::NotANumber { example, .. } => format!("Write it like {example}."),
            Self::NotFinite { .. } => "Write a plain number.".into(),
            Self::Comma { found } => {
                format!("Write {} instead.", found.replacen(',', ".", 1))
            }
            Self::EitherWay { units, .. } => format!("Write which: {units}."),
            Self::WrongKind { allowed, .. }
            | Self::UnknownUnit { allowed, .. }
            | Self::BareRefused { allowed, .. } => match allowed.as_str() {
                "" => "Write a bare number.".into(),
                units => format!("Allowed units: {units}."),
            },
        }
    }
}

impl Quantity {
    /// Reads "25.5 mm", "0.003 in", "1 1/2 turns" or a bare number.
    ///
    /// `allowed` are the dimensions the place accepts, the first being the usual one; a bare number takes
    /// `bare_unit`, which must be the symbol of a unit of one of them.
    pub fn parse(text: &str, allowed: &[Dimension], bare_unit: &str) -> Result<Self, QuantityError> {
        let typed = text.trim();
        let (digits, symbol) = split_number(typed);
        let value = read_number(digits, typed).map_err(|error| match error {
            QuantityError::NotANumber { found, .. } => {
                let example = format!("\"{}\"", Dimension::example(allowed, bare_unit));
                QuantityError::NotANumber { found, example }
            }
            other => other,
        })?;
        let unit = if symbol.is_empty() {
            Unit::by_symbol(bare_unit, allowed)
        } else {
            Unit::by_symbol(symbol, allowed)
        };
        let Some(unit) = unit else {
            let either = Unit::either_of(symbol, allowed);
            return Err(either.map_or_else(
                || Self::refused_unit(typed, symbol, allowed),
                |either| Self::either_way(typed, value, either, bare_unit),
            ));
        };
        let si = unit.to_si(value);
        if !si.is_finite() {
            return Err(QuantityError::NotFinite { found: typed.to_owned() });
        }
        Ok(Self { dimension: unit.dimension, unit, si, text: typed.to_owned(), bare: symbol.is_empty() })
    }

    /// A computed quantity: `si` in SI, shown in the unit `symbol` with `decimals` decimals.
    pub fn computed(si: f64, symbol: &str, decimals: usize) -> Option<Self> {
        let unit = Unit::any(symbol)?;
        Some(Self {
            dimension: unit.dimension,
            unit,
            si,
            text: with_unit(&fixed(unit.value_of(si), decimals), unit.symbol()),
            bare: false,
        })
    }

    /// A bare share above 0 and below 1 taken as the fraction it is, and written in percent, so that whoever reads it on
    /// cannot take it for less: "0.50" becomes "50 %". Anything else is as it was: "0.5 %" stays half a percent.
    #[must_use]
    pub fn or_fraction(self) -> Self {
        let typed = self.value();
        if !self.bare || self.dimension != Dimension::Share || typed <= 0.0 || typed >= 1.0 {
            return self;
        }
        // The point moves by two places and takes the digits along; the six decimals are for fractions like 1/3.
        let percent = trimmed(100.0 * typed, 6);
        Self { si: typed, text: with_unit(&percent, self.unit.symbol()), bare: false, ..self }
    }

    fn either_way(typed: &str, value: f64, units: [&'static Unit; 2], usual: &str) -> QuantityError {
        let as_one = |unit: &Unit| {
            let shown = Self::computed(unit.to_si(value), usual, 0);
            shown.map_or_else(
                || unit.symbol().to_owned(),
                |shown| format!("{} ({})", shown.text(), unit.symbol()),
            )
        };
        QuantityError::EitherWay {
            found: typed.to_owned(),
            first: as_one(units[0]),
            second: as_one(units[1]),
            units: format!("{} or {}", units[0].symbol(), units[1].symbol()),
        }
    }

    fn refused_unit(typed: &str, symbol: &str, allowed: &[Dimension]) -> QuantityError {
        let units = Dimension::symbols(allowed);
        match Unit::any(symbol) {
            Some(other) => QuantityError::WrongKind {
                found: typed.to_owned(),
                is: other.dimension.with_article(),
                wanted: Dimension::names(allowed),
                allowed: units,
            },
            None => QuantityError::UnknownUnit { unit: symbol.to_owned(), allowed: units },
        }
    }

    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// The value in SI (m, rad is not used: angles stay in degrees; temperatures in kelvin; speeds in rpm).
    pub fn si(&self) -> f64 {
        self.si
    }

    /// The value in the unit it was typed in.
    pub fn value(&self) -> f64 {
        self.unit.value_of(self.si)
    }

    /// The value in another unit of the same dimension; `None` for a unit that measures something else.
    pub fn in_unit(&self, symbol: &str) -> Option<f64> {
        let unit = Unit::any(symbol)?;
        (unit.dimension == self.dimension).then(|| unit.value_of(self.si))
    }

    /// The unit's symbol, empty for a plain number.
    pub fn unit(&self) -> &'static str {
        self.unit.symbol()
    }

    /// The text exactly as typed.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether it was typed without a unit.
    pub fn is_bare(&self) -> bool {
        self.bare
    }

    /// The text with its unit even when it was typed bare.
    pub fn with_unit(&self) -> String {
        if self.bare { with_unit(&self.text, self.unit.symbol()) } else { self.text.clone() }
    }

    /// Decimals written by the user, which bound what the reading can resolve.
    pub fn decimals(&self) -> usize {
        let (digits, _) = split_number(&self.text);
        digits.split_once('.').map_or(0, |(_, after)| after.chars().take_while(char::is_ascii_digit).count())
    }

    /// Whether two readings are one: "0.030 in" and "0.762 mm" are. Equal to one part in 10⁹.
    pub fn same_as(&self, other: &Self) -> bool {
        self.dimension == other.dimension && nearly_equal(self.si, other.si)
    }
}

/// Equal to one part in 10⁹, which is far below what any gauge here resolves and above rounding of the conversions.
pub fn nearly_equal(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-12)
}

/// A number with fixed decimals and without a negative zero.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.starts_with('-') && text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
        text[1..].to_owned()
    } else {
        text
    }
}

/// A number with at most `decimals` decimals, trailing zeros dropped.
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn with_unit(digits: &str, symbol: &str) -> String {
    match symbol {
        "" => digits.to_owned(),
        "%" => format!("{digits} %"),
        _ => format!("{digits} {symbol}"),
    }
}

/// Splits "1 1/2 turns" into "1 1/2" and "turns": the number ends where a character can no longer belong to one.
fn split_number(text: &str) -> (&str, &str) {
    let word = text.split(' ').next().unwrap_or_default();
    let unsigned = word.strip_prefix(['+', '-']).unwrap_or(word);
    if ["nan", "inf", "infinity"].iter().any(|no_number| unsigned.eq_ignore_ascii_case(no_number)) {
        return (word, text[word.len()..].trim());
    }
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        let byte = bytes[end];
        let belongs = byte.is_ascii_digit()
            || matches!(byte, b'.' | b',' | b'/')
            || (matches!(byte, b'+' | b'-') && (end == 0 || matches!(bytes[end - 1], b'e' | b'E')))
            || (matches!(byte, b'e' | b'E') && exponent_follows(bytes, end))
            || (byte == b' ' && fraction_follows(bytes, end));
        if !belongs {
            break;
        }
        end += 1;
    }
    (text[..end].trim(), text[end..].trim())
}

fn exponent_follows(bytes: &[u8], at: usize) -> bool {
    let signed = matches!(bytes.get(at + 1), Some(b'+' | b'-'));
    let first = at + 1 + usize::from(signed);
    at > 0 && bytes[at - 1].is_ascii_digit() && bytes.get(first).is_some_and(u8::is_ascii_digit)
}

fn fraction_follows(bytes: &[u8], at: usize) -> bool {
    let rest = &bytes[at + 1..];
    let digits = rest.iter().take_while(|b| b.is_ascii_digit()).count();
    at > 0 && digits > 0 && rest.get(digits) == Some(&b'/')
}

fn read_number(digits: &str, typed: &str) -> Result<f64, QuantityError> {
    let not_a_number = || QuantityError::NotANumber { found: typed.to_owned(), example: String::new() };
    if digits.contains(',') {
        return Err(QuantityError::Comma { found: typed.to_owned() });
    }
    let value = match digits.split_once('/') {
        Some((before, below)) => {
            let (whole, above) = before.rsplit_once(' ').unwrap_or(("0", before));
            let parts = [whole, above, below].map(str::parse::<f64>);
            let [Ok(whole), Ok(above), Ok(below)] = parts else {
                return Err(not_a_number());
            };
            let fraction = above / below;
            // The sign belongs to the whole of "-1 1/2".
            if before.starts_with('-') && before.contains(' ') { whole - fraction } else { whole + fraction }
        }
        None => digits.parse::<f64>().map_err(|_| not_a_number())?,
    };
    if value.is_finite() { Ok(value) } else { Err(QuantityError::NotFinite { found: typed.to_owned() }) }
}
