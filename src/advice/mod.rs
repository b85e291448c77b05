//! Decisions: what today's air and fuel want of the jetting, with the cautions that go with every piece of advice.
//!
//! Takes documents and readings, gives back data: no file, git, clock or terminal.

pub mod cautions;
pub mod rejet;

pub use rejet::{
    ClipAdvice, Factor, InjectionAdvice, JetAdvice, Method, Rejet, RejetError, RejetRequest, Screw,
    ScrewAdvice, rejet,
};
