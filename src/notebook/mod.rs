//! The documents: setup, engine, outing, bike, garage and the tuner's own tables; reading them, checking them, changing
//! them and comparing two of them. Knows TOML but no disk and no git.

mod air_entry;
mod assumptions;
mod at_the_bike;
mod boxes;
mod build;
pub mod catalogue;
mod cause;
mod checklists;
mod combination;
mod compare;
mod compare_map;
mod date;
pub mod dyno;
pub mod edit;
mod edit_array;
mod edit_array_remove;
mod edit_csv;
mod edit_error;
mod edit_field;
mod edit_map;
mod edit_paper;
mod edit_place;
mod edit_replace;
mod edit_reveal;
mod edit_toml;
mod edit_value;
mod editor_schema;
mod engine;
mod finding;
mod garage;
mod gauges;
mod limits;
mod map;
pub mod map_check;
mod map_csv;
pub mod map_shape;
mod map_shape_error;
pub mod names;
mod outing;
mod part;
mod prose;
mod read;
pub mod read_map;
pub mod restore;
mod restore_words;
mod restore_write;
pub mod rules;
mod rules_build;
mod rules_engine;
mod rules_part;
mod setup;
#[cfg(test)]
mod tests;
mod toml_fault;
mod value;

pub use air_entry::{AirEntry, AirEntryError, FIELDS as AIR_FIELDS};
pub use assumptions::{
    Assumptions, Band, MapLimitEntries, RecordEntries, ShareBand, TimeAreaBand, VelocityBand,
};
pub use boxes::{Circuit, JetBox, JetSeries, NeedleBox, NeedleEntry, Shares};
pub use build::{BoreLevel, Build, CaseMaterial, CylinderMaterial, Scope, SeatReadings, Step};
pub use catalogue::DocumentKind;
pub use checklists::{Checklist, Checklists, ListTime, ListedStep};
pub use combination::{Combination, SetupFiles};
pub use compare::{Change, Comparison, Difference, compare, differing};
pub use compare_map::{CellChange, MapDifference};
pub use date::{DateError, When};
pub use edit::{Assignment, EditOptions};
pub use edit_error::EditError;
pub use edit_paper::{Entered, PaperOptions, enter};
pub use edit_replace::replace_map;
pub use engine::{BottomEnd, EngineDocument, Head, Intake, Ports, PowerValve, Reed, Window, WindowKind};
pub use finding::{Code, Finding, Place};
pub use garage::{BikeDocument, GarageDocument, OwnBox, Proven};
pub use gauges::{Gauge, Gauges, MassGauge, SetOn, VolumeGauge};
pub use limits::{FigureEdges, Limits, PartLimits};
pub use map::{Axis, CellPlace, Cells, MapTable};
pub use map_check::{MapCheck, MapLimits, Remark, RemarkKind};
pub use map_csv::{map_csv, parse_map_csv};
pub use map_shape::Region;
pub use map_shape_error::ShapeError;
pub use outing::{Doubted, Mixture, Outing, OutingKind, Verdict, ZONES};
pub use part::{Condition, Deed, Part, PartEvent};
pub use prose::{ProseLine, ProseSign};
pub use read::{Checked, ReadOptions, nearest_name, out_of_range, read};
pub use restore::{RestorePlan, RestoreRequest, StillDifferent};
pub use rules_build::{READINGS, of_build};
pub use rules_part::of_part;
pub use setup::{
    AirCompensation, Fuel, FuelMapUnit, Gearing, Ignition, Injection, Jetting, MapKind, NumberedBy, Pipe,
    PipeSection, Setup,
};
pub use value::{Entry, FieldSet, SECTIONS, Value, reading_order, section_of};
