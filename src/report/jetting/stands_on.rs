//! What an advice stands on: the air, the setup that it starts from, and why the clip moves.

use super::answer::RejetAnswer;
use super::first;
use super::words::rich_or_lean;
use crate::advice::ClipAdvice;
use crate::notebook::fields::names::visible;
use crate::report::out::frame::room::Room;
use crate::report::out::screen::Screen;
use crate::report::words::layout::capital;

impl RejetAnswer<'_> {
    /// What the answer stands on, in lines.
    pub(super) fn stands_on(&self, screen: &Screen, room: Room) -> Vec<String> {
        let why = self.why_the_clip().filter(|_| !room.is_short());
        // That nobody's runs speak is a caution, and never gives way.
        let beside = if room.is_short() && self.record.has_own_runs() {
            ".".to_owned()
        } else {
            format!("{}. {}", self.had(), self.record.whose())
        };
        let air = format!("{}{beside}", self.in_which_air(screen));
        why.into_iter().chain([air]).chain(self.of_the_day()).collect()
    }

    /// That the bike was taken because it is the one of the day.
    pub(super) fn of_the_day(&self) -> Option<String> {
        self.told.bike_is_taken.then(|| format!("{} is the bike of the day.", self.bike))
    }

    /// The air that is asked about, and the one that it starts from.
    pub(super) fn in_which_air(&self, screen: &Screen) -> String {
        format!(
            "{} {}; setup {} {} in {}{}",
            self.air.in_short(screen),
            self.told.served.words().map_or("now".to_owned(), |words| format!("now ({words})")),
            self.baseline,
            if self.told.was_right { "was right" } else { "ran" },
            self.baseline_air.in_short(screen).replace(" % air", " %"),
            first::before_it_was_lean(self.told.held, self.baseline),
        )
    }

    /// What the answer stands on beside that air: what was fitted then, and how much the bike's own runs weigh; nothing where that gives way.
    pub(super) fn beside_the_air(&self, room: Room) -> Option<String> {
        let had = self.had();
        let had = had.strip_prefix("; ").map(|had| format!("{}. ", capital(had))).unwrap_or_default();
        let gives_way = room.is_short() && self.record.has_own_runs();
        (!gives_way).then(|| format!("{had}{}", self.record.whose()))
    }

    /// What the setup it starts from had, where the bike has something else that the advice sets: everything else that is said counts
    /// from the bike.
    pub(super) fn had(&self) -> String {
        let (then, now) = (self.told.baseline_fields, self.told.now);
        let jets = self.jets.iter().map(|jet| jet.field);
        let screw = self.screw.iter().map(|screw| screw.field);
        let set = jets.chain(["jetting.needle", "jetting.clip"]).chain(screw).chain(["injection.trim"]);
        let others = set.filter_map(|field| {
            let (had, has) = (then.get(field)?, now.get(field)?);
            let name = field.split('.').next_back().unwrap_or_default().replace('_', " ");
            (!had.same_as(has)).then(|| format!("{name} {}", visible(&had.text())))
        });
        let others: Vec<String> = others.collect();
        if others.is_empty() { String::new() } else { format!("; it had {}", others.join(", ")) }
    }

    /// Why the clip moves on the bike.
    pub(super) fn why_the_clip(&self) -> Option<String> {
        let fits = |field: &str| self.fit.iter().any(|fit| fit.field == field);
        if !fits("jetting.clip") || fits("jetting.needle") {
            return None;
        }
        Some(match &self.told.rejet.clip {
            ClipAdvice::Move { from, to, before_percent, after_percent, .. } => {
                let (before, after) = (rich_or_lean(*before_percent), rich_or_lean(*after_percent));
                if *before_percent < 0.0 && after_percent > before_percent
                    || after_percent.abs() < before_percent.abs()
                {
                    format!(
                        "Clip {to}: half throttle would be {before} in groove {from}, and is {after} in {to}."
                    )
                } else {
                    format!(
                        "Clip {to}: half throttle is {after} in it, {before} in {from}; the throttles beside half need it."
                    )
                }
            }
            ClipAdvice::Stays { clip, .. } => {
                format!("Clip {clip} as in setup {}, which this stands on.", self.baseline)
            }
            _ => return None,
        })
    }
}
