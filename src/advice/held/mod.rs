//! Nothing leaner after lean: which of a bike's runs forbids going leaner, at which throttle, and how much fuel is the least.
//!
//! A run that was lean, pinged or seized overrules any model. On the same combination nothing that delivers less than that run and
//! one size more, two after a seizure, is to be fitted at that throttle, in the same air or a denser one; until a later run on at
//! least that much fuel for its air was right or rich there, or its cause was found and closed (common practice, no source). Another
//! pipe, ignition box or fuel lets it go once it was right itself; a seizure holds across those and the engine until its cause is found.
//!
//! - `combination`: which setups are one combination;
//! - `sign`: what a run says of being lean, or of not being it;
//! - `ran`: what a bike ran on, and what a step is counted from;
//! - `really`: which setup a run really had, where jobs were open;
//! - `cylinders`: a step judged at each of several cylinders;
//! - `hold`: one run that holds, and the least fuel it allows;
//! - `holds`: all that hold a bike, from its record;
//! - `with_engine`: what its engine did in other bikes;
//! - `spark`: whether the spark comes earlier;
//! - `step`: what a change of the setup does that can hurt;
//! - `judge`: what a proposed step is told, and why it is refused;
//! - `back_to`: what the bike would stand on, whatever the step there;
//! - `still`: what still holds, for a look at a bike or a setup;
//! - `words`: how a hold is worded, and the ways out.

mod back_to;
mod blind;
mod combination;
mod cylinders;
mod harms;
mod hold;
mod holds;
mod judge;
mod ran;
mod really;
mod sign;
mod step;
mod still;
mod with_engine;
mod words;

pub use combination::other_combination;
pub use cylinders::{Opened, judge_back, judge_each, last_by_name, lean_when_last_judged, opened_beside};
pub(in crate::advice) use harms::{FAR_DEG, FAR_M, insert_bore, spark_degrees};
pub use harms::{LeastSquish, Tightened};
pub use hold::{Hold, Reference, Tables};
pub use holds::{Holds, engine_seized_elsewhere, foremost, holds, known_holds};
pub use judge::{Proposal, Shelf, judge};
pub use ran::{judged_open, last_ran};
pub use really::{
    is_of_fuel, is_of_the_run, is_setup_doubted, is_setup_open, may_have_run_instead, would_forbid_more,
};
pub use sign::{contradicted, ran_lean, was_judged, where_said};
pub use step::{Harm, HurtKind, Step, throttle};
pub use still::{StillHeld, StillLean, still_lean, still_lean_at_full, still_lean_below};
pub(in crate::advice) use with_engine::is_a_seizure;
pub use with_engine::{may_be_held, seized_by_its_parts};
pub use words::{Judgement, LastRun, LastVerdict, Refusal, Told};

#[cfg(test)]
mod tests;
