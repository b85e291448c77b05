//! `compare`: two setups side by side.

use std::str::FromStr;

use clap::Args;

use crate::acts::compare::{RanThere, ToCompare, compare, ran_at, ran_on};
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::store::{Book, Garage, SetupName};

/// Two setups side by side: only what changed, by how much
///
/// Under the differences stands what follows from them for ports, head, ignition, pipe and intake (see `reedbook package`).
/// Without setups: what is on disk now with the newest recorded one. With one: that one with the newest. Two bikes are
/// compared by naming the other one with --with. A day (2026-05-16) or a place is the setup that ran last there, with its runs of that
/// day or place: why was Saturday slower?
#[derive(Debug, Args)]
pub(in crate::commands) struct Compare {
    /// The bike; left out before a setup or a day, the last one of the day
    bike: String,
    /// The older side: a number, latest, proven or now, or the day or the place that it ran on
    from: Option<SideNamed>,
    /// The newer side likewise
    to: Option<SideNamed>,
    /// Compare with a setup of another bike: the newer side is that one's
    #[arg(long, value_name = "BIKE")]
    with: Option<String>,
}

impl Compare {
    /// The same with the last bike of the day, where the first word is a setup or a day and no bike is called so.
    fn of_the_day(&self, desk: &Desk, garage: &Garage) -> Result<Option<Self>, Trouble> {
        if self.to.is_some() || garage.bikes().contains(&self.bike) {
            return Ok(None);
        }
        let is_place = |side: &SideNamed| matches!(side, SideNamed::There(RanThere::Place(_)));
        let Some(first) = self.bike.parse().ok().filter(|side| !is_place(side)) else { return Ok(None) };
        let bike = desk.bike_meant(garage, "")?;
        Ok(Some(Self { bike, from: Some(first), to: self.from.clone(), with: self.with.clone() }))
    }

    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        if let Some(meant) = self.of_the_day(desk, &garage)? {
            return meant.run(desk);
        }
        let other = self.with.as_deref().unwrap_or(&self.bike);
        let from = self.from.as_ref().map(|side| side.setup(&garage, &self.bike)).transpose()?;
        let to = self.to.as_ref().map(|side| side.setup(&garage, other)).transpose()?;
        let (from, of_from) = from.unzip();
        let (to, of_to) = to.unzip();
        let said: Vec<String> = [of_from, of_to].into_iter().flatten().flatten().collect();
        let asked = ToCompare {
            bike: &self.bike,
            from: from.as_ref(),
            to: to.as_ref(),
            with: self.with.as_deref(),
            there: [&self.from, &self.to].map(|side| side.as_ref().and_then(SideNamed::there)),
            said: &said,
        };
        let screen = desk.screen();
        compare(&Book::open(&garage)?, asked, desk.moment.now, |answer, _| {
            screen.answer(answer, || answer.text(&screen))
        })
    }
}

/// A side as it is named: a setup, or the day or the place that it ran on.
#[derive(Debug, Clone)]
enum SideNamed {
    Setup(SetupName),
    There(RanThere),
}

impl SideNamed {
    fn there(&self) -> Option<&RanThere> {
        match self {
            Self::Setup(_) => None,
            Self::There(there) => Some(there),
        }
    }

    /// The setup that is meant, and what else is to be said of that day or place.
    fn setup(&self, garage: &Garage, bike: &str) -> Result<(SetupName, Option<String>), Trouble> {
        match self {
            Self::Setup(name) => Ok((name.clone(), None)),
            Self::There(RanThere::Day(day)) => ran_on(garage, bike, day),
            Self::There(RanThere::Place(place)) => {
                ran_at(garage, bike, place).map(|(name, said)| (name, Some(said)))
            }
        }
    }
}

impl FromStr for SideNamed {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let is_day = text.len() == 10
            && text.bytes().enumerate().all(|(at, byte)| match at {
                4 | 7 => byte == b'-',
                _ => byte.is_ascii_digit(),
            });
        if is_day {
            return Ok(Self::There(RanThere::Day(text.to_owned())));
        }
        // What begins as a name of a setup cannot be a place.
        let is_number = text.bytes().next().is_none_or(|first| first.is_ascii_digit() || first == b'-');
        match text.parse() {
            Ok(name) => Ok(Self::Setup(name)),
            Err(error) if is_number => {
                let error: String = error;
                Err(format!("{error}, or the day or the place that it ran on, like 2026-05-16"))
            }
            Err(_) => Ok(Self::There(RanThere::Place(text.to_owned()))),
        }
    }
}
