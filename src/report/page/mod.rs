//! Sheets for paper and for a browser: one self-contained HTML file, without a network and without a script.
//!
//! Text and marks go through `maud`, which escapes all that it is given; drawings through `plotters`, whose SVG has axes and marks
//! and, like the page, nothing but what is said here. What something means is said by shape, line and hatch, never by colour alone.

pub mod build;
pub mod card;
mod columns;
mod drawing;
mod fit;
pub mod live;
mod paper;
mod picture;
pub mod pocket;
mod season;
pub mod session;
pub mod sheet;
mod shell;
mod strip;
pub mod van;
pub mod written;
