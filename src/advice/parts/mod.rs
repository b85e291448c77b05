//! Parts by hours: what each has run, when it is due, how long its kind lives, and how fast a dimension wears.

mod count;
mod counted;
mod due;
mod event;
mod fitting;
pub mod life;
mod limit;
mod overdue;
mod running;
mod seized;
mod spares;
pub mod wear;
mod wear_hours;
pub mod wear_lines;

pub use count::{Count, EventCount, count, counts_at_events};
pub use counted::Counted;
pub use due::{DueList, DueStanding, Ledger, State, as_written};
pub use event::{Event, biggest_event};
pub use fitting::{Fits, Fitting, SAME_BORE_M, bores, nominal_bore_m};
pub use limit::{By, Reached, Source, reached};
pub use overdue::Overdue;
pub use running::{EngineRun, hours_between, runs};
pub(in crate::advice) use seized::IN_THE_BORE;
pub use seized::{CYLINDER, SeizedPart, brought};
pub use spares::{Ask, Taking, Want, to_take};
