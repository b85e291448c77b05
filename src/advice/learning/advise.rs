//! Theory, or theory and record, as one answer.

use super::above_limit::{percent_beside, right_and_not_enough, still_risky};
use super::answered::{AboveLimit, Advised, Floor, LearnedAnswer, SizeChance, TestRun, ZoneAnswer};
use super::choice::{Priced, choose};
use super::heard::evidence::{Evidence, LEAST_DOUBT, doubt_of};
use super::learned::{Learned, SURPRISING, Shape, ZoneRecord};
use super::remembered::weighed;
use super::settings::Settings;
use super::weighing::{Adviser, WeighedAir, by_theory, size_of};
use crate::advice::rejet::{Rejet, RejetError, RejetRequest, rejet};
use crate::notebook::Circuit;
use crate::quantity::{nearly_equal, trimmed};

/// Sizes shown on either side of the advised one.
const SIZES_BESIDE: usize = 3;

impl Adviser {
    /// From a request, of whose air only the doubt matters here, and the evidence; without evidence it is theory alone.
    pub fn new(
        request: &RejetRequest<'_>,
        evidence: &Evidence,
        settings: &Settings,
    ) -> Result<Self, RejetError> {
        let shape = Shape::of(&rejet(request)?);
        let today = request.doubt.map_or(LEAST_DOUBT, |doubt| doubt_of(&request.air, doubt));
        let record = weighed(evidence, shape, settings, today).map_err(|error| RejetError::record(&error))?;
        Ok(Self { record, shape, outings: evidence.own().count(), costs: settings.costs })
    }

    /// Only what to fit, never leaner than the floors.
    pub fn jetting(&self, request: &RejetRequest<'_>, floors: &[Floor]) -> Result<Rejet, RejetError> {
        Ok(self.find(request, by_theory(request)?, floors)?.answer)
    }

    /// What to fit, never leaner than the floors, and what the record says of it.
    pub fn advise(&self, request: &RejetRequest<'_>, floors: &[Floor]) -> Result<Advised, RejetError> {
        let theory = by_theory(request)?;
        let size = size_of(&theory);
        let WeighedAir { mut answer, priced, earned, as_hung } = self.find(request, theory, floors)?;
        let Some(record) = &self.record else {
            return Ok(Advised { rejet: answer, theory: size, learned: None });
        };
        let mut learned = self.learned(record, &answer, (priced, earned), request.main_on_the_bike);
        learned.as_hung = as_hung;
        for floor in floors.iter().filter(|floor| floor.limit_rules) {
            learned
                .zones
                .iter_mut()
                .filter(|zone| zone.zone == floor.zone)
                .for_each(|zone| zone.rules = true);
        }
        let risky = self.too_risky(record, &answer, &learned);
        let in_it = request.main_on_the_bike.filter(|_| !request.unproven);
        learned.above_limit =
            risky.or_else(|| still_risky(record, &answer, (&learned, request.unproven))).or_else(|| {
                right_and_not_enough(record, &answer, (&learned, in_it)).filter(|_| floors.is_empty())
            });
        answer.warnings.extend(learned.above_limit.iter().map(|above| above.words.clone()));
        Ok(Advised { rejet: answer, theory: size, learned: Some(learned) })
    }

    /// The chance of lean at full throttle with what an answer fits, and its limit; none where the record says nothing of it.
    pub fn lean_risk(&self, answer: &Rejet) -> Option<(f64, f64)> {
        let full = self.record.as_ref()?.zone("full")?;
        let delivered = if let Some(advice) = &answer.injection {
            (100.0 + advice.to_percent) / (100.0 + advice.from_percent)
        } else {
            let advised = size_of(answer)?;
            answer.mains.iter().find(|main| nearly_equal(main.size, advised))?.delivered
        };
        Some((full.chances(delivered, answer.factor.total).lean, full.limit))
    }

    /// The chance of lean at full throttle with so much fuel over the baseline's where theory wants `factor`, and its limit; none where the
    /// record says nothing of it.
    pub fn risk_of(&self, delivered: f64, factor: f64) -> Option<(f64, f64)> {
        let full = self.record.as_ref()?.zone("full")?;
        Some((full.chances(delivered, factor).lean, full.limit))
    }

    /// The throttle below full that a lean run holds where an answer is lean with a chance that is most above its limit; none where the
    /// limit is kept everywhere.
    pub fn over_the_limit_where_held(&self, answer: &Rejet, floors: &[Floor]) -> Option<LeanBelowFull> {
        let record = self.record.as_ref()?;
        let ruled = floors.iter().filter(|floor| floor.limit_rules && floor.zone != "full");
        let over = ruled.filter_map(|floor| {
            let zone = record.zone(floor.zone)?;
            let chance = zone_answer(zone, answer).chances?.lean;
            let over = LeanBelowFull { zone: floor.zone, chance, limit: zone.limit };
            (chance > zone.limit + HARDLY_OVER).then_some(over)
        });
        over.max_by(|one, other| one.chance.total_cmp(&other.chance))
    }

    fn learned(
        &self,
        record: &Learned,
        answer: &Rejet,
        (priced, earned): (Vec<Priced>, Option<f64>),
        in_it: Option<f64>,
    ) -> LearnedAnswer {
        let factor = answer.factor.total;
        let advised = size_of(answer);
        let full = record.zone("full");
        let mut sizes: Vec<SizeChance> = full.map(|full| sizes(full, answer, advised)).unwrap_or_default();
        let test_run = full.and_then(|full| test_run(full, &sizes, (answer, factor)));
        if let Some(full) = full {
            add_what_is_fitted(&mut sizes, full, answer, in_it);
        }
        LearnedAnswer {
            lean_risk: sizes.iter().find(|size| size.advised).map(|size| size.chances.lean),
            limit: full.map(|full| full.limit),
            above_limit: None,
            right: full.and_then(|full| right(full, answer, factor)),
            exponent: full
                .map_or_else(|| self.shape.theory(), |full| self.shape.in_numbers(full.posterior.exponent())),
            weight_of_record: full.map_or(0.0, |full| full.posterior.weight_of_record(factor.ln())),
            outings: self.outings,
            test_run,
            held_by_theory: held_by_theory(&priced, earned),
            priced,
            as_hung: Vec::new(),
            trust: full.map(|full| full.trust),
            newest: full.and_then(ZoneRecord::newest),
            change: full.map_or((0.0, None), |full| full.posterior.change()),
            off_baseline: full.map(|full| full.posterior.right_amount(0.0)),
            zones: record.zones.iter().map(|zone| zone_answer(zone, answer)).collect(),
            sizes,
        }
    }

    /// What to say when the largest jet in the box still carries too much risk, and which one would not.
    fn too_risky(&self, record: &Learned, answer: &Rejet, learned: &LearnedAnswer) -> Option<AboveLimit> {
        let main = answer.jets.iter().find(|jet| jet.circuit == Circuit::Main)?;
        let largest = learned.sizes.last().filter(|_| main.advised.is_none() && main.series.is_some())?;
        let limit = learned.limit.filter(|limit| largest.chances.lean > *limit)?;
        let wanted = record.wanted(answer.factor.total).into_iter().find(|zone| zone.zone == "full")?;
        let enough = largest.size * (wanted.least / largest.delivered).powf(self.shape.number_exponent);
        // What the needle brings in its richest groove is no reason to name a jet that is in the box.
        let enough = enough.max(largest.size * NEXT_ABOVE);
        Some(AboveLimit::stop(format!(
            "The largest main jet in the box, {}, would be lean with a chance of {}, more than the {} % that is taken: do not run it. One of about {} would do.",
            trimmed(largest.size, 2),
            percent_beside(largest.chances.lean, limit, 0),
            trimmed(100.0 * limit, 1),
            trimmed(enough.ceil(), 0)
        )))
    }
}

/// So little above a limit is not told of.
pub const HARDLY_OVER: f64 = 0.005;

/// A chance of lean above its limit at a throttle below full that a lean run holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeanBelowFull {
    /// The throttle zone, as in [`crate::notebook::ZONES`].
    pub zone: &'static str,
    /// The chance, 0 to 1.
    pub chance: f64,
    /// What is taken there, 0 to 1.
    pub limit: f64,
}

impl LeanBelowFull {
    /// The likelier one of two.
    #[must_use]
    pub fn more(self, other: Self) -> Self {
        if other.chance > self.chance { other } else { self }
    }
}

/// The least by which a jet that is not in the box is larger than the largest that is: half of a size's fuel (common practice, no source).
const NEXT_ABOVE: f64 = 1.01;

/// Whether a size leaner than has been earned would have been taken.
fn held_by_theory(priced: &[Priced], earned: Option<f64>) -> bool {
    let Some(earned) = earned else { return false };
    let chosen = choose(priced).map_or(f64::INFINITY, |chosen| chosen.with_change);
    priced.iter().any(|priced| {
        priced.candidate.size < earned
            && priced.with_change < chosen
            && priced.chances.lean <= SURPRISING.max(0.05)
    })
}

/// The sizes around the advised one with their chances.
fn sizes(full: &ZoneRecord, answer: &Rejet, advised: Option<f64>) -> Vec<SizeChance> {
    let all: Vec<(f64, f64)> = match &answer.injection {
        Some(advice) => (-3_i8..=3)
            .map(|step| advice.to_percent + f64::from(step) * advice.size_percent)
            .map(|trim| (trim, (100.0 + trim) / (100.0 + advice.from_percent)))
            .collect(),
        None => answer.mains.iter().map(|main| (main.size, main.delivered)).collect(),
    };
    let is_advised = |size: f64| advised.is_some_and(|advised| nearly_equal(size, advised));
    // Without an advised size the largest ones are what there is to see.
    let at = all.iter().position(|(size, _)| is_advised(*size)).unwrap_or(all.len().saturating_sub(1));
    let beside = at.saturating_sub(SIZES_BESIDE)..=(at + SIZES_BESIDE);
    all.into_iter()
        .enumerate()
        .filter(|(place, _)| beside.contains(place))
        .map(|(_, (size, delivered))| SizeChance {
            size,
            delivered,
            chances: full.chances(delivered, answer.factor.total),
            advised: is_advised(size),
        })
        .collect()
}

/// Adds what is fitted next and what is in the bike, where they stand farther from the advised size or between two.
fn add_what_is_fitted(sizes: &mut Vec<SizeChance>, full: &ZoneRecord, answer: &Rejet, in_it: Option<f64>) {
    let (next, now) = if let Some(advice) = &answer.injection {
        (advice.steps.first().copied(), in_it.or(Some(advice.from_percent)))
    } else {
        let main = answer.jets.iter().find(|jet| jet.circuit == Circuit::Main);
        (main.and_then(|jet| jet.steps.first().copied()), in_it.or(main.map(|jet| jet.current)))
    };
    for wanted in [next, now].into_iter().flatten() {
        if sizes.iter().any(|known| nearly_equal(known.size, wanted)) {
            continue;
        }
        let delivered = match &answer.injection {
            Some(advice) => Some((100.0 + wanted) / (100.0 + advice.from_percent)),
            None => {
                answer.mains.iter().find(|main| nearly_equal(main.size, wanted)).map(|main| main.delivered)
            }
        };
        sizes.extend(delivered.map(|delivered| SizeChance {
            size: wanted,
            delivered,
            chances: full.chances(delivered, answer.factor.total),
            advised: false,
        }));
    }
    sizes.sort_by(|one, other| one.size.total_cmp(&other.size));
}

/// The right amount of fuel as a size, with its 90 % interval: between two sizes along the logarithm.
fn right(full: &ZoneRecord, answer: &Rejet, factor: f64) -> Option<(f64, f64, f64)> {
    let amount = full.posterior.right_amount(factor.ln()).mean;
    let (low, high) = full.posterior.right_interval(factor.ln(), 0.9);
    let size = |ln_fuel: f64| match &answer.injection {
        Some(advice) => Some((100.0 + advice.from_percent) * ln_fuel.exp() - 100.0),
        None => size_for(
            &answer.mains.iter().map(|main| (main.size, main.delivered)).collect::<Vec<_>>(),
            ln_fuel,
        ),
    };
    Some((size(amount)?, size(low)?, size(high)?))
}

/// The size that would deliver an amount, read off the two sizes nearest to it.
fn size_for(sizes: &[(f64, f64)], ln_fuel: f64) -> Option<f64> {
    let at = sizes.partition_point(|(_, delivered)| delivered.ln() < ln_fuel);
    let upper = at.clamp(1, sizes.len().checked_sub(1)?.max(1));
    let (below, above) = (sizes.get(upper - 1)?, sizes.get(upper)?);
    let (low, high) = (below.1.ln(), above.1.ln());
    if high <= low {
        return None;
    }
    let along = (ln_fuel - low) / (high - low);
    Some((below.0.ln() + along * (above.0.ln() - below.0.ln())).exp())
}

fn zone_answer(zone: &ZoneRecord, answer: &Rejet) -> ZoneAnswer {
    let factor = answer.factor.total;
    let delivered = match &answer.injection {
        Some(advice) => Some((100.0 + advice.to_percent) / (100.0 + advice.from_percent)),
        None => answer.zones.iter().find(|other| other.zone == zone.zone).map(|other| other.delivered),
    };
    ZoneAnswer {
        zone: zone.zone,
        verdicts: zone.verdicts,
        weight: zone.weight,
        weight_of_record: zone.posterior.weight_of_record(factor.ln()),
        limit: zone.limit,
        rules: zone.rules(),
        chances: delivered.map(|delivered| zone.chances(delivered, factor)),
    }
}

/// Among the sizes that may be run, the one whose verdict would leave least doubt.
fn test_run(full: &ZoneRecord, sizes: &[SizeChance], (answer, factor): (&Rejet, f64)) -> Option<TestRun> {
    // No leaner than what may be fitted next.
    let main = answer.jets.iter().find(|jet| jet.circuit == Circuit::Main);
    let next = main.and_then(|jet| jet.steps.first().copied()).or_else(|| size_of(answer))?;
    let doubt = full.posterior.right_amount(factor.ln()).sd;
    sizes
        .iter()
        .filter(|size| size.size >= next && size.chances.lean <= full.limit)
        .map(|size| TestRun {
            size: size.size,
            doubt,
            doubt_after: full.posterior.after_a_run(size.delivered.ln(), factor.ln()),
        })
        .min_by(|a, b| a.doubt_after.total_cmp(&b.doubt_after))
}
