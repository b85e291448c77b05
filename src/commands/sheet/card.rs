//! `sheet card BIKE`: the jetting over a grid of airs, for the lid of a toolbox.

use std::path::PathBuf;

use clap::Args;

use crate::advice::asking::{Question, Terms};
use crate::commands::desk::Desk;
use crate::commands::options::card::{Named, card_of};
use crate::commands::options::cylinder::CylinderOption;
use crate::commands::sheet::file::write;
use crate::notebook::AirEntry;
use crate::report::jetting::first::before::require_the_same_injection;
use crate::report::page::card::CardSheet;
use crate::report::page::written::PageAnswer;
use crate::report::{CardAnswer, InPart, OfCylinders, Trouble};
use crate::store::Book;

/// A grid of airs for the lid of a toolbox
///
/// The same sizes as `reedbook rejet BIKE --card`, with a line where another size begins.
#[derive(Debug, Args)]
pub(super) struct LidCard {
    /// The bike
    bike: String,
    /// Temperatures across, separated by commas ("5 C, 15 C, 25 C")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true)]
    temps: Vec<String>,
    /// Elevations down the side ("0 m, 500 m, 1000 m")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true)]
    elevations: Vec<String>,
    /// Barometer readings down the side, for elevations
    #[arg(long, value_name = "LIST", value_delimiter = ',', conflicts_with_all = ["elevations", "qnh"])]
    pressures: Vec<String>,
    /// Humidity in every cell
    #[arg(long, value_name = "PERCENT")]
    humidity: Option<String>,
    /// Altimeter setting in every cell
    #[arg(long, value_name = "PRESSURE")]
    qnh: Option<String>,
    #[command(flatten)]
    cylinder: CylinderOption,
    /// For A5
    #[arg(long)]
    small: bool,
    /// The file; otherwise BIKE-card.html in the current folder
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

impl LidCard {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        garage.require_bike(&self.bike)?;
        let book = Book::open(&garage)?;
        let fields = book.combination(&self.bike, None)?.fields;
        self.cylinder.require_one_of(&fields.cylinders())?;
        let of_one = |name: &str| vec![(name.to_owned(), name.to_owned())];
        let shown = self.cylinder.name().map_or_else(|| fields.jetted(), of_one);
        let (mut cards, mut wrong) = (Vec::new(), Vec::new());
        for (name, asked) in &shown {
            match self.card(&book.for_cylinder(asked), desk) {
                Ok(card) => cards.push((name.clone(), card)),
                Err(trouble) => wrong.push((name.clone(), trouble)),
            }
        }
        if let Some((name, first)) = wrong.first().filter(|_| cards.is_empty()) {
            let is_of_all = shown.len() > 1 && wrong.iter().all(|(_, other)| other.says_the_same(first));
            return Err(if is_of_all { first.clone() } else { first.clone().of_cylinder(name) });
        }
        if shown.is_empty() {
            cards.push((String::new(), self.card(&book, desk)?));
        }
        let cards = InPart::new(OfCylinders(cards), &wrong);
        let sheet = CardSheet { bike: &self.bike, cards, made: desk.moment.now };
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from(format!("{}-card.html", self.bike)));
        let page = sheet.html(self.small);
        write(&file, &page)?;
        let answer = PageAnswer::of(vec![self.bike.clone()], &file, page.len(), Vec::new());
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    fn card(&self, book: &Book<'_>, desk: &Desk) -> Result<CardAnswer, Trouble> {
        let question = Question::ask(book, &self.bike, &Terms::default(), desk.moment.now)?;
        require_the_same_injection(&question, None)?;
        let named =
            Named { temperatures: &self.temps, elevations: &self.elevations, pressures: &self.pressures };
        card_of(&question, named, self.given()?, &question.settings(None)?, false)
    }

    /// What holds in every cell.
    fn given(&self) -> Result<AirEntry, Trouble> {
        let mut given = AirEntry::default();
        for (name, value) in [("humidity", &self.humidity), ("qnh", &self.qnh)] {
            if let Some(value) = value {
                given.set(name, value)?;
            }
        }
        Ok(given)
    }
}
