//! The advice for a machine with several cylinders: what is the same at all of them is said once, the rest of each by its name.

use super::answer::RejetAnswer;
use super::hands::Hands;
use crate::advice::cautions::in_this_step;
use crate::notebook::fields::cylinder::said_of_all;
use crate::notebook::fields::names::visible;
use crate::report::capital;
use crate::report::out::each::OfCylinders;
use crate::report::out::frame::{Frame, Part};
use crate::report::out::screen::Screen;

impl<'a> OfCylinders<RejetAnswer<'a>> {
    /// For a person: what the hands do at every cylinder in one line, what can hurt, the chances of each, and what it stands on.
    pub fn text(&self, screen: &Screen) -> String {
        self.framed(screen).text()
    }

    /// The answer part by part.
    pub(in crate::report) fn framed<'s>(&self, screen: &'s Screen) -> Frame<'s> {
        let mut frame = Frame::new(screen);
        let each = self.of_each(RejetAnswer::hands);
        let Some((_, first)) = self.0.first() else { return frame };
        let with_hands =
            || self.0.iter().zip(&each).map(|((name, one), (_, hands))| (name.as_str(), one, hands));
        let stops: Vec<_> =
            with_hands().map(|(name, one, hands)| (name, of(one.stops(hands), Part::Stop))).collect();
        let mut stops = together(&stops);
        // What the hands do stands under it.
        stops.sort_by_key(|part| matches!(part, Part::Stop(text) if text.ends_with("Only then:")));
        frame.parts_of(stops);
        let hands = Hands::of_all(&each);
        if hands.stop().is_none() {
            hands.lines(first.bike).iter().for_each(|line| frame.hands(line));
        }
        let before: Vec<_> =
            with_hands().map(|(name, one, hands)| (name, one.before_it_runs(hands, screen))).collect();
        let mut known = together(&before);
        // What must not be done first.
        known.sort_by_key(|part| !matches!(part, Part::Stop(_)));
        frame.parts_of(known);
        frame.know(in_this_step(self.0.iter().any(|(_, one)| one.takes_fuel_away())));
        frame.gap();
        if first.told.explain {
            self.bodies(screen, &mut frame);
            return frame;
        }
        for sizes in self.chances(screen) {
            frame.block(sizes);
            frame.gap();
        }
        if let Some(stays) = hands.stays() {
            frame.say(&stays);
        }
        let stands_on = self.of_each(|one| of(one.stands_on(screen), Part::Say));
        frame.parts_of(together(&stands_on));
        first.end_of_all(&self.ends().join(" "), &mut frame);
        frame
    }

    /// The chances of the sizes: a table of each cylinder, or one where all are alike.
    fn chances(&self, screen: &Screen) -> Vec<String> {
        match self.alike(|one| one.chances(None, screen)) {
            Some(of_all) => of_all.into_iter().collect(),
            None => self.0.iter().filter_map(|(name, one)| one.chances(Some(name), screen)).collect(),
        }
    }

    /// Whether it is recorded, and what else would do that. What is to be fitted at one is recorded with the others.
    fn ends(&self) -> Vec<String> {
        let fits = self.0.iter().any(|(_, one)| !one.fit.is_empty());
        let of_one = |one: &RejetAnswer<'a>| {
            let says_nothing = fits && one.fit.is_empty() && one.told.nothing_to_fit().is_none();
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
        let of_all =
            |part: &Part| !matches!(part, Part::Gap) && each.iter().all(|(_, others)| others.contains(part));
        for (name, body) in &each {
            frame.block(screen.strong(&capital(&format!("cylinder {}", visible(name)))));
            for part in body.iter().filter(|part| !of_all(part)) {
                if *part == Part::Gap { frame.gap() } else { frame.parts_of([part.clone()]) }
            }
            frame.gap();
        }
        let common = each.first().into_iter().flat_map(|(_, body)| body.iter().filter(|part| of_all(part)));
        frame.parts_of(common.cloned());
    }
}

fn of(sentences: Vec<String>, part: fn(String) -> Part) -> Vec<Part> {
    sentences.into_iter().map(part).collect()
}

/// The parts of all, each of one cylinder with its name.
fn together(all: &[(&str, Vec<Part>)]) -> Vec<Part> {
    said_of_all(all, |name, part| part.of_cylinder(name))
}
