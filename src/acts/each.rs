//! What is said of each of several cylinders, and once where it is the same at all.

use crate::notebook::FieldSet;
use crate::notebook::fields::cylinder::{at_cylinder, said_of_several};

/// What is to be said of a step at each cylinder; what is the same at all of them is said once.
pub fn said_at_each(
    (before, after): (&FieldSet, &FieldSet),
    said: impl Fn(&FieldSet, &FieldSet) -> Vec<String>,
) -> Vec<String> {
    let names = after.cylinders();
    if names.is_empty() {
        return said(before, after);
    }
    let of_one = |name: &String| said(&before.for_cylinder(name), &after.for_cylinder(name));
    let all: Vec<(&str, Vec<String>)> = names.iter().map(|name| (name.as_str(), of_one(name))).collect();
    said_of_several(&all, |name, sentence| at_cylinder(name, sentence))
}
