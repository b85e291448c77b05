//! `rejet` of a machine with several cylinders: one answer, with what differs said by cylinder.

use std::io;

use super::cells::write_csv;
use super::{Rejet, assignment, were_read};
use crate::advice::asking::Question;
use crate::advice::conditions::kept::Served;
use crate::advice::maps::trim::MAP;
use crate::advice::slips::Slip;
use crate::commands::desk::Desk;
use crate::notebook::fields::cylinder::can_be_own;
use crate::notebook::{AirEntry, Assignment, EditError, FieldSet};
use crate::report::history::questioned::settle;
use crate::report::jetting::first::before::{held, require_the_same_injection};
use crate::report::{InPart, MachineAnswer, OfCylinders, RejetAnswer, RejetReport, Trouble};
use crate::store::{Book, Garage};

/// A cylinder's name with what is asked of it.
type Of<'n, T> = (&'n str, T);

impl Rejet {
    /// Answers for every cylinder at once.
    pub(super) fn of_the_machine(
        &self,
        desk: &Desk,
        garage: &Garage,
        names: &[(String, String)],
    ) -> Result<(), Trouble> {
        let book = Book::open(garage)?;
        let books: Vec<Of<'_, Book<'_>>> =
            names.iter().map(|(name, asked)| (name.as_str(), book.for_cylinder(asked))).collect();
        let asked = self.asked()?;
        let (questions, wrong) =
            each_that_can(&books, |book| Ok(Question::ask(book, &self.bike, &asked, desk.moment.now)?));
        let answers_in_part = !(self.cells || self.record);
        if !wrong.is_empty() && !answers_in_part || questions.is_empty() {
            all_or_none(&questions, &wrong)?;
        }
        let questions: Vec<Of<'_, Question<'_>>> = questions
            .into_iter()
            .filter_map(|(name, question)| {
                Some((names.iter().find(|(own, _)| *own == name)?.0.as_str(), question))
            })
            .collect();
        each(&questions, |question| require_the_same_injection(question, self.cells.then_some(MAP)))?;
        if let Some((_, first)) = questions.first() {
            self.settle_baseline_air(desk, first)?;
        }
        if self.card.is_asked() {
            return self.cards_of_each(desk, &questions, wrong);
        }
        if let Some(file) = &self.plan {
            let named: Vec<_> = questions.iter().map(|(name, question)| (Some(*name), question)).collect();
            return self.show_plan(desk, &named, &wrong, file);
        }
        self.require_what_csv_is_of()?;
        let Some((_, first)) = questions.first() else { return Ok(()) };
        let (air, served) = self.air_to(first, desk.moment.now)?;
        if self.cells {
            return self.cells_of_each(desk, &questions, (&air, &served));
        }
        self.answer_of_each(desk, (&questions, wrong), (&air, &served))
    }

    fn cards_of_each(
        &self,
        desk: &Desk,
        questions: &[Of<'_, Question<'_>>],
        mut wrong: Vec<(String, Trouble)>,
    ) -> Result<(), Trouble> {
        let (cards, no_answer) = each_that_can(questions, |question| self.card_of(question));
        wrong.extend(no_answer);
        if cards.is_empty() {
            all_or_none(&cards, &wrong)?;
        }
        let cards = InPart::new(OfCylinders(cards), &wrong);
        if self.csv {
            cards.without(&self.bike).iter().for_each(|words| desk.screen().note(words));
            return cards.each().csv(io::stdout().lock());
        }
        desk.screen().answer(&cards, || cards.text(&desk.screen()))
    }

    fn answer_of_each(
        &self,
        desk: &Desk,
        (questions, mut wrong): (&[Of<'_, Question<'_>>], Vec<(String, Trouble)>),
        (air, served): (&AirEntry, &Served),
    ) -> Result<(), Trouble> {
        let (found, no_answer) =
            each_that_can(questions, |question| self.found(desk, question, (air, served)));
        wrong.extend(no_answer);
        if !wrong.is_empty() && (self.record || found.is_empty()) {
            all_or_none(&found, &wrong)?;
        }
        let mut asked: Vec<Slip> = Vec::new();
        for slip in found.iter().flat_map(|(_, (_, slips))| slips) {
            if !asked.contains(slip) {
                asked.push(slip.clone());
            }
        }
        settle(&asked, self.sure, None)?;
        let mut reports = Vec::new();
        for (name, (found, _)) in &found {
            reports.push((name.clone(), self.report(found, served)?));
        }
        if self.record {
            for ((name, question), (_, report)) in questions.iter().zip(&reports) {
                self.require_recordable(question, report).map_err(|trouble| trouble.of_cylinder(name))?;
            }
        }
        if self.record && reports.iter().any(|(_, report)| !report.to_set.is_empty()) {
            let number = self.record_each(desk, questions, (&reports, air))?;
            for (_, report) in &mut reports {
                report.recorded = Some(number);
            }
        }
        let answers = reports.into_iter().map(|(name, report)| (name, RejetAnswer::from(report)));
        let whole = MachineAnswer::new(OfCylinders(answers.collect()), &wrong);
        desk.screen().answer(&whole, || whole.text(&desk.screen()))?;
        if let Some((_, question)) = questions.first() {
            were_read(desk, question.book.garage(), whole.has_all_cautions());
        }
        Ok(())
    }

    /// Records what is advised for every cylinder as one change, and gives its number.
    fn record_each(
        &self,
        desk: &Desk,
        questions: &[Of<'_, Question<'_>>],
        (reports, air): (&[(String, RejetReport<'_>)], &AirEntry),
    ) -> Result<u32, Trouble> {
        let Some((_, question)) = questions.first() else { return Err(no_cylinder()) };
        let whole = Book::open(question.garage)?.combination(&self.bike, None)?;
        let mut numbers: Vec<u32> = reports.iter().map(|(_, report)| report.baseline).collect();
        numbers.dedup();
        let from = match numbers.as_slice() {
            [one] => format!("setup {one}"),
            several => {
                let all: Vec<_> = several.iter().map(u32::to_string).collect();
                format!("setups {}", all.join(" and "))
            }
        };
        self.record_it(desk, question, (assignments(reports, &whole.fields)?, &from, air))
    }

    fn cells_of_each(
        &self,
        desk: &Desk,
        questions: &[Of<'_, Question<'_>>],
        air_and_where_from: (&AirEntry, &Served),
    ) -> Result<(), Trouble> {
        let now = (desk.moment.now, desk.screen().units());
        let cells = each(questions, |question| self.cells_of(question, air_and_where_from, now))?;
        let answers = cells.iter().map(|(name, cells)| (name.clone(), cells.answer(&self.bike)));
        let whole = OfCylinders(answers.collect());
        if self.csv {
            for (_, question) in questions {
                if let Some(words) = held(question) {
                    desk.screen().note(&words);
                }
            }
            let first = whole.0.first().and_then(|(name, _)| name.split('+').next()).unwrap_or("NAME");
            let cells = whole.the_same_cells().ok_or_else(|| {
                Trouble::request(
                    Some("cylinder"),
                    "The cells of the cylinders differ, and a file holds one map.",
                    format!("Ask for one after the other: --cylinder {first} --cells --csv."),
                )
            })?;
            return write_csv(cells);
        }
        desk.screen().answer(&whole, || whole.text(&desk.screen()))
    }
}

/// Does it for every cylinder; what goes wrong says at which, where it does not at all of them.
fn each<'q, T, D>(
    of: &'q [Of<'_, T>],
    what: impl Fn(&'q T) -> Result<D, Trouble>,
) -> Result<Vec<(String, D)>, Trouble> {
    let (all, wrong) = each_that_can(of, what);
    all_or_none(&all, &wrong)?;
    Ok(all)
}

/// What is done, and what went wrong, by cylinder.
type DoneAndWrong<D> = (Vec<(String, D)>, Vec<(String, Trouble)>);

/// Does it for every cylinder.
fn each_that_can<'q, T, D>(
    of: &'q [Of<'_, T>],
    what: impl Fn(&'q T) -> Result<D, Trouble>,
) -> DoneAndWrong<D> {
    let (mut all, mut wrong) = (Vec::new(), Vec::new());
    for (name, one) in of {
        match what(one) {
            Ok(done) => all.push(((*name).to_owned(), done)),
            Err(trouble) => wrong.push(((*name).to_owned(), trouble)),
        }
    }
    (all, wrong)
}

/// What went wrong as one trouble, where anything did.
fn all_or_none<D>(all: &[(String, D)], wrong: &[(String, Trouble)]) -> Result<(), Trouble> {
    let Some((name, first)) = wrong.first() else { return Ok(()) };
    let is_of_all = all.is_empty() && wrong.iter().all(|(_, other)| other.says_the_same(first));
    let own = || first.clone().of_cylinder(name);
    Err(match all.first() {
        _ if is_of_all => first.clone(),
        Some((other, _)) => {
            let other = other.split('+').next().unwrap_or_default();
            own().or(&format!("--cylinder {other} answers for that one by itself."))
        }
        None => own(),
    })
}

/// What is set: once where all cylinders are to have it and none has its own, else at each of them.
fn assignments(
    reports: &[(String, RejetReport<'_>)],
    whole: &FieldSet,
) -> Result<Vec<Assignment>, EditError> {
    let mut set: Vec<(Option<&str>, &(String, String))> = Vec::new();
    for (name, report) in reports {
        for one in report.to_set {
            let of_all = reports.iter().all(|(_, other)| other.to_set.contains(one));
            let once = !can_be_own(&one.0) || (of_all && whole.owners(&one.0).is_empty());
            // What several share is written for each of them.
            for name in name.split('+') {
                let at = (!once).then_some(name);
                if !set.contains(&(at, one)) {
                    set.push((at, one));
                }
            }
        }
    }
    set.into_iter().map(|(name, one)| assignment(name, one)).collect()
}

fn no_cylinder() -> Trouble {
    Trouble::request(Some("cylinders"), "The engine has no cylinder.", "Name them under [cylinders].")
}
