//! `build measure`: write down readings, asked for one by one at a terminal.

use clap::Args;

use super::show;
use crate::acts::build::{asked_of, fields, still_to_measure};
use crate::advice::building::ReadingQuestion;
use crate::advice::slips::{Slip, of_readings};
use crate::commands::desk::Desk;
use crate::notebook::{Entered, Entry, FieldSet, Value};
use crate::report::building::measure::{self, BuildMissingAnswer};
use crate::report::history::questioned::settle;
use crate::report::{Answer, Trouble, WrittenOver};
use crate::store::{Book, BuildChange, BuildRecord, Garage, Recording, StoreError, measure};

/// The fields of a build, as its help lists them.
const FIELDS: &str = "\
Fields, NAME being your own (top, middle, bottom; main-left, main-right):
  temperature   cylinder_material   case_material   notes   why   by   date
  bore.NAME.depth  .along_pin  .across_pin  .diagonal_left  .diagonal_right
  piston.diameter  .gauge_height  .pin_bore  .expansion (e-6/K)
  pin.diameter
  ring.gaps.NAME.depth  .gap                     ring.side_clearance
  rod.small_end_bore  .side_clearance  .big_end_play
  crank.runout_left  .runout_right
  squish.front  .rear  .left  .right  .head_gasket  .base_gasket
  deck.height    chamber.volume  .includes       reed.tension  .gap
  seats.NAME.case_bore  .bearing_outside  .bearing_bore  .shaft
  gauges.G.name  .resolution  .uncertainty  .repeatability  .temperature
    (G: bore, inside, outside, feeler, indicator, solder, burette, balance)
  gauges.bore.set_on (piston or ring)   gauges.bore.set_to (the ring's size)
  of several cylinders its own: right.FIELD, like right.piston.diameter

A gauge that was zeroed shows differences: write them as it showed them.
An empty value takes a reading out: piston.pin_bore=";

/// Write down what was measured; without readings each one that is missing is asked for
///
/// At a terminal each reading is asked for with what it was the last time. Without one, what is still to be measured is
/// listed.
#[derive(Debug, Args)]
#[command(after_long_help = FIELDS)]
pub(super) struct Measure {
    /// The engine
    engine: String,
    /// Readings, like squish.front="0.75 mm" piston.diameter="53.940 mm"
    #[arg(value_name = "FIELD=VALUE")]
    readings: Vec<String>,
    /// Another build than the newest: its id or the id's beginning
    #[arg(long, value_name = "ID")]
    build: Option<String>,
    /// Write it down anyway: it is right
    #[arg(long)]
    sure: bool,
}

impl Measure {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let change = BuildChange { which: self.build.clone(), entered: entered(&self.readings)? };
        let record = if !self.readings.is_empty() {
            let known = Book::open(garage)?.build(&self.engine, self.build.as_deref())?;
            let before = fields(garage, &known)?;
            settle(&slips(garage, &known, &change.entered)?, self.sure, None)?;
            let record = measure(garage, &self.engine, &change, Recording::Now, &desk.moment)
                .map_err(|error| self.with_the_rest(error))?;
            let over = written_over(&before, &fields(garage, &record)?);
            return show(desk, garage, &record, over);
        } else if desk.screen().can_ask() {
            let known = Book::open(garage)?.build(&self.engine, self.build.as_deref())?;
            ask_readings(desk, garage, &known)?
        } else {
            return self.take_in_or_list(desk, garage, &change);
        };
        show(desk, garage, &record, Vec::new())
    }

    /// What is wrong with one reading, and that those beside it are not written down either.
    fn with_the_rest(&self, error: StoreError) -> Trouble {
        let named = match &error {
            StoreError::Edit(error) => error.field().map(str::to_owned),
            _ => None,
        };
        let is_it = |typed: &&String| typed.split('=').next().map(str::trim) == named.as_deref();
        let others = self.readings.iter().filter(|typed| !is_it(typed)).count();
        let trouble = Trouble::from(error);
        if named.is_none() || others == 0 {
            return trouble;
        }
        let rest =
            if others == 1 { "the other reading".to_owned() } else { format!("the other {others} readings") };
        trouble.and(&format!("Nothing was written down: type {rest} with it again."))
    }

    /// Without a terminal and without readings: what was edited by hand is recorded, else what is missing is listed.
    fn take_in_or_list(&self, desk: &Desk, garage: &Garage, change: &BuildChange) -> Result<(), Trouble> {
        match measure(garage, &self.engine, change, Recording::Now, &desk.moment) {
            Ok(record) => show(desk, garage, &record, Vec::new()),
            Err(StoreError::NothingChanged { .. }) => {
                let record = Book::open(garage)?.build(&self.engine, self.build.as_deref())?;
                let answer = BuildMissingAnswer::new(&record, &still_to_measure(garage, &record)?);
                desk.screen().answer(&answer, || answer.text(&desk.screen()))
            }
            Err(error) => Err(error.into()),
        }
    }
}

/// FIELD=VALUE as typed.
pub(super) fn entered(typed: &[String]) -> Result<Vec<Entered>, Trouble> {
    Ok(typed.iter().map(|text| Entered::parse(text)).collect::<Result<_, _>>()?)
}

/// Readings that were there and are others now.
fn written_over(before: &FieldSet, after: &FieldSet) -> Vec<WrittenOver> {
    let differs = |(field, old): (&str, &Entry)| {
        let new = after.get(field);
        (!new.is_some_and(|new| new.same_as(&old.value))).then(|| WrittenOver {
            field: field.to_owned(),
            old: old.value.text(),
            new: new.map(Value::text),
        })
    };
    before.iter().filter_map(differs).collect()
}

/// What looks like a slip in readings.
pub(super) fn slips(
    garage: &Garage,
    record: &BuildRecord,
    entered: &[Entered],
) -> Result<Vec<Slip>, Trouble> {
    let is_typed = |field: &str| entered.iter().any(|one| one.field == field);
    let questions = asked_of(&Book::open(garage)?, record, &is_typed)?;
    Ok(of_readings(&questions, entered, &fields(garage, record)?))
}

/// Asks for every reading that is missing; each answer is on disk at once, all of them are recorded at the end.
pub(super) fn ask_readings(
    desk: &Desk,
    garage: &Garage,
    record: &BuildRecord,
) -> Result<BuildRecord, Trouble> {
    let missing = still_to_measure(garage, record)?;
    desk.screen().say(&measure::invitation(&desk.screen(), record, missing.len(), garage.units()))?;
    let mut closed: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(question) = missing.get(at) {
        if question.group.as_ref().is_some_and(|group| closed.contains(group)) {
            at += 1;
            continue;
        }
        match ask_one(desk, garage, record, (question, at + 1, missing.len()))? {
            Next::On => at += 1,
            Next::Without => {
                closed.extend(question.opens.clone());
                at += 1;
            }
            Next::Back => {
                at = at.saturating_sub(1);
                closed.retain(|group| missing[at].opens.as_ref() != Some(group));
            }
            Next::Enough => break,
        }
    }
    let change = BuildChange { which: Some(record.id.clone()), entered: Vec::new() };
    match measure(garage, &record.engine, &change, Recording::Now, &desk.moment) {
        Err(StoreError::NothingChanged { .. }) => {
            Ok(Book::open(garage)?.build(&record.engine, Some(&record.id))?)
        }
        other => Ok(other?),
    }
}

/// Where the questions go on.
enum Next {
    /// With the next one.
    On,
    /// With the next one, and this one has no answer.
    Without,
    /// With the one before.
    Back,
    /// Nowhere: it is enough for now.
    Enough,
}

/// Asks until the answer can be written down. A whole FIELD=VALUE is taken as well, so that what was forgotten before can
/// be said here.
fn ask_one(
    desk: &Desk,
    garage: &Garage,
    record: &BuildRecord,
    (question, place, of): (&ReadingQuestion, usize, usize),
) -> Result<Next, Trouble> {
    let screen = desk.screen();
    loop {
        let said = match screen.ask(&measure::question(question, (place, of), garage.units()))? {
            Answer::Enough => return Ok(Next::Enough),
            Answer::Nothing => question.last.clone().filter(|_| question.stays),
            Answer::Said(text) if text == "<" => return Ok(Next::Back),
            Answer::Said(text) => Some(text),
        };
        let Some(said) = said else { return Ok(Next::Without) };
        let said = measure::with_its_unit(&question.field, &said, garage.units());
        let aside = said.contains('=');
        let mut entered =
            vec![if aside { Entered::parse(&said)? } else { Entered::new(&question.field, Some(&said)) }];
        if !aside && question.field == "gauges.bore.set_on" && said == "ring" {
            match screen.ask("        size of the ring:")? {
                Answer::Said(size) => {
                    let size = measure::with_its_unit("gauges.bore.set_to", &size, garage.units());
                    entered.push(Entered::new("gauges.bore.set_to", Some(&size)));
                }
                Answer::Nothing => continue,
                Answer::Enough => return Ok(Next::Enough),
            }
        }
        if let Some(slip) = slips(garage, record, &entered)?.first() {
            // What is typed anew is asked about anew.
            match screen
                .ask(&format!("        {} Enter if it is right, < to type it again:", slip.question))?
            {
                Answer::Nothing => {}
                Answer::Said(_) => continue,
                Answer::Enough => return Ok(Next::Enough),
            }
        }
        let change = BuildChange { which: Some(record.id.clone()), entered };
        match measure(garage, &record.engine, &change, Recording::Later, &desk.moment) {
            Ok(_) | Err(StoreError::NothingChanged { .. }) if !aside => return Ok(Next::On),
            Ok(_) | Err(StoreError::NothingChanged { .. }) => {}
            Err(error) => screen.say(&Trouble::from(error).in_short(&screen))?,
        }
    }
}
