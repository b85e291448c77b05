//! What the gate does not open, in words.

use std::path::PathBuf;

use thiserror::Error;

use crate::notebook::fields::names::visible;
use crate::notebook::{Code, Finding, Place};

/// Something in a garage that is not opened.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", self.message())]
pub struct Barred {
    /// Its path in the garage.
    pub path: PathBuf,
    /// What it is.
    pub what: Odd,
}

/// What something is that is not opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Odd {
    /// Another name for something that may lie anywhere.
    Link,
    /// A folder where a file belongs.
    Folder,
    /// A file where a folder belongs.
    File,
    /// A pipe: whoever reads it waits.
    Pipe,
    /// A device.
    Device,
    /// A socket.
    Socket,
    /// A file that has a second name somewhere, where one of ours has one only.
    SecondName,
    /// A path that leads out of the garage, or into its repository.
    Outside,
    /// Settings of git that include others by a name that is not written plainly.
    OddInclude,
    /// A file with more in it than its like can need.
    TooLarge {
        /// What it has.
        bytes: u64,
        /// What is read at most.
        most: u64,
    },
}

impl Odd {
    /// What it is, with its article.
    pub fn words(self) -> &'static str {
        match self {
            Self::Link => "a link",
            Self::Folder => "a folder",
            Self::File => "a file",
            Self::Pipe => "a pipe",
            Self::Device => "a device",
            Self::Socket => "a socket",
            Self::SecondName => "a second name of a file",
            Self::Outside => "a path that leads out of it",
            Self::OddInclude => "an include that is not written plainly",
            Self::TooLarge { .. } => "a file that is too large",
        }
    }
}

impl Barred {
    fn shown(&self) -> String {
        visible(&self.path.to_string_lossy().replace('\\', "/"))
    }

    fn message(&self) -> String {
        let (path, words) = (self.shown(), self.what.words());
        match self.what {
            Odd::Link | Odd::SecondName => format!("This garage has {words} at {path}."),
            Odd::File => format!("This garage has a file at {path}, where a folder belongs."),
            Odd::OddInclude => {
                format!("This garage has {words} in git's settings, {path}: it is not followed.")
            }
            Odd::Outside => format!("The path \"{path}\" leads out of the garage."),
            Odd::TooLarge { bytes, most } => {
                format!("{path} has {}; at most {} of it are read.", size(bytes), size(most))
            }
            _ => format!("This garage has {words} at {path}, where a file belongs."),
        }
    }

    /// The same of what is not this garage's.
    pub(in crate::store) fn of_the_other_side(&self) -> String {
        match self.what {
            Odd::TooLarge { .. } => self.message(),
            what => {
                format!("it has {} at {}, where a plain file of git's belongs.", what.words(), self.shown())
            }
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self.what {
            Odd::Link => {
                "No link is followed: put there what it leads to, if that is yours, or take the link away."
                    .into()
            }
            Odd::SecondName => "Take it away: it is made anew.".into(),
            Odd::Outside => "Name files inside the garage.".into(),
            Odd::OddInclude => {
                "Take the include out, or write its path plainly: no quotes inside it, no comment behind it."
                    .into()
            }
            Odd::TooLarge { .. } => {
                "Look at what is in it: put back what belongs there, or take the file away.".into()
            }
            Odd::File => "Take it away.".into(),
            _ => "Take it away, or put the file itself there.".into(),
        }
    }

    /// The same as a finding.
    pub fn finding(&self) -> Finding {
        Finding {
            code: Code::NotText,
            place: Place::file(&self.path),
            message: self.message(),
            help: self.help().into(),
        }
    }
}

/// "2 MB": for people, rounded; a little too much is not shown as the same.
fn size(bytes: u64) -> String {
    const KILO: u64 = 1024;
    match bytes {
        0..KILO => format!("{bytes} bytes"),
        KILO..1_048_576 => format!("{} kB", bytes.div_ceil(KILO)),
        1_048_576..1_073_741_824 => format!("{} MB", bytes.div_ceil(KILO * KILO)),
        _ => format!("{} GB", bytes.div_ceil(KILO * KILO * KILO)),
    }
}
