//! Decisions: what today's air and fuel want of the jetting, with the cautions that go with every piece of advice.
//!
//! Gives back data, never text for a screen: no terminal and no clock.

pub mod along;
pub mod apart;
pub mod asked_of_air;
pub mod asking;
pub mod building;
pub mod cautions;
pub mod check;
mod check_cylinders;
pub mod closing;
pub mod derived;
pub mod drawn;
pub mod figures;
pub mod fit;
pub mod foundation;
pub mod handed;
pub mod held;
pub mod kept_air;
pub mod learning;
pub mod maps;
pub mod now;
pub mod package;
pub mod parts;
pub mod phone_notes;
pub mod record;
pub mod rejet;
pub mod runs;
pub mod seat;
pub mod session_sheet;
pub mod sisters;
pub mod slips;
pub mod standing;
pub mod today;
pub mod trim_map;
pub mod trim_steps;
pub mod what_if;

pub use rejet::{
    ClipAdvice, Factor, InjectionAdvice, JetAdvice, MainSize, Method, NeedleAdvice, Rejet, RejetError,
    RejetRequest, Screw, ScrewAdvice, WantedFuel, ZoneAdvice, delivered_at, factor_between, rejet,
};
