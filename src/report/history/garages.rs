//! A garage that was started, and the demo's.

use schemars::JsonSchema;
use serde::Serialize;

use crate::store::Replayed;

/// The garage that was started.
#[derive(Debug, Serialize, JsonSchema)]
pub struct GarageMade {
    /// Its folder.
    pub garage: String,
}

/// The demo garage that was made.
#[derive(Debug, Serialize, JsonSchema)]
pub struct DemoMade {
    /// Its folder.
    garage: String,
    /// Setups recorded.
    setups: usize,
    /// Outings logged.
    outings: usize,
    /// Proven marks set.
    proven: usize,
    /// Builds written down.
    builds: usize,
    /// Parts taken into the book.
    parts: usize,
}

impl GarageMade {
    /// What comes next in it.
    pub fn text(&self) -> String {
        format!(
            "Garage started in {}\n\
             It is an ordinary git repository; configs/ holds your jets and needles.\n\
             Next, with --template injected for an injected bike:\n  reedbook bike new NAME",
            self.garage
        )
    }
}

impl DemoMade {
    /// What was replayed into a folder.
    pub fn new(garage: String, done: &Replayed) -> Self {
        let Replayed { setups, outings, proven, builds, parts } = *done;
        Self { garage, setups, outings, proven, builds, parts }
    }

    /// For a person.
    pub fn text(&self) -> String {
        format!(
            "{} setups and {} outings of four bikes, {} builds and {} parts of their engines, in {}\n\
             The team, its machines and its venues are invented.",
            self.setups, self.outings, self.builds, self.parts, self.garage
        )
    }
}
