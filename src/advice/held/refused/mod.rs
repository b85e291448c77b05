//! What speaks against a step, kind by kind: each adds to what is asked of a [`case::Case`].

mod at_once;
mod back_to;
mod blind;
pub(super) mod case;
mod denser;
mod metal;
mod oil;
mod since;
mod span;
mod spark;
mod words;
