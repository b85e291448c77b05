//! All the runs that hold a bike, from its record.

use std::rc::Rc;

use super::combination::{BIKE, FUEL, name_of, other_combination};
use super::hold::{Hold, Reference, Tables};
use super::ran::{MayHaveRun, Setups};
use super::really::richest;
use super::said::{capital, mend_did_not_help, mended, was_like};
use super::sign::{Sign as RunSign, signs, was_judged, was_rich_enough};
use super::with_engine::WithEngine;
use crate::advice::rejet::SIZE;
use crate::air::{Air, SAME_AIR};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{Combination, Doubted, FieldSet, Setup, ZONES, throttle};
use crate::store::{Book, OutingRecord, StoreError};

/// Parts about which the carburetor, the can and the air are still those that ran: a seizure holds across them until its cause is found, and
/// the very last run of all where it was lean.
pub(super) const SAME_CARBURETOR: [&str; 4] = ["engine", "pipe", "ignition box", FUEL];

/// Parts across which any lean run holds where no run on the combination itself was ever right or rich there: the engine and its carburetor are the
/// ones that ran lean.
const LEAN_HOLDS_ACROSS: [&str; 3] = ["pipe", "ignition box", FUEL];

/// So many runs on more fuel, right or rich, say more of a jetting than one that was lean on less (common practice, no source).
pub(super) const RUNS_THAT_SHOW: usize = 3;

/// A run that was lean is not gone back to while so few were judged since, on whatever combination (common practice, no source): after that
/// the record says what it was worth.
pub(super) const RUNS_SINCE: usize = 6;

/// So many runs that were lean again ask for a size more each.
const MOST_AGAIN: usize = 2;

/// The runs that hold a combination.
#[derive(Debug, Clone, Default)]
pub struct Holds {
    /// Those that forbid going leaner, newest first; a run that does so at several zones stands here for each.
    pub holds: Vec<Hold>,
    /// The combination's newest judged run.
    pub last_run: Option<OutingRecord>,
    /// The holds of that run: empty where it was right or rich.
    pub of_last_run: Vec<Hold>,
    /// Lean runs and seizures with no cause found that a later run on more fuel has let go: what ran then is still what ran lean.
    pub outlived: Vec<Hold>,
    /// Those of them at full throttle that are too near to be gone back to at all: seizures and runs that few on more fuel have followed, and
    /// the very last run where it was lean on another engine or fuel in the same carburetor.
    pub not_again: Vec<Hold>,
    /// Lean runs at full throttle that few on more fuel have followed, after which no more was right: with the least that was, over what ran.
    pub right_on_no_more: Vec<(Hold, f64)>,
    /// What the very last run of all says, where it was lean on another engine, pipe, box or fuel in the same carburetor: full throttle
    /// first.
    pub last_elsewhere: Vec<Hold>,
    /// Whether the bike ran on another combination since [`Holds::last_run`].
    pub ran_elsewhere_since: bool,
    /// The engine seized in another bike, and nobody has found out why: a sentence.
    pub engine_seized: Option<Guidance>,
    /// The newest run was lean, and its cause is mended: how the next one is begun.
    pub mended: Option<String>,
    /// The same run, as an advice keeps above it: not leaner than a size more than ran then.
    pub run_in: Vec<Hold>,
    /// The same run's holds as if its cause were still open: less than ran then is leaner after a lean run.
    pub of_the_mended: Vec<Hold>,
    /// Runs that were lean at full throttle, whose cause is mended, and after which nothing was right yet on as little: not leaner than
    /// what ran then.
    pub not_below: Vec<Hold>,
    /// The very last run of all, whatever it ran on, where it was lean at full throttle and no cause is written down.
    pub lean_last: Option<Hold>,
    /// The engine's very last run, in another bike, where it was lean at full throttle and no cause is written down: the spark it ran on is
    /// not gone beyond here, whatever carburetor feeds it.
    pub lean_there: Option<Hold>,
    /// What else should be known, in sentences.
    pub remarks: Vec<String>,
}

impl Holds {
    /// Whether nothing is forbidden.
    pub fn is_empty(&self) -> bool {
        self.holds.is_empty()
    }

    /// The hold that demands most at a zone, and the least fuel it allows in an air over what a reference setup delivers there. One
    /// that cannot be reckoned demands what is on the bike. Lean again at full throttle on no less fuel, none right in between, asks for
    /// a size more, twice at most (common practice, no source).
    pub fn least<'h>(
        &'h self,
        zone: &str,
        (reference, on_the_bike): (Reference<'_>, &Setup),
        air: Option<&Air>,
        tables: &Tables<'_>,
    ) -> Option<(&'h Hold, f64)> {
        let mut stands: Option<Option<f64>> = None;
        let least = |hold: &'h Hold| {
            let least = hold.least_over(reference, air, tables).or_else(|| {
                *stands.get_or_insert_with(|| tables.delivered(reference.setup, on_the_bike, zone))
            });
            Some((hold, least?))
        };
        let of_zone = self.holds.iter().filter(|hold| hold.zone == zone);
        let all: Vec<(&Hold, f64)> = of_zone.filter_map(least).collect();
        // The newest of those that demand the same is the one to be named.
        let (most, least) =
            all.iter().copied().reduce(|most, one| if one.1 > most.1 { one } else { most })?;
        let again = |(hold, other): &&(&Hold, f64)| {
            zone == "full" && hold.outing.id != most.outing.id && *other > least * (1.0 - SIZE / 2.0)
        };
        let again = all.iter().filter(again).take(MOST_AGAIN).count();
        Some((most, (0..again).fold(least, |least, _| least * (1.0 + SIZE))))
    }

    /// The hold that is to be named before all others, of those that demand most at their throttle in an air; `named` leaves out what is
    /// said elsewhere.
    pub fn named_first(
        &self,
        stands: (Reference<'_>, &Setup),
        air: Option<&Air>,
        tables: &Tables<'_>,
        named: impl Fn(&Hold) -> bool,
    ) -> Option<&Hold> {
        let most = ZONES.iter().filter_map(|(zone, _, _)| Some(self.least(zone, stands, air, tables)?.0));
        foremost(most.filter(|hold| named(hold)).collect::<Vec<_>>().into_iter())
    }
}

/// Of holds, one a throttle, the one that is to be named: full throttle first, then a seizure, else the newest.
pub fn foremost<'h>(holds: impl Iterator<Item = &'h Hold> + Clone) -> Option<&'h Hold> {
    let full = holds.clone().find(|hold| hold.zone == "full");
    full.or_else(|| holds.clone().find(|hold| hold.seizure))
        .or_else(|| holds.max_by_key(|hold| hold.outing.outing.date))
}

/// The runs that hold the combination of a bike as it is `now`, by all that is written down: one that is dated later than the clock
/// holds as well, for one of the two is wrong.
pub fn holds(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
    tables: &Tables<'_>,
) -> Result<Holds, StoreError> {
    let setups = Setups::of(book, bike)?;
    let own = book.outings(bike)?;
    let carried = WithEngine::of(book, bike, &now.fields)?;
    let that_ran = |run: &OutingRecord| {
        if run.bike == bike { setups.that_ran(run) } else { Ok(carried.that_ran(run)) }
    };
    let instead = |run: &OutingRecord| {
        if run.bike == bike { setups.instead(run, &own) } else { Ok(Vec::new()) }
    };
    let mut runs: Vec<OutingRecord> = own.iter().chain(carried.runs()).cloned().collect();
    runs.sort_by_key(|run| run.outing.date);
    let mut found = holding(&runs, (bike, &now.fields), (&that_ran, &instead), tables)?;
    let is_held = found.of_last_run.iter().any(|hold| hold.zone == "full");
    found.remarks.extend(carried.was_lean(&now.fields).filter(|_| !is_held));
    found.engine_seized = carried.seized(book, bike, &now.fields)?;
    found.lean_there = carried.lean_last();
    Ok(found)
}

/// The same for a look at the bike: where an outing cannot be read, which is said beside it, none of them is known.
pub fn known_holds(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
    tables: &Tables<'_>,
) -> Result<Holds, StoreError> {
    match holds(book, bike, now, tables) {
        Err(StoreError::OutingUnread { .. }) => Ok(Holds::default()),
        found => found,
    }
}

/// What is to be said of a combination's engine whose newest run was in another bike and seized it, or that seized by its parts alone; none
/// where its cause is written down, or where it has run since.
pub fn engine_seized_elsewhere(
    book: &Book<'_>,
    bike: &str,
    now: &FieldSet,
) -> Result<Option<Guidance>, StoreError> {
    WithEngine::of(book, bike, now)?.seized(book, bike, now)
}

/// Gives the setup that a run had, none where it is not known.
pub(super) type ThatRan<'r> = &'r dyn Fn(&OutingRecord) -> Result<Option<Rc<Combination>>, StoreError>;

/// Gives what may have been on the bike instead, where that is doubted.
pub(super) type Instead<'r> = &'r dyn Fn(&OutingRecord) -> Result<MayHaveRun, StoreError>;

/// Those of `runs`, oldest first, that hold a combination.
pub(super) fn holding(
    runs: &[OutingRecord],
    (bike, now): (&str, &FieldSet),
    (that_ran, instead): (ThatRan<'_>, Instead<'_>),
    tables: &Tables<'_>,
) -> Result<Holds, StoreError> {
    let mut found = Holds::default();
    let mut since = Since::default();
    let (mut newest_elsewhere, mut newest_of_all) = (None, false);
    let mut seized_last = None;
    for run in runs.iter().rev().filter(|run| was_judged(&run.outing)) {
        let signs = signs(&run.outing);
        let doubted = !signs.is_empty() && run.outing.doubts(Doubted::Setup);
        let instead = if doubted { instead(run)? } else { Vec::new() };
        let ran = with_engine_of(now, that_ran(run)?, &instead);
        let mut others = ran.as_ref().map(|ran| other_combination(now, &ran.fields)).unwrap_or_default();
        others.extend((run.bike != bike).then_some(BIKE));
        let hold = |sign: &RunSign| {
            let richer = ran.as_ref().and_then(|ran| richest(ran, &instead, sign.zone, tables));
            Hold::new(run.clone(), sign.clone(), (ran.clone(), others.clone())).or_richer(richer)
        };
        let open = !run.outing.is_closed();
        let is_carried = others == [BIKE];
        let like_this = others.is_empty() || is_carried;
        let again = |sign: &RunSign| !open && like_this && since.lean_again(sign);
        if signs.iter().any(|sign| sign.zone == "full" && again(sign)) {
            found.remarks.push(mend_did_not_help(run));
        }
        let is_newest = since.judged() == 0;
        if is_newest && open {
            found.lean_last = signs.iter().find(|sign| sign.zone == "full").map(&hold);
            let seized = found.lean_last.clone().filter(|hold| hold.seizure && !others.contains(&"engine"));
            seized_last = seized.map(|hold| (run, hold));
        }
        let first_of_run = found.holds.len();
        for sign in signs.iter().filter(|sign| (open || again(sign)) && holds_across(&others, sign)) {
            since.holds_or_outlived(hold(sign), &mut found, tables);
        }
        let in_the_carburetor =
            !others.is_empty() && others.iter().all(|part| SAME_CARBURETOR.contains(part));
        if is_newest && open && in_the_carburetor {
            found.not_again.extend(signs.iter().filter(|sign| sign.zone == "full").map(&hold));
            found.last_elsewhere.extend(signs.iter().map(&hold));
            found.last_elsewhere.sort_by_key(|hold| hold.zone != "full");
        }
        if is_carried {
            if since.like_this() == 0 && !signs.is_empty() {
                found.of_last_run = found.holds.iter().skip(first_of_run).cloned().collect();
                found.last_run = Some(run.clone()).filter(|_| open);
            }
        } else if !others.is_empty() {
            if newest_elsewhere.is_none() && open && !signs.is_empty() {
                newest_elsewhere =
                    on_another(&others, (run, &signs), ran.as_deref()).filter(|_| run.bike == bike);
                newest_of_all |= is_newest;
            }
            since.elsewhere.push(Later { run, ran });
            continue;
        }
        if !open {
            since.closed(run, signs.iter().map(&hold).collect(), &mut found, tables);
        }
        if is_carried {
            since.carried.push(Later { run, ran });
            continue;
        }
        if since.later.is_empty() && found.last_run.is_none() {
            found.last_run = Some(run.clone());
            found.ran_elsewhere_since = !is_newest;
            found.of_last_run = found.holds.iter().skip(first_of_run).cloned().collect();
        }
        since.later.push(Later { run, ran });
    }
    // An engine that seized is the same engine on another pipe.
    if let Some((run, hold)) = seized_last.filter(|_| found.of_last_run.is_empty()) {
        found.last_run = Some(run.clone());
        found.of_last_run = vec![hold];
    }
    // Once this combination was judged itself, the other says nothing more; unless that was the last run of all.
    found.remarks.extend(newest_elsewhere.filter(|_| since.later.is_empty() || newest_of_all));
    // Where the combination itself was right at that throttle, before or since, that is the better word on it.
    let was_right = |zone: &str| since.later.iter().any(|own| was_rich_enough(&own.run.outing, zone));
    // In another bike that can only be since: how the engine is now is not how it was.
    let was_right_since = |hold: &Hold| since.later.iter().any(|own| own.was_right_since(hold));
    found.holds.retain(|hold| match hold.elsewhere.as_slice() {
        _ if hold.seizure => true,
        [] => true,
        [BIKE] => !was_right_since(hold),
        _ => !was_right(hold.zone),
    });
    Ok(found)
}

/// What ran, where it is not known which engine that was: the one that is asked about, if it may have been that.
fn with_engine_of(
    now: &FieldSet,
    ran: Option<Rc<Combination>>,
    instead: &[(u32, Rc<Combination>)],
) -> Option<Rc<Combination>> {
    let is_it = |whole: &Combination| !other_combination(now, &whole.fields).contains(&"engine");
    match &ran {
        Some(recorded) if !is_it(recorded) => {
            instead.iter().rev().map(|(_, whole)| whole).find(|whole| is_it(whole)).cloned().or(ran)
        }
        _ => ran,
    }
}

/// Whether a run holds that was on another combination, by the parts in which it was another one.
fn holds_across(others: &[&str], sign: &RunSign) -> bool {
    // Another bike's jets are set against this one's only where all else is alike; a seizure goes with its engine.
    if others.contains(&BIKE) && !sign.seizure {
        return others == [BIKE];
    }
    let across: &[&str] = if sign.seizure { &SAME_CARBURETOR } else { &LEAN_HOLDS_ACROSS };
    others.iter().all(|part| *part == BIKE || across.contains(part))
}

/// Whether a later run was right on no more fuel than a lean one, for its air. At full throttle only in air like that: right on a cold
/// morning says little of a hot afternoon.
fn contradicted(hold: &Hold, later: &[Later<'_>], tables: &Tables<'_>) -> bool {
    let like = |later: &Later<'_>| {
        let both = hold.air().copied().zip(later.air());
        both.is_some_and(|(one, other)| (one.dry_density() / other.dry_density() - 1.0).abs() <= SAME_AIR)
    };
    later.iter().any(|later| (hold.zone != "full" || like(later)) && later.was_right_on_no_more(hold, tables))
}

/// The judged runs since one, newest first.
#[derive(Default)]
struct Since<'r> {
    /// On this combination.
    later: Vec<Later<'r>>,
    /// With its engine on a like combination in another bike.
    carried: Vec<Later<'r>>,
    /// On any other.
    elsewhere: Vec<Later<'r>>,
}

impl Since<'_> {
    fn judged(&self) -> usize {
        self.like_this() + self.elsewhere.len()
    }

    fn like_this(&self) -> usize {
        self.later.len() + self.carried.len()
    }

    /// Puts a lean run among those that hold, or among those that were let go.
    fn holds_or_outlived(&self, hold: Hold, found: &mut Holds, tables: &Tables<'_>) {
        if !self.lets_go(&hold, tables) {
            found.holds.push(hold);
            return;
        }
        let contradicted = contradicted(&hold, &self.later, tables);
        let recent = self.judged() < RUNS_SINCE;
        let showing = || self.that_let_go(&hold, tables).count();
        let few = || recent && showing() < RUNS_THAT_SHOW;
        // Of a seizure both are wanted: its cause is not known.
        let lasting = || hold.seizure && (recent || showing() < RUNS_THAT_SHOW);
        if hold.zone == "full" && (lasting() || few()) {
            if contradicted && !lasting() {
                let least = self.later.iter().filter_map(|later| later.right_over(&hold, tables));
                found.right_on_no_more.push((hold.clone().outlived(), least.fold(1.0, f64::min)));
            } else {
                found.not_again.push(hold.clone().outlived());
            }
        }
        if hold.seizure || hold.zone == "full" || !contradicted {
            found.outlived.push(hold.outlived());
        }
    }

    /// What a run asks for whose cause is mended, by the holds that it would be.
    fn closed(&self, run: &OutingRecord, holds: Vec<Hold>, found: &mut Holds, tables: &Tables<'_>) {
        let full = holds.iter().filter(|hold| hold.zone == "full").cloned();
        match self.like_this() {
            0 if !holds.is_empty() => {
                found.run_in.extend(full.map(Hold::run_in));
                found.of_the_mended.extend(holds);
                found.mended = Some(mended(run, !found.run_in.is_empty()));
            }
            0 | RUNS_SINCE.. => {}
            _ => {
                let all = || self.later.iter().chain(&self.carried);
                let enough = |hold: &Hold| all().any(|later| later.was_right_on_no_more(hold, tables));
                found.not_below.extend(full.filter(|hold| !enough(hold)));
            }
        }
    }

    /// Whether what ran since lets a hold go.
    fn lets_go(&self, hold: &Hold, tables: &Tables<'_>) -> bool {
        self.that_let_go(hold, tables).next().is_some()
    }

    /// The runs since that let a hold go: on the combination itself, or on the one that was lean.
    fn that_let_go<'s>(
        &'s self,
        hold: &'s Hold,
        tables: &'s Tables<'_>,
    ) -> impl Iterator<Item = &'s Later<'s>> {
        let others = self.carried.iter().chain(&self.elsewhere);
        let on_its_own = others.filter(|later| !hold.elsewhere.is_empty() && later.ran_on(hold));
        self.later.iter().chain(on_its_own).filter(|later| later.lets_go(hold, tables))
    }

    /// Whether the next run at a throttle where one was lean, on whatever combination, was on one like it and lean there again. One whose
    /// cause is written down as well was before the mend, or had another cause.
    fn lean_again(&self, sign: &RunSign) -> bool {
        let next_at = |runs: &[Later<'_>]| {
            let judged = |later: &&Later<'_>| {
                let lean = signs(&later.run.outing).iter().any(|one| one.zone == sign.zone);
                lean && !later.run.outing.is_closed() || was_rich_enough(&later.run.outing, sign.zone)
            };
            let next = runs.iter().rev().find(judged);
            next.map(|later| (later.run.outing.date, was_rich_enough(&later.run.outing, sign.zone)))
        };
        let like_this = [next_at(&self.later), next_at(&self.carried)];
        let next = like_this.into_iter().flatten().min_by_key(|(date, _)| *date);
        let other = next_at(&self.elsewhere);
        next.is_some_and(|(date, enough)| !enough && other.is_none_or(|(other, _)| date < other))
    }
}

/// A run that came after.
struct Later<'r> {
    run: &'r OutingRecord,
    /// What ran.
    ran: Option<Rc<Combination>>,
}

impl Later<'_> {
    /// Whether it ran on the combination of a hold.
    fn ran_on(&self, hold: &Hold) -> bool {
        let both = self.ran.as_ref().zip(hold.ran.as_ref()).filter(|_| self.run.bike == hold.outing.bike);
        both.is_some_and(|(one, other)| other_combination(&one.fields, &other.fields).is_empty())
    }

    /// Whether it shows that what a hold asks for is enough: it was right or rich at that throttle, on at least that much fuel for
    /// the air it ran in. Where the lean run's fuel cannot be reckoned any such run has to do.
    fn lets_go(&self, hold: &Hold, tables: &Tables<'_>) -> bool {
        if !self.was_right_since(hold) {
            return false;
        }
        // Away from full throttle an engine runs lean without seizing, and clips and screws go to and fro: any later run will do.
        if hold.zone != "full" && !hold.seizure {
            return true;
        }
        let Some(setup) = self.ran.as_deref().and_then(Reference::of) else {
            return false;
        };
        let air = self.run.outing.air.as_ref().filter(|_| !self.run.outing.doubts(Doubted::Air));
        let air = air.and_then(|air| air.air().ok());
        // Right in an air that nobody knows says nothing of the air of the lean run.
        if hold.air().is_some() && air.is_none() {
            return false;
        }
        // As much as is asked for in the air of the lean run: right on less, in thinner air, says nothing of that one.
        hold.least_over(setup, hold.air(), tables).map_or(!hold.seizure, |least| least <= 1.0)
    }

    /// The air it ran in, where that can be read.
    fn air(&self) -> Option<Air> {
        self.run.outing.air.as_ref().and_then(|air| air.air().ok())
    }

    /// Whether it was right later on no more fuel than a lean one had, for its air.
    fn was_right_on_no_more(&self, hold: &Hold, tables: &Tables<'_>) -> bool {
        let setup = self.ran.as_deref().and_then(Reference::of);
        let no_more = |setup| hold.is_repeated_by(setup, self.air().as_ref(), tables);
        self.was_right_since(hold) && setup.is_none_or(no_more)
    }

    /// The fuel it was right on over what ran lean, for the air of each; none where it was not right on so little, or that cannot be said.
    fn right_over(&self, hold: &Hold, tables: &Tables<'_>) -> Option<f64> {
        let setup = self.ran.as_deref().and_then(Reference::of)?;
        let ran = hold.ran_over(setup, tables)? * hold.richer_for(setup.setup, self.air().as_ref());
        self.was_right_on_no_more(hold, tables).then(|| 1.0 / ran)
    }

    /// Whether it was right or rich at a hold's throttle later than the run that holds.
    fn was_right_since(&self, hold: &Hold) -> bool {
        self.run.outing.date > hold.outing.outing.date && was_rich_enough(&self.run.outing, hold.zone)
    }
}

/// What a lean run on another combination says where this one has not run yet.
fn on_another(
    others: &[&'static str],
    (run, signs): (&OutingRecord, &[RunSign]),
    ran: Option<&Combination>,
) -> Option<String> {
    let part = others.first()?;
    let worst = signs.iter().find(|sign| sign.seizure).or_else(|| signs.last())?;
    let name = ran.and_then(|ran| name_of(part, &ran.fields));
    let on = name.map_or_else(|| format!("another {part}"), |name| format!("{part} {}", visible(&name)));
    Some(format!(
        "{} at {} on {on}, {}: start rich.",
        capital(was_like(&worst.words).trim_start_matches("was ")),
        throttle(worst.zone),
        run.outing.date.day()
    ))
}
