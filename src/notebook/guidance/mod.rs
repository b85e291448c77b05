//! Words for the user in which what he can type stands as a type. Every floor says what is so and what can be done; only the
//! report knows how a command is typed (`report/out/ways/`).

mod command;
mod option;

use std::ops::Add;

pub use command::{Command, GitCommand, OutingChange};
pub use option::CommandOption;

/// What can be typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Typed {
    /// A command of this program.
    Command(Command),
    /// A command of git.
    Git(GitCommand),
    /// An option of the command that was given.
    Option(CommandOption),
}

/// A piece of guidance.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    Words(String),
    Typed(Typed),
}

/// How guidance becomes text where it is written into a file.
pub type Wording<'w> = &'w dyn Fn(&Guidance) -> String;

/// Sentences for the user, with the commands and options in them as what they do. It has no `Display`: the report words it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Guidance {
    pieces: Vec<Piece>,
}

impl Guidance {
    /// Nothing to say.
    #[must_use]
    pub const fn none() -> Self {
        Self { pieces: Vec::new() }
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.pieces.iter().all(|piece| matches!(piece, Piece::Words(words) if words.is_empty()))
    }

    /// The whole as text, each command and option by the words that it is given.
    pub fn in_words(&self, typed: impl Fn(&Typed) -> String) -> String {
        let one = |piece: &Piece| match piece {
            Piece::Words(words) => words.clone(),
            Piece::Typed(what) => typed(what),
        };
        self.pieces.iter().map(one).collect()
    }

    /// The whole as text with a mark in place of whatever can be typed: for a log, or a test.
    pub fn without_commands(&self) -> String {
        self.in_words(|_| "…".to_owned())
    }

    /// The same with its first words changed.
    #[must_use]
    pub fn map_first(mut self, change: impl FnOnce(&str) -> String) -> Self {
        if let Some(Piece::Words(first)) = self.pieces.first_mut() {
            *first = change(first);
        }
        self
    }

    /// Whether it begins with these words.
    pub fn begins_with(&self, words: &str) -> bool {
        matches!(self.pieces.first(), Some(Piece::Words(first)) if first.starts_with(words))
    }

    /// Everything in it that can be typed, in its order.
    pub fn typed(&self) -> impl Iterator<Item = &Typed> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Words(_) => None,
            Piece::Typed(typed) => Some(typed),
        })
    }

    /// The same with its words changed, whatever can be typed left as it is.
    #[must_use]
    pub fn map_words(self, change: impl Fn(&str) -> String) -> Self {
        let one = |piece| match piece {
            Piece::Words(words) => Piece::Words(change(&words)),
            typed @ Piece::Typed(_) => typed,
        };
        Self { pieces: self.pieces.into_iter().map(one).collect() }
    }

    /// The same with a capital, where it begins with a word.
    #[must_use]
    pub fn with_capital(self) -> Self {
        self.map_first(|words| {
            let mut letters = words.chars();
            letters.next().map_or_else(String::new, |letter| letter.to_uppercase().chain(letters).collect())
        })
    }

    /// Several, with the same words between each two.
    pub fn joined(several: impl IntoIterator<Item = Self>, between: &str) -> Self {
        let mut several = several.into_iter();
        let first = several.next().unwrap_or_default();
        several.fold(first, |whole, one| whole + between + one)
    }
}

impl From<&str> for Guidance {
    fn from(words: &str) -> Self {
        words.to_owned().into()
    }
}

impl From<String> for Guidance {
    fn from(words: String) -> Self {
        Self { pieces: vec![Piece::Words(words)] }
    }
}

impl From<&String> for Guidance {
    fn from(words: &String) -> Self {
        words.clone().into()
    }
}

impl From<Typed> for Guidance {
    fn from(typed: Typed) -> Self {
        Self { pieces: vec![Piece::Typed(typed)] }
    }
}

impl From<Command> for Guidance {
    fn from(command: Command) -> Self {
        Typed::Command(command).into()
    }
}

impl From<GitCommand> for Guidance {
    fn from(command: GitCommand) -> Self {
        Typed::Git(command).into()
    }
}

impl From<CommandOption> for Guidance {
    fn from(option: CommandOption) -> Self {
        Typed::Option(option).into()
    }
}

impl<T: Into<Guidance>> Add<T> for Guidance {
    type Output = Self;

    fn add(mut self, more: T) -> Self {
        self.pieces.extend(more.into().pieces);
        self
    }
}

impl<T: Into<Guidance>> Add<T> for Command {
    type Output = Guidance;

    fn add(self, more: T) -> Guidance {
        Guidance::from(self) + more
    }
}

impl<T: Into<Guidance>> Add<T> for GitCommand {
    type Output = Guidance;

    fn add(self, more: T) -> Guidance {
        Guidance::from(self) + more
    }
}

impl<T: Into<Guidance>> Add<T> for CommandOption {
    type Output = Guidance;

    fn add(self, more: T) -> Guidance {
        Guidance::from(self) + more
    }
}

#[cfg(test)]
mod tests {
    use super::{Command, CommandOption, Guidance};

    #[test]
    fn what_can_be_typed_is_worded_by_whoever_shows_it() {
        let said = Guidance::from("there it is: ") + Command::ListBikes + ", or " + CommandOption::Sure + ".";
        let words = said.clone().with_capital().in_words(|typed| format!("<{typed:?}>"));
        assert_eq!(words, "There it is: <Command(ListBikes)>, or <Option(Sure)>.");
        assert_eq!(said.typed().count(), 2);
        let kept = said.map_words(str::to_uppercase).in_words(|_| "x".to_owned());
        assert_eq!(kept, "THERE IT IS: x, OR x.");
        let both = Guidance::joined([Guidance::from("a"), CommandOption::Sure.into()], "; ");
        assert_eq!(both.in_words(|_| "b".to_owned()), "a; b");
        assert!(Guidance::none().is_empty() && Guidance::from("").is_empty());
        assert!(!Guidance::from(CommandOption::Sure).is_empty());
    }
}
