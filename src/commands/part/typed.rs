//! What is typed of a part: when and by whom, hours, its kind.

use clap::Args;

use crate::advice::parts::Counted;
use crate::commands::desk::Desk;
use crate::notebook::fields::names;
use crate::notebook::{Limits, When, nearest_name};
use crate::quantity::{Hours, QuantityError};
use crate::report::Trouble;
use crate::report::parts::list::Kept;
use crate::store::{Book, Garage, PartRecord};

/// When something was done, by whom, and anything else.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct Told {
    /// When, if not now: 2026-05-16, "2026-05-16 18:00"; a day without a time is its noon
    #[arg(long)]
    pub(super) date: Option<String>,
    /// Who did it
    #[arg(long, value_name = "NAME")]
    pub(super) by: Option<String>,
    /// Anything else
    #[arg(long, short, value_name = "WORDS")]
    pub(super) note: Option<String>,
}

impl Told {
    pub(super) fn date(&self, desk: &Desk) -> Result<Option<When>, Trouble> {
        let here = desk.moment.now.offset();
        Ok(self.date.as_deref().map(|text| When::parse(text, here)).transpose()?)
    }

    /// What was said, as fields of an event.
    pub(super) fn said(&self) -> Vec<(&'static str, String)> {
        let said = [("by", &self.by), ("note", &self.note)];
        said.into_iter().filter_map(|(name, text)| Some((name, text.clone()?))).collect()
    }
}

impl Counted {
    /// A part with how it stands.
    pub(super) fn kept(&self, record: &PartRecord) -> Kept {
        Kept { record: record.clone(), standing: self.ledger(None).standing(record) }
    }
}

/// What is to be said of the limits of a kind: nothing where there are some.
pub(super) fn kind_remark(kind: &str, limits: &Limits, has_own: bool) -> Option<String> {
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
pub(super) fn hours_typed(name: &str, typed: &str) -> Result<f64, Trouble> {
    let hours: Hours = typed
        .parse()
        .map_err(|error: QuantityError| Trouble::request(Some(name), error.to_string(), error.help()))?;
    if hours.si() < 0.0 {
        let message = format!("{hours} is less than nothing.");
        return Err(Trouble::request(Some(name), message, "Write hours of 0 or more, like \"3 h\"."));
    }
    Ok(hours.si() / 3600.0)
}

/// Accepts a kind of part; one that is nearly a known one only where it is said to be right, or other parts have it.
pub(super) fn check_kind(garage: &Garage, kind: &str, limits: &Limits, sure: bool) -> Result<(), Trouble> {
    let Err(error) = names::check(kind) else {
        if sure || limits.parts.contains_key(kind) {
            return Ok(());
        }
        let near = nearest_name(kind, limits.parts.keys().map(String::as_str));
        // A piston-pin or a reed-block is no slip of the pen.
        let is_longer = |near: &&str| kind.split('-').any(|word| word == *near);
        let Some(near) = near.filter(|near| !is_longer(near)) else { return Ok(()) };
        if Book::open(garage)?.parts()?.iter().any(|known| known.part.kind == kind) {
            return Ok(());
        }
        return Err(Trouble::request(
            Some("kind"),
            format!("There is no kind {}. Nothing was recorded.", names::visible(kind)),
            format!(
                "Did you mean {near}? Parts of one kind share their limits. If it is a kind of your own, say --sure."
            ),
        ));
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
