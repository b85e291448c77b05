//! What a document is made of: tables, named parts, and single values with what may stand there.

use crate::notebook::fields::meaning::Meaning;
use crate::quantity::{Dimension, Quantity, QuantityError, trimmed};

/// What a cylinder has of its own leaves out what is written for all.
pub(super) fn without_required(shape: Node) -> Node {
    let inner = |shape: Box<Node>| Box::new(without_required(*shape));
    match shape {
        Node::Table(Table { fields, .. }) => Node::Table(Table {
            fields: fields.into_iter().map(|(name, shape)| (name, without_required(shape))).collect(),
            required: Vec::new(),
        }),
        Node::Named(shape) => Node::Named(inner(shape)),
        Node::Own(shape) => Node::Own(inner(shape)),
        Node::Leaf(_) | Node::Free => shape,
    }
}

/// What may stand at one place of a document.
#[derive(Debug, Clone)]
pub enum Node {
    /// A table of known fields.
    Table(Table),
    /// A table whose names are the user's own, all of the same shape.
    Named(Box<Node>),
    /// What cylinders have of their own, under their names; its fields are those of the common document.
    Own(Box<Node>),
    /// A single value.
    Leaf(Leaf),
    /// Anything: the free part of a document.
    Free,
}

/// The fields of a table in the order of the type.
#[derive(Debug, Clone)]
pub struct Table {
    /// Name and shape.
    pub fields: Vec<(String, Node)>,
    /// Fields that must be there.
    pub required: Vec<String>,
}

/// A single value.
#[derive(Debug, Clone)]
pub struct Leaf {
    /// Its sort.
    pub sort: Sort,
    /// Allowed range in the unit of a bare number.
    pub range: Option<(f64, f64)>,
    /// Allowed range of a value that is measured another way, and its unit: piston travel in place of degrees.
    pub other_range: Option<((f64, f64), String)>,
    /// Whether it is counted, so that only whole numbers make sense.
    pub whole: bool,
    /// Whether a bare number above 0 and below 1 is a fraction of the whole.
    pub fraction: bool,
    /// For what is cut in metal: the fields that name the part it was cut into (none for the cylinder itself).
    pub metal: Option<Vec<String>>,
    /// Whether it counts from a point of somebody's choice, so that a percentage of it means nothing.
    pub from_a_point: bool,
    /// What it means at the bike, to an advice and to the record; none outside of setups and engines.
    pub meaning: Option<Meaning>,
    /// What it is.
    pub description: String,
}

/// The sort of a single value.
#[derive(Debug, Clone)]
pub enum Sort {
    /// A quantity: dimensions accepted and unit of a bare number.
    Quantity(&'static [Dimension], &'static str),
    /// Words.
    Text,
    /// A list of names: those of engines.
    Names,
    /// One of these words.
    Choice(Vec<String>),
    /// Yes or no.
    Flag,
    /// A date with its offset.
    Date,
    /// The breakpoints of a map's axis; part of the map, not a value of its own.
    Axis,
    /// The cells of a map.
    Cells(MapShape),
    /// A list of numbers, or of rows of them.
    Numbers(NumberList),
}

/// What a list of numbers holds: one column is a plain list, several are rows that ascend by their first number.
#[derive(Debug, Clone)]
pub struct NumberList {
    /// Its columns.
    pub columns: Vec<Column>,
    /// How many rows it needs at least.
    pub least_rows: usize,
}

/// One column of a list of numbers.
#[derive(Debug, Clone)]
pub struct Column {
    /// What stands in it.
    pub name: String,
    /// Unit of its bare numbers.
    pub unit: String,
    /// Allowed range.
    pub range: (f64, f64),
}

/// Which fields hold the axes of a map.
#[derive(Debug, Clone)]
pub struct MapShape {
    /// Field of the engine speeds.
    pub across: String,
    /// Field of the throttle openings.
    pub down: String,
    /// Unit of the cells.
    pub unit: String,
    /// Allowed range of the cells.
    pub range: (f64, f64),
}

impl Node {
    /// The node at a dotted path, one name after the other.
    pub fn at(&self, path: &[&str]) -> Option<&Node> {
        let Some((first, rest)) = path.split_first() else {
            return Some(self);
        };
        match self {
            Self::Table(table) => table.field(first)?.at(rest),
            Self::Named(shape) | Self::Own(shape) => shape.at(rest),
            Self::Free => Some(self),
            Self::Leaf(_) => None,
        }
    }

    /// The leaf at a dotted path.
    pub fn leaf(&self, path: &str) -> Option<&Leaf> {
        match self.at(&path.split('.').collect::<Vec<_>>())? {
            Self::Leaf(leaf) => Some(leaf),
            _ => None,
        }
    }

    /// Every path of a single value, `*` standing for a name of the user's own.
    pub fn leaves(&self) -> Vec<(String, &Leaf)> {
        let mut found = Vec::new();
        self.collect("", &mut found);
        found
    }

    fn collect<'a>(&'a self, above: &str, found: &mut Vec<(String, &'a Leaf)>) {
        let join = |name: &str| match above {
            "" => name.to_owned(),
            above => format!("{above}.{name}"),
        };
        match self {
            Self::Table(table) => {
                for (name, node) in &table.fields {
                    node.collect(&join(name), found);
                }
            }
            Self::Named(shape) => shape.collect(&join("*"), found),
            Self::Leaf(leaf) => found.push((above.to_owned(), leaf)),
            Self::Free | Self::Own(_) => {}
        }
    }
}

impl Table {
    /// A field by its name.
    pub fn field(&self, name: &str) -> Option<&Node> {
        self.fields.iter().find(|(known, _)| known == name).map(|(_, node)| node)
    }

    /// The field of it that holds parts under names of the user's own, where it has one: the windows of the ports.
    pub fn named_parts(&self) -> Option<&str> {
        let parts = |node: &Node| matches!(node, Node::Named(shape) if matches!(**shape, Node::Table(_)));
        self.fields.iter().find(|(_, node)| parts(node)).map(|(name, _)| name.as_str())
    }
}

impl Leaf {
    /// Reads a quantity as this field takes it; `dimensions` and `unit` are those of its sort.
    pub fn quantity(
        &self,
        text: &str,
        dimensions: &[Dimension],
        unit: &str,
    ) -> Result<Quantity, QuantityError> {
        let typed = Quantity::parse(text, dimensions, unit)?;
        Ok(if self.fraction { typed.or_fraction() } else { typed })
    }
}

/// The range check: message and help when a quantity is outside.
pub fn out_of_range(field: &str, quantity: &Quantity, leaf: &Leaf, unit: &str) -> Option<(String, String)> {
    if leaf.whole && quantity.value().fract().abs() > 0.0 {
        let message = format!("{field} cannot be {}.", quantity.with_unit());
        return Some((message, "It is counted: write a whole number.".into()));
    }
    let usual = leaf.range.map(|range| (range, unit));
    let other = leaf.other_range.as_ref().map(|(range, unit)| (*range, unit.as_str()));
    let measured = |(range, unit)| Some((range, unit, quantity.in_unit(unit)?));
    let ((low, high), unit, value) = usual.and_then(measured).or_else(|| other.and_then(measured))?;
    if (low..=high).contains(&value) {
        return None;
    }
    let show = |limit: f64| format!("{limit} {unit}").trim().to_owned();
    // In the unit that was typed as well.
    let typed = quantity.unit();
    let as_typed = |limit: f64| {
        let limit = Quantity::parse(&show(limit), &[quantity.dimension()], unit).ok()?;
        Some(format!("{} {typed}", trimmed(limit.in_unit(typed)?, 3)))
    };
    let other = Some(typed).filter(|typed| !quantity.is_bare() && *typed != unit);
    let other = other.and_then(|_| Some(format!(" ({} to {})", as_typed(low)?, as_typed(high)?)));
    Some((
        format!("{field} cannot be {}.", quantity.with_unit()),
        format!("Allowed: {} to {}{}.", show(low), show(high), other.unwrap_or_default()),
    ))
}
