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
//! - `cylinders`: a step judged at each of several cylinders; `beside`: another one that was lean or was opened;
//! - `hold`: one run that holds, and the least fuel it allows;
//! - `holds`: all that hold a bike, from its record;
//! - `with_engine`: what its engine did in other bikes;
//! - `harms`: what a changed field does that can hurt; `step`: a whole change of the setup;
//! - `proposal`: a step that is proposed; `judge`: what it is told, and why it is refused;
//! - `refused`: what speaks against it, kind by kind;
//! - `said`: what is said of it;
//! - `still`: what still holds, for a look at a bike or a setup.

mod beside;
mod combination;
mod cylinders;
mod harms;
mod hold;
mod holds;
mod judge;
mod proposal;
mod ran;
mod really;
mod refused;
mod said;
mod sign;
mod step;
mod still;
mod with_engine;

pub use beside::{Opened, last_by_name, lean_when_last_judged, opened_beside};
pub use combination::other_combination;
pub use cylinders::{judge_back, judge_each};
pub use harms::harm::{Harm, HurtKind};
pub(in crate::advice) use harms::{FAR_DEG, FAR_M, insert_bore, spark_degrees};
pub use harms::{LeastSquish, Tightened};
pub use hold::{Hold, Reference, Tables};
pub use holds::{Holds, engine_seized_elsewhere, foremost, holds, known_holds};
pub use judge::judge;
pub use proposal::{Proposal, Shelf};
pub use ran::{judged_open, last_ran, require_lean_runs_placed};
pub use really::{
    is_of_fuel, is_of_the_run, is_setup_doubted, is_setup_open, may_have_run_instead, would_forbid_more,
};
pub use said::{Judgement, LastRun, LastVerdict, Refusal, Told};
pub use sign::{contradicted, ran_lean, was_judged, where_said};
pub use step::Step;
pub use still::{StillHeld, StillLean, still_lean, still_lean_at_full, still_lean_below};
pub(in crate::advice) use with_engine::is_a_seizure;
pub use with_engine::{may_be_held, seized_by_its_parts};

#[cfg(test)]
mod tests;
