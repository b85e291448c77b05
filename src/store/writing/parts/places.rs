//! Where a part goes: into an engine, and to one of its cylinders where each has a part of its kind.

use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{PartPlace, PerEngine, When, at_cylinder};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::writing::change::cylinders::cylinders_to_name;

/// Where a part is put.
#[derive(Debug, Clone, Default)]
pub struct Fitting {
    /// The engine.
    pub engine: String,
    /// The cylinder, of an engine with several.
    pub at: Option<String>,
    /// The part that came out for it.
    pub instead_of: Option<String>,
    /// It goes beside one of its kind that is there: a piston may have two rings.
    pub beside: bool,
}

impl Fitting {
    /// In words: "sanda-engine at right".
    pub fn words(&self) -> String {
        at_cylinder(&self.engine, self.at.as_deref())
    }

    /// Whether a part is there already.
    pub(in crate::store::writing) fn is_at(&self, place: PartPlace<'_>) -> bool {
        place.engine == self.engine && place.cylinder == self.at.as_deref()
    }

    /// Whether a part is in that engine and it is not said at which cylinder: it may be there.
    pub(in crate::store::writing) fn is_near(&self, place: PartPlace<'_>) -> bool {
        place.engine == self.engine && place.cylinder.is_none()
    }

    /// The same with the cylinder of the part that comes out for it, where none is said.
    pub(in crate::store::writing) fn at_that_of(mut self, old: Option<PartPlace<'_>>) -> Self {
        if self.at.is_none() {
            self.at =
                old.filter(|old| old.engine == self.engine).and_then(|old| old.cylinder).map(str::to_owned);
        }
        self
    }
}

/// Refuses a part at a cylinder that is not there, without one where each cylinder has its own, with one where there is one for all,
/// and where another one is.
pub(in crate::store::writing) fn require_place(
    book: &Book<'_>,
    (part, kind): (&str, &str),
    fitting: &Fitting,
    date: When,
) -> Result<(), StoreError> {
    let engine = &fitting.engine;
    let names = cylinders_to_name(book.garage(), engine, fitting.at.is_some())?;
    let wrong = |message: String, help: Guidance| Err(StoreError::request(Some("at"), message, help));
    let kind_of = visible(kind);
    let Some(at) = fitting.at.as_deref() else {
        if names.is_empty() || PerEngine::of(kind) != PerEngine::EachCylinder {
            return Ok(());
        }
        let each = names.iter().map(|name| CommandOption::At(Some(name.clone())).into());
        return wrong(
            format!(
                "Each cylinder of {engine} has its own {kind_of}, and it is not said at which {part} goes in."
            ),
            Guidance::from("Say it: ") + Guidance::joined(each, " or ") + ".",
        );
    };
    if !names.iter().any(|name| name == at) {
        let help = match names.as_slice() {
            [] => {
                Guidance::from(format!("{engine} has one cylinder: leave "))
                    + CommandOption::At(None)
                    + " out."
            }
            names => format!("The cylinders of {engine} are {}.", names.join(", ")).into(),
        };
        return wrong(format!("{engine} has no cylinder \"{}\".", visible(at)), help);
    }
    if PerEngine::of(kind) == PerEngine::One {
        return wrong(
            format!("The {kind_of} of {engine} is one for all its cylinders."),
            Guidance::from("Leave ") + CommandOption::At(None) + " out.",
        );
    }
    // What comes out in that minute is written a second later.
    let settled = When::from_unix(date.unix() + 59, date.offset_minutes()).unwrap_or(date);
    let there = book.parts()?.into_iter().find(|other| {
        let sits = other.part.place_at(settled).is_some_and(|place| fitting.is_at(place));
        let goes = fitting.instead_of.as_deref() == Some(other.name.as_str());
        sits && !goes && other.name != part && other.part.kind == kind
    });
    let Some(there) = there.filter(|_| PerEngine::of(kind) == PerEngine::EachCylinder) else { return Ok(()) };
    if fitting.beside && !PerEngine::is_only_one(kind) {
        return Ok(());
    }
    let two = if PerEngine::is_only_one(kind) {
        Guidance::none()
    } else {
        Guidance::from("; ") + CommandOption::Sure + format!(" where two of the kind {kind_of} belong there")
    };
    let name = &there.name;
    wrong(
        format!("{name} sits at {} in {engine}.", in_words(at)),
        CommandOption::InsteadOf(name.clone())
            + format!(" takes it out for {part}; where the two change places, ")
            + Command::RemovePart(Some(name.clone()))
            + " first"
            + two
            + ".",
    )
}
