//! Outings for a person: one line, one page, what comes next.

use crate::air::{Air, power_correction};
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Mixture, OutingKind};
use crate::quantity::fixed;
use crate::report::history::noted_air::NotedAir;
use crate::report::history::outing::{
    DynoCurve, DynoPoint, OutingEntry, OutingList, OutingPage, OutingRemoved, OutingWritten, SeenAt,
    ZoneVerdicts,
};
use crate::report::history::runs::{RunRow, Runs};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{first_line, grouped, table};
use crate::store::OutingRecord;

impl ZoneVerdicts {
    /// In words: "full right, half slightly rich"; several zones alike are joined.
    fn words(&self) -> String {
        let mut parts: Vec<(Mixture, Vec<&str>)> = Vec::new();
        for (zone, mixture) in self.judged().rev() {
            match parts.iter_mut().find(|(known, _)| *known == mixture) {
                Some((_, names)) => names.push(zone),
                None => parts.push((mixture, vec![zone])),
            }
        }
        let parts: Vec<_> =
            parts.iter().map(|(mixture, names)| format!("{} {}", listed(names), mixture.words())).collect();
        parts.join(", ")
    }
}

/// "full", "full and 1/2", "full, 3/4 and 1/2".
fn listed(names: &[&str]) -> String {
    match names {
        [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        few => few.join(""),
    }
}

fn kind(kind: OutingKind) -> &'static str {
    match kind {
        OutingKind::Track => "track",
        OutingKind::Test => "test",
        OutingKind::Dyno => "dyno",
    }
}

/// What a lean verdict calls for.
pub(in crate::report) const LEAN: &str =
    "Lean: jet up before the next full throttle, and read the plug and the piston.";
/// The same of a slightly lean one at full throttle.
pub(in crate::report) const SLIGHTLY_LEAN: &str =
    "Slightly lean at full throttle: jet up before the next. Read plug and piston.";
/// The same of a lean one below full throttle.
pub(in crate::report) const LEAN_BELOW_FULL: &str = "Lean below full throttle: richer there (clip, pilot, screw or map) before the next run; read plug and piston.";

/// The same of one that was only slightly lean below full throttle.
pub(in crate::report) const SLIGHTLY_LEAN_BELOW_FULL: &str =
    "Slightly lean below full throttle: richer there before the next run, and read the plug.";

/// The same of a word in the notes.
pub(in crate::report) fn said_to_be_lean(says: &str, sign: &str) -> String {
    format!(
        "{says} \"{sign}\": taken as lean. Do not run it on: read plug and piston, find out why, and look at the engine before it is started again."
    )
}

impl OutingEntry<'_> {
    /// Number of the setup it ran, where that is known.
    pub(in crate::report) fn setup(&self) -> Option<u32> {
        self.setup
    }

    /// Day and time of day.
    pub(in crate::report) fn day(&self) -> String {
        self.record.outing.date.short()
    }

    /// What made it run lean and what was done about it, once both are said and close it.
    pub(in crate::report) fn closed(&self) -> Option<(&str, &str)> {
        self.cause.zip(self.mended).filter(|_| self.record.outing.is_closed())
    }

    /// On one line.
    pub(in crate::report) fn line(&self, screen: &Screen) -> String {
        self.day_and(self.parts(screen, (true, true)))
    }

    /// The same without what was read off plug, piston and exhaust.
    pub(in crate::report) fn line_in_short(&self, screen: &Screen) -> String {
        self.day_and(self.parts(screen, (false, true)))
    }

    /// The same without anybody's words.
    pub(in crate::report) fn line_in_few_words(&self, screen: &Screen) -> String {
        self.day_and(self.parts(screen, (false, false)))
    }

    /// Its day and how it ran.
    pub(in crate::report) fn day_and_verdict(&self) -> String {
        self.day_and(Some(self.verdict_words()).filter(|words| !words.is_empty()).into_iter().collect())
    }

    /// The same as in few words without its day, which stands beside it.
    pub(in crate::report) fn line_without_its_day(&self, screen: &Screen) -> String {
        self.parts(screen, (false, false)).join(" | ")
    }

    /// The line with who logged it, where several do.
    pub(in crate::report) fn line_by(&self, screen: &Screen) -> String {
        let by = self.author.as_deref().map(|author| format!("logged by {}", first_line(author)));
        self.day_and(self.parts(screen, (true, true)).into_iter().chain(by).collect())
    }

    fn day_and(&self, parts: Vec<String>) -> String {
        [vec![self.day()], parts].concat().join(" | ")
    }

    /// What was said of it, in the order of a line; `readings` off plug, piston and exhaust, and `words` where they are wanted.
    fn parts(&self, screen: &Screen, (readings, words): (bool, bool)) -> Vec<String> {
        let mut parts = Vec::new();
        if self.kind != OutingKind::Track {
            parts.push(kind(self.kind).to_owned());
        }
        let place: Vec<_> = [self.place, self.session].into_iter().flatten().map(first_line).collect();
        if !place.is_empty() {
            parts.push(place.join(", "));
        }
        parts.extend(Some(self.verdict_words()).filter(|words| !words.is_empty()));
        parts.extend(self.air.as_ref().map(|air| air.in_short(screen)));
        parts.extend(self.lap.map(first_line));
        if readings {
            parts.extend(self.readings());
        }
        let said = self.notes.or(self.feel).filter(|_| words);
        parts.extend(said.map(|notes| format!("\"{}\"", first_line(notes))));
        parts
    }

    /// What was read off plug, piston and exhaust.
    fn readings(&self) -> Vec<String> {
        let of_all = self.plug.map(|plug| format!("plug {}", first_line(plug)));
        let own = self.cylinders.iter();
        let own =
            own.filter_map(|(name, own)| Some(format!("{} plug {}", visible(name), first_line(own.plug?))));
        let piston = self.at_each(self.piston, |own| own.piston);
        let piston = piston.map(|said| format!("piston {}", first_line(&said)));
        let hottest = self.hottest().map(|hottest| format!("exhaust gas {hottest}"));
        of_all.into_iter().chain(own).chain(piston).chain(hottest).collect()
    }

    /// The verdict of all, then that of each cylinder that has one of its own.
    fn verdict_words(&self) -> String {
        let own = self.cylinders.iter().map(|(name, own)| (*name, own.verdict.words()));
        let own = own
            .filter(|(_, words)| !words.is_empty())
            .map(|(name, words)| format!("{}: {words}", visible(name)));
        let all = Some(self.verdict.words()).filter(|words| !words.is_empty());
        all.into_iter().chain(own).collect::<Vec<_>>().join("; ")
    }

    /// A reading of all, then that of each cylinder that has one of its own.
    fn at_each(
        &self,
        all: Option<&str>,
        of: impl for<'s> Fn(&'s SeenAt<'_>) -> Option<&'s str>,
    ) -> Option<String> {
        let own = self.cylinders.iter();
        let own = own.filter_map(|(name, own)| Some(format!("{}: {}", visible(name), visible(of(own)?))));
        let said: Vec<String> = all.map(visible).into_iter().chain(own).collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    fn hottest(&self) -> Option<String> {
        let typed = &self.record.outing;
        let own = typed.cylinder.iter();
        let own =
            own.filter_map(|(name, own)| Some(format!("{}: {}", visible(name), own.exhaust_gas.as_ref()?)));
        let all = typed.exhaust_gas.as_ref().map(ToString::to_string);
        let said: Vec<String> = all.into_iter().chain(own).collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    /// The outing as it was for each cylinder that has something of its own.
    pub(in crate::report::history) fn own_records(&self) -> Vec<(String, OutingRecord)> {
        let each = self.record.outing.at_each_cylinder();
        let own = each.into_iter().filter_map(|(name, outing)| {
            Some((visible(name?), OutingRecord { outing, ..self.record.clone() }))
        });
        own.collect()
    }

    /// Everything that is known of it.
    fn page(&self, screen: &Screen) -> String {
        let mut lines = vec![
            screen.strong(&format!("Outing {} of {}", self.id, self.record.bike)),
            table(&[], self.rows(screen), &[], screen.width()),
        ];
        if let Some(notes) = self.notes {
            lines.push(String::new());
            lines.push(screen.wrap(&visible_lines(notes), 0));
        }
        lines.join("\n")
    }

    fn rows(&self, screen: &Screen) -> Vec<Vec<String>> {
        let typed = &self.record.outing;
        let said = |text: Option<&str>| text.map(visible);
        let doubted: Vec<_> = self.doubted.iter().map(|what| what.word()).collect();
        let air = |air: &NotedAir| format!("{} ({})", air.in_short(screen), visible(air.line()));
        let rows = [
            ("when", Some(self.day())),
            ("kind", Some(kind(self.kind).to_owned())),
            ("place", said(self.place)),
            ("session", said(self.session)),
            ("logged by", said(self.author.as_deref())),
            ("setup", self.setup.map(|number| number.to_string())),
            ("hours", typed.hours.as_ref().map(ToString::to_string)),
            ("meter", typed.meter.as_ref().map(ToString::to_string)),
            ("coolant", typed.coolant.as_ref().map(ToString::to_string)),
            ("exhaust gas", self.hottest()),
            ("peak", typed.peak.as_ref().map(ToString::to_string)),
            ("fuel batch", said(typed.fuel_batch.as_deref())),
            ("verdict", Some(self.verdict_words()).filter(|words| !words.is_empty())),
            ("plug", self.at_each(self.plug, |own| own.plug)),
            ("piston", self.at_each(self.piston, |own| own.piston)),
            ("best", said(self.lap)),
            ("feel", said(self.feel)),
            ("air", self.air.as_ref().map(air)),
            ("cause", said(self.cause)),
            ("fixed", said(self.mended)),
            ("doubted", Some(doubted.join(", ")).filter(|words| !words.is_empty())),
            ("file", Some(self.record.file.display().to_string())),
        ];
        rows.into_iter().filter_map(|(name, value)| Some(vec![name.to_owned(), value?])).collect()
    }
}

impl OutingWritten<'_> {
    /// The same for a page: what its verdict calls for first.
    pub(in crate::report) fn mended_on_a_page(&self, screen: &Screen) -> Vec<FramePart> {
        let mut frame = Frame::new(screen);
        self.outing.before_the_next_run().iter().for_each(|line| frame.stop(line));
        frame.say(&self.outing.line(screen));
        self.outing
            .contradicted()
            .into_iter()
            .chain(self.outing.without_air())
            .for_each(|line| frame.know(&line));
        self.remarks.iter().for_each(|remark| frame.know(&visible(remark)));
        frame.parts()
    }

    /// The outing as it is now that it was mended, and what its verdict calls for.
    pub fn mended(&self, screen: &Screen) -> String {
        // What must be done before the next run stands first, here too.
        let mut frame = Frame::new(screen);
        self.outing.before_the_next_run().iter().for_each(|line| frame.stop(line));
        let mut lines: Vec<String> = [frame.text()].into_iter().filter(|text| !text.is_empty()).collect();
        lines.extend(self.another_day.iter().map(|line| screen.known(line)));
        lines.extend(self.changed(screen));
        lines.push(self.outing.page(screen));
        lines.extend(self.remarks.iter().map(|remark| screen.known(visible(remark))));
        lines.extend(self.outing.what_follows(!self.taken_back).map(|line| screen.wrap(&line, 2)));
        lines.join("\n")
    }
}

impl OutingWritten<'_> {
    /// What was mended of it: "verdict: full right → full slightly rich".
    fn changed(&self, screen: &Screen) -> Vec<String> {
        let Some(before) = &self.before else { return Vec::new() };
        let (was, is) = (before.rows(screen), self.outing.rows(screen));
        let value = |rows: &[Vec<String>], name: &str| {
            let row = rows.iter().find(|row| row.first().is_some_and(|first| first == name));
            row.and_then(|row| row.get(1)).filter(|text| !text.is_empty()).cloned()
        };
        let mut names: Vec<&String> = is.iter().chain(&was).filter_map(|row| row.first()).collect();
        let mut seen = std::collections::BTreeSet::new();
        names.retain(|name| seen.insert(*name));
        let changed = names.into_iter().filter_map(|name| {
            let (was, is) = (value(&was, name), value(&is, name));
            let dash = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
            (was != is).then(|| screen.wrap(&format!("{name}: {} → {}", dash(was), dash(is)), 2))
        });
        // A note that is written over is somebody's words: they are said once more.
        let (was, is) = (before.notes, self.outing.notes);
        let note = was.filter(|was| is != Some(*was)).map(|was| {
            let is = is.map_or_else(|| "-".to_owned(), |is| format!("\"{}\"", first_line(is)));
            let was = visible_lines(was).lines().collect::<Vec<_>>().join(" ");
            screen.wrap(&format!("note: \"{was}\" → {is}"), 2)
        });
        changed.chain(note).collect()
    }
}

impl OutingList<'_> {
    /// A table of outings in their order.
    pub fn text(&self, screen: &Screen) -> String {
        let rows = self.outings.iter().map(|one| RunRow { outing: &one.outing, ran: &one.ran, off: None });
        let runs = Runs { rows: rows.collect(), bikes: false, by: self.by, noted: false };
        let mut lines = Vec::new();
        if let Some(others) = &self.others {
            let others =
                if others.is_empty() { String::new() } else { format!("; {} ran too", others.join(", ")) };
            lines
                .push(screen.strong(&screen.wrap(&format!("{}, the bike of the day{others}", self.bike), 2)));
        }
        if !self.outings.is_empty() {
            lines.push(runs.text(screen));
        }
        if lines.is_empty() {
            let bike = self.bike;
            let text = format!(
                "{bike} has no outings yet. Log one:\n  reedbook outing add {bike} full=right --place \"…\""
            );
            lines.push(screen.wrap(&text, 2));
        }
        let findings = self.unreadable.iter().flat_map(|findings| findings.lines()).map(visible_lines);
        lines.extend(findings.map(|finding| screen.known(finding)));
        lines.join("\n")
    }
}

impl OutingRemoved<'_> {
    /// For a page.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen) -> Vec<FramePart> {
        let mut frame = Frame::new(screen);
        frame.hands(&format!("Outing {} of {} is taken back", self.id, self.bike));
        self.removed.iter().for_each(|outing| frame.say(&outing.line(screen)));
        self.remarks.iter().for_each(|line| frame.know(line));
        frame.say("Hours of the engine and its parts no longer count it. The garage's history keeps it.");
        frame.parts()
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![screen.strong(&format!("Outing {} of {} removed", self.id, self.bike))];
        if let Some(outing) = &self.removed {
            lines.push(screen.wrap(&format!("  {}", outing.line(screen)), 4));
        }
        lines.extend(self.files.iter().map(|file| format!("  {file}")));
        lines.extend(self.remarks.iter().map(|line| screen.strong(&screen.wrap(line, 2))));
        lines.push(screen.wrap(
            "Hours of the engine and its parts no longer count it. `git revert HEAD` in the garage brings it back.",
            2,
        ));
        lines.join("\n")
    }
}

impl OutingPage<'_> {
    /// Everything that is known of one outing.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![self.outing.page(screen)];
        if let Some(dyno) = &self.dyno {
            let entry = self.outing.record.outing.air.as_ref();
            lines.push(String::new());
            lines.push(dyno.words(entry.and_then(|entry| entry.air().ok()).as_ref()));
        }
        lines.extend(self.tied_words(screen));
        lines.join("\n")
    }

    /// Said behind the last outing where others bear the same minute: which one is shown.
    fn tied_words(&self, screen: &Screen) -> Option<String> {
        let ids: Vec<String> = self.tied.iter().map(|other| visible(&other.id)).collect();
        let words = format!(
            "This is {}. Of the same minute: {}. `reedbook outing show {} ID` shows one by its id.",
            visible(self.outing.id),
            ids.join(", "),
            self.outing.record.bike
        );
        (!ids.is_empty()).then(|| screen.known(words))
    }
}

impl DynoCurve<'_> {
    /// The dyno curve as measured, with the corrected peak only shown beside it.
    fn words(&self, air: Option<&Air>) -> String {
        let rows =
            self.points.iter().map(|DynoPoint(rpm, value)| vec![grouped(*rpm), fixed(*value, 1)]).collect();
        let mut text = table(&["rpm", &visible(self.column)], rows, &[0, 1], 60);
        if let Some((rpm, value)) = self.curve.peak() {
            let unit = self.column.split_once('(').map_or("", |(_, unit)| unit.trim_end_matches(')'));
            text.push_str(&format!(
                "\nPeak as measured: {} {} at {} rpm.",
                fixed(value, 1),
                visible(unit),
                grouped(rpm)
            ));
            if let Some(air) = air {
                let factor = power_correction::sae_j1349(air);
                let range = if factor.in_range { "" } else { ", outside its range" };
                text.push_str(&format!(
                    "\nCorrected ({}, factor {}{range}): {}. The file keeps what was measured.",
                    factor.standard,
                    fixed(factor.factor, 3),
                    fixed(value * factor.factor, 1)
                ));
            }
        }
        text
    }
}
