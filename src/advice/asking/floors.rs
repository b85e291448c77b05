//! The least that runs leave allowed: floors of fuel by zone, and the main jet that no needle makes up for.

use super::{Question, Unanswered};
use crate::advice::held::{Hold, Reference};
use crate::advice::learning::Floor;
use crate::advice::rejet::{
    Rejet, SIZE, SIZES_LEANER_IN_ONE_STEP, delivered_at, factor_between, fuel_by_main_jets, sizes_at_hand,
    sizes_by_fuel,
};
use crate::air::Air;
use crate::notebook::{Circuit, Combination, Setup, ZONES};
use crate::quantity::{Quantity, fixed, nearly_equal, trimmed};

/// A run that only forbids less than so much of what is advised is not named: it keeps nothing from being leaner (common practice, no
/// source: a size and a half).
const NEAR: f64 = 0.97;

/// By what share of the fuel that a run leaves as the least an answer may stay below it: no more than numbers are rounded by (common
/// practice, no source).
const HARDLY_SHORT: f64 = 0.001;

/// The run that asks for more at a throttle than an answer brings there with all that the box has, and the share that is missing; none
/// where no main jet is enough, which says it already.
pub fn short_of<'h>(rejet: &Rejet, held: &[(&'h Hold, Floor)]) -> Option<(&'h Hold, f64)> {
    let short = held.iter().filter_map(|(hold, floor)| {
        let zone = rejet.zones.iter().find(|zone| zone.zone == floor.zone)?;
        let short = 1.0 - zone.delivered / floor.least;
        (short > HARDLY_SHORT && !rejet.lacks_a_main_jet()).then_some((*hold, short))
    });
    short.max_by(|one, two| one.1.total_cmp(&two.1))
}

/// Where the box has nothing between a main jet and the next one down, and that is too far for one step.
pub(super) struct Gap {
    /// The jet that stays.
    pub(super) stays: f64,
    /// The next one down in the box.
    pub(super) next: f64,
    /// The fuel it brings of the other's.
    pub(super) left: f64,
    /// One to get, between the two, and the fuel that it brings of the larger one's.
    pub(super) between: f64,
    pub(super) left_between: f64,
}

impl Question<'_> {
    /// The first such gap below what is in the bike.
    pub(super) fn gap_in_the_box(&self) -> Option<Gap> {
        let jetting = self.now.setup.as_ref()?.jetting.as_ref()?;
        let tables = self.tables();
        let numbered_by = jetting.main_numbered_by?;
        let sizes = sizes_at_hand(jetting, Circuit::Main, tables.jets, tables.own_box)?;
        let mut at = self.main_in_it?;
        let smaller =
            |at: f64| sizes.iter().rev().copied().find(|size| *size < at && !nearly_equal(*size, at));
        while let Some(next) = smaller(at) {
            if sizes_by_fuel(numbered_by, at, next) > SIZES_LEANER_IN_ONE_STEP {
                let known = sizes_at_hand(jetting, Circuit::Main, tables.jets, None).unwrap_or_default();
                let is_near = |size: &f64| {
                    *size > next
                        && *size < at
                        && sizes_by_fuel(numbered_by, at, *size) <= SIZES_LEANER_IN_ONE_STEP
                };
                let between =
                    known.into_iter().find(is_near).unwrap_or_else(|| f64::midpoint(at, next).ceil());
                let left = fuel_by_main_jets(numbered_by, at, next)?;
                let left_between = fuel_by_main_jets(numbered_by, at, between)?;
                return Some(Gap { stays: at, next, left, between, left_between });
            }
            at = next;
        }
        None
    }

    /// That the box lacks a jet on the way to what the air asks for, where the answer stops above the gap for it.
    pub(super) fn stops_above_a_gap(&self, rejet: &Rejet) -> Option<String> {
        let gap = self.gap_in_the_box()?;
        let main = rejet.jets.iter().find(|jet| jet.circuit == Circuit::Main)?;
        let stops = main.advised.is_some_and(|advised| nearly_equal(advised, gap.stays));
        let lost = 100.0 * (1.0 - gap.left);
        // One between the two would do as well.
        let asks = main.advised_percent.is_some_and(|rich| rich >= 100.0 * (1.0 - gap.left_between));
        (stops && asks).then(|| {
            format!(
                "The next main jet down in the box, {}, is {} % leaner: too far in one step. Get one between, like {}; until then it is rich.",
                trimmed(gap.next, 2),
                fixed(lost, 1),
                trimmed(gap.between, 2)
            )
        })
    }

    /// Whether an answer brings less at a throttle than a run leaves allowed there in that air: it is not to be run on that.
    pub fn is_short_of_held(&self, air: &Air, rejet: &Rejet) -> Result<bool, Unanswered> {
        Ok(short_of(rejet, &self.held_in(air)?).is_some())
    }

    /// The least fuel that a lean run leaves allowed in an air, zone by zone, with the run that holds it.
    pub fn held_in(&self, air: &Air) -> Result<Vec<(&Hold, Floor)>, Unanswered> {
        let Some(on_the_bike) = &self.now.setup else {
            return Ok(Vec::new());
        };
        let reference = self.reference()?;
        let tables = self.tables();
        let held = ZONES.iter().filter_map(|(zone, _, _)| {
            let stands_on = (Reference::new(&reference, &self.whole.fields), on_the_bike);
            let held = self.holds.least(zone, stands_on, Some(air), &tables);
            let most = held.into_iter().chain(self.ran_lean_on(zone, &reference, air));
            let most = most.reduce(|most, one| if one.1 > most.1 { one } else { most });
            let of_a_run = most.is_some();
            let (hold, least) = most.or_else(|| self.unreckoned(zone))?;
            Some((hold, Floor { zone, least, of_a_run, limit_rules: self.limit_rules(zone) }))
        });
        Ok(held.collect())
    }

    /// Whether a run holds a throttle that the needle feeds, and none since let it go.
    fn limit_rules(&self, zone: &str) -> bool {
        let holds = |hold: &Hold| hold.zone == zone && !hold.let_go && !hold.mended;
        matches!(zone, "quarter" | "half" | "three_quarters") && self.holds.holds.iter().any(holds)
    }

    /// The same, without those that stand far below an answer and are not gone back to all the same.
    pub(super) fn held_near(&self, air: &Air, answer: &Rejet) -> Result<Vec<(&Hold, Floor)>, Unanswered> {
        let full = answer.zones.iter().find(|zone| zone.zone == "full").map(|zone| zone.delivered);
        let forbids = |hold: &Hold| {
            let is_it = |one: &&Hold| one.zone == hold.zone && one.outing.id == hold.outing.id;
            hold.seizure || hold.zone != "full" || self.holds.holds.iter().any(|one| is_it(&one))
        };
        let (reference, tables) = (self.reference()?, self.tables());
        let stands_on =
            self.now.setup.as_ref().map(|now| (Reference::new(&reference, &self.whole.fields), now));
        // Behind one that is not named another may stand that forbids.
        let behind = |zone: &'static str| {
            let (hold, least) = self.holds.least(zone, stands_on?, Some(air), &tables)?;
            Some((hold, Floor { zone, least, of_a_run: true, limit_rules: self.limit_rules(zone) }))
        };
        let is_near = |floor: &Floor| full.is_none_or(|full| floor.least > full * NEAR);
        let mut held = Vec::new();
        for (hold, floor) in self.held_in(air)? {
            held.extend(if forbids(hold) || is_near(&floor) {
                Some((hold, floor))
            } else {
                behind(floor.zone)
            });
        }
        Ok(held)
    }

    /// What ran lean is not gone back to in air like that, though a run on more was right since.
    fn ran_lean_on(&self, zone: &str, reference: &Setup, air: &Air) -> Option<(&Hold, f64)> {
        let whole = Reference::new(reference, &self.whole.fields);
        let full = zone == "full";
        let outlived = if full { &self.holds.not_again } else { &self.holds.outlived };
        let outlived = outlived.iter().filter(|hold| hold.zone == zone);
        let least = |hold: &Hold| {
            let tables = self.tables();
            // Nobody knows why it seized: its two sizes more stay the least.
            let seized = || hold.least_over(whole, Some(air), &tables).filter(|_| hold.seizure);
            seized().or_else(|| hold.more_than_ran(whole, air, &tables))
        };
        outlived
            .filter_map(|hold| Some((hold, least(hold)?)))
            .reduce(|most, one| if one.1 > most.1 { one } else { most })
    }

    /// The mended run at full throttle below which nothing goes yet, with what it ran on.
    pub(super) fn not_below_the_mended(&self, air: &Air) -> Result<Option<(&Hold, f64)>, Unanswered> {
        let (reference, tables) = (self.reference()?, self.tables());
        let whole = Reference::new(&reference, &self.whole.fields);
        let least = |hold: &Hold| hold.what_ran(whole, air, &tables);
        let all = self.holds.not_below.iter().filter_map(|hold| Some((hold, least(hold)?)));
        Ok(all.reduce(|most, one| if one.1 > most.1 { one } else { most }))
    }

    /// A run that cannot be reckoned at all holds what is on the bike.
    fn unreckoned(&self, zone: &str) -> Option<(&Hold, f64)> {
        let hold = self.holds.holds.iter().find(|hold| hold.zone == zone)?;
        let left = self.left_on_the_bike().into_iter().find(|(name, _)| *name == zone);
        Some((hold, left.map_or(1.0, |(_, fuel)| fuel)))
    }

    /// The setup that was right, with what is in the tank: with other fuel a floor is for that.
    fn reference(&self) -> Result<Setup, Unanswered> {
        let mut reference = self.setup()?.clone();
        if let Some(fuel) = &self.fuel {
            reference.fuel = Some(fuel.over(reference.fuel.as_ref()));
        }
        Ok(reference)
    }

    /// The main jet that no needle makes up for in an air: after a lean run at full throttle it never gets smaller. None where no run
    /// holds full throttle, and for fuel injection.
    pub(super) fn main_never_below(&self, air: &Air) -> Result<Option<f64>, Unanswered> {
        let reference = self.reference()?;
        let numbers = |setup: &Setup| setup.jetting.as_ref().and_then(|jetting| jetting.main_numbered_by);
        let tables = self.tables();
        let main = |bike: &Combination| {
            let alike = bike.setup.as_ref().is_some_and(|setup| numbers(setup) == numbers(&reference));
            bike.fields.quantity("jetting.main").filter(|_| alike).map(Quantity::value)
        };
        let (on_the_bike, that_ran) = (main(&self.now), main(self.ran.as_ref().unwrap_or(&self.now)));
        let held = self.holds.holds.iter().filter(|hold| hold.counts_like(numbers(&reference)));
        let mains = held.filter_map(|hold| {
            // What was recorded since it ran was in no run: in thinner air an answer does not hang on it.
            let since = if hold.is_thinner(air) { that_ran } else { on_the_bike };
            let by_air = hold.main_never_below(since, (&reference, air), &tables)?;
            // Where the box ends at the one that ran lean, no needle over it makes it enough.
            let above = hold.main_above((&reference, air)).filter(|_| hold.zone == "full" && !hold.mended);
            let by_air = above.map_or(by_air, |above| by_air.max(above));
            // Nobody knows why it seized: no air asks for a smaller one.
            let largest = since.map_or(hold.main, |now| hold.main.map(|main| main.max(now)));
            if hold.seizure { largest } else { Some(by_air) }
        });
        // What ran lean or seized is not gone back to, nor with a richer needle over it.
        let not_again = self.holds.not_again.iter().filter(|hold| hold.counts_like(numbers(&reference)));
        let above = not_again.filter_map(|hold| {
            let above = hold.main_above((&reference, air))?;
            // What was right since is the least, until the cause of a seizure is known, or the air wants less.
            let stays = hold.seizure || hold.elsewhere.is_empty() && !hold.is_thinner(air);
            // What is only recorded was never right.
            let since = if hold.seizure { on_the_bike } else { that_ran };
            Some(if stays { since.map_or(above, |since| above.max(since)) } else { above })
        });
        let beside = on_the_bike.filter(|_| self.one_was_lean || self.goes_apart);
        Ok(mains.chain(above).chain(beside).reduce(f64::max))
    }

    /// The floors alone; after a seizure no throttle gets less than it has on the bike either; in thinner air
    /// than it had in the last run.
    pub fn floors(&self, air: &Air) -> Result<Vec<Floor>, Unanswered> {
        let held = self.held_in(air)?;
        let mut floors: Vec<Floor> = held.iter().map(|(_, floor)| *floor).collect();
        if held.iter().any(|(hold, _)| hold.seizure) {
            let thinner = held.iter().any(|(hold, _)| hold.seizure && hold.is_thinner(air));
            let bike = self.ran.as_ref().filter(|_| thinner).unwrap_or(&self.now);
            let seized_at = |zone: &str| held.iter().any(|(hold, _)| hold.zone == zone && hold.seizure);
            let left = self.left_on(bike).into_iter().filter(|(zone, _)| !seized_at(zone));
            raise(&mut floors, left);
        }
        raise(&mut floors, self.not_below_the_mended(air)?.map(|(_, least)| ("full", least)).into_iter());
        // While one cylinder was lean in the last run none gets less: they share fuel, air and often a seal. One that goes another way than
        // the others over several runs gets none less either before it was looked at.
        if self.one_was_lean || self.goes_apart {
            raise(&mut floors, self.left_on(&self.now).into_iter());
        }
        let ran = self.ran.as_ref().unwrap_or(&self.now);
        // Another cylinder was mended and nothing ran since: less than what ran only as far as the air wants less.
        if let Some(opened) = &self.opened_beside {
            let less = self.less_wanted(opened.air.as_ref(), air);
            raise(&mut floors, self.left_on(ran).into_iter().map(|(zone, left)| (zone, left * less)));
        }
        // The pilot circuit feeds a quarter too: where that was lean, jet and screw give no less before the air wants two sizes less.
        let quarter = held.iter().find(|(hold, floor)| hold.zone == "quarter" && floor.limit_rules);
        if let Some((hold, _)) = quarter {
            let less = (self.less_wanted(hold.air(), air) * (1.0 + SIZE) * (1.0 + SIZE)).min(1.0);
            let by_pilot = |(zone, _): &(&str, f64)| matches!(*zone, "idle" | "eighth");
            let left = self.left_on(ran).into_iter().filter(by_pilot);
            raise(&mut floors, left.map(|(zone, left)| (zone, left * less)));
        }
        Ok(floors)
    }

    /// How much less fuel an air wants than the one of a run, 1 where it wants more or nobody knows.
    fn less_wanted(&self, ran_in: Option<&Air>, air: &Air) -> f64 {
        let both = ran_in.zip(self.now.setup.as_ref());
        let less = both.and_then(|(from, setup)| factor_between(setup, *from, *air, None).ok());
        less.filter(|less| less.is_finite()).unwrap_or(1.0).min(1.0)
    }

    /// Fuel that the bike as it stands passes at each zone over what the baseline passes, where that can be said.
    pub fn left_on_the_bike(&self) -> Vec<(&'static str, f64)> {
        self.left_on(&self.now)
    }

    fn left_on(&self, bike: &Combination) -> Vec<(&'static str, f64)> {
        let (Some(setup), Some(now)) = (&self.whole.setup, &bike.setup) else {
            return Vec::new();
        };
        let tables = self.tables();
        let zones = delivered_at(setup, now, tables.jets, tables.needles, tables.shares);
        zones.into_iter().filter_map(|(zone, fuel)| Some((zone, fuel.ok()?))).collect()
    }
}

/// Raises floors to what is left at each zone: a run that was a little lean there may ask for less.
fn raise(floors: &mut Vec<Floor>, left: impl Iterator<Item = (&'static str, f64)>) {
    for (zone, least) in left {
        match floors.iter_mut().find(|floor| floor.zone == zone) {
            Some(floor) if floor.least >= least => {}
            Some(floor) => (floor.least, floor.of_a_run) = (least, false),
            None => floors.push(Floor { zone, least, of_a_run: false, limit_rules: false }),
        }
    }
}
