//! A dyno curve as CSV: engine speed and power or torque, kept as measured.

use thiserror::Error;

/// A curve as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// What the second column is, with its unit, as its head says.
    pub what: String,
    /// Engine speed in rpm and the measured value.
    pub points: Vec<(f64, f64)>,
}

/// Why a text is no curve.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CurveError {
    /// The head is not what it should be.
    #[error("The dyno file's first line is \"{0}\".")]
    Head(String),
    /// A line that is not two numbers.
    #[error("Line {line} of the dyno file is \"{text}\".")]
    Line {
        /// The line, from 1.
        line: usize,
        /// Its text.
        text: String,
    },
    /// Too few points.
    #[error("The dyno file has fewer than two points.")]
    Short,
}

impl CurveError {
    /// How the file should be.
    pub fn help(&self) -> String {
        "The first line is \"rpm,power (kW)\" or \"rpm,torque (Nm)\", each line after it two numbers with a decimal point.".into()
    }
}

impl Curve {
    /// Reads the text of a CSV file.
    pub fn parse(text: &str) -> Result<Self, CurveError> {
        let mut lines = text.lines().map(str::trim).enumerate().filter(|(_, line)| !line.is_empty());
        let head = lines.next().map(|(_, line)| line).unwrap_or_default();
        let (speed, what) = head.split_once([',', ';', '\t']).unwrap_or((head, ""));
        let word = what.trim().to_ascii_lowercase();
        if !speed.trim().to_ascii_lowercase().starts_with("rpm")
            || !(word.starts_with("power") || word.starts_with("torque"))
        {
            return Err(CurveError::Head(crate::notebook::fields::names::visible(head)));
        }
        let points = lines.map(|(at, line)| point(at + 1, line)).collect::<Result<Vec<_>, _>>()?;
        if points.len() < 2 {
            return Err(CurveError::Short);
        }
        Ok(Self { what: what.trim().to_owned(), points })
    }

    /// The point with the highest value.
    pub fn peak(&self) -> Option<(f64, f64)> {
        self.points.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

fn point(line: usize, text: &str) -> Result<(f64, f64), CurveError> {
    let wrong = || CurveError::Line { line, text: crate::notebook::fields::names::visible(text) };
    let (speed, value) = text.split_once([',', ';', '\t']).ok_or_else(wrong)?;
    let number =
        |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite() && *n >= 0.0).ok_or_else(wrong);
    Ok((number(speed)?, number(value)?))
}
