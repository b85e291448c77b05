//! The history of a bike in a table: what was changed, and under it how it ran, the newest first.

use super::{Compared, HistoryAnswer, SetupEntry, is_used};
use crate::advice::building::{Happened, What};
use crate::advice::learning::sign_of_lean;
use crate::advice::runs::lap_time;
use crate::notebook::fields::called::called;
use crate::notebook::fields::meaning::Deed as Done;
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::restoring::on_the_bike::to_do;
use crate::notebook::{
    Change, Combination, Deed, DocumentKind, FieldSet, Mixture, Outing, Value, Verdict, When, section_of,
};
use crate::quantity::fixed;
use crate::report::history::outing::OutingEntry;
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::glue::{GLUE, glued, unglued};
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::report::words::layout::{NARROW, count, first_line};
use crate::store::OutingRecord;

/// Columns of the table.
const COLUMNS: usize = 11;
/// Columns that the place of a run has at least.
const LEAST_PLACE: usize = 12;
/// Heads of the table.
pub(in crate::report) const HEADS: [&str; COLUMNS] =
    ["setup", "day", "changed, and how it ran", "full", "3/4", "1/2", "1/4", "1/8", "idle", "air %", "lap"];
/// Heads of columns that stand where a run shown has a verdict there, in a history one of lean: few judge below half throttle.
pub(in crate::report::history) const RARE: [&str; 3] = ["1/4", "1/8", "idle"];
/// What the signs in it mean.
pub(in crate::report) const SIGNS: &str =
    "! proven  * engine opened  << lean  < slightly lean  = right  > >> rich side";
/// Things named of one change; what is beyond is counted.
pub(super) const NAMED: usize = 3;

/// What a change did: what is done at the bike first, then what was cut or measured; notes are no change of the bike, and what every
/// cylinder has of its own is changed nowhere by what is written for all. Of another engine its name says all.
pub(super) fn in_few_words(compared: &Compared) -> Vec<String> {
    let Compared { comparison, before, after, .. } = compared;
    let is_done = |change: &Change| {
        let meaning = Combination::meaning(&change.field);
        meaning.is_none_or(|meaning| meaning.hands.deed != Done::Nothing)
    };
    let engine = |fields: &FieldSet| fields.text("engine").map(visible);
    let (was, is) = (engine(before), engine(after));
    let other = was != is;
    let of_engine = |field: &str| {
        [before, after]
            .iter()
            .any(|fields| fields.entry(field).is_some_and(|entry| entry.document == DocumentKind::Engine))
    };
    let rest = comparison.changes.iter().filter(|change| {
        let field = change.field.as_str();
        let is_told = section_of(field) != "notes" && field != "engine" && !is_done(change);
        is_told && is_used(compared, field) && !(other && of_engine(field))
    });
    let swapped = other.then(|| match (was, is) {
        (Some(was), Some(is)) => format!("engine {was} → {is}"),
        (_, is) => format!("engine {}", is.unwrap_or_else(|| "none".to_owned())),
    });
    let done = to_do(before, after);
    let done = done.into_iter().filter(|job| job.field != "engine").map(|job| job.what);
    let text =
        |value: &Option<Value>| value.as_ref().map_or("none".to_owned(), |value| visible(&value.text()));
    let measured =
        rest.map(|change| format!("{} {} → {}", called(&change.field), text(&change.old), text(&change.new)));
    let mut words: Vec<String> = swapped.into_iter().chain(done).chain(measured).collect();
    // Of several cylinders the last word is said as well where it alone would be counted: it may be the other one's of a pair.
    if words.len() == NAMED + 1
        && !after.cylinders().is_empty()
        && let Some(last) = words.pop()
        && let Some(before) = words.last_mut()
    {
        *before = format!("{before}, {last}");
    }
    words
}

/// A verdict as a sign: on which side of right.
pub(in crate::report::history) fn sign(mixture: Option<Mixture>) -> String {
    match mixture {
        None => "",
        Some(Mixture::Lean) => "<<",
        Some(Mixture::SlightlyLean) => "<",
        Some(Mixture::Right) => "=",
        Some(Mixture::SlightlyRich) => ">",
        Some(Mixture::Rich) => ">>",
    }
    .to_owned()
}

/// A verdict's mixture at one throttle.
type AtThrottle = fn(&Verdict) -> Option<Mixture>;

/// Throttles below full, as they stand in a table, from open to shut.
const BELOW_FULL: [(&str, AtThrottle); 5] = [
    ("3/4", |verdict| verdict.three_quarters),
    ("1/2", |verdict| verdict.half),
    ("1/4", |verdict| verdict.quarter),
    ("1/8", |verdict| verdict.eighth),
    ("idle", |verdict| verdict.idle),
];

/// The signs of a run below full throttle, each with its throttle.
pub(in crate::report::history) fn below_full(run: &OutingRecord) -> [(&'static str, String); 5] {
    BELOW_FULL
        .map(|(head, zone)| (head, signs_at(run, |outing| sign(outing.verdict.as_ref().and_then(zone)))))
}

/// The verdict at full throttle: a word like "seized" in the notes speaks of it, whatever was judged.
pub(in crate::report::history) fn full_sign(run: &OutingRecord) -> String {
    signs_at(run, sign_of_all)
}

/// The verdict at each throttle in words, from full down: "right, right cylinder lean". Where nobody looks a sign up, on a page, "r" for
/// a cylinder and "right" for a verdict are two words too near each other.
pub(in crate::report::history) fn in_words_at_each(run: &OutingRecord) -> Vec<(&'static str, String)> {
    let words = |mixture: Option<Mixture>| mixture.map(Mixture::words).unwrap_or_default().to_owned();
    let whose = |_: &[&str], name: &str| format!("{} cylinder", in_words(name));
    let full = each_said(run, |outing| words(mixture_of_all(outing)), whose);
    let below = BELOW_FULL.map(|(head, zone)| {
        (head, each_said(run, |outing| words(outing.verdict.as_ref().and_then(zone)), whose))
    });
    // What is "idle" in a table is pressed as "closed" on a page.
    let said = |(head, words)| (if head == "idle" { "closed" } else { head }, words);
    std::iter::once(("full", full)).chain(below).map(said).collect()
}

/// A sign of all, and behind the beginning of its name that of each cylinder that has another one.
pub(in crate::report::history) fn signs_at(run: &OutingRecord, of: impl Fn(&Outing) -> String) -> String {
    each_said(run, of, shortest)
}

/// What is said of all, and behind its name as it is `called` what is said of each cylinder of which something else is.
fn each_said(
    run: &OutingRecord,
    of: impl Fn(&Outing) -> String,
    called: impl Fn(&[&str], &str) -> String,
) -> String {
    let outing = &run.outing;
    let each = outing.at_each_cylinder();
    // What is written of one cylinder alone is not of all.
    let all = each.first().map_or_else(|| of(outing), |(_, outing)| of(outing));
    // One of which nothing is said may be called alike.
    let mut names: Vec<&str> = run.cylinders.iter().map(String::as_str).collect();
    for name in each.iter().filter_map(|(name, _)| *name) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let own = each.iter().filter_map(|(name, outing)| Some((called(&names, (*name)?), of(outing))));
    let own = own.filter(|(_, sign)| *sign != all).map(|(name, sign)| format!("{name} {sign}"));
    let all = Some(all.clone()).filter(|sign| !sign.is_empty());
    all.into_iter().chain(own).collect::<Vec<_>>().join(", ")
}

/// A cylinder's first letter, "ll" of lower-left, where no other is called so, else its name: a column of signs is narrow.
fn shortest(names: &[&str], name: &str) -> String {
    let first =
        |name: &str| name.split(['-', '_']).filter_map(|word| word.chars().next()).collect::<String>();
    let alone = names.iter().filter(|other| first(other) == first(name)).count() < 2;
    visible(&if alone { first(name) } else { name.to_owned() })
}

fn sign_of_all(outing: &Outing) -> String {
    sign(mixture_of_all(outing))
}

fn mixture_of_all(outing: &Outing) -> Option<Mixture> {
    let judged = outing.verdict.as_ref().and_then(|verdict| verdict.full);
    sign_of_lean(outing).map_or(judged, |_| Some(Mixture::Lean))
}

impl HistoryAnswer<'_> {
    fn counted(&self) -> String {
        format!("{}, {}", count(self.counts.0, "setup"), count(self.counts.1, "outing"))
    }

    /// The same for a page: what is said before, and the table row by row, with words for signs.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen) -> (Vec<FramePart>, Vec<Vec<String>>) {
        let mut frame = Frame::new(screen);
        self.remarks.iter().for_each(|remark| frame.know(remark));
        let title = self.title.map(|title| format!("{}: ", first_line(title))).unwrap_or_default();
        frame.say(&format!("{title}{}, the newest first.", self.counted()));
        (frame.parts(), self.setups.iter().flat_map(|setup| setup.rows(in_words_at_each)).collect())
    }

    /// For a person in a hurry: one line for each setup and one for each run.
    pub(in crate::report::history) fn brief(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        let title = self.title.map(|title| format!(" ({})", first_line(title))).unwrap_or_default();
        frame.hands(&format!("{}{title}: {}", self.bike, self.counted()));
        self.remarks.iter().for_each(|remark| frame.know(remark));
        let rows: Vec<Vec<String>> = self.setups.iter().flat_map(|setup| setup.rows(signs_at_each)).collect();
        if !rows.is_empty() {
            let (heads, rows) = without_rare(rows);
            frame.block(laid_out(screen, &heads, &rows));
            frame.source(SIGNS);
        }
        let hidden = self.counts.0.saturating_sub(self.setups.len());
        if hidden > 0 {
            let all = self.counts.0;
            frame.say(&format!(
                "{} before these: --last {all} shows them. -v says reasons, plugs, parts and builds.",
                count(hidden, "setup")
            ));
        }
        if !self.unplaced.is_empty() {
            frame
                .know(&format!("{} on a setup that is not known: -v.", count(self.unplaced.len(), "outing")));
        }
        frame.text()
    }
}

impl SetupEntry<'_> {
    /// The setup, and under it what it ran and what was done inside the engine, the newest first; verdicts as they are `said`.
    fn rows(&self, said: Said) -> Vec<Vec<String>> {
        let mark = if self.proven { "!" } else { "" };
        let mut head = vec![format!("{}{mark}", self.number), self.record.date.day(), self.changed()];
        head.resize(COLUMNS, String::new());
        let mut under: Vec<_> =
            self.outings.iter().rev().map(|run| (run.record.outing.date, run_row(run, said))).collect();
        let engine = self.engine.unwrap_or_default();
        let mut opened: Vec<(String, Vec<String>, When)> = Vec::new();
        for one in self.happened {
            let of_day = one.date.day();
            let words = inside(one);
            match opened.iter_mut().find(|(known, _, _)| *known == of_day) {
                Some((_, all, _)) => all.extend(words),
                None => opened.push((of_day, words, one.date)),
            }
        }
        under.extend(opened.into_iter().map(|(of_day, words, date)| {
            let mut row =
                vec!["*".to_owned(), of_day.clone(), format!("{}: {}", visible(engine), some(&words))];
            row.resize(COLUMNS, String::new());
            (date, row)
        }));
        under.sort_by_key(|(date, _)| std::cmp::Reverse(*date));
        std::iter::once(head).chain(under.into_iter().map(|(_, row)| row)).collect()
    }

    /// What was changed, in a few words; the reason where nothing can be set against another.
    fn changed(&self) -> String {
        let changed = if self.changed.is_empty() { first_line(self.why) } else { some(&self.changed) };
        let by = self.by.as_ref().map(|by| format!("{}: ", first_line(by))).unwrap_or_default();
        let combined = self.combined_words().map(|words| format!("{words}: ")).unwrap_or_default();
        let same = self.same_as.map(|number| format!(", the same as setup {number}")).unwrap_or_default();
        let on = self.made_on.filter(|_| self.same_as.is_none());
        let on = on.map(|number| format!(", on setup {number}")).unwrap_or_default();
        format!("{by}{combined}{changed}{on}{same}")
    }
}

/// Heads and rows without the throttles below half that no run was lean at.
fn without_rare(rows: Vec<Vec<String>>) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let holds = |column: usize| rows.iter().any(|row| row.get(column).is_some_and(|cell| cell.contains('<')));
    let stays: Vec<bool> =
        HEADS.iter().enumerate().map(|(at, head)| !RARE.contains(head) || holds(at)).collect();
    let heads = HEADS.iter().zip(&stays).filter(|(_, stays)| **stays).map(|(head, _)| *head).collect();
    let of_row = |row: Vec<String>| {
        row.into_iter().zip(&stays).filter(|(_, stays)| **stays).map(|(cell, _)| cell).collect()
    };
    (heads, rows.into_iter().map(of_row).collect())
}

/// The table of a history: a run keeps to its columns, and what was changed goes over all of them.
fn laid_out(screen: &Screen, heads: &[&str], rows: &[Vec<String>]) -> String {
    let is_run = |row: &[String]| row.iter().skip(3).any(|cell| !cell.is_empty());
    if screen.width() < NARROW {
        return narrow(screen, heads, rows);
    }
    let runs = || rows.iter().filter(|row| is_run(row));
    let widest = |column: usize| {
        let of_rows = rows.iter().filter(|row| column < 2 || is_run(row));
        let cells = of_rows.filter_map(|row| row.get(column)).map(|cell| width::of(cell));
        cells.chain([width::of(heads[column])]).max().unwrap_or(0)
    };
    let mut widths: Vec<usize> = (0..heads.len()).map(widest).collect();
    let others = widths.iter().sum::<usize>() - widths[2] + 2 * (heads.len() - 1);
    widths[2] = widths[2].min(screen.width().saturating_sub(others).max(LEAST_PLACE));
    if widths[2] < LEAST_PLACE + 4 && runs().any(|row| width::of(&row[2]) > widths[2]) {
        return narrow(screen, heads, rows);
    }
    let before = widths[0] + widths[1] + 4;
    let mut named: Vec<&str> = heads.to_vec();
    // A head is no wider than its column.
    if width::of(named[2]) > widths[2] {
        named[2] = "changed, ran";
    }
    let mut lines = vec![in_columns(heads, &named, &widths)];
    if runs().next().is_none() {
        lines = vec![format!("{}  {}  {}", heads[0], width::padded(heads[1], widths[1]), heads[2])];
    }
    for row in rows {
        let [first, second, words, ..] = row.as_slice() else { continue };
        if is_run(row) {
            let indent = "  ";
            let words = glued(words.trim_start(), widths[2].saturating_sub(indent.len()));
            let places = textwrap::wrap(&words, widths[2].saturating_sub(indent.len()));
            for (at, place) in places.iter().enumerate() {
                let mut cells = if at == 0 { row.clone() } else { vec![String::new(); row.len()] };
                cells[2] = format!("{indent}{}", unglued(place));
                lines.push(in_columns(heads, &cells, &widths));
            }
        } else {
            let start =
                format!("{first:>0$}  {second}", widths[0], second = width::padded(second, widths[1]));
            let words = held_together(words, screen.width().saturating_sub(before));
            lines.push(screen.wrap(&format!("{}  {words}", start.replace(' ', &GLUE.to_string())), before));
        }
    }
    lines.join("\n")
}

/// A run to its own lines, where a table has no room.
fn narrow(screen: &Screen, heads: &[&str], rows: &[Vec<String>]) -> String {
    let is_run = |row: &[String]| row.iter().skip(3).any(|cell| !cell.is_empty());
    let line = |row: &Vec<String>| {
        if is_run(row) { in_short(screen, heads, row) } else { setup_in_short(screen, row) }
    };
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// A run on a narrow screen: each figure behind what it is of.
fn in_short(screen: &Screen, heads: &[&str], row: &[String]) -> String {
    let figures = heads.iter().zip(row).skip(3).filter(|(_, cell)| !cell.is_empty());
    let figures = figures.map(|(head, cell)| match *head {
        "air %" => format!("air {cell} %"),
        head => format!("{head} {cell}"),
    });
    let [_, day, words, ..] = row else { return String::new() };
    let all: Vec<String> = [day.clone(), words.trim().to_owned()].into_iter().chain(figures).collect();
    let whole = all.iter().map(|fact| fact.replace(' ', &GLUE.to_string())).collect::<Vec<_>>().join("  ");
    screen.wrap(&format!("    {whole}"), 6)
}

/// A setup on a narrow screen, or what was done inside the engine.
fn setup_in_short(screen: &Screen, row: &[String]) -> String {
    let [first, day, words, ..] = row else { return String::new() };
    let words = held_together(words, screen.width().saturating_sub(4));
    screen.wrap(&format!("{first:>3} {day} {words}"), 4)
}

/// "main 174 → 178, fuel pump 98 → race can": no line breaks within one change that goes on one.
fn held_together(words: &str, room: usize) -> String {
    let one = |change: &str| {
        let fits = change.contains('→') && width::of(change) <= room;
        if fits { change.replace(' ', &GLUE.to_string()) } else { change.to_owned() }
    };
    words.split(", ").map(one).collect::<Vec<_>>().join(", ")
}

/// One line, each cell in its column; the first and the air are figures.
fn in_columns<T: AsRef<str>>(heads: &[&str], cells: &[T], widths: &[usize]) -> String {
    let cell = |((head, width), cell): ((&&str, &usize), &T)| {
        let cell = cell.as_ref();
        let blanks = " ".repeat(width.saturating_sub(width::of(cell)));
        if matches!(*head, "setup" | "air %") { format!("{blanks}{cell}") } else { format!("{cell}{blanks}") }
    };
    let line: Vec<String> = heads.iter().zip(widths).zip(cells).map(cell).collect();
    line.join("  ").trim_end().to_owned()
}

/// The first few of many.
pub(super) fn some(words: &[String]) -> String {
    let mut said: Vec<&str> = Vec::new();
    words.iter().map(String::as_str).for_each(|word| {
        if !said.contains(&word) {
            said.push(word);
        }
    });
    let more = said.len().saturating_sub(NAMED);
    let first = said.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    if more == 0 { first } else { format!("{first} and {more} more") }
}

/// What was done inside the engine: kinds of parts, or a build.
fn inside(one: &Happened) -> Vec<String> {
    match &one.what {
        What::Built(ready) => vec![format!("{} built", ready.record.build.what_was_apart())],
        What::Parts(did, parts) => {
            let kinds = parts.iter().map(|part| {
                let kind = part.kind.replace('-', " ");
                part.cylinder
                    .as_deref()
                    .map_or_else(|| kind.clone(), |name| format!("{} {kind}", in_words(name)))
            });
            match did {
                // What came out is what something else went in for.
                Deed::Removed => Vec::new(),
                Deed::Fitted => kinds.collect(),
                did => kinds.map(|kind| format!("{kind} {}", did.word())).collect(),
            }
        }
    }
}

/// How the verdicts of a run are said, from full throttle down.
type Said = fn(&OutingRecord) -> Vec<(&'static str, String)>;

/// The signs of a run at each throttle, from full down.
fn signs_at_each(run: &OutingRecord) -> Vec<(&'static str, String)> {
    std::iter::once(("full", full_sign(run))).chain(below_full(run)).collect()
}

fn run_row(run: &OutingEntry<'_>, said: Said) -> Vec<String> {
    let outing = &run.record.outing;
    let place: Vec<_> = [run.place, run.session].into_iter().flatten().map(first_line).collect();
    let place = if place.is_empty() { "ran".to_owned() } else { place.join(", ") };
    let air = outing.air.as_ref().and_then(|air| air.air().ok());
    let ran = [String::new(), outing.date.day(), format!("  {place}")];
    let last = [
        air.map(|air| fixed(air.relative_density_percent(), 1)).unwrap_or_default(),
        run.lap.map(|lap| lap_time(lap).unwrap_or_else(|| first_line(lap))).unwrap_or_default(),
    ];
    ran.into_iter().chain(said(run.record).into_iter().map(|(_, words)| words)).chain(last).collect()
}
