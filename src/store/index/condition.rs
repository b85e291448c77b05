//! A condition on a field: as it is typed, and as it is asked of the index.

use rusqlite::types::Value as Sql;

use crate::notebook::fields::cylinder::{can_be_own, common, own_of};
use crate::notebook::fields::names::visible;
use crate::notebook::fields::node::{Leaf, Sort};
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::notebook::{Combination, DocumentKind, ZONES, nearest_name, whole_name};
use crate::quantity::{Dimension, Quantity};
use crate::store::error::StoreError;
use crate::store::index::documents::{Paper, paper_of};

/// A condition on a field.
#[derive(Debug, Clone)]
pub struct Condition {
    field: String,
    comparison: Comparison,
    value: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Comparison {
    Equal,
    NotEqual,
    Less,
    AtMost,
    More,
    AtLeast,
}

impl Comparison {
    const SIGNS: [(&'static str, Self); 6] = [
        (">=", Self::AtLeast),
        ("<=", Self::AtMost),
        ("!=", Self::NotEqual),
        (">", Self::More),
        ("<", Self::Less),
        ("=", Self::Equal),
    ];

    fn sql(self) -> &'static str {
        match self {
            Self::Equal => "=",
            Self::NotEqual => "<>",
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
        }
    }
}

impl Condition {
    /// Reads "jetting.main>=170", "fuel.name=blue", "verdict.full=lean"; a field alone asks whether it is there.
    pub fn parse(text: &str) -> Result<Self, StoreError> {
        let found = Comparison::SIGNS
            .iter()
            .filter_map(|(sign, comparison)| text.find(sign).map(|at| (at, sign.len(), *comparison)))
            .min_by_key(|(at, length, _)| (*at, std::cmp::Reverse(*length)));
        let (field, comparison, value) = match found {
            Some((at, length, comparison)) => (&text[..at], comparison, &text[at + length..]),
            None => (text, Comparison::NotEqual, ""),
        };
        let mut condition =
            Self { field: field_as_kept(field.trim())?, comparison, value: value.trim().to_owned() };
        condition.require_known()?;
        condition.check_choice()?;
        Ok(condition)
    }

    /// A choice is written with hyphens in a document and with spaces on the screen: both are understood.
    fn check_choice(&mut self) -> Result<(), StoreError> {
        let Some(Sort::Choice(words)) = self.leaf().map(|leaf| &leaf.sort) else {
            return Ok(());
        };
        let word = self.value.to_lowercase().replace([' ', '_'], "-");
        if self.value.is_empty() || words.contains(&word) {
            self.value = word;
            return Ok(());
        }
        Err(StoreError::request(
            Some(&self.field),
            format!("{} is never \"{}\".", self.field, visible(&self.value)),
            format!("Allowed: {}.", words.join(", ")),
        ))
    }

    pub(super) fn is_of_outing(&self) -> bool {
        DocumentKind::Outing.catalogue().leaf(common(&self.field)).is_some()
    }

    /// Whether a word would do, where the condition is on a choice.
    pub fn accepts(&self, word: &str) -> bool {
        match self.comparison {
            Comparison::Equal => self.value == word,
            Comparison::NotEqual => self.value != word,
            _ => false,
        }
    }

    /// The field it is on.
    pub fn field(&self) -> &str {
        &self.field
    }

    /// The field as the index has it: without the word for the kind of document before it.
    fn indexed(&self) -> &str {
        paper_of(&self.field).map_or(&self.field, |(_, _, inner)| inner)
    }

    fn leaf(&self) -> Option<&'static Leaf> {
        if let Some((_, kind, inner)) = paper_of(&self.field) {
            return kind.catalogue().leaf(inner).or_else(|| kind.catalogue().leaf(common(inner)));
        }
        Combination::leaf(&self.field).or_else(|| DocumentKind::Outing.catalogue().leaf(common(&self.field)))
    }

    fn require_known(&self) -> Result<(), StoreError> {
        if self.leaf().is_some() || self.field.starts_with("extra.") {
            return Ok(());
        }
        let fields = |kind: DocumentKind| kind.catalogue().leaves().into_iter().map(|(field, _)| field);
        let own =
            [DocumentKind::Setup, DocumentKind::Engine, DocumentKind::Outing].into_iter().flat_map(fields);
        let papers = [(DocumentKind::Build, "build"), (DocumentKind::Part, "part")].into_iter();
        let papers = papers.flat_map(|(kind, word)| fields(kind).map(move |field| format!("{word}.{field}")));
        let known: Vec<String> = own.chain(papers).collect();
        let help = match nearest_name(&self.field, known.iter().map(String::as_str)) {
            Some(near) => format!("Did you mean {near}?").into(),
            None => {
                Guidance::from(
                    "A field is written like jetting.main, ignition.base, verdict.full, build.squish.front or part.kind; a place is asked for by ",
                ) + CommandOption::Place("…".into())
                    + "."
            }
        };
        Err(StoreError::request(
            Some(&self.field),
            format!("There is no field \"{}\".", visible(&self.field)),
            help,
        ))
    }

    /// Refuses a field of a cylinder that no bike of the garage has.
    pub(super) fn require_known_cylinder(&self, cylinders: &[String]) -> Result<(), StoreError> {
        let own = own_of(&self.field).filter(|_| paper_of(&self.field).is_none());
        let Some((name, rest)) = own.filter(|(name, _)| !cylinders.iter().any(|known| known == name)) else {
            return Ok(());
        };
        let help = match nearest_name(name, cylinders.iter().map(String::as_str)) {
            Some(near) => format!("Did you mean {near}.{rest}? The cylinders are {}.", cylinders.join(", ")),
            None if cylinders.is_empty() => {
                format!("Every engine here has one cylinder: write {rest}, without a name before it.")
            }
            None => format!("The cylinders are {}.", cylinders.join(", ")),
        };
        let message = format!("No bike has a cylinder \"{}\".", visible(name));
        Err(StoreError::request(Some(&self.field), message, help))
    }

    /// The same for a field of each of the garage's cylinders where there are several, and for all together.
    fn of_each(&self, cylinders: &[String]) -> Vec<Self> {
        let (word, inner) = match paper_of(&self.field) {
            Some((Paper::Build, _, inner)) => ("build.", inner),
            Some(_) => return vec![self.clone()],
            None => ("", self.field.as_str()),
        };
        let own = cylinders.iter().filter(|_| can_be_own(inner) && own_of(inner).is_none());
        let own = own.map(|name| Self { field: format!("{word}{name}.{inner}"), ..self.clone() });
        std::iter::once(self.clone()).chain(own).collect()
    }

    /// Adds to a question that it holds, for all cylinders together or for one of them.
    pub(super) fn add(
        &self,
        (table, key): (&str, &str),
        cylinders: &[String],
        (sql, parameters): (&mut String, &mut Vec<Sql>),
    ) -> Result<(), StoreError> {
        let mut held = Vec::new();
        for one in self.of_each(cylinders) {
            let (inner, values) = one.sql(table, key)?;
            held.push(format!("{key} IN ({inner})"));
            parameters.extend(values);
        }
        // What is said of all is said of a cylinder that has nothing of its own there.
        if let Some((_, rest)) =
            own_of(&self.field).filter(|(name, _)| cylinders.iter().any(|known| known == name))
            && paper_of(&self.field).is_none()
        {
            let of_all = Self { field: rest.to_owned(), ..self.clone() };
            let (inner, values) = of_all.sql(table, key)?;
            held.push(format!(
                "({key} IN ({inner}) AND {key} NOT IN (SELECT {key} FROM {table} WHERE field = ?))"
            ));
            parameters.extend(values);
            parameters.push(Sql::Text(self.field.clone()));
        }
        sql.push_str(&format!(" AND ({})", held.join(" OR ")));
        Ok(())
    }

    /// The SQL that picks the keys from a table of values, and its parameters.
    pub(super) fn sql(&self, table: &str, key: &str) -> Result<(String, Vec<Sql>), StoreError> {
        let start = format!("SELECT {key} FROM {table} WHERE field = ?");
        let field = Sql::Text(self.indexed().to_owned());
        if self.value.is_empty() && self.comparison == Comparison::NotEqual {
            return Ok((start, vec![field]));
        }
        let quantity = match self.leaf().map(|leaf| (leaf, &leaf.sort)) {
            Some((leaf, Sort::Quantity(dimensions, unit))) => {
                Some(leaf.quantity(&self.value, dimensions, unit).map_err(|error| {
                    StoreError::request(Some(&self.field), error.to_string(), error.help())
                })?)
            }
            Some(_) => None,
            None => Quantity::parse(&self.value, Dimension::ANY, "").ok(),
        };
        let sign = self.comparison.sql();
        Ok(match quantity {
            Some(quantity) => self.quantity_sql(&start, field, &quantity),
            None => (
                format!("{start} AND lower(text) {sign} lower(?)"),
                vec![field, Sql::Text(self.value.clone())],
            ),
        })
    }

    /// Equal to one part in 10⁹, so that 0.030 in finds 0.762 mm.
    fn quantity_sql(&self, start: &str, field: Sql, quantity: &Quantity) -> (String, Vec<Sql>) {
        let si = quantity.si();
        let near = 1e-9 * si.abs().max(1e-12);
        let dimension = Sql::Text(quantity.dimension().with_article().to_owned());
        let limit = match self.comparison {
            Comparison::Less | Comparison::AtLeast => si - near,
            _ => si + near,
        };
        match self.comparison {
            Comparison::Equal => (
                format!("{start} AND dimension = ? AND si BETWEEN ? AND ?"),
                vec![field, dimension, Sql::Real(si - near), Sql::Real(si + near)],
            ),
            Comparison::NotEqual => (
                format!("{start} AND dimension = ? AND si NOT BETWEEN ? AND ?"),
                vec![field, dimension, Sql::Real(si - near), Sql::Real(si + near)],
            ),
            other => (
                format!("{start} AND dimension = ? AND si {} ?", other.sql()),
                vec![field, dimension, Sql::Real(limit)],
            ),
        }
    }
}

/// A throttle zone may be written as it is typed for an outing, `1/2` for verdict.half, and a field by its last name where one ends so.
fn field_as_kept(field: &str) -> Result<String, StoreError> {
    let zone = field.strip_prefix("verdict.").unwrap_or(field);
    if let Some((name, _, _)) = ZONES.iter().find(|(name, short, _)| [*name, *short].contains(&zone)) {
        return Ok(format!("verdict.{name}"));
    }
    let outing = DocumentKind::Outing.catalogue();
    if outing.leaf(field).is_some() {
        return Ok(field.to_owned());
    }
    if let Some((name, rest)) = field.split_once('.') {
        let is_whole =
            Combination::leaf(field).is_some() || own_of(field).is_some() || paper_of(field).is_some();
        // "right.main" and "right.full", as they are typed elsewhere.
        let own =
            (!is_whole).then(|| field_as_kept(rest).map(|rest| format!("{name}.{rest}"))).transpose()?;
        return Ok(own.filter(|own| own_of(own).is_some()).unwrap_or_else(|| field.to_owned()));
    }
    let of_setup = whole_name(field)
        .map_err(|error| StoreError::request(Some(field), error.to_string(), error.help()))?;
    if Combination::leaf(&of_setup).is_some() {
        return Ok(of_setup);
    }
    let ends_so = |known: &String| known.rsplit('.').next() == Some(field);
    let mut of_outing = outing.leaves().into_iter().map(|(known, _)| known).filter(ends_so);
    Ok(match (of_outing.next(), of_outing.next()) {
        (Some(only), None) => only,
        _ => field.to_owned(),
    })
}
