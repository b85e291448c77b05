//! The garage on disk, its history in git and its index. Knows no table and no terminal.

mod book;
mod builds;
mod change;
mod defaults;
mod disk;
mod error;
mod find;
mod find_papers;
mod garage;
mod guards;
mod index;
mod index_documents;
mod index_outings;
mod lock;
mod make;
mod map_edit;
mod numbers;
mod outing_remove;
mod outings;
mod papers;
mod parts;
mod proven;
mod recording;
mod replay;
mod replay_papers;
mod repository;
mod scan;
mod unrecorded;
mod which;

pub use book::{Book, BrokenOuting, OutingRecord, SetupName, SetupRecord, newest_proven};
pub use builds::{
    BuildChange, BuildRecord, NewBuild, Recording, Tick, begin as begin_build, check as check_build, measure,
    tick,
};
pub use change::{
    ChangeRequest, Recorded, Rollback, RollbackRequest, RolledBack, change, change_checked, rollback,
    rollback_checked,
};
pub use defaults::demo as demo_files;
pub use error::StoreError;
pub use find::{Condition, Found, Hit, Question, find};
pub use garage::{GARAGE_FILE, Garage};
pub use guards::{Check, Proposed};
pub use make::{
    MadeBike, NewBike, NewGarage, bike as make_bike, engine as make_engine, garage as make_garage, garage_of,
    retire, schemas,
};
pub use map_edit::MapEdit;
pub use outing_remove::{
    Removed, missing_outings, missing_remark, remove as remove_outing, require_every_outing,
};
pub use outings::{
    Logged, Mend, NewOuting, check as check_outing, log, mend, preview as preview_outing,
    to_mend as outing_to_mend,
};
pub use papers::no_plain_files;
pub use parts::{
    NewPart, PartDeed, PartRecord, act as act_on_part, add as add_part, check as check_part,
    mend as mend_part,
};
pub use proven::{ProvenRequest, mark, withdraw};
pub use replay::{Replayed, replay};
pub use repository::Repository;
pub use unrecorded::{Unrecorded, unrecorded};
