//! Which sizes are thought of for one air and which of them is chosen; and needle and clip hung with it, until what is chosen as they
//! hang is what was hung for. Asked again once that is fitted, the same answer comes.

use super::choice::{
    Candidate, Priced, Rule, SIZES_ABOVE, SIZES_ABOVE_UNEXPLAINED, TRIMS_A_SIZE, candidates, choose, earned,
    liking, not_far_above, price,
};
use super::heard::evidence::zones;
use super::learned::ZoneRecord;
use crate::advice::learning::answered::Floor;
use crate::advice::learning::learned::{Learned, SURPRISING, Shape};
use crate::advice::learning::settings::Costs;
use crate::advice::rejet::{ClipAdvice, Rejet, RejetError, RejetRequest, SIZE, WantedFuel, rejet};
use crate::notebook::Circuit;
use crate::quantity::nearly_equal;

/// What ran right in this very air stays up to so many times the limit of lean (common practice, no source): beyond that the other
/// runs say too clearly that it was luck.
const RIGHT_STAYS_UP_TO: f64 = 3.0;

/// Needle and clip are hung so often at most until what is chosen stands still; it seldom takes more than two.
const ROUNDS: usize = 6;

/// The same for the size that is on the bike.
const ROUNDS_FOR_THE_BIKE: usize = 2;

/// What was found for one air on the way to an answer.
pub(super) struct WeighedAir {
    pub(super) answer: Rejet,
    pub(super) priced: Vec<Priced>,
    /// The leanest size that has been earned.
    pub(super) earned: Option<f64>,
    /// The sizes at hand, priced as needle and clip of the answer hang, where one of them moves.
    pub(super) as_hung: Vec<Priced>,
}

/// What is wanted for one air, and how the main jet was chosen.
pub(super) struct Weighed {
    pub(super) wanted: Vec<WantedFuel>,
    /// The sizes thought of, as needle and clip hang by theory.
    priced: Vec<Priced>,
    /// The leanest size that has been earned.
    earned: Option<f64>,
    /// What the choice went by; none where full throttle has not spoken.
    by: Option<Choosing>,
}

/// What a size is chosen by.
struct Choosing {
    rule: Rule,
    /// The least fuel that a lean run allows, over the baseline's.
    held: f64,
    /// The leanest size that has been earned.
    earned: Option<f64>,
    /// The largest that is thought of.
    most: f64,
    /// What is on the bike, whether it has a claim to stay or not.
    fitted: Option<f64>,
    unproven: bool,
    /// ln of what theory wants over the baseline's fuel.
    factor: f64,
}

impl Choosing {
    /// The size to fit; none where none is allowed. What ran right just now, in this very air, stays.
    fn pick(&self, full: &ZoneRecord, priced: &[Priced]) -> Option<Candidate> {
        let is_fitted = |size: &Candidate| self.fitted.is_some_and(|fitted| nearly_equal(size.size, fitted));
        let right = priced.iter().map(|priced| priced.candidate).find(is_fitted).filter(|size| {
            !self.unproven
                && full.ran_right(size.delivered, self.factor)
                && size.delivered >= self.held * (1.0 - 1e-9)
                && full.chances(size.delivered, self.factor).lean <= RIGHT_STAYS_UP_TO * full.limit
        });
        // In thinner air what ran right is no leaner: it may stay or give way, and no larger one is asked for.
        let mut priced = priced.to_vec();
        let may_stay = priced.iter_mut().filter(|priced| {
            let size = &priced.candidate;
            is_fitted(size)
                && !self.unproven
                && size.delivered >= self.held * (1.0 - 1e-9)
                && full.ran_right_in_air_that_asks_no_less(size.delivered, self.factor)
                && full.chances(size.delivered, self.factor).lean <= RIGHT_STAYS_UP_TO * full.limit
        });
        may_stay.for_each(|priced| priced.allowed = true);
        right.or_else(|| choose(&priced).map(|chosen| chosen.candidate))
    }

    /// The main jets at hand as an answer hangs needle and clip.
    fn as_hung(&self, full: &ZoneRecord, answer: &Rejet) -> Vec<Priced> {
        // Earned is a size, whatever it brings as the needle hangs.
        let rule = Rule { least: self.held, ..self.rule };
        let mut priced = price(&full.posterior, &candidates(answer, 0.0), self.factor.ln(), &rule);
        let least = self.earned.unwrap_or(0.0) * (1.0 - 1e-9);
        for priced in &mut priced {
            priced.allowed &= priced.candidate.size >= least;
        }
        priced
    }

    /// The size to fit as an answer hangs needle and clip.
    fn pick_as_hung(&self, full: &ZoneRecord, answer: &Rejet) -> Option<Candidate> {
        let mut priced = self.as_hung(full, answer);
        priced.retain(|priced| priced.candidate.size <= self.most * (1.0 + 1e-9));
        self.pick(full, &priced)
    }
}

impl Adviser {
    /// What to fit in an air, by what theory fits there.
    pub(super) fn find(
        &self,
        request: &RejetRequest<'_>,
        theory: Rejet,
        floors: &[Floor],
    ) -> Result<WeighedAir, RejetError> {
        let Weighed { wanted, priced, earned, by } = self.wanted_with(request, &theory, floors);
        if wanted.is_empty() && request.main_at_least.is_none() {
            return Ok(WeighedAir { answer: theory, priced, earned, as_hung: Vec::new() });
        }
        let answer = rejet(&RejetRequest { wanted: Some(&wanted), ..*request })?;
        let full = self.record.as_ref().and_then(|record| record.zone("full"));
        let Some((full, by)) = full.zip(by).filter(|_| answer.injection.is_none()) else {
            return Ok(WeighedAir { answer, priced, earned, as_hung: Vec::new() });
        };
        let answer = if hangs_alike(&answer, &theory) {
            answer
        } else {
            JetAndNeedle { full, by: &by, request }.still((&theory, answer), wanted)?
        };
        let as_hung = if hangs_otherwise(&answer) { by.as_hung(full, &answer) } else { Vec::new() };
        Ok(WeighedAir { answer, priced, earned, as_hung })
    }

    /// How much fuel is wanted at each zone that has spoken or has a floor, bounded as an answer's is; empty by theory alone. For the
    /// cells of a map.
    pub fn wanted(
        &self,
        request: &RejetRequest<'_>,
        floors: &[Floor],
    ) -> Result<Vec<WantedFuel>, RejetError> {
        Ok(self.wanted_with(request, &by_theory(request)?, floors).wanted)
    }

    /// What is wanted, the sizes thought of, and the leanest that has been earned.
    fn wanted_with(&self, request: &RejetRequest<'_>, theory: &Rejet, floors: &[Floor]) -> Weighed {
        let factor = theory.factor.total;
        let mut wanted = self.record.as_ref().map(|record| record.wanted(factor)).unwrap_or_default();
        raise(&mut wanted, floors, factor);
        // One trim feeds every throttle: it does not go down while one that a run holds is over its limit.
        let trim = theory.injection.as_ref().map(|advice| {
            (100.0 + on_the_bike(request, theory).unwrap_or(advice.from_percent))
                / (100.0 + advice.from_percent)
        });
        self.keep_to_the_limit(&mut wanted, (floors, trim), factor);
        let Some(full) = self.record.as_ref().and_then(|record| record.zone("full")) else {
            return Weighed { wanted, priced: Vec::new(), earned: None, by: None };
        };
        let at_full = floors.iter().find(|floor| floor.zone == "full");
        let held = at_full.map_or(0.0, |floor| floor.least);
        let of_a_run = at_full.filter(|floor| floor.of_a_run).map_or(0.0, |floor| floor.least);
        let mut sizes = candidates(theory, held);
        let all = sizes.len();
        let earned = earned(&full.trust, &sizes, size_of(theory));
        let above = if cannot_explain(full) { SIZES_ABOVE_UNEXPLAINED } else { SIZES_ABOVE };
        let above = if theory.injection.is_some() { TRIMS_A_SIZE * above } else { above };
        let fitted = on_the_bike(request, theory);
        // What ran lean may be the next air's size and more: then it is counted from, whatever theory has in thinner air.
        let ran = request.main_that_ran.or(fitted).filter(|_| held > 0.0 || cannot_explain(full));
        let counted = (size_of(theory).unwrap_or(f64::INFINITY), fitted, of_a_run);
        sizes = not_far_above(sizes, counted, ran, above);
        let least = earned.map_or(held, |earned| earned.delivered.max(held));
        let on_the_bike = fitted.filter(|_| !request.unproven);
        let liking = liking(full.trust.verdicts);
        let is_held = held > 0.0;
        let rule = Rule { limit: full.limit, liking, costs: self.costs, on_the_bike, least, is_held };
        let priced = price(&full.posterior, &sizes, factor.ln(), &rule);
        let by = Choosing {
            rule,
            held,
            earned: earned.map(|earned| earned.size),
            most: sizes.iter().map(|size| size.size).fold(f64::NEG_INFINITY, f64::max),
            fitted,
            unproven: request.unproven,
            factor,
        };
        if let Some(zone) = wanted.iter_mut().find(|zone| zone.zone == "full") {
            // A record that contradicts itself is not answered with ever more fuel: a few sizes, and a word.
            let richest = || priced.iter().map(|priced| priced.candidate.delivered).fold(least, f64::max);
            // The largest in the box that ran right in this very air is not too small for it.
            let ran_right = || {
                let on_it = |size: f64| fitted.is_some_and(|fitted| nearly_equal(fitted, size));
                let of_bike = priced.iter().map(|priced| &priced.candidate).find(|size| on_it(size.size));
                let of_bike = of_bike.filter(|size| !request.unproven && size.delivered >= least);
                of_bike.map(|size| size.delivered).filter(|delivered| full.ran_right(*delivered, factor))
            };
            zone.least = match by.pick(full, &priced) {
                Some(chosen) => chosen.delivered,
                None if ran_right().is_some() => ran_right().unwrap_or(least),
                None if priced.len() < all => richest(),
                None => richest().max(zone.least),
            };
        }
        Weighed { wanted, priced, earned: earned.map(|earned| earned.size), by: Some(by) }
    }
}

impl Adviser {
    /// Where a lean run holds a throttle that the needle feeds its limit of lean rules, however young the record there: what is asked for is what
    /// keeps to it, a few sizes above what the run left as the least, or what an injected bike has, where that is more.
    fn keep_to_the_limit(
        &self,
        wanted: &mut [WantedFuel],
        (floors, trim): (&[Floor], Option<f64>),
        factor: f64,
    ) {
        for floor in floors.iter().filter(|floor| floor.limit_rules) {
            let zone = self.record.as_ref().and_then(|record| record.zone(floor.zone));
            let place = wanted.iter_mut().find(|zone| zone.zone == floor.zone);
            let Some((zone, wanted)) = zone.zip(place) else { continue };
            let most = (floor.least * ABOVE_A_FLOOR).max(trim.unwrap_or(0.0));
            let least = zone.within_limit(factor).min(most);
            wanted.least = wanted.least.max(least);
            wanted.limit_rules = true;
        }
    }
}

/// A main jet and what it hangs with, until both stand still.
struct JetAndNeedle<'s> {
    full: &'s ZoneRecord,
    by: &'s Choosing,
    request: &'s RejetRequest<'s>,
}

impl JetAndNeedle<'_> {
    /// What is on the bike goes before, where it is as good as any: what was recorded is not taken back by asking again.
    fn still(&self, (theory, first): (&Rejet, Rejet), wanted: Vec<WantedFuel>) -> Result<Rejet, RejetError> {
        let stands = |answer: &Rejet, size: f64| {
            let picked = self.by.pick_as_hung(self.full, answer);
            is_main(answer, size) && picked.is_some_and(|picked| nearly_equal(picked.size, size))
        };
        let fitted = self.by.fitted.filter(|fitted| is_near(&first, *fitted));
        if let Some(fitted) = fitted {
            if stands(&first, fitted) {
                return Ok(first);
            }
            let mut from_it = wanted.clone();
            let mut hangs = theory.clone();
            for _ in 0..ROUNDS_FOR_THE_BIKE {
                let Some(size) = brings(&hangs, fitted) else { break };
                hangs = self.hung_for(&mut from_it, size)?;
                if stands(&hangs, fitted) {
                    return Ok(hangs);
                }
            }
        }
        self.until_it_stands(first, wanted)
    }

    fn until_it_stands(&self, first: Rejet, mut wanted: Vec<WantedFuel>) -> Result<Rejet, RejetError> {
        let mut seen: Vec<Rejet> = Vec::new();
        let mut answer = first;
        for _ in 0..ROUNDS {
            let Some(chosen) = self.by.pick_as_hung(self.full, &answer) else { break };
            if is_main(&answer, chosen.size) {
                break;
            }
            let next = self.hung_for(&mut wanted, chosen.delivered)?;
            if is_same(&next, &answer) {
                break;
            }
            if let Some(at) = seen.iter().position(|one| is_same(one, &next)) {
                // They take turns: of those the richest.
                seen.push(answer);
                let larger =
                    |most: Rejet, one: Rejet| if size_of(&one) > size_of(&most) { one } else { most };
                return Ok(seen.drain(at..).reduce(larger).unwrap_or(next));
            }
            seen.push(std::mem::replace(&mut answer, next));
        }
        Ok(answer)
    }

    fn hung_for(&self, wanted: &mut [WantedFuel], least: f64) -> Result<Rejet, RejetError> {
        wanted.iter_mut().filter(|zone| zone.zone == "full").for_each(|zone| zone.least = least);
        rejet(&RejetRequest { wanted: Some(wanted), ..*self.request })
    }
}

/// Whether a size lies next to an answer's, or next but one.
fn is_near(answer: &Rejet, size: f64) -> bool {
    let at = |size: f64| answer.mains.iter().position(|main| nearly_equal(main.size, size));
    let both = size_of(answer).and_then(at).zip(at(size));
    both.is_some_and(|(one, other)| one.abs_diff(other) <= 2)
}

/// Whether an answer fits a main jet.
fn is_main(answer: &Rejet, size: f64) -> bool {
    size_of(answer).is_some_and(|main| nearly_equal(main, size))
}

/// What a main jet brings at full throttle as an answer hangs needle and clip.
fn brings(answer: &Rejet, size: f64) -> Option<f64> {
    answer.mains.iter().find(|main| nearly_equal(main.size, size)).map(|main| main.delivered)
}

/// Whether two answers fit one main jet and hang the needle alike.
fn is_same(one: &Rejet, other: &Rejet) -> bool {
    size_of(one) == size_of(other) && hung(one) == hung(other)
}

/// Whether a main jet brings the same in two answers.
fn hangs_alike(one: &Rejet, other: &Rejet) -> bool {
    hung(one) == hung(other)
}

/// The needle and the groove that an answer moves to; none for what stays.
fn hung(answer: &Rejet) -> (Option<&str>, Option<u8>) {
    let clip = match &answer.clip {
        ClipAdvice::Move { to, .. } => Some(*to),
        _ => None,
    };
    (answer.needle.as_ref().map(|needle| needle.to.as_str()), clip)
}

/// Whether an answer hangs another needle, or the needle in another groove.
fn hangs_otherwise(answer: &Rejet) -> bool {
    answer.needle.is_some() || matches!(answer.clip, ClipAdvice::Move { .. })
}

/// The size on the bike: as the request says, or the setup's own.
fn on_the_bike(request: &RejetRequest<'_>, theory: &Rejet) -> Option<f64> {
    request.main_on_the_bike.or_else(|| match &theory.injection {
        Some(advice) => Some(advice.from_percent),
        None => theory.jets.iter().find(|jet| jet.circuit == Circuit::Main).map(|jet| jet.current),
    })
}

/// Below full throttle so much of a floor is aimed at: the search bears a little too lean there, and a floor is not to be missed by it
/// (common practice, no source).
const WELL_ABOVE: f64 = 1.015;

/// For the limit of lean no more than two sizes are gone above a floor below full throttle at once: a doubt as wide as a young record's
/// would only drown it (common practice, no source).
const ABOVE_A_FLOOR: f64 = (1.0 + SIZE) * (1.0 + SIZE);

/// Raises what is wanted to the floors; a zone that has not spoken wants what theory wants.
fn raise(wanted: &mut Vec<WantedFuel>, floors: &[Floor], factor: f64) {
    for floor in floors {
        let Some((_, lift)) = zones().find(|(zone, _)| *zone == floor.zone) else { continue };
        let place = wanted.iter().position(|zone| zone.zone == floor.zone).unwrap_or_else(|| {
            let theory = WantedFuel::by_theory(factor);
            wanted.extend(theory.into_iter().filter(|zone| zone.zone == floor.zone));
            wanted.len() - 1
        });
        let zone = &mut wanted[place];
        zone.least = zone.least.max(floor.least);
        zone.held = Some(floor.least);
        // Below full throttle a floor is aimed at, lest the other zones' wishes draw it leaner.
        if lift < 1.0 {
            let above = if floor.of_a_run { WELL_ABOVE } else { 1.0 };
            zone.factor = zone.factor.max(floor.least * above);
        }
    }
}

/// Whether the newest run had so little chance before it came that something is likelier to have changed.
fn cannot_explain(full: &ZoneRecord) -> bool {
    full.newest().is_some_and(|(_, chance)| chance < SURPRISING)
}

/// Theory and record, ready to answer for any air.
#[derive(Debug, Clone)]
pub struct Adviser {
    /// The zones that have spoken; none where the record was not asked or says nothing.
    pub record: Option<Learned>,
    /// How fuel becomes a number.
    pub shape: Shape,
    /// Outings that spoke.
    pub(super) outings: usize,
    pub(super) costs: Costs,
}

/// What theory fits by itself: what a lean run forbids is no theory.
pub(super) fn by_theory(request: &RejetRequest<'_>) -> Result<Rejet, RejetError> {
    rejet(&RejetRequest { main_at_least: None, ..*request })
}

/// The main jet, or the trim, of an answer.
pub(super) fn size_of(rejet: &Rejet) -> Option<f64> {
    match &rejet.injection {
        Some(advice) => Some(advice.to_percent),
        None => rejet.jets.iter().find(|jet| jet.circuit == Circuit::Main)?.advised,
    }
}
