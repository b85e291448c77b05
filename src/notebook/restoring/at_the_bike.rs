//! What is to be done at the bike so that it is what the files say, one line a thing, jets first.

use crate::notebook::comparing::fields::Change;
use crate::notebook::fields::names::visible;
use crate::notebook::fields::value::{Value, section_of};
use crate::notebook::restoring::plan::{RestorePlan, metal_of};

/// How a field is brought back by hand.
#[derive(Debug, Clone, Copy)]
enum Deed {
    /// Turn, swap or set it: "main 178 → 172".
    Set(&'static str),
    /// Fit a thing by its name: "fit head insert B2".
    Fit(&'static str),
    /// Load a map: "load the ignition map: 2.0 degrees less from 9,000 to 10,500 rpm".
    Load(&'static str),
    /// Nothing to do of its own: it says how something else counts, or comes with it.
    Nothing,
}

use Deed::{Fit, Load, Nothing, Set};

/// The things to do, in the order in which they are done. A field that is not here is done last, under its own name.
const DEEDS: &[(&str, Deed)] = &[
    ("jetting.main", Set("main")),
    ("jetting.pilot", Set("pilot")),
    ("jetting.needle", Set("needle")),
    ("jetting.clip", Set("clip")),
    ("jetting.shim", Set("shim")),
    ("jetting.needle_jet", Set("needle jet")),
    ("jetting.air_screw", Set("air screw")),
    ("jetting.fuel_screw", Set("fuel screw")),
    ("jetting.power_jet", Set("power jet")),
    ("jetting.air_jet", Set("air jet")),
    ("jetting.power_jet_from", Set("power jet feeds from")),
    ("jetting.power_jet_until", Set("power jet shuts at")),
    ("jetting.slide_cutaway", Set("slide cutaway")),
    ("jetting.float_height", Set("float height")),
    ("jetting.carburetor_bore", Set("carburetor bore")),
    ("jetting.main_series", Nothing),
    ("jetting.pilot_series", Nothing),
    ("jetting.seat_to_needle_jet", Nothing),
    ("injection.fuel", Load("the fuel map")),
    ("injection.trim", Set("fuel trim")),
    ("injection.fuel_pressure", Set("fuel pressure")),
    ("injection.fuel_map_unit", Nothing),
    ("injection.dead_time", Nothing),
    ("ignition.advance", Load("the ignition map")),
    ("ignition.base", Set("ignition base")),
    ("ignition.limiter", Set("limiter")),
    ("ignition.box_name", Fit("ignition box")),
    ("ignition.base_set_by", Nothing),
    ("ignition.map_kind", Nothing),
    ("ignition.assumed_base", Nothing),
    ("ignition.lag", Nothing),
    ("engine", Nothing),
    ("head.insert", Fit("head insert")),
    ("head.gasket", Set("head gasket")),
    ("head.plug", Fit("spark plug")),
    ("head.plug_gap", Set("plug gap")),
    ("head.dome", Nothing),
    ("head.volume_includes", Nothing),
    ("ports.base_gasket", Set("base gasket")),
    ("ports.reed.name", Fit("reed block")),
    ("ports.power_valve.drive", Fit("power valve drive")),
    ("ports.power_valve.opens", Set("power valve begins to open at")),
    ("ports.power_valve.open", Set("power valve fully open at")),
    ("pipe.name", Fit("pipe")),
    ("pipe.silencer", Fit("silencer")),
    ("pipe.silencer_core", Set("silencer core")),
    ("fuel.name", Set("fuel")),
    ("fuel.oil_ratio", Set("petrol to oil")),
    ("fuel.oil", Set("oil")),
    ("fuel.density", Nothing),
    ("fuel.stoichiometric_ratio", Nothing),
    ("fuel.oil_density", Nothing),
    ("fuel.temperature", Nothing),
    ("gearing.front", Set("gearbox sprocket")),
    ("gearing.rear", Set("wheel sprocket")),
    ("gearing.primary", Set("primary reduction")),
    ("gearing.gearbox", Fit("gearbox cluster")),
];

/// Parts whose measurements come with their name: the reed block, the gearbox cluster.
const COME_WITH: [(&str, &str); 2] =
    [("ports.reed.", "ports.reed.name"), ("gearing.ratios.", "gearing.gearbox")];

/// The list for the paddock: what must be turned, swapped, fitted or loaded for the plan to be true.
pub fn at_the_bike(plan: &RestorePlan) -> Vec<String> {
    let mut jobs: Vec<(usize, &Change)> =
        plan.applied.iter().map(|change| (rank(&change.field), change)).collect();
    jobs.sort_by_key(|(rank, _)| *rank);
    let engine_at = rank("engine");
    let engine = plan.engine.iter().map(|name| (engine_at, format!("put engine {} in", visible(name))));
    let said = jobs.iter().filter_map(|(rank, change)| Some((*rank, job(plan, change)?)));
    let mut lines: Vec<(usize, String)> = said.chain(engine).collect();
    lines.sort_by_key(|(rank, _)| *rank);
    lines.into_iter().map(|(_, line)| line).collect()
}

fn rank(field: &str) -> usize {
    let jet = field.strip_suffix("_numbered_by").unwrap_or(field);
    DEEDS.iter().position(|(known, _)| *known == jet).unwrap_or(DEEDS.len())
}

fn job(plan: &RestorePlan, change: &Change) -> Option<String> {
    let field = change.field.as_str();
    if section_of(field) == "notes" || metal_of(field).is_some() || comes_with_another(plan, field) {
        return None;
    }
    if let Some(jet) = field.strip_suffix("_numbered_by") {
        return (!is_applied(plan, jet)).then(|| set(&format!("{} jet counted by", own_name(jet)), change));
    }
    match DEEDS.iter().find(|(known, _)| *known == field).map(|(_, deed)| *deed) {
        Some(Nothing) => None,
        Some(Set(name)) => Some(jet(plan, name, change)),
        Some(Fit(name)) => Some(match &change.new {
            Some(new) => format!("fit {name} {}", shown(new)),
            None => set(name, change),
        }),
        Some(Load(name)) => Some(load(name, change)),
        None => Some(set(&own_name(field), change)),
    }
}

fn is_applied(plan: &RestorePlan, field: &str) -> bool {
    plan.applied.iter().any(|change| change.field == field)
}

fn comes_with_another(plan: &RestorePlan, field: &str) -> bool {
    COME_WITH.iter().any(|(start, part)| field.starts_with(start) && field != *part && is_applied(plan, part))
}

/// A jet whose numbering changed too is another jet altogether, and says so.
fn jet(plan: &RestorePlan, name: &str, change: &Change) -> String {
    let numbered = format!("{}_numbered_by", change.field);
    let Some(by) = plan.applied.iter().find(|other| other.field == numbered) else {
        return set(name, change);
    };
    let both = |number: &Option<Value>, by: &Option<Value>| {
        let by = by.as_ref().map(|by| format!(" by {}", shown(by))).unwrap_or_default();
        number.as_ref().map(|number| format!("{}{by}", shown(number)))
    };
    arrow(name, both(&change.old, &by.old), both(&change.new, &by.new))
}

fn set(name: &str, change: &Change) -> String {
    arrow(name, change.old.as_ref().map(shown), change.new.as_ref().map(shown))
}

fn arrow(name: &str, old: Option<String>, new: Option<String>) -> String {
    match (old, new) {
        (Some(old), Some(new)) => format!("{name} {old} → {new}"),
        (None, Some(new)) => format!("{name} {new}"),
        (Some(old), None) => format!("{name} {old} → not written then"),
        (None, None) => name.to_owned(),
    }
}

fn load(name: &str, change: &Change) -> String {
    match (&change.new, &change.map) {
        (Some(_), Some(map)) => format!("load {name}: {}", map.sentence),
        _ => format!("take {name} out: there was none then"),
    }
}

fn shown(value: &Value) -> String {
    visible(&value.text())
}

/// A field's own name in plain letters: `extra.spark_cap` is the spark cap.
fn own_name(field: &str) -> String {
    let parts: Vec<&str> = field.split('.').collect();
    let words = match parts.as_slice() {
        ["gearing", "ratios", gear] => format!("gear {gear}"),
        ["ports", "reed", name] => format!("reed {name}"),
        ["jetting" | "extra" | "injection", rest @ ..] => rest.join(" "),
        [section, rest @ ..] => format!("{section} {}", rest.join(" ")),
        [] => String::new(),
    };
    visible(&words.replace('_', " "))
}
