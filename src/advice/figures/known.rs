//! A figure that is known, or what it lacks.

use std::fmt;

use crate::engine::{EngineError, named};

/// Why a figure is not there.
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// Fields it is computed from are not written down.
    Needs(Vec<String>),
    /// What is written down cannot be computed with.
    Wrong {
        /// The dotted field to look at.
        field: String,
        /// Why.
        error: EngineError,
    },
    /// There is nothing to compute on this bike, and why.
    Without(String),
}

/// A figure, or why it is not there.
pub type Known<T> = Result<T, Gap>;

impl Gap {
    /// One field is missing.
    pub(crate) fn needs(field: &str) -> Self {
        Self::Needs(vec![field.to_owned()])
    }

    /// Both gaps at once: what cannot be computed with comes first, then everything that is missing.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Needs(mut fields), Self::Needs(more)) => {
                fields.extend(more);
                fields.sort();
                fields.dedup();
                Self::Needs(fields)
            }
            (wrong @ Self::Wrong { .. }, _) | (_, wrong @ Self::Wrong { .. }) => wrong,
            (without @ Self::Without(_), _) | (_, without @ Self::Without(_)) => without,
        }
    }
}

impl fmt::Display for Gap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Needs(fields) => write!(f, "not known: needs {}", fields.join(", ")),
            Self::Wrong { field, error } => write!(f, "cannot be computed: {field}: {error}"),
            Self::Without(why) => f.write_str(why),
        }
    }
}

/// Both figures, or everything that either lacks.
pub(crate) fn both<A, B>(first: Known<A>, second: Known<B>) -> Known<(A, B)> {
    match (first, second) {
        (Ok(first), Ok(second)) => Ok((first, second)),
        (Err(gap), Ok(_)) | (Ok(_), Err(gap)) => Err(gap),
        (Err(first), Err(second)) => Err(first.and(second)),
    }
}

/// Three figures, or everything that any lacks.
pub(crate) fn three<A, B, C>(a: Known<A>, b: Known<B>, c: Known<C>) -> Known<(A, B, C)> {
    both(both(a, b), c).map(|((a, b), c)| (a, b, c))
}

/// All figures of a list, or everything that any lacks.
pub(crate) fn all<T>(figures: impl IntoIterator<Item = Known<T>>) -> Known<Vec<T>> {
    let mut known = Ok(Vec::new());
    for figure in figures {
        known = both(known, figure).map(|(mut list, figure)| {
            list.push(figure);
            list
        });
    }
    known
}

/// The field of each quantity that has one of its own.
const FIELDS: [(&str, &str); 16] = [
    (named::ADVANCE, "ignition.advance"),
    (named::BAND_ANGLE, "head.band_angle"),
    (named::BAND_WIDTH, "head.band_width"),
    (named::BORE, "engine.bore"),
    (named::CHAMBER_VOLUME, "head.chamber_volume"),
    (named::CRANKCASE_VOLUME, "engine.crankcase_volume"),
    (named::MAIN, "jetting.main"),
    (named::NEEDLE, "jetting.needle"),
    (named::NEEDLE_JET, "jetting.needle_jet"),
    (named::OIL_DENSITY, "fuel.oil_density"),
    (named::PIN_OFFSET, "engine.pin_offset"),
    (named::ROD, "engine.rod"),
    (named::SKIRT_LENGTH, "ports.skirt_length"),
    (named::SQUISH_CLEARANCE, "head.squish_clearance"),
    (named::STINGER_DIAMETER, "pipe.stinger_diameter"),
    (named::STROKE, "engine.stroke"),
];

/// Turns a refusal of the calculation into a gap that names the field of the document it is about: that of the quantity where
/// it lies in `section`, else the section.
pub(crate) fn wrong(section: &str) -> impl Fn(EngineError) -> Gap {
    let section = section.to_owned();
    move |error| {
        let inside =
            |field: &str| field.strip_prefix(section.as_str()).is_some_and(|leaf| leaf.starts_with('.'));
        let named = error.quantities().into_iter().find_map(|quantity| {
            FIELDS.iter().find(|(name, field)| *name == quantity && inside(field)).map(|(_, field)| *field)
        });
        Gap::Wrong { field: named.unwrap_or(&section).to_owned(), error }
    }
}

#[cfg(test)]
mod tests {
    use super::{FIELDS, Gap, Known, all, both, wrong};
    use crate::engine::crank::Crank;
    use crate::notebook::Combination;

    #[test]
    fn a_refusal_names_the_field_of_its_quantity_in_the_section() {
        for (_, field) in FIELDS {
            assert!(Combination::leaf(field).is_some(), "no document has {field}");
        }
        let field = |section| match Crank::new(0.054, -1.0, 0.0).map_err(wrong(section)) {
            Err(Gap::Wrong { field, .. }) => field,
            other => panic!("{other:?}"),
        };
        assert_eq!(field("engine"), "engine.rod");
        assert_eq!(field("pipe"), "pipe");
    }

    #[test]
    fn everything_that_is_missing_is_named_once() {
        let first: Known<f64> = Err(Gap::needs("engine.rod"));
        let second: Known<f64> = Err(Gap::Needs(vec!["engine.bore".into(), "engine.rod".into()]));
        let gap = both(first, second).unwrap_err();
        assert_eq!(gap.to_string(), "not known: needs engine.bore, engine.rod");
    }

    #[test]
    fn a_list_is_known_when_each_of_it_is() {
        assert_eq!(all([Ok(1), Ok(2)]), Ok(vec![1, 2]));
        assert!(all([Ok(1), Err(Gap::needs("head.insert"))]).is_err());
    }
}
