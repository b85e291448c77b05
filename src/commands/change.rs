//! `change`: recording what is different on the bike, with its reason.

use clap::Args;

use super::options::air::AirOptions;
use super::options::guard::Despite;
use crate::acts::each::said_at_each;
use crate::advice::maps::too_early;
use crate::advice::what_if::{Supposition, not_measured_again, suppose};
use crate::advice::{building, slips, standing};
use crate::commands::desk::Desk;
use crate::machine;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{Assignment, FieldSet, SetupFiles, When};
use crate::report::Trouble;
use crate::report::history::questioned;
use crate::report::history::setups::recorded::ChangeAnswer;
use crate::report::history::setups::rolled_back::lean_in_this_air;
use crate::store::{Book, ChangeRequest, Garage, HandEdit, StoreError, change_checked};

/// Record a change of the setup, with its reason
///
/// What is recorded is what was edited on disk, what is named here, or both. A field is written like jetting.main=172 or
/// ignition.base="1.2 mm"; a cell of a map like ignition.advance@9500=17, of a two-dimensional one
/// ignition.advance@9500/50=17. `field=` takes a field out. Of several cylinders right.main=172 sets one, all.main=172 each of
/// them, which takes away what one had of its own. Everything is recorded as one setup.
///
/// Less fuel, an earlier spark, a tighter head or a shorter stinger is said first. Refused without --despite: two of these
/// at once, more than two sizes leaner, and whatever a lean or seized run forbids until a later run was right on more fuel
/// or its cause is written down as fixed.
#[derive(Debug, Clone, Args)]
#[command(override_usage = "reedbook change [BIKE] [FIELD=VALUE]... --why WHY")]
pub(super) struct Change {
    /// The bike; left out, the last one of the day
    bike: String,
    /// What to set
    #[arg(value_name = "FIELD=VALUE")]
    set: Vec<String>,
    /// Why
    #[arg(long, short)]
    why: Option<String>,
    /// Let a map gain the breakpoint that is named with @
    #[arg(long)]
    insert: bool,
    /// When, if not now: a season on paper can be typed in
    #[arg(long)]
    date: Option<String>,
    /// Open the setup and its engine in your editor first
    #[arg(long)]
    edit: bool,
    /// Record what is questioned, a jet that is not in the box, a clip in no groove: it is right
    #[arg(long)]
    sure: bool,
    #[command(flatten)]
    despite: Despite,
    #[command(flatten)]
    air: AirOptions,
}

impl Change {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        // A first word that sets something stands in the bike's place.
        if self.bike.contains('=') {
            let bike = desk.bike_meant(&garage, "")?;
            let set = std::iter::once(&self.bike).chain(&self.set).cloned().collect();
            return Self { bike, set, ..self.clone() }.run(desk);
        }
        let typed = self.set.iter().map(|text| Assignment::parse_typed(text));
        let assignments = typed.collect::<Result<Vec<_>, _>>()?.concat();
        let request = ChangeRequest {
            bike: self.bike.clone(),
            assignments,
            maps: Vec::new(),
            insert: self.insert,
            why: self.why.clone().unwrap_or_default(),
            air: self.air.entry(garage.is_imperial())?,
            date: self.date.as_deref().map(|text| When::parse(text, desk.moment.now.offset())).transpose()?,
            made_for: None,
        };
        if self.why.is_none() {
            return Err(self.without_a_reason(&garage, request.assignments)?);
        }
        if request.why.trim().is_empty() {
            return Err(Trouble::request(
                Some("why"),
                "The reason is empty.",
                "Say why in a few words: --why \"main down for the heat\".",
            ));
        }
        if self.edit {
            crate::commands::desk::require_editor()?;
            open_files(desk, &garage, &self.bike)?;
        }
        let book = Book::open(&garage)?;
        let mut odd = slips::of_change(&book, &request)?;
        if let Some(air) = &request.air {
            let date = request.date.unwrap_or(desk.moment.now);
            odd.extend(slips::of_air(&book, &self.bike, air, (date, desk.screen().units()))?);
        }
        if request.date.is_none() {
            odd.extend(slips::of_clock(&book, desk.moment.now)?);
        }
        questioned::settle(&odd, self.sure, None)?;
        let guard = self.despite.guard(false)?.of(&garage, &self.bike)?;
        let done = change_checked(&garage, &request, &desk.moment, &|proposed| guard.check(proposed));
        let mut done = done.map_err(|error| in_this_air(error, &book, &request))?;
        let judgement = guard.judgement();
        let (before, after) = &done.fields;
        let assumptions = garage.assumptions()?;
        let mut known = not_measured_again(before, after);
        known.extend(no_longer_own(before, after));
        known.extend(said_at_each((before, after), |before, after| {
            too_early(before, after, &assumptions).into_iter().collect()
        }));
        let book = Book::open(&garage)?;
        let (mut take_over, mut stops) = (None, Vec::new());
        if let Some(engine) = &done.setup.engine {
            let (change, remarks) = building::to_change_and_remarks(&book, engine, done.setup.date)?;
            stops = change;
            known.extend(remarks);
            known.extend(building::not_run_in(&book, engine, done.setup.date)?);
            take_over = building::take_over(&book, engine, done.setup.date)?;
        }
        done.remarks.extend(known.into_iter().map(Guidance::from).chain(take_over));
        let since =
            standing::since_outing(&book, &self.bike, (Some(&done.setup), &done.fields.1), desk.moment.now)?;
        let jobs = book.open_jobs_of(&self.bike)?;
        let answer = ChangeAnswer::of((&done, &jobs), since.as_ref(), &judgement).stopped_by(stops);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// Nothing is changed, and the air that was given with it is denser than the setup was right in: that is said.
fn in_this_air(error: StoreError, book: &Book<'_>, request: &ChangeRequest) -> StoreError {
    let StoreError::NothingChanged { message, help } = error else { return error };
    let lean = || {
        let latest = book.latest(&request.bike).ok()??;
        let known = book.air_of(&request.bike, &latest).ok()?;
        let (then, was_right) = standing::right_in(book, &latest, known).ok()?;
        lean_in_this_air(&then?.0, request.air.as_ref()?, was_right)
    };
    let message = lean().map_or_else(|| message.clone(), |lean| format!("{message} {lean}"));
    StoreError::NothingChanged { message, help }
}

impl Change {
    /// That no reason was given, unless a field is mistyped, too: that is said first, for the line is typed anew for it anyway.
    fn without_a_reason(&self, garage: &Garage, assignments: Vec<Assignment>) -> Result<Trouble, Trouble> {
        if !assignments.is_empty() && self.set.iter().all(|text| !text.contains('@')) {
            let files = garage.files_now(&self.bike)?;
            let supposition = Supposition { assignments, ..Supposition::default() };
            suppose(garage, &files, &supposition)?;
        }
        let help = "Type the same line with `--why \"…\"` behind it.";
        Ok(Trouble::request(Some("--why WHY"), "--why WHY is missing.", help).where_it_stands())
    }
}

/// What cylinders had of their own and has given way to what is written for all, in a sentence.
fn no_longer_own(before: &FieldSet, after: &FieldSet) -> Option<String> {
    let had = before.iter().map(|(field, entry)| (field, entry.value.text()));
    let gone = had.filter(|(field, _)| {
        own_of(field).is_some_and(|(_, common)| after.get(field).is_none() && after.get(common).is_some())
    });
    let gone: Vec<String> =
        gone.map(|(field, text)| format!("{} {}", visible(field), visible(&text))).collect();
    (!gone.is_empty() && before.cylinders() == after.cylinders())
        .then(|| format!("Taken out, for what is written for all: {}.", gone.join(", ")))
}

/// Opens a bike's setup file and its engine's file in the user's editor; what was recorded meanwhile is merged with them.
fn open_files(desk: &Desk, garage: &Garage, bike: &str) -> Result<(), Trouble> {
    let mut paths = vec![SetupFiles::setup_path(bike)];
    paths.extend(garage.files_now(bike)?.engine_name.map(|name| SetupFiles::engine_path(&name)));
    let edit = HandEdit::begin(garage, paths)?;
    let places = edit.places(garage)?;
    machine::edit(&places).map_err(|error| Trouble::file("Cannot edit", &places[0], &error))?;
    Ok(edit.settle(garage, &desk.moment)?)
}
