//! Jetting that learns from the bike's own record.
//!
//! Theory says by which factor K the fuel must follow the air. Each engine follows it in its own way, and each tuner has a
//! width of "right" and a scatter of his own; the outings hold both. What every outing's carburetor delivered, what its air
//! wanted and how it was judged go into one ordered-response model for each throttle zone ([`verdicts`], [`posterior`]), from
//! which every jet in the box gets a chance of being lean, right or rich ([`learned`]).
//!
//! - `settings`: the tuner's limits of risk, and how outings are weighed;
//! - `evidence`, `weight`, `words`: the outings, what they count, and notes that stand for lean;
//! - `verdicts`, `posterior`: the model and what it says, pure; `mode`, `grid`, `lattice`, `matrix`, `normal`, `spread` are its
//!   arithmetic, `share` puts the cores to it;
//! - `learned`: what is wanted at each zone, the chances of each size, the run that would tell most;
//! - `advise`: theory, or theory and record, as one answer.

mod advise;
mod evidence;
mod grid;
mod lattice;
mod learned;
mod matrix;
mod mode;
mod normal;
pub mod posterior;
mod settings;
mod share;
mod spread;
pub mod verdicts;
mod weight;
mod words;

pub use advise::{Advised, Adviser, LearnedAnswer, SizeChance, TestRun, ZoneAnswer};
pub use evidence::{Baseline, Evidence, Witness, ZoneVerdict, gather};
pub use learned::{Foretold, Learned, Shape, VERDICTS_TO_LEAVE_THEORY, ZoneRecord, leave_one_out};
pub use settings::Settings;
pub use weight::Weight;
pub use words::{Said, Sign, lean_sign, said_of_lean, sign_of_lean};
