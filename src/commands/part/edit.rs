//! `part edit`: mending what is written of a part.

use clap::Args;

use crate::advice::parts::Counted;
use crate::commands::desk::Desk;
use crate::commands::part::typed::{check_kind, kind_remark};
use crate::notebook::Entered;
use crate::report::Trouble;
use crate::report::parts::done::PartDoneAnswer;
use crate::store::{Book, Garage, mend_part};

/// Fix what is written of a part, or read in what you edited by hand
///
/// Fields: title, kind, number, fits, `for_bore`, `past_hours`, `past_starts`, `change_after`, `change_after_starts`, `change_by`, `inspect_after`,
/// notes. An event's are called like `events.NAME.date`; `reedbook part show PART --json` names the events, and `events.NAME=`
/// takes one out.
#[derive(Debug, Args)]
pub(super) struct Edit {
    /// The part
    part: String,
    /// What is to be written, like `past_hours="3 h"`; nothing behind the = takes the field out
    #[arg(value_name = "FIELD=VALUE")]
    fields: Vec<String>,
    /// An engine it fits, beside those that are written down; several with commas between them. `fits=` takes all of them out
    #[arg(long, value_name = "ENGINES", value_delimiter = ',')]
    fits: Vec<String>,
    /// A note beside it, in place of the one that is there
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// The kind is right as it is typed
    #[arg(long)]
    sure: bool,
}

impl Edit {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut entered: Vec<Entered> =
            self.fields.iter().map(|typed| Entered::parse(typed)).collect::<Result<_, _>>()?;
        entered.extend(self.fits_too(garage)?);
        // As said by hand it is checked like any other.
        let note = self.note.as_ref().map(|note| Entered::parse(&format!("notes={note}")));
        entered.extend(note.transpose()?);
        let limits = garage.limits()?;
        for kind in entered.iter().filter(|one| one.field == "kind").filter_map(|one| one.value.as_ref()) {
            check_kind(garage, kind, &limits, self.sure)?;
        }
        let record = mend_part(garage, &self.part, &entered, &desk.moment)?;
        let kept = Counted::of(garage, desk.moment.now)?.kept(&record);
        let has_own = kept.standing.first().is_some();
        let remarks: Vec<_> = kind_remark(&record.part.kind, &limits, has_own).into_iter().collect();
        let answer = PartDoneAnswer::new(&kept, remarks);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// The engines it fits with those that were named now.
    fn fits_too(&self, garage: &Garage) -> Result<Option<Entered>, Trouble> {
        if self.fits.is_empty() {
            return Ok(None);
        }
        self.fits.iter().try_for_each(|engine| garage.require_engine(engine))?;
        let mut all = Book::open(garage)?.part(&self.part)?.part.fits;
        let new: Vec<_> = self.fits.iter().filter(|engine| !all.contains(engine)).cloned().collect();
        all.extend(new);
        Ok(Some(Entered::new("fits", Some(&all.join(",")))))
    }
}
