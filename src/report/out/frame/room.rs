//! How much room an answer has: what is read with dirty hands stands on one screen, so that facts make room for what the hands do and what
//! can hurt. What gives way stands in `-v`.

use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;

/// How much of an answer stands there, the most first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::report) enum Room {
    /// All of it.
    Ample,
    /// Without what only explains.
    Short,
    /// Closer together, too.
    Tight,
    /// What the hands do, what can hurt, and the least that it stands on.
    Least,
}

impl Room {
    const ALL: [Self; 4] = [Self::Ample, Self::Short, Self::Tight, Self::Least];

    /// Whether facts give way.
    pub(in crate::report) fn is_short(self) -> bool {
        self > Self::Ample
    }
}

/// The fullest answer that takes `most` lines at the usual columns: a narrower screen says neither more nor less. With -v it is whole.
pub(in crate::report) fn text_within(
    most: usize,
    screen: &Screen,
    answer: impl for<'s> Fn(&'s Screen, Room) -> Frame<'s>,
) -> String {
    if screen.verbose() {
        return answer(screen, Room::Ample).text();
    }
    let usual = screen.as_usual();
    let fits = |room: &Room| answer(&usual, *room).text().lines().count() <= most;
    let room = Room::ALL.into_iter().find(fits).unwrap_or(Room::Least);
    answer(screen, room).text()
}

#[cfg(test)]
mod tests {
    use super::{Room, text_within};
    use crate::report::out::frame::Frame;
    use crate::report::out::screen::{Screen, Wanted};

    fn facts(screen: &Screen, room: Room) -> Frame<'_> {
        let mut frame = Frame::new(screen);
        frame.hands("moth: FIT main 178 → 176");
        if room < Room::Tight {
            frame.gap();
        }
        if !room.is_short() {
            frame.say("Why.");
        }
        if room < Room::Least {
            frame.say("Clip 2 stays.");
        }
        frame
    }

    #[test]
    fn facts_give_way_one_after_the_other_and_never_with_v() {
        let screen = Screen::new(Wanted { colour: Some(false), ..Wanted::default() });
        let lines = |most| text_within(most, &screen, facts).lines().count();
        assert_eq!([lines(9), lines(4), lines(3), lines(2), lines(1)], [4, 4, 3, 2, 1]);
        assert_eq!(text_within(1, &screen, facts), "moth: FIT main 178 → 176");
        let all = Screen::new(Wanted { verbose: true, ..Wanted::default() });
        assert_eq!(text_within(1, &all, facts).lines().count(), 4);
    }
}
