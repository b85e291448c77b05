//! `rejet --plan`: what to fit before each session of a weekend, from a list of forecast airs.

use std::io;
use std::path::Path;

use super::Rejet;
use crate::advice::RejetRequest;
use crate::advice::asking::Question;
use crate::commands::Desk;
use crate::commands::air_options::{list_of_at_most, set_cell};
use crate::notebook::{AIR_FIELDS, AirEntry};
use crate::quantity::{Quantity, fixed};
use crate::report::jetting::before::{before_all, record_words};
use crate::report::{
    CardCell, Plan, PlanAnswer, PlanLine, Trouble, cell_heads, each_reading, list_with_answers,
};

/// The most sessions of a plan that is read by a person.
const MOST_SESSIONS: usize = 400;
/// The most that are taken by a script: the hours of a season. Each takes some milliseconds.
const MOST_LINES: usize = 2_000;

impl Rejet {
    pub(super) fn show_plan(&self, desk: &Desk, question: &Question<'_>, file: &Path) -> Result<(), Trouble> {
        let list = if self.csv {
            list_of_at_most(file, MOST_LINES)?
                .ok_or_else(|| too_long(file, MOST_LINES, "Give it in parts."))?
        } else {
            let help = "Give the sessions of a weekend, or take the whole list with --csv.";
            list_of_at_most(file, MOST_SESSIONS)?.ok_or_else(|| too_long(file, MOST_SESSIONS, help))?
        };
        let imperial = question.garage.is_imperial();
        let given = self.air.entry(imperial)?;
        let settings = self.settings(question)?;
        let evidence = if self.theory { None } else { Some(question.evidence(&settings)?) };
        let adviser = question.adviser(evidence.as_ref(), &settings, None)?;
        let now = &question.now;
        // Each session begins with the jet of the one before.
        let mut main = now.fields.quantity("jetting.main").map(Quantity::si);
        let mut first = true;
        let mut cautions = Vec::new();
        let mut cell_in = |air: &AirEntry| -> Result<CardCell, Trouble> {
            let air = air.air()?;
            let asked = question.request(air, None)?;
            let main_that_ran = asked.main_that_ran.filter(|_| first);
            let request = RejetRequest { main_on_the_bike: main, main_that_ran, ..asked };
            first = false;
            let answer = adviser.jetting(&request, &question.floors(&air)?)?;
            let cell = CardCell::of(&answer, question.needle(), adviser.lean_risk(&answer));
            main = cell.main.or(main);
            if answer.cautions.len() > cautions.len() {
                cautions = answer.cautions;
            }
            Ok(cell)
        };
        let set = |entry: &mut AirEntry, name: &str, text: &str| set_cell(entry, name, text, imperial);
        if self.csv {
            let heads: Vec<&str> = cell_heads().into_iter().chain(["lean_risk_percent"]).collect();
            let mut sessions = 0_usize;
            list_with_answers(
                (file, list.as_slice()),
                io::stdout().lock(),
                set,
                given.as_ref(),
                &heads,
                |air| {
                    sessions += 1;
                    let cell = cell_in(air)?;
                    let risk = cell.lean_risk.map_or_else(String::new, |risk| fixed(100.0 * risk.0, 2));
                    Ok(cell.csv().into_iter().chain([risk]).collect())
                },
            )?;
            return if sessions == 0 { Err(no_session()) } else { Ok(()) };
        }
        let mut lines = Vec::new();
        each_reading((file, list.as_slice()), set, given.as_ref(), |head, cells, reading| {
            let Some((air, line)) = reading else {
                return Ok(());
            };
            let cell = cell_in(air).map_err(|trouble| trouble.at(file, line))?;
            let words = session_words(head, cells, lines.len() + 1);
            lines.push(PlanLine { words, air: air.clone(), cell });
            Ok(())
        })?;
        if lines.is_empty() {
            return Err(no_session());
        }
        let greatest = lines.iter().filter_map(|line| Some(line.cell.lean_risk?.0)).reduce(f64::max);
        let (record_words, surprise) = record_words(question, &adviser, evidence.as_ref(), greatest)?;
        let plan = PlanAnswer::from(Plan {
            bike: self.bike.clone(),
            baseline: question.baseline.number,
            before: CardCell::on_the_bike(&now.fields),
            moved_on: before_all(question, surprise),
            record_words,
            lines,
            cautions,
        });
        desk.screen().answer(&plan, || plan.text(&desk.screen()))
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

/// The columns that say nothing of the air: the session and the time.
fn session_words(head: &[String], cells: &[String], number: usize) -> String {
    let words: Vec<&str> = head
        .iter()
        .zip(cells)
        .filter(|(name, text)| {
            let known = name.trim().trim_start_matches("--").replace('-', "_");
            !AIR_FIELDS.contains(&known.as_str()) && !text.is_empty()
        })
        .map(|(_, text)| text.as_str())
        .collect();
    if words.is_empty() { format!("session {number}") } else { words.join(" ") }
}
