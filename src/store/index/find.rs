//! Questions to the index: setups and outings by conditions on fields, by words, by place and date, by nearness of air.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{params_from_iter, types::Value as Sql};

use crate::air::Air;
use crate::notebook::fields::catalogue::{Leaf, Sort};
use crate::notebook::fields::cylinder::{NAMES, can_be_own, common, own_of};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Combination, DocumentKind, When, ZONES, nearest_name};
use crate::quantity::{Dimension, Quantity};
use crate::store::book::{Book, OutingRecord, SetupRecord};
use crate::store::error::StoreError;
use crate::store::index::find_papers::{paper_hits, paper_of};
use crate::store::writing::builds::BuildRecord;
use crate::store::writing::parts::PartRecord;

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
            Self { field: field_as_kept(field.trim()), comparison, value: value.trim().to_owned() };
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

    fn is_of_outing(&self) -> bool {
        DocumentKind::Outing.catalogue().leaf(common(&self.field)).is_some()
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
            return kind.catalogue().leaf(inner);
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
            Some(near) => format!("Did you mean {near}?"),
            None => "A field is written like jetting.main, ignition.base, verdict.full, place, build.squish.front or part.kind.".into(),
        };
        Err(StoreError::request(
            Some(&self.field),
            format!("There is no field \"{}\".", visible(&self.field)),
            help,
        ))
    }

    /// Refuses a field of a cylinder that no bike of the garage has.
    fn require_known_cylinder(&self, cylinders: &[String]) -> Result<(), StoreError> {
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
        let can_be = paper_of(&self.field).is_none() && can_be_own(&self.field);
        let own = cylinders.iter().filter(|_| can_be && own_of(&self.field).is_none());
        let own = own.map(|name| Self { field: format!("{name}.{}", self.field), ..self.clone() });
        std::iter::once(self.clone()).chain(own).collect()
    }

    /// Adds to a question that it holds, for all cylinders together or for one of them.
    fn add(
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

/// A throttle zone may be written as it is typed for an outing: verdict.1/2 is kept as verdict.half.
fn field_as_kept(field: &str) -> String {
    let zone = field.strip_prefix("verdict.");
    let known = zone.and_then(|zone| ZONES.iter().find(|(_, short, _)| *short == zone));
    known.map_or_else(|| field.to_owned(), |(name, _, _)| format!("verdict.{name}"))
}

/// What is looked for; everything given must hold.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// Only this bike.
    pub bike: Option<String>,
    /// Conditions on fields.
    pub conditions: Vec<Condition>,
    /// Words in reasons and notes.
    pub words: Option<String>,
    /// A part of the place's name.
    pub place: Option<String>,
    /// Not before.
    pub since: Option<When>,
    /// Not after.
    pub until: Option<When>,
    /// Air that should be like this.
    pub air: Option<Air>,
    /// How far the dry density may be off, percent.
    pub within_percent: f64,
}

/// Something found.
#[derive(Debug, Clone)]
pub enum Found {
    /// A setup.
    Setup(SetupRecord),
    /// An outing.
    Outing(OutingRecord),
    /// An assembly of an engine.
    Build(Box<BuildRecord>),
    /// A part, with the date of what happened to it last.
    Part(Box<PartRecord>, When),
}

/// A find with how far its air is from the air that was asked for, in percent of dry density.
#[derive(Debug, Clone)]
pub struct Hit {
    /// What was found.
    pub found: Found,
    /// Difference of the dry density in percent.
    pub air_off_percent: Option<f64>,
}

impl Hit {
    /// The outing, where it is one.
    pub fn outing(&self) -> Option<&OutingRecord> {
        match &self.found {
            Found::Outing(record) => Some(record),
            _ => None,
        }
    }
}

/// Answers a question: newest first, or nearest air first.
pub fn find(book: &Book<'_>, question: &Question) -> Result<Vec<Hit>, StoreError> {
    if let Some(bike) = &question.bike {
        book.garage().require_bike(bike)?;
    }
    let bikes = match &question.bike {
        Some(bike) => vec![bike.clone()],
        None => book.garage().bikes(),
    };
    if question.conditions.iter().any(|condition| own_of(&condition.field).is_some()) {
        let mut cylinders = BTreeSet::new();
        for bike in &bikes {
            cylinders.extend(cylinders_of(book, bike)?);
        }
        let cylinders: Vec<String> = cylinders.into_iter().collect();
        question.conditions.iter().try_for_each(|one| one.require_known_cylinder(&cylinders))?;
    }
    let words = question.words.as_deref().map(|words| places_of_words(book, words)).transpose()?;
    let mut hits = Vec::new();
    let is_of_papers = |condition: &Condition| paper_of(&condition.field).is_some();
    let papers_asked = question.conditions.iter().all(is_of_papers);
    let bikes_asked = !question.conditions.iter().any(is_of_papers);
    for bike in bikes.iter().filter(|_| bikes_asked) {
        let setups = fitting_setups(book, bike, question)?;
        hits.extend(outing_hits(book, bike, question, &setups, words.as_ref())?);
        if !question.asks_of_outings() {
            hits.extend(setup_hits(book, bike, question, &setups, words.as_ref())?);
        }
    }
    if papers_asked {
        hits.extend(paper_hits(book, question, words.as_ref())?);
    }
    match question.air {
        Some(_) => hits.sort_by(|a, b| off(a).total_cmp(&off(b)).then_with(|| date(b).cmp(&date(a)))),
        None => hits.sort_by_key(|hit| std::cmp::Reverse(date(hit))),
    }
    Ok(hits)
}

fn off(hit: &Hit) -> f64 {
    hit.air_off_percent.map_or(f64::INFINITY, f64::abs)
}

fn date(hit: &Hit) -> When {
    match &hit.found {
        Found::Setup(setup) => setup.date,
        Found::Outing(record) => record.outing.date,
        Found::Build(record) => record.build.date,
        Found::Part(_, date) => *date,
    }
}

impl Question {
    /// Whether nothing is asked for.
    pub fn is_empty(&self) -> bool {
        self.conditions.is_empty()
            && self.words.is_none()
            && self.place.is_none()
            && self.since.is_none()
            && self.until.is_none()
            && self.air.is_none()
    }

    /// Only outings have a place and a verdict.
    fn asks_of_outings(&self) -> bool {
        self.place.is_some()
            || self
                .conditions
                .iter()
                .any(|condition| condition.is_of_outing() && Combination::leaf(&condition.field).is_none())
    }

    /// Whether no span of time is asked for.
    pub(super) fn is_timeless(&self) -> bool {
        self.since.is_none() && self.until.is_none()
    }

    pub(super) fn in_time(&self, date: When) -> bool {
        self.since.is_none_or(|since| date >= since) && self.until.is_none_or(|until| date <= until)
    }

    /// Makes a hit of what was found, if its air is near enough.
    fn hit(&self, found: Found, air: Option<&AirEntry>) -> Option<Hit> {
        let Some(wanted) = &self.air else {
            return Some(Hit { found, air_off_percent: None });
        };
        let dry_density = air?.air().ok()?.dry_density();
        let percent = 100.0 * (dry_density / wanted.dry_density() - 1.0);
        (percent.abs() <= self.within_percent).then_some(Hit { found, air_off_percent: Some(percent) })
    }
}

/// The names of the cylinders that a bike's setups had.
fn cylinders_of(book: &Book<'_>, bike: &str) -> Result<Vec<String>, StoreError> {
    let mut statement = book.index().connection().prepare_cached(
        "SELECT DISTINCT text FROM setup_fields JOIN setups USING (position) WHERE field = ?1 AND bike = ?2",
    )?;
    let lists =
        statement.query_map([NAMES, bike], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
    let names: BTreeSet<String> = lists.iter().flat_map(|list| list.split(", ").map(str::to_owned)).collect();
    Ok(names.into_iter().collect())
}

/// Identities of the setups of a bike for which all conditions on setups hold, with their place in the index.
fn fitting_setups(
    book: &Book<'_>,
    bike: &str,
    question: &Question,
) -> Result<BTreeMap<String, i64>, StoreError> {
    let cylinders = cylinders_of(book, bike)?;
    let mut sql = "SELECT id, position FROM setups WHERE bike = ?".to_owned();
    let mut parameters = vec![Sql::Text(bike.to_owned())];
    for condition in question.conditions.iter().filter(|condition| !condition.is_of_outing()) {
        condition.add(("setup_fields", "position"), &cylinders, (&mut sql, &mut parameters))?;
    }
    let mut statement = book.index().connection().prepare(&sql)?;
    let rows = statement.query_map(params_from_iter(parameters), |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn setup_hits(
    book: &Book<'_>,
    bike: &str,
    question: &Question,
    fitting: &BTreeMap<String, i64>,
    words: Option<&BTreeSet<String>>,
) -> Result<Vec<Hit>, StoreError> {
    let mut hits = Vec::new();
    for setup in book.setups(bike)? {
        let Some(position) = fitting.get(&setup.id).filter(|_| question.in_time(setup.date)) else {
            continue;
        };
        let place = format!("setup {position}");
        if words.is_some_and(|places| !places.contains(&place)) {
            continue;
        }
        let air = setup.air.clone();
        hits.extend(question.hit(Found::Setup(setup), air.as_ref()));
    }
    Ok(hits)
}

fn outing_hits(
    book: &Book<'_>,
    bike: &str,
    question: &Question,
    setups: &BTreeMap<String, i64>,
    words: Option<&BTreeSet<String>>,
) -> Result<Vec<Hit>, StoreError> {
    let files = fitting_outings(book, bike, question)?;
    let known = book.setups(bike)?;
    let setup_conditions = question.conditions.iter().any(|condition| !condition.is_of_outing());
    let mut hits = Vec::new();
    for record in book.outings(bike)? {
        let file = crate::store::index::outings::path_text(&record.file);
        let ran = record.setup.and_then(|number| known.iter().find(|setup| setup.number == number));
        let setup_fits = !setup_conditions || ran.is_some_and(|setup| setups.contains_key(&setup.id));
        let words_fit = words.is_none_or(|places| places.contains(&format!("outing {file}")));
        if !files.contains(&file) || !setup_fits || !words_fit || !question.in_time(record.outing.date) {
            continue;
        }
        let air = record.outing.air.clone();
        hits.extend(question.hit(Found::Outing(record), air.as_ref()));
    }
    Ok(hits)
}

/// Files of the outings of a bike for which all conditions on outings hold.
fn fitting_outings(book: &Book<'_>, bike: &str, question: &Question) -> Result<BTreeSet<String>, StoreError> {
    let cylinders = cylinders_of(book, bike)?;
    let mut sql = "SELECT file FROM outings WHERE bike = ?".to_owned();
    let mut parameters = vec![Sql::Text(bike.to_owned())];
    for condition in question.conditions.iter().filter(|condition| condition.is_of_outing()) {
        condition.add(("outing_fields", "file"), &cylinders, (&mut sql, &mut parameters))?;
    }
    if let Some(place) = &question.place {
        sql.push_str(" AND instr(lower(place), lower(?)) > 0");
        parameters.push(Sql::Text(place.clone()));
    }
    let mut statement = book.index().connection().prepare(&sql)?;
    let rows = statement.query_map(params_from_iter(parameters), |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Where words stand; each word is looked for whole or as a beginning, and all must be there.
fn places_of_words(book: &Book<'_>, words: &str) -> Result<BTreeSet<String>, StoreError> {
    let terms: Vec<_> = words
        .split_whitespace()
        .map(|word| word.chars().filter(|c| c.is_alphanumeric()).collect::<String>())
        .filter(|word| !word.is_empty())
        .map(|word| format!("\"{word}\"*"))
        .collect();
    if terms.is_empty() {
        return Err(StoreError::request(
            Some("words"),
            "There is no word to look for.",
            "Give words like --words \"pinged hot\".",
        ));
    }
    let mut statement = book.index().connection().prepare("SELECT place FROM words WHERE words MATCH ?1")?;
    let rows = statement.query_map([terms.join(" ")], |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
