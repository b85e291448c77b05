//! What is done to a part: fitted, moved, taken out, looked at, run elsewhere, made new, failed, retired.

use clap::Args;

use super::fitting::{refuse_misfit, still_to_do};
use crate::advice::parts::{Counted, EventCount, Overdue, as_written, brought, count, counts_at_events};
use crate::commands::desk::Desk;
use crate::commands::part::typed::{Told, hours_typed};
use crate::notebook::fields::names::visible;
use crate::notebook::{Condition, Deed, When, at_cylinder};
use crate::report::Trouble;
use crate::report::parts::done::PartDoneAnswer;
use crate::report::parts::list::Kept;
use crate::report::parts::standing::hours;
use crate::store::{Book, Garage, PartDeed, PartFitting, PartRecord, act_on_part, cylinders_of};

/// Where in an engine a part goes.
#[derive(Debug, Clone, Args)]
struct PlaceIn {
    /// At this cylinder, of an engine with several
    #[arg(long, value_name = "CYLINDER")]
    at: Option<String>,
    /// The part that came out for it
    #[arg(long, value_name = "PART")]
    instead_of: Option<String>,
    /// It fits, whatever is written of where it fits
    #[arg(long)]
    sure: bool,
}

impl PlaceIn {
    fn of(&self, engine: &str) -> PartFitting {
        PartFitting {
            engine: engine.to_owned(),
            at: self.at.clone(),
            instead_of: self.instead_of.clone(),
            beside: self.sure,
        }
    }
}

/// Put a part into an engine
#[derive(Debug, Args)]
pub(super) struct Fit {
    /// The part
    part: String,
    /// The engine
    engine: String,
    #[command(flatten)]
    place: PlaceIn,
    /// The part's whole hours at that moment by your own log
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    #[command(flatten)]
    told: Told,
}

/// Take a part out of where it is and put it into another engine, or to another cylinder
#[derive(Debug, Args)]
pub(super) struct Move {
    /// The part
    part: String,
    /// The engine it goes into
    engine: String,
    #[command(flatten)]
    place: PlaceIn,
    #[command(flatten)]
    told: Told,
}

/// Whether a part can be used as it is.
#[derive(Debug, Clone, Copy, Args)]
struct Use {
    /// It can be used as it is, whatever was written of it
    #[arg(long, conflicts_with = "unusable")]
    usable: bool,
    /// It is scored, cracked, bent or worn out: keep it, and never offer it as a spare
    #[arg(long)]
    unusable: bool,
}

impl Use {
    fn said(self) -> Option<(&'static str, String)> {
        (self.usable || self.unusable).then(|| ("usable", self.usable.to_string()))
    }
}

/// Take a part out of its engine and keep it
///
/// Say --unusable where it is no spare any more. A note that sounds like it ("scored at the exhaust") is asked about.
#[derive(Debug, Args)]
pub(super) struct Remove {
    /// The part
    part: String,
    #[command(flatten)]
    condition: Use,
    /// The part's whole hours at that moment by your own log
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    #[command(flatten)]
    told: Told,
}

/// Write down that a part was inspected
///
/// The hours to the next inspection count from here.
#[derive(Debug, Args)]
pub(super) struct Inspect {
    /// The part
    part: String,
    #[command(flatten)]
    condition: Use,
    /// The part's whole hours at that moment by your own log
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    #[command(flatten)]
    told: Told,
}

/// Write down hours run outside this book: a bench, a borrowed bike
#[derive(Debug, Args)]
pub(super) struct Ran {
    /// The part
    part: String,
    /// How long ("2 h", "40 min"; a bare number is hours)
    #[arg(allow_hyphen_values = true)]
    hours: String,
    #[command(flatten)]
    told: Told,
}

/// Write down that a part was rebuilt or replated
///
/// Its hours count from 0 again.
#[derive(Debug, Args)]
pub(super) struct Renew {
    /// The part
    part: String,
    #[command(flatten)]
    told: Told,
}

/// Write down that a part failed, and how
///
/// It is out of its engine and not used again.
#[derive(Debug, Args)]
pub(super) struct Fail {
    /// The part
    part: String,
    /// How it failed: "crack under the boost window"
    #[arg(long, value_name = "WORDS")]
    how: String,
    /// The part's whole hours at that moment by your own log
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    #[command(flatten)]
    told: Told,
}

/// Write down that a sound part was thrown away or sold
#[derive(Debug, Args)]
pub(super) struct Retire {
    /// The part
    part: String,
    /// The part's whole hours at that moment by your own log
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    #[command(flatten)]
    told: Told,
}

impl Told {
    fn deed(&self, desk: &Desk, part: &str, did: Deed) -> Result<PartDeed, Trouble> {
        Ok(PartDeed {
            part: part.to_owned(),
            did,
            date: self.date(desk)?,
            fitting: None,
            moved: false,
            said: self.said(),
        })
    }
}

fn say_hours(deed: &mut PartDeed, field: &'static str, hours: Option<&String>) -> Result<(), Trouble> {
    if let Some(hours) = hours {
        hours_typed("hours", hours)?;
        deed.said.push((field, hours.clone()));
    }
    Ok(())
}

impl Fit {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Fitted)?;
        deed.fitting = Some(self.place.of(&self.engine));
        say_hours(&mut deed, "hours", self.hours.as_ref())?;
        fit((desk, garage), &deed, self.told.date.as_deref(), self.place.sure)
    }
}

impl Move {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Fitted)?;
        deed.fitting = Some(self.place.of(&self.engine));
        deed.moved = true;
        fit((desk, garage), &deed, self.told.date.as_deref(), self.place.sure)
    }
}

fn fit(
    (desk, garage): (&Desk, &Garage),
    deed: &PartDeed,
    typed: Option<&str>,
    sure: bool,
) -> Result<(), Trouble> {
    if let Some(fitting) = &deed.fitting {
        garage.require_engine(&fitting.engine)?;
        let known = Book::open(garage)?.part(&deed.part)?;
        let place = (fitting.engine.as_str(), fitting.at.as_deref());
        refuse_misfit((desk, garage), (&known.name, &known.part), place, sure)?;
    }
    let record = written_down(desk, garage, deed)?;
    let counted = Counted::of(garage, desk.moment.now)?;
    let kept = counted.kept(&record);
    let mut remarks =
        corrected(&counts_at_events(&record.part, &counted.runs), deed).into_iter().collect::<Vec<_>>();
    remarks.extend(counted.after_fit((garage, &kept), deed.date, typed));
    if let Some(fitting) = &deed.fitting {
        let place = (fitting.engine.as_str(), desk.moment.now);
        let seized = brought(&Book::open(garage)?, place, std::slice::from_ref(&record))?;
        remarks.splice(0..0, seized.iter().map(Overdue::sentence));
    }
    let answer = PartDoneAnswer::new(&kept, remarks);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// Writes a deed down and says how the part stands.
fn plainly(desk: &Desk, garage: &Garage, deed: &PartDeed) -> Result<(), Trouble> {
    let record = written_down(desk, garage, deed)?;
    let counted = Counted::of(garage, desk.moment.now)?;
    let kept = counted.kept(&record);
    let corrected = corrected(&counts_at_events(&record.part, &counted.runs), deed);
    let mut remarks: Vec<_> = corrected.into_iter().chain(is_it_sound(&kept)).collect();
    if deed.did == Deed::Removed {
        remarks.extend(still_to_do(garage, &record.name)?);
    }
    let answer = PartDoneAnswer::new(&kept, remarks);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// Asks for what a note only sounds like.
fn is_it_sound(kept: &Kept) -> Option<String> {
    let Condition::Asked(words) = &kept.standing.condition else { return None };
    if kept.standing.engine.is_some() || kept.standing.gone.is_some() {
        return None;
    }
    let name = &kept.record.name;
    Some(format!(
        "By your note (\"{}\") {name} may be no spare any more; it is not offered as one until that is said: \
         `reedbook part inspect {name} --unusable`, or --usable.",
        visible(words)
    ))
}

impl Remove {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Removed)?;
        deed.said.extend(self.condition.said());
        say_hours(&mut deed, "hours", self.hours.as_ref())?;
        plainly(desk, garage, &deed)
    }
}

impl Inspect {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Inspected)?;
        deed.said.extend(self.condition.said());
        if self.condition.unusable {
            out_of_its_engine(garage, desk, &self.part)?;
        }
        say_hours(&mut deed, "hours", self.hours.as_ref())?;
        plainly(desk, garage, &deed)
    }
}

/// What is not to be used again does not stay in an engine.
fn out_of_its_engine(garage: &Garage, desk: &Desk, part: &str) -> Result<(), Trouble> {
    let known = Book::open(garage)?.part(part)?;
    let Some((engine, _)) = known.part.engine_at(as_written(desk.moment.now)) else { return Ok(()) };
    Err(Trouble::request(
        Some("unusable"),
        format!("{part} is in {engine}."),
        format!("Take it out before it runs: `reedbook part remove {part} --unusable`."),
    ))
}

impl Ran {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Ran)?;
        say_hours(&mut deed, "ran", Some(&self.hours))?;
        plainly(desk, garage, &deed)
    }
}

impl Renew {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        plainly(desk, garage, &self.told.deed(desk, &self.part, Deed::Renewed)?)
    }
}

impl Retire {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut deed = self.told.deed(desk, &self.part, Deed::Retired)?;
        say_hours(&mut deed, "hours", self.hours.as_ref())?;
        plainly(desk, garage, &deed)
    }
}

impl Fail {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.how.trim().is_empty() {
            return Err(Trouble::request(
                Some("how"),
                "It is not said how the part failed.",
                "Say it in your words, like --how \"crack under the boost window\": the next one is judged by it.",
            ));
        }
        let mut deed = self.told.deed(desk, &self.part, Deed::Failed)?;
        deed.said.push(("how", self.how.clone()));
        say_hours(&mut deed, "hours", self.hours.as_ref())?;
        let record = written_down(desk, garage, &deed)?;
        let counted = Counted::of(garage, desk.moment.now)?;
        let kept = counted.kept(&record);
        let events = counts_at_events(&record.part, &counted.runs);
        let remarks: Vec<_> = corrected(&events, &deed).into_iter().collect();
        let failure = events.iter().rposition(|one| one.event.did == Deed::Failed);
        let (before, from) = events.split_at(failure.unwrap_or(events.len()));
        let count = from.first().map_or(kept.standing.count, |one| one.after);
        let place = last_place(before);
        let answer = PartDoneAnswer::new(&kept, remarks).with_failure(&self.how, &count, place);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// Where a part was after these events, in words.
fn last_place(events: &[EventCount<'_>]) -> Option<String> {
    let last = events.iter().rev().find(|one| one.event.did == Deed::Fitted || one.event.did.takes_out())?;
    Some(at_cylinder(last.event.engine.as_deref()?, last.event.cylinder.as_deref()))
}

/// How far a count by hand may be below the book's, h: hours are rounded on paper (common practice, no source).
const ROUNDED_H: f64 = 0.5;

/// Writes a deed down. Hours do not go backwards: a count by hand below what the outings say is a slip, and would make a part
/// that is due look young.
fn written_down(desk: &Desk, garage: &Garage, deed: &PartDeed) -> Result<PartRecord, Trouble> {
    let typed = deed.said.iter().find(|(field, _)| *field == "hours");
    if let Some((_, typed)) = typed
        && let Ok(stated_h) = hours_typed("hours", typed)
    {
        let book = Counted::of(garage, desk.moment.now)?;
        let known = book.parts.iter().find(|record| record.name == deed.part);
        let counted_h = known.map_or(0.0, |record| {
            count(&record.part, &book.runs, deed.date.unwrap_or(desk.moment.now)).hours_h
        });
        if stated_h < counted_h - ROUNDED_H {
            let (part, counted) = (&deed.part, hours(counted_h));
            return Err(Trouble::request(
                Some("hours"),
                format!(
                    "The hours of {part} would go backwards: the book counts {counted} by then, and you say {typed}."
                ),
                format!(
                    "If it was rebuilt, `reedbook part renew {part}`. If an outing has too many hours, `reedbook outing edit` \
                     fixes it; if its past has, `reedbook part edit {part} past_hours=…`."
                ),
            ));
        }
    }
    Ok(act_on_part(garage, deed, &desk.moment)?)
}

/// What to say where the hours that were stated are not those that the book had counted.
fn corrected(events: &[EventCount<'_>], deed: &PartDeed) -> Option<String> {
    deed.said.iter().find(|(field, _)| *field == "hours")?;
    let one = events.iter().rev().find(|one| one.event.did == deed.did && one.event.hours.is_some())?;
    let (counted, stated) = (one.before.hours_h, one.after.hours_h);
    if (counted - stated).abs() < 0.05 {
        return None;
    }
    let at_least = if one.before.hours_at_least { "at least " } else { "" };
    let (counted, stated) = (hours(counted), hours(stated));
    Some(format!("The book had counted {at_least}{counted}; from here it goes by your {stated}."))
}

impl Counted {
    /// What should be known after a part was put into an engine.
    pub(super) fn after_fit(
        &self,
        (garage, kept): (&Garage, &Kept),
        date: Option<When>,
        typed: Option<&str>,
    ) -> Vec<String> {
        let Some(engine) = kept.standing.engine.as_deref() else {
            return Vec::new();
        };
        let until = crate::advice::parts::as_written(self.now);
        let kind = &kept.record.part.kind;
        let cylinder = kept.standing.cylinder.as_deref();
        let same: Vec<&str> = self
            .parts
            .iter()
            .filter(|other| other.part.kind == *kind)
            .filter(|other| {
                let place = other.part.place_at(until).filter(|place| place.engine == engine);
                // At another cylinder it is in nobody's way.
                place.is_some_and(|place| {
                    cylinder.is_none() || place.cylinder.is_none_or(|at| Some(at) == cylinder)
                })
            })
            .map(|other| other.name.as_str())
            .collect();
        let others: Vec<&str> = same.iter().copied().filter(|name| *name != kept.record.name).collect();
        // Each of several cylinders may have one.
        let of_cylinders = cylinders_of(garage, engine).unwrap_or_default().len();
        let mut remarks: Vec<String> = others
            .first()
            .filter(|_| same.len() > of_cylinders)
            .map(|other| {
                format!(
                    "By the book {engine} now holds {} parts of the kind {kind}: {}. If one came out, write it down: \
                     `reedbook part remove {other}`",
                    same.len(),
                    same.join(", ")
                )
            })
            .into_iter()
            .collect();
        remarks.extend(date.zip(typed).and_then(|(date, typed)| self.earlier_that_day(engine, date, typed)));
        remarks
    }

    /// A day without a time is its noon, and the outings of its morning then count for the part that was in before.
    fn earlier_that_day(&self, engine: &str, date: When, typed: &str) -> Option<String> {
        if typed.trim().contains([' ', 'T', 't', ':']) {
            return None;
        }
        let same_day =
            |run: &&crate::advice::parts::EngineRun| run.engine == engine && run.date.day() == date.day();
        let earlier = self.runs.iter().filter(same_day).filter(|run| run.date < date).count();
        (earlier > 0).then(|| {
            let outings = if earlier == 1 { "1 outing".to_owned() } else { format!("{earlier} outings") };
            format!(
                "{outings} of {engine} on {} before noon: not counted for this part. If it was in by then, fix the \
                 event's date in its file, and give the time of day with --date the next time.",
                date.day()
            )
        })
    }
}
