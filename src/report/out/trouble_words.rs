//! What went wrong in words: for a person at a terminal, for one who is being asked, and for a page.

use crate::notebook::fields::names::{visible, visible_lines};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;
use crate::report::out::trouble::{ErrorEntry, NothingAnswer, Trouble, bounded};

impl NothingAnswer<'_> {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        screen.wrap(self.nothing_to_do, 2)
    }
}

impl Trouble {
    /// For a person.
    pub fn words(&self, screen: &Screen) -> String {
        let answer = self.answer();
        let first = answer.error.words(screen, !self.is_named);
        let all = std::iter::once(first).chain(answer.more.iter().map(|one| one.words(screen, true)));
        all.collect::<Vec<_>>().join("\n")
    }

    /// For a page: what is wrong and where, and the way out.
    pub(in crate::report) fn parts(&self, screen: &Screen) -> Vec<FramePart> {
        let mut frame = Frame::new(screen);
        for one in std::iter::once(self).chain(&self.more) {
            let file = visible(&one.place.file.to_string_lossy());
            let line = one.place.line.map(|line| format!(", line {line}")).unwrap_or_default();
            let at = if file.is_empty() { String::new() } else { format!(" ({file}{line})") };
            frame.know(&format!("{}{at}", visible_lines(&bounded(&one.message))));
            if !one.help.is_empty() {
                frame.say(&visible_lines(&one.help));
            }
        }
        frame.parts()
    }

    /// For somebody who is being asked: what is wrong with the answer, and the way out.
    pub fn in_short(&self, screen: &Screen) -> String {
        let message = format!("        no: {}", visible_lines(&bounded(&self.message)));
        let help = format!("        {}", visible_lines(&self.help));
        format!("{}\n{}", screen.wrap(&message, 8), screen.wrap(&help, 8))
    }
}

impl ErrorEntry<'_> {
    /// For a person; with the place where it is, unless the message says it.
    pub(super) fn words(&self, screen: &Screen, with_place: bool) -> String {
        let mut text = screen.wrap(&format!("error: {}", visible_lines(&self.message)), 2);
        let (mut at, place) = (Vec::new(), self.place);
        if place.file.as_os_str().is_empty() {
            at.extend(self.field.as_deref().filter(|_| with_place).map(str::to_owned));
        } else {
            let file = visible(&place.file.to_string_lossy());
            at.push(place.line.map_or_else(|| file.clone(), |line| format!("{file}, line {line}")));
            at.extend(self.field.as_deref().map(str::to_owned));
        }
        if !at.is_empty() {
            text.push_str(&format!("\n{}", screen.wrap(&format!("  where: {}", at.join(", ")), 4)));
        }
        if !self.help.is_empty() {
            let help = format!("  what to do: {}", visible_lines(&self.help));
            text.push_str(&format!("\n{}", screen.wrap(&help, 4)));
        }
        text
    }
}
