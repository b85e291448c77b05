//! Forms that record: a run, a job that is done, readings of a build. Each is recorded as its command would, with the same questions
//! and the same lock.

use std::sync::PoisonError;

use super::asked::{Ask, Reply};
use super::{looking, mending, said};
use crate::acts::build::{Readings, look_over};
use crate::acts::outing::{AsItRan, Draft, Noted};
use crate::advice::slips::Slip;
use crate::report::Trouble;
use crate::report::history::questioned::still_asked;
use crate::report::page::live::{
    self, AS_IT_RAN, BuildForm, FormFields, JustLogged, MEANWHILE, ONCE, OVER, PageAt, PageFrame, READING,
    WRITTEN, is_answered,
};
use crate::serve::forms::{asked_in, build_page, log_page, newest_build};
use crate::serve::standing::{Serving, Visit, Written, wrong};
use crate::store::{
    Book, BuildChange, BuildRecord, Mark, Recording, StoreError, WhichJobs, mark_jobs, measure,
};

/// Over what is said of a form that was refused.
const NOT_RECORDED: &str = "Nothing was recorded";

/// What follows from a form.
pub(super) fn answer(standing: &Serving, ask: &Ask) -> Reply {
    // Of two phones at once the second one sees what the first one recorded.
    let _one_by_one = standing.writing.lock().unwrap_or_else(PoisonError::into_inner);
    match Visit::new(standing) {
        Ok(visit) => written(standing, &visit, ask),
        Err(trouble) => cannot_open(standing, &trouble),
    }
}

/// A form of before a restart once more, with all that was typed: nothing of it is recorded before it is sent again.
pub(super) fn again(standing: &Serving, ask: &Ask) -> Reply {
    let visit = match Visit::new(standing) {
        Ok(visit) => visit,
        Err(trouble) => return cannot_open(standing, &trouble),
    };
    let path: Vec<&str> = ask.path.iter().map(String::as_str).collect();
    let ["bike", bike, act] = path.as_slice() else { return no_form() };
    if let Err(error) = visit.garage.require_bike(bike) {
        return Reply { status: 404, ..wrong(&visit, None, NOT_RECORDED, &error.into()) };
    }
    let typed = &ask.typed;
    let page = match *act {
        "log" => {
            let moved_on = Book::open(&visit.garage)
                .map_err(Trouble::from)
                .and_then(|book| require_its_setup(&book, bike, typed));
            log_page(
                &visit,
                bike,
                typed,
                (Vec::new(), Some(moved_on.err().unwrap_or_else(started_anew)), None),
            )
        }
        "build" => {
            let form =
                BuildForm { typed: typed.clone(), wrong: Some(&started_anew()), ..BuildForm::default() };
            build_page(&visit, bike, form)
        }
        "last" => mending::page(&visit, bike, typed, (Vec::new(), Some(started_anew()))),
        "due" => looking::page(&visit, bike, typed, Some(started_anew())),
        "jobs" => Err(started_anew()),
        _ => return no_form(),
    };
    match page {
        Ok(page) => Reply { status: 403, ..Reply::page(page) },
        Err(trouble) => Reply { status: 403, ..wrong(&visit, Some(bike), NOT_RECORDED, &trouble) },
    }
}

fn started_anew() -> Trouble {
    Trouble::request(
        None,
        "The pages were started anew since this form was opened: nothing of it is recorded yet.",
        "Look it over and send it again.",
    )
}

fn cannot_open(standing: &Serving, trouble: &Trouble) -> Reply {
    let place = PageFrame { bike: None, at: PageAt::Aside, pen: None, overdue: &[] };
    Reply { status: 500, ..Reply::page(live::trouble(&place, &standing.order.screen, NOT_RECORDED, trouble)) }
}

fn written(standing: &Serving, visit: &Visit, ask: &Ask) -> Reply {
    let path: Vec<&str> = ask.path.iter().map(String::as_str).collect();
    let ["bike", bike, act] = path.as_slice() else { return no_form() };
    if let Err(error) = visit.garage.require_bike(bike) {
        return Reply { status: 404, ..wrong(visit, None, NOT_RECORDED, &error.into()) };
    }
    let write = match *act {
        "jobs" => tick,
        "log" => log,
        "build" => readings,
        "last" => mending::mend_or_remove,
        "due" => looking::write,
        _ => return no_form(),
    };
    let once = ask.typed.get(ONCE);
    if !standing.begin(once) {
        return Reply { status: 409, ..wrong(visit, Some(bike), "Sent twice", &sent_twice()) };
    }
    match write(visit, bike, &ask.typed.as_meant()) {
        Ok(Written::Recorded(reply)) => {
            standing.weigh_ahead();
            reply
        }
        Ok(Written::Asked(reply)) => {
            standing.take_back(once);
            reply
        }
        Err(trouble) => {
            standing.take_back(once);
            wrong(visit, Some(bike), NOT_RECORDED, &trouble)
        }
    }
}

fn no_form() -> Reply {
    Reply::refused(404, "Nothing is recorded here.")
}

fn sent_twice() -> Trouble {
    Trouble::request(
        None,
        "This form was sent before: it is recorded once.",
        "The history shows it. For another run open the form again.",
    )
}

/// Ticks a job, or takes its tick back.
fn tick(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Written, Trouble> {
    let (pressed, mark) = match (typed.said("done"), typed.said("undo")) {
        (Some(done), None) => (done, Mark::Done),
        (None, Some(undo)) => (undo, Mark::Undone),
        _ => return Err(Trouble::request(Some("job"), "No job was pressed.", "Press one of the list.")),
    };
    let number = said::job(&Book::open(&visit.garage)?, bike, pressed)?;
    mark_jobs(&visit.garage, &WhichJobs::Numbers(vec![number]), mark, &visit.moment)?;
    Ok(Written::Recorded(Reply::go(visit.place(Some(bike), PageAt::Now).address(""))))
}

/// Logs a run; what looks like a slip is asked first.
fn log(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Written, Trouble> {
    let again = |asked: Vec<&Slip>, trouble: Option<Trouble>| -> Result<Written, Trouble> {
        let status = if trouble.is_some() { 400 } else { 200 };
        let body = log_page(visit, bike, typed, (asked, trouble, None))?;
        Ok(Written::Asked(Reply { status, ..Reply::page(body) }))
    };
    let (draft, slips, ran) = match draft(visit, bike, typed) {
        Ok(draft) => draft,
        Err(trouble) => return again(Vec::new(), Some(said::of_form(trouble))),
    };
    // No setup says what it ran: whoever logs it is shown what would be recorded, and presses once more.
    if let Some(ran) = ran.as_ref().filter(|ran| typed.said(AS_IT_RAN) != Some(ran.words().as_str())) {
        let body = log_page(visit, bike, typed, (Vec::new(), None, Some(ran.words())))?;
        return Ok(Written::Asked(Reply::page(body)));
    }
    let mut asked = still_asked(&slips, false, Some(draft.doubted()));
    asked.retain(|slip| !is_answered(typed, slip));
    if !asked.is_empty() {
        return again(asked, None);
    }
    let draft = match ran.as_ref().map(|ran| (ran, ran.record(&visit.garage, &visit.moment))) {
        None => draft,
        Some((ran, Ok(number))) => draft.as_it_ran(ran, number),
        Some((_, Err(trouble))) => return again(Vec::new(), Some(said::of_form(trouble))),
    };
    match draft.log(&visit.garage, None, &visit.moment) {
        Ok(noted) => Ok(Written::Recorded(Reply::page(logged(visit, bike, &noted)))),
        Err(trouble) => again(Vec::new(), Some(said::of_form(trouble))),
    }
}

/// A run as it was typed, what looks like a slip in it, and what really was on the bike where no setup says that.
type Drafted = (Draft, Vec<Slip>, Option<AsItRan>);

fn draft(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Drafted, Trouble> {
    let units = visit.screen.units();
    let book = Book::open(&visit.garage)?;
    require_its_setup(&book, bike, typed)?;
    let (outing, dated_by_clock) = said::outing(typed, &visit.garage, (visit.moment.now, units))?;
    let without: Vec<u32> =
        typed.all("without").map(|pressed| said::job(&book, bike, pressed)).collect::<Result<_, _>>()?;
    let ran = AsItRan::of(&book, bike, outing.date, &without)?;
    let without = ran.as_ref().map_or(without.as_slice(), |ran| ran.parts.as_slice());
    let draft = Draft::of(&book, (bike.to_owned(), outing), (None, without), false)?;
    let mut draft = if ran.is_some() { draft.as_was_said() } else { draft };
    let slips = draft.slips(&book, (dated_by_clock, visit.moment.now, units))?;
    Ok((draft, slips, ran))
}

/// A form is of the setup that stood on it: what was recorded since may not have been on the bike.
fn require_its_setup(book: &Book<'_>, bike: &str, typed: &FormFields) -> Result<(), Trouble> {
    let newest = book.latest(bike)?.map(|setup| setup.number).unwrap_or_default();
    match typed.said(live::SETUP).and_then(|said| said.parse::<u32>().ok()) {
        Some(stood) if stood != newest => Err(Trouble::request(
            Some("setup"),
            format!("Setup {newest} was recorded since this form was opened on setup {stood}."),
            "If it ran without what was recorded since, press those jobs below; then log it.",
        )),
        _ => Ok(()),
    }
}

fn logged(visit: &Visit, bike: &str, noted: &Noted) -> String {
    let record = &noted.logged.record;
    let run = JustLogged { answer: &noted.answer(), id: &record.id, as_it_was: mending::identity(record) };
    live::logged(&visit.place(Some(bike), PageAt::Aside), &visit.screen, &run)
}

/// Writes down what was measured of the build that the form was for; what another wrote down since and what looks like a slip is asked.
fn readings(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Written, Trouble> {
    let again = |status: u16, form: BuildForm<'_>| -> Result<Written, Trouble> {
        let body = build_page(visit, bike, BuildForm { typed: typed.clone(), ..form })?;
        Ok(Written::Asked(Reply { status, ..Reply::page(body) }))
    };
    let (record, mut found) = match look_over_readings(visit, bike, typed) {
        Ok(found) => found,
        Err(wrong) => return again(400, BuildForm { wrong: Some(&wrong), ..BuildForm::default() }),
    };
    if !found.meanwhile.is_empty() && typed.said(MEANWHILE).is_none() {
        return again(200, BuildForm { meanwhile: &found.meanwhile, ..BuildForm::default() });
    }
    found.slips.retain(|slip| !is_answered(typed, slip));
    if !found.slips.is_empty() {
        return again(200, BuildForm { asked: &found.slips, ..BuildForm::default() });
    }
    let written: Vec<String> =
        found.entered.iter().map(|one| format!("{WRITTEN}={}", live::in_address(&one.field))).collect();
    let change = BuildChange { which: Some(record.id), entered: found.entered };
    let wrong = match measure(&visit.garage, &record.engine, &change, Recording::Now, &visit.moment) {
        Ok(_) | Err(StoreError::NothingChanged { .. }) => {
            return Ok(Written::Recorded(Reply::go(
                visit.place(Some(bike), PageAt::Build).address(&format!("/build?{}", written.join("&"))),
            )));
        }
        Err(error) => error.into(),
    };
    again(400, BuildForm { wrong: Some(&wrong), ..BuildForm::default() })
}

fn look_over_readings(
    visit: &Visit,
    bike: &str,
    typed: &FormFields,
) -> Result<(BuildRecord, Readings), Trouble> {
    let book = Book::open(&visit.garage)?;
    let (Some(_), Some(record)) = newest_build(&book, bike)? else {
        return Err(Trouble::request(None, "No build is begun.", "Begin one at the laptop."));
    };
    if record.id != typed.get("build") {
        return Err(Trouble::request(
            None,
            "Another build of this engine was begun since. Nothing was recorded.",
            "What was typed stands below: see which build it is of.",
        ));
    }
    if !typed.fields().any(|(name, said)| name.starts_with(READING) && !said.is_empty()) {
        return Err(Trouble::request(
            None,
            "No reading was typed.",
            "Type what was measured, and leave the rest empty.",
        ));
    }
    let over = typed.said(MEANWHILE) == Some(OVER);
    let said = |field: &str| typed.of_two(READING, field);
    let units = asked_in(visit, (&book, &record), typed)?;
    let found = look_over(&book, &record, said, (over, units))?;
    Ok((record, found))
}
