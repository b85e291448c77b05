//! What comes in from paper and phones, looked over before anything of it is recorded.

pub mod phone_notes;
pub mod session_sheet;
