//! The history of a bike: its setups, newest first, each with its outings and verdicts.

pub(in crate::report) mod brief;
pub(super) mod changes;
pub(in crate::report) mod compare;
pub mod proven;
pub mod recorded;
pub mod rolled_back;
pub mod show;
pub mod sides;
pub(super) mod step;

use std::collections::{BTreeMap, HashMap};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Serialize;

use crate::advice::building::{Happened, PartThen, What};
use crate::notebook::fields::names::visible;
use crate::notebook::{BikeDocument, Comparison, Deed, FieldSet, Proven, part_at};
use crate::report::building::list::BuildListed;
use crate::report::history::noted_air::NotedAir;
use crate::report::history::outing::{OutingEntry, OutingList};
use crate::report::history::setups::brief::in_few_words;
use crate::report::history::setups::changes::FieldChange;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{DATE, count, day, first_line};
use crate::store::{CommitSignature, OutingRecord, SetupRecord, SignatureState};

/// Lines of a reason that are shown beside the first.
const MORE_LINES: usize = 5;

/// What a setup changed, and the two that were compared.
#[derive(Debug)]
pub struct Compared {
    /// What differs.
    pub comparison: Comparison,
    /// The setup before.
    pub before: FieldSet,
    /// The setup itself.
    pub after: FieldSet,
    /// The setup of the line above, where another side recorded the very same.
    pub same_as: Option<u32>,
    /// The setup that it was made on, where that is not the one of the line above: two sides recorded at once.
    pub made_on: Option<u32>,
    /// Numbers of the setups that it was put together of; none where a choice of two sides did not.
    pub combined_of: Vec<u32>,
}

/// What there is to tell of a bike.
pub struct History<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Its document.
    pub document: &'a BikeDocument,
    /// Its setups, oldest first.
    pub setups: &'a [SetupRecord],
    /// Its outings, oldest first.
    pub outings: &'a [OutingRecord],
    /// What happened to its engines beside the setups, by the number of the setup it is told with.
    pub happened: &'a HashMap<u32, Vec<Happened>>,
    /// What each setup that is shown changed, by its number.
    pub compared: &'a HashMap<u32, Compared>,
    /// How many setups to show, all when none.
    pub most: Option<usize>,
    /// The signatures of their commits, where they are asked for.
    pub signatures: Option<&'a BTreeMap<String, CommitSignature>>,
    /// Who logged its runs, by their identities.
    pub logged: BTreeMap<String, String>,
    /// What else should be known.
    pub remarks: Vec<String>,
}

/// A bike's setups with their outings.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HistoryAnswer<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// Setups, newest first.
    pub(super) setups: Vec<SetupEntry<'a>>,
    /// Its runs in the order that was asked for; null where none was.
    ran: Option<OutingList<'a>>,
    /// The bike by the name its owner calls it.
    #[serde(skip)]
    pub(super) title: Option<&'a str>,
    /// How many setups and outings there are, shown or not.
    #[serde(skip)]
    pub(super) counts: (usize, usize),
    /// Outings whose setup is not known, oldest first.
    #[serde(skip)]
    pub(super) unplaced: Vec<OutingEntry<'a>>,
    /// What else should be known.
    #[serde(skip)]
    pub(super) remarks: Vec<String>,
}

/// A setup, and what was done with it.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SetupEntry<'a> {
    /// Number of the setup.
    #[schemars(range(min = 1))]
    pub(super) number: u32,
    /// Git commit that recorded it, 40 hex digits.
    #[schemars(regex(pattern = COMMIT))]
    commit: &'a str,
    /// When it was recorded, with its offset, like 2026-05-16T10:30+02:00.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// Who recorded it, as git knows it.
    author: &'a str,
    /// What git says of its commit's signature; null where that was not asked, or there is no git.
    signature: Option<SignatureEntry>,
    /// The reason, as given.
    pub(super) why: &'a str,
    /// Fields that differ from the setup that it was made from; empty for the first.
    changes: Vec<FieldChange<'a>>,
    /// Why it was recorded although a run or a rule spoke against it; null where nothing did.
    despite: Option<&'a str>,
    /// Whether it was put together of two sides' setups: nobody had run it then.
    combined: bool,
    /// The setup that it was made on, where that is not the one before it: two sides recorded at once; not there otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "u32")]
    made_on: Option<u32>,
    /// Numbers of the setups that it was put together of; not there where it was not, or they are not known.
    #[serde(skip_serializing_if = "<[u32]>::is_empty")]
    combined_of: &'a [u32],
    /// Whether it is marked proven.
    pub(super) proven: bool,
    /// Air noted with the change.
    air: Option<NotedAir>,
    /// Engine that was in the bike.
    pub(super) engine: Option<&'a str>,
    /// Identity of the setup: 12 hex digits, or a commit's 40 where plain git recorded it.
    #[schemars(regex(pattern = "^([0-9a-f]{12}|[0-9a-f]{40})$"))]
    id: &'a str,
    /// Outings on this setup, oldest first.
    pub(super) outings: Vec<OutingEntry<'a>>,
    /// Builds of its engine that are told with it.
    builds: Vec<BuildListed>,
    /// What was done to parts of its engine.
    parts: Vec<PartChange<'a>>,
    /// What is recorded of it.
    #[serde(skip)]
    pub(super) record: &'a SetupRecord,
    /// What was changed, in a few words each, in the order in which it is done at the bike.
    #[serde(skip)]
    pub(super) changed: Vec<String>,
    /// The setup of another side that is the very same, recorded at once.
    #[serde(skip)]
    pub(super) same_as: Option<u32>,
    /// Its mark, where it is proven.
    #[serde(skip)]
    mark: Option<&'a Proven>,
    /// Builds and parts by date; parts that were treated alike at one moment together.
    #[serde(skip)]
    pub(super) happened: &'a [Happened],
    /// Who recorded it, where several record in this bike's history.
    #[serde(skip)]
    pub(super) by: Option<String>,
}

/// What git says of a commit's signature.
#[derive(Debug, Serialize, JsonSchema)]
struct SignatureEntry {
    /// "unsigned", "good", "unknown-key", "expired", "revoked", "bad", "not-checked".
    state: SignedAs,
    /// Who signed, as the user's git knows them; null where that is not known.
    who: Option<String>,
    /// The key; null where there is none.
    key: Option<String>,
}

/// How a commit is signed.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum SignedAs {
    /// Not at all.
    Unsigned,
    /// By somebody the user's git trusts.
    Good,
    /// Whose key it is, is not known.
    UnknownKey,
    /// The signature or its key has expired.
    Expired,
    /// The key was revoked.
    Revoked,
    /// Not of what the commit says.
    Bad,
    /// It could not be looked at.
    NotChecked,
}

impl SignatureEntry {
    fn of(signature: &CommitSignature) -> Self {
        let state = match signature.state {
            SignatureState::Unsigned => SignedAs::Unsigned,
            SignatureState::Good => SignedAs::Good,
            SignatureState::UnknownKey => SignedAs::UnknownKey,
            SignatureState::Expired => SignedAs::Expired,
            SignatureState::Revoked => SignedAs::Revoked,
            SignatureState::Bad => SignedAs::Bad,
            SignatureState::NotChecked => SignedAs::NotChecked,
        };
        Self { state, who: signature.who.clone(), key: signature.key.clone() }
    }

    /// "signed by ben@example.org".
    fn words(&self) -> String {
        let who = self.who.as_deref().map(|who| format!(" by {}", visible(who))).unwrap_or_default();
        match self.state {
            SignedAs::Unsigned => "not signed".to_owned(),
            SignedAs::Good => format!("signed{who}"),
            SignedAs::UnknownKey => "signed with a key that nobody here knows".to_owned(),
            SignedAs::Expired => format!("signed{who}, expired"),
            SignedAs::Revoked => format!("signed{who} with a revoked key"),
            SignedAs::Bad => "FALSE SIGNATURE".to_owned(),
            SignedAs::NotChecked => "signed, not checked".to_owned(),
        }
    }
}

/// What was done to a part.
#[derive(Debug, Serialize, JsonSchema)]
struct PartChange<'a> {
    /// When.
    date: String,
    /// What was done.
    #[schemars(schema_with = "told_deeds")]
    did: Deed,
    /// Name of the part.
    part: &'a str,
    /// Its kind.
    kind: &'a str,
    /// What it had run by then, in words.
    hours: &'a str,
    /// The cylinder it was at, of an engine with several; not there where it was at none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<&'a str>,
}

/// The changes that count anywhere.
fn changes_used(compared: &Compared) -> Vec<FieldChange<'_>> {
    let mut changes = FieldChange::all(&compared.comparison);
    changes.retain(|change| is_used(compared, change.field()));
    changes
}

/// Whether a field counts anywhere: what every cylinder has of its own is used nowhere as it is written for all.
fn is_used(Compared { before, after, .. }: &Compared, field: &str) -> bool {
    let names = after.cylinders();
    names.is_empty() || after.owners(field).len() < names.len() || before.owners(field).len() < names.len()
}

/// A commit as answers name it.
pub(super) const COMMIT: &str = "^[0-9a-f]{40}$";

/// What is told of parts in a history: hours that they ran elsewhere are not.
fn told_deeds(_: &mut SchemaGenerator) -> Schema {
    let told: Vec<_> = Deed::ALL.into_iter().filter(|deed| *deed != Deed::Ran).map(Deed::word).collect();
    json_schema!({ "enum": told })
}

impl<'a> HistoryAnswer<'a> {
    /// The answer, of what there is to tell.
    pub fn of(history: History<'a>) -> Self {
        let mut by_setup: BTreeMap<Option<u32>, Vec<OutingEntry<'a>>> = BTreeMap::new();
        for record in history.outings {
            by_setup.entry(record.setup).or_default().push(OutingEntry::of(record).by(&history.logged));
        }
        let newest_first = history.setups.iter().rev().take(history.most.unwrap_or(usize::MAX));
        let entry = |setup: &'a SetupRecord| {
            let ran = by_setup.remove(&Some(setup.number)).unwrap_or_default();
            let happened = history.happened.get(&setup.number).map(Vec::as_slice).unwrap_or_default();
            let compared = history.compared.get(&setup.number);
            SetupEntry::of(setup, history.document.proven.get(&setup.id), (ran, happened), compared)
        };
        let mut setups: Vec<SetupEntry<'a>> = newest_first.map(entry).collect();
        let several = history.setups.iter().any(|setup| setup.author != history.setups[0].author);
        for setup in setups.iter_mut().filter(|_| several || history.signatures.is_some()) {
            let signature = history.signatures.and_then(|all| all.get(setup.commit));
            setup.signature = signature.map(SignatureEntry::of);
            let signed = setup.signature.as_ref().map(|signature| format!(" ({})", signature.words()));
            setup.by = Some(format!("{}{}", setup.author, signed.unwrap_or_default()));
        }
        Self {
            bike: history.bike,
            setups,
            ran: None,
            title: history.document.title.as_deref(),
            counts: (history.setups.len(), history.outings.len()),
            unplaced: by_setup.remove(&None).unwrap_or_default(),
            remarks: history.remarks,
        }
    }

    /// The same with its runs in an order that was asked for.
    #[must_use]
    pub fn in_order(self, runs: Option<OutingList<'a>>) -> Self {
        Self { ran: runs, ..self }
    }

    /// For a person: its runs in the order that was asked for; else a table, or with -v and on a narrow screen everything that is known.
    pub fn text(&self, screen: &Screen) -> String {
        if let Some(runs) = &self.ran {
            let remarks = self.remarks.iter().map(|remark| screen.known(remark));
            return remarks.chain([runs.text(screen)]).collect::<Vec<_>>().join("\n");
        }
        if screen.verbose() { self.whole(screen) } else { self.brief(screen) }
    }

    /// Everything that is known.
    fn whole(&self, screen: &Screen) -> String {
        let title = self.title.map(|title| format!(" ({})", first_line(title))).unwrap_or_default();
        let head = format!(
            "{}{title}: {}, {}, newest first",
            self.bike,
            count(self.counts.0, "setup"),
            count(self.counts.1, "outing")
        );
        let mut lines = vec![screen.wrap(&head, 2)];
        for setup in &self.setups {
            lines.push(String::new());
            lines.extend(setup.lines(screen));
            lines.extend(setup.told_by_date(screen));
        }
        if !self.unplaced.is_empty() {
            lines.push(String::new());
            lines.push("Outings whose setup is not known:".into());
            let unplaced = self.unplaced.iter().map(|outing| format!("    {}", outing.line_by(screen)));
            lines.extend(unplaced.map(|line| screen.wrap(&line, 8)));
        }
        if !self.remarks.is_empty() {
            lines.push(String::new());
            lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        }
        lines.join("\n")
    }
}

impl<'a> SetupEntry<'a> {
    fn of(
        setup: &'a SetupRecord,
        mark: Option<&'a Proven>,
        (outings, happened): (Vec<OutingEntry<'a>>, &'a [Happened]),
        compared: Option<&'a Compared>,
    ) -> Self {
        Self {
            number: setup.number,
            commit: &setup.commit,
            date: setup.date.to_string(),
            author: &setup.author,
            signature: None,
            why: &setup.why,
            changes: compared.map(changes_used).unwrap_or_default(),
            changed: compared.map(in_few_words).unwrap_or_default(),
            same_as: compared.and_then(|compared| compared.same_as),
            despite: setup.despite.as_deref(),
            combined: setup.combined,
            made_on: compared.and_then(|compared| compared.made_on),
            combined_of: compared.map_or(&[], |compared| &compared.combined_of),
            proven: mark.is_some(),
            air: setup.air.as_ref().map(NotedAir::of),
            engine: setup.engine.as_deref(),
            id: &setup.id,
            outings,
            builds: happened.iter().filter_map(built).collect(),
            parts: happened.iter().flat_map(parts).collect(),
            record: setup,
            mark,
            happened,
            by: None,
        }
    }

    /// What is to be known of a setup that was put together of two.
    pub(super) fn combined_words(&self) -> Option<String> {
        let of = match self.combined_of {
            [one, other] => format!(" of {one} and {other}"),
            _ => String::new(),
        };
        let words = if self.outings.is_empty() { ", never run" } else { "" };
        self.combined.then(|| format!("combined{of}{words}"))
    }

    fn lines(&self, screen: &Screen) -> Vec<String> {
        let proven = self.mark.map(|mark| format!("  PROVEN {}", mark.date.day())).unwrap_or_default();
        let by = self.by.as_ref().map(|by| format!("  {}", visible(by))).unwrap_or_default();
        let head = format!("{:>3}  {}{by}{proven}", self.number, day(self.record.date));
        let mut lines = vec![screen.strong(&head)];
        let air = self.air.as_ref().map(|air| format!("  [{}]", air.in_short(screen))).unwrap_or_default();
        // Where sides were brought together, what was chosen stands under the reason.
        let mut why = self.why.lines().map(str::trim).filter(|line| !line.is_empty());
        lines.push(screen.wrap(&format!("     {}{air}", visible(why.next().unwrap_or_default())), 5));
        lines.extend(why.take(MORE_LINES).map(|line| screen.wrap(&format!("     {}", visible(line)), 5)));
        // All of what was changed: the short table names the first few.
        if !self.changed.is_empty() {
            lines.push(screen.wrap(&format!("     changed: {}", self.changed.join(", ")), 7));
        }
        lines.extend(self.same_as.map(|number| format!("     the same as setup {number}")));
        if let Some(despite) = self.despite {
            lines.push(screen.wrap(&format!("     despite a warning: {}", first_line(despite)), 5));
        }
        lines.extend(self.combined_words().map(|words| format!("     {words}")));
        if !self.record.readable {
            lines.push("     its files cannot be read".into());
        }
        if let Some(why) = self.mark.and_then(|mark| mark.why.as_ref()) {
            lines.push(screen.wrap(&format!("     proven: {}", first_line(why)), 5));
        }
        lines
    }

    /// What happened in it by date: outings, builds and parts.
    fn told_by_date(&self, screen: &Screen) -> Vec<String> {
        let outings = self
            .outings
            .iter()
            .map(|outing| (outing.record.outing.date, format!("ran {}", outing.line_by(screen))));
        let engine = self.engine.unwrap_or_default();
        let inside = self.happened.iter().map(|one| (one.date, happened_words(engine, one)));
        let mut told: Vec<_> = inside.chain(outings).collect();
        told.sort_by_key(|(date, _)| *date);
        told.iter().map(|(_, words)| screen.wrap(&format!("     {words}"), 8)).collect()
    }
}

fn built(one: &Happened) -> Option<BuildListed> {
    match &one.what {
        What::Built(ready) => Some(BuildListed::from(ready.as_ref())),
        What::Parts(..) => None,
    }
}

fn parts(one: &Happened) -> Vec<PartChange<'_>> {
    let What::Parts(did, parts) = &one.what else { return Vec::new() };
    parts
        .iter()
        .map(|part| PartChange {
            date: one.date.to_string(),
            did: *did,
            part: &part.name,
            kind: &part.kind,
            hours: &part.hours,
            cylinder: part.cylinder.as_deref(),
        })
        .collect()
}

/// A build or parts on one line; parts that are new in the book have no hours to tell.
fn happened_words(engine: &str, one: &Happened) -> String {
    match &one.what {
        What::Built(ready) => format!("built {}", BuildListed::from(ready.as_ref()).line()),
        What::Parts(did, parts) => {
            let names: Vec<_> = parts
                .iter()
                .map(|PartThen { name, kind, hours, cylinder }| {
                    let kind = if name.contains(kind.as_str()) { String::new() } else { format!("{kind}, ") };
                    format!("{} ({kind}{hours})", part_at(name, cylinder.as_deref()))
                })
                .collect();
            let place = match did {
                Deed::Fitted => "to",
                did if did.takes_out() => "out of",
                _ => "in",
            };
            format!("{} {} {place} {engine}: {}", did.word(), one.date.short(), names.join(", "))
        }
    }
}
