//! Jetting that learns from the bike's own record.
//!
//! Theory says by which factor K the fuel must follow the air. Each engine follows it in its own way, and each tuner has a
//! width of "right" and a scatter of his own; the outings hold both. What every outing's carburetor delivered, what its air
//! wanted and how it was judged go into one ordered-response model for each throttle zone ([`verdicts`], [`posterior`]), from
//! which every jet in the box gets a chance of being lean, right or rich ([`learned`]).
//!
//! - `settings`: the tuner's limits of risk, what days cost, and how unlike parts are;
//! - `heard`: `evidence`, `weight`, `words`: the outings, how alike each is to the bike as it stands, and notes that stand for lean;
//! - `model`: `verdicts`, `posterior`: the model and what it says, pure; `kinship` (who shares what with whom), `propagation`, `grid`, `matrix`
//!   and `normal` are its arithmetic, `share` puts the cores to it;
//! - `pooled`: the exponent that bikes of one garage with the same carburetor share;
//! - `learned`: what is wanted at each zone; `trust`: whether what was foretold came true; `choice`: the size that costs least;
//! - `advise`: theory, or theory and record, as one answer.

mod above_limit;
mod advise;
mod answered;
pub mod choice;
mod heard;
mod learned;
mod model;
pub mod pooled;
mod remembered;
mod settings;
mod trust;
mod weighing;

pub use above_limit::percent_beside;
pub use advise::{HARDLY_OVER, LeanBelowFull};
pub use answered::{AboveLimit, Advised, Floor, LearnedAnswer, SizeChance, TestRun, ZoneAnswer};
pub(in crate::advice) use choice::SIZES_ABOVE;
pub use choice::choose;
pub use heard::beside::short_of;
pub use heard::evidence::{Baseline, Evidence, Sister, Witness, ZoneVerdict, as_judged, doubt_of, gather};
pub use heard::mark::{MarkedRun, mark_stands};
pub use heard::weight::{KIND_NAMES, Weight, other_parts};
pub use heard::words::sentence::OwnNames;
pub use heard::words::signs::{Said, Sign, THE_ENGINE};
pub use heard::words::{
    FULL_THROTTLE, is_asked, is_detonation, lean_sign, looks_lean, may_say_lean, said_of_lean, sign_of_lean,
};
pub use learned::{Foretold, Learned, SURPRISING, Shape, VERDICTS_TO_RULE, ZoneRecord, leave_one_out};
pub use model::foretold::ForetoldRun;
pub use model::{kinship, posterior, verdicts};
pub use pooled::Pooled;
pub use remembered::remember;
pub use settings::{Costs, Settings, UNRELATED};
pub use trust::{FORETOLD_TO_TRUST, Trust};
pub use weighing::Adviser;
