//! The jetting over a list of forecast airs, for a weekend.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::record::percent;
use super::cell::{ABOVE_THE_LIMIT, CardCell, NOTHING, OVER, jets_words};
use crate::advice::cautions::for_sessions;
use crate::notebook::AirEntry;
use crate::notebook::fields::cylinder::{at_cylinder, named_together, said_of_all, said_of_several};
use crate::notebook::fields::names::visible;
use crate::report::history::noted_air::NotedAir;
use crate::report::jetting::in_part::InPart;
use crate::report::out::each::OfCylinders;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{NARROW, table, table_of_names};

/// What stands in a cell of an injected bike.
const TRIM: &str = "trim %";

/// So many columns of jets have room beside the sessions and what is done before them.
const MOST_COLUMNS: usize = 2;

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
    /// What forbids anything leaner, or is to be cleared up before it is run, in words; null where nothing does.
    held: Option<String>,
    /// That every session is over by its time, in words; null while one is to come.
    over: Option<String>,
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
    /// Whether it is over by its day and time: nothing is changed for it, and the session after it finds what is on the bike now.
    over: bool,
    /// Whether what is changed before it takes fuel away at any throttle.
    takes_fuel_away: bool,
    /// What to change before it, in words.
    change: String,
    /// The same one by one; none where everything stays.
    #[serde(skip)]
    changes: Vec<String>,
}

/// A line of the list: its other columns as typed, its air, and what to fit in it.
pub struct PlanLine {
    /// Its other columns in the list, as typed: the session, the time.
    pub words: String,
    /// Its air.
    pub air: AirEntry,
    /// What to fit.
    pub cell: CardCell,
    /// Whether it is over.
    pub is_over: bool,
    /// Whether that takes fuel away from what is on the bike until then.
    pub takes_fuel_away: bool,
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
    /// What forbids anything leaner.
    pub held: Option<String>,
    /// Whether it is an injected bike.
    pub injected: bool,
}

impl From<Plan> for PlanAnswer {
    fn from(plan: Plan) -> Self {
        let mut before = plan.before;
        let leaner: Vec<String> =
            plan.lines.iter().filter(|line| line.takes_fuel_away).map(|line| visible(&line.words)).collect();
        let leaner: Vec<&str> = leaner.iter().map(String::as_str).collect();
        let over = plan.lines.iter().all(|line| line.is_over).then(|| all_over(plan.lines.as_slice()));
        let mut session = |line: PlanLine| {
            let changes = if line.is_over { Vec::new() } else { before.changes_to(&line.cell) };
            let change = match changes.as_slice() {
                _ if line.is_over => OVER.to_owned(),
                [] => NOTHING.to_owned(),
                changes => changes.join(", "),
            };
            if !line.is_over {
                before = line.cell.clone();
            }
            PlanSession {
                cell: line.cell,
                session: line.words,
                air: NotedAir::of(&line.air),
                over: line.is_over,
                takes_fuel_away: line.takes_fuel_away,
                change,
                changes,
            }
        };
        Self {
            bike: plan.bike,
            baseline: plan.baseline,
            sessions: plan.lines.into_iter().map(&mut session).collect(),
            record: plan.record_words,
            moved_on: plan.moved_on,
            held: plan.held,
            over,
            cautions: for_sessions(&leaner, plan.injected),
        }
    }
}

/// That nothing is left to be fitted for.
fn all_over(lines: &[PlanLine]) -> String {
    let last = lines.last().map(|line| visible(&line.words)).unwrap_or_default();
    match lines {
        [_] => format!("{last} is over by its time: nothing is to be fitted for it."),
        _ => format!(
            "every session of this plan is over by its time, {last} the last: nothing is to be fitted for them."
        ),
    }
}

impl InPart<PlanAnswer> {
    /// For a person: a line for each session, with a column of jets for each cylinder; one column where all have the same.
    pub fn text(&self, screen: &Screen) -> String {
        let bike = self.each.0.first().map_or("", |(_, plan)| &plan.bike);
        let mut lines = self.stops(bike, screen);
        lines.push(self.each.text(self.is_whole(), screen));
        lines.join("\n")
    }
}

impl OfCylinders<PlanAnswer> {
    fn text(&self, of_all: bool, screen: &Screen) -> String {
        let Some((_, first)) = self.0.first() else { return String::new() };
        if of_all && self.alike(PlanAnswer::jets).is_some() {
            let record = said_of_all(&self.of_each(|plan| vec![plan.record.clone()]), |name, record| {
                at_cylinder(name, record)
            });
            return first.text_with(&record, screen);
        }
        if let Some(over) = &first.over {
            let moved_on = self.of_each(|plan| Vec::from_iter(plan.moved_on.clone()));
            return first.nothing_to_come(
                over,
                &said_of_all(&moved_on, |name, words| at_cylinder(name, words)),
                screen,
            );
        }
        let baselines =
            said_of_all(&self.of_each(|plan| vec![format!("setup {}", plan.baseline)]), |name, setup| {
                format!("{setup} ({})", visible(name))
            });
        let head = format!("{}: plan by session, from {}", first.bike, baselines.join(" and "));
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        let moved_on =
            said_of_all(&self.of_each(|plan| Vec::from_iter(plan.moved_on.clone())), |name, words| {
                at_cylinder(name, words)
            });
        lines.extend(moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(String::new());
        let all = || self.0.iter().flat_map(|(_, plan)| &plan.sessions);
        lines.push(self.sessions(of_all, screen));
        lines.push(String::new());
        if all().any(|session| session.cell.above_limit) {
            lines.push(screen.wrap(ABOVE_THE_LIMIT, 2));
        }
        let record = said_of_several(&self.of_each(|plan| vec![plan.record.clone()]), |name, record| {
            at_cylinder(name, record)
        });
        lines.extend(record.iter().map(|record| screen.wrap(record, 2)));
        let cautions = said_of_all(&self.of_each(|plan| plan.cautions.clone()), |_, caution| caution.clone());
        lines.push(screen.wrap(&format!("CAUTION  {}", cautions.join(" ")), 9));
        lines.join("\n")
    }
}

impl OfCylinders<PlanAnswer> {
    /// A line for each session, with a column for those that are alike; of more columns than a screen has room for a line for each.
    fn sessions(&self, of_all: bool, screen: &Screen) -> String {
        let Some((_, first)) = self.0.first() else { return String::new() };
        let all = || self.0.iter().flat_map(|(_, plan)| &plan.sessions);
        let what = if all().any(|session| session.cell.is_injected()) {
            TRIM
        } else {
            jets_words(all().map(|session| &session.cell))
        };
        let groups = self.groups(PlanAnswer::jets);
        // What they are called together has room for its names, and breaks between them.
        let called: Vec<String> =
            groups.iter().map(|(_, names, _)| visible(&named_together(names))).collect();
        let risk = |names: &[&str], at: usize| {
            let plans = self.0.iter().filter(|(name, _)| names.contains(&name.as_str()));
            let risks = plans.filter_map(|(_, plan)| Some(plan.sessions.get(at)?.cell.lean_risk?.0));
            risks.reduce(f64::max).map_or_else(|| "-".to_owned(), percent)
        };
        let before_it = |session: &PlanSession, changes: &[String]| match changes {
            _ if session.over => OVER.to_owned(),
            [] => NOTHING.to_owned(),
            changes => changes.join(", "),
        };
        let legend = |whose: &str| format!("{whose}: {what}");
        if groups.len() > MOST_COLUMNS {
            let narrow = screen.width() < NARROW;
            let rows = first.sessions.iter().enumerate().flat_map(|(at, session)| {
                // The session stands in its first line, its air in the next.
                let (name, air) = (visible(&session.session), session.air.in_short(screen));
                let mut said =
                    if narrow { vec![format!("{name}, {air}")] } else { vec![name, air] }.into_iter();
                let mut rows = Vec::new();
                for ((_, names, plan), called) in groups.iter().zip(&called) {
                    let own = plan.sessions.get(at).unwrap_or(session);
                    rows.push(vec![
                        said.next().unwrap_or_default(),
                        called.clone(),
                        own.cell.words(),
                        risk(names, at),
                        before_it(own, &own.changes),
                    ]);
                }
                rows
            });
            let head = ["session", "cylinder", "jets", "lean risk", "before it"];
            let head =
                if what == TRIM { ["session", "cylinder", "trim", "lean risk", "before it"] } else { head };
            return format!("{}\n{}", table_of_names(&head, rows.collect(), screen.width()), legend(head[2]));
        }
        let rows = first.sessions.iter().enumerate().map(|(at, session)| {
            let mut changes = self.of_each(|plan| {
                plan.sessions.get(at).map_or_else(Vec::new, |session| session.changes.clone())
            });
            if !of_all {
                // With those that have none nothing is of all.
                changes.push(("", Vec::new()));
            }
            // Of one group its column says whose they are.
            let changes = match groups.as_slice() {
                [(.., plan)] => plan.sessions.get(at).map_or_else(Vec::new, |own| own.changes.clone()),
                _ => said_of_several(&changes, |name, change| format!("{} {change}", visible(name))),
            };
            let cells = groups.iter().filter_map(|(.., plan)| Some(plan.sessions.get(at)?.cell.words()));
            let names: Vec<&str> = self.0.iter().map(|(name, _)| name.as_str()).collect();
            [visible(&session.session), session.air.in_short(screen)]
                .into_iter()
                .chain(cells)
                .chain([risk(&names, at), before_it(session, &changes)])
                .collect()
        });
        let head: Vec<&str> = ["session", "air"]
            .into_iter()
            .chain(called.iter().map(String::as_str))
            .chain(["lean risk", "before it"])
            .collect();
        let table = table(&head, rows.collect(), &[2 + called.len()], screen.width());
        format!(
            "{table}\n{}: {what}",
            self.0.iter().map(|(name, _)| visible(name)).collect::<Vec<_>>().join(", ")
        )
    }
}

impl PlanAnswer {
    /// What is fitted in each session, and what is done before it.
    fn jets(&self) -> Vec<(String, Vec<String>)> {
        self.sessions.iter().map(|session| (session.cell.words(), session.changes.clone())).collect()
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        self.text_with(std::slice::from_ref(&self.record), screen)
    }

    /// Of a plan whose sessions are over: what to do in its place.
    fn nothing_to_come(&self, over: &str, moved_on: &[String], screen: &Screen) -> String {
        let mut lines = vec![screen.strong(&screen.wrap(&format!("{}: {over}", self.bike), 2))];
        lines.extend(moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(
            "Write what is still to come into the list, each with its day and time. For now:".to_owned(),
        );
        lines.push(format!("  reedbook rejet {}", self.bike));
        lines.join("\n")
    }

    fn text_with(&self, record: &[String], screen: &Screen) -> String {
        if let Some(over) = &self.over {
            return self.nothing_to_come(over, self.moved_on.as_slice(), screen);
        }
        let cells = || self.sessions.iter().map(|session| &session.cell);
        let what = if cells().any(CardCell::is_injected) { TRIM } else { jets_words(cells()) };
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
        lines.extend(record.iter().map(|record| screen.wrap(record, 2)));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.join("\n")
    }
}
