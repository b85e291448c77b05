//! What the record of a kind of part comes to, in words: the conclusion, what it rests on and what to look out for.

use crate::advice::parts::life::{FAILURES_THAT_TELL, Lack, WhyGiven};
use crate::notebook::fields::names::visible;
use crate::report::parts::life::{GivenShape, LimitStanding, PartLifeAnswer, SaidIn, hours, percent};

/// Said with every estimate.
const CAUTION: &str = "A part can let go at any hours and without a sign, lock the wheel and throw the rider. Never run one longer on the word of this than your limit, the machine's manual or its maker says, and take out at once what looks, sounds or feels wrong.";

/// What the record cannot know of itself.
const ABOUT_TO_FAIL: &str =
    "A part that was changed because it was about to fail is a failure: write it down as one.";

impl PartLifeAnswer {
    /// What the record says of the hours at which the kind is changed.
    pub(super) fn concluded(&self) -> Option<String> {
        match self.lack {
            Some(Lack::OneFailure) => return Some(self.one_failure()),
            Some(_) => return None,
            None => {}
        }
        let (Some(risk), Some(reached)) = (&self.risk, self.hours_at_risk_h) else {
            return Some(format!(
                "Which chance of failure is accepted is said nowhere, so the hours at which it is reached cannot be named: say --risk 5%, or risk in [parts.{}] of configs/limits.toml.",
                self.kind
            ));
        };
        let risk = percent(risk.percent.0);
        let (Some(change), Some(standing)) = (&self.change_after, self.standing) else {
            return Some(format!(
                "The record alone would allow {} for {risk}. configs/limits.toml sets no hours at which this kind is changed: go by what is measured and seen, and by the manual.",
                reached.allowed()
            ));
        };
        let change = format!("Changed at {change}");
        let allowed = reached.allowed();
        let shorter = format!("{} would be to be safe", hours(reached.low.0));
        let none = self.failures == 0;
        let few = self.failures < FAILURES_THAT_TELL;
        Some(match (standing, few) {
            (LimitStanding::SafeSide, true) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: the limit is on the safe side, and there are too few failures to stretch it."
            ),
            (LimitStanding::SafeSide, false) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: the limit is on the safe side. That is no leave to stretch it: hours are the only warning here, and the record is small."
            ),
            (LimitStanding::NotShownSafe, _) if none => format!(
                "{change}; without a failure yet the record vouches for {} at {risk} and no more: there are too few hours on it to show the limit to be safe, and none to stretch it.",
                hours(reached.low.0)
            ),
            (LimitStanding::NotShownSafe, true) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: too few failures to stretch it, and they do not show it to be safe either; {shorter}."
            ),
            (LimitStanding::NotShownSafe, false) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: it does not show the limit to be safe; {shorter}. No ground to stretch it."
            ),
            (LimitStanding::RatherTooLong, _) => format!(
                "{change}; the record puts {risk} at {}: the limit is more likely too long than not. Shorten it; {shorter}.",
                reached.words()
            ),
            (LimitStanding::TooLong, _) => format!(
                "{change}; the record puts {risk} at {}: the limit is too long. Shorten it; {shorter}.",
                reached.words()
            ),
        })
    }

    /// One part that failed says that they do, and not after how many hours.
    fn one_failure(&self) -> String {
        let failed = self.lives.iter().find(|life| life.failed_at_known_hours());
        let failed_h = failed.map_or(0.0, |life| life.hours_h.0);
        let at = hours(failed_h);
        match (&self.change_after, self.change_after_h) {
            (Some(change), Some(change_h)) => {
                let early = if failed_h < change_h.0 {
                    format!(", and that one failed before it: find out why before another one runs {at}")
                } else {
                    String::new()
                };
                format!("Too few: one failure, at {at}, sets no new limit. It stays at {change}{early}.")
            }
            _ => format!(
                "Too few: one failure, at {at}, sets no limit. Go by what is measured and seen, and by the manual."
            ),
        }
    }

    /// Why the record tells nothing yet, and what would help.
    pub(super) fn lacking(&self, lack: Lack) -> String {
        let way = format!("say --shape 3, or shape in [parts.{}] of configs/limits.toml", self.kind);
        match lack {
            Lack::OneFailure => self.one_failure(),
            Lack::NoLives => "No part of this kind has hours in the book yet: log outings with --hours, or say past_hours of the parts.".to_owned(),
            Lack::Shape => format!("Not known: {} at known hours {} too few to show how failures bunch, {FAILURES_THAT_TELL} are needed. With a shape the record says something now: {way}.", self.failures_words(), if self.failures == 1 { "is" } else { "are" }),
            Lack::SteepShape => format!("Not known: no part outlived the failures by enough, so any steep shape fits. With a shape it can be said: {way}."),
        }
    }

    /// "1 failure", "3 failures".
    fn failures_words(&self) -> String {
        if self.failures == 1 { "1 failure".to_owned() } else { format!("{} failures", self.failures) }
    }

    /// What it rests on.
    pub(super) fn noted(&self) -> Vec<String> {
        let mut notes = self.notes_on_the_record();
        let Some(shape) = &self.shape else {
            notes.extend((self.lack == Some(Lack::OneFailure)).then(|| ABOUT_TO_FAIL.to_owned()));
            return notes;
        };
        notes.extend(shape.given.as_ref().map(|given| self.shape_note(given)));
        let level = percent(self.level_percent.0);
        notes.push(if self.failures == 0 {
            format!("Without a failure there is only a lower bound, at {level} confidence.")
        } else {
            format!("In brackets: {level} intervals by likelihood. From few failures they hold a little less often than that, and their low end flatters the part.")
        });
        let longest = self.longest_h();
        if self.hours_at_risk_h.is_some_and(|hours| hours.likeliest_h() > longest) {
            notes.push(format!(
                "No part has run longer than {}: beyond that nothing is on record.",
                hours(longest)
            ));
        }
        notes.push(ABOUT_TO_FAIL.to_owned());
        notes
    }

    /// What was counted, and what not.
    fn notes_on_the_record(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.engines.len() > 1 {
            let told: Vec<_> =
                self.engines.iter().map(|known| format!("{} {}", known.engine, known.lives)).collect();
            notes.push(format!(
                "Pooled over engines that may treat their parts differently ({}); --engine keeps to one.",
                told.join(", ")
            ));
        }
        if self.hours_at_least > 0 {
            notes.push(format!(
                "{} counted with at least the hours shown, as more are not known.",
                count_of(self.hours_at_least)
            ));
        }
        if self.failed_at_unknown_hours > 0 {
            notes.push(format!("Of these {} failed; it only counts that {} lived so long, which flatters the part. Say the hours with the failure where you know them.", self.failed_at_unknown_hours, if self.failed_at_unknown_hours == 1 { "it" } else { "they" }));
        }
        if self.begun_before > 0 {
            notes.push(format!("{} begun before this book. Parts that failed before it are not in it, which flatters the part.", count_of(self.begun_before)));
        }
        if self.never_ran > 0 {
            notes.push(format!("{} left out, with no hours in the book.", count_of(self.never_ran)));
        }
        notes.extend(
            self.unreadable
                .iter()
                .map(|finding| format!("left out, as it cannot be read: {}", visible(finding))),
        );
        notes
    }

    fn shape_note(&self, given: &GivenShape) -> String {
        let whose = match (given.from, &given.source) {
            (SaidIn::Request, _) => "that of --shape".to_owned(),
            (SaidIn::Limits, Some(source)) => format!("that of configs/limits.toml ({})", visible(source)),
            (SaidIn::Limits, None) => "that of configs/limits.toml, which names no source".to_owned(),
        };
        let because = match given.why {
            WhyGiven::Asked => String::new(),
            WhyGiven::FewFailures => {
                format!(": {} at known hours cannot tell it, {FAILURES_THAT_TELL} can", self.failures_words())
            }
            WhyGiven::TooSteep => ": no part outlived the failures by enough to tell it".to_owned(),
        };
        format!("The shape is {whose}{because}. How wrong it may be is in no interval.")
    }

    /// What can hurt somebody.
    pub(super) fn cautioned(&self) -> Vec<String> {
        let lost = &self.failed_without_hours;
        let missing = (!lost.is_empty()).then(|| {
            format!("Failed and left out, as no hours of them are in the book: {}. Every failure that is missing makes the kind look better than it is. Write the hours in at the failure (hours = \"4 h\" in the part's file).", lost.join(", "))
        });
        let told = matches!(self.lack, None | Some(Lack::OneFailure));
        missing.into_iter().chain(told.then(|| CAUTION.to_owned())).collect()
    }
}

/// "1 life is", "3 lives are".
fn count_of(lives: usize) -> String {
    if lives == 1 { "1 life is".to_owned() } else { format!("{lives} lives are") }
}
