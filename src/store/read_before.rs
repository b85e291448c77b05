//! What an answer asks for dozens of times and is read once: setups as they were read, and the outings of a bike. Setups are found by
//! the commit that recorded them, or by all of their files as they lie on disk, and outings with what they were read from, so that
//! nothing old is answered.

use crate::notebook::{Combination, SetupFiles};
use crate::store::book::Book;
use crate::store::book::kept::{OutingsReadFrom, Seen};
use crate::store::error::StoreError;
use crate::store::records::{OutingRecord, SetupRecord, commit_of};
use crate::store::shortened::shortened_setup;

impl Book<'_> {
    /// A bike's outings by date, oldest first.
    pub fn outings(&self, bike: &str) -> Result<Vec<OutingRecord>, StoreError> {
        let connection = self.index().connection();
        let others = connection.pragma_query_value(None, "data_version", |row| row.get(0))?;
        let index = (others, connection.total_changes());
        let from = OutingsReadFrom { numbered_by: self.numbered_by(bike)?, index };
        let of = (bike.to_owned(), self.cylinder().map(str::to_owned));
        if let Some(known) = self.outings_read.get(&of, &from) {
            return Ok(known);
        }
        let outings = self.read_outings(bike)?;
        self.outings_read.keep(of, from, &outings);
        Ok(outings)
    }

    /// A setup as read from its files.
    pub fn combination(&self, bike: &str, setup: Option<&SetupRecord>) -> Result<Combination, StoreError> {
        let whole = self.combination_of_all(bike, setup)?;
        let seen = setup.map(|setup| seen(bike, setup)).transpose()?;
        self.at_its_cylinder(bike, seen.as_ref(), whole)
    }

    /// The same of all cylinders.
    pub(in crate::store) fn combination_of_all(
        &self,
        bike: &str,
        setup: Option<&SetupRecord>,
    ) -> Result<Combination, StoreError> {
        if let Some(setup) = setup {
            let seen = seen(bike, setup)?;
            let commit = seen.1;
            let read = || Ok(self.setups_read.read(&self.garage().files_at(commit, bike)?));
            return self.setups_read.recorded(seen, read);
        }
        match self.garage().files_now(bike) {
            Ok(files) => {
                let shortened = shortened_setup(self.garage(), &files)?;
                let mut whole = self.setups_read.on_disk(files, self.garage().is_imperial());
                whole.findings.extend(shortened);
                Ok(whole)
            }
            // As one that cannot be read: what is known without it is still told.
            Err(StoreError::Barred(barred)) => Ok(Combination::of_findings(vec![barred.finding()])),
            Err(error) => Err(error),
        }
    }

    /// A recorded setup as it was read before, else the files that it is read from, of all cylinders.
    pub fn read_or_files(
        &self,
        bike: &str,
        setup: &SetupRecord,
    ) -> Result<Result<Combination, SetupFiles>, StoreError> {
        let seen = seen(bike, setup)?;
        if let Some(read) = self.setups_read.before(&seen) {
            return Ok(Ok(self.at_its_cylinder(bike, Some(&seen), read)?));
        }
        Ok(Err(self.garage().files_at(seen.1, bike)?))
    }

    /// Keeps a recorded setup that was read from those files, and gives it as the cylinder has it.
    pub fn keep_read(
        &self,
        bike: &str,
        setup: &SetupRecord,
        read: Combination,
    ) -> Result<Combination, StoreError> {
        let seen = seen(bike, setup)?;
        self.setups_read.keep(seen.clone(), &read);
        self.at_its_cylinder(bike, Some(&seen), read)
    }

    /// A setup as the cylinder has it whose view this is; what was recorded is laid over once.
    fn at_its_cylinder(
        &self,
        bike: &str,
        seen: Option<&Seen>,
        whole: Combination,
    ) -> Result<Combination, StoreError> {
        let Some(name) = self.cylinder().filter(|_| whole.findings.is_empty()) else { return Ok(whole) };
        let cylinder = (name.to_owned(), self.sharing_with(bike)?);
        Ok(match seen {
            Some(seen) => self.setups_read.of_cylinder(seen, cylinder, &whole),
            None => whole.for_cylinders(&cylinder.0, &cylinder.1),
        })
    }
}

fn seen(bike: &str, setup: &SetupRecord) -> Result<Seen, StoreError> {
    Ok((bike.to_owned(), commit_of(setup)?))
}
