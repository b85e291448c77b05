//! `sheet BIKE`: all that matters of a bike on one page.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::acts::rejet::{of_all, report};
use crate::advice::asking::{Answered, Question, Terms, Unanswered};
use crate::advice::conditions::kept::Served;
use crate::advice::drawn::{jet_over_air, season, spark};
use crate::advice::figures::ports::port_figures;
use crate::advice::figures::{Bench, Valve};
use crate::advice::now::glance;
use crate::advice::package::package;
use crate::advice::parts::{Counted, bores, to_take};
use crate::commands::desk::Desk;
use crate::commands::options::air::AirOptions;
use crate::commands::options::cylinder::CylinderOption;
use crate::commands::sheet::file::write;
use crate::notebook::{Assumptions, FieldSet, differing, section_of};
use crate::report::all_worded;
use crate::report::engine::package::PackageAnswer;
use crate::report::history::now::NowAnswer;
use crate::report::history::questioned::settle;
use crate::report::page::sheet::{Drawing, OtherCylinder, PaperSheet, SheetAnswer, Spark};
use crate::report::page::written::PageAnswer;
use crate::report::parts::due::PartDueAnswer;
use crate::report::{RejetReport, Subject, Trouble};
use crate::store::{Book, Garage, SetupName};

/// The sheet of a bike.
#[derive(Debug, Args)]
pub(super) struct BikeSheet {
    /// The bike
    bike: Option<String>,
    /// Draw the spark of this setup beside it: a number, latest or proven
    #[arg(long, value_name = "SETUP")]
    against: Option<SetupName>,
    /// For A5
    #[arg(long)]
    small: bool,
    /// The file; otherwise BIKE.html in the current folder
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// One drawing, as SVG on standard output
    #[arg(long, value_name = "DRAWING", conflicts_with_all = ["to", "small", "json"])]
    svg: Option<Drawn>,
    /// One drawing as a picture, BIKE-DRAWING.png
    #[arg(long, value_name = "DRAWING", conflicts_with_all = ["small", "svg"])]
    png: Option<Drawn>,
    #[command(flatten)]
    cylinder: CylinderOption,
    /// The air is right, go on
    #[arg(long)]
    sure: bool,
    /// Kept air of another place
    #[arg(long, short, help_heading = "Air")]
    place: Option<String>,
    #[command(flatten)]
    air: AirOptions,
}

/// The drawings of a sheet.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Drawn {
    /// The spark at full throttle over engine speed
    Spark,
    /// The open areas over the crank angle
    Ports,
    /// Every part on one axis of engine speed
    Package,
    /// The main jet of each judged run over its air
    Jets,
    /// The newest runs with their laps and verdicts
    Season,
}

impl From<Drawn> for Drawing {
    fn from(drawn: Drawn) -> Self {
        match drawn {
            Drawn::Spark => Self::Spark,
            Drawn::Ports => Self::Ports,
            Drawn::Package => Self::Package,
            Drawn::Jets => Self::Jets,
            Drawn::Season => Self::Season,
        }
    }
}

impl BikeSheet {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let bike = self.bike.as_deref().unwrap_or_default();
        garage.require_bike(bike)?;
        let whole = book.combination(bike, None)?;
        let names = whole.fields.cylinders();
        self.cylinder.require_one_of(&names)?;
        let shown = self.cylinder.name().map_or(names.clone(), |name| vec![name.to_owned()]);
        let served = self.air.served(&book, self.place.as_deref(), desk.moment.now)?;
        let of_one = |name: &str| vec![(name.to_owned(), name.to_owned())];
        let jetted = self.cylinder.name().map_or_else(|| whole.fields.jetted(), of_one);
        let books: Vec<(Option<String>, Book<'_>)> = match jetted.as_slice() {
            [] => vec![(None, Book::open(&garage)?)],
            all => all.iter().map(|(name, asked)| (Some(name.clone()), book.for_cylinder(asked))).collect(),
        };
        let mut questions = Vec::new();
        // Of the drawings one alone is of the air.
        let is_of_air = self.svg.or(self.png).is_none_or(|drawn| matches!(drawn, Drawn::Jets));
        for (name, book) in books.iter().filter(|_| is_of_air) {
            let question = Question::ask(book, bike, &Terms::default(), desk.moment.now);
            // What cannot be read is not answered from, on paper least of all.
            if let Err(Unanswered::Findings(findings)) = question {
                return Err(Trouble::findings(findings));
            }
            questions.push((name.clone(), question.map_err(Trouble::from)));
        }
        let mut found = Vec::new();
        for (name, question) in &questions {
            let found_here = question.as_ref().map_err(Clone::clone).and_then(|question| {
                let found = answered(question, &served)?;
                let questioned = self.questioned(desk, &found, &served)?;
                Ok((found, questioned))
            });
            found.push((name.clone(), found_here));
        }
        let (mut answers, mut jets) = (Vec::new(), Vec::new());
        for (name, found) in &found {
            if let Ok((found, _)) = found {
                jets.push((name.clone().filter(|_| jetted.len() > 1), jet_over_air(found)?));
            }
            let found = found.as_ref().map(|(found, questioned)| (found, questioned.as_slice()));
            answers.push((name.as_deref(), report(found.map_err(Clone::clone), &served)));
        }
        let counted = Counted::of(&garage, desk.moment.now)?;
        let ledger = counted.ledger(None);
        let jobs = book.open_jobs()?;
        let glances = [glance(&book, bike, (&ledger, &counted.parts, &jobs), desk.moment.now)?];
        let assumptions = garage.assumptions()?;
        // The engine is drawn as its first cylinder has it.
        let fields: Vec<FieldSet> = match shown.as_slice() {
            [] => vec![whole.fields.clone()],
            names => names.iter().map(|name| whole.fields.for_cylinder(name)).collect(),
        };
        let Some(first) = fields.first() else { return Ok(()) };
        let bench = Bench { fields: first, assumptions: &assumptions };
        let others = others_that_differ(bike, (&fields, &shown), &assumptions);
        let named =
            self.against.as_ref().map(|name| other_spark(&garage, &books[0].1, bike, name)).transpose()?;
        let of_the_other =
            || others.first().map(|other| (format!("the cylinder {}", other.name), other.spark.clone()));
        let due = ledger.due(&counted.parts, Some(bike));
        let taking = to_take(&due, &ledger.shelf(&counted.parts), &bores(&garage)?);
        let setup = book.latest(bike)?.map(|setup| setup.number);
        let sheet = PaperSheet {
            bike,
            cylinder: self.cylinder.name(),
            drawn: shown.first().map(String::as_str).filter(|_| !others.is_empty()),
            setup,
            made: desk.moment.now.short(),
            now: NowAnswer::of(&glances, true, &served),
            rejet: of_all(answers),
            spark: spark(&bench),
            against: named.or_else(of_the_other),
            others,
            ports: port_figures(&bench, Valve::Open),
            package: PackageAnswer::new(subject(bike), &package(&bench, None)),
            jets,
            season: season(&book, bike)?,
            due: PartDueAnswer::new(&due, &taking, (false, false), all_worded(&counted.remarks(Some(bike))))
                .with_seized(&counted.seized(&book, Some(bike))?),
        };
        if let Some(drawn) = self.svg {
            let svg = sheet.svg(drawn.into())?;
            return writeln!(io::stdout().lock(), "{svg}").map_err(|error| Trouble::output(&error));
        }
        if let Some(drawn) = self.png {
            return self.picture(desk, (bike, &sheet), drawn);
        }
        self.whole(desk, (bike, &sheet))
    }

    /// The page of all of it.
    fn whole(&self, desk: &Desk, (bike, sheet): (&str, &PaperSheet<'_>)) -> Result<(), Trouble> {
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from(format!("{bike}.html")));
        let page = sheet.html(&desk.screen(), self.small);
        write(&file, &page)?;
        let answer = SheetAnswer {
            bike: bike.to_owned(),
            setup: sheet.setup,
            file: file.display().to_string(),
            bytes: page.len(),
            without: sheet.without(),
        };
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// One drawing as a picture, in a file that is called by the bike, the cylinder where one is named, and what is drawn.
    fn picture(
        &self,
        desk: &Desk,
        (bike, sheet): (&str, &PaperSheet<'_>),
        drawn: Drawn,
    ) -> Result<(), Trouble> {
        let name = drawn.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default();
        let at = sheet.whose(drawn.into()).map(|name| format!("-{name}")).unwrap_or_default();
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from(format!("{bike}-{name}{at}.png")));
        let picture = sheet.png(drawn.into())?;
        write(&file, &picture)?;
        let differs = !sheet.otherwise(drawn.into()).is_empty();
        let without = sheet.drawn.filter(|_| differs).map(|name| {
            format!("what differs at the other cylinders; it is of {name}, and --cylinder draws another")
        });
        let without = Vec::from_iter(without);
        let answer = PageAnswer::of(vec![bike.to_owned()], &file, picture.len(), without).picture();
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// What stands before any size. Jets for an air that was typed wrongly are not to be fitted by anybody, on paper neither.
    fn questioned(&self, desk: &Desk, found: &Answered<'_>, served: &Served) -> Result<Vec<String>, Trouble> {
        let question = found.question;
        let Some(air) = &served.entry else { return Ok(Vec::new()) };
        let place = served.origin.as_ref().map(|origin| &origin.place).or(self.place.as_ref());
        let slips =
            question.slips(air, place.map(String::as_str), (desk.moment.now, desk.screen().units()))?;
        let (elsewhere, asked) = found.said_and_asked(slips);
        settle(&asked, self.sure, None)?;
        Ok(RejetReport::questioned(question, if self.sure { &[] } else { &elsewhere }))
    }
}

/// Whether two cylinders are the same but for their jets and what else meters fuel.
fn same_engine(one: &FieldSet, other: &FieldSet) -> bool {
    differing(one, other).all(|field| matches!(section_of(field), "jetting" | "injection"))
}

/// The answer for the air that serves.
fn answered<'q>(question: &'q Question<'q>, served: &Served) -> Result<Answered<'q>, Trouble> {
    let Some(air) = &served.entry else { return Err(no_air(&question.baseline.bike, served)) };
    let settings = question.settings(None)?;
    Ok(question.answer(air, &settings, false)?)
}

fn no_air(bike: &str, served: &Served) -> Trouble {
    let why = served
        .refused
        .as_ref()
        .map_or("No air is kept for today.".to_owned(), |refused| refused.words.clone());
    Trouble::request(
        None,
        why,
        format!(
            "`reedbook air --place X --temp … --baro … --humidity … --keep` keeps one; then `reedbook sheet {bike}` again, or `reedbook rejet {bike}`."
        ),
    )
}

fn subject(bike: &str) -> Subject {
    Subject {
        bike: bike.to_owned(),
        setup: "now".to_owned(),
        supposed: Vec::new(),
        follows: Vec::new(),
        cylinder: None,
    }
}

/// The spark of another setup, and what that is called.
fn other_spark(
    garage: &Garage,
    book: &Book<'_>,
    bike: &str,
    name: &SetupName,
) -> Result<(String, Spark), Trouble> {
    let setup = book.recorded(bike, name)?;
    let whole = book.combination(bike, Some(&setup))?;
    if !whole.findings.is_empty() {
        return Err(Trouble::findings(whole.findings));
    }
    let assumptions = garage.assumptions()?;
    Ok((
        format!("setup {}", setup.number),
        spark(&Bench { fields: &whole.fields, assumptions: &assumptions }),
    ))
}

/// The cylinders whose engine differs from the first one's.
fn others_that_differ<'n>(
    bike: &str,
    (fields, names): (&[FieldSet], &'n [String]),
    assumptions: &Assumptions,
) -> Vec<OtherCylinder<'n>> {
    let Some(first) = fields.first() else { return Vec::new() };
    let beside = fields.iter().zip(names).skip(1).filter(|(other, _)| !same_engine(first, other));
    beside
        .map(|(other, name)| {
            let bench = Bench { fields: other, assumptions };
            OtherCylinder {
                name,
                spark: spark(&bench),
                ports: port_figures(&bench, Valve::Open),
                package: PackageAnswer::new(subject(bike), &package(&bench, None)),
            }
        })
        .collect()
}
