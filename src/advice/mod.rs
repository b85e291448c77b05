//! Decisions: what today's air and fuel want of the jetting, with the cautions that go with every piece of advice.
//!
//! Gives back data, never text for a screen: no terminal and no clock.

pub mod along;
pub mod apart;
pub mod asking;
pub mod building;
pub mod cautions;
pub mod check;
pub mod closing;
pub mod combined;
pub mod conditions;
pub mod derived;
pub mod drawn;
pub mod figures;
pub mod fit;
pub mod foundation;
mod half_done;
pub mod handed;
pub mod held;
pub mod incoming;
pub mod learning;
pub mod maps;
pub mod now;
pub mod package;
pub mod parts;
pub mod rejet;
pub mod runs;
pub mod sisters;
pub mod slips;
pub mod standing;
pub mod today;
pub mod what_if;

pub use rejet::{
    ClipAdvice, Factor, InjectionAdvice, JetAdvice, MainSize, Method, NeedleAdvice, Rejet, RejetError,
    RejetRequest, Screw, ScrewAdvice, WantedFuel, ZoneAdvice, delivered_at, factor_between, rejet,
};
