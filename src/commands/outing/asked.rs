//! `outing add` alone at a terminal: an outing by keys. One key a zone, return for none, all on one screen; nothing is recorded before
//! the end, so that Ctrl-C records nothing.

use toml::{Table, Value};

use crate::acts::air::read_air;
use crate::acts::typed::require_lap;
use crate::advice::conditions::kept::{self, Served};
use crate::advice::slips::{self, Questioned, Slip};
use crate::advice::today::{self, Meant};
use crate::commands::desk::Desk;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Mixture, Outing, When, ZONES};
use crate::quantity::Hours;
use crate::report::worded;
use crate::report::{Answer, Key, Screen, Trouble, air_in_short};
use crate::store::{Book, Garage, NewKept, SetupName, keep_air};

/// The key of each verdict. Whoever takes one for its neighbour errs towards rich: r is right, s the leaner of the two that are slight.
const KEYS: [(char, Mixture); 5] = [
    ('l', Mixture::Lean),
    ('s', Mixture::SlightlyLean),
    ('r', Mixture::Right),
    ('t', Mixture::SlightlyRich),
    ('f', Mixture::Rich),
];
const KEYS_IN_WORDS: &str = "l lean, s slightly lean, r right, t slightly rich (a touch), f rich (fat); return: not judged, <: one back, Ctrl-C: nothing is recorded.";

/// What was answered: the bike, whether it is the last of the day, and the rest as a table like the outing's own.
pub(super) struct OutingAnswers {
    pub(super) bike: String,
    pub(super) bike_is_taken: bool,
    pub(super) table: Table,
    /// Whether an air was typed whole: then it serves what follows at that place.
    pub(super) air_is_typed: bool,
    /// Whether a running time that was questioned is right.
    pub(super) hours_are_right: bool,
}

/// Keeps an air that was typed here for what follows at that place, and says so.
pub(super) fn keep_the_air(desk: &Desk, garage: &Garage, outing: &Outing) -> Result<(), Trouble> {
    let (Some(place), Some(air)) = (&outing.place, &outing.air) else { return Ok(()) };
    if kept::past_serving(outing.date, desk.moment.now).is_some() {
        return Ok(());
    }
    let new = NewKept { place: place.clone(), air: air.clone(), date: outing.date, doubted: false };
    keep_air(garage, &new, &desk.moment)?;
    let until = kept::serves_until(outing.date);
    let screen = desk.screen();
    if screen.json {
        return Ok(());
    }
    screen.say(&screen.wrap(&format!("This air is kept at {} until {until}.", visible(place)), 2))
}

/// Asks for an outing.
pub(super) fn ask(
    desk: &Desk,
    book: &Book<'_>,
    bike: Option<&String>,
    date: When,
) -> Result<OutingAnswers, Trouble> {
    let screen = desk.screen();
    let of_the_day = if bike.is_none() { today::bike_of_the_day(book, date)? } else { None };
    let bike_is_taken = matches!(of_the_day, Some(Meant::LastLogged(_)));
    let bike = match bike.cloned().or(of_the_day.map(Meant::bike)) {
        Some(bike) => bike,
        None => which_bike(&screen, book)?,
    };
    // Nobody is asked ten questions about what cannot be logged.
    book.recorded(&bike, &SetupName::Latest)?;
    let mut table = Table::new();
    let mut place = today::place_of_the_day(book, date)?;
    let mut session = None;
    if let Some(place) = &place {
        session = today::session_of_the_day(book, place, date)?;
    }
    let taken = [("bike", bike_is_taken), ("place", place.is_some()), ("session", session.is_some())];
    screen.say(&screen.strong(&screen.wrap(&head(book, &bike, date, [&place, &session])?, 2)))?;
    say_what_is_taken(&screen, &taken)?;
    if place.is_none() {
        place = line(&screen, "place")?;
        table.extend(place.iter().map(|place| ("place".to_owned(), place.as_str().into())));
    }
    let served = kept::serve(book, None, place.as_deref(), date)?;
    say_air(&screen, &served)?;
    screen.say(&screen.wrap(KEYS_IN_WORDS, 2))?;
    let verdict = zones(&screen)?;
    if !verdict.is_empty() {
        table.insert("verdict".to_owned(), Value::Table(verdict));
    }
    let names = cylinders(book, &bike, date)?;
    let own = if names.is_empty() { Table::new() } else { at_single_cylinders(&screen, &names)? };
    if !own.is_empty() {
        table.insert("cylinder".to_owned(), Value::Table(own));
    }
    if served.entry.is_none() {
        put_air(&mut table, typed_air(&screen, book.garage().is_imperial())?);
    }
    let air_is_typed = table.contains_key("air");
    let mut asked = |question: &str, field: &str| -> Result<(), Trouble> {
        table.extend(line(&screen, question)?.map(|said| (field.to_owned(), Value::String(said))));
        Ok(())
    };
    let other = session.map(|session| format!(" (return: {})", visible(&session))).unwrap_or_default();
    asked(&format!("session{other}"), "session")?;
    let lap = best_lap(&screen)?;
    let (hours, hours_are_right) = running_time(&screen, book, (&bike, date))?;
    asked("notes", "notes")?;
    put(&mut table, "lap", lap);
    put(&mut table, "hours", hours);
    if table.keys().all(|field| field == "place") {
        return Err(stopped("Nothing was said of the outing"));
    }
    Ok(OutingAnswers { bike, bike_is_taken, table, air_is_typed, hours_are_right })
}

/// Whether what is questioned is right all the same. If not, the first of it that was typed here is asked anew, and the rest stands; what
/// was not typed here ends it.
pub(super) fn is_right(
    desk: &Desk,
    book: &Book<'_>,
    slips: &[&Slip],
    (asked, date): (&mut OutingAnswers, When),
) -> Result<bool, Trouble> {
    let screen = desk.screen();
    for slip in slips {
        question(&screen, slip)?;
    }
    let has = |field: &str| asked.table.contains_key(field);
    let anew = slips.iter().find_map(|slip| match slip.what {
        Questioned::Hours if has("hours") => Some("hours"),
        Questioned::Lap if has("lap") => Some("lap"),
        Questioned::Place if has("place") => Some("place"),
        Questioned::Air if has("air") => Some("air"),
        _ => None,
    });
    let Some(field) = anew else {
        return if is_yes(&screen, "Record it all the same? y: yes, return: no")? {
            Ok(true)
        } else {
            Err(stopped("It is not right"))
        };
    };
    if is_yes(&screen, "Is it right? y: yes, return: type it again")? {
        return Ok(true);
    }
    match field {
        "hours" => {
            let (hours, are_right) = running_time(&screen, book, (&asked.bike, date))?;
            asked.hours_are_right = are_right;
            put(&mut asked.table, field, hours);
        }
        "lap" => put(&mut asked.table, field, best_lap(&screen)?),
        "air" => {
            let air = typed_air(&screen, book.garage().is_imperial())?;
            asked.table.remove(field);
            asked.air_is_typed = air.is_some();
            put_air(&mut asked.table, air);
        }
        _ => put(&mut asked.table, field, line(&screen, field)?),
    }
    Ok(false)
}

/// What is questioned, and what to write in its place.
fn question(screen: &Screen, slip: &Slip) -> Result<(), Trouble> {
    let words = [slip.question.as_str(), &worded(&slip.instead)].join(" ");
    screen.say(&screen.wrap(&format!("        {}", words.trim()), 8))
}

/// Whether a question is answered with yes. The end of the input ends it all.
fn is_yes(screen: &Screen, question: &str) -> Result<bool, Trouble> {
    match screen.ask(question)? {
        Answer::Said(said) => Ok(["y", "yes"].contains(&said.to_lowercase().as_str())),
        Answer::Nothing => Ok(false),
        Answer::Enough => Err(stopped("Stopped")),
    }
}

/// What was typed of a field; nothing takes it out.
fn put(table: &mut Table, field: &str, said: Option<String>) {
    match said {
        Some(said) => table.insert(field.to_owned(), Value::String(said)),
        None => table.remove(field),
    };
}

fn put_air(table: &mut Table, air: Option<AirEntry>) {
    let Some(air) = air else { return };
    let parts = air.parts().into_iter().map(|(name, text)| (name.to_owned(), Value::String(text)));
    table.insert("air".to_owned(), Value::Table(parts.collect()));
}

/// Nothing is recorded.
pub(super) fn stopped(what: &str) -> Trouble {
    Trouble::request(None, format!("{what}; nothing was recorded."), "")
}

/// The run that is asked for: "moth, setup 40, 2026-11-28 12:31, Hollinmoss, practice 2".
fn head(
    book: &Book<'_>,
    bike: &str,
    date: When,
    place_and_session: [&Option<String>; 2],
) -> Result<String, Trouble> {
    let setup = book.setup_at(bike, date)?.map(|number| format!(", setup {number}")).unwrap_or_default();
    let known = place_and_session.into_iter().flatten();
    let known: String = known.map(|name| format!(", {}", visible(name))).collect();
    Ok(format!("{bike}{setup}, {}{known}", date.short()))
}

/// What of it nobody typed today.
fn say_what_is_taken(screen: &Screen, taken: &[(&str, bool)]) -> Result<(), Trouble> {
    let names: Vec<&str> = taken.iter().filter(|(_, is_taken)| *is_taken).map(|(name, _)| *name).collect();
    let names = match names.as_slice() {
        [] => return Ok(()),
        [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        few => few.concat(),
    };
    screen.say(&screen.wrap(&format!("As last today: {names}."), 2))
}

fn say_air(screen: &Screen, served: &Served) -> Result<(), Trouble> {
    if let (Some(air), Some(words)) = (&served.entry, served.words()) {
        return screen.say(&screen.wrap(&format!("{}: {words}", air_in_short(screen, air)), 2));
    }
    let refused = served.refused.as_ref().filter(|refused| refused.of_the_day);
    match refused {
        Some(refused) => screen.say(&screen.known(&refused.words)),
        None => Ok(()),
    }
}

fn which_bike(screen: &Screen, book: &Book<'_>) -> Result<String, Trouble> {
    let bikes = book.garage().bikes();
    loop {
        match screen.ask(&format!("bike ({})", bikes.join(", ")))? {
            Answer::Said(said) if bikes.contains(&said) => return Ok(said),
            Answer::Said(said) => screen.say(&format!("        no: there is no bike {}", visible(&said)))?,
            Answer::Nothing | Answer::Enough => return Err(stopped("No bike was named")),
        }
    }
}

/// The zones, from full throttle to shut, as the plug is read.
fn zones(screen: &Screen) -> Result<Table, Trouble> {
    let mut judged: [Option<Mixture>; ZONES.len()] = [None; ZONES.len()];
    let keyboard = screen.keyboard()?;
    let mut at = ZONES.len();
    while at > 0 {
        let (name, short, _) = ZONES[at - 1];
        let shown = if matches!(name, "idle" | "full") { name } else { short };
        screen.begin(&format!("{shown:<5}"))?;
        let (said, next) = match keyboard.next()? {
            Key::Stop => {
                screen.say("")?;
                return Err(stopped("Stopped"));
            }
            Key::Nothing | Key::Letter('-') => (Some(None), at - 1),
            Key::Back => (None, (at + 1).min(ZONES.len())),
            Key::Letter(letter) => match KEYS.iter().find(|(key, _)| *key == letter) {
                Some((_, mixture)) => (Some(Some(*mixture)), at - 1),
                None => (None, at),
            },
        };
        if let Some(said) = said {
            judged[at - 1] = said;
        }
        let word = match said {
            Some(Some(mixture)) => mixture.words(),
            Some(None) => "-",
            None if next == at => "?",
            None => "<",
        };
        screen.say(word)?;
        at = next;
    }
    let words = ZONES.iter().zip(judged).filter_map(|((name, _, _), mixture)| {
        Some(((*name).to_owned(), Value::String(mixture?.word().to_owned())))
    });
    Ok(words.collect())
}

/// The names of the cylinders of the setup that ran at a date; none of a bike with one.
fn cylinders(book: &Book<'_>, bike: &str, date: When) -> Result<Vec<String>, Trouble> {
    let number = book.setup_at(bike, date)?;
    let setups = book.setups(bike)?;
    let ran = setups.iter().find(|setup| Some(setup.number) == number);
    Ok(book.combination(bike, ran)?.fields.cylinders())
}

/// What was otherwise at single cylinders: only the zones that differ there, and the plug.
fn at_single_cylinders(screen: &Screen, names: &[String]) -> Result<Table, Trouble> {
    let mut own = Table::new();
    let named: Vec<String> = names.iter().map(|name| visible(name)).collect();
    while let Some(said) = line(screen, &format!("otherwise at ({}; return: all alike)", named.join(", ")))? {
        // Its beginning is enough where only one begins so.
        let meant: Vec<&String> = names.iter().filter(|name| name.starts_with(&said)).collect();
        let exactly = names.iter().find(|name| **name == said);
        let Some(name) = exactly.or(match meant.as_slice() {
            [one] => Some(*one),
            _ => None,
        }) else {
            screen.say(&format!("        no: the cylinders are {}.", named.join(", ")))?;
            continue;
        };
        let mut table = Table::new();
        let verdict = zones(screen)?;
        if !verdict.is_empty() {
            table.insert("verdict".to_owned(), Value::Table(verdict));
        }
        table.extend(line(screen, "plug")?.map(|said| ("plug".to_owned(), Value::String(said))));
        if !table.is_empty() {
            own.insert(name.clone(), Value::Table(table));
        }
    }
    Ok(own)
}

/// One line; none for return, or where it was enough.
fn line(screen: &Screen, question: &str) -> Result<Option<String>, Trouble> {
    Ok(match screen.ask(&format!("{question}:"))? {
        Answer::Said(said) => Some(said).filter(|said| said != "-"),
        Answer::Nothing | Answer::Enough => None,
    })
}

/// A best lap that can be one.
fn best_lap(screen: &Screen) -> Result<Option<String>, Trouble> {
    loop {
        let Some(said) = line(screen, "best lap")? else { return Ok(None) };
        match require_lap(&said) {
            Ok(()) => return Ok(Some(said)),
            Err(trouble) => screen.say(&trouble.in_short(screen))?,
        }
    }
}

/// How long it ran, as it is typed after --hours, and whether that was questioned and is right.
fn running_time(
    screen: &Screen,
    book: &Book<'_>,
    bike: (&str, When),
) -> Result<(Option<String>, bool), Trouble> {
    loop {
        let Some(said) = line(screen, "ran, like 18 min or 0.3 h")? else { return Ok((None, false)) };
        match said.parse::<Hours>() {
            Ok(hours) => {
                let Some(slip) = slips::of_hours(book, bike, &hours)? else {
                    return Ok((Some(hours.to_string()), false));
                };
                question(screen, &slip)?;
                if is_yes(screen, "Is it right? y: yes, return: type it again")? {
                    return Ok((Some(hours.to_string()), true));
                }
            }
            Err(error) => {
                let trouble = Trouble::request(Some("hours"), error.to_string(), error.help());
                screen.say(&trouble.in_short(screen))?;
            }
        }
    }
}

/// The air where none is kept: "19 1003 60", or as a METAR or parts of it are written.
fn typed_air(screen: &Screen, imperial: bool) -> Result<Option<AirEntry>, Trouble> {
    loop {
        let Some(said) = line(screen, "air, like 19 1003 60 (C hPa %); return: none")? else {
            return Ok(None);
        };
        match read_air(&said, imperial) {
            Ok(air) => return Ok(Some(air)),
            Err(trouble) => screen.say(&trouble.in_short(screen))?,
        }
    }
}
