//! Everything a person or a script sees: tables, words and JSON.

mod air;
pub mod answers;
pub mod building;
mod draw;
pub mod engine;
pub mod guide;
pub mod help;
pub mod history;
pub mod jetting;
mod out;
pub mod page;
pub mod parts;
pub mod serving;
pub mod sharing;
mod words;
pub use air::kept::{KeptAir, KeptNow};
pub use air::list::{air_list, each_reading, list_with_answers};
pub use air::reading::AirReport;
pub use building::build::{BuildAnswer, WrittenOver};
pub use building::compare::{BuildComparison, BuildsBeside};
pub use engine::ignition::{
    AgainstIgnition, AtThrottle, Conversion, ConvertedFrom, FiringRow, IgnitionAnswer,
};
pub use engine::package::follows;
pub use history::maps::{MapDeed, MapReport};
pub use history::noted_air::air_in_short;
pub use history::setups::compare::{CompareAnswer, ComparisonReport, KnownAir};
pub use jetting::answer::{Beside, InAnyAir, RejetAnswer, RejetReport};
pub use jetting::card::cell::{CardCell, HELD, OVER, cell_heads};
pub use jetting::card::plan::{Plan, PlanAnswer, PlanLine};
pub use jetting::card::{CardAnswer, CardRow, CardSide};
pub use jetting::in_part::InPart;
pub use jetting::machine::MachineAnswer;
pub use jetting::record::{RecordAnswer, RecordReport};
pub use out::asking::Answer;
pub use out::each::OfCylinders;
pub use out::figure::Figure;
pub use out::glue::keep_whole;
pub use out::keys::Key;
pub use out::screen::{Screen, Wanted};
pub use out::trouble::Trouble;
pub use out::ways::{all_worded, worded};
pub use words::layout::capital;
pub use words::subject::{AtCylinder, Subject};
