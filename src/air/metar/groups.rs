//! The groups of a report, each read from its own text. `None` means "not this kind of
//! group"; a missing value inside a group that is present is `Some(None)`.

/// One hundredth of an inch of mercury, Pa (1 inHg = 3386.389 Pa).
pub(super) const INCH_STEP_PA: f64 = 33.863_89;
/// One hectopascal, Pa.
pub(super) const HECTOPASCAL_PA: f64 = 100.0;

/// A temperature that may be missing.
type Reported = Option<f64>;

/// The number written by exactly `length` digits.
fn digits(text: &str, length: usize) -> Option<u32> {
    let plain = text.len() == length && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten()
}

/// The station: four letters or figures, a letter first.
pub(super) fn station(token: &str) -> bool {
    token.len() == 4
        && token.starts_with(|c: char| c.is_ascii_uppercase())
        && token.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit())
}

/// Day, hour and minute of a group such as `221630Z`; whether they can be true is not asked.
pub(super) fn time(token: &str) -> Option<(u8, u8, u8)> {
    let figures = token.strip_suffix('Z')?;
    let part = |from: usize| {
        let two = figures.get(from..from + 2)?;
        digits(two, 2).and_then(|number| u8::try_from(number).ok())
    };
    (figures.len() == 6).then_some(())?;
    Some((part(0)?, part(2)?, part(4)?))
}

/// The hours a forecast is valid for, such as `2406/2512`: no report has this group there.
pub(super) fn validity(token: &str) -> bool {
    token.split_once('/').is_some_and(|(from, to)| digits(from, 4).is_some() && digits(to, 4).is_some())
}

/// Temperature and dew point in °C from a group such as `17/16`, `M02/M05`, `02/` or `/////`.
pub(super) fn temperatures(token: &str) -> Option<(Reported, Reported)> {
    let (temperature, rest) = whole_degrees(token)?;
    let rest = rest.strip_prefix('/')?;
    if rest.is_empty() {
        return Some((temperature, None));
    }
    let (dew_point, rest) = whole_degrees(rest)?;
    rest.is_empty().then_some((temperature, dew_point))
}

/// A temperature in whole degrees at the start of `text`, and what follows it.
fn whole_degrees(text: &str) -> Option<(Reported, &str)> {
    if let Some(rest) = text.strip_prefix("//").or_else(|| text.strip_prefix("XX")) {
        return Some((None, rest));
    }
    let (below_zero, text) = match text.strip_prefix('M') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let degrees = f64::from(digits(text.get(..2)?, 2)?);
    Some((Some(signed(below_zero, degrees)), text.get(2..)?))
}

/// Minus nought is nought: a report's M00 must not print as -0.
fn signed(below_zero: bool, degrees: f64) -> f64 {
    if below_zero { 0.0 - degrees } else { degrees }
}

/// Temperature and dew point in tenths from the remarks: `T00261015` is 2.6 and -1.5 °C,
/// `T0026` the temperature alone (AFMAN 15-111).
pub(super) fn tenths(token: &str) -> Option<(f64, Reported)> {
    let figures = token.strip_prefix('T')?;
    match figures.len() {
        4 => Some((signed_tenths(figures)?, None)),
        8 => Some((signed_tenths(figures.get(..4)?)?, Some(signed_tenths(figures.get(4..)?)?))),
        _ => None,
    }
}

/// A sign figure (0 plus, 1 minus) and three figures of tenths.
fn signed_tenths(figures: &str) -> Option<f64> {
    let below_zero = match figures.get(..1)? {
        "0" => false,
        "1" => true,
        _ => return None,
    };
    let tenths = f64::from(digits(figures.get(1..)?, 3)?);
    Some(signed(below_zero, tenths / 10.0))
}

/// An altimeter setting in Pa and the size of its last step, from `Q1018` or `A2992`.
/// `None` inside for slashes; `Err` for a group of the wrong length.
pub(super) fn altimeter(token: &str) -> Option<Result<Option<(f64, f64)>, ()>> {
    let (figures, step) = match (token.strip_prefix('Q'), token.strip_prefix('A')) {
        (Some(figures), _) => (figures, HECTOPASCAL_PA),
        (_, Some(figures)) => (figures, INCH_STEP_PA),
        _ => return None,
    };
    if figures.is_empty() {
        return None;
    }
    if figures.bytes().all(|byte| byte == b'/') {
        return Some(Ok(None));
    }
    if !figures.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    match digits(figures, 4) {
        Some(number) => Some(Ok(Some((f64::from(number) * step, step)))),
        None => Some(Err(())),
    }
}

/// Sea-level pressure of the remarks in Pa: `SLP982` is 998.2 hPa, `SLP125` 1012.5 hPa, the
/// hundreds left out being those nearer to 1000 (AFMAN 15-111).
pub(super) fn sea_level(token: &str) -> Option<f64> {
    let tenths = f64::from(digits(token.strip_prefix("SLP")?, 3)?);
    let hundreds = if tenths < 500.0 { 1_000.0 } else { 900.0 };
    Some((hundreds + tenths / 10.0) * HECTOPASCAL_PA)
}
