//! What stands while it is served, and what is opened of it for one request.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::atomic::AtomicUsize;
use std::sync::{Arc, Mutex};

use crate::acts::due::overdue;
use crate::machine::Moment;
use crate::quantity::Units;
use crate::report::page::live::{self, PageAt, PageFrame, Pen};
use crate::report::{Screen, Trouble};
use crate::serve::ahead::{Ahead, weigh_ahead};
use crate::serve::asked::Reply;
use crate::serve::key::Keys;
use crate::serve::pace::Pace;
use crate::store::{Garage, places};

/// What stands while it is served.
pub(super) struct Serving {
    pub(super) order: Order,
    pub(super) keys: Keys,
    pub(super) pace: Mutex<Pace>,
    /// Forms that were recorded, the newest last.
    pub(super) sent: Mutex<VecDeque<String>>,
    /// Held while a form is recorded.
    pub(super) writing: Mutex<()>,
    /// Requests that have no answer yet.
    pub(super) busy: Arc<AtomicUsize>,
    /// What is weighed before anybody asks.
    pub(super) ahead: Arc<Ahead>,
}

/// Forms that are remembered: more phones than any team has, for a day.
pub(super) const REMEMBERED: usize = 1_000;

impl Serving {
    /// What pages write with; none where they may not.
    pub(super) fn pen(&self) -> Result<Option<Pen>, Trouble> {
        if self.order.look {
            return Ok(None);
        }
        Ok(Some(Pen {
            token: self.keys.token().to_owned(),
            once: crate::serve::key::word().map_err(|error| no_secret(&error))?,
        }))
    }

    /// What the next page of jets will ask, weighed on a thread that nobody waits for: it only reads.
    pub(super) fn weigh_ahead(&self) {
        let root = self.order.root.clone();
        self.ahead.ask(move || weigh_ahead(&root));
    }

    /// Notes that a form is being recorded; false where it was before.
    pub(super) fn begin(&self, once: &str) -> bool {
        let Ok(mut sent) = self.sent.lock() else { return false };
        if once.is_empty() || sent.iter().any(|known| known == once) {
            return false;
        }
        if sent.len() >= REMEMBERED {
            sent.pop_front();
        }
        sent.push_back(once.to_owned());
        true
    }

    /// Takes that back: nothing was recorded.
    pub(super) fn take_back(&self, once: &str) {
        if let Ok(mut sent) = self.sent.lock() {
            sent.retain(|known| known != once);
        }
    }
}

pub(super) fn no_secret(error: &std::io::Error) -> Trouble {
    Trouble::request(
        None,
        format!("The machine gives no random number: {error}."),
        "Without one nobody is kept out, so nothing is served. Try again.",
    )
}

/// How it is to be served.
#[derive(Debug, Clone)]
pub struct Order {
    /// The garage's folder.
    pub root: PathBuf,
    /// The port; 0 takes one that is free.
    pub port: u16,
    /// Whether others on the network may come, with the pass key.
    pub open: bool,
    /// Whether it is only to be looked at.
    pub look: bool,
    /// In which units, and how, answers are shown.
    pub screen: Screen,
}

/// A garage opened for one request.
pub(super) struct Visit {
    pub(super) garage: Garage,
    pub(super) moment: Moment,
    pub(super) screen: Screen,
    pub(super) pen: Option<Pen>,
}

impl Visit {
    /// Opens it anew: whatever changed since is seen.
    pub(super) fn new(standing: &Serving) -> Result<Self, Trouble> {
        let garage = Garage::open(&standing.order.root)?;
        let screen = standing.order.screen.in_garage(garage.units()).on_a_phone();
        Ok(Self { moment: Moment::of_the_machine()?, screen, pen: standing.pen()?, garage })
    }

    /// Where a page of a bike stands.
    pub(super) fn place<'v>(&'v self, bike: Option<&'v str>, at: PageAt) -> PageFrame<'v> {
        PageFrame { bike, at, pen: self.pen.as_ref(), overdue: &[] }
    }

    /// The units to read what is typed in.
    pub(super) fn now_and_units(&self) -> (crate::notebook::When, Units) {
        (self.moment.now, self.screen.units())
    }

    /// Names of known places; one that cannot be read has none.
    pub(super) fn places(&self) -> Vec<String> {
        let known = places(&self.garage).map(|(known, _)| known).unwrap_or_default();
        known.iter().map(|record| record.title().to_owned()).collect()
    }
}

/// What cannot be done as it was asked; nothing is lost by it.
pub(super) fn wrong(visit: &Visit, bike: Option<&str>, title: &str, trouble: &Trouble) -> Reply {
    let body = live::trouble(&visit.place(bike, PageAt::Aside), &visit.screen, title, trouble);
    Reply { status: 400, ..Reply::page(body) }
}

/// What is over its limit; where that cannot be read the page says why by itself.
pub(super) fn over(visit: &Visit, bike: &str) -> Vec<String> {
    overdue(&visit.garage, bike, visit.moment.now).unwrap_or_default()
}

/// What became of a form.
pub(super) enum Written {
    /// It is recorded.
    Recorded(Reply),
    /// It is asked about, or something is wrong in it.
    Asked(Reply),
}
