//! A bike's setups with their numbers, read once for an answer that asks for them dozens of times.

use std::path::PathBuf;

use crate::notebook::{AirEntry, Finding, When};
use crate::store::book::Book;
use crate::store::book::kept::{KnownSetups, NumberedBy};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::{Numbers, brought_back, has_lost};
use crate::store::records::SetupRecord;
use crate::store::shortened::shortened_finding;

/// The file of a bike's numbers.
fn numbers_of(bike: &str) -> PathBuf {
    Garage::bike_folder(bike).join("numbers")
}

fn text_of(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

impl Book<'_> {
    /// The numbers of a bike's setups, as on disk and as recorded.
    pub fn numbers(&self, bike: &str) -> Result<Numbers, StoreError> {
        self.numbers_in(bike, &self.numbered_by(bike)?)
    }

    pub(in crate::store) fn numbered_by(&self, bike: &str) -> Result<NumberedBy, StoreError> {
        let on_disk = match self.garage().read(&numbers_of(bike)) {
            // What was recorded still tells the numbers; whoever writes the bike is stopped by it.
            Err(StoreError::Barred(_)) => None,
            read => read?,
        };
        Ok(NumberedBy { head: self.garage().repository().head()?, on_disk })
    }

    fn numbers_in(&self, bike: &str, by: &NumberedBy) -> Result<Numbers, StoreError> {
        let recorded = self.recorded_numbers(bike, by)?;
        let on_disk = by.on_disk.as_deref().map(text_of);
        Ok(match (recorded, on_disk) {
            // What was recorded of them stands, also that two took one.
            (Some(recorded), Some(on_disk)) if has_lost(&recorded, &on_disk) => {
                Numbers::read(&[&brought_back(&recorded, &on_disk)])
            }
            (recorded, on_disk) => {
                let texts = [recorded, on_disk];
                Numbers::read(&texts.iter().flatten().map(String::as_str).collect::<Vec<_>>())
            }
        })
    }

    fn recorded_numbers(&self, bike: &str, by: &NumberedBy) -> Result<Option<String>, StoreError> {
        let repository = self.garage().repository();
        let Some(head) = by.head else { return Ok(None) };
        let recorded = repository.file(&repository.tree(head)?, &numbers_of(bike))?;
        Ok(recorded.as_deref().map(text_of))
    }

    /// What is wrong with a bike's numbers on disk where some of those that were recorded are not there any more.
    pub fn numbers_lost(&self, bike: &str) -> Result<Option<Finding>, StoreError> {
        let by = self.numbered_by(bike)?;
        let recorded = self.recorded_numbers(bike, &by)?.unwrap_or_default();
        let on_disk = by.on_disk.as_deref();
        let lost = on_disk.filter(|on_disk| has_lost(&recorded, &text_of(on_disk)));
        Ok(lost.map(|on_disk| shortened_finding(&numbers_of(bike), on_disk)))
    }

    /// A bike's setups, oldest first.
    pub fn setups(&self, bike: &str) -> Result<Vec<SetupRecord>, StoreError> {
        let numbered_by = self.numbered_by(bike)?;
        if let Some(known) = self.known.borrow().get(bike).filter(|known| known.numbered_by == numbered_by) {
            return Ok(known.setups.clone());
        }
        let mut numbers = self.numbers_in(bike, &numbered_by)?;
        let mut statement = self.index().connection().prepare_cached(
            "SELECT id, commit_id, unix, offset_minutes, why, air, engine, readable, despite, combined, author, made_from, combined_of FROM setups WHERE bike = ?1 ORDER BY position",
        )?;
        let rows = statement.query_map([bike], |row| {
            let id: String = row.get(0)?;
            let air: Option<String> = row.get(5)?;
            Ok(SetupRecord {
                bike: bike.to_owned(),
                number: 0,
                id,
                commit: row.get(1)?,
                date: When::from_unix(row.get(2)?, row.get(3)?).unwrap_or_default(),
                why: row.get(4)?,
                air: air.and_then(|line| AirEntry::parse(&line).ok()),
                engine: row.get(6)?,
                readable: row.get(7)?,
                despite: row.get(8)?,
                combined: row.get(9)?,
                author: row.get(10)?,
                made_from: row.get(11)?,
                combined_of: row
                    .get::<_, Option<String>>(12)?
                    .map(|ids| ids.split(' ').map(str::to_owned).collect())
                    .unwrap_or_default(),
            })
        })?;
        let mut setups = rows.collect::<Result<Vec<_>, _>>()?;
        for setup in &mut setups {
            setup.number = numbers.give(&setup.id);
        }
        let known = KnownSetups { numbered_by, setups: setups.clone() };
        self.known.borrow_mut().insert(bike.to_owned(), known);
        Ok(setups)
    }
}
