//! `part life`: how long a kind of part lives, from all of them that the book has.

use clap::Args;

use crate::advice::parts::life::{LifeAsked, counted, estimate, lives_of_kind};
use crate::advice::parts::runs;
use crate::commands::desk::Desk;
use crate::commands::options::engine::quantity;
use crate::engine::EngineError;
use crate::notebook::fields::names::visible;
use crate::notebook::{Limits, nearest_name};
use crate::quantity::{Number, Percent};
use crate::report::Trouble;
use crate::report::parts::life::{LifeQuestion, PartLifeAnswer};
use crate::store::{Book, PartRecord};

/// How long a kind of part lives, at the risk you accept
///
/// It is no leave to run anything longer than the machine's manual says.
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(super) struct PartLife {
    /// The kind of part, like piston
    kind: String,
    /// The chance of failure you accept; otherwise that of configs/limits.toml
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
    risk: Option<String>,
    /// Take this shape, whatever the record (1: failure by chance, 3: worn out at about one age)
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    shape: Option<String>,
    /// Level of the intervals, 50 to 99.9 %
    #[arg(long, value_name = "PERCENT", default_value = "90 %", allow_negative_numbers = true)]
    level: String,
    /// Only parts whose life ended, or goes on, in this engine
    #[arg(long, value_name = "ENGINE")]
    engine: Option<String>,
    /// Draw the chance of failure over the hours
    #[arg(long)]
    plot: bool,
}

impl PartLife {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        if let Some(engine) = &self.engine {
            garage.require_engine(engine)?;
        }
        let limits = garage.limits()?;
        let asked = self.asked(&limits)?;
        let book = Book::open(&garage)?;
        let parts = book.parts()?;
        self.require_kind(&parts, &limits)?;
        let record =
            lives_of_kind(&parts, &self.kind, self.engine.as_deref(), &runs(&book)?, desk.moment.now);
        let refused = |error: EngineError| Trouble::request(None, error.to_string(), self.way_out());
        let answer = PartLifeAnswer::from(LifeQuestion {
            kind: &self.kind,
            engine: self.engine.as_deref(),
            count: counted(&record.lives).map_err(refused)?,
            estimate: estimate(&record.lives, &asked).map_err(refused)?,
            record: &record,
            asked: &asked,
            change_after: limits.parts.get(&self.kind).and_then(|known| known.change_after.as_ref()),
            unreadable: book.broken_parts()?.into_iter().map(|file| file.findings).collect(),
            drawn: self.plot,
        });
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    fn way_out(&self) -> String {
        format!("Check the hours of the parts of the kind {}: `reedbook part list` shows them.", self.kind)
    }

    fn asked(&self, limits: &Limits) -> Result<LifeAsked, Trouble> {
        let risk = percent("--risk", self.risk.as_deref(), (0.01, 50.0))?;
        let shape: Option<Number> = quantity("--shape", self.shape.as_deref())?;
        let shape = shape.map(|shape| within("--shape", shape.si(), (0.2, 20.0), "")).transpose()?;
        let level = percent("--level", Some(&self.level), (50.0, 99.9))?.unwrap_or(90.0);
        Ok(LifeAsked::of(limits, &self.kind, risk, shape, level / 100.0))
    }

    /// A kind of which the book has no part is a slip, or its parts are still to be taken in.
    fn require_kind(&self, parts: &[PartRecord], limits: &Limits) -> Result<(), Trouble> {
        let kinds = || parts.iter().map(|known| known.part.kind.as_str());
        if kinds().any(|kind| kind == self.kind) {
            return Ok(());
        }
        let listed = limits.parts.contains_key(&self.kind);
        let help = match nearest_name(&self.kind, kinds()) {
            Some(near) if !listed => format!("Did you mean {near}?"),
            _ => format!("Take one in with `reedbook part add NAME --kind {}`.", visible(&self.kind)),
        };
        let message = format!("There is no part of the kind \"{}\" in the book.", visible(&self.kind));
        Err(Trouble::request(Some("kind"), message, help))
    }
}

/// A percentage that was typed, within its ends.
fn percent(name: &str, text: Option<&str>, ends: (f64, f64)) -> Result<Option<f64>, Trouble> {
    let share: Option<Percent> = quantity(name, text)?;
    share.map(|share| within(name, 100.0 * share.si(), ends, " %")).transpose()
}

fn within(name: &str, value: f64, (low, high): (f64, f64), unit: &str) -> Result<f64, Trouble> {
    if (low - 1e-9..=high + 1e-9).contains(&value) {
        return Ok(value.clamp(low, high));
    }
    Err(Trouble::request(
        Some(name),
        format!("{name} is {}{unit}; allowed is {low} to {high}{unit}.", crate::quantity::trimmed(value, 4)),
        format!(
            "Give a number within that, like {name} {}.",
            if name == "--shape" {
                "3"
            } else if name == "--risk" {
                "5%"
            } else {
                "90%"
            }
        ),
    ))
}
