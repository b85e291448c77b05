//! `part add`: taking a part into the book.

use clap::Args;

use super::fitting::{refuse_misfit, still_to_do};
use crate::advice::parts::Counted;
use crate::commands::desk::Desk;
use crate::commands::part::typed::{check_kind, hours_typed, kind_remark};
use crate::notebook::{Entered, Part, When};
use crate::report::Trouble;
use crate::report::parts::done::PartDoneAnswer;
use crate::store::{Garage, NewPart, PartFitting, add_part};

/// Take a part into the book, and fit it if it goes in now
///
/// Say what it ran before this book with --hours, or --new where it never ran. Without either that is not known, and everything
/// that is computed of the part says so.
#[derive(Debug, Args)]
pub(super) struct Add {
    /// Its name: lower-case letters, digits, '-' or '_', like piston-7
    #[arg(allow_hyphen_values = true)]
    name: String,
    /// Which kind of part: piston, ring, pin, small-end-bearing, rod, big-end, crank, main-bearing, seal, reed, cylinder, or
    /// any other
    #[arg(long, value_name = "KIND")]
    kind: String,
    /// The part as you call it
    #[arg(long, value_name = "WORDS")]
    title: Option<String>,
    /// What is stamped on it
    #[arg(long, value_name = "NUMBER")]
    number: Option<String>,
    /// Engines it fits, with commas between them
    #[arg(long, value_name = "ENGINES", value_delimiter = ',')]
    fits: Vec<String>,
    /// The cylinder bore it is made for ("54 mm"), of a piston, a ring, a cylinder, a gasket
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    for_bore: Option<String>,
    /// Hours it ran before this book ("3 h"; a bare number is hours)
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    hours: Option<String>,
    /// It never ran: 0 hours and 0 starts
    #[arg(long, conflicts_with_all = ["hours", "starts"])]
    new: bool,
    /// Starts before this book
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    starts: Option<String>,
    /// Hours after which it is changed, in place of those of its kind
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    change_after: Option<String>,
    /// Starts after which it is changed
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    change_after_starts: Option<String>,
    /// The day by which it is changed
    #[arg(long, value_name = "DATE")]
    change_by: Option<String>,
    /// Hours after which it is inspected
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    inspect_after: Option<String>,
    /// Anything else
    #[arg(long, short, value_name = "WORDS")]
    note: Option<String>,
    /// Put it into this engine
    #[arg(long, value_name = "ENGINE")]
    fit: Option<String>,
    /// At this cylinder, of an engine with several
    #[arg(long, value_name = "CYLINDER", requires = "fit")]
    at: Option<String>,
    /// The part that came out for it
    #[arg(long, value_name = "PART", requires = "fit")]
    instead_of: Option<String>,
    /// It is right as typed: its kind, and that it fits
    #[arg(long)]
    sure: bool,
    /// When it was put in, if not now; a day without a time is its noon
    #[arg(long, requires = "fit")]
    date: Option<String>,
    /// Who put it in
    #[arg(long, value_name = "NAME", requires = "fit")]
    by: Option<String>,
}

impl Add {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let limits = garage.limits()?;
        if let Some(hours) = &self.hours {
            hours_typed("hours", hours)?;
        }
        self.fits.iter().try_for_each(|engine| garage.require_engine(engine))?;
        if let Some(engine) = &self.fit {
            garage.require_engine(engine)?;
            let at = self.at.as_deref();
            refuse_misfit((desk, garage), (&self.name, &self.as_typed()), (engine, at), self.sure)?;
        }
        // Last: --sure, said to this one, has nothing else to let pass.
        check_kind(garage, &self.kind, &limits, self.sure)?;
        let here = desk.moment.now.offset();
        let new = NewPart {
            name: self.name.clone(),
            entered: self.entered(),
            fitted: self.fit.clone().map(|engine| PartFitting {
                engine,
                at: self.at.clone(),
                instead_of: self.instead_of.clone(),
                beside: self.sure,
            }),
            date: self.date.as_deref().map(|text| When::parse(text, here)).transpose()?,
            by: self.by.clone(),
        };
        let record = add_part(garage, &new, &desk.moment)?;
        let counted = Counted::of(garage, desk.moment.now)?;
        let kept = counted.kept(&record);
        let mut remarks: Vec<String> = self.not_known().into_iter().collect();
        let has_own = kept.standing.first().is_some();
        remarks.extend(kind_remark(&self.kind, &limits, has_own));
        if self.fit.is_some() {
            remarks.extend(counted.after_fit((garage, &kept), new.date, self.date.as_deref()));
        }
        remarks.extend(still_to_do(garage, &record.name)?);
        let head = format!("Part {} ({}) is in the book.", record.name, record.part.kind);
        let answer = PartDoneAnswer::new(&kept, remarks).with_head(head);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// What is said of where it fits; a bore that cannot be read is refused when it is written down.
    fn as_typed(&self) -> Part {
        let for_bore = self.for_bore.as_ref().and_then(|text| text.parse().ok());
        Part { fits: self.fits.clone(), for_bore, ..Part::default() }
    }

    fn entered(&self) -> Vec<Entered> {
        let none = Some("0".to_owned());
        let (hours, starts) =
            if self.new { (none.clone(), none) } else { (self.hours.clone(), self.starts.clone()) };
        let said = [
            ("title", self.title.clone()),
            ("kind", Some(self.kind.clone())),
            ("number", self.number.clone()),
            ("fits", (!self.fits.is_empty()).then(|| self.fits.join(","))),
            ("for_bore", self.for_bore.clone()),
            ("past_hours", hours),
            ("past_starts", starts),
            ("change_after", self.change_after.clone()),
            ("change_after_starts", self.change_after_starts.clone()),
            ("change_by", self.change_by.clone()),
            ("inspect_after", self.inspect_after.clone()),
            ("notes", self.note.clone()),
        ];
        said.into_iter().filter_map(|(name, value)| Some(Entered::new(name, Some(&value?)))).collect()
    }

    fn not_known(&self) -> Option<String> {
        (!self.new && self.hours.is_none()).then(|| {
            format!(
                "What it ran before this book is not known, so its hours are only ever \"at least\". If you know them: `reedbook part edit {} past_hours=3`",
                self.name
            )
        })
    }
}
