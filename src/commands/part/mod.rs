//! `part`: things with hours on them, what happened to each, and when each is due.

mod add;
mod deeds;
mod due;
mod edit;
mod fitting;
mod life;
mod list;
mod show;
mod wear;

use clap::{Args, Subcommand};

use super::Desk;
use crate::advice::parts::Counted;
use crate::notebook::fields::names;
use crate::notebook::{Limits, When, nearest_name};
use crate::quantity::{Hours, QuantityError};
use crate::report::Trouble;
use crate::report::parts::list::Kept;
use crate::store::PartRecord;

/// Keep parts by their hours: fitted, inspected, due
///
/// Hours come from the outings of the engine a part is in, on whichever bike. Hours that nobody knows are never taken for
/// none: the count then says "at least". Fatigue shows nothing beforehand, so staying inside a limit makes nothing safe:
/// the machine's manual rules, and a part that looks, sounds or feels wrong comes out.
#[derive(Debug, Args)]
pub(super) struct PartCommand {
    #[command(subcommand)]
    act: PartAct,
}

#[derive(Debug, Subcommand)]
enum PartAct {
    Due(due::Due),
    List(list::List),
    Show(show::ShowPart),
    Add(add::Add),
    Fit(deeds::Fit),
    Move(deeds::Move),
    Remove(deeds::Remove),
    Inspect(deeds::Inspect),
    Ran(deeds::Ran),
    Renew(deeds::Renew),
    Fail(deeds::Fail),
    Retire(deeds::Retire),
    Edit(edit::Edit),
    Life(life::PartLife),
    Wear(wear::PartWear),
}

impl PartCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            PartAct::Due(due) => due.run(desk, &garage),
            PartAct::List(list) => list.run(desk, &garage),
            PartAct::Show(show) => show.run(desk, &garage),
            PartAct::Add(add) => add.run(desk, &garage),
            PartAct::Fit(fit) => fit.run(desk, &garage),
            PartAct::Move(moved) => moved.run(desk, &garage),
            PartAct::Remove(remove) => remove.run(desk, &garage),
            PartAct::Inspect(inspect) => inspect.run(desk, &garage),
            PartAct::Ran(ran) => ran.run(desk, &garage),
            PartAct::Renew(renew) => renew.run(desk, &garage),
            PartAct::Fail(fail) => fail.run(desk, &garage),
            PartAct::Retire(retire) => retire.run(desk, &garage),
            PartAct::Edit(edit) => edit.run(desk, &garage),
            PartAct::Life(life) => life.run(desk),
            PartAct::Wear(wear) => wear.run(desk),
        }
    }
}

/// When something was done, by whom, and anything else.
#[derive(Debug, Clone, Default, Args)]
struct Told {
    /// When, if not now: 2026-05-16, "2026-05-16 18:00"; a day without a time is its noon
    #[arg(long)]
    date: Option<String>,
    /// Who did it
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Anything else
    #[arg(long, short, value_name = "WORDS")]
    note: Option<String>,
}

impl Told {
    fn date(&self, desk: &Desk) -> Result<Option<When>, Trouble> {
        let here = desk.moment.now.offset();
        Ok(self.date.as_deref().map(|text| When::parse(text, here)).transpose()?)
    }

    /// What was said, as fields of an event.
    fn said(&self) -> Vec<(&'static str, String)> {
        let said = [("by", &self.by), ("note", &self.note)];
        said.into_iter().filter_map(|(name, text)| Some((name, text.clone()?))).collect()
    }
}

impl Counted {
    /// A part with how it stands.
    fn kept(&self, record: &PartRecord) -> Kept {
        Kept { record: record.clone(), standing: self.ledger(None).standing(record) }
    }
}

/// What is to be said of the limits of a kind: nothing where there are some.
fn kind_remark(kind: &str, limits: &Limits, has_own: bool) -> Option<String> {
    if limits.parts.contains_key(kind) {
        return None;
    }
    let known = || limits.parts.keys().map(String::as_str);
    let near = nearest_name(kind, known()).map(|near| format!(" Did you mean {near}?")).unwrap_or_default();
    let own = if has_own { "; it goes by its own" } else { "" };
    let have = if limits.parts.is_empty() {
        "It has none at all.".to_owned()
    } else {
        format!("It has limits for {}.", known().collect::<Vec<_>>().join(", "))
    };
    Some(format!(
        "configs/limits.toml has no limits for the kind {}{own}.{near} {have}",
        names::visible(kind)
    ))
}

/// Hours as typed, 0 or more, said by an option or an argument of that name.
fn hours_typed(name: &str, typed: &str) -> Result<f64, Trouble> {
    let hours: Hours = typed
        .parse()
        .map_err(|error: QuantityError| Trouble::request(Some(name), error.to_string(), error.help()))?;
    if hours.si() < 0.0 {
        let message = format!("{hours} is less than nothing.");
        return Err(Trouble::request(Some(name), message, "Write hours of 0 or more, like \"3 h\"."));
    }
    Ok(hours.si() / 3600.0)
}

/// Accepts a kind of part.
fn check_kind(kind: &str, limits: &Limits) -> Result<(), Trouble> {
    let Err(error) = names::check(kind) else {
        return Ok(());
    };
    let typed = kind.trim().to_lowercase().replace(' ', "-");
    let near = nearest_name(&typed, limits.parts.keys().map(String::as_str));
    let message = error.to_string().replacen("The name", "The kind", 1);
    let help = match near {
        Some(near) => {
            format!("Did you mean {near}? Parts of one kind share their limits, so it is written one way.")
        }
        None => "Write it like piston or main-bearing: lower-case letters, digits, '-' or '_'.".to_owned(),
    };
    Err(Trouble::request(Some("kind"), message, help))
}
