//! The jetting over a list of forecast airs, for a weekend.

use schemars::JsonSchema;
use serde::Serialize;

use super::cell::{ABOVE_THE_LIMIT, CardCell, jets_words};
use super::record::percent;
use crate::notebook::AirEntry;
use crate::notebook::fields::names::visible;
use crate::report::history::noted_air::NotedAir;
use crate::report::out::screen::Screen;
use crate::report::words::layout::table;

/// What to fit before each session, from a list of forecast airs.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PlanAnswer {
    /// Folder name of the bike.
    bike: String,
    /// Number of the setup it starts from.
    #[schemars(range(min = 1))]
    baseline: u32,
    /// The sessions in the list's order.
    sessions: Vec<PlanSession>,
    /// How much is theory and how much record, in words.
    record: String,
    /// What stands before it, in words: a run that forbids anything leaner, a newest run that the record cannot explain, what differs
    /// on the bike from that setup; null where there is nothing.
    moved_on: Option<String>,
    /// The cautions.
    cautions: Vec<String>,
}

/// One session of a weekend.
#[derive(Debug, Serialize, JsonSchema)]
struct PlanSession {
    /// What to fit.
    #[serde(flatten)]
    cell: CardCell,
    /// The list's other columns: the session, the time.
    session: String,
    /// Its air.
    air: NotedAir,
    /// What to change before it, in words.
    change: String,
}

/// A line of the list: its other columns as typed, its air, and what to fit in it.
pub struct PlanLine {
    /// Its other columns in the list, as typed: the session, the time.
    pub words: String,
    /// Its air.
    pub air: AirEntry,
    /// What to fit.
    pub cell: CardCell,
}

/// A weekend's sessions, before what is to be changed between them is said.
pub struct Plan {
    /// The bike.
    pub bike: String,
    /// Number of the setup it starts from.
    pub baseline: u32,
    /// What is on the bike now.
    pub before: CardCell,
    /// The sessions in the order of the list.
    pub lines: Vec<PlanLine>,
    /// How much of it is theory and how much record, in words.
    pub record_words: String,
    /// What stands before it, in words.
    pub moved_on: Option<String>,
    /// The cautions.
    pub cautions: Vec<String>,
}

impl From<Plan> for PlanAnswer {
    fn from(plan: Plan) -> Self {
        let mut before = plan.before;
        let mut session = |line: PlanLine| {
            let change = before.changes_to(&line.cell);
            before = line.cell.clone();
            PlanSession { cell: line.cell, session: line.words, air: NotedAir::of(&line.air), change }
        };
        Self {
            bike: plan.bike,
            baseline: plan.baseline,
            sessions: plan.lines.into_iter().map(&mut session).collect(),
            record: plan.record_words,
            moved_on: plan.moved_on,
            cautions: plan.cautions,
        }
    }
}

impl PlanAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let cells = || self.sessions.iter().map(|session| &session.cell);
        let what = if cells().any(CardCell::is_injected) { "trim %" } else { jets_words(cells()) };
        let mut lines =
            vec![screen.strong(&format!("{}: plan by session, from setup {}", self.bike, self.baseline))];
        lines.extend(self.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(String::new());
        let rows = self.sessions.iter().map(|session| {
            vec![
                visible(&session.session),
                session.air.in_short(screen),
                session.cell.words(),
                session.cell.lean_risk.map_or_else(|| "-".to_owned(), |risk| percent(risk.0)),
                session.change.clone(),
            ]
        });
        let head = ["session", "air", what, "lean risk", "before it"];
        lines.push(table(&head, rows.collect(), &[3], screen.width()));
        lines.push(String::new());
        if cells().any(|cell| cell.above_limit) {
            lines.push(screen.wrap(ABOVE_THE_LIMIT, 2));
        }
        lines.push(screen.wrap(&self.record, 2));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.join("\n")
    }
}
