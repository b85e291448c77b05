//! All the cautions, one under the other.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::cautions::{LEANER, PLAIN_AIR, STANDING};
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;

/// What a careful tuner says.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CautionsAnswer {
    /// The cautions, each a sentence or two.
    cautions: Vec<&'static str>,
}

impl CautionsAnswer {
    /// All of them.
    pub fn new() -> Self {
        Self { cautions: STANDING.into_iter().chain([PLAIN_AIR, LEANER]).collect() }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        self.cautions.iter().for_each(|caution| frame.know(caution));
        frame.text()
    }
}

impl Default for CautionsAnswer {
    fn default() -> Self {
        Self::new()
    }
}
