//! The memory as one cylinder has it, and who shares its carburetor.

use std::rc::Rc;
use std::sync::Arc;

use super::Book;
use crate::store::error::StoreError;
use crate::store::index::setups::sharing_with;
use crate::store::records::SetupRecord;

impl Book<'_> {
    /// The same memory as one cylinder has it: its setups are what holds for it, its outings what was seen there. All that is asked
    /// of a bike with one cylinder can be asked of it; nothing is recorded through it.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        self.seen_at(Some(name.to_owned()))
    }

    /// The same memory as it is written, of all cylinders.
    #[must_use]
    pub fn of_all(&self) -> Self {
        self.seen_at(None)
    }

    fn seen_at(&self, cylinder: Option<String>) -> Self {
        Self {
            garage: self.garage,
            index: Rc::clone(&self.index),
            cylinder,
            known: Rc::clone(&self.known),
            setups_read: Arc::clone(&self.setups_read),
            outings_read: Rc::clone(&self.outings_read),
        }
    }

    /// The same memory as each of the bike's other cylinders has it; none where it is no view of a cylinder.
    pub fn neighbours(&self, bike: &str) -> Result<Vec<(String, Self)>, StoreError> {
        let Some(own) = self.cylinder() else { return Ok(Vec::new()) };
        let names = self.combination_of_all(bike, None)?.fields.cylinders();
        let mut known = self.sharing_with(bike)?;
        known.push(own.to_owned());
        let mut neighbours = Vec::new();
        for name in names {
            // Those of one carburetor are judged together, once.
            if !known.contains(&name) {
                let book = self.for_cylinder(&name);
                known.extend(book.sharing_with(bike)?);
                neighbours.push((name, book));
            }
        }
        Ok(neighbours)
    }

    /// The other cylinders that the carburetor of the one that it is a view of feeds as well, by the bike's newest setup.
    pub fn sharing_with(&self, bike: &str) -> Result<Vec<String>, StoreError> {
        if self.cylinder.is_none() {
            return Ok(Vec::new());
        }
        Ok(self.sharing(self.latest(bike)?.as_ref()))
    }

    pub(super) fn sharing(&self, newest: Option<&SetupRecord>) -> Vec<String> {
        let of =
            |(name, newest): (&String, &SetupRecord)| sharing_with(self.index.connection(), newest, name);
        self.cylinder.as_ref().zip(newest).map(of).unwrap_or_default()
    }

    /// The cylinder that it is a view of.
    pub fn cylinder(&self) -> Option<&str> {
        self.cylinder.as_deref()
    }
}
