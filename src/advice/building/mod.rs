//! Builds judged: what the readings come to at 20 C, how sure that is, and what the tuner's limits say of it; and whether
//! an engine is ready.

mod between;
mod crosscheck;
mod cylinders;
mod figure;
mod figures;
mod fitted;
mod gauged;
mod happened;
mod questions;
mod ready;
mod seats;
mod taken_over;
mod unlike;
mod whole;

pub use between::{InsideEngine, inside_engine, is_on_the_bike, stood};
pub use crosscheck::{GapCheck, gap_checks, gap_growth};
pub use cylinders::judge_each;
pub use figure::{FigureKind, FigureUnit, KINDS, NamedFigure, kind_of};
pub use figures::{Judgement, judge, unknown_figures};
pub use fitted::{hours_words, not_run_in, parts_at, parts_between, parts_in, same_ring, together_by};
pub use happened::{Happened, PartThen, What, by_setup, happened};
pub use questions::{ReadingQuestion, questions};
pub use ready::{
    Readiness, before_it_runs, broken, first_to_change, in_a_line, judged, not_counted, not_to_be_run,
    over_their_limit, overdue, readiness, remarks_after_outing, to_change_and_remarks,
    without_steps_for_later,
};
pub use seats::warm_seats;
pub use taken_over::{Reading, TakenReading, readings, take_over};
pub use unlike::{Unlike, unlike};
pub use whole::{Unjudged, Whole, to_take_over, whole};
