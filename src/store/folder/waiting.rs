//! Waiting for another writer, and saying so.

use std::time::Duration;

use crate::store::folder::garage::Garage;

/// Who waits so long for another is told so.
const LONG: Duration = Duration::from_secs(3);
/// Of what a line of waiting is filled.
const SECONDS: usize = 60;

impl Garage {
    /// Says for whom is waited, where that lasts.
    pub(in crate::store) fn waits(&self, who: &str, waited: Duration) {
        let seconds = usize::try_from(waited.as_secs()).unwrap_or(usize::MAX - SECONDS);
        self.tell(&format!("waiting for {who}, seconds"), seconds % SECONDS, SECONDS);
        if waited >= LONG
            && !self.said_waiting.replace(true)
            && let Some(tells) = &self.is_told
        {
            tells(&format!(
                "Another reedbook is still at work in this garage ({who}). This one goes on when that is done; Ctrl-C ends the waiting."
            ));
        }
    }
}
