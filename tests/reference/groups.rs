//! Reads the reference values of the carburetor and the fuel, refusing what is no reference, and checks them all.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    group: Vec<Group>,
}

/// Rows that share their kind, tolerance and source.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Group {
    kind: String,
    tolerance: f64,
    tolerance_reason: String,
    source: String,
    flag: Flag,
    rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    expected: f64,
    inputs: BTreeMap<String, f64>,
}

/// How the value was come by; a row whose flag is none of these is refused.
#[derive(Deserialize)]
enum Flag {
    #[serde(rename = "READ")]
    Read,
    #[serde(rename = "READ-2nd")]
    ReadSecondHand,
    #[serde(rename = "COMPUTED")]
    Computed,
    #[serde(rename = "RECALLED")]
    Recalled,
}

/// The groups of a reference file, or why it is no reference.
pub(crate) fn load(text: &str) -> Result<Vec<Group>, String> {
    let table: Table = toml::from_str(text).map_err(|error| error.to_string())?;
    let mut names = BTreeSet::new();
    for group in &table.group {
        if group.source.trim().is_empty() || group.tolerance_reason.trim().is_empty() {
            return Err(format!("a group of {} lacks a source or reason", group.kind));
        }
        if !(group.tolerance > 0.0 && group.tolerance.is_finite()) {
            return Err(format!("a group of {} has no tolerance", group.kind));
        }
        if matches!(group.flag, Flag::Recalled) && !group.source.contains("from memory") {
            return Err(format!("a group of {} hides that it is from memory", group.kind));
        }
        if group.rows.is_empty() {
            return Err(format!("a group of {} has no rows", group.kind));
        }
        for row in &group.rows {
            if row.inputs.is_empty() || !row.expected.is_finite() {
                return Err(format!("{} has no inputs or no expected value", row.name));
            }
            if !names.insert((group.kind.clone(), row.name.clone())) {
                return Err(format!("{} stands twice", row.name));
            }
        }
    }
    Ok(table.group)
}

/// The inputs of a row, each to be read once.
pub(crate) struct Inputs(BTreeMap<String, f64>);

impl Inputs {
    pub(crate) fn take(&mut self, name: &str) -> f64 {
        self.0.remove(name).unwrap_or_else(|| panic!("input {name} is missing"))
    }

    pub(crate) fn take_or(&mut self, name: &str, other: f64) -> f64 {
        self.0.remove(name).unwrap_or(other)
    }
}

/// Checks every row, all failures reported at once, and gives back how many there were.
pub(crate) fn check_all(text: &str, compute: fn(&str, &mut Inputs) -> f64) -> usize {
    let mut count = 0;
    let mut failures = Vec::new();
    for group in load(text).unwrap() {
        for row in group.rows {
            let mut inputs = Inputs(row.inputs);
            let found = compute(&group.kind, &mut inputs);
            assert!(inputs.0.is_empty(), "{}: unread {:?}", row.name, inputs.0);
            count += 1;
            let off = (found - row.expected).abs();
            // Written so that not-a-number fails.
            if !matches!(off.partial_cmp(&group.tolerance), Some(order) if order.is_le()) {
                failures.push(format!(
                    "{} ({}): found {found}, expected {} +- {} ({}; {})",
                    row.name, group.kind, row.expected, group.tolerance, group.tolerance_reason, group.source
                ));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    count
}
