//! A slip: what looks like one, what is asked of it, and what is looked at to find it.

use std::borrow::Cow;

use crate::air::Air;
use crate::notebook::guidance::{CommandOption, Guidance, Typed};
use crate::notebook::{Doubted, Outing, When};
use crate::quantity::{Dimension, Quantity, Units};
use crate::store::OutingRecord;

/// What a question about an elevation asks of.
pub(super) const ELEVATION: &str = "elevation";

/// Within what the same bike is taken to stand at the same place, s.
pub(super) const DAY: i64 = 24 * 3_600;

pub(super) const TOO_FEW: usize = 3;

/// The same line within so many seconds is one that was sent twice.
pub(super) const SENT_TWICE: i64 = 15 * 60;

/// Two runs of the same length within so many seconds are hardly two, whatever else is said of them (common practice, no source: a run takes
/// longer).
pub(super) const HARDLY_TWO: i64 = 5 * 60;

/// What is questioned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Questioned {
    /// The pressure or the temperature.
    Air,
    /// The running time.
    Hours,
    /// A jet, or the needle's clip.
    Jet,
    /// An angle of a disc.
    Disc,
    /// What is in the tank.
    Fuel,
    /// The name of a place that is nearly that of another.
    Place,
    /// The whole outing: it is logged already.
    Twice,
    /// The same as another one of the list that is brought in.
    TwiceHere,
    /// The setup that it ran.
    Setup,
    /// The best lap.
    Lap,
    /// When it was.
    Date,
    /// A reading of a build, or of the dash.
    Reading,
}

/// A slip, as far as one can see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slip {
    /// What.
    pub what: Questioned,
    /// Option or field it concerns.
    pub field: Cow<'static, str>,
    /// The question, one sentence or two.
    pub question: String,
    /// What to give in its place, a sentence; empty where nothing better than the right value.
    pub instead: Guidance,
}

impl Slip {
    /// The fields of an outing that it asks of.
    pub fn fields(&self) -> &'static [&'static str] {
        match self.what {
            Questioned::Air => &["air", "place", "date"],
            Questioned::Hours => &["hours"],
            Questioned::Place => &["place"],
            Questioned::Twice | Questioned::TwiceHere => &["date", "place", "session"],
            Questioned::Setup => &["setup", "date"],
            Questioned::Lap => &["lap", "place"],
            Questioned::Date => &["date"],
            Questioned::Reading => &["peak", "coolant", "setup"],
            Questioned::Jet | Questioned::Disc | Questioned::Fuel => &[],
        }
    }

    /// Whether it asks of a pressure or an elevation, which another height makes as well as a slip.
    pub fn is_of_height(&self) -> bool {
        let mercury = Typed::Option(CommandOption::Mercury);
        let is_in_mercury = self.instead.typed().any(|typed| *typed == mercury);
        let is_of_it = matches!(self.field.as_ref(), "baro" | "air" | ELEVATION);
        self.what == Questioned::Air && is_of_it && !is_in_mercury
    }

    /// What it may be recorded as doubted for.
    pub fn doubt(&self) -> Option<Doubted> {
        match self.what {
            Questioned::Air => Some(Doubted::Air),
            Questioned::Hours => Some(Doubted::Hours),
            Questioned::Jet
            | Questioned::Disc
            | Questioned::Fuel
            | Questioned::Place
            | Questioned::Twice
            | Questioned::TwiceHere
            | Questioned::Setup
            | Questioned::Lap
            | Questioned::Date
            | Questioned::Reading => None,
        }
    }
}

/// An outing before it is recorded, beside those that are.
#[derive(Debug, Clone, Copy)]
pub struct TypedOuting<'a> {
    /// The outing; its id is empty where it is new.
    pub record: &'a OutingRecord,
    /// Whether its date is the clock's: then it is when it was typed.
    pub dated_by_clock: bool,
    /// Units for what is said.
    pub units: Units,
}

/// How far two outings lie apart, s.
pub(super) fn apart(one: &OutingRecord, two: &OutingRecord) -> i64 {
    let unix = |date: When| date.unix();
    (unix(one.outing.date) - unix(two.outing.date)).abs()
}

/// The air of an outing, if it was read and is not doubted.
pub(super) fn air(outing: &Outing) -> Option<Air> {
    outing.air.as_ref().filter(|_| !outing.doubts(Doubted::Air))?.air().ok()
}

pub(super) fn shown(si: f64, dimension: Dimension, units: Units) -> String {
    let (unit, decimals) = dimension.display(units);
    // A slip is seen in whole hectopascals and degrees.
    let decimals = if units == Units::Metric { 0 } else { decimals };
    Quantity::computed(si, unit, decimals).map_or_else(String::new, |quantity| quantity.with_unit())
}
