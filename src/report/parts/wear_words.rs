//! What the wear of a dimension comes to, in words: the conclusion, what it rests on and what to look out for.

use crate::advice::parts::wear::{HoursGap, LimitSide, Pace, Whose, habit};
use crate::engine::life::wear::{Direction, FittedLine};
use crate::notebook::fields::names::visible;
use crate::quantity::{Units, fixed, trimmed};
use crate::report::parts::life::hours;
use crate::report::parts::wear::{PartWearAnswer, ReachedHow};
use crate::report::parts::word::Worded;
use crate::report::words::layout::count;

/// Said with every limit that lies ahead.
const CAUTION: &str = "Worn parts seize or break under the rider. The limit of the machine's manual holds where it is stricter; measure at every build, and see to the engine at once when it sounds, feels or looks wrong.";

/// What a line is worth.
const STRAIGHT: &str = "Wear is taken to be even. Running in is faster, and so is a hard layer that is worn through: nothing then comes as late as this says.";

impl PartWearAnswer {
    /// The answer in a sentence or two.
    pub(super) fn concluded(&self) -> String {
        let deed = habit(self.kind.name).deed;
        if self.past {
            return format!("The newest reading is beyond the limit: {deed} before it runs.");
        }
        match self.wear.pace {
            Pace::OneReading => {
                return format!(
                    "One reading that hours are known of shows no wear: measure the {} again at a later build.",
                    self.kind.words
                );
            }
            Pace::DidNotRun => {
                return "The book has no hours between the readings: log outings with --hours, or write the part's own hours down.".to_owned();
            }
            _ => {}
        }
        let Some(reached) = &self.reached else {
            return self.without_limit();
        };
        let mut said = match reached.how {
            ReachedHow::TwoReadings => format!("Two readings show no scatter, so how wrong this is cannot be said: a third is needed. Until then see it as the latest hours to measure again, not as the hours to {deed}."),
            ReachedHow::NotBefore => "The hours that are not known make the wear slower than it looks: as far as the two readings are right, the limit is not reached before that.".to_owned(),
            ReachedHow::Between => self.soonest(deed),
            ReachedHow::Open => format!("The readings do not yet tell the wear from none: not before the soonest, and perhaps never. {}", self.soonest(deed)),
            ReachedHow::AnyTime => format!("The readings do not tell the wear from none, and the limit lies within their scatter: it may be reached at any time. Measure again before it runs, and {deed} if it is."),
            ReachedHow::Never => "The readings lead away from the limit, or nowhere. Wear does not go backwards: look for the gauge, the warmth of the parts or a part that was changed.".to_owned(),
        };
        if let Some(words) = self.top_ends_words(deed) {
            said = format!("{said} {words}");
        }
        said.trim().to_owned()
    }

    /// What the soonest hours ask for.
    fn soonest(&self, deed: &str) -> String {
        let Some(time) = self.reached.as_ref().map(|reached| reached.soonest) else { return String::new() };
        let Some(soonest) = time.on_the_axis_h else { return String::new() };
        let change_after_h = self.change_after_h.filter(|_| !self.hours_since_first_reading);
        match (time.from_now_h.map(|from_now| from_now.0), change_after_h) {
            (Some(from_now), _) if from_now <= 0.0 => {
                format!("The limit may be reached already: measure before it runs, and {deed} if it is.")
            }
            (_, Some(change)) if change <= soonest.0 => {
                format!("The part is changed at {} by configs/limits.toml: that comes first.", hours(change))
            }
            (Some(from_now), Some(_)) => format!(
                "That can come before the hours at which configs/limits.toml changes it: {deed} in {} at the latest.",
                hours(from_now)
            ),
            (None, _) => format!("The soonest is what to go by: {deed} by then."),
            (Some(from_now), None) if self.top_ends.is_none() => {
                format!("To be safe, {deed} in {} at the latest.", hours(from_now))
            }
            _ => String::new(),
        }
    }

    fn top_ends_words(&self, deed: &str) -> Option<String> {
        let ends = self.top_ends?;
        let every = format!(
            "With a top end every {} (piston, configs/limits.toml)",
            trimmed(ends.every_h.0, 1) + " h"
        );
        let Some(last) = ends.last_in_h.map(|last| last.0) else {
            return Some(format!("{every} it does not last until the next one: {deed} before."));
        };
        let at = if last > 0.0 { format!("in {}", hours(last)) } else { "that is due now".to_owned() };
        Some(match ends.before_the_limit {
            1 => format!("{every}: {deed} with the next one, {at}."),
            2 => format!("{every}: one more top end, then {deed} with the one after, {at}."),
            more @ 3..=6 => {
                format!("{every}: {} more top ends, then {deed} with the one after, {at}.", more - 1)
            }
            more => format!("{every} it lasts for {} more: measure again at each.", more - 1),
        })
    }

    fn without_limit(&self) -> String {
        let edge = self.wear.side.word();
        format!(
            "No limit is set on that side. Put the manual's into configs/limits.toml as `{edge}` under [engines.{}.{}], or try one with --limit.",
            self.engine, self.kind.name
        )
    }

    /// What it rests on.
    pub(super) fn noted(&self, units: Units) -> Vec<String> {
        let (wear, axis) = (&self.wear, &self.wear.axis);
        let mut notes = Vec::new();
        if axis.whose == Whose::Engine {
            let why = match self.kind.part {
                Some(kind) => {
                    format!("The book has no single {kind} in {} at the newest reading", self.engine)
                }
                None => "This belongs to no one part".to_owned(),
            };
            notes.push(format!("{why}: hours are those that the outings of this book hold of the engine."));
        }
        if axis.whose != Whose::Engine && axis.open_at_the_beginning {
            notes.push("The part's whole hours are not known, so hours count from the first used reading. The rate does not suffer from that.".to_owned());
        }
        let beside: Vec<_> =
            axis.unseen.iter().filter(|kind| Some(**kind) != self.kind.part).copied().collect();
        if !beside.is_empty() {
            notes.push(format!(
                "The book has no {} in {}: if one was changed between the readings, this is no line.",
                beside.join(" and no "),
                self.engine
            ));
        }
        if axis.of_other_parts > 0 {
            notes.push(format!(
                "{} of other parts, or of these before they were rebuilt: another line.",
                are(axis.of_other_parts)
            ));
        }
        if wear.left_out > 0 {
            notes.push(format!(
                "{} left out: outings without hours, or an own count of hours, lie between.",
                are(wear.left_out)
            ));
        }
        if let Pace::Two { told_apart: Some(false), .. } = wear.pace {
            notes.push("The two readings differ by less than their doubt: there may be no wear at all, or twice as much.".to_owned());
        }
        if let Pace::Line { direction, line, .. } = &wear.pace {
            notes.extend(self.line_notes(*direction, line, units));
        }
        if axis.gap_to_now == HoursGap::More {
            notes.push(
                "Outings since the newest reading have no hours: it is sooner from now than is said."
                    .to_owned(),
            );
        }
        if !axis.changed_since.is_empty() {
            notes.push(format!("{} has another {} now, or one rebuilt since: this line is that of the one before, so it says nothing of what comes.", self.engine, axis.changed_since.join(" and ")));
        }
        notes.extend(
            self.unreadable
                .iter()
                .map(|finding| format!("left out, as it cannot be read: {}", visible(finding))),
        );
        notes
    }

    fn line_notes(&self, direction: Direction, line: &FittedLine, units: Units) -> Vec<String> {
        let level = trimmed(self.level_percent.0, 1);
        let metric = self.metric();
        let (scatter, rate) = (line.scatter_m() / metric, line.rate_m_h() / metric);
        let (symbol, size, decimals) = self.shown(units);
        let mut notes = vec![format!(
            "In brackets: {level} % intervals; of the hours where one further reading would be at the limit. Readings lie {} {symbol} beside the line (one standard deviation).",
            fixed(scatter / size, decimals + 1)
        )];
        let doubt = self.doubt();
        if doubt > 0.0 && scatter > 2.0 * doubt {
            notes.push("They scatter more than the gauges do: it was measured at other places or warmths, or the wear is not even.".to_owned());
        }
        let contrary = matches!(
            (direction, habit(self.kind.name).side),
            (Direction::Growing, Some(LimitSide::Least)) | (Direction::Shrinking, Some(LimitSide::Greatest))
        );
        if direction == Direction::NotSeen {
            notes.push("The change is not told apart from none.".to_owned());
        }
        if doubt > scatter && rate.abs() > 0.0 && self.limit.is_some() {
            notes.push(format!(
                "A gauge that is off alike at every build shows in no bracket: its ± {} {symbol} here is worth {} either way.",
                fixed(2.0 * doubt / size, decimals),
                hours(2.0 * doubt / rate.abs())
            ));
        }
        if contrary {
            notes.push("It goes the other way than wear does: look for the gauge, the warmth of the parts or a part that was changed.".to_owned());
        }
        notes
    }

    /// What can hurt somebody.
    pub(super) fn cautioned(&self) -> Vec<&'static str> {
        if matches!(self.wear.pace, Pace::OneReading | Pace::DidNotRun) {
            return Vec::new();
        }
        vec![STRAIGHT, CAUTION]
    }
}

/// "1 reading is", "3 readings are".
fn are(readings: usize) -> String {
    format!("{} {}", count(readings, "reading"), if readings == 1 { "is" } else { "are" })
}
