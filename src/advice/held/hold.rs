//! One run that forbids going leaner, and the least fuel it allows.

use std::rc::Rc;

use super::combination::BIKE;
use super::sign::Sign;
use crate::advice::learning::is_detonation;
use crate::advice::maps::steps::over_at;
use crate::advice::rejet::{SIZE, delivered_at, factor_between, fuel_by_main_jets, sizes_at_hand};
use crate::air::{Air, SAME_AIR};
use crate::notebook::fields::names::visible;
use crate::notebook::{
    Circuit, Combination, Doubted, FieldSet, JetBox, MapTable, Mixture, NeedleBox, NumberedBy, OwnBox, Setup,
    Shares, ZONES,
};
use crate::quantity::{Measure, Quantity, nearly_equal, trimmed};
use crate::store::OutingRecord;

/// No size counts for less, however near the next one lies in the box (common practice, no source).
const LEAST_SIZE: f64 = 0.005;

const FULL: &str = "full";
/// Throttles at which the pilot jet gives most of the fuel, as configs/shares.toml has it.
const PILOT: [&str; 2] = ["idle", "eighth"];
const FUEL_MAP: &str = "injection.fuel";

/// Sizes richer that are asked for after a lean run, and after a seizure.
const AFTER_LEAN: u32 = 1;
const AFTER_A_SEIZURE: u32 = 2;

/// What the reckoning needs besides the record.
#[derive(Debug, Clone, Copy)]
pub struct Tables<'a> {
    /// The jets in the box, configs/jets.toml.
    pub jets: &'a JetBox,
    /// The needles, configs/needles.toml.
    pub needles: &'a NeedleBox,
    /// The rules of the trade, configs/shares.toml.
    pub shares: &'a Shares,
    /// The bike's own box, where its bike.toml lists one.
    pub own_box: Option<&'a OwnBox>,
}

impl Tables<'_> {
    /// Fuel at a zone that one setup passes over what another passes in the same air, where the circuits can say it.
    pub(super) fn delivered(&self, from: &Setup, to: &Setup, zone: &str) -> Option<f64> {
        let zones = delivered_at(from, to, self.jets, self.needles, self.shares);
        let said = zones.into_iter().find(|(name, _)| *name == zone)?.1.ok();
        said.filter(|fuel| fuel.is_finite() && *fuel > 0.0)
    }
}

/// What a run's fuel is set against.
#[derive(Debug, Clone, Copy)]
pub struct Reference<'a> {
    /// The setup.
    pub setup: &'a Setup,
    /// Its fuel map, where it has one.
    pub map: Option<&'a MapTable>,
}

impl<'a> Reference<'a> {
    /// A setup with its values, of which the fuel map is one.
    pub fn new(setup: &'a Setup, fields: &'a FieldSet) -> Self {
        Self { setup, map: fields.map(FUEL_MAP) }
    }

    /// A whole combination; none where it cannot be read.
    pub fn of(whole: &'a Combination) -> Option<Self> {
        Some(Self::new(whole.setup.as_ref()?, &whole.fields))
    }
}

/// A run that forbids going leaner at one throttle zone.
#[derive(Debug, Clone)]
pub struct Hold {
    /// The zone, as in [`crate::notebook::ZONES`].
    pub zone: &'static str,
    /// The run.
    pub outing: OutingRecord,
    /// How it ran there: its verdict ("slightly lean"), or the word in its notes ("seized").
    pub words: String,
    /// Whether it seized, and did not only run lean or ping.
    pub seizure: bool,
    /// Whether its cause is mended, and nothing ran since: what is new is run in on a size more than ran then.
    pub mended: bool,
    /// Whether a later run that was right or rich has let it go, and only what ran lean is not gone back to; never of a seizure or of full
    /// throttle, where that is still the least.
    pub let_go: bool,
    /// The main jet that ran, by its number.
    pub main: Option<f64>,
    /// Number of the setup that is taken to have run, where that was doubted and the one it is recorded with is leaner.
    really: Option<u32>,
    numbered_by: Option<NumberedBy>,
    /// The setup that ran, where it can be read.
    pub(super) ran: Option<Rc<Combination>>,
    /// The parts in which that was another combination than the bike's: "pipe", "fuel".
    pub(in crate::advice) elsewhere: Vec<&'static str>,
    air: Option<Air>,
}

impl Hold {
    /// Whether it was heard to detonate and is not known to have seized.
    pub fn is_detonation(&self) -> bool {
        !self.seizure && is_detonation(&self.outing.outing)
    }

    pub(super) fn new(
        outing: OutingRecord,
        sign: Sign,
        (ran, elsewhere): (Option<Rc<Combination>>, Vec<&'static str>),
    ) -> Self {
        let fields = ran.as_ref().map(|ran| &ran.fields);
        let air = outing.outing.air.as_ref().filter(|_| !outing.outing.doubts(Doubted::Air));
        Self {
            zone: sign.zone,
            words: sign.words,
            seizure: sign.seizure,
            mended: false,
            let_go: false,
            really: None,
            main: fields.and_then(|fields| fields.quantity("jetting.main")).map(Quantity::value),
            numbered_by: fields.and_then(numbered_by),
            air: air.and_then(|air| air.air().ok()),
            ran,
            elsewhere,
            outing,
        }
    }

    /// The same of a run whose cause is mended: a size more than ran then, until something ran since (common practice, no source).
    pub(super) fn run_in(self) -> Self {
        Self { seizure: false, mended: true, ..self }
    }

    /// The same of a run that a later one on more fuel has let go.
    pub(super) fn outlived(self) -> Self {
        Self { let_go: !self.seizure && self.zone != FULL, ..self }
    }

    /// The same where it is not known what ran: another setup was richer, and is taken to have been on the bike.
    pub(super) fn or_richer(self, richer: Option<(u32, Rc<Combination>)>) -> Self {
        let Some((number, whole)) = richer else { return self };
        let main = whole.fields.quantity("jetting.main").map(Quantity::value);
        Self { really: Some(number), main, numbered_by: numbered_by(&whole.fields), ran: Some(whole), ..self }
    }

    /// Number of the setup that ran.
    pub fn setup(&self) -> Option<u32> {
        self.really.or(self.outing.setup)
    }

    /// The values of the setup that ran, where it can be read.
    pub fn ran_on(&self) -> Option<&FieldSet> {
        self.ran.as_ref().map(|ran| &ran.fields)
    }

    /// Words behind a run's day: ", setup 40"; of another bike that its engine was in ", setup 3 of wren".
    pub fn on_setup(&self) -> String {
        let of = if self.was_in_another_bike() {
            format!(" of {}", visible(&self.outing.bike))
        } else {
            String::new()
        };
        match (self.really, self.outing.setup) {
            (Some(really), Some(recorded)) => format!(", setup {recorded} or {really} (not ticked)"),
            (_, setup) => setup.map(|number| format!(", setup {number}{of}")).unwrap_or_default(),
        }
    }

    /// Whether the engine was in another bike then.
    pub fn was_in_another_bike(&self) -> bool {
        self.elsewhere.contains(&BIKE)
    }

    /// The parts of this bike in which it was another combination.
    pub(super) fn other_parts(&self) -> impl Iterator<Item = &'static str> + use<'_> {
        self.elsewhere.iter().copied().filter(|part| *part != BIKE)
    }

    /// The run as a command names it: its bike, which may be another one that the engine was in, and its identity.
    pub fn run_name(&self) -> String {
        format!("{} {}", visible(&self.outing.bike), visible(&self.outing.id))
    }

    /// The air it ran in; none where that was not written down, cannot be read or is doubted.
    pub fn air(&self) -> Option<&Air> {
        self.air.as_ref()
    }

    /// Why nothing goes below what a mended run had.
    pub fn not_below_in_words(&self) -> String {
        let on = self.main.map(|main| format!(" on main {}", trimmed(main, 2))).unwrap_or_default();
        format!(
            "Not below what ran on {}{on} yet: it was lean then, its cause is fixed, and on as little nothing was right since.",
            self.outing.outing.date.short()
        )
    }

    /// Whether an air is thinner than the one it ran in.
    pub fn is_thinner(&self, air: &Air) -> bool {
        self.thinner_below().is_some_and(|density| air.dry_density() < density)
    }

    /// The dry density, kg/m3, below which an air is thinner than the one it ran in; none where that is not known.
    pub fn thinner_below(&self) -> Option<f64> {
        Some(self.air?.dry_density() * (1.0 - SAME_AIR))
    }

    /// So many sizes more than what ran are the least.
    pub fn sizes(&self) -> u32 {
        if self.seizure { AFTER_A_SEIZURE } else { AFTER_LEAN }
    }

    fn ran(&self) -> Option<&Setup> {
        self.ran.as_ref()?.setup.as_ref()
    }

    /// The least fuel allowed at the zone in an air, over what a reference setup delivers there: what the run delivered, and its
    /// sizes more; more again in denser air. In thinner air less by as much as the air wants less, but for the two percent within
    /// which two airs are one; in an air that is not known, or after a run in one that is not, not less.
    ///
    /// None where what the run delivered cannot be set against the reference: then nothing leaner than what is on the bike is
    /// allowed.
    pub fn least_over(
        &self,
        reference: Reference<'_>,
        air: Option<&Air>,
        tables: &Tables<'_>,
    ) -> Option<f64> {
        let least = self.ran_over(reference, tables)?
            * self.step(reference.setup, tables)
            * self.richer_for(reference.setup, air);
        // Rounding must not refuse the very size that is asked for.
        (least.is_finite() && least > 0.0).then_some(least * (1.0 - 1e-9))
    }

    /// The least main jet for full throttle in the air it ran in, where the sizes at hand are known and go so far.
    pub fn least_main(&self, tables: &Tables<'_>) -> Option<f64> {
        let jetting = self.ran()?.jetting.as_ref()?;
        let larger =
            larger_sizes(&sizes_at_hand(jetting, Circuit::Main, tables.jets, tables.own_box)?, self.main?);
        larger.get(usize::try_from(self.sizes()).ok()?.checked_sub(1)?).copied()
    }

    /// Whether the run's main jet counts as one of this numbering does; one that says nothing is taken to.
    pub fn counts_like(&self, numbered_by: Option<NumberedBy>) -> bool {
        self.numbered_by.is_none_or(|known| numbered_by == Some(known))
    }

    /// The main jet that is not gone below in an air, whatever needle hangs over it. After a lean run at full throttle it is the next
    /// one above that ran (no needle makes up for it), or the one on the bike since where that is larger. After a lean run at another throttle it is the one that ran, but where it
    /// was rich at full throttle, or was lean where the pilot circuit feeds it: no main jet is changed for what a needle or pilot jet lacks, unless nothing says what that gives. In thinner air smaller by as much as the run's own jet
    /// may be, by the sizes at hand and the needle that ran. `reference` says which fuel is in the tank. None where the run's jet is not
    /// known.
    pub fn main_never_below(
        &self,
        on_the_bike: Option<f64>,
        (reference, air): (&Setup, &Air),
        tables: &Tables<'_>,
    ) -> Option<f64> {
        let main = self.main?;
        let full = self.outing.outing.verdict.as_ref().and_then(|verdict| verdict.full);
        // Of the very setup that ran it can be said without a needle; what counts is whether another main jet's fuel can be.
        let smaller = || {
            with_main(reference, 0.9 * main).and_then(|with| tables.delivered(reference, &with, self.zone))
        };
        let is_reckoned = self.ran_over(Reference { setup: reference, map: None }, tables).is_some()
            && (self.zone == FULL || smaller().is_some());
        if self.zone != FULL && full.is_some_and(|full| full > Mixture::Right) && is_reckoned {
            return None;
        }
        // A slide that is shut, or nearly so, is fed by the pilot circuit: its jet and screw make up for it.
        if PILOT.contains(&self.zone) && !self.seizure {
            return None;
        }
        // Where nothing says what the needle gives, no air makes it less.
        if self.zone != FULL && !is_reckoned {
            return Some(main);
        }
        let by_air = self.least_by_air(main, (reference, air), tables).unwrap_or(1.0);
        let since = on_the_bike.filter(|_| self.zone == FULL && !self.mended).unwrap_or(main).max(main);
        Some((since * by_air.min(1.0)).max(main * by_air))
    }

    /// The main jet that is more than the one that ran: after a seizure in any air, else in air that wants no less.
    pub fn main_above(&self, (reference, air): (&Setup, &Air)) -> Option<f64> {
        let wants = if self.seizure { 1.0 } else { self.richer_for(reference, Some(air)).min(1.0) };
        Some(self.main? * wants * (1.0 + LEAST_SIZE / 2.0))
    }

    /// The smallest main jet at hand with the least fuel for full throttle in an air, over the one that ran; away from full throttle 1 at
    /// most.
    fn least_by_air(&self, main: f64, (reference, air): (&Setup, &Air), tables: &Tables<'_>) -> Option<f64> {
        let ran = self.ran()?;
        let more = if self.zone == FULL { self.step(ran, tables) } else { 1.0 };
        let least = more * self.richer_for(reference, Some(air));
        let sizes = sizes_at_hand(ran.jetting.as_ref()?, Circuit::Main, tables.jets, tables.own_box)?;
        let enough = |size: &f64| {
            let passes = || tables.delivered(ran, &with_main(ran, *size)?, FULL);
            let by_number = || fuel_by_main_jets(self.numbered_by?, main, *size);
            passes().or_else(by_number).is_some_and(|fuel| fuel >= least * (1.0 - 1e-9))
        };
        let most = if self.zone == FULL { f64::INFINITY } else { 1.0 };
        Some((sizes.into_iter().find(enough)? / main).min(most))
    }

    /// The fuel in the run's own map over that in another setup's, in the cell where it is most; 1 without maps. None where the two cannot
    /// be set against each other.
    fn map_over(&self, other: Option<&MapTable>) -> Option<f64> {
        let Some(ran) = self.ran.as_ref() else { return Some(1.0) };
        match (ran.fields.map(FUEL_MAP), other) {
            (None, None) => Some(1.0),
            (Some(ran), Some(other)) if ran.same_as(other) => Some(1.0),
            (Some(cells), Some(other)) => {
                Some(over_at(other, cells, ran.setup.as_ref()?.injection.as_ref()?, opening(self.zone))?.1)
            }
            _ => None,
        }
    }

    /// Whether what it ran on can be set against a setup: the fuel map of both counts.
    pub fn is_reckoned_against(&self, reference: Reference<'_>, tables: &Tables<'_>) -> bool {
        self.ran_over(reference, tables).is_some()
    }

    /// Whether a setup gives no more than the run had, for the air it goes into.
    pub(super) fn is_repeated_by(
        &self,
        setup: Reference<'_>,
        air: Option<&Air>,
        tables: &Tables<'_>,
    ) -> bool {
        self.ran_over(setup, tables).map_or_else(
            || self.hangs_no_richer(setup.setup),
            |ran| ran * self.richer_for(setup.setup, air) >= 1.0 - LEAST_SIZE / 2.0,
        )
    }

    /// Whether a setup hangs the run's own needle in its groove or a leaner one, over jets that are no larger: so much can be said of a
    /// needle that nobody measured.
    fn hangs_no_richer(&self, other: &Setup) -> bool {
        let both = self.ran().and_then(|ran| ran.jetting.as_ref()).zip(other.jetting.as_ref());
        let Some((ran, other)) = both.filter(|_| self.zone != FULL) else { return false };
        let no_more = |then: Option<f64>, now: Option<f64>| match (then, now) {
            (Some(then), Some(now)) => now < then || nearly_equal(now, then),
            (None, None) => true,
            _ => false,
        };
        let clips = ran.clip.as_ref().map(Measure::si).zip(other.clip.as_ref().map(Measure::si));
        ran.needle == other.needle
            && clips.is_some_and(|(then, now)| no_more(Some(then), Some(now)))
            && no_more(ran.main.as_ref().map(Measure::si), other.main.as_ref().map(Measure::si))
            && no_more(ran.pilot.as_ref().map(Measure::si), other.pilot.as_ref().map(Measure::si))
    }

    /// What the run had, over what a setup has, for the air it goes into.
    pub fn what_ran(&self, setup: Reference<'_>, air: &Air, tables: &Tables<'_>) -> Option<f64> {
        Some(self.ran_over(setup, tables)? * self.richer_for(setup.setup, Some(air)) * (1.0 - 1e-9))
    }

    /// A little more than the run had, over what a setup has, for the air it goes into: what ran lean is not gone back to.
    pub fn more_than_ran(&self, setup: Reference<'_>, air: &Air, tables: &Tables<'_>) -> Option<f64> {
        let ran = self.ran_over(setup, tables)?;
        // A jet is at least the next size; a trim has none, so its size is two percent.
        let is_trim = self.ran().unwrap_or(setup.setup).injection.is_some();
        let more = if is_trim { SIZE } else { LEAST_SIZE };
        Some(ran * self.richer_for(setup.setup, Some(air)) * (1.0 + more))
    }

    /// What the run delivered at the zone over what a setup delivers there.
    pub(super) fn ran_over(&self, reference: Reference<'_>, tables: &Tables<'_>) -> Option<f64> {
        let ran = self.ran().map(|ran| with_map_of(ran, reference.setup));
        let reckoned = ran.and_then(|ran| tables.delivered(reference.setup, &ran, self.zone));
        let by_main = || self.by_main_jets(reference.setup).filter(|_| self.zone == FULL);
        Some(reckoned.or_else(by_main)? * self.map_over(reference.map)?)
    }

    /// Full throttle by the main jets alone, where nothing better can be had.
    fn by_main_jets(&self, reference: &Setup) -> Option<f64> {
        let jetting = reference.jetting.as_ref()?;
        let (numbered_by, from) = (jetting.main_numbered_by?, jetting.main.as_ref()?.si());
        let same = self.numbered_by.is_none_or(|known| known == numbered_by);
        fuel_by_main_jets(numbered_by, from, self.main?).filter(|_| same)
    }

    /// Fuel of so many sizes more, over what ran.
    fn step(&self, reference: &Setup, tables: &Tables<'_>) -> f64 {
        let sizes = self.sizes();
        let plain = |sizes: u32| (0..sizes).fold(1.0, |fuel, _| fuel * (1.0 + SIZE));
        let injected = self.ran().unwrap_or(reference).injection.as_ref();
        if let Some(injection) = injected {
            let trim = injection.trim.as_ref().map_or(0.0, Measure::si);
            return 1.0 + SIZE * f64::from(sizes) / (1.0 + trim).max(SIZE);
        }
        let jets = (self.zone == "full").then(|| self.of_jets(reference, tables)).flatten();
        let (listed, fuel) = jets.unwrap_or((0, 1.0));
        let least = (0..sizes).fold(1.0, |fuel, _| fuel * (1.0 + LEAST_SIZE));
        (fuel * plain(sizes.saturating_sub(listed))).max(least)
    }

    /// How many of the sizes the box has, and the fuel of the largest of them over what ran.
    fn of_jets(&self, reference: &Setup, tables: &Tables<'_>) -> Option<(u32, f64)> {
        let ran = self.ran().unwrap_or(reference);
        let jetting = ran.jetting.as_ref()?;
        let main = self.main?;
        let sizes = sizes_at_hand(jetting, Circuit::Main, tables.jets, tables.own_box)?;
        let larger = larger_sizes(&sizes, main);
        let listed = larger.len().min(usize::try_from(self.sizes()).ok()?);
        let size = *larger.get(listed.checked_sub(1)?)?;
        let by_circuits = || tables.delivered(&with_main(ran, main)?, &with_main(ran, size)?, self.zone);
        let fuel = by_circuits().or_else(|| fuel_by_main_jets(jetting.main_numbered_by?, main, size))?;
        Some((u32::try_from(listed).ok()?, fuel))
    }

    /// What the air, and the reference's fuel, want more than the run's did.
    pub(super) fn richer_for(&self, reference: &Setup, air: Option<&Air>) -> f64 {
        let Some(any) = self.air.or(air.copied()) else {
            return 1.0;
        };
        // With one air not known only the fuel counts, and never for less.
        let known = self.air.zip(air.copied());
        let (from, to) = known.unwrap_or((any, any));
        let setup = self.ran().unwrap_or(reference);
        let factor = factor_between(setup, from, to, reference.fuel.as_ref())
            .or_else(|_| factor_between(setup, from, to, None))
            .unwrap_or_else(|_| to.dry_density() / from.dry_density());
        match known {
            _ if factor >= 1.0 => factor,
            // What is new is run in on a size more than ran then, in whatever air.
            _ if self.mended => 1.0,
            Some(_) => (factor / (1.0 - SAME_AIR)).min(1.0),
            None => 1.0,
        }
    }
}

/// Fuel at a zone that one combination passes over what another passes; of two fuel maps in the cell where it is least. None where that
/// cannot be said.
pub(super) fn least_delivered(
    from: &Combination,
    to: &Combination,
    zone: &str,
    tables: &Tables<'_>,
) -> Option<f64> {
    let (before, after) = (Reference::of(from)?, Reference::of(to)?);
    let cells = match (before.map, after.map) {
        (None, None) => 1.0,
        (Some(one), Some(other)) if one.same_as(other) => 1.0,
        (Some(one), Some(other)) => over_at(one, other, before.setup.injection.as_ref()?, opening(zone))?.0,
        _ => return None,
    };
    Some(tables.delivered(before.setup, &with_map_of(after.setup, before.setup), zone)? * cells)
}

/// How far the throttle is open at a zone, 0 to 1.
fn opening(zone: &str) -> f64 {
    ZONES.iter().find(|(name, _, _)| *name == zone).map_or(1.0, |(_, _, opening)| *opening)
}

/// A setup with the fuel map of another, for the rest of the injection to be compared: the cells are compared apart.
fn with_map_of(setup: &Setup, other: &Setup) -> Setup {
    let mut setup = setup.clone();
    if let (Some(injection), Some(other)) = (&mut setup.injection, &other.injection)
        && injection.fuel_map_unit == other.fuel_map_unit
    {
        injection.fuel.clone_from(&other.fuel);
        injection.rpm.clone_from(&other.rpm);
        injection.throttle.clone_from(&other.throttle);
    }
    setup
}

/// A setup with another main jet.
pub(super) fn with_main(setup: &Setup, size: f64) -> Option<Setup> {
    let mut setup = setup.clone();
    setup.jetting.as_mut()?.main = Measure::parse(&trimmed(size, 4)).ok();
    Some(setup)
}

/// How the main jet counts, as far as a setup's values say.
fn numbered_by(fields: &FieldSet) -> Option<NumberedBy> {
    match fields.text("jetting.main_numbered_by")? {
        "flow" => Some(NumberedBy::Flow),
        "bore" => Some(NumberedBy::Bore),
        _ => None,
    }
}

/// The sizes above one, ascending.
fn larger_sizes(sizes: &[f64], main: f64) -> Vec<f64> {
    sizes.iter().copied().filter(|size| *size > main && !nearly_equal(*size, main)).collect()
}
