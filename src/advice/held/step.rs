//! What a change of the setup does that can hurt an engine: less fuel, an earlier spark, a tighter head, a shorter or narrower
//! stinger (common practice, no source).

use super::combination::other_combination;
use super::hold::{Tables, least_delivered};
use crate::advice::rejet::{factor_between, sizes_at_hand};
use crate::air::Air;
use crate::notebook::{Circuit, Combination, Comparison, FuelMapUnit, Jetting, Setup, ZONES, compare};
use crate::quantity::{fixed, nearly_equal, trimmed};

/// Fuel that is lost below this is dust from reckoning.
const DUST: f64 = 1e-4;

/// Percent of trim, or of a fuel map's cell, that count as one size (common practice, no source).
const SIZE_PERCENT: f64 = 2.0;

/// The kinds of steps that hurt together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Less fuel.
    Fuel,
    /// The spark comes earlier.
    Spark,
    /// The squish is tighter or the compression higher.
    Head,
    /// The stinger is shorter or narrower.
    Stinger,
}

/// One thing that can hurt.
#[derive(Debug, Clone, PartialEq)]
pub struct Harm {
    /// Its kind.
    pub kind: Kind,
    /// The field it stands in.
    pub field: String,
    /// In words, without a full stop: "main 172 -> 160, 6 sizes leaner".
    pub words: String,
    /// How many sizes leaner, where sizes can be counted: of jets in the box, grooves of a clip, two percent of trim.
    pub sizes: Option<u32>,
    /// The zones it reaches, as in [`ZONES`]; none for what is no fuel.
    pub zones: &'static [&'static str],
}

/// A change of the setup, as far as it can hurt.
#[derive(Debug, Clone, Default)]
pub struct Step {
    /// What can hurt.
    pub harms: Vec<Harm>,
    /// For each zone the fuel afterwards over what is on the bike; none where the circuits cannot say it.
    pub fuel: Vec<(&'static str, Option<f64>)>,
    /// Whether it is another engine or another carburetor, so that before and after cannot be set against each other.
    pub other_engine: bool,
}

impl Step {
    /// From one setup to another.
    pub fn between(before: &Combination, after: &Combination, tables: &Tables<'_>) -> Self {
        let others = other_combination(&after.fields, &before.fields);
        let incomparable = ["engine", "carburetor", "throttle body"];
        if others.iter().any(|part| incomparable.contains(part)) {
            return Self { other_engine: true, ..Self::default() };
        }
        let comparison = compare(&before.fields, &after.fields);
        let setups = before.setup.as_ref().zip(after.setup.as_ref());
        let wants = setups.and_then(|(before, after)| wants(before, after)).unwrap_or(1.0);
        let delivered = |zone: &str| least_delivered(before, after, zone, tables);
        let jetted: Vec<_> = ZONES.iter().map(|(zone, _, _)| (*zone, delivered(zone))).collect();
        let mut harms = less_fuel(&comparison, before.setup.as_ref(), tables, &jetted);
        let fuel: Vec<_> =
            jetted.into_iter().map(|(zone, fuel)| (zone, fuel.map(|fuel| fuel / wants))).collect();
        harms.extend(hungrier_fuel(&comparison, (wants, &fuel)));
        harms.extend(earlier_spark(&comparison));
        harms.extend(tighter_head(&comparison));
        if !others.contains(&"pipe") {
            harms.extend(shorter_stinger(&comparison));
        }
        Self { harms, fuel, other_engine: false }
    }

    /// Whether it hurts nothing.
    pub fn is_harmless(&self) -> bool {
        self.harms.is_empty()
    }

    /// Whether it takes fuel away.
    pub fn takes_fuel_away(&self) -> bool {
        self.of(Kind::Fuel).next().is_some()
    }

    /// Harms of one kind.
    pub fn of(&self, kind: Kind) -> impl Iterator<Item = &Harm> {
        self.harms.iter().filter(move |harm| harm.kind == kind)
    }

    /// The kinds of its harms, each once.
    pub fn kinds(&self) -> Vec<Kind> {
        let mut kinds: Vec<Kind> = self.harms.iter().map(|harm| harm.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }

    /// Sizes leaner at once: of the circuit that loses most.
    pub fn sizes(&self) -> u32 {
        self.of(Kind::Fuel).filter_map(|harm| harm.sizes).max().unwrap_or(0)
    }

    /// The fuel at a zone afterwards over what is on the bike, where the circuits can say it.
    pub fn fuel_at(&self, zone: &str) -> Option<f64> {
        self.fuel.iter().find(|(name, _)| *name == zone).and_then(|(_, fuel)| *fuel)
    }

    /// All zones, as in [`ZONES`].
    pub(super) fn zones() -> [&'static str; 6] {
        ZONES.map(|(zone, _, _)| zone)
    }

    /// Whether it makes a zone leaner: by the circuits, or where they cannot say it by what was turned.
    pub fn is_leaner_at(&self, zone: &str) -> bool {
        self.fuel_at(zone).map_or_else(
            || self.of(Kind::Fuel).any(|harm| harm.zones.contains(&zone)),
            |fuel| fuel < 1.0 - DUST,
        )
    }
}

pub(super) const OF_PILOT: &[&str] = &["idle", "eighth", "quarter"];
const OF_SCREW: &[&str] = &["idle", "eighth", "quarter"];
pub(super) const OF_NEEDLE: &[&str] = &["quarter", "half", "three_quarters"];
pub(super) const OF_MAIN: &[&str] = &["three_quarters", "full"];
const AT_FULL: &[&str] = &["full"];
pub(super) const EVERYWHERE: &[&str] = &["idle", "eighth", "quarter", "half", "three_quarters", "full"];

fn less_fuel(
    comparison: &Comparison,
    before: Option<&Setup>,
    tables: &Tables<'_>,
    fuel: &[(&'static str, Option<f64>)],
) -> Vec<Harm> {
    let jetting = before.and_then(|setup| setup.jetting.as_ref());
    let mut harms: Vec<Harm> = [
        ("jetting.main", "main", Circuit::Main, OF_MAIN),
        ("jetting.pilot", "pilot", Circuit::Pilot, OF_PILOT),
        ("jetting.power_jet", "power jet", Circuit::Power, AT_FULL),
    ]
    .into_iter()
    .filter_map(|(field, name, circuit, zones)| {
        smaller_jet(comparison, (field, name, circuit, zones), jetting, tables)
    })
    .collect();
    let turned = [
        ("jetting.clip", "clip", -1.0, OF_NEEDLE, true),
        ("jetting.shim", "shim", -1.0, OF_NEEDLE, false),
        ("jetting.needle_jet", "needle jet", -1.0, OF_NEEDLE, false),
        ("jetting.fuel_screw", "fuel screw", -1.0, OF_SCREW, false),
        ("jetting.air_screw", "air screw", 1.0, OF_SCREW, false),
    ];
    harms.extend(turned.into_iter().filter_map(|(field, name, lean_way, zones, counted)| {
        let by = difference(comparison, field)? * lean_way;
        // Grooves are whole numbers.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let grooves = counted.then(|| by.abs().round().min(9.0) as u32);
        let (from, to) = texts(comparison, field)?;
        let leaner = grooves
            .map_or_else(|| "leaner".to_owned(), |grooves| format!("{} leaner", of(grooves, "groove")));
        let words = format!("{name} {from} -> {to}, {leaner}");
        (by > 0.0).then(|| Harm { kind: Kind::Fuel, field: field.into(), words, sizes: grooves, zones })
    }));
    harms.extend(less_trim(comparison));
    harms.extend(less_in_cells(comparison, before));
    let leaner_at = fuel.iter().filter_map(|(zone, fuel)| Some((*zone, (*fuel)?)));
    let most = leaner_at.filter(|(_, fuel)| *fuel < 1.0 - DUST).min_by(|one, two| one.1.total_cmp(&two.1));
    let all_known = fuel.iter().all(|(_, fuel)| fuel.is_some());
    match most {
        // What one takes away another gives back.
        None if all_known => harms.retain(|harm| harm.field == "injection.fuel"),
        Some((zone, fuel)) if harms.is_empty() => harms.extend(by_zone(comparison, zone, fuel)),
        _ => {}
    }
    harms
}

/// What the fuel in the tank afterwards wants of itself over what it wanted before: another ratio of air to fuel, another density, more
/// oil in it.
fn wants(before: &Setup, after: &Setup) -> Option<f64> {
    let wants = factor_between(before, Air::STANDARD, Air::STANDARD, after.fuel.as_ref()).ok()?;
    (wants.is_finite() && wants > 0.0).then_some(wants)
}

/// The fuel wants more of itself, and the jets do not bring it everywhere.
fn hungrier_fuel(
    comparison: &Comparison,
    (wants, fuel): (f64, &[(&'static str, Option<f64>)]),
) -> Option<Harm> {
    const TOLD: f64 = 0.005;
    let least = fuel.iter().filter_map(|(_, fuel)| *fuel).reduce(f64::min).unwrap_or(1.0 / wants);
    let change = comparison.changes.iter().find(|change| {
        change.field.starts_with("fuel.") && !matches!(change.field.as_str(), "fuel.name" | "fuel.oil")
    })?;
    let name = change.field.trim_start_matches("fuel.").replace('_', " ");
    let (from, to) = texts(comparison, &change.field)?;
    let percent = 100.0 * (1.0 - least);
    Some(Harm {
        kind: Kind::Fuel,
        field: change.field.clone(),
        words: format!("{name} {from} -> {to}, {} % leaner with these jets", fixed(percent, 1)),
        sizes: Some(sizes_of(percent)),
        zones: EVERYWHERE,
    })
    .filter(|_| wants > 1.0 + TOLD && least < 1.0 - TOLD)
}

/// Less fuel from a field whose number says nothing of it: another needle, another numbering.
fn by_zone(comparison: &Comparison, zone: &'static str, fuel: f64) -> Option<Harm> {
    let change = comparison.changes.iter().find(|change| change.field.starts_with("jetting."))?;
    let name = change.field.trim_start_matches("jetting.").replace('_', " ");
    let texts =
        texts(comparison, &change.field).map(|(from, to)| format!(" {from} -> {to}")).unwrap_or_default();
    let percent = fixed(100.0 * (1.0 - fuel), 1);
    let zones =
        ZONES.iter().position(|(known, _, _)| *known == zone).and_then(|at| EVERYWHERE.get(at..=at))?;
    Some(Harm {
        kind: Kind::Fuel,
        field: change.field.clone(),
        words: format!("{name}{texts}, {percent} % leaner at {}", throttle(zone)),
        sizes: None,
        zones,
    })
}

fn smaller_jet(
    comparison: &Comparison,
    (field, name, circuit, zones): (&str, &str, Circuit, &'static [&'static str]),
    jetting: Option<&Jetting>,
    tables: &Tables<'_>,
) -> Option<Harm> {
    let renumbered = comparison.get(&format!("{field}_numbered_by")).is_some();
    let by = difference(comparison, field).filter(|by| *by < 0.0 && !renumbered)?;
    let change = comparison.get(field)?;
    let to = change.new.as_ref()?.quantity()?.value();
    let from = to - by;
    let listed = jetting.and_then(|jetting| sizes_at_hand(jetting, circuit, tables.jets, tables.own_box));
    let sizes = listed.and_then(|listed| sizes_down(&listed, from, to));
    let leaner = sizes.map_or_else(
        || format!("{} % smaller", fixed(-100.0 * by / from.max(f64::MIN_POSITIVE), 1)),
        |sizes| format!("{} leaner", of(sizes, "size")),
    );
    let words = format!("{name} {} -> {}, {leaner}", trimmed(from, 2), trimmed(to, 2));
    Some(Harm { kind: Kind::Fuel, field: field.into(), words, sizes, zones })
}

/// Sizes of a box from one down to a smaller one, which need not be in it.
fn sizes_down(listed: &[f64], from: f64, to: f64) -> Option<u32> {
    let smallest = *listed.first()?;
    let between = listed.iter().filter(|size| **size < from && !nearly_equal(**size, from));
    let down = between.filter(|size| **size > to || nearly_equal(**size, to)).count();
    let in_the_box = listed.iter().any(|size| nearly_equal(*size, to));
    // One that is under the box is a step more than those it passes; one between two sizes is at least one.
    let beyond = usize::from(!in_the_box && to < smallest);
    // Far under the box the sizes cannot be counted.
    (to > 0.8 * smallest).then(|| u32::try_from((down + beyond).max(1)).unwrap_or(u32::MAX))
}

fn less_trim(comparison: &Comparison) -> Option<Harm> {
    let field = "injection.trim";
    let by = difference(comparison, field).filter(|by| *by < 0.0)?;
    let (from, to) = texts(comparison, field)?;
    Some(Harm {
        kind: Kind::Fuel,
        field: field.into(),
        words: format!("trim {from} -> {to}, {} leaner", of(sizes_of(-by), "size")),
        sizes: Some(sizes_of(-by)),
        zones: EVERYWHERE,
    })
}

/// The cell of the fuel map that loses most. Where the cells count percent of trim they are that, else percent of themselves.
fn less_in_cells(comparison: &Comparison, before: Option<&Setup>) -> Option<Harm> {
    let field = "injection.fuel";
    comparison.get(field)?;
    let unit = before.and_then(|setup| setup.injection.as_ref()?.fuel_map_unit);
    let percent = unit == Some(FuelMapUnit::Percent);
    let lost = cells(comparison, field).filter_map(|(old, new)| {
        let lost = if percent { old - new } else { 100.0 * (old - new) / old.abs().max(f64::MIN_POSITIVE) };
        (old - new > 1e-9).then_some(lost)
    });
    let most = lost.reduce(f64::max)?;
    let least = most.max(0.1);
    Some(Harm {
        kind: Kind::Fuel,
        field: field.into(),
        words: format!("fuel map, up to {} % leaner", fixed(least, 1)),
        sizes: Some(sizes_of(most)),
        zones: EVERYWHERE,
    })
}

/// Percent in sizes, upward to the next whole one.
fn sizes_of(percent: f64) -> u32 {
    // Percent of fuel are small numbers.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let sizes = (percent / SIZE_PERCENT - 1e-6).ceil().clamp(0.0, 1e6) as u32;
    sizes
}

fn earlier_spark(comparison: &Comparison) -> Option<Harm> {
    let base = difference(comparison, "ignition.base").filter(|by| *by > 1e-9);
    let cells = cells(comparison, "ignition.advance").map(|(old, new)| new - old).filter(|by| *by > 1e-6);
    let harm = |field: &str, words: String| Harm {
        kind: Kind::Spark,
        field: field.into(),
        words,
        sizes: None,
        zones: &[],
    };
    if let Some(base) = base {
        let unit = comparison.get("ignition.base")?.difference.as_ref()?.unit;
        let (from, to) = texts(comparison, "ignition.base")?;
        return Some(harm(
            "ignition.base",
            format!("spark base {from} -> {to}, {} {unit} earlier", trimmed(base, 2)),
        ));
    }
    let most = cells.reduce(f64::max)?;
    Some(harm("ignition.advance", format!("spark map, up to {} deg earlier", trimmed(most, 2))))
}

fn tighter_head(comparison: &Comparison) -> Option<Harm> {
    let fell = |field: &str| difference(comparison, field).filter(|by| *by < -1e-9);
    let gaskets: f64 = ["head.gasket", "ports.base_gasket"]
        .iter()
        .filter_map(|field| si_difference(comparison, field))
        .sum();
    let gasket = if gaskets < -1e-9 {
        ["head.gasket", "ports.base_gasket"].into_iter().find(|field| fell(field).is_some())
    } else {
        None
    };
    let moved = gasket.or_else(|| {
        (gaskets.abs() < 1e-9 && fell("ports.deck_height").is_some()).then_some("ports.deck_height")
    });
    // What was measured says more than what moved.
    let measured = |field: &'static str| match difference(comparison, field) {
        Some(by) if by < -1e-9 => Some(field),
        Some(_) => None,
        None => moved,
    };
    let squish = measured("head.squish_clearance");
    let chamber = measured("head.chamber_volume");
    let field = squish.or(chamber)?;
    let what = match (squish, chamber) {
        (Some(_), Some(_)) => "squish tighter and compression higher",
        (Some(_), None) => "squish tighter",
        _ => "compression higher",
    };
    let mut shown: Vec<&str> = [moved, squish, chamber].into_iter().flatten().collect();
    shown.sort_unstable();
    shown.dedup();
    let words: Vec<String> = shown
        .into_iter()
        .filter_map(|field| {
            let (from, to) = texts(comparison, field)?;
            let name = field.rsplit('.').next()?.replace('_', " ");
            Some(format!("{name} {from} -> {to}"))
        })
        .collect();
    let words = format!("{}: {what}", words.join(", "));
    Some(Harm { kind: Kind::Head, field: field.into(), words, sizes: None, zones: &[] })
}

fn shorter_stinger(comparison: &Comparison) -> Option<Harm> {
    let fields = [("pipe.stinger_length", "shorter"), ("pipe.stinger_diameter", "narrower")];
    fields.into_iter().find_map(|(field, word)| {
        difference(comparison, field).filter(|by| *by < -1e-9)?;
        let (from, to) = texts(comparison, field)?;
        let words = format!("stinger {from} -> {to}, {word}");
        Some(Harm { kind: Kind::Stinger, field: field.into(), words, sizes: None, zones: &[] })
    })
}

/// New less old in the unit of the new reading; none where the field did not change or cannot be compared.
fn difference(comparison: &Comparison, field: &str) -> Option<f64> {
    Some(comparison.get(field)?.difference.as_ref()?.value)
}

fn si_difference(comparison: &Comparison, field: &str) -> Option<f64> {
    let change = comparison.get(field)?;
    Some(change.new.as_ref()?.quantity()?.si() - change.old.as_ref()?.quantity()?.si())
}

fn texts(comparison: &Comparison, field: &str) -> Option<(String, String)> {
    let change = comparison.get(field)?;
    Some((change.old.as_ref()?.text(), change.new.as_ref()?.text()))
}

fn cells<'c>(comparison: &'c Comparison, field: &str) -> impl Iterator<Item = (f64, f64)> + 'c {
    let map = comparison.get(field).and_then(|change| change.map.as_ref());
    map.into_iter().flat_map(|map| &map.cells).filter_map(|cell| Some((cell.old?, cell.new?)))
}

/// "1 size", "6 sizes".
fn of(count: u32, what: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {what}{plural}")
}

/// A zone in words: "half throttle".
pub(super) fn throttle(zone: &str) -> String {
    match zone {
        "idle" => "idle".to_owned(),
        "three_quarters" => "three-quarter throttle".to_owned(),
        "eighth" => "an eighth of throttle".to_owned(),
        "quarter" => "a quarter of throttle".to_owned(),
        zone => format!("{zone} throttle"),
    }
}
