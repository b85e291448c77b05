//! What is due, for a person in a hurry: what must not run first, then what does not last the next event, by bike, with its hours as
//! a bar and the spare that there is.

use crate::advice::parts::{By, Overdue, State};
use crate::notebook::fields::names::visible;
use crate::quantity::{fixed, trimmed};
use crate::report::out::frame::{Frame, FramePart, FrameTable};
use crate::report::out::screen::Screen;
use crate::report::parts::due::{BikeTake, KindWanted, PartDueAnswer, seized_in_words};
use crate::report::parts::standing::{PartLimit, PartStanding, amount};
use crate::report::words::layout::{NARROW, count, first_line, table_of_names};

/// Cells of a bar of hours.
const BAR: usize = 10;

impl PartDueAnswer {
    /// For a person in a hurry.
    pub(super) fn brief(&self, screen: &Screen) -> String {
        self.framed(screen).text()
    }

    /// The same for a sheet.
    pub(in crate::report) fn on_a_sheet(&self, screen: &Screen) -> Vec<FramePart> {
        self.framed(screen).parts()
    }

    /// The parts of a bike that come due by the next event, each with what it ran and the spare that there is.
    pub(in crate::report) fn taken_along(&self) -> Vec<String> {
        let due = self.in_state(State::Overdue).into_iter().chain(self.in_state(State::NotForAnotherEvent));
        due.filter_map(|part| {
            let first = part.first();
            if first.is_some_and(|limit| limit.by.0 == By::Look) {
                return None;
            }
            let spare = self.spare(part);
            let spare = if spare.is_empty() { "no spare known".to_owned() } else { spare };
            let run = first.map_or_else(|| part.count.run(), used);
            Some(format!("{}: {spare}, for {} ({run})", visible(&part.kind), part.called()))
        })
        .collect()
    }

    /// Parts over their limit, by their names.
    pub(in crate::report) fn overdue(&self) -> Vec<String> {
        self.in_state(State::Overdue).iter().map(|part| visible(&part.part)).collect()
    }

    /// Parts of a bike to be looked at by the next event: "big-end-f1 (13.2 of 15 h)".
    pub(in crate::report) fn to_look_at(&self) -> Vec<String> {
        let due = self.in_state(State::Overdue).into_iter().chain(self.in_state(State::NotForAnotherEvent));
        let looked_at = due.filter_map(|part| {
            let limit = part.first().filter(|limit| limit.by.0 == By::Look)?;
            Some(format!("{} ({})", part.called(), used(limit).trim_start_matches("look: ")))
        });
        looked_at.collect()
    }

    /// Parts of which nobody knows that enough is left.
    pub(in crate::report) fn hours_not_known(&self) -> Vec<String> {
        self.in_state(State::NotKnown).iter().map(|part| part.called()).collect()
    }

    fn framed<'s>(&self, screen: &'s Screen) -> Frame<'s> {
        let mut frame = Frame::new(screen);
        if self.in_engines == 0 {
            frame.say(self.none());
        }
        for line in seized_in_words(&self.seized) {
            frame.stop(&line);
        }
        let over = || self.parts.iter().filter_map(|part| Some((part, part.overdue.as_ref()?)));
        over()
            .filter(|(_, over)| over.can_break)
            .for_each(|(part, over)| frame.stop(&self.overdue_words(part, over)));
        over()
            .filter(|(_, over)| !over.can_break)
            .for_each(|(part, over)| frame.know(&self.overdue_words(part, over)));
        self.not_known(&mut frame);
        let mut groups =
            vec![(State::NotForAnotherEvent, "before the next event"), (State::Soon, "due soon")];
        if self.all {
            groups.extend([(State::NoLimit, "no limit set"), (State::Fine, "ok")]);
        }
        let groups: Vec<_> = groups.into_iter().map(|(state, head)| (head, self.in_state(state))).collect();
        let groups: Vec<_> = groups.into_iter().filter(|(_, parts)| !parts.is_empty()).collect();
        if !groups.is_empty() {
            frame.gap();
            frame.table(self.by_bike(screen, &groups));
        }
        self.wants().for_each(|want| question(&mut frame, want));
        self.left_out(&mut frame);
        self.remarks.iter().for_each(|remark| frame.know(remark));
        frame
    }

    /// A part over its limit, and what there is in its place.
    fn overdue_words(&self, part: &PartStanding, over: &Overdue) -> String {
        let spare = match self.spare(part) {
            _ if !over.can_break => String::new(),
            spare if spare.is_empty() => spare,
            spare if spare.ends_with('?') => format!(" Spare: {spare}"),
            spare => format!(" Spare: {spare}."),
        };
        format!("{}: {}{spare}", owner(part), over.sentence())
    }

    /// Parts by how soon they are due and by the bike they are in, each bike with what an event takes of it.
    fn by_bike(&self, screen: &Screen, groups: &[(&str, Vec<&PartStanding>)]) -> FrameTable {
        let alone = |words: String| vec![words, String::new(), String::new(), String::new()];
        let (mut rows, mut on_a_page) = (Vec::new(), Vec::new());
        // A bike stands on a line of its own over its parts, and is no reason for a wide column.
        let mut heads: Vec<String> = Vec::new();
        let mark = |at: usize| format!("#{at}#");
        for (at, (head, parts)) in groups.iter().enumerate() {
            // The first stands at the head of the table, where that has one; another before each of its bikes.
            let at_the_head = at == 0 && screen.width() >= NARROW;
            let mut bikes: Vec<String> = Vec::new();
            for bike in parts.iter().map(|part| owner(part)) {
                if !bikes.contains(&bike) {
                    bikes.push(bike);
                }
            }
            for bike in bikes {
                let group = if at_the_head { String::new() } else { format!("{head}: ") };
                rows.push(alone(mark(heads.len())));
                heads.push(format!("{group}{bike}{}", self.event(&bike)));
                on_a_page.push(vec![format!("{head}: {bike}{}", self.event(&bike))]);
                let of_it = parts.iter().filter(|part| owner(part) == bike);
                rows.extend(of_it.clone().map(|part| self.row(part)));
                on_a_page.extend(of_it.map(|part| self.row_on_a_page(part)));
            }
        }
        let first = groups.first().map_or("", |(head, _)| head);
        // In stanzas the facts say what they are.
        let heads_of = if screen.width() < NARROW { [""; 4] } else { [first, "run of limit", "", "spare"] };
        let table = table_of_names(&heads_of, rows, screen.width());
        let head = |line: &str| (0..heads.len()).find(|at| line.trim_end() == mark(*at));
        let lines =
            table.lines().map(|line| head(line).map_or(line.to_owned(), |at| screen.wrap(&heads[at], 2)));
        FrameTable {
            caption: String::new(),
            head: ["part", "run of limit", "what then"].map(str::to_owned).to_vec(),
            rows: on_a_page,
            right: Vec::new(),
            marked: None,
            text: lines.collect::<Vec<_>>().join("\n"),
        }
    }

    /// The same without a bar: what it is, what it ran, and what is to be done.
    fn row_on_a_page(&self, part: &PartStanding) -> Vec<String> {
        let limit = part.first();
        let run = limit.map_or_else(|| part.count.run(), used);
        let is_look = limit.is_some_and(|limit| limit.by.0 == By::Look);
        let then = match self.spare(part) {
            _ if is_look => "look at it".to_owned(),
            spare if spare.is_empty() => "change it".to_owned(),
            spare => format!("change it: {spare}"),
        };
        vec![part.called(), run.trim_start_matches("look: ").to_owned(), then]
    }

    fn row(&self, part: &PartStanding) -> Vec<String> {
        let limit = part.first();
        let is_look = limit.is_some_and(|limit| limit.by.0 == By::Look);
        vec![
            format!("  {}", part.called()),
            limit.map_or_else(|| part.count.run(), used),
            limit.map_or_else(String::new, bar),
            if is_look { "look at it".to_owned() } else { self.spare(part) },
        ]
    }

    /// What an event takes of a bike: ", 0.44 h an event".
    fn event(&self, bike: &str) -> String {
        let event = self.events.iter().find(|event| event.bike == bike);
        match event {
            Some(event) if event.hours.0 > 1e-6 => {
                let at_least = if event.hours_at_least { "at least " } else { "" };
                format!(", {at_least}{} an event", amount(By::Hours, event.hours.0))
            }
            _ => String::new(),
        }
    }

    fn wants(&self) -> impl Iterator<Item = &KindWanted> {
        self.take.iter().flat_map(|taking: &BikeTake| &taking.wants)
    }

    /// The spare for a part: the next of those that are good, or what is to be asked, or bought.
    fn spare(&self, part: &PartStanding) -> String {
        let place = |want: &KindWanted| want.parts.iter().position(|name| *name == part.part);
        let Some((want, place)) = self.wants().find_map(|want| Some((want, place(want)?))) else {
            return String::new();
        };
        let (good, worn): (Vec<_>, Vec<_>) =
            want.spares.iter().partition(|spare| spare.state() != State::Overdue);
        if let Some(spare) = good.get(place) {
            let run = if spare.hours_unknown { "hours not known".to_owned() } else { spare.count.run() };
            return format!("{} ({run})", visible(&spare.part));
        }
        match (want.asked.get(place - good.len()), worn.get(place - good.len())) {
            (Some(asked), _) => format!("{}?", visible(&asked.part)),
            (None, Some(worn)) => {
                format!("buy; {} overdue", visible(&worn.part))
            }
            (None, None) => "buy".to_owned(),
        }
    }

    /// Parts of which nobody knows what they ran, and the command that says it.
    fn not_known(&self, frame: &mut Frame<'_>) {
        let parts = self.in_state(State::NotKnown);
        if parts.is_empty() {
            return;
        }
        let of_one = |part: &&PartStanding| {
            let used = part.first().map(used).filter(|_| self.all && !part.hours_unknown);
            used.map_or_else(|| part.called(), |used| format!("{} ({used})", part.called()))
        };
        let mut owners: Vec<(String, Vec<String>)> = Vec::new();
        for part in &parts {
            let whose = owner(part);
            match owners.iter_mut().find(|(other, _)| *other == whose) {
                Some((_, named)) => named.push(of_one(part)),
                None => owners.push((whose, vec![of_one(part)])),
            }
        }
        let named: Vec<String> =
            owners.iter().map(|(whose, named)| format!("{whose}: {}", named.join(", "))).collect();
        frame.know(&format!("Hours left not known: {}.", named.join("; ")));
        frame.command(&to_give(&parts));
    }

    /// What is not told one by one.
    fn left_out(&self, frame: &mut Frame<'_>) {
        let without = self.in_state(State::NoLimit);
        if let Some(first) = without.first().filter(|_| !self.all) {
            let names: Vec<String> = without.iter().map(|part| part.called()).collect();
            frame.say(&format!("No limit set: {}. Set one:", names.join(", ")));
            frame.command(&format!("reedbook part edit {} change_after=…", first.part));
        }
        if let Some(words) = self.fine_in_short().filter(|_| !self.all) {
            frame.say(&words);
        }
        if self.of_retired_bikes > 0 {
            frame.say(&format!("{} of retired bikes left out.", count(self.of_retired_bikes, "part")));
        }
    }
}

/// Whose part it is: the bike, or the engine on the bench.
fn owner(part: &PartStanding) -> String {
    part.bike.as_deref().map_or_else(|| visible(&part.place()), visible)
}

/// What was used of a limit: "24.8 of 25 h", "at least 30 of 40 starts", "look: 13.2 of 15 h", "by 2027-03-01".
fn used(limit: &PartLimit) -> String {
    if let Some(day) = &limit.day {
        return format!("by {day}");
    }
    let run = match limit.by.0 {
        By::Starts | By::Days | By::Date => fixed(limit.run.0.floor(), 0),
        By::Hours | By::Look => trimmed(limit.run.0, 1),
    };
    let at_least = if limit.run_at_least { "at least " } else { "" };
    let look = if limit.by.0 == By::Look { "look: " } else { "" };
    format!("{look}{at_least}{run} of {}", amount(limit.by.0, limit.limit.0))
}

/// A limit as a bar: full only when all of it is used.
fn bar(limit: &PartLimit) -> String {
    let tenths = (1..=BAR).filter(|cell| {
        let share = f64::from(u32::try_from(*cell).unwrap_or(0)) / 10.0;
        limit.limit.0 > 0.0 && limit.run.0 >= share * limit.limit.0 - 1e-9
    });
    let full = tenths.count();
    format!("[{}{}]", "#".repeat(full), ".".repeat(BAR - full))
}

/// The command that makes known what the first of these parts ran.
fn to_give(parts: &[&PartStanding]) -> String {
    let by = |wanted: By| parts.iter().find(|part| part.first().is_some_and(|limit| limit.by.0 == wanted));
    let name = |part: Option<&&PartStanding>| part.map_or("PART", |part| part.part.as_str()).to_owned();
    match (by(By::Hours).or_else(|| by(By::Look)), by(By::Starts)) {
        (Some(part), _) => format!("reedbook part inspect {} --hours …", part.part),
        (None, Some(part)) => format!("reedbook part edit {} past_starts=…", part.part),
        (None, None) => format!("reedbook part edit {} change_by=…", name(parts.first())),
    }
}

/// What must be said of the parts that may be spares: of the first one, with the command that says it.
fn question(frame: &mut Frame<'_>, want: &KindWanted) {
    let Some(first) = want.asked.first() else { return };
    let (name, engine) = (&first.part, &want.engine);
    let more = match want.asked.len() - 1 {
        0 => String::new(),
        more => format!(" ({more} more may be)"),
    };
    match &first.words {
        None => {
            frame.say(&format!("? {name} is a {}: does it fit {engine}?{more} If so:", want.kind));
            frame.command(&format!("reedbook part edit {name} --fits {engine}"));
        }
        Some(words) => {
            let words = first_line(words);
            frame.say(&format!("? {name} was written down as \"{words}\": can it be used?{more} If so:"));
            frame.command(&format!("reedbook part inspect {name} --usable"));
        }
    }
}
