//! A step that is proposed for a bike, and the tables of its garage that it is judged with.

use super::hold::Tables;
use crate::advice::conditions::kept::Served;
use crate::air::Air;
use crate::notebook::{Combination, JetBox, NeedleBox, OwnBox, Shares};
use crate::store::{Book, StoreError};

/// What is proposed for a bike.
#[derive(Debug, Clone, Copy)]
pub struct Proposal<'p> {
    /// The bike.
    pub bike: &'p str,
    /// The setup that is on it; none for its first.
    pub before: Option<&'p Combination>,
    /// The setup that it would have.
    pub after: &'p Combination,
    /// The air it goes into, where that is known.
    pub air: Option<&'p Air>,
    /// Whether an earlier setup is put back: then many sizes at once are said and not refused, since it ran.
    pub back: bool,
    /// Whether it was worked out for that very air from the bike's record.
    pub advised: bool,
    /// The air that is kept, or why it does not serve: it stands for the air of the last run where no run came after it.
    pub kept: Option<&'p Served>,
    /// Whether the bike stands so already, and only what was recorded and never fitted is taken back: then no step is too large.
    pub moves_nothing: bool,
}

impl<'p> Proposal<'p> {
    /// An earlier setup that is put back, where nothing is said of the air it goes into.
    pub fn put_back(bike: &'p str, before: Option<&'p Combination>, after: &'p Combination) -> Self {
        let (air, kept) = (None, None);
        Self { bike, before, after, air, back: true, advised: false, kept, moves_nothing: false }
    }
}

/// The tables of a bike's garage, read at once.
#[derive(Debug, Clone)]
pub struct Shelf {
    jets: JetBox,
    needles: NeedleBox,
    shares: Shares,
    own_box: Option<OwnBox>,
}

impl Shelf {
    /// Reads them.
    pub fn of(book: &Book<'_>, bike: &str) -> Result<Self, StoreError> {
        let garage = book.garage();
        Ok(Self {
            jets: garage.jets()?,
            needles: garage.needles()?,
            shares: garage.shares()?,
            own_box: garage.bike(bike)?.own_box,
        })
    }

    /// To reckon with.
    pub fn tables(&self) -> Tables<'_> {
        Tables {
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
            own_box: self.own_box.as_ref(),
        }
    }
}
