//! What the garage remembers: the setups and outings of its bikes, by number and date.

pub(in crate::store) mod kept;
mod last;
mod view;

use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{Outing, SetupFiles, When};
use crate::store::book::kept::{KnownSetups, OutingsRead, SetupsRead};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::index::database::Index;
use crate::store::index::setups::cylinders_of;
use crate::store::index::which;
use crate::store::missing::{self, missing_outings};
use crate::store::records::{
    BrokenOuting, OutingRecord, SetupName, SetupRecord, commit_of, newest_proven, outing_id, setup_at,
    unknown_outing,
};

/// The garage's memory.
pub struct Book<'g> {
    garage: &'g Garage,
    index: Rc<Index>,
    /// The cylinder whose setups and outings it tells, where it is a view of one.
    cylinder: Option<String>,
    /// Setups of bikes that were asked for: an answer asks for the same ones dozens of times.
    pub(in crate::store) known: Rc<RefCell<HashMap<String, KnownSetups>>>,
    /// Setups as they were read, and outings, for the same reason.
    pub(in crate::store) setups_read: Arc<SetupsRead>,
    pub(in crate::store) outings_read: Rc<OutingsRead>,
}

/// Which setup a run was on.
struct RanOn<'s> {
    setups: &'s [SetupRecord],
    by_id: HashMap<&'s str, u32>,
    /// When git put setups together with others', by their id.
    put_together: HashMap<&'s str, i64>,
}

impl<'s> RanOn<'s> {
    fn of(setups: &'s [SetupRecord], put_together: HashMap<&'s str, i64>) -> Self {
        let by_id = setups.iter().map(|setup| (setup.id.as_str(), setup.number)).collect();
        Self { setups, by_id, put_together }
    }

    fn number(&self, outing: &Outing) -> Option<u32> {
        match outing.setup.as_deref() {
            // Before git put it together with others' it was another setup, which the book does not have.
            Some(id) if self.put_together.get(id).is_some_and(|at| outing.date.unix() < *at) => None,
            Some(id) => self.by_id.get(id).copied(),
            None => setup_at(self.setups, outing.date).map(|setup| setup.number),
        }
    }
}

impl<'g> Book<'g> {
    /// Opens it, the index brought up to date.
    pub fn open(garage: &'g Garage) -> Result<Self, StoreError> {
        Ok(Self::on(garage, Index::open(garage)?))
    }

    /// Opens it on an index that is built in memory from nothing.
    pub fn fresh(garage: &'g Garage) -> Result<Self, StoreError> {
        Ok(Self::on(garage, Index::in_memory(garage)?))
    }

    fn on(garage: &'g Garage, index: Index) -> Self {
        Self {
            garage,
            index: Rc::new(index),
            cylinder: None,
            known: Rc::default(),
            setups_read: SetupsRead::known(),
            outings_read: Rc::default(),
        }
    }

    /// The garage.
    pub fn garage(&self) -> &'g Garage {
        self.garage
    }

    /// Whether nothing is wrong with the file of the index, and it holds what one built from nothing does.
    pub fn index_agrees(&self) -> Result<bool, StoreError> {
        let agrees = |index: &Index| index.holds_the_same_as(&Self::fresh(self.garage)?.index);
        // Another may have recorded between the two readings: what is wrong is so a second time.
        Ok(self.index.is_whole()? && (agrees(&self.index)? || agrees(&Index::open(self.garage)?)?))
    }

    pub(super) fn index(&self) -> &Index {
        &self.index
    }

    /// A bike's newest setup.
    pub fn latest(&self, bike: &str) -> Result<Option<SetupRecord>, StoreError> {
        Ok(self.setups(bike)?.pop())
    }

    /// Number of the setup that was a bike's newest at a date.
    pub fn setup_at(&self, bike: &str, date: When) -> Result<Option<u32>, StoreError> {
        Ok(setup_at(&self.setups(bike)?, date).map(|setup| setup.number))
    }

    /// The setup that a bike ran last on, by a date, and when: read from the end, not through all that ran before.
    pub(in crate::store) fn last_run(
        &self,
        bike: &str,
        at: Option<When>,
    ) -> Result<Option<(u32, When)>, StoreError> {
        let setups = self.setups(bike)?;
        let ran_on = RanOn::of(&setups, self.put_together(&setups)?);
        let mut statement = self.index.connection().prepare_cached(
            "SELECT document FROM outings WHERE bike = ?1 AND document IS NOT NULL ORDER BY unix DESC",
        )?;
        let mut rows = statement.query([bike])?;
        let mut last: Option<(u32, When)> = None;
        while let Some(row) = rows.next()? {
            let Ok(outing) = serde_json::from_str::<Outing>(&row.get::<_, String>(0)?) else { continue };
            // Two of one moment ran in the order of their setups.
            if last.is_some_and(|(_, date)| outing.date.unix() < date.unix()) {
                break;
            }
            if at.is_none_or(|at| outing.date <= at)
                && let Some(number) = ran_on.number(&outing)
                && last.is_none_or(|(other, _)| number > other)
            {
                last = Some((number, outing.date));
            }
        }
        Ok(last)
    }

    /// A bike's outings as the index has them.
    pub(in crate::store) fn read_outings(&self, bike: &str) -> Result<Vec<OutingRecord>, StoreError> {
        let setups = self.setups(bike)?;
        let ran_on = RanOn::of(&setups, self.put_together(&setups)?);
        let sharing = self.sharing(setups.last());
        let mut statement = self.index.connection().prepare_cached(
            "SELECT file, document FROM outings WHERE bike = ?1 AND document IS NOT NULL ORDER BY unix, file",
        )?;
        let rows = statement
            .query_map([bike], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)))?
            .collect::<Result<Vec<_>, _>>()?;
        let records = rows.into_iter().filter_map(|(file, document)| {
            let mut outing: Outing = serde_json::from_str(&document).ok()?;
            let setup = ran_on.number(&outing);
            let ran = setups.iter().find(|known| Some(known.number) == setup);
            let asked = outing.may_name_one() || !outing.cylinder.is_empty();
            let ran = ran.filter(|_| asked);
            let mut cylinders = ran.map(|ran| cylinders_of(self.index.connection(), ran)).unwrap_or_default();
            if outing.may_name_one() {
                outing.hear_names(&cylinders);
            }
            if outing.cylinder.is_empty() {
                cylinders.clear();
            }
            Some(OutingRecord {
                bike: bike.to_owned(),
                id: outing_id(&file),
                file: PathBuf::from(file),
                outing,
                setup,
                cylinders,
            })
        });
        let mut records: Vec<OutingRecord> = records.collect();
        // Two of one moment ran in the order of their setups; on one setup the leaner counts as the last.
        records
            .sort_by_cached_key(|record| (record.outing.date.unix(), record.setup, record.outing.leanness()));
        if let Some(name) = &self.cylinder {
            for record in &mut records {
                record.outing = record.outing.for_cylinders(name, &sharing);
            }
        }
        Ok(records)
    }

    /// Until when the setups that are combined of two sides' were not put together, in seconds, by their identity. Where git did it by a clock
    /// that was behind the one they were recorded by, nobody knows, and no run that names one is taken for its own.
    fn put_together<'s>(&self, setups: &'s [SetupRecord]) -> Result<HashMap<&'s str, i64>, StoreError> {
        let combined = setups.iter().filter(|setup| setup.combined);
        let commits = combined.filter_map(|setup| Some((setup, git2::Oid::from_str(&setup.commit).ok()?)));
        let at = |(setup, id): (&'s SetupRecord, git2::Oid)| {
            let commit = self.garage.repository().commit(id)?;
            let (recorded, put) = (commit.author().when().seconds(), commit.time().seconds());
            // One that had its identity before git moved it may have run in the very second of that.
            let had_its_own = setup.combined_of.is_empty() && setup.id != setup.commit;
            let until = if put < recorded { i64::MAX } else { put + i64::from(had_its_own) };
            Ok((setup.id.as_str(), until))
        };
        commits.map(at).collect()
    }

    /// The newest setup of a bike that another side recorded beside one, and that nobody chose or put together with it; none where there is none.
    pub fn recorded_beside(&self, setup: &SetupRecord) -> Result<Option<SetupRecord>, StoreError> {
        let repository = self.garage.repository();
        let at = commit_of(setup)?;
        for other in self.setups(&setup.bike)?.into_iter().rev().filter(|other| other.id != setup.id) {
            if !repository.is_ancestor(commit_of(&other)?, at) {
                return Ok(Some(other));
            }
        }
        Ok(None)
    }

    /// A bike's outing files that cannot be read.
    pub fn broken_outings(&self, bike: &str) -> Result<Vec<BrokenOuting>, StoreError> {
        let mut statement = self.index.connection().prepare_cached(
            "SELECT file, findings FROM outings WHERE bike = ?1 AND findings IS NOT NULL ORDER BY file",
        )?;
        let rows = statement.query_map([bike], |row| {
            Ok(BrokenOuting { file: PathBuf::from(row.get::<_, String>(0)?), findings: row.get(1)? })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The outing whose identity begins with `wanted`; "last" is the newest.
    pub fn outing(&self, bike: &str, wanted: &str) -> Result<OutingRecord, StoreError> {
        let mut outings = self.outings(bike)?;
        if wanted == "last" {
            return outings.pop().ok_or_else(|| StoreError::NoOutings { bike: bike.to_owned() });
        }
        let all: Vec<_> = outings.iter().map(OutingRecord::id_and_words).collect();
        if let Some(place) = which::meant(wanted, &all)? {
            return Ok(outings.swap_remove(place));
        }
        let missing = missing_outings(self.garage, bike)?;
        let missing = missing.iter().find(|file| outing_id(&file.to_string_lossy()) == wanted);
        Err(match missing {
            Some(file) => missing::missing(bike, file),
            None if outings.is_empty() => StoreError::NoOutings { bike: bike.to_owned() },
            None => unknown_outing(bike, wanted, &outings),
        })
    }

    /// Outings besides a record that bear the same minute and no seconds that tell them apart: which of them ran last is not known.
    pub fn of_the_same_minute(&self, record: &OutingRecord) -> Result<Vec<OutingRecord>, StoreError> {
        let mut others = self.outings(&record.bike)?;
        others.retain(|other| other.id != record.id && other.outing.date.unix() == record.outing.date.unix());
        Ok(others)
    }

    /// The same as [`Book::outing`]: "last" is refused where one that cannot be read may be newer.
    pub fn outing_to_show(&self, bike: &str, wanted: &str) -> Result<OutingRecord, StoreError> {
        let record = self.outing(bike, wanted)?;
        if wanted == "last" {
            self.require_the_last(&record)?;
        }
        Ok(record)
    }

    /// The same as [`Book::outing_to_show`], to be written: "last" is refused where several bear the newest minute.
    pub fn outing_to_write(&self, bike: &str, wanted: &str) -> Result<OutingRecord, StoreError> {
        let record = self.outing_to_show(bike, wanted)?;
        let mut tied = if wanted == "last" { self.of_the_same_minute(&record)? } else { Vec::new() };
        if tied.is_empty() {
            return Ok(record);
        }
        tied.push(record);
        let all: Vec<_> = tied.iter().map(OutingRecord::id_and_words).collect();
        Err(StoreError::request(
            None,
            format!(
                "{} outings of {bike} are logged for the same minute: which was the last is not known.",
                all.len()
            ),
            format!("Name one by its id: {}.", which::listed(all.iter(), all.len())),
        ))
    }

    /// The recorded setup a command means; `now` is not one and gives none. A number that two setups took is asked about.
    pub fn resolve(&self, bike: &str, name: &SetupName) -> Result<Option<SetupRecord>, StoreError> {
        self.garage.require_bike(bike)?;
        self.require_settled(bike, name)?;
        let setups = self.setups(bike)?;
        if setups.is_empty() && *name != SetupName::Now {
            return Err(StoreError::NothingRecorded { bike: bike.to_owned() });
        }
        let unknown = || StoreError::UnknownSetup {
            bike: bike.to_owned(),
            wanted: name.to_string(),
            have: self.there_are(bike, &setups),
        };
        match name {
            SetupName::Now => Ok(None),
            SetupName::Latest => setups.last().cloned().map(Some).ok_or_else(unknown),
            SetupName::Number(number) => {
                setups.iter().find(|setup| setup.number == *number).cloned().map(Some).ok_or_else(unknown)
            }
            SetupName::Proven => {
                let proven = newest_proven(&self.garage.bike(bike)?, &setups).cloned();
                proven.map(Some).ok_or_else(|| StoreError::UnknownSetup {
                    bike: bike.to_owned(),
                    wanted: "that is marked proven".into(),
                    have: Guidance::from("Mark one with ")
                        + Command::MarkProven(bike.to_owned())
                        + ", or name a setup by its number (at rejet: "
                        + CommandOption::Baseline
                        + ").",
                })
            }
        }
    }

    /// Which setups there are, for one who named another.
    fn there_are(&self, bike: &str, setups: &[SetupRecord]) -> Guidance {
        let history = Command::History(Some(bike.to_owned()));
        let known = match setups {
            [] => Guidance::none(),
            [only] => {
                Guidance::from(format!("There is only setup {}; ", only.number)) + history + " shows it."
            }
            [first, .., last] => {
                let there = format!("There are setups {} to {}; ", first.number, last.number);
                Guidance::from(there) + history + " shows them."
            }
        };
        match self.garage.cut_off() {
            Some(words) => words + " " + known,
            None => known,
        }
    }

    /// Like [`Book::resolve`], but a recorded setup is wanted.
    pub fn recorded(&self, bike: &str, name: &SetupName) -> Result<SetupRecord, StoreError> {
        self.resolve(bike, name)?.ok_or_else(|| {
            StoreError::request(
                None,
                "The files on disk are not a recorded setup.",
                "Name a setup by its number, latest or proven.",
            )
        })
    }

    /// The files of a setup: at its commit, or on disk for `now`.
    pub fn files(&self, bike: &str, setup: Option<&SetupRecord>) -> Result<SetupFiles, StoreError> {
        let files = self.files_of_all(bike, setup)?;
        Ok(match &self.cylinder {
            Some(name) => files.for_cylinder(name),
            None => files,
        })
    }

    fn files_of_all(&self, bike: &str, setup: Option<&SetupRecord>) -> Result<SetupFiles, StoreError> {
        match setup {
            None => self.garage.files_now(bike),
            Some(setup) => self.garage.files_at(commit_of(setup)?, bike),
        }
    }

    /// The bikes that an engine was ever in by their setups.
    pub fn bikes_with_engine(&self, engine: &str) -> Result<Vec<String>, StoreError> {
        let mut statement = self
            .index
            .connection()
            .prepare_cached("SELECT DISTINCT bike FROM setups WHERE engine = ?1 ORDER BY bike")?;
        let bikes = statement.query_map([engine], |row| row.get(0))?;
        Ok(bikes.collect::<Result<_, _>>()?)
    }

    /// The bike each engine is in, with the number of the setup that took it there.
    pub fn engine_holders(&self) -> Result<BTreeMap<String, (String, u32)>, StoreError> {
        let mut statement = self.index.connection().prepare_cached(
            "SELECT engine, bike, id FROM setups WHERE engine IS NOT NULL ORDER BY position",
        )?;
        let rows = statement
            .query_map([], |row| {
                Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
            })?
            .collect::<Result<Vec<_>, _>>()?;
        let mut newest = BTreeMap::new();
        let mut newest_of_bike = BTreeMap::new();
        for (engine, bike, id) in rows {
            let stayed = newest_of_bike.get(&bike) == Some(&engine)
                && newest.get(&engine).is_some_and(|(holder, _): &(String, String)| *holder == bike);
            newest_of_bike.insert(bike.clone(), engine.clone());
            // The setup that took it there, not the newest of those since.
            if !stayed {
                newest.insert(engine, (bike, id));
            }
        }
        let mut holders = BTreeMap::new();
        for (engine, (bike, id)) in newest {
            // A bike that has taken another engine since holds this one no more.
            if newest_of_bike.get(&bike) == Some(&engine) {
                let number =
                    self.setups(&bike)?.iter().find(|setup| setup.id == id).map_or(0, |setup| setup.number);
                holders.insert(engine, (bike, number));
            }
        }
        Ok(holders)
    }
}
