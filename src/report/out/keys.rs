//! Asking at a terminal, one key a question: nobody takes a glove off for a line.

use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;

/// A key that was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// A letter, small.
    Letter(char),
    /// Return, or the space bar: nothing is said.
    Nothing,
    /// `<` or the back key: one question back.
    Back,
    /// Ctrl-C, or the end of the input.
    Stop,
}

/// What a byte from the keyboard is.
#[cfg(unix)]
fn key(byte: u8) -> Key {
    match byte {
        b'\r' | b'\n' | b' ' => Key::Nothing,
        b'<' | 8 | 127 => Key::Back,
        3 | 4 => Key::Stop,
        other => Key::Letter(char::from(other).to_ascii_lowercase()),
    }
}

/// A keyboard that gives every key at once; dropped, it gives lines again.
#[derive(Debug)]
pub struct Keyboard {
    #[cfg(unix)]
    before: rustix::termios::Termios,
    #[cfg(not(unix))]
    screen: Screen,
}

#[cfg(unix)]
mod terminal {
    use std::io;

    use rustix::io::Errno;
    use rustix::termios::{LocalModes, OptionalActions, SpecialCodeIndex, tcgetattr, tcsetattr};

    use super::{Key, Keyboard, Screen, Trouble, key};

    fn cannot(error: Errno) -> Trouble {
        Trouble::request(
            None,
            format!("The keyboard cannot be read: {error}."),
            "Say it on the line: `reedbook outing add BIKE full=right …`.",
        )
    }

    impl Screen {
        /// The keyboard, key by key.
        pub fn keyboard(&self) -> Result<Keyboard, Trouble> {
            let before = tcgetattr(io::stdin()).map_err(cannot)?;
            let mut single = before.clone();
            // Ctrl-C is a key among others, so that lines can be given back before anything ends.
            single.local_modes.remove(LocalModes::ICANON | LocalModes::ECHO | LocalModes::ISIG);
            single.special_codes[SpecialCodeIndex::VMIN] = 1;
            single.special_codes[SpecialCodeIndex::VTIME] = 0;
            tcsetattr(io::stdin(), OptionalActions::Now, &single).map_err(cannot)?;
            Ok(Keyboard { before })
        }
    }

    impl Keyboard {
        /// The next key.
        #[expect(clippy::unused_self, reason = "only who holds the keyboard reads keys")]
        pub fn next(&self) -> Result<Key, Trouble> {
            let mut byte = [0];
            loop {
                match rustix::io::read(io::stdin(), &mut byte) {
                    Ok(0) => return Ok(Key::Stop),
                    Ok(_) => return Ok(key(byte[0])),
                    Err(Errno::INTR) => {}
                    Err(error) => return Err(cannot(error)),
                }
            }
        }
    }

    impl Drop for Keyboard {
        fn drop(&mut self) {
            // Nothing can be done where a terminal that is gone takes no settings.
            let _ = tcsetattr(io::stdin(), OptionalActions::Now, &self.before);
        }
    }
}

#[cfg(not(unix))]
mod terminal {
    use super::{Key, Keyboard, Screen, Trouble};
    use crate::report::out::asking::Answer;

    impl Screen {
        /// The keyboard: here a key is followed by return.
        pub fn keyboard(&self) -> Result<Keyboard, Trouble> {
            Ok(Keyboard { screen: *self })
        }
    }

    impl Keyboard {
        /// The next key.
        pub fn next(&self) -> Result<Key, Trouble> {
            Ok(match self.screen.ask("")? {
                Answer::Said(said) if said == "<" => Key::Back,
                Answer::Said(said) => said.chars().next().map_or(Key::Nothing, Key::Letter),
                Answer::Nothing => Key::Nothing,
                Answer::Enough => Key::Stop,
            })
        }
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::{Key, key};

    #[test]
    fn return_says_nothing_and_ctrl_c_stops() {
        assert_eq!(key(b'R'), Key::Letter('r'));
        assert_eq!(key(b'\r'), Key::Nothing);
        assert_eq!(key(127), Key::Back);
        assert_eq!(key(3), Key::Stop);
    }
}
