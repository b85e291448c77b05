//! `rejet --plan`: what to fit before each session of a weekend, from a list of forecast airs.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::io;
use std::path::Path;

use super::Rejet;
use super::session::{Begins, of_no_day, place_of, session_words};
use crate::advice::asking::Question;
use crate::advice::learning::{Adviser, Evidence, LeanBelowFull};
use crate::advice::rejet::{Rejet as Jetting, RejetRequest, setting};
use crate::advice::slips::{AirBeside, Slip};
use crate::commands::desk::Desk;
use crate::commands::options::air::{list_of_at_most, set_cell};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{AirEntry, FieldSet};
use crate::quantity::fixed;
use crate::report::history::questioned::settle;
use crate::report::jetting::first::before::{before_all, held, not_yet_fitted, record_words};
use crate::report::{
    CardCell, HELD, InPart, OVER, OfCylinders, Plan, PlanAnswer, PlanLine, Trouble, cell_heads, each_reading,
    list_with_answers,
};

/// The most sessions of a plan that is read by a person.
const MOST_SESSIONS: usize = 400;
/// The most that are taken by a script: the hours of a season. Each takes some milliseconds.
const MOST_LINES: usize = 2_000;

/// What a plan says of one session after the other: each begins with the jet of the one before.
pub(super) struct Planner<'q> {
    question: &'q Question<'q>,
    adviser: Adviser,
    evidence: Option<Evidence>,
    /// What is on the bike by its jobs.
    on_it: FieldSet,
    /// What is recorded and not on it.
    not_fitted: Vec<String>,
    /// The main jet, or the trim in percent, that is on it before the next session.
    main: Option<f64>,
    /// What was fitted for the session before.
    before: Option<Jetting>,
    /// What is over its limit below full throttle, of all sessions the most.
    below_full: Option<LeanBelowFull>,
}

/// What is fitted for a session.
struct ForSession {
    cell: CardCell,
    /// Whether it takes fuel away from what is on the bike until then.
    takes_fuel_away: bool,
}

impl<'q> Planner<'q> {
    fn new(rejet: &Rejet, question: &'q Question<'q>) -> Result<Self, Trouble> {
        let settings = rejet.settings(question)?;
        let evidence = if rejet.theory { None } else { Some(question.evidence(&settings)?) };
        let adviser = question.adviser(evidence.as_ref(), &settings, None)?;
        let not_fitted: Vec<String> = question.not_fitted()?.into_iter().map(|(_, what)| what).collect();
        let on_it = if not_fitted.is_empty() { None } else { question.on_it_by_its_jobs()? };
        let on_it = on_it.unwrap_or_else(|| question.now.fields.clone());
        let main = setting::metered_now(&on_it);
        Ok(Self { question, adviser, evidence, on_it, not_fitted, main, before: None, below_full: None })
    }

    /// What to fit in the air of the next session; what one that is over had is nowhere fitted.
    fn for_session(&mut self, air: &AirEntry, is_over: bool) -> Result<ForSession, Trouble> {
        let air = air.air()?;
        let asked = self.question.request(air, None)?;
        let main_that_ran = asked.main_that_ran.filter(|_| self.before.is_none());
        let request = RejetRequest { main_on_the_bike: self.main, main_that_ran, ..asked };
        let floors = self.question.floors(&air)?;
        let answer = self.adviser.jetting(&request, &floors)?;
        let is_short = self.question.is_short_of_held(&air, &answer)?;
        let cell = CardCell::of(&answer, is_short, self.question.needle(), self.adviser.lean_risk(&answer));
        if is_over {
            return Ok(ForSession { cell, takes_fuel_away: false });
        }
        let below = self.adviser.over_the_limit_where_held(&answer, &floors);
        self.below_full = self.below_full.into_iter().chain(below).reduce(LeanBelowFull::more);
        let takes_fuel_away = match &self.before {
            Some(before) => setting::takes_fuel_away_after(before, &answer),
            None => self.question.takes_fuel_away(&answer),
        };
        self.main = cell.metered().or(self.main);
        // Where nothing in the box is safe nothing is fitted.
        if !answer.lacks_a_main_jet() {
            self.before = Some(answer);
        }
        Ok(ForSession { cell, takes_fuel_away })
    }

    /// The plan of its sessions.
    fn plan(self, lines: Vec<PlanLine>, of_no_day: Option<String>) -> Result<PlanAnswer, Trouble> {
        let to_come = lines.iter().filter(|line| !line.is_over);
        let greatest = to_come.filter_map(|line| Some(line.cell.lean_risk?.0)).reduce(f64::max);
        let (record_words, surprise) =
            record_words(self.question, &self.adviser, self.evidence.as_ref(), (greatest, self.below_full))?;
        Ok(PlanAnswer::from(Plan {
            bike: self.question.baseline.bike.clone(),
            baseline: self.question.baseline.number,
            before: CardCell::on_the_bike(&self.on_it),
            moved_on: before_all(
                self.question,
                not_yet_fitted(&self.not_fitted).into_iter().chain(surprise).chain(of_no_day),
            ),
            held: held(self.question),
            record_words,
            lines,
            injected: self.on_it.quantity("injection.trim").is_some(),
        }))
    }
}

impl Rejet {
    /// The plan of a bike: of its one cylinder, without a name, or of each of several, with what stands against one at the others.
    pub(super) fn show_plan(
        &self,
        desk: &Desk,
        questions: &[(Option<&str>, &Question<'_>)],
        without: &[(String, Trouble)],
        file: &Path,
    ) -> Result<(), Trouble> {
        let list = self.sessions(file)?;
        let Some((_, first)) = questions.first() else { return Err(no_session()) };
        let imperial = first.garage.is_imperial();
        let given = self.air.entry(imperial)?;
        let set = |entry: &mut AirEntry, name: &str, text: &str| set_cell(entry, name, text, imperial);
        self.ask_of_each(desk, (first, file, &list), given.as_ref(), &set)?;
        let now = desk.moment.now;
        let mut planners = Vec::new();
        for (name, question) in questions {
            planners.push((*name, Planner::new(self, question)?));
        }
        if self.csv {
            let none = InPart::new(OfCylinders(Vec::<(String, PlanAnswer)>::new()), without);
            none.without(&self.bike).iter().for_each(|words| desk.screen().note(words));
            let heads = planners.iter().flat_map(|(name, _)| {
                cell_heads().into_iter().chain(["lean_risk_percent", HELD]).map(|head| match name {
                    Some(name) => format!("{name}.{head}"),
                    None => head.to_owned(),
                })
            });
            let heads: Vec<String> = heads.chain([OVER.to_owned()]).collect();
            let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
            let mut sessions = 0_usize;
            list_with_answers(
                (file, list.as_slice()),
                io::stdout().lock(),
                set,
                given.as_ref(),
                &heads,
                |head, line, air| {
                    sessions += 1;
                    let is_over = Begins::of(head, line, now.offset()).is_over(now);
                    let mut cells = Vec::new();
                    for (_, planner) in &mut planners {
                        let cell = planner.for_session(air, is_over)?.cell;
                        let risk = cell.lean_risk.map_or_else(String::new, |risk| fixed(100.0 * risk.0, 2));
                        let held = held(planner.question).unwrap_or_default();
                        cells.extend(cell.csv().into_iter().chain([risk, held]));
                    }
                    cells.push(if is_over { OVER.to_owned() } else { String::new() });
                    Ok(cells)
                },
            )?;
            return if sessions == 0 { Err(no_session()) } else { Ok(()) };
        }
        let mut lines: Vec<Vec<PlanLine>> = planners.iter().map(|_| Vec::new()).collect();
        let (mut sessions, mut undated) = (0_usize, Vec::new());
        each_reading((file, list.as_slice()), set, given.as_ref(), |head, cells, reading| {
            let Some((air, line)) = reading else {
                return Ok(());
            };
            sessions += 1;
            let words = session_words(head, cells, sessions);
            let begins = Begins::of(head, cells, now.offset());
            let is_over = begins.is_over(now);
            undated.extend(begins.may_be_over(now).then(|| words.clone()));
            for ((_, planner), lines) in planners.iter_mut().zip(&mut lines) {
                let fitted = planner.for_session(air, is_over).map_err(|trouble| trouble.at(file, line))?;
                let ForSession { cell, takes_fuel_away } = fitted;
                lines.push(PlanLine {
                    words: words.clone(),
                    air: air.clone(),
                    cell,
                    is_over,
                    takes_fuel_away,
                });
            }
            Ok(())
        })?;
        if sessions == 0 {
            return Err(no_session());
        }
        let mut plans = Vec::new();
        for ((name, planner), lines) in planners.into_iter().zip(lines) {
            plans.push((name.map(str::to_owned), planner.plan(lines, of_no_day(&undated))?));
        }
        let screen = desk.screen();
        if let [(None, plan)] = plans.as_slice() {
            return screen.answer(plan, || plan.text(&screen));
        }
        let named = plans.into_iter().map(|(name, plan)| (name.unwrap_or_default(), plan));
        let whole = InPart::new(OfCylinders(named.collect()), without);
        screen.answer(&whole, || whole.text(&screen))
    }

    /// Asks of each session's air what would be asked of it alone: jets for an air that was typed wrongly are not to be fitted.
    fn ask_of_each(
        &self,
        desk: &Desk,
        (question, file, list): (&Question<'_>, &Path, &[u8]),
        given: Option<&AirEntry>,
        set: &dyn Fn(&mut AirEntry, &str, &str) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        if self.sure {
            return Ok(());
        }
        let now = (desk.moment.now, desk.screen().units());
        let beside = match &self.place {
            Some(place) => AirBeside::at(question.book, place, now),
            None => AirBeside::where_it_runs(question.book, &self.bike, now),
        }?;
        // A line that names its place is asked by that place's airs.
        let mut places: BTreeMap<String, AirBeside> = BTreeMap::new();
        let mut asked: Vec<Slip> = Vec::new();
        let mut sessions = 0_usize;
        each_reading((file, list), set, given, |head, cells, reading| {
            let Some((air, line)) = reading else { return Ok(()) };
            sessions += 1;
            if Begins::of(head, cells, desk.moment.now.offset()).is_over(desk.moment.now) {
                return Ok(());
            }
            let words = visible(&session_words(head, cells, sessions));
            let beside = match place_of(head, cells) {
                None => &beside,
                Some(place) => match places.entry(place.to_owned()) {
                    Entry::Occupied(known) => known.into_mut(),
                    Entry::Vacant(new) => new.insert(AirBeside::at(question.book, place, now)?),
                },
            };
            for slip in beside.ask_of_a_forecast(air) {
                let known = asked.iter().any(|one| one.instead == slip.instead);
                asked.push(Slip {
                    question: format!("Line {line} ({words}): {}", slip.question),
                    instead: if known { Guidance::none() } else { slip.instead },
                    ..slip
                });
            }
            Ok(())
        })?;
        settle(&asked, false, None)
    }

    /// The sessions of a file.
    fn sessions(&self, file: &Path) -> Result<Vec<u8>, Trouble> {
        let (most, help) = if self.csv {
            (MOST_LINES, "Give it in parts.")
        } else {
            (MOST_SESSIONS, "Give the sessions of a weekend, or take the whole list with --csv.")
        };
        list_of_at_most(file, most)?.ok_or_else(|| too_long(file, most, help))
    }
}

fn too_long(file: &Path, most: usize, help: &str) -> Trouble {
    Trouble::request(Some("plan"), format!("The list has more than {most} sessions."), help)
        .at(file, most + 2)
}

fn no_session() -> Trouble {
    Trouble::request(
        Some("plan"),
        "The list has no session.",
        "Give a line of heads such as session,temp,baro,humidity and a line for each session.",
    )
}
