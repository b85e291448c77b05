//! Which setups are one combination to a lean run: the same engine, pipe, ignition box, carburetor and fuel, whatever was turned or
//! swapped in them. A degree less or a thicker gasket does not make the engine another one; a run that was lean still stands.

use std::sync::OnceLock;

use crate::notebook::fields::meaning::{Makes, Meaning, PartOf};
use crate::notebook::{Combination, FieldSet, differing};

/// Two bores that differ by less are one carburetor's (common practice, no source): 36 and 38 mm are two.
const SAME_BORE: f64 = 0.03;

/// Parts across which what one setup delivers cannot be set against another's.
pub(super) const INCOMPARABLE: [&str; 3] = ["engine", "carburetor", "throttle body"];

/// Those of them that meter the fuel.
pub(super) const METERING: [&str; 2] = ["carburetor", "throttle body"];

/// What a run's combination is another one by that was in another bike: its engine is the one that is in this bike now.
pub(super) const BIKE: &str = "bike";

/// What the fuel is called among the parts.
pub(super) const FUEL: &str = PartOf::Fuel.name();

/// The parts that make another combination, each with the field that names or measures it.
fn named() -> &'static [(PartOf, &'static str)] {
    static NAMED: OnceLock<Vec<(PartOf, &'static str)>> = OnceLock::new();
    NAMED.get_or_init(|| {
        let names = |meaning: &Meaning| match meaning.makes {
            Makes::Names(part) => Some(part),
            _ => None,
        };
        let all = Combination::meanings().iter();
        let mut named: Vec<_> =
            all.filter_map(|(field, meaning)| Some((names(meaning)?, field.as_str()))).collect();
        named.sort_by_key(|(part, _)| *part);
        named
    })
}

/// The parts in which two setups are other combinations: "engine", "pipe", "ignition box", "carburetor", "throttle body", "fuel".
/// What one of them does not name was most likely the same; names count alike in capitals and small letters.
pub fn other_combination(now: &FieldSet, then: &FieldSet) -> Vec<&'static str> {
    let others = named().iter().filter(|(_, field)| differs(now, then, field));
    let mut parts: Vec<PartOf> = others.map(|(part, _)| *part).collect();
    parts.extend(differing(now, then).find_map(|field| shaped(field, now, then)));
    let metered_by = |fields: &FieldSet, section: &str| {
        fields.iter().any(|(field, _)| field.strip_prefix(section).is_some_and(|rest| rest.starts_with('.')))
    };
    let only =
        |fields: &FieldSet, this: &str, other: &str| metered_by(fields, this) && !metered_by(fields, other);
    let swapped = |one: &FieldSet, two: &FieldSet| {
        only(one, "jetting", "injection") && only(two, "injection", "jetting")
    };
    if swapped(now, then) || swapped(then, now) {
        parts.push(PartOf::Carburetor);
    }
    parts.into_iter().map(PartOf::name).collect()
}

/// The part that a field tells, where not both setups name it.
fn shaped(field: &str, now: &FieldSet, then: &FieldSet) -> Option<PartOf> {
    let Makes::Shapes(part) = Combination::meaning(field)?.makes else {
        return None;
    };
    let (_, name) = named().iter().find(|(known, _)| *known == part)?;
    let both_named = now.get(name).is_some() && then.get(name).is_some();
    (!both_named).then_some(part)
}

/// What a combination calls one of those parts, where it names it.
pub(super) fn name_of(part: &str, fields: &FieldSet) -> Option<String> {
    let (_, field) = named().iter().find(|(known, _)| known.name() == part)?;
    fields.get(field).map(|entry| entry.text().trim().to_owned())
}

fn differs(now: &FieldSet, then: &FieldSet, field: &str) -> bool {
    let Some((now, then)) = now.get(field).zip(then.get(field)) else {
        return false;
    };
    // A bore that is a hair off is the same carburetor, measured again.
    let sizes = now.quantity().zip(then.quantity()).map(|(now, then)| (now.si(), then.si()));
    if sizes.is_some_and(|(now, then)| (now / then - 1.0).abs() < SAME_BORE) {
        return false;
    }
    let same_name = now.text().trim().to_lowercase() == then.text().trim().to_lowercase();
    !now.same_as(then) && !same_name
}

#[cfg(test)]
mod tests {
    use super::other_combination;
    use crate::notebook::{Combination, FieldSet, SetupFiles};

    fn fields(text: &str) -> FieldSet {
        let files = SetupFiles {
            bike: "moth".into(),
            setup: Some(text.as_bytes().to_vec()),
            ..SetupFiles::default()
        };
        Combination::read(&files, false).fields
    }

    #[test]
    fn parts_make_another_combination_and_what_is_turned_in_them_does_not() {
        let now = fields(
            "engine = \"a\"\n[jetting]\nmain = 170\nmain_numbered_by = \"bore\"\n[pipe]\nname = \"P3\"\nstinger_length = \"200 mm\"\n\
             [ignition]\nbase = 15\nbox_name = \"B\"\n[fuel]\nname = \"race can\"\noil_ratio = 26\n",
        );
        let others = |text: &str| other_combination(&now, &fields(text));
        assert!(
            others("engine = \"a\"\n[ignition]\nbase = 13\n[fuel]\nname = \"Race can \"\noil_ratio = 30\n")
                .is_empty()
        );
        assert!(others("engine = \"a\"\n[pipe]\nname = \"P3\"\nstinger_length = \"180 mm\"\n").is_empty());
        assert_eq!(others("engine = \"b\"\n[pipe]\nname = \"P4\"\n"), ["engine", "pipe"]);
        assert_eq!(
            others("[ignition]\nbox_name = \"C\"\n[fuel]\nname = \"pump\"\n"),
            ["ignition box", "fuel"]
        );
        assert_eq!(others("[injection]\ntrim = \"0 %\"\n"), ["carburetor"]);
        assert!(others("").is_empty());
    }

    #[test]
    fn a_pipe_without_a_name_is_known_by_its_sections() {
        let one = fields("[pipe.sections.header]\nplace = 1\nlength = \"200 mm\"\n");
        let other = fields("[pipe]\nname = \"P3\"\n[pipe.sections.header]\nplace = 1\nlength = \"210 mm\"\n");
        assert_eq!(other_combination(&one, &other), ["pipe"]);
        assert!(other_combination(&one, &one).is_empty());
    }
}
