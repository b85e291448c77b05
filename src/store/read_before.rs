//! What an answer asks for dozens of times and is read once: setups as they were read, and the outings of a bike. Setups are found by
//! the commit that recorded them, or by all of their files as they lie on disk, and outings with what they were read from, so that
//! nothing old is answered.

use std::cell::RefCell;
use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use git2::Oid;

use crate::notebook::{Combination, SetupFiles};
use crate::store::book::{Book, OutingRecord, SetupRecord};
use crate::store::error::{StoreError, git};
use crate::store::numbered::NumberedBy;

/// Setups that are kept as they were read: of a team's bikes all that an answer looks back to.
const KEPT: usize = 600;

/// A recorded setup: its bike and the commit.
type Seen = (String, Oid);

/// Setups as they were read.
#[derive(Default)]
pub(in crate::store) struct SetupsRead(Mutex<Known>);

/// A cylinder, and those that share its carburetor.
type Cylinder = (String, Vec<String>);

/// A recorded setup as it was read.
struct Read {
    whole: Arc<Combination>,
    /// As each cylinder has it.
    of_cylinder: HashMap<Cylinder, Arc<Combination>>,
}

#[derive(Default)]
struct Known {
    recorded: HashMap<Seen, Read>,
    /// Those, the oldest first.
    kept: VecDeque<Seen>,
    /// As they lie on disk: of each bike its files, whether a bare length was refused, and what was read.
    on_disk: HashMap<String, (SetupFiles, bool, Arc<Combination>)>,
}

static SERVED: OnceLock<Arc<SetupsRead>> = OnceLock::new();

/// From now on setups that were read are kept from one answer to the next: what a commit holds does not change.
pub fn keep_what_was_read() {
    SERVED.get_or_init(Arc::default);
}

impl SetupsRead {
    /// Those of the whole program where they are kept, else none yet.
    pub(in crate::store) fn known() -> Arc<Self> {
        SERVED.get().cloned().unwrap_or_default()
    }

    fn lock(&self) -> MutexGuard<'_, Known> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A recorded setup, where it was read before.
    fn before(&self, seen: &Seen) -> Option<Combination> {
        let found = self.lock().recorded.get(seen).map(|read| Arc::clone(&read.whole));
        found.map(|read| Combination::clone(&read))
    }

    /// A recorded setup as a cylinder has it, laid over where it was not before.
    fn of_cylinder(&self, seen: &Seen, cylinder: Cylinder, whole: &Combination) -> Combination {
        let found = self.lock().recorded.get(seen).and_then(|read| read.of_cylinder.get(&cylinder).cloned());
        if let Some(laid) = found {
            return Combination::clone(&laid);
        }
        let laid = whole.for_cylinders(&cylinder.0, &cylinder.1);
        if let Some(read) = self.lock().recorded.get_mut(seen) {
            read.of_cylinder.insert(cylinder, Arc::new(laid.clone()));
        }
        laid
    }

    fn keep(&self, seen: Seen, read: &Combination) {
        let mut known = self.lock();
        let read = Read { whole: Arc::new(read.clone()), of_cylinder: HashMap::new() };
        if known.recorded.insert(seen.clone(), read).is_none() {
            known.kept.push_back(seen);
        }
        if known.kept.len() > KEPT
            && let Some(oldest) = known.kept.pop_front()
        {
            known.recorded.remove(&oldest);
        }
    }

    /// A recorded setup, made where it was not read before.
    fn recorded(
        &self,
        seen: Seen,
        make: impl FnOnce() -> Result<Combination, StoreError>,
    ) -> Result<Combination, StoreError> {
        if let Some(read) = self.before(&seen) {
            return Ok(read);
        }
        let read = make()?;
        self.keep(seen, &read);
        Ok(read)
    }

    /// The setup of files as they lie on disk.
    pub(in crate::store) fn on_disk(&self, files: SetupFiles, refuse_bare_lengths: bool) -> Combination {
        let found = match self.lock().on_disk.get(&files.bike) {
            Some((known, refused, read)) if *refused == refuse_bare_lengths && *known == files => {
                Some(Arc::clone(read))
            }
            _ => None,
        };
        if let Some(read) = found {
            return Combination::clone(&read);
        }
        let read = Combination::read(&files, refuse_bare_lengths);
        let kept = (files, refuse_bare_lengths, Arc::new(read.clone()));
        self.lock().on_disk.insert(kept.0.bike.clone(), kept);
        read
    }
}

/// What outings were read from: the numbers of the setups, the state of the index, and what its own connection changed.
#[derive(PartialEq, Eq)]
pub(in crate::store) struct OutingsReadFrom {
    pub(in crate::store) numbered_by: NumberedBy,
    pub(in crate::store) index: (i64, u64),
}

/// A bike, and the cylinder whose outings they are.
type OfWhom = (String, Option<String>);

/// Outings of bikes as they were read.
#[derive(Default)]
pub(in crate::store) struct OutingsRead(RefCell<HashMap<OfWhom, (OutingsReadFrom, Vec<OutingRecord>)>>);

impl OutingsRead {
    /// Those that were read from the same.
    pub(in crate::store) fn get(&self, of: &OfWhom, from: &OutingsReadFrom) -> Option<Vec<OutingRecord>> {
        let known = self.0.borrow();
        known.get(of).filter(|(read, _)| read == from).map(|(_, outings)| outings.clone())
    }

    pub(in crate::store) fn keep(&self, of: OfWhom, from: OutingsReadFrom, outings: &[OutingRecord]) {
        self.0.borrow_mut().insert(of, (from, outings.to_vec()));
    }
}

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
            // Old versions are read leniently: a bare length of long ago is no error now.
            let read = || Ok(Combination::read(&self.garage().files_at(commit, bike)?, false));
            return self.setups_read.recorded(seen, read);
        }
        match self.garage().files_now(bike) {
            Ok(files) => Ok(self.setups_read.on_disk(files, self.garage().is_imperial())),
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

/// The commit that recorded a setup.
pub(in crate::store) fn commit_of(setup: &SetupRecord) -> Result<Oid, StoreError> {
    Oid::from_str(&setup.commit).map_err(git("read a commit's id"))
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use git2::Oid;

    use super::{KEPT, SetupsRead};
    use crate::notebook::{Combination, SetupFiles, Value};

    fn files(bike: &str, setup: &str) -> SetupFiles {
        SetupFiles { bike: bike.to_owned(), setup: Some(setup.into()), ..SetupFiles::default() }
    }

    #[test]
    fn a_setup_is_read_once_and_another_bike_s_commit_is_another() {
        let read = SetupsRead::default();
        let times = Cell::new(0);
        let of = |bike: &str, commit: u32, main: &str| {
            let commit = Oid::from_str(&format!("{commit:040x}")).unwrap();
            let make = || {
                times.set(times.get() + 1);
                Ok(Combination::read(&files(bike, &format!("[jetting]\nmain = \"{main}\"\n")), false))
            };
            let whole = read.recorded((bike.to_owned(), commit), make).unwrap();
            whole.fields.get("jetting.main").map(Value::text)
        };
        assert_eq!(of("moth", 1, "170"), Some("170".to_owned()));
        assert_eq!(of("moth", 1, "180"), Some("170".to_owned()), "what a commit holds does not change");
        assert_eq!(of("ibex", 1, "310"), Some("310".to_owned()));
        assert_eq!(times.get(), 2);
        for commit in 2..=u32::try_from(KEPT).unwrap() + 1 {
            of("moth", commit, "172");
        }
        assert_eq!(of("moth", 1, "180"), Some("180".to_owned()), "the oldest is kept for ever");
    }

    #[test]
    fn what_a_cylinder_has_is_kept_for_it_and_for_those_that_share_with_it() {
        let read = SetupsRead::default();
        let seen = ("otter".to_owned(), Oid::from_str(&format!("{:040x}", 1)).unwrap());
        let setup = "[jetting]\nmain = \"160\"\n[cylinder.right.jetting]\nmain = \"162\"\n";
        let whole = Combination::read(&files("otter", setup), false);
        let main = |name: &str, others: &[&str]| {
            let cylinder = (name.to_owned(), others.iter().map(|other| (*other).to_owned()).collect());
            let laid = read.of_cylinder(&seen, cylinder, &whole);
            laid.fields.get("jetting.main").map(Value::text)
        };
        assert_eq!(main("right", &[]), Some("162".to_owned()), "before it is kept");
        read.keep(seen.clone(), &whole);
        for _ in 0..2 {
            assert_eq!(main("left", &[]), Some("160".to_owned()));
            assert_eq!(main("right", &[]), Some("162".to_owned()));
            assert_eq!(main("right", &["left"]), Some("162".to_owned()));
        }
        assert_eq!(read.lock().recorded[&seen].of_cylinder.len(), 3);
    }

    #[test]
    fn files_that_changed_on_disk_are_read_again_and_so_are_stricter_units() {
        let read = SetupsRead::default();
        let main = |main: &str| {
            let whole = read.on_disk(files("moth", &format!("[jetting]\nmain = \"{main}\"\n")), false);
            whole.fields.get("jetting.main").map(Value::text)
        };
        assert_eq!(main("170"), Some("170".to_owned()));
        assert_eq!(main("172"), Some("172".to_owned()));
        let bare = || files("wren", "[jetting]\ncarburetor_bore = 38\n");
        let is_refused = |refuse| {
            let whole = read.on_disk(bare(), refuse);
            whole.findings.iter().any(|finding| finding.to_string().contains("carburetor_bore"))
        };
        assert!(!is_refused(false));
        assert!(is_refused(true), "a bare length in a garage of inches");
    }
}
