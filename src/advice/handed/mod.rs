//! A customer's engine: what its owner is given of the book, and what of theirs comes back.

mod coming_back;
mod making;

pub use coming_back::{CameBack, Returned, look_over_returned};
pub use making::{hand_engine_over, read_engine_handover};
