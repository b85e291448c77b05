//! The notes of a phone looked over before anything of them is recorded: outings as those of a session sheet are, ticks of jobs, and
//! what a phone gets wrong: the garage, its clock, a page that is older than the setup.

use std::path::Path;

use super::session_sheet::{Look, LookedOver, all_outings, outing_of};
use crate::advice::slips::{Questioned, Slip};
use crate::advice::today::CLOCKS_APART;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::reading::phone_notes::{ReadNote, read_phone_notes};
use crate::notebook::{PhoneNote, PhoneTick, When};
use crate::store::{
    Book, Came, Incoming, NewOuting, NotedTick, OutingRecord, SetupName, StoreError, weigh_ticks,
};

/// How far ahead a clock may stand, as of a run that is typed, s.
const AHEAD: i64 = 2 * 3600;

/// Ticks that were looked over, each with its line in the file and what becomes of it, by date.
#[derive(Debug, Default)]
pub struct LookedAtTicks {
    /// The ticks.
    pub ticks: Vec<NotedTick>,
    /// Their lines.
    pub lines: Vec<usize>,
    /// What becomes of them.
    pub came: Vec<Came>,
}

/// Reads the notes of a phone and looks at every one of them. Nothing is written.
pub fn look_over_notes(
    book: &Book<'_>,
    (file, bytes): (&Path, &[u8]),
    look: Look<'_>,
) -> Result<(LookedOver, LookedAtTicks), StoreError> {
    let read = read_phone_notes(file, bytes).map_err(|finding| StoreError::Findings(vec![finding]))?;
    require_this_garage(book, file, &read.garage)?;
    let mut found = LookedOver { findings: read.findings, ..LookedOver::default() };
    let mut ticks = LookedAtTicks::default();
    let mut others = all_outings(book)?;
    let mut not_done: Vec<(String, PhoneTick)> = Vec::new();
    for ReadNote { line, note } in read.notes {
        let by_its_clock = before_its_page(&note, read.made).or_else(|| ahead(&note, look.moment.now));
        if let Some(error) = by_its_clock {
            found.refused.push((line, error));
            continue;
        }
        if !book.garage().has_bike(&note.bike) {
            found.refuse_a_bike_that_is_not_there(book, line, Some(&note.bike));
            continue;
        }
        if let Some(tick) = &note.tick {
            let noted = noted_tick(&note, tick);
            match weigh_ticks(book, std::slice::from_ref(&noted), look.moment) {
                Ok(_) => {
                    not_done.retain(|(bike, one)| {
                        *bike != note.bike || one.field != tick.field || one.part != tick.part
                    });
                    if !tick.done && tick.field.is_some() {
                        not_done.push((note.bike.clone(), tick.clone()));
                    }
                    ticks.ticks.push(noted);
                    ticks.lines.push(line);
                }
                Err(error) => found.refused.push((line, error)),
            }
            continue;
        }
        let new_before = found.new.len();
        let own: Vec<&PhoneTick> =
            not_done.iter().filter(|(bike, _)| *bike == note.bike).map(|(_, tick)| tick).collect();
        let (setup, slip) = match un_ticked(book, &note, &own)? {
            Some((setup, slip)) => (Some(setup), Some(slip)),
            None => other_setup(book, &note)?.map_or((None, None), |(setup, slip)| (setup, Some(slip))),
        };
        outing(book, (file, line), (&note, setup), (look, &mut found, &mut others))?;
        if found.new.len() > new_before {
            found.slips.extend(slip.map(|slip| (line, slip)));
        }
    }
    let mut by_date: Vec<(NotedTick, usize)> = ticks.ticks.into_iter().zip(ticks.lines).collect();
    by_date.sort_by_key(|(tick, _)| tick.date.unix());
    let (ticks, lines): (Vec<NotedTick>, Vec<usize>) = by_date.into_iter().unzip();
    let came = weigh_ticks(book, &ticks, look.moment)?;
    found.findings.sort_by_key(|finding| finding.place.line);
    Ok((found, LookedAtTicks { ticks, lines, came }))
}

/// Refuses notes of another garage.
fn require_this_garage(book: &Book<'_>, file: &Path, noted: &str) -> Result<(), StoreError> {
    let own = book.garage().repository().first_commit()?.map(|id| id.to_string());
    if own.as_deref() == Some(noted) {
        return Ok(());
    }
    Err(StoreError::request(
        Some("garage"),
        format!(
            "{} was noted for another garage: its page was not made from this one.",
            visible(&file.to_string_lossy())
        ),
        Guidance::from("Nothing was recorded. Import it where the page was made: ")
            + Command::ImportElsewhere
            + ".",
    ))
}

/// A note that is older than its page: a clock was wrong, most likely the phone's.
fn before_its_page(note: &PhoneNote, made: When) -> Option<StoreError> {
    (note.date.unix() < made.unix() - CLOCKS_APART).then(|| {
        StoreError::request(
            Some("date"),
            format!(
                "The note is of {}, and its page was made later, at {}: the phone's clock was wrong.",
                note.date.short(),
                made.short()
            ),
            "Write the right date into the file, with its offset, and import it again.",
        )
    })
}

/// A note of a moment that is still to come: the clock of the phone stands ahead.
fn ahead(note: &PhoneNote, now: When) -> Option<StoreError> {
    (note.date.unix() > now.unix() + AHEAD).then(|| {
        StoreError::request(
            Some("date"),
            format!(
                "The note is of {}, which lies in the future: it is {} here, and the phone's clock stands ahead.",
                note.date.short(),
                now.short()
            ),
            "Write the right date into the file, with its offset, and import it again; set the phone's clock.",
        )
    })
}

fn noted_tick(note: &PhoneNote, tick: &PhoneTick) -> NotedTick {
    NotedTick {
        id: note.id.clone(),
        bike: note.bike.clone(),
        field: tick.field.clone(),
        part: tick.part.clone(),
        what: tick.what.clone(),
        done: tick.done,
        date: note.date,
    }
}

/// Looks at the outing of a note.
fn outing(
    book: &Book<'_>,
    (file, line): (&Path, usize),
    (note, setup): (&PhoneNote, Option<u32>),
    (look, found, others): (Look<'_>, &mut LookedOver, &mut Vec<OutingRecord>),
) -> Result<(), StoreError> {
    let mut fields =
        note.outing.as_ref().and_then(|outing| toml::Table::try_from(outing).ok()).unwrap_or_default();
    fields.insert("date".to_owned(), note.date.to_string().into());
    match outing_of(book, file, (line, &fields)) {
        Ok(outing) => {
            let setup = setup.map(SetupName::Number);
            let new = NewOuting { bike: note.bike.clone(), outing, setup, dyno: None };
            found.look_at(book, (file, line), Incoming { new, id: note.id.clone() }, (look, others))
        }
        Err(findings) => {
            found.findings.extend(findings);
            Ok(())
        }
    }
}

/// The setup that was on the bike, where the phone said that some of the newest one was not done; with the question. None where no setup
/// is like that.
fn un_ticked(
    book: &Book<'_>,
    note: &PhoneNote,
    not_done: &[&PhoneTick],
) -> Result<Option<(u32, Slip)>, StoreError> {
    if not_done.is_empty() {
        return Ok(None);
    }
    let jobs = book.jobs_at(&note.bike, note.date)?;
    let Some(on_it) = book.really_on(&jobs)?.map(|setup| setup.number) else { return Ok(None) };
    if Some(on_it) == jobs.setup {
        return Ok(None);
    }
    let what: Vec<String> = not_done.iter().map(|tick| visible(&tick.what)).collect();
    Ok(Some((
        on_it,
        which_ran(
            note,
            format!(
                "The phone says that this was not done when {} ran: {}. Which setup ran?",
                visible(&note.bike),
                what.join("; ")
            ),
            Some(on_it),
        ),
    )))
}

fn which_ran(note: &PhoneNote, question: String, taken: Option<u32>) -> Slip {
    Slip {
        what: Questioned::Setup,
        field: "setup".into(),
        question,
        instead: Guidance::from(format!("Taken is {}; ", setup_called(taken)))
            + Command::MendOuting(visible(&note.bike), note.id.clone(), OutingChange::Setup)
            + " says another afterwards.",
    }
}

fn setup_called(number: Option<u32>) -> String {
    number.map_or("a setup that is not here".to_owned(), |number| format!("setup {number}"))
}

/// The setup that the page showed where it is another than was the newest then, with the question: the rider had the page before him.
fn other_setup(book: &Book<'_>, note: &PhoneNote) -> Result<Option<(Option<u32>, Slip)>, StoreError> {
    let Some(shown) = &note.setup else { return Ok(None) };
    let setups = book.setups(&note.bike)?;
    let taken = book.setup_at(&note.bike, note.date)?;
    let shown = setups.iter().find(|setup| setup.id == *shown).map(|setup| setup.number);
    if shown == taken {
        return Ok(None);
    }
    let question = format!(
        "The page showed {} of {}, and {} was the newest on {}: which ran?",
        setup_called(shown),
        visible(&note.bike),
        setup_called(taken),
        note.date.short()
    );
    Ok(Some((shown, which_ran(note, question, shown.or(taken)))))
}
