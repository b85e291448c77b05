//! The garage on disk, its history in git and its index. Knows no table and no terminal.

mod book;
mod checks;
mod error;
mod folder;
mod handover;
mod history;
mod index;
mod known_air;
mod missing;
mod numbered;
mod open_jobs;
mod read_before;
mod records;
mod replay;
mod share;
mod shortened;
mod writing;

pub use crate::notebook::GARAGE_FILE;
pub use book::Book;
pub use book::kept::keep_what_was_read;
pub use checks::{build as check_build, job as check_job, outing as check_outing, part as check_part};
pub use error::StoreError;
pub use folder::defaults::{demo as demo_files, shipped_cautions};
pub use folder::garage::{Garage, Hears};
pub use folder::gate::entry::EntryKind;
pub use folder::gate::{Barred, Odd};
pub use folder::make::{
    MadeBike, NewBike, NewGarage, bike as make_bike, engine as make_engine, garage as make_garage, garage_of,
    retire, schemas,
};
pub use handover::setup::{
    HandedRow, HowItRan, LEAN_THERE, SEIZED_THERE, beside, hand_over, of_other_cylinders, read_handover,
    said_of_it_there, taking_in,
};
pub use handover::{
    Chosen, LARGEST_HANDOVER, Signed, Unsealed, is_locked, lock, require_phrase, sealed, sections_meant,
    unlock, with_signature,
};
pub use history::cut_short::say_when_stuck;
pub use history::loggers::who_logged;
pub use history::mended::Mended;
pub use history::numbers::{Renumbered, odd_line};
pub use history::recording::has_recorded;
pub use history::repository::Repository;
pub use history::signed::{CommitSignature, SignatureState, signatures};
pub use index::condition::Condition;
pub use index::find::{cylinders_of_bike, find, in_order};
pub use index::hits::{FindQuery, Found, Hit};
pub use index::papers::no_plain_files;
pub use missing::{missing_jobs, missing_outings, missing_parts, missing_remark};
pub use open_jobs::{BikeJobs, OpenJob};
pub use records::{
    BrokenOuting, BuildRecord, JobRecord, OutingRecord, PartRecord, SetupName, SetupRecord, newest_proven,
    outing_id,
};
pub use replay::season::{Replayed, replay};
pub use share::{
    Before, BikeBefore, BroughtRun, DocumentBefore, FieldRow as ShareRow, Keep, KeptMetal,
    MapRow as ShareMapRow, Settled, SetupQuestion as ShareQuestion, ShareRequest, Shared, SideWords,
    before_share, is_address, put_back, share, share_was_told,
};
pub use shortened::NewestRecorded;
pub use writing::builds::{BuildChange, NewBuild, Recording, Tick, begin as begin_build, measure, tick};
pub use writing::change::cylinders::{cylinders_of, require_known_to_outings};
pub use writing::change::{ChangeRequest, Recorded, change, change_checked, require_engine_here};
pub use writing::edited::by_hand::HandEdit;
pub use writing::edited::unrecorded::{
    FileState, Unrecorded, edited_outings, outings_edited_by_hand, unrecorded,
};
pub use writing::engine_owner::{own as own_engine, owner_of};
pub use writing::file_back::{Ended, FileBack, end_merge, mend_file};
pub use writing::guards::{Check, Proposed, retired_remark};
pub use writing::jobs::phone_ticks::{Came, NotedTick, tick_noted, weigh_ticks};
pub use writing::jobs::{Mark, Marked, WhichJobs, mark as mark_jobs};
pub use writing::lost::{BroughtBack, bring_back};
pub use writing::map_edit::MapEdit;
pub use writing::outings::import::{
    Incoming, identity as outing_identity, import as import_outings, is_there as outing_is_there, setup_name,
    weigh as weigh_outing,
};
pub use writing::outings::remove::{Removed, remove as remove_outing, require_every_outing};
pub use writing::outings::{
    Logged, Mend, NewOuting, log, mend, preview as preview_outing, to_mend as outing_to_mend,
};
pub use writing::parts::places::Fitting as PartFitting;
pub use writing::parts::put_off::put_off;
pub use writing::parts::{NewPart, PartDeed, act as act_on_part, add as add_part, mend as mend_part};
pub use writing::places::{
    KeptAirRecord, NewKept, PlaceRecord, check as check_place, keep as keep_air, place_name, places,
};
pub use writing::proven::{ProvenRequest, mark, withdraw};
pub use writing::rollback::{Rollback, RollbackRequest, RolledBack, rollback, rollback_checked};
