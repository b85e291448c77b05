//! A line that is typed and not shown: a pass phrase.

use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;

/// Bytes of a pass phrase at most.
#[cfg(unix)]
const LONGEST: usize = 1024;

/// What the bytes typed so far are, once return was pressed; none where it was given up.
#[cfg(unix)]
#[derive(Debug, Default)]
struct TypedLine(Vec<u8>);

/// What a byte did to the line.
#[cfg(unix)]
#[derive(Debug, PartialEq, Eq)]
enum Did {
    /// It goes on.
    On,
    /// Return was pressed.
    Done,
    /// Ctrl-C, or Ctrl-D on an empty line.
    GivenUp,
}

#[cfg(unix)]
impl TypedLine {
    fn take(&mut self, byte: u8) -> Did {
        match byte {
            b'\r' | b'\n' => return Did::Done,
            3 => return Did::GivenUp,
            4 if self.0.is_empty() => return Did::GivenUp,
            // Back: a whole letter, whatever its bytes.
            8 | 127 => while self.0.pop().is_some_and(|byte| byte & 0xc0 == 0x80) {},
            // Ctrl-U: all of it.
            21 => self.0.clear(),
            0..32 => {}
            other if self.0.len() < LONGEST => self.0.push(other),
            _ => {}
        }
        Did::On
    }
}

impl Screen {
    /// Asks for a line that is not shown.
    #[cfg(unix)]
    pub fn ask_unseen(&self, question: &str) -> Result<String, Trouble> {
        use std::io;

        use rustix::io::Errno;

        // First: what is typed before the question stands is not shown either.
        let keys = self.keyboard()?;
        self.begin(question)?;
        let mut line = TypedLine::default();
        let done = loop {
            let mut byte = [0];
            match rustix::io::read(io::stdin(), &mut byte) {
                Ok(0) => break Did::GivenUp,
                Ok(_) => {}
                Err(Errno::INTR) => continue,
                Err(error) => return Err(unread(&error.to_string())),
            }
            match line.take(byte[0]) {
                Did::On => {}
                done => break done,
            }
        };
        drop(keys);
        Self::end_line()?;
        if done == Did::GivenUp {
            return Err(Trouble::request(None, "Given up.", "Nothing was written."));
        }
        String::from_utf8(line.0).map_err(|_| unread("it is not text"))
    }

    /// Where a keyboard cannot be kept from showing what is typed nothing is asked.
    #[cfg(not(unix))]
    pub fn ask_unseen(&self, _question: &str) -> Result<String, Trouble> {
        Err(unread("this system shows what is typed"))
    }
}

fn unread(why: &str) -> Trouble {
    Trouble::request(
        Some("passphrase-file"),
        format!("The pass phrase cannot be read: {why}."),
        "Write it into a file that only you can read, and say --passphrase-file FILE.",
    )
}

#[cfg(all(test, unix))]
mod tests {
    use super::{Did, TypedLine};

    fn typed(bytes: &[u8]) -> (Did, String) {
        let mut line = TypedLine::default();
        for byte in bytes {
            match line.take(*byte) {
                Did::On => {}
                done => return (done, String::from_utf8_lossy(&line.0).into_owned()),
            }
        }
        (Did::On, String::from_utf8_lossy(&line.0).into_owned())
    }

    #[test]
    fn a_line_is_typed_mended_and_given_up() {
        assert_eq!(typed("wet plüg\x7f\x7fug\r".as_bytes()), (Did::Done, "wet plug".into()));
        assert_eq!(typed(b"abc\x15def\n"), (Did::Done, "def".into()));
        assert_eq!(typed(b"abc\x03").0, Did::GivenUp);
        assert_eq!(typed(b"\x04").0, Did::GivenUp);
    }
}
