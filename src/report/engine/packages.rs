//! The packages of several cylinders in columns, and which of them stands apart.

use schemars::JsonSchema;
use serde::Serialize;

use super::package::{PackageAnswer, in_a_row};
use crate::advice::package::StandsApart;
use crate::notebook::fields::cylinder::{at_cylinder, said_of_all};
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::AtCylinder;
use crate::report::out::each::OfCylinders;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::known::WHERE_FIELDS_STAND;
use crate::report::words::layout::{capital, grouped, table};

/// Parts that are named of the one that stands apart.
const NAMED: usize = 3;

/// The packages of several cylinders.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PackagesAnswer {
    /// Each.
    #[serde(flatten)]
    each: OfCylinders<PackageAnswer>,
    /// The cylinder whose parts ask for other speeds than those of the others; null where all are alike.
    stands_apart: Option<ApartCylinder>,
}

/// The cylinder that stands apart.
#[derive(Debug, Serialize, JsonSchema)]
struct ApartCylinder {
    /// Its name.
    cylinder: String,
    /// The parts that ask for another speed there, the furthest first.
    parts: Vec<PartApart>,
}

/// A part that asks for another speed.
#[derive(Debug, Serialize, JsonSchema)]
struct PartApart {
    /// The part.
    part: &'static str,
    /// By how much more speed it asks than at the others, rpm.
    more_rpm: Figure<0>,
}

impl PackagesAnswer {
    /// The packages of the cylinders, by name.
    pub fn new(each: Vec<(String, PackageAnswer)>, apart: Option<StandsApart>) -> Self {
        let part = |(part, more): (&'static str, f64)| PartApart { part, more_rpm: Figure(more) };
        let apart = apart.and_then(|apart| {
            let (name, _) = each.get(apart.cylinder)?;
            Some(ApartCylinder { cylinder: name.clone(), parts: apart.parts.into_iter().map(part).collect() })
        });
        Self { each: OfCylinders(each), stands_apart: apart }
    }

    /// For a person: which one stands apart, what is short at each, and every part with a column of speeds for each cylinder.
    pub fn text(&self, screen: &Screen) -> String {
        let Some((_, first)) = self.each.0.first() else { return String::new() };
        let subject = &first.subject;
        let setup = if subject.setup == "now" { String::new() } else { format!(", {}", subject.setup) };
        let head = format!("{}{setup}: {}", subject.bike, self.verdict());
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        if let Some(AtCylinder { of, displacement_cc: Some(cc), .. }) = &subject.cylinder {
            lines.push(screen.wrap(&format!("  {of} cylinders, {} cc together", fixed(cc.0, 1)), 4));
        }
        lines.extend(
            subject.supposed.iter().map(|words| screen.wrap(&format!("  what if: {}", visible(words)), 4)),
        );
        let at = |name: &str, words: &String| at_cylinder(name, words);
        let short = said_of_all(
            &self.each.of_each(|one| Vec::from_iter(one.pipe_is_known().then(|| capital(&one.verdict())))),
            at,
        );
        lines.extend(short.iter().map(|words| screen.wrap(&format!("  {words}."), 2)));
        let off = said_of_all(&self.each.of_each(PackageAnswer::disagreements), at);
        lines.extend(off.iter().map(|words| screen.known(words)));
        lines.push(String::new());
        let parts = said_of_all(&self.each.of_each(PackageAnswer::parts), |_, part| *part);
        lines.push(self.columns(&parts, screen));
        let lacking = said_of_all(&self.each.of_each(|one| one.not_known.clone()), |name, words| {
            at_cylinder(name, words)
        });
        lines.extend(lacking.iter().map(|words| screen.wrap(words, 2)));
        if !lacking.is_empty() {
            lines.push(screen.wrap(WHERE_FIELDS_STAND, 0));
        }
        let rests = said_of_all(&self.each.of_each(|one| one.rests(screen)), at);
        if screen.verbose() && !rests.is_empty() {
            lines.push(String::new());
            lines.push("What it rests on:".into());
            lines.extend(rests.iter().map(|words| screen.wrap(words, 4)));
        }
        let first = self.each.0.first().map_or_else(|| "NAME".to_owned(), |(name, _)| visible(name));
        lines.push(screen.dim(&screen.wrap(
            &format!(
                "Geometry only: dyno and track decide. --cylinder {first} draws one of them on its axis."
            ),
            0,
        )));
        lines.join("\n")
    }

    /// The speeds of each part, a column for each cylinder; of three or more those that are alike share one.
    fn columns(&self, parts: &[&'static str], screen: &Screen) -> String {
        let mut columns: Vec<(Vec<String>, Vec<String>)> = Vec::new();
        for (name, one) in &self.each.0 {
            let cells: Vec<String> = parts.iter().map(|part| one.speeds(part)).collect();
            match columns.iter_mut().find(|(_, other)| self.each.0.len() > 2 && *other == cells) {
                Some((names, _)) => names.push(visible(name)),
                None => columns.push((vec![visible(name)], cells)),
            }
        }
        // Where one or two stand apart, the rest has a word.
        let shared = columns.iter().filter(|(names, _)| names.len() > 1).count();
        let head = |names: &[String]| match names {
            [one] => one.clone(),
            several if several.len() == self.each.0.len() => format!("all {}", several.len()),
            _ if shared == 1 => "the others".to_owned(),
            several => several.join(", "),
        };
        let names = columns.iter().map(|(names, _)| head(names));
        let head: Vec<String> = std::iter::once("rpm".to_owned()).chain(names).collect();
        let row = |(at, part): (usize, &&'static str)| {
            let cells = columns.iter().map(|(_, cells)| cells[at].clone());
            std::iter::once((*part).to_owned()).chain(cells).collect()
        };
        let rows = parts.iter().enumerate().map(row).collect();
        let right: Vec<usize> = (1..head.len()).collect();
        table(&head.iter().map(String::as_str).collect::<Vec<_>>(), rows, &right, screen.width())
    }

    /// Which cylinder stands apart, and in what.
    pub(in crate::report) fn verdict(&self) -> String {
        let Some(apart) = &self.stands_apart else {
            return "no cylinder is off by more than 1 %".to_owned();
        };
        let others = if self.each.0.len() > 2 { "the others" } else { "the other" };
        let part = |part: &PartApart| {
            let side = if part.more_rpm.0 > 0.0 { "above" } else { "below" };
            format!("{} {} rpm {side}", part.part, grouped(part.more_rpm.0.abs()))
        };
        let parts: Vec<String> = apart.parts.iter().take(NAMED).map(part).collect();
        format!("{} cylinder is off from the others: {} {others}", visible(&apart.cylinder), in_a_row(&parts))
    }
}
