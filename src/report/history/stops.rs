//! What `now` says first of each bike, for answers that stand beside it.

use super::now::{BikeLine, NowAnswer};

impl NowAnswer<'_> {
    /// What forbids to run each bike as it stands, and what its last run calls for: its folder name, and a sentence.
    pub fn stops(&self) -> Vec<(String, String)> {
        let of_one = |BikeLine { bike, stops, .. }: BikeLine| {
            stops.into_iter().map(|words| (bike.clone(), words)).collect::<Vec<_>>()
        };
        self.lines().into_iter().flat_map(of_one).collect()
    }
}
