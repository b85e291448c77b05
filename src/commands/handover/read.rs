//! `handover read`: what somebody handed over, shown, held against a bike, taken in.

use std::path::PathBuf;

use clap::Args;

use super::file::open;
use crate::advice::handed::{Returned, forbids, look_over_returned, read_engine_handover};
use crate::advice::incoming::session_sheet::Look;
use crate::advice::{building, slips};
use crate::commands::desk::Desk;
use crate::commands::options::guard::Despite;
use crate::notebook::Combination;
use crate::report::Trouble;
use crate::report::history::questioned;
use crate::report::sharing::handed_engine::{Beside, EngineHandoverAnswer, settle_returned};
use crate::report::sharing::handover::{HandoverAnswer, Taken};
use crate::report::sharing::sealing::SealWords;
use crate::report::{all_worded, worded};
use crate::store::{
    Book, Incoming, SetupName, Unsealed, beside, change_checked, import_outings, of_other_cylinders,
    read_handover, taking_in,
};

/// Show a handover, beside a bike where one is named, and take it in with --take
///
/// Of a setup: its sections become a change of the bike. Of an engine: its runs become outings of the bike that the engine is in here;
/// what is here already stays as it is.
#[derive(Debug, Args)]
pub(super) struct ReadHandover {
    /// The file
    file: PathBuf,
    /// The bike that it is held against
    bike: Option<String>,
    /// Record it: as a change of that bike, or as its outings
    #[arg(long, requires = "bike")]
    take: bool,
    /// Why, in your words
    #[arg(long, short, requires = "take")]
    why: Option<String>,
    /// The setup that the runs of an engine were on, where you know it
    #[arg(long, value_name = "SETUP", requires = "bike")]
    setup: Option<SetupName>,
    /// Record it anyway: it is right
    #[arg(long, requires = "bike")]
    sure: bool,
    #[command(flatten)]
    despite: Despite,
    /// The pass phrase of a locked file, on the first line of this one (- is standard input); otherwise it is asked
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
}

impl ReadHandover {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let (file, locked) = open(desk, &self.file, self.passphrase_file.as_deref())?;
        let seal = SealWords::read(locked, &file.signed()?);
        if file.is_engine() { self.engine(desk, &file, seal) } else { self.setup(desk, &file, seal) }
    }

    fn setup(&self, desk: &Desk, file: &Unsealed, seal: SealWords) -> Result<(), Trouble> {
        if self.setup.is_some() {
            return Err(Trouble::request(
                Some("setup"),
                format!("--setup is said of the runs of an engine, and {} is a setup.", file.name),
                "Leave it out.",
            ));
        }
        let handover = read_handover(file, &worded)?;
        let answer = HandoverAnswer::read(&handover, &file.hash, seal);
        let Some(bike) = &self.bike else {
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        };
        let garage = desk.garage()?;
        garage.require_bike(bike)?;
        let book = Book::open(&garage)?;
        let now = book.combination(bike, None)?;
        // What is written for all and held by none is handed over by none either.
        let held = Combination { fields: now.fields.in_use(), ..now.clone() };
        let rows = beside(&held, &handover);
        if !self.take {
            let strange = of_other_cylinders(bike, &now, &handover);
            let answer = answer.beside(bike, &rows, &now).of_other_cylinders(strange);
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        }
        let request = taking_in(bike, &now, (&handover, &file.hash), self.why.as_deref())?;
        questioned::settle(&slips::of_change(&book, &request)?, self.sure, None)?;
        let against = handover.said_there.iter().filter(|said| forbids(said, &handover.sections));
        let guard = self.despite.guard(false)?.against(against.cloned().collect());
        let done = change_checked(&garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        let judgement = guard.judgement();
        let taken = Taken { number: done.setup.number, judgement: &judgement };
        let answer = answer.beside(bike, &rows, &now).taken(&taken);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    fn engine(&self, desk: &Desk, file: &Unsealed, seal: SealWords) -> Result<(), Trouble> {
        let handover = read_engine_handover(file)?;
        let answer = EngineHandoverAnswer::read(&handover, seal);
        let Some(bike) = &self.bike else {
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        };
        let garage = desk.garage()?;
        garage.require_bike(bike)?;
        let book = Book::open(&garage)?;
        let to = Returned { bike, setup: self.setup.as_ref(), sure: self.sure };
        let look = Look { bike: Some(bike), units: desk.screen().units(), moment: &desk.moment };
        let mut back = look_over_returned(&book, (file, &self.file), &handover, to, look)?;
        settle_returned(&mut back, &self.file, self.sure)?;
        if !self.take {
            let beside = Beside { bike, back: &back, records: None, remarks: &[] };
            let answer = answer.beside(&beside);
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        }
        back.require_the_same_engine()?;
        let incoming: Vec<Incoming> = back.runs.new.iter().map(|run| run.incoming.clone()).collect();
        let (records, remarks) = import_outings(&garage, &incoming, ("handover", &self.file), &desk.moment)?;
        let mut remarks = all_worded(&remarks);
        if let Some(newest) = records.iter().max_by_key(|record| record.outing.date) {
            let book = Book::open(&garage)?;
            remarks.extend(building::remarks_after_outing(&book, &back.engine, newest.outing.date)?);
        }
        let beside = Beside { bike, back: &back, records: Some(&records), remarks: &remarks };
        let answer = answer.beside(&beside);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
