//! `sheet van`: what is taken along to the next event.

use std::path::PathBuf;

use clap::Args;

use crate::advice::along::{Airs, jets_along};
use crate::advice::asking::{Question, Terms};
use crate::advice::conditions::kept::Served;
use crate::advice::figures::Bench;
use crate::advice::figures::fuel::oil_for;
use crate::advice::now::{Glance, glance};
use crate::advice::parts::{Counted, Ledger, bores, to_take};
use crate::commands::desk::Desk;
use crate::commands::options::air::AirOptions;
use crate::commands::sheet::file::{bikes_meant, write};
use crate::notebook::FieldSet;
use crate::quantity::trimmed;
use crate::report::all_worded;
use crate::report::history::now::NowAnswer;
use crate::report::jetting::first::before::require_the_same_injection;
use crate::report::page::van::{VanBike, VanSheet};
use crate::report::page::written::PageAnswer;
use crate::report::parts::due::PartDueAnswer;
use crate::report::{Trouble, capital};
use crate::store::Book;

/// Petrol for which oil is told, l.
const PETROL_L: f64 = 10.0;

/// What to take along to the next event
///
/// The jets are for the air that is typed or kept; without one for the thinnest and the densest in which the bike ran, at --place
/// where it ran there.
#[derive(Debug, Args)]
pub(super) struct VanList {
    /// The bikes; all that are not retired where none is named
    bikes: Vec<String>,
    /// Where it goes
    #[arg(long, short)]
    place: Option<String>,
    /// For A5
    #[arg(long)]
    small: bool,
    /// The file; otherwise van.html in the current folder
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    #[command(flatten)]
    air: AirOptions,
}

impl VanList {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let now = desk.moment.now;
        let counted = Counted::of(&garage, now)?;
        let names = bikes_meant(&garage, &counted, (&self.bikes, "list"))?;
        let book = Book::open(&garage)?;
        let ledger = counted.ledger(None);
        let jobs = book.open_jobs()?;
        let look = |bike: &String| glance(&book, bike, (&ledger, &counted.parts, &jobs), now);
        let glances = names.iter().map(look).collect::<Result<Vec<_>, _>>()?;
        // Air that is kept is of a place where the bikes stand; it is no forecast for another.
        let served = if self.air.is_empty() && self.place.is_some() {
            Served::default()
        } else {
            self.air.served(&book, self.place.as_deref(), now)?
        };
        let (unsaid, mut bikes) = (Served::default(), Vec::new());
        let progress = desk.screen().progress();
        for (number, one) in glances.iter().enumerate() {
            progress.to(&one.bike, number, glances.len());
            bikes.push(self.bike(&book, (one, &unsaid), (&counted, &ledger), &served, desk)?);
        }
        drop(progress);
        let sheet = VanSheet { bikes, place: self.place.clone(), made: now };
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from("van.html"));
        let page = sheet.html(&desk.screen(), self.small);
        write(&file, &page)?;
        let answer = PageAnswer::of(names.clone(), &file, page.len(), sheet.without());
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    fn bike<'a>(
        &self,
        book: &Book<'_>,
        (one, unsaid): (&'a Glance, &'a Served),
        (counted, ledger): (&Counted, &Ledger<'_>),
        served: &Served,
        desk: &Desk,
    ) -> Result<VanBike<'a>, Trouble> {
        let (bike, garage) = (one.bike.as_str(), book.garage());
        let whole = book.combination(bike, None)?;
        let cylinders = whole.fields.cylinders();
        let airs = match &served.entry {
            Some(air) => Some(Airs::Known(Box::new(air.clone()))),
            None => Airs::of_runs(book, bike, self.place.as_deref(), desk.moment.now)?,
        };
        let mut jets = Vec::new();
        if let Some(airs) = &airs {
            if cylinders.is_empty() {
                jets.push((None, along(&Book::open(garage)?, bike, airs, desk)));
            }
            for (name, asked) in whole.fields.jetted() {
                jets.push((Some(name), along(&book.for_cylinder(&asked), bike, airs, desk)));
            }
        }
        let due = ledger.due(&counted.parts, Some(bike));
        let taking = to_take(&due, &ledger.shelf(&counted.parts), &bores(garage)?);
        let assumptions = garage.assumptions()?;
        let bench = Bench { fields: &whole.fields, assumptions: &assumptions };
        let oil = oil_for(&bench, PETROL_L * 1e-3, None).ok();
        Ok(VanBike {
            bike,
            airs,
            jets,
            plug: plug(&whole.fields),
            fuel: whole.fields.text("fuel.name").map(str::to_owned),
            oil: oil.map(|oil_m3| oil_words(&whole.fields, oil_m3)),
            now: NowAnswer::of(std::slice::from_ref(one), true, unsaid),
            due: PartDueAnswer::new(&due, &taking, (false, false), all_worded(&counted.remarks(Some(bike))))
                .with_seized(&counted.seized(&Book::open(garage)?, Some(bike))?),
        })
    }
}

fn along(
    book: &Book<'_>,
    bike: &str,
    airs: &Airs,
    desk: &Desk,
) -> Result<crate::advice::along::JetsAlong, Trouble> {
    let question = Question::ask(book, bike, &Terms::default(), desk.moment.now)?;
    require_the_same_injection(&question, None)?;
    Ok(jets_along(&question, airs, &question.settings(None)?)?)
}

/// The plug, of each cylinder where they differ.
fn plug(fields: &FieldSet) -> Option<String> {
    let of = |fields: &FieldSet| {
        let code = fields.text("head.plug")?.to_owned();
        let gap = fields.quantity("head.plug_gap").map(|gap| format!(", gap {}", gap.with_unit()));
        Some(format!("{code}{}", gap.unwrap_or_default()))
    };
    let names = fields.cylinders();
    let each: Vec<(&String, Option<String>)> =
        names.iter().map(|name| (name, of(&fields.for_cylinder(name)))).collect();
    match each.as_slice() {
        [] => of(fields),
        [(_, first), others @ ..] if others.iter().all(|(_, other)| other == first) => {
            first.as_ref().map(|plug| format!("{plug}, {} of them", names.len()))
        }
        all => {
            let said = all.iter().filter_map(|(name, plug)| Some(format!("{name} {}", plug.as_ref()?)));
            Some(said.collect::<Vec<_>>().join("; ")).filter(|said| !said.is_empty())
        }
    }
}

fn oil_words(fields: &FieldSet, oil_m3: f64) -> String {
    let oil = fields.text("fuel.oil").map_or_else(|| "oil".to_owned(), str::to_owned);
    let ratio = fields.quantity("fuel.oil_ratio").map(|ratio| format!(", {}:1", trimmed(ratio.si(), 1)));
    format!(
        "{}{}: {} cc to {} l of petrol",
        capital(&oil),
        ratio.unwrap_or_default(),
        trimmed(oil_m3 * 1e6, 0),
        trimmed(PETROL_L, 0)
    )
}
