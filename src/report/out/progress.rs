//! How far long work has come: one line at a terminal that is gone when it is done, and nothing elsewhere.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::screen::Screen;
use crate::notebook::fields::names::visible;

/// What is done sooner is not told.
const LONG: Duration = Duration::from_millis(400);
/// What stands in the line, and of what its bar is made: no colour, and letters that every terminal has.
const LINE: &str = "{msg} [{bar:20}] {pos} of {len}";
const BAR: &str = "#-.";

/// How far long work has come.
#[derive(Debug)]
pub struct Progress {
    bar: ProgressBar,
    /// Whether it may be told at all.
    is_told: bool,
}

impl Screen {
    /// Long work begins. It is told on standard error, so that standard output stays clean, and only where that is a terminal.
    pub fn progress(&self) -> Progress {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template(LINE).unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style.progress_chars(BAR));
        Progress { bar, is_told: !self.json }
    }
}

impl Progress {
    /// So much of it is done; with the last of it the line is gone.
    pub fn to(&self, what: &str, done: usize, of: usize) {
        if !self.is_told {
            return;
        }
        if done >= of {
            return self.bar.finish_and_clear();
        }
        if self.bar.is_finished() {
            self.bar.reset();
        }
        if self.bar.is_hidden() && self.bar.elapsed() >= LONG {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.set_message(visible(what));
        self.bar.set_length(of as u64);
        self.bar.set_position(done as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
