//! The advice for a machine with several cylinders: what is the same at all of them is said once, the rest of each by its name.

use std::collections::BTreeMap;

use super::answer::RejetAnswer;
use super::hands::Hands;
use super::in_part::{InPart, Unanswered};
use super::record::RecordAnswer;
use super::record::text::{ChanceRow, LookedAt, side_by_side};
use super::text::MOST_LINES;
use crate::advice::cautions::in_this_step;
use crate::notebook::fields::cylinder::{at_cylinder, named_together, said_of_several};
use crate::notebook::fields::names::{in_words, visible};
use crate::report::capital;
use crate::report::out::each::OfCylinders;
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;
use crate::report::words::layout::NARROW;

/// The advice for a machine: of each cylinder that has one, and why another has none.
pub type MachineAnswer<'a> = InPart<RejetAnswer<'a>>;

/// The record of a cylinder, with the sizes that are looked at.
type Looked<'o, 'a> = (&'o RecordAnswer<'a>, LookedAt);

/// More than this beyond the others is to be explained, percent of the main jet's number: about two sizes.
const FURTHER_PERCENT: f64 = 2.0;

impl InPart<RejetAnswer<'_>> {
    /// Whether all the cautions stand behind it.
    pub fn has_all_cautions(&self) -> bool {
        self.each.0.iter().any(|(_, one)| one.has_all_cautions())
    }

    /// For a person: what the hands do at every cylinder in one line, what can hurt, the chances of each, and what it stands on.
    pub fn text(&self, screen: &Screen) -> String {
        if self.each.0.iter().any(|(_, one)| one.is_whole()) {
            return self.each.framed_beside(&self.unanswered, (screen, Room::Ample)).text();
        }
        text_within(MOST_LINES, screen, |screen, room| {
            self.each.framed_beside(&self.unanswered, (screen, room))
        })
    }
}

impl<'a> OfCylinders<RejetAnswer<'a>> {
    /// The answer part by part.
    pub(in crate::report) fn framed<'s>(&self, screen: &'s Screen) -> Frame<'s> {
        self.framed_beside(&BTreeMap::new(), (screen, Room::Ample))
    }

    /// Why one cylinder is to get much more than the others get: each goes by its own runs first.
    fn further_than_the_others(&self) -> Option<String> {
        let more = |one: &RejetAnswer<'_>| {
            let looked = one.looked_at();
            Some(100.0 * (looked.fit? / looked.in_it.filter(|now| *now > 0.0)? - 1.0))
        };
        let all: Vec<(&str, f64)> =
            self.0.iter().map(|(name, one)| Some((name.as_str(), more(one)?))).collect::<Option<_>>()?;
        let (name, most) = all.iter().copied().max_by(|(_, one), (_, other)| one.total_cmp(other))?;
        let next =
            all.iter().filter(|(other, _)| *other != name).map(|(_, more)| *more).max_by(f64::total_cmp)?;
        let (others, take) =
            if all.len() == 2 { ("the other", "the other takes") } else { ("the others", "the others take") };
        (next > 0.0 && most > next + FURTHER_PERCENT).then(|| {
            format!(
                "{} goes further up than {others}, by its own runs; of what one cylinder shows {take} a part.",
                capital(&in_words(name))
            )
        })
    }

    /// The same where others have no answer: what is said is said of those that have one, by name.
    fn framed_beside<'s>(
        &self,
        others: &BTreeMap<String, Unanswered>,
        (screen, room): (&'s Screen, Room),
    ) -> Frame<'s> {
        let mut frame = Frame::new(screen);
        let Some((_, first)) = self.0.first() else { return frame };
        let mut each = self.of_each(RejetAnswer::hands);
        each.extend(others.keys().map(|name| (name.as_str(), Hands::default())));
        // With those that have none nothing is of all.
        let together = |all: &[(&str, Vec<FramePart>)]| {
            let none = others.keys().map(|name| (name.as_str(), Vec::new()));
            together(&all.iter().cloned().chain(none).collect::<Vec<_>>())
        };
        for (name, other) in others {
            frame.stop(&other.words(name, first.bike));
        }
        let with_hands =
            || self.0.iter().zip(&each).map(|((name, one), (_, hands))| (name.as_str(), one, hands));
        let stops: Vec<_> =
            with_hands().map(|(name, one, hands)| (name, of(one.stops(hands), FramePart::Stop))).collect();
        let mut stops = together(&stops);
        // What the hands do stands under it.
        stops.sort_by_key(|part| matches!(part, FramePart::Stop(text) if text.ends_with("Only then:")));
        frame.parts_of(stops);
        let hands = Hands::of_all(&each);
        if hands.stop().is_none() {
            hands.lines(first.bike).iter().for_each(|line| frame.hands(line));
        }
        let before: Vec<_> =
            with_hands().map(|(name, one, hands)| (name, one.before_it_runs(hands, screen, room))).collect();
        let mut known = together(&before);
        // What must not be done first.
        known.sort_by_key(|part| !matches!(part, FramePart::Stop(_)));
        frame.parts_of(known);
        if let Some(why) = self.further_than_the_others() {
            frame.know(&why);
        }
        frame.know(in_this_step(self.0.iter().any(|(_, one)| one.takes_fuel_away())));
        let gap = |frame: &mut Frame<'s>| (room < Room::Tight).then(|| frame.gap());
        gap(&mut frame);
        if first.told.explain {
            self.bodies(screen, &mut frame);
            return frame;
        }
        for sizes in self.chances(others.is_empty(), screen, room) {
            frame.parts_of([sizes]);
            gap(&mut frame);
        }
        if let Some(stays) = hands.stays().filter(|_| room < Room::Least) {
            frame.say(&stays);
        }
        let airs = self.of_each(|one| one.in_which_air(screen));
        match airs.as_slice() {
            // The air is said once where all start from the same.
            [(_, air), others @ ..] if !others.is_empty() && others.iter().all(|(_, other)| other == air) => {
                let why = |one: &RejetAnswer<'_>| one.why_the_clip().filter(|_| !room.is_short());
                frame.parts_of(together(&self.of_each(|one| of(Vec::from_iter(why(one)), FramePart::Say))));
                let own = self.of_each(|one| Vec::from_iter(one.beside_the_air(room)));
                let own = said_of_several(&own, |name, words| at_cylinder(name, words));
                frame.say(format!("{air}. {}", own.join(" ")).trim_end());
                let day = self.of_each(|one| of(Vec::from_iter(one.of_the_day()), FramePart::Say));
                frame.parts_of(together(&day));
            }
            _ => {
                let stands_on = self.of_each(|one| of(one.stands_on(screen, room), FramePart::Say));
                frame.parts_of(together(&stands_on));
            }
        }
        if others.is_empty() {
            first.end_of_all(&self.ends().join(" "), &mut frame);
        } else {
            let end = "Not recorded, and --record would not while a cylinder has no answer.";
            first.end_of_all(end, &mut frame);
        }
        frame
    }

    /// The chances of the sizes: a table of each cylinder, or one where all are alike.
    fn chances(&self, of_all: bool, screen: &Screen, room: Room) -> Vec<FramePart> {
        if let Some(alike) = self.alike(|one| one.chances(None, screen, room)).filter(|_| of_all) {
            return alike.into_iter().map(FramePart::Table).collect();
        }
        let each = self.0.iter().map(|(name, one)| (name.as_str(), &one.record, one.looked_at()));
        // Where three or more have the same, their table stands once.
        let mut groups: Vec<(Vec<ChanceRow>, Vec<&str>, Looked<'_, '_>)> = Vec::new();
        for (name, record, looked_at) in each {
            let Some(rows) = record.chance_rows(looked_at, room) else { continue };
            match groups.iter_mut().find(|(known, ..)| *known == rows) {
                Some((_, names, _)) => names.push(name),
                None => groups.push((rows, vec![name], (record, looked_at))),
            }
        }
        let named = groups.iter().flat_map(|(_, names, what)| {
            let apart = || names.iter().map(|name| (*name).to_owned()).collect();
            let names: Vec<String> = if names.len() < 3 { apart() } else { vec![named_together(names)] };
            names.into_iter().map(move |name| (name, *what))
        });
        let named: Vec<(String, Looked<'_, '_>)> = named.collect();
        let each: Vec<_> =
            named.iter().map(|(name, (record, looked_at))| (name.as_str(), *record, *looked_at)).collect();
        let beside = side_by_side(&each, screen, room).filter(|_| each.len() > 1 && screen.width() >= NARROW);
        beside.map_or_else(
            || {
                let each = each
                    .iter()
                    .filter_map(|(name, record, at)| record.chances(Some(name), (*at, room), screen));
                each.map(FramePart::Table).collect()
            },
            |beside| vec![FramePart::Block(beside)],
        )
    }

    /// Whether it is recorded, and what else would do that. What is to be fitted at one is recorded with the others.
    fn ends(&self) -> Vec<String> {
        let fits = self.0.iter().any(|(_, one)| !one.told.to_set.is_empty());
        let of_one = |one: &RejetAnswer<'a>| {
            let says_nothing = fits && one.told.to_set.is_empty() && one.told.nothing_to_fit().is_none();
            if says_nothing { Vec::new() } else { vec![one.end()] }
        };
        let each = self.of_each(of_one);
        let mut ends: Vec<String> = Vec::new();
        for end in each.into_iter().flat_map(|(_, ends)| ends) {
            if !ends.contains(&end) {
                ends.push(end);
            }
        }
        ends
    }

    /// The rest of it, of each cylinder under its name; what is the same at all of them stands once behind them.
    fn bodies(&self, screen: &Screen, frame: &mut Frame<'_>) {
        let each = self.of_each(|one| {
            let mut body = Frame::new(screen);
            one.body(screen, &mut body);
            body.parts()
        });
        let of_all = |part: &FramePart| {
            !matches!(part, FramePart::Gap) && each.iter().all(|(_, others)| others.contains(part))
        };
        for (name, body) in &each {
            frame.block(screen.strong(&capital(&format!("cylinder {}", visible(name)))));
            for part in body.iter().filter(|part| !of_all(part)) {
                if *part == FramePart::Gap { frame.gap() } else { frame.parts_of([part.clone()]) }
            }
            frame.gap();
        }
        let common = each.first().into_iter().flat_map(|(_, body)| body.iter().filter(|part| of_all(part)));
        frame.parts_of(common.cloned());
    }
}

fn of(sentences: Vec<String>, part: fn(String) -> FramePart) -> Vec<FramePart> {
    sentences.into_iter().map(part).collect()
}

/// The parts of all, each of one cylinder with its name.
fn together(all: &[(&str, Vec<FramePart>)]) -> Vec<FramePart> {
    // What names its cylinder needs no other name.
    let names_one =
        |part: &FramePart| matches!(part, FramePart::Stop(text) if text.starts_with("The cylinder "));
    said_of_several(all, |name, part| if names_one(part) { part.clone() } else { part.of_cylinder(name) })
}
