//! What a field is called where it is read: the one list of names, which stands beside each field as what is done for it at the bike.

use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::{NAMES, own_of};
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::fields::order::section_of;

/// A field within its section by the name that a mechanic uses, "rear sprocket", "right main"; one that nothing is done for by its
/// place, "exhaust top".
pub fn called(field: &str) -> String {
    if let Some((name, rest)) = own_of(field) {
        return at_cylinder(name, &called(rest));
    }
    let named = Combination::meaning(field).and_then(|meaning| match &meaning.hands.deed {
        Deed::Set(name) | Deed::Fit(name) | Deed::ScrewIn(name) if !name.ends_with('*') => Some(name),
        _ => None,
    });
    match named {
        Some(name) => {
            let section = format!("{} ", section_of(field));
            name.strip_prefix(&section).unwrap_or(name).to_owned()
        }
        None => by_its_place(field).replace("stoichiometric ratio", "air-fuel ratio"),
    }
}

/// A thing of one cylinder: "right main", "cylinder 1 main".
pub fn at_cylinder(cylinder: &str, name: &str) -> String {
    format!("{} {name}", in_words(cylinder))
}

fn by_its_place(field: &str) -> String {
    let inner = match field {
        // "names" alone would be anybody's.
        NAMES => "cylinders",
        _ => field.split_once('.').map_or(field, |(_, inner)| inner),
    };
    let words: Vec<_> = inner.split('.').filter(|name| !matches!(*name, "windows" | "sections")).collect();
    visible(&words.join(" ").replace('_', " "))
}

#[cfg(test)]
mod tests {
    use super::called;

    #[test]
    fn a_field_has_the_name_of_the_list_of_jobs_and_a_measured_one_that_of_its_place() {
        for (field, name) in [
            ("gearing.rear", "rear sprocket"),
            ("fuel.oil_ratio", "petrol to oil"),
            ("right.jetting.main", "right main"),
            ("1.jetting.main", "cylinder 1 main"),
            ("ignition.base", "base"),
            ("ports.exhaust.top", "exhaust top"),
            ("cylinders.names", "cylinders"),
            ("fuel.stoichiometric_ratio", "air-fuel ratio"),
        ] {
            assert_eq!(called(field), name, "{field}");
        }
    }
}
