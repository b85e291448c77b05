//! The documents: setup, engine, outing, bike, garage and the tuner's own tables; reading them, checking them, changing
//! them and comparing two of them. Knows TOML but no disk and no git.

mod comparing;
mod documents;
pub mod editing;
pub mod fields;
pub mod guidance;
pub mod maps;
mod merging;
pub mod reading;
pub mod restoring;
pub mod rules;
mod tables;
#[cfg(test)]
mod tests;
mod zones;

pub use comparing::fields::{Change, Comparison, Difference, compare, differing};
pub use comparing::map::{CellChange, MapDifference};
pub use comparing::prose::{ProseLine, ProseSign};
pub use documents::air_entry::{AirEntry, AirEntryError, FIELDS as AIR_FIELDS};
pub use documents::build::{
    BoreLevel, Build, CaseMaterial, ChecklistStep, CylinderMaterial, OwnBuild, Scope, SeatReadings,
    steps_in_words,
};
pub use documents::engine::{
    BottomEnd, CylinderLayout, Cylinders, EngineDocument, Head, Intake, OwnEngine, Ports, PowerValve, Reed,
    Window, WindowKind,
};
pub use documents::garage::{BikeDocument, GARAGE_FILE, GarageDocument, OwnBox, Proven};
pub use documents::gauges::{Gauge, Gauges, MassGauge, SetOn, VolumeGauge};
pub use documents::handed_engine::{
    ENGINE_HANDOVER_VERSION, ENGINE_SECTIONS, HandedEngine, HandedEngineFrom, HandedEvent, HandedHours,
    HandedPart,
};
pub use documents::handover::{HANDOVER_VERSION, HandedFrom, HandedMap, Handover};
pub use documents::job::{Job, JobItem, OF_PART, SAID_TO_BE_ON};
pub use documents::outing::{Doubted, Mixture, Outing, OutingKind, OwnReading, Verdict};
pub use documents::part::{Condition, Deed, Part, PartEvent, PartPlace, PerEngine, at_cylinder, part_at};
pub use documents::phone_notes::{PHONE_NOTES_VERSION, PhoneNote, PhoneNotes, PhoneOuting, PhoneTick};
pub use documents::place::{KeptEntry, PlaceDocument};
pub use documents::setup::{
    AirCompensation, Fuel, FuelMapUnit, Gearing, Ignition, Injection, Jetting, MapKind, NumberedBy, OwnSetup,
    Pipe, PipeSection, Setup,
};
pub use editing::assign::EditOptions;
pub use editing::assignment::{Assignment, whole_name};
pub use editing::cylinders::refuse_unclear_readings;
pub use editing::entered::{Entered, PaperOptions, enter};
pub use editing::error::EditError;
pub use editing::map::replace::replace_map;
pub use editing::toml::page::Page;
pub use editing::value::to_one;
pub use fields::catalogue::DocumentKind;
pub use fields::combination::{Combination, SetupFiles};
pub use fields::date::{DateError, When};
pub use fields::finding::{Code, Finding, Place};
pub use fields::meaning::Circuit;
pub use fields::node::out_of_range;
pub use fields::order::{SECTIONS, reading_order, section_of};
pub use fields::path::{nearest_and_all, nearest_name};
pub use fields::value::{Entry, FieldSet, Value, read_out, turns};
pub use maps::check::{MapCheck, MapLimits, Remark, RemarkKind};
pub use maps::csv::{map_csv, parse_map_csv};
pub use maps::shape::Region;
pub use maps::shape_error::ShapeError;
pub use maps::table::{Axis, CellPlace, Cells, MapTable};
pub use merging::{
    BothChanged, MergedDocument, merge_documents, merge_documents_but, merge_maps, same_values,
    written_values,
};
pub use reading::combination::EnginesRead;
pub use reading::document::{Checked, read};
pub use reading::walk::ReadOptions;
pub use restoring::plan::{RestorePlan, RestoreRequest, StillDifferent};
pub use rules::build::{READINGS, of_build};
pub use rules::part::of_part;
pub use rules::place::of_place;
pub use rules::shares::of_shares;
pub use tables::assumptions::{
    Assumptions, Band, MapLimitEntries, RecordEntries, ShareBand, TimeAreaBand, VelocityBand,
};
pub use tables::boxes::{JetBox, JetSeries, NeedleBox, NeedleEntry, Shares};
pub use tables::checklists::{BegunStep, Checklist, Checklists, ListTime, ListedStep};
pub use tables::limits::{FigureEdges, Limits, PartLimits};
pub use zones::{ZONES, throttle};
