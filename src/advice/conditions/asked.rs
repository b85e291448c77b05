//! What is asked of an air before it is answered for, over all the airs that somebody may type: for a page that has no record to hold them
//! against. Each question asks of one number: the pressure, the temperature or the humidity.

use std::convert::Infallible;

use crate::advice::slips::{AirBeside, Slip};
use crate::notebook::AirEntry;
use crate::notebook::guidance::Guidance;
use crate::quantity::search::stretches;

/// Pressures that are looked at, hPa, and temperatures, C.
const PRESSURES: (f64, f64) = (400.0, 1_100.0);
const TEMPERATURES: (f64, f64) = (-60.0, 60.0);
/// An air of which nothing is asked, but for what is put in its place.
const PLAIN: [f64; 3] = [20.0, 1_000.0, 50.0];

/// A question from a number on.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedFrom {
    /// From where on.
    pub from: f64,
    /// The question without the value that it begins with, and what to do; none where nothing is asked.
    pub words: Option<(String, Guidance)>,
}

/// What is asked of an air's numbers.
#[derive(Debug, Clone)]
pub struct AskedOfAir {
    /// Of the pressure at the track, hPa. Another height makes an odd one as well: it is answered for, and said.
    pub pressure: Vec<AskedFrom>,
    /// Of the temperature, C.
    pub temperature: Vec<AskedFrom>,
    /// Of the relative humidity, percent.
    pub humidity: Vec<AskedFrom>,
}

impl AskedOfAir {
    /// All that is asked beside what is known.
    pub fn of(beside: &AirBeside) -> Self {
        let with = |place: usize, value: f64| {
            let mut numbers = PLAIN;
            numbers[place] = value;
            let [temperature, pressure, humidity] = numbers;
            AirEntry::parse(&format!(
                "temp={temperature:.2} C; baro={pressure:.2} hPa; humidity={humidity:.2} %"
            ))
            .ok()
        };
        let asked = |place: usize, field: &'static str| {
            move |value: f64| {
                let slips = with(place, value).map(|air| beside.ask(&air)).unwrap_or_default();
                slips.into_iter().find(|slip| slip.field == field).map(|slip| words(&slip))
            }
        };
        Self {
            pressure: over(PRESSURES, (10.0, 0.05), asked(1, "baro")),
            temperature: over(TEMPERATURES, (4.0, 0.05), asked(0, "temp")),
            humidity: over((0.0, 100.0), (5.0, 0.5), asked(2, "humidity")),
        }
    }
}

/// A question without the value that it begins with, a number and its unit; and what to do.
fn words(slip: &Slip) -> (String, Guidance) {
    let rest = slip.question.splitn(3, ' ').nth(2).unwrap_or_default();
    (rest.to_owned(), slip.instead.clone())
}

fn over(
    range: (f64, f64),
    step_and_close: (f64, f64),
    asked: impl Fn(f64) -> Option<(String, Guidance)>,
) -> Vec<AskedFrom> {
    let look = |value: f64| Ok::<_, Infallible>(asked(value));
    let Ok(found) = stretches(range, step_and_close, |one, other| one == other, look);
    let mut before: Option<f64> = None;
    let mut all = Vec::new();
    for stretch in found {
        let (Some((first, last)), Some((_, words))) = (stretch.ends(), stretch.seen.first()) else {
            continue;
        };
        all.push(AskedFrom {
            from: before.map_or(first, |before| f64::midpoint(before, first)),
            words: words.clone(),
        });
        before = Some(last);
    }
    all
}
