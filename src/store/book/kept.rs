//! What a book keeps of what it read: setups by the commit that recorded them or by their files, and outings with what they were read from.

use git2::Oid;

use crate::notebook::{Combination, EnginesRead, SetupFiles};
use crate::store::error::StoreError;
use crate::store::records::{OutingRecord, SetupRecord};

use std::cell::RefCell;
use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// A bike's setups, and what their numbers were read from.
pub(in crate::store) struct KnownSetups {
    pub(in crate::store) numbered_by: NumberedBy,
    pub(in crate::store) setups: Vec<SetupRecord>,
}

/// Where the numbers of setups stand: in the file as it is recorded by a commit, and as it lies on disk.
#[derive(Debug, PartialEq, Eq)]
pub(in crate::store) struct NumberedBy {
    pub(in crate::store) head: Option<Oid>,
    pub(in crate::store) on_disk: Option<Vec<u8>>,
}

/// Setups that are kept as they were read: of a team's bikes all that an answer looks back to, some 10 kB each.
pub(in crate::store) const KEPT: usize = 2_000;

/// A recorded setup: its bike and the commit.
pub(in crate::store) type Seen = (String, Oid);

/// Setups as they were read.
#[derive(Default)]
pub(in crate::store) struct SetupsRead(Mutex<Known>);

/// A cylinder, and those that share its carburetor.
pub(in crate::store) type Cylinder = (String, Vec<String>);

/// A recorded setup as it was read.
pub(in crate::store) struct Read {
    pub(in crate::store) whole: Arc<Combination>,
    /// As each cylinder has it.
    pub(in crate::store) of_cylinder: HashMap<Cylinder, Arc<Combination>>,
}

#[derive(Default)]
pub(in crate::store) struct Known {
    pub(in crate::store) recorded: HashMap<Seen, Read>,
    /// Those, the oldest first.
    pub(in crate::store) kept: VecDeque<Seen>,
    /// Engines, each as its file was the last time: setups one after the other mostly have the same.
    pub(in crate::store) engines: EnginesRead,
    /// As they lie on disk: of each bike its files, whether a bare length was refused, and what was read.
    pub(in crate::store) on_disk: HashMap<String, (SetupFiles, bool, Arc<Combination>)>,
}

pub(in crate::store) static SERVED: OnceLock<Arc<SetupsRead>> = OnceLock::new();

/// From now on setups that were read are kept from one answer to the next: what a commit holds does not change.
pub fn keep_what_was_read() {
    SERVED.get_or_init(Arc::default);
}

impl SetupsRead {
    /// Those of the whole program where they are kept, else none yet.
    pub(in crate::store) fn known() -> Arc<Self> {
        SERVED.get().cloned().unwrap_or_default()
    }

    pub(in crate::store) fn lock(&self) -> MutexGuard<'_, Known> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A recorded setup, where it was read before.
    pub(in crate::store) fn before(&self, seen: &Seen) -> Option<Combination> {
        let found = self.lock().recorded.get(seen).map(|read| Arc::clone(&read.whole));
        found.map(|read| Combination::clone(&read))
    }

    /// A recorded setup as a cylinder has it, laid over where it was not before.
    pub(in crate::store) fn of_cylinder(
        &self,
        seen: &Seen,
        cylinder: Cylinder,
        whole: &Combination,
    ) -> Combination {
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

    /// Reads a setup from its files. Old versions are read leniently: a bare length of long ago is no error now.
    pub(in crate::store) fn read(&self, files: &SetupFiles) -> Combination {
        Combination::read_among(files, false, &mut self.lock().engines)
    }

    pub(in crate::store) fn keep(&self, seen: Seen, read: &Combination) {
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
    pub(in crate::store) fn recorded(
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
pub(in crate::store) type OfWhom = (String, Option<String>);

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
