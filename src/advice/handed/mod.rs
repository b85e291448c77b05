//! A customer's engine: what its owner is given of the book, and what of theirs comes back.

mod coming_back;
mod how_it_ran;
mod making;
mod own_words;

pub use coming_back::{CameBack, Returned, look_over_returned};
pub use how_it_ran::{forbids, lean_before, lean_runs, ran_lean_here, ran_lean_there, ran_lean_there_now};
pub use making::{hand_engine_over, read_engine_handover};
pub use own_words::in_own_words;
