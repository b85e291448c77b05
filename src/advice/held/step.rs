//! What a change of the setup does that can hurt an engine: less fuel, an earlier spark, a tighter head, a shorter or narrower
//! stinger, less oil (common practice, no source).

use super::combination::{INCOMPARABLE, METERING, other_combination};
use super::harms::harm::{
    Changed, Harm, HurtKind, cells, difference, name, of, sizes_of, texts, that_hurt, turned_leaner,
};
use super::harms::{
    Tightened, degrees_earlier_in_all, degrees_earlier_in_another_box, earlier_spark, less_oil, less_span,
    petrol_more, shorter_stinger, tighter_head,
};
use super::hold::{Tables, least_delivered};
use crate::advice::maps::steps::least_over;
use crate::advice::rejet::{factor_between, sizes_at_hand, sizes_by_fuel};
use crate::air::Air;
use crate::notebook::fields::meaning::{Deed, Fuelling, Hurts, Reach, Recorded, Size, When};
use crate::notebook::{Circuit, Combination, Jetting, Setup, Value, ZONES, compare, throttle};
use crate::quantity::{fixed, nearly_equal, trimmed};

/// Fuel that is lost below this is dust from reckoning.
const DUST: f64 = 1e-4;

/// Fuel lost at a throttle, beside what another throttle is about, below which nobody would notice it: half of a size (common practice, no
/// source).
pub(in crate::advice::held) const NOT_NOTICED: f64 = 0.01;

/// Where sizes are counted by the fuel: below half throttle an engine runs lean without seizing (common practice, no source).
pub(in crate::advice::held) const COUNTED_AT: [&str; 3] = ["half", "three_quarters", "full"];

/// A change of the setup, as far as it can hurt.
#[derive(Debug, Clone, Default)]
pub struct Step {
    /// What can hurt.
    pub harms: Vec<Harm>,
    /// For each zone the fuel afterwards over what is on the bike; none where the circuits cannot say it.
    pub fuel: Vec<(&'static str, Option<f64>)>,
    /// By how many degrees the spark comes earlier, base and map together: without end where that cannot be said.
    pub earlier_deg: f64,
    /// Squish clearance and compression before and after.
    pub tightened: Tightened,
    /// By which share of itself the petrol to a part of oil rises, however little; none where it does not.
    pub petrol_more: Option<f64>,
    /// Whether it is another engine or another carburetor, so that before and after cannot be set against each other.
    pub other_engine: bool,
}

impl Step {
    /// From one setup to another.
    pub fn between(before: &Combination, after: &Combination, tables: &Tables<'_>) -> Self {
        let others = other_combination(&after.fields, &before.fields);
        let comparison = compare(&before.fields, &after.fields);
        let foreseen = |change| Some(Changed { change, meaning: Combination::meaning(&change.field)? });
        let changed: Vec<Changed<'_>> = comparison.changes.iter().filter_map(foreseen).collect();
        let mut step = Self::of_changes(&changed, (before, after), others.contains(&"pipe"), tables);
        // Another box may count its map from elsewhere: then only what the light shows can be set against it.
        if others.contains(&"ignition box") {
            step.earlier_deg = degrees_earlier_in_another_box((&before.fields, &after.fields));
        }
        step.other_engine = others.iter().any(|part| INCOMPARABLE.contains(part));
        // A jet's number is another mixture in another carburetor, and a head is its engine's.
        if let Some(part) = others.iter().find(|part| METERING.contains(part)) {
            for harm in step.harms.iter_mut().filter(|harm| harm.kind == HurtKind::Fuel) {
                let what = harm.words.split(',').next().unwrap_or_default();
                harm.words = format!("{what} in another {part}, which cannot be set against any run");
                harm.sizes = None;
            }
            step.fuel.iter_mut().for_each(|(_, fuel)| *fuel = None);
        }
        if others.contains(&"engine") {
            step.harms.retain(|harm| harm.kind != HurtKind::Head);
            step.tightened = Tightened::default();
        }
        step
    }

    /// The same where another engine goes in that is set against what it ran last itself.
    pub(in crate::advice::held) fn counted_by_its_own_runs(mut self) -> Self {
        if self.other_engine {
            self.harms.clear();
            self.fuel.clear();
            self.petrol_more = None;
        }
        self
    }

    /// Only what shows with the throttle open: what feeds full throttle, and the spark.
    pub(in crate::advice::held) fn with_the_throttle_open(mut self) -> Self {
        self.harms.retain(|harm| match harm.kind {
            HurtKind::Fuel => harm.zones.contains(&"full"),
            HurtKind::Spark => true,
            HurtKind::Head | HurtKind::Stinger | HurtKind::Oil => false,
        });
        self
    }

    /// What changed fields do, by what they mean.
    pub(in crate::advice::held) fn of_changes(
        changed: &[Changed<'_>],
        (before, after): (&Combination, &Combination),
        is_another_pipe: bool,
        tables: &Tables<'_>,
    ) -> Self {
        let setups = before.setup.as_ref().zip(after.setup.as_ref());
        let wants = setups.and_then(|(before, after)| wants(before, after).or_else(|| by_oil(before, after)));
        let wants = wants.unwrap_or(1.0);
        let delivered = |zone: &str| least_delivered(before, after, zone, tables);
        let jetted: Vec<_> = ZONES.iter().map(|(zone, _, _)| (*zone, delivered(zone))).collect();
        let mut harms = less_fuel(changed, (before, after), tables, &jetted);
        // Where something takes fuel away that the circuits do not follow, they cannot say what is left.
        let is_said = |zone: &str| {
            let unfollowed = |harm: &Harm| harm.zones.contains(&zone) && !is_followed(changed, &harm.field);
            !harms.iter().any(unfollowed)
        };
        let fuel: Vec<_> = jetted
            .into_iter()
            .map(|(zone, fuel)| (zone, fuel.filter(|_| is_said(zone)).map(|fuel| fuel / wants)))
            .collect();
        harms.extend(hungrier_fuel(changed, (wants, &fuel)));
        harms.extend(earlier_spark(changed, (before, after)));
        let fields = (&before.fields, &after.fields);
        harms.extend(tighter_head(changed, fields));
        if !is_another_pipe {
            harms.extend(shorter_stinger(changed, &after.fields));
        }
        // Where no sizes can be counted two percent of fuel are one, at the throttle that loses most.
        for harm in harms.iter_mut().filter(|harm| harm.kind == HurtKind::Fuel && harm.sizes.is_none()) {
            let counted = |zone: &str| harm.zones.contains(&zone) && COUNTED_AT.contains(&zone);
            let left = fuel.iter().filter(|(zone, _)| counted(zone)).filter_map(|(_, fuel)| *fuel);
            harm.sizes = left.reduce(f64::min).map(|left| sizes_of(100.0 * (1.0 - left)));
        }
        harms.extend(less_oil(changed));
        let earlier_deg = degrees_earlier_in_all(changed, (before, after));
        let (tightened, petrol_more) = (Tightened::of(changed, fields), petrol_more(changed));
        Self { harms, fuel, earlier_deg, tightened, petrol_more, other_engine: false }
    }

    /// Whether it hurts nothing.
    pub fn is_harmless(&self) -> bool {
        self.harms.is_empty()
    }

    /// Whether it takes fuel away.
    pub fn takes_fuel_away(&self) -> bool {
        self.of(HurtKind::Fuel).next().is_some()
    }

    /// Harms of one kind.
    pub fn of(&self, kind: HurtKind) -> impl Iterator<Item = &Harm> {
        self.harms.iter().filter(move |harm| harm.kind == kind)
    }

    /// The kinds of its harms, each once.
    pub fn kinds(&self) -> Vec<HurtKind> {
        let mut kinds: Vec<HurtKind> = self.harms.iter().map(|harm| harm.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }

    /// Sizes leaner at once: of the circuit that loses most.
    pub fn sizes(&self) -> u32 {
        self.of(HurtKind::Fuel).filter_map(|harm| harm.sizes).max().unwrap_or(0)
    }

    /// The fuel at a zone afterwards over what is on the bike, where the circuits can say it.
    pub fn fuel_at(&self, zone: &str) -> Option<f64> {
        self.fuel.iter().find(|(name, _)| *name == zone).and_then(|(_, fuel)| *fuel)
    }

    /// All zones, as in [`ZONES`].
    pub(in crate::advice::held) fn zones() -> [&'static str; 6] {
        ZONES.map(|(zone, _, _)| zone)
    }

    /// Whether it makes a zone leaner: by the circuits, or where they cannot say it by what was turned.
    pub fn is_leaner_at(&self, zone: &str) -> bool {
        self.fuel_at(zone).map_or_else(
            || self.of(HurtKind::Fuel).any(|harm| harm.zones.contains(&zone)),
            |fuel| fuel < 1.0 - DUST,
        )
    }
}

fn less_fuel(
    changed: &[Changed<'_>],
    (before, after): (&Combination, &Combination),
    tables: &Tables<'_>,
    fuel: &[(&'static str, Option<f64>)],
) -> Vec<Harm> {
    let leaner = |hurts: Hurts| matches!(hurts, Hurts::Leaner { .. });
    let mut harms: Vec<Harm> = that_hurt(changed, leaner)
        .into_iter()
        .filter_map(|one| match one.meaning.hurts {
            Hurts::Leaner { size, when, at } => {
                less_by(one, (size, when, at), changed, (before, after), tables)
            }
            _ => None,
        })
        .collect();
    let leaner_at = fuel.iter().filter_map(|(zone, fuel)| Some((*zone, (*fuel)?)));
    let most = leaner_at.filter(|(_, fuel)| *fuel < 1.0 - DUST).min_by(|one, two| one.1.total_cmp(&two.1));
    let all_known = fuel.iter().all(|(_, fuel)| fuel.is_some());
    match most {
        // What one takes away another gives back.
        None if all_known => harms.retain(|harm| !is_followed(changed, &harm.field)),
        Some((zone, fuel)) if harms.is_empty() => {
            let jetting = || changed.iter().filter(|one| one.change.field.starts_with("jetting."));
            let one = jetting().find(|one| has_no_number(one, changed)).or_else(|| jetting().next());
            harms.extend(one.and_then(|one| by_zone(changed, *one, (zone, fuel))));
        }
        _ => harms.extend(behind_what_is_named(changed, &harms, fuel)),
    }
    harms
}

/// Less fuel at half throttle or above than the named numbers stand for, from what has no number of its own: another needle, a jet that
/// is numbered otherwise, one that is taken out.
fn behind_what_is_named(
    changed: &[Changed<'_>],
    harms: &[Harm],
    fuel: &[(&'static str, Option<f64>)],
) -> Option<Harm> {
    let is_behind = |one: &&Changed<'_>| {
        let is_named = harms.iter().any(|harm| harm.field == one.change.field);
        one.change.field.starts_with("jetting.") && !is_named && has_no_number(one, changed)
    };
    let one = *changed.iter().find(is_behind)?;
    let beyond = |(zone, fuel): &(&'static str, Option<f64>)| {
        let fuel = (*fuel)?;
        let at_it = harms.iter().filter(|harm| harm.zones.contains(zone));
        let named = at_it.filter_map(|harm| harm.sizes).fold(0, u32::saturating_add);
        let beyond = sizes_of(100.0 * (1.0 - fuel)).saturating_sub(named);
        // Less than half of a size nobody would notice.
        let is_noticed = COUNTED_AT.contains(zone) && fuel < 1.0 - NOT_NOTICED;
        (is_noticed && beyond > 0).then_some((beyond, *zone, fuel))
    };
    let (_, zone, fuel) = fuel.iter().filter_map(beyond).max_by_key(|(beyond, ..)| *beyond)?;
    by_zone(changed, one, (zone, fuel))
}

/// Whether what a changed field does is told by no number of its own: a needle, a seat, a numbering, a jet that is numbered otherwise or
/// taken out.
fn has_no_number(one: &Changed<'_>, changed: &[Changed<'_>]) -> bool {
    let meaning = one.meaning;
    let is_gone = one.change.new.is_none() && meaning.record == Recorded::Followed;
    let is_jet = matches!(meaning.hurts, Hurts::Leaner { .. });
    meaning.hurts == Hurts::Harmless && meaning.fuel != Fuelling::Known
        || is_jet && (is_gone || is_renumbered(one.change.field.as_str(), changed))
}

/// Whether a jet's number counts otherwise afterwards.
fn is_renumbered(field: &str, changed: &[Changed<'_>]) -> bool {
    changed.iter().any(|other| renumbers(other, field))
}

/// Whether a change says that a jet's number counts otherwise.
fn renumbers(change: &Changed<'_>, field: &str) -> bool {
    matches!(&change.meaning.hands.deed, Deed::NumberedBy(jet) if *jet == field)
}

/// What one field takes away.
fn less_by(
    one: Changed<'_>,
    (size, when, at): (Size, When, Reach),
    changed: &[Changed<'_>],
    (before, after): (&Combination, &Combination),
    tables: &Tables<'_>,
) -> Option<Harm> {
    let (words, sizes) = match size {
        Size::OfMain | Size::OfPilot | Size::OfPower => {
            if is_renumbered(one.change.field.as_str(), changed) {
                return None;
            }
            smaller_jet(
                one,
                size.circuit()?,
                before.setup.as_ref().and_then(|setup| setup.jetting.as_ref()),
                tables,
            )?
        }
        Size::Groove | Size::Uncounted | Size::Percent => turned_leaner(one, size, when)?,
        Size::Span => less_span(one, when, before, tables)?,
        Size::Share | Size::RootOfShare => passes_less(one, size)?,
        Size::Cells => less_in_cells(one, before, after)?,
    };
    Some(Harm { sizes, zones: at.zones(), ..Harm::of(HurtKind::Fuel, &one.change.field, words) })
}

/// What an injector passes less.
fn passes_less(one: Changed<'_>, size: Size) -> Option<(String, Option<u32>)> {
    let si = |value: &Option<Value>| Some(value.as_ref()?.quantity()?.si());
    let share = si(&one.change.new)? / si(&one.change.old)?;
    let passes = if size == Size::RootOfShare { share.sqrt() } else { share };
    let percent = 100.0 * (1.0 - passes);
    let (from, to) = texts(one).filter(|_| difference(one).is_some() && percent > 1e-6)?;
    Some((format!("{} {from} -> {to}, {} % leaner", name(one), fixed(percent, 1)), Some(sizes_of(percent))))
}

/// Whether the circuits follow what a changed field does to the fuel.
fn is_followed(changed: &[Changed<'_>], field: &str) -> bool {
    changed.iter().any(|one| one.change.field == field && one.meaning.record == Recorded::Followed)
}

/// What the fuel in the tank afterwards wants of itself over what it wanted before: another ratio of air to fuel, another density, more
/// oil in it.
fn wants(before: &Setup, after: &Setup) -> Option<f64> {
    let wants = factor_between(before, Air::STANDARD, Air::STANDARD, after.fuel.as_ref()).ok()?;
    (wants.is_finite() && wants > 0.0).then_some(wants)
}

/// The same by the oil alone, where a density is not known: what is oil by volume is no petrol.
fn by_oil(before: &Setup, after: &Setup) -> Option<f64> {
    let petrol = |setup: &Setup| {
        let ratio = setup.fuel.as_ref()?.oil_ratio.as_ref()?.si();
        Some(ratio / (1.0 + ratio)).filter(|share| share.is_finite() && *share > 0.0)
    };
    Some(petrol(before)? / petrol(after)?)
}

/// The fuel wants more of itself, and the jets do not bring it everywhere.
fn hungrier_fuel(
    changed: &[Changed<'_>],
    (wants, fuel): (f64, &[(&'static str, Option<f64>)]),
) -> Option<Harm> {
    const TOLD: f64 = 0.005;
    let least = fuel.iter().filter_map(|(_, fuel)| *fuel).reduce(f64::min).unwrap_or(1.0 / wants);
    // Another fuel is named before its oil.
    let what = |hurts: Hurts| {
        let such = changed.iter().filter(|one| one.meaning.hurts == hurts);
        such.copied().find_map(|one| Some((one, texts(one)?)))
    };
    let (one, (from, to)) = what(Hurts::Hungrier).or_else(|| what(Hurts::Oil))?;
    let percent = 100.0 * (1.0 - least);
    Some(Harm {
        sizes: Some(sizes_of(percent)),
        zones: Reach::Everywhere.zones(),
        ..Harm::of(
            HurtKind::Fuel,
            &one.change.field,
            format!("{} {from} -> {to}, {} % leaner with these jets", name(one), fixed(percent, 1)),
        )
    })
    .filter(|_| wants > 1.0 + TOLD && least < 1.0 - TOLD)
}

/// Less fuel from a field whose number says nothing of it: another needle, another numbering.
fn by_zone(changed: &[Changed<'_>], one: Changed<'_>, (zone, fuel): (&'static str, f64)) -> Option<Harm> {
    // A number says nothing without what it counts.
    let counted =
        changed.iter().find(|other| renumbers(other, &one.change.field)).and_then(|other| texts(*other));
    let texts = texts(one).map(|(from, to)| match counted {
        Some((was, is)) => format!(" {from} by {was} -> {to} by {is}"),
        None => format!(" {from} -> {to}"),
    });
    let texts = texts.unwrap_or_default();
    let lost = 100.0 * (1.0 - fuel);
    let percent = fixed(lost, 1);
    let all = Reach::Everywhere.zones();
    let zones = all.iter().position(|known| *known == zone).and_then(|at| all.get(at..=at))?;
    Some(Harm {
        sizes: COUNTED_AT.contains(&zone).then(|| sizes_of(lost)),
        by_circuits: true,
        zones,
        ..Harm::of(
            HurtKind::Fuel,
            &one.change.field,
            format!("{}{texts}, {percent} % leaner at {}", name(one), throttle(zone)),
        )
    })
}

fn smaller_jet(
    one: Changed<'_>,
    circuit: Circuit,
    jetting: Option<&Jetting>,
    tables: &Tables<'_>,
) -> Option<(String, Option<u32>)> {
    let by = difference(one).filter(|by| *by < 0.0)?;
    let to = one.change.new.as_ref()?.quantity()?.value();
    let from = to - by;
    let listed = jetting.and_then(|jetting| sizes_at_hand(jetting, circuit, tables.jets, tables.own_box));
    let sizes = listed.and_then(|listed| sizes_down(&listed, from, to));
    // A box with gaps has few sizes between jets that are far from each other.
    let numbered_by = jetting.and_then(|jetting| jetting.main_numbered_by);
    let by_fuel = numbered_by.filter(|_| circuit == Circuit::Main);
    let by_fuel = by_fuel.map(|numbered_by| sizes_by_fuel(numbered_by, from, to));
    let by_fuel = by_fuel.filter(|by_fuel| *by_fuel > sizes.unwrap_or(0));
    let leaner = match (sizes, by_fuel) {
        (Some(_), Some(many)) => format!("as much as {} leaner", of(many, "size")),
        (Some(sizes), None) => format!("{} leaner", of(sizes, "size")),
        (None, _) => format!("{} % smaller", fixed(-100.0 * by / from.max(f64::MIN_POSITIVE), 1)),
    };
    let sizes = by_fuel.or(sizes);
    Some((format!("{} {} -> {}, {leaner}", name(one), trimmed(from, 2), trimmed(to, 2)), sizes))
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

/// The cell of a fuel map that loses most. Where the cells count percent of trim they are that, else percent of themselves.
fn less_in_cells(
    one: Changed<'_>,
    before: &Combination,
    after: &Combination,
) -> Option<(String, Option<u32>)> {
    // What passes is what opens the injector beyond its dead time.
    let maps = before.fields.map(&one.change.field).zip(after.fields.map(&one.change.field));
    let injection = before.setup.as_ref().and_then(|setup| setup.injection.as_ref());
    let left = maps.zip(injection).and_then(|((old, new), injection)| least_over(old, new, injection));
    let by_cells = || {
        let lost = cells(one).map(|(old, new)| 100.0 * (old - new) / old.abs().max(f64::MIN_POSITIVE));
        lost.reduce(f64::max)
    };
    let most = left.map(|left| 100.0 * (1.0 - left)).or_else(by_cells).filter(|lost| *lost > 1e-9)?;
    Some((format!("{} map, up to {} % leaner", name(one), fixed(most.max(0.1), 1)), Some(sizes_of(most))))
}
