//! The advice for a person: what to fit first, then why, then the cautions.

use super::answer::RejetAnswer;
use super::first;
use super::first::before::not_yet_fitted;
use super::hands::Hands;
use super::moves::{JetMove, ScrewMove};
use super::record::text::{ChanceRow, LookedAt};
use super::words::{circuit, clip_words, rich_or_lean, screw_name};
use crate::advice::asking::short_of;
use crate::advice::foundation::Nearness;
use crate::advice::{JetAdvice, Screw, cautions};
use crate::notebook::fields::names::visible;
use crate::notebook::throttle;
use crate::notebook::{Circuit, FieldSet, turns};
use crate::quantity::{Quantity, fixed, trimmed};
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::frame::{Frame, FramePart, FrameTable};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, signed, table};

/// Lines that an answer takes.
pub(super) const MOST_LINES: usize = 18;

impl RejetAnswer<'_> {
    /// For a person: what the hands do, what can hurt, the chances of the sizes beside it, and what it stands on.
    pub fn text(&self, screen: &Screen) -> String {
        if self.is_whole() {
            return self.framed(screen).text();
        }
        text_within(MOST_LINES, screen, |screen, room| self.framed_in(screen, room))
    }

    /// Whether all the cautions stand behind it.
    pub fn has_all_cautions(&self) -> bool {
        self.told.first_of_the_garage
    }

    /// Whether nothing of it gives way: all of it is wanted, or a garage's first advice has all the cautions behind it.
    pub(super) fn is_whole(&self) -> bool {
        self.told.explain || self.told.first_of_the_garage
    }

    /// The answer part by part.
    pub(in crate::report) fn framed<'s>(&self, screen: &'s Screen) -> Frame<'s> {
        self.framed_in(screen, Room::Ample)
    }

    fn framed_in<'s>(&self, screen: &'s Screen, room: Room) -> Frame<'s> {
        let mut frame = Frame::new(screen);
        let hands = self.hands();
        self.stops(&hands).iter().for_each(|stop| frame.stop(stop));
        if hands.stop().is_none() {
            hands.lines(self.bike).iter().for_each(|line| frame.hands(line));
        }
        self.risk_after_a_seizure().iter().for_each(|risk| frame.stop(risk));
        self.told.overdue.iter().for_each(|part| frame.stop(part));
        frame.parts_of(self.before_it_runs(&hands, screen, room));
        frame.know(cautions::in_this_step(self.takes_fuel_away()));
        if room < Room::Tight {
            frame.gap();
        }
        if self.told.explain {
            self.body(screen, &mut frame);
            return frame;
        }
        if let Some(sizes) = self.chances(None, screen, room) {
            frame.table(sizes);
            if room < Room::Tight {
                frame.gap();
            }
        }
        self.record.held_elsewhere().iter().filter(|_| room < Room::Least).for_each(|line| frame.say(line));
        if let Some(stays) = hands.stays().filter(|_| room < Room::Least) {
            frame.say(&stays);
        }
        self.stands_on(screen, room).iter().for_each(|line| frame.say(line));
        self.end_of_all(&self.end(), &mut frame);
        frame
    }

    /// What stands behind everything else; `end` says whether it is recorded.
    pub(super) fn end_of_all(&self, end: &str, frame: &mut Frame<'_>) {
        frame.source(&format!("A starting point, not a setting. {end} -v says the rest."));
        if self.told.first_of_the_garage {
            frame.gap();
            frame.say("The first advice of this garage, so all the cautions:");
            self.cautions.iter().for_each(|caution| frame.know(caution));
            frame.command("reedbook cautions");
        }
    }

    /// What stands before what the hands do: what forbids or explains.
    pub(super) fn stops(&self, hands: &Hands) -> Vec<String> {
        let told = &self.told;
        let mut stops = told.questioned.to_vec();
        let seized = first::after_a_seizure(self.bike, told.held);
        stops.extend(first::detonated(told.held));
        stops.extend(told.seized_elsewhere.as_ref().map(|words| format!("{}: {words}", self.bike)));
        // After a seizure nobody asks how improbable it was, and what to look for is in its own line.
        let surprise = self.record.surprise().filter(|_| seized.is_none() || told.explain);
        stops.extend(surprise.filter(|_| self.record.is_surprised_by_lean()));
        stops.extend(self.above_limit(true).filter(|_| seized.is_none() || told.explain));
        stops.extend(self.short_of_held());
        // It ends with "Only then:", and what the hands do stands under it.
        stops.extend(seized);
        stops.extend(hands.stop().map(str::to_owned));
        stops
    }

    /// Whether nothing speaks against less fuel: no run that was lean, and no more to be fitted.
    fn may_be_leaner(&self) -> bool {
        let told = &self.told;
        let goes_up = |jet: &JetAdvice| {
            let now = told.on_it.quantity(jet.field).map(Quantity::value);
            jet.advised.zip(now).is_some_and(|(to, now)| to > now)
        };
        told.held.is_empty() && !told.is_after_lean && !told.rejet.jets.iter().any(goes_up)
    }

    /// What is to be said of a risk above the limit, where that forbids to run it, or where it does not.
    fn above_limit(&self, stop: bool) -> Option<String> {
        let above = self.told.record.learned.and_then(|learned| learned.above_limit.as_ref());
        above.filter(|above| above.stop == stop).map(|above| above.words.clone())
    }

    /// After a seizure, under what the hands do: that it is still to be expected lean, as a short answer says it.
    fn risk_after_a_seizure(&self) -> Option<String> {
        let told = &self.told;
        let seized = first::after_a_seizure(self.bike, told.held).is_some();
        let learned = told.record.learned.filter(|_| seized && !told.explain)?;
        let risk =
            learned.lean_risk.filter(|_| learned.above_limit.as_ref().is_some_and(|above| above.stop))?;
        Some(format!("That would be lean with {} in 100: do not run it hard on it.", fixed(100.0 * risk, 0)))
    }

    /// What is recorded and not on the bike, and what of it recording the answer takes back.
    fn not_fitted(&self, frame: &mut Frame<'_>, (screen, room): (&Screen, Room)) {
        let taken_back: Vec<String> = self.taken_back.iter().map(|one| visible(&one.what)).collect();
        let mut open: Vec<String> = self.told.not_fitted.iter().map(|(_, what)| visible(what)).collect();
        let all = taken_back.len() == open.len();
        if self.recorded.is_some() {
            open.retain(|what| !taken_back.contains(what));
        }
        let cancels = (self.recorded.is_none() && !taken_back.is_empty())
            .then(|| if all { "it".to_owned() } else { taken_back.join("; ") });
        match (not_yet_fitted(&open), cancels) {
            // Nothing is recorded from there.
            (Some(_), _) if screen.is_a_page() => {
                frame.know(&format!("Not fitted yet: {}. This counts from what is on it.", open.join("; ")));
            }
            (Some(_), Some(what)) if room.is_short() => frame.know(&format!(
                "Not fitted yet: {}. This counts from what is on it; recording cancels {what}: tick it first if it is in.",
                open.join("; ")
            )),
            (Some(line), Some(what)) => frame.know(&format!(
                "{line} Recording this cancels {what}: if that is on the bike, tick it first."
            )),
            (line, _) => line.iter().for_each(|line| frame.know(line)),
        }
        if let Some(number) = self.recorded.filter(|_| !taken_back.is_empty()) {
            frame.know(&format!(
                "Setup {number} takes back what was recorded and not ticked: {}. If that is on the bike after all, record it again before it runs.",
                taken_back.join("; ")
            ));
        }
    }

    /// What stands after what the hands do: what can hurt in it.
    pub(super) fn before_it_runs(&self, hands: &Hands, screen: &Screen, room: Room) -> Vec<FramePart> {
        let told = &self.told;
        let mut frame = Frame::new(screen);
        self.not_fitted(&mut frame, (screen, room));
        hands.lacks().iter().for_each(|stop| frame.stop(stop));
        // What the answer begins with is not said again.
        let seized = first::that_seized(told.held);
        let held = if screen.verbose() || told.explain {
            first::why_nothing_leaner(self.bike, told.held)
        } else {
            first::nothing_leaner(told.held).filter(|_| seized.is_none()).into_iter().collect()
        };
        // A run that was better than its record is no reason to stop.
        let surprise = self.record.surprise().filter(|_| !self.record.is_surprised_by_lean());
        let surprise = surprise.filter(|_| seized.is_none() || told.explain);
        self.above_limit(false).iter().chain(&held).chain(&surprise).for_each(|known| frame.know(known));
        if told.ground.nearness() == Nearness::Another && told.moved_on.is_none() {
            frame.know(&format!(
                "Reckoned from setup {}, which ran another combination: nothing was right on this one yet. Start rich.",
                self.baseline
            ));
        }
        told.moved_on.iter().for_each(|words| frame.know(words));
        if !told.explain {
            // -v has these among the rest.
            let drifted = told
                .record
                .learned
                .and_then(|learned| first::drifted(learned, self.baseline, self.may_be_leaner()))
                .filter(|_| !room.is_short());
            let doubts = self.record.doubts(seized);
            told.remarks.iter().chain(&doubts).chain(&drifted).for_each(|known| frame.know(known));
        }
        frame.parts()
    }

    /// The answer for a page that is read in other airs than this: its parts, without how to read on at a screen, the place of the chances
    /// a blank one; and the chances of the sizes.
    pub(in crate::report) fn on_a_phone(&self, screen: &Screen) -> (Vec<FramePart>, Vec<ChanceRow>) {
        let rows = self.record.chance_rows(self.looked_at(), Room::Ample).unwrap_or_default();
        let chances = self.chances(None, screen, Room::Ample).map(FramePart::Table);
        let parts = self.framed(screen).parts().into_iter();
        let parts = parts.filter(|part| *part != FramePart::Gap && !matches!(part, FramePart::Source(_)));
        (
            parts.map(|part| if Some(&part) == chances.as_ref() { FramePart::Gap } else { part }).collect(),
            rows,
        )
    }

    /// The air that the answer is for, as its words say it.
    pub(in crate::report) fn air_in_short(&self, screen: &Screen) -> String {
        self.air.in_short(screen)
    }

    /// What the sizes are of: main jets or trims.
    pub(in crate::report) fn sized(&self) -> &'static str {
        self.record.sized()
    }

    /// The chances of the sizes beside the answer; at a cylinder where it is one of several.
    pub(super) fn chances(&self, cylinder: Option<&str>, screen: &Screen, room: Room) -> Option<FrameTable> {
        self.record.chances(cylinder, (self.looked_at(), room), screen)
    }

    /// The sizes whose chances are looked at.
    pub(super) fn looked_at(&self) -> LookedAt {
        if let Some(trim) = &self.injection {
            let written = |fields: &FieldSet| {
                let trim_now = fields.quantity("injection.trim").map(|trim| 100.0 * trim.si());
                trim_now.or(Some(trim.from_percent.0))
            };
            let first = trim.steps_percent.first().map_or(trim.to_percent.0, |step| step.0);
            let (recorded, in_it) = (written(self.told.now), written(self.told.on_it));
            return LookedAt { recorded, in_it, fit: Some(first) };
        }
        let main = self.jets.iter().find(|jet| jet.circuit == Circuit::Main);
        LookedAt {
            recorded: main.map(|main| self.recorded_jet(main)),
            in_it: main.map(|main| self.on_the_bike(main)),
            fit: main.and_then(|main| main.steps.first().copied().or(main.advised)),
        }
    }

    /// Whether what is fitted takes fuel away from the bike as it stands.
    pub(super) fn takes_fuel_away(&self) -> bool {
        self.cautions.iter().any(|caution| caution == cautions::LEANER)
    }

    /// The rest of it.
    pub(super) fn body(&self, screen: &Screen, frame: &mut Frame<'_>) {
        let told = &self.told;
        frame.say(&format!(
            "from setup {} in {} ({}){}",
            self.baseline,
            self.baseline_air.in_short(screen),
            visible(&told.baseline_air.1),
            self.had()
        ));
        let from = told.served.words().map(|words| format!(" ({words})")).unwrap_or_default();
        frame.say(&format!("to {}{from}: {}", self.air.in_short(screen), self.factor_words()));
        frame.gap();
        if let Some(sizes) = self.record.size_table(screen) {
            frame.block(sizes);
            frame.gap();
        }
        self.record.risk().iter().for_each(|line| frame.say(line));
        self.record.lines().iter().for_each(|line| frame.say(line));
        let drifted = told
            .record
            .learned
            .and_then(|learned| first::drifted(learned, self.baseline, self.may_be_leaner()));
        if let Some(line) = drifted {
            frame.say(&line);
        }
        frame.gap();
        if !self.jets.is_empty() {
            frame.block(self.jet_table(screen));
        }
        self.other_moves().iter().for_each(|line| frame.say(line));
        self.record.explained(screen).into_iter().for_each(|line| frame.block(line));
        frame.gap();
        let said =
            told.record.learned.and_then(|learned| learned.above_limit.as_ref()).map(|above| &above.words);
        let notes = self.warnings.iter().filter(|line| Some(*line) != said).chain(&told.remarks);
        notes.for_each(|line| frame.know(line));
        frame.block(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        frame.say(&self.end());
    }

    /// Whether it is recorded, and what else would do that.
    pub(super) fn end(&self) -> String {
        let told = &self.told;
        match (self.recorded, told.to_set.is_empty()) {
            (Some(number), _) if self.jets.iter().any(|jet| jet.steps.len() > 1) => format!(
                "Recorded as setup {number}, with the first step only: read plug and piston on it, and ask again."
            ),
            (Some(number), _) => format!("Recorded as setup {number}."),
            (None, _) if told.nothing_to_fit().is_some() => format!(
                "Not recorded, and --record would not: there is no {} jet to fit.",
                told.nothing_to_fit().unwrap_or_default()
            ),
            (None, _) if told.other_metering.is_some() => format!(
                "Not recorded, and --record would not: {} differs on the bike.",
                told.other_metering.unwrap_or_default()
            ),
            (None, true) if !told.not_fitted.is_empty() => {
                "This is recorded already: tick it once it is in: `reedbook job done NUMBER`.".into()
            }
            (None, true) if told.moved_on.is_some() => {
                "The bike has these jets and settings already: nothing to record.".into()
            }
            (None, true) => "The bike has this already: nothing to record.".into(),
            // Nothing is to be fitted, and recording only takes back what is open.
            (None, false) if self.hands().fits_nothing() && !self.taken_back.is_empty() => {
                "Nothing to fit: --record only cancels what is open.".into()
            }
            (None, false) => "Not recorded: add --record.".into(),
        }
    }

    /// How far the bike as it stands would be off at a zone, percent of fuel; the setup's own where that cannot be said.
    fn if_left(&self, jet: &JetMove<'_>) -> f64 {
        let zone = match jet.circuit {
            Circuit::Main => "full",
            Circuit::Pilot => "idle",
            Circuit::Power => return jet.unchanged_percent.0,
        };
        let passes = self.told.left.iter().find(|(name, _)| *name == zone).map_or(1.0, |(_, fuel)| *fuel);
        100.0 * ((1.0 + jet.unchanged_percent.0 / 100.0) * passes - 1.0)
    }

    /// A throttle that was lean and gets less than that run asks for, whatever is fitted of the box.
    fn short_of_held(&self) -> Option<String> {
        let (hold, short) = short_of(self.told.rejet, self.told.held)?;
        Some(format!(
            "The box has nothing richer for {}: it gets {} % less than the run of {} asks for there. Do not run it on that throttle; get a richer needle or a larger pilot jet.",
            throttle(hold.zone),
            fixed(100.0 * short, 1),
            hold.outing.outing.date.short()
        ))
    }

    /// The jet that is in the bike; the setup's own where that is not written down.
    pub(super) fn on_the_bike(&self, jet: &JetMove<'_>) -> f64 {
        self.told.on_it.quantity(jet.field).map_or(jet.current, Quantity::value)
    }

    /// The jet that is recorded; the setup's own where that is not written down.
    fn recorded_jet(&self, jet: &JetMove<'_>) -> f64 {
        self.told.now.quantity(jet.field).map_or(jet.current, Quantity::value)
    }

    /// What is to be done with the screw as it stands on the bike.
    fn screw_words(&self, screw: &ScrewMove<'_>) -> String {
        let Some(now) = self.differing(screw.field, screw.to_turns) else {
            return "stays".to_owned();
        };
        let by = screw.to_turns - now;
        let (way, means) = match (by > 0.0, screw.advice.screw) {
            (true, Screw::Air) => ("out", "leaner"),
            (true, Screw::Fuel) => ("out", "richer"),
            (false, Screw::Air) => ("in", "richer"),
            (false, Screw::Fuel) => ("in", "leaner"),
        };
        format!("{way} {}: {means}", turns(by.abs()))
    }

    fn factor_words(&self) -> String {
        let factor = &self.parts;
        let doubt = self
            .factor_uncertainty
            .map(|doubt| format!(" ± {} %", fixed(200.0 * doubt.0, 1)))
            .unwrap_or_default();
        let mut parts = vec![format!("oxygen {}", fixed(factor.dry_air.0, 3))];
        parts.extend(factor.venturi.map(|part| format!("venturi {}", fixed(part.0, 3))));
        parts.extend(factor.box_correction.map(|part| format!("the box itself {}", fixed(part.0, 3))));
        let named = [
            ("stoichiometric", factor.fuel_air.0),
            ("lambda", factor.lambda.0),
            ("fuel density", factor.fuel_density.0),
            ("oil", factor.oil.0),
        ];
        parts.extend(
            named
                .iter()
                .filter(|(_, part)| (part - 1.0).abs() > 5e-5)
                .map(|(name, part)| format!("{name} {}", fixed(*part, 3))),
        );
        format!("fuel × {}{doubt} ({})", fixed(self.factor.0, 3), parts.join(" × "))
    }

    fn jet_table(&self, screen: &Screen) -> String {
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| trimmed(value, 2));
        let rows = self
            .jets
            .iter()
            .map(|jet| {
                vec![
                    circuit(jet.circuit).to_owned(),
                    trimmed(self.on_the_bike(jet), 2),
                    number(jet.advised),
                    number(jet.richer),
                    number(jet.leaner),
                    jet.exact.map_or_else(|| "none".to_owned(), |exact| fixed(exact.0, 1)),
                    rich_or_lean(self.if_left(jet)),
                    jet.advised_percent.map(|percent| rich_or_lean(percent.0)).unwrap_or_default(),
                ]
            })
            .collect();
        // With a record the other columns are the record's, and this one stays theory's.
        let exact = if self.told.record.learned.is_some() { "theory" } else { "exact" };
        table(
            &["jet", "now", "fit", "richer", "leaner", exact, "if left", "if fitted"],
            rows,
            &[1, 2, 3, 4, 5],
            screen.width(),
        )
    }

    fn other_moves(&self) -> Vec<String> {
        let in_series = self.jets.iter().filter_map(|jet| jet.area_exponent);
        let mut lines: Vec<String> = in_series
            .map(|exponent| {
                format!(
                    "The main jet's area moves {} times as far as the fuel: the needle's annulus is in series with it.",
                    fixed(exponent, 2)
                )
            })
            .collect();
        if !self.jets.is_empty() {
            let now = self.told.on_it.quantity("jetting.clip").map(Quantity::value);
            lines.push(clip_words(&self.told.rejet.clip, now));
        }
        if let Some(screw) = &self.screw {
            lines.push(format!(
                "{} {}; with it closed throttle is {}.",
                capital(screw_name(screw.advice.screw)),
                self.screw_words(screw),
                rich_or_lean(screw.advice.left_percent)
            ));
        }
        if let Some(trim) = &self.injection {
            let now = self.told.now.quantity("injection.trim");
            let now = now.map_or(trim.from_percent.0, |trim| 100.0 * trim.si());
            let wanted = (100.0 + trim.from_percent.0) * (1.0 + trim.trim_percent / 100.0);
            let change = 100.0 * (wanted / (100.0 + now) - 1.0);
            lines.push(format!("Every cell {} %: {}", signed(change, 1), trim.words));
            lines.push(format!(
                "One size, {} %, richer is a trim of {} %; one size leaner {} %.",
                trimmed(trim.size_percent.0, 1),
                signed(trim.richer_percent.0, 1),
                signed(trim.leaner_percent.0, 1)
            ));
        }
        lines
    }
}
