//! What the record makes of each throttle zone.

use std::collections::BTreeSet;

use super::heard::evidence::{Evidence, Witness, ZoneVerdict, zones};
use super::model::posterior::{Belief, CHANGES_THOUGHT_OF, Chances, Posterior, Prior};
use super::model::share::shared_out;
use super::model::verdicts::{Judged, LearningError, Spoken};
use super::pooled::Pooled;
use super::settings::Settings;
use super::trust::Trust;
use crate::advice::learning::heard::evidence::spoken;
use crate::advice::learning::settings::CENTRE_SD;
use crate::advice::rejet::{BEARABLE, Method, Rejet, RejetError, USUAL_EXPONENT, WantedFuel};
use crate::notebook::{Circuit, NumberedBy};

/// How far an engine's own exponent may lie from theory's, in the number of a jet numbered by flow (standard deviation).
const EXPONENT_SD_BY_FLOW: f64 = 0.25;

/// The same in the number of a jet numbered by bore.
const EXPONENT_SD_BY_BORE: f64 = 0.13;

/// Fuel, or air, that differs by less than a third of a percent is the same reading, ln (common practice, no source).
const SAME_READING: f64 = 0.003;

/// Of a lean run that the record did not expect nobody knows whether the verdict was a slip or the engine has changed: until a run says
/// so either is taken to be as likely as the other (common practice, no source).
const AS_LIKELY_CHANGED: f64 = 0.5;

/// Verdicts that a zone's record must weigh before the limit of risk rules below full throttle. With fewer the zones are held to
/// what they want, as theory's are: a doubt as wide as the prior's would only make them rich.
pub const VERDICTS_TO_RULE: f64 = 3.0;

/// How fuel becomes a jet's number, and how sure theory is of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Percent of the main jet's number for one percent of fuel, by theory.
    pub number_exponent: f64,
    /// Standard deviation of an engine's own.
    pub number_exponent_sd: f64,
}

impl Shape {
    /// Of an answer by theory.
    pub fn of(theory: &Rejet) -> Self {
        let Some(main) = theory.jets.iter().find(|jet| jet.circuit == Circuit::Main) else {
            // An injector's open time goes as the fuel.
            return Self { number_exponent: 1.0, number_exponent_sd: EXPONENT_SD_BY_FLOW / USUAL_EXPONENT };
        };
        let area = match main.method {
            Method::Series { exponent } => exponent,
            Method::Simple | Method::Alone => USUAL_EXPONENT,
        };
        match main.numbered_by {
            NumberedBy::Flow => Self { number_exponent: area, number_exponent_sd: EXPONENT_SD_BY_FLOW },
            NumberedBy::Bore => Self { number_exponent: area / 2.0, number_exponent_sd: EXPONENT_SD_BY_BORE },
        }
    }

    /// What is believed before any outing has spoken, in ln of fuel.
    fn prior(self, zone: &str, settings: &Settings, today: f64) -> Prior {
        // The other zones hang on jet and needle together; they are given the doubt of a jet numbered by flow.
        let of = if zone == "full" {
            self
        } else {
            Self { number_exponent: USUAL_EXPONENT, number_exponent_sd: EXPONENT_SD_BY_FLOW }
        };
        let centre = Belief { mean: 0.0, sd: CENTRE_SD / of.number_exponent };
        let exponent = Belief { mean: 1.0, sd: of.number_exponent_sd / of.number_exponent };
        Prior { spreads: settings.spreads, today, ..Prior::new(centre, exponent) }
    }

    /// The same where other bikes of the garage have spoken of full throttle.
    fn prior_in(self, garage: Option<&Pooled>, zone: &str, settings: &Settings, today: f64) -> Prior {
        let prior = self.prior(zone, settings, today);
        match garage.filter(|_| zone == "full") {
            Some(garage) => Prior { exponent: garage.exponent, ..prior },
            None => prior,
        }
    }

    /// A belief about the exponent of fuel as one about the exponent of the jet's number.
    pub fn in_numbers(self, fuel: Belief) -> Belief {
        Belief { mean: fuel.mean * self.number_exponent, sd: fuel.sd * self.number_exponent }
    }

    /// What theory believes of the exponent of the jet's number.
    pub fn theory(self) -> Belief {
        self.in_numbers(self.prior("full", &Settings::default(), 0.0).exponent)
    }
}

/// One zone that has spoken.
#[derive(Debug, Clone)]
pub struct ZoneRecord {
    /// The zone, as in [`crate::notebook::ZONES`].
    pub zone: &'static str,
    /// Share of the slide's lift.
    pub lift: f64,
    /// Outings heard, each counted once where several of its cylinders were judged.
    pub verdicts: usize,
    /// What they weigh together, the proven mark not counted.
    pub weight: f64,
    /// The most chance of running lean that is taken.
    pub limit: f64,
    /// What is believed now.
    pub posterior: Posterior,
    /// Whether what is foretold has come true on this combination.
    pub trust: Trust,
    /// How many of the newest runs of the bike as it stands were lean, where the others did not expect one of them; with what the runs say
    /// without a mark, which was given before they were lean.
    unexplained: Option<(usize, Posterior)>,
    /// Places of the combination's own verdicts in the record, oldest first.
    own: Vec<usize>,
    /// How each run was judged, oldest first, without the mark.
    judged: Vec<Judged>,
}

/// Every zone that has spoken.
#[derive(Debug, Clone)]
pub struct Learned {
    /// The zones, idle first.
    pub zones: Vec<ZoneRecord>,
    /// What the exponent started from, where other bikes of the garage have spoken.
    pub garage: Option<Pooled>,
}

impl Learned {
    /// From the evidence; none where no outing speaks. `today` is the doubt of what today's air asks for, ln fuel.
    pub fn new(
        evidence: &Evidence,
        shape: Shape,
        settings: &Settings,
        today: f64,
    ) -> Result<Option<Self>, LearningError> {
        let heard: Vec<_> = zones().filter(|(zone, _)| evidence.of(zone).next().is_some()).collect();
        let garage = if heard.iter().any(|(zone, _)| *zone == "full") {
            Pooled::new(&shape.prior("full", settings, today), &evidence.sisters)?
        } else {
            None
        };
        let learned = shared_out(&heard, 2, |&(zone, lift)| {
            let prior = shape.prior_in(garage.as_ref(), zone, settings, today);
            ZoneRecord::new(evidence, (zone, lift), &prior, settings.limit(zone))
        });
        let zones = learned.into_iter().collect::<Result<Vec<_>, _>>()?;
        Ok((!zones.is_empty()).then_some(Self { zones, garage }))
    }

    /// The same record in an air that is doubted by so much, ln fuel: as if it had been weighed for that.
    pub(super) fn doubting(self, today: f64) -> Result<Self, LearningError> {
        let zones = self.zones.into_iter().map(|zone| zone.doubting(today)).collect::<Result<_, _>>()?;
        Ok(Self { zones, ..self })
    }

    /// A zone that has spoken.
    pub fn zone(&self, zone: &str) -> Option<&ZoneRecord> {
        self.zones.iter().find(|record| record.zone == zone)
    }

    /// What each zone that has spoken wants where theory wants the factor `factor`.
    pub fn wanted(&self, factor: f64) -> Vec<WantedFuel> {
        self.zones.iter().map(|record| record.wanted(factor)).collect()
    }
}

impl ZoneRecord {
    fn new(
        evidence: &Evidence,
        (zone, lift): (&'static str, f64),
        prior: &Prior,
        limit: f64,
    ) -> Result<Self, LearningError> {
        let heard: Vec<_> = evidence.of(zone).collect();
        let mark = evidence.mark.filter(|_| zone == "full");
        let spoken: Vec<Spoken> =
            heard.iter().map(|(witness, verdict)| spoken(witness, verdict)).chain(mark).collect();
        // Full throttle, where a lean engine seizes, is reckoned finely; the other zones well enough to be leant towards.
        let posterior =
            if zone == "full" { Posterior::new(prior, &spoken)? } else { Posterior::coarse(prior, &spoken)? };
        let own: Vec<usize> = heard
            .iter()
            .enumerate()
            .filter(|(_, (witness, _))| witness.weight.is_own())
            .map(|(at, _)| at)
            .collect();
        let judged: Vec<Judged> = heard.iter().map(|(_, verdict)| verdict.judged).collect();
        let foretold = own.iter().map(|at| (judged[*at], posterior.foretold(*at)));
        let unexplained = match unexplained_lean(&posterior, &own, &judged) {
            Some(runs) if mark.is_none() => Some((runs, posterior.clone())),
            Some(runs) => Some((runs, Posterior::new(prior, &spoken[..heard.len()])?)),
            None => None,
        };
        Ok(Self {
            zone,
            lift,
            verdicts: outings(&heard),
            weight: heard.iter().map(|(witness, _)| witness.weight.total.powi(2)).sum(),
            limit,
            trust: Trust::of(foretold),
            unexplained,
            posterior,
            own,
            judged,
        })
    }

    fn doubting(self, today: f64) -> Result<Self, LearningError> {
        let doubting = |(runs, alone): (usize, Posterior)| Ok((runs, alone.doubting(today)?));
        let unexplained = self.unexplained.map(doubting).transpose()?;
        Ok(Self { posterior: self.posterior.doubting(today)?, unexplained, ..self })
    }

    /// Whether the limit of risk rules here.
    pub fn rules(&self) -> bool {
        self.zone == "full" || self.weight >= VERDICTS_TO_RULE
    }

    /// What it wants where theory wants `factor`.
    fn wanted(&self, factor: f64) -> WantedFuel {
        let right = self.posterior.right_amount(factor.ln()).mean.exp();
        let least = match self.zone {
            // However much risk is taken, full throttle is not aimed leaner than right.
            "full" => self.posterior.least_delivered(factor.ln(), self.limit).exp().max(right),
            _ if self.rules() => self.within_limit(factor),
            _ => right * BEARABLE,
        };
        WantedFuel { zone: self.zone, lift: self.lift, factor: right, least, held: None, limit_rules: false }
    }

    /// The least fuel that keeps to the limit of lean where theory wants `factor`. What ran right there in this very air is not too little
    /// for it.
    pub(super) fn within_limit(&self, factor: f64) -> f64 {
        let ran_right = self.right_just_now(factor).map_or(f64::INFINITY, f64::exp);
        self.posterior.least_delivered(factor.ln(), self.limit).exp().min(ran_right)
    }

    /// The chances with fuel `delivered` over the baseline's, where theory wants `factor`. Beside a lean run that the record did not
    /// expect lean is no less likely than [`AS_LIKELY_CHANGED`] of what it would be had something changed before it.
    pub fn chances(&self, delivered: f64, factor: f64) -> Chances {
        let (delivered, wanted) = (delivered.ln(), factor.ln());
        let unexplained = self.unexplained.as_ref();
        let changed = unexplained.and_then(|(runs, alone)| alone.lean_if_changed(*runs, delivered, wanted));
        let by_record = self.posterior.chances(delivered, wanted);
        changed.map_or(by_record, |lean| by_record.with_at_least(AS_LIKELY_CHANGED * lean))
    }

    /// Whether the record alone would put the chance of lean at no more than the limit: what stands above it is doubt of a lean run.
    pub fn is_safe_by_record(&self, delivered: f64, factor: f64) -> bool {
        self.posterior.chances(delivered.ln(), factor.ln()).lean <= self.limit
    }

    /// Whether the newest verdict of the bike as it stands was right with so much fuel in such air.
    pub fn ran_right(&self, delivered: f64, factor: f64) -> bool {
        self.right_just_now(factor).is_some_and(|ran| (ran - delivered.ln()).abs() < SAME_READING)
    }

    /// The same with no more fuel than `delivered`.
    pub fn ran_right_on_no_more(&self, delivered: f64, factor: f64) -> bool {
        self.right_just_now(factor).is_some_and(|ran| ran - delivered.ln() < SAME_READING)
    }

    /// Whether the newest verdict of the bike as it stands was right with so much fuel, in air that asked for as much or more.
    pub fn ran_right_in_air_that_asks_no_less(&self, delivered: f64, factor: f64) -> bool {
        let Some(newest) = self.own.last() else { return false };
        let run = self.posterior.run(*newest);
        self.judged[*newest] == Judged::Right
            && run.wanted > factor.ln() - SAME_READING
            && (run.delivered - delivered.ln()).abs() < SAME_READING
    }

    /// What the newest run of the bike as it stands delivered, ln, where it was right and in such air.
    fn right_just_now(&self, factor: f64) -> Option<f64> {
        let newest = *self.own.last()?;
        let run = self.posterior.run(newest);
        let is_it = self.judged[newest] == Judged::Right && (run.wanted - factor.ln()).abs() < SAME_READING;
        is_it.then_some(run.delivered)
    }

    /// The newest verdict of the bike as it stands, with the chance that it, or one further out, had before it came.
    pub fn newest(&self) -> Option<(usize, f64)> {
        let newest = *self.own.last()?;
        Some((newest, self.posterior.foretold(newest).as_far_out(self.judged[newest])))
    }
}

/// How many of the newest own runs were lean, where the others gave one of them less than [`SURPRISING`].
fn unexplained_lean(posterior: &Posterior, own: &[usize], judged: &[Judged]) -> Option<usize> {
    let is_lean = |at: &&usize| matches!(judged[**at], Judged::Lean | Judged::SlightlyLean);
    let lean: Vec<usize> = own.iter().rev().take_while(is_lean).copied().collect();
    let odd = |at: &usize| posterior.foretold(*at).as_far_out(judged[*at]) < SURPRISING;
    lean.iter().any(odd).then_some(lean.len().min(CHANGES_THOUGHT_OF))
}

/// How many outings were heard: one that was judged at several cylinders counts once.
fn outings(heard: &[(&Witness, &ZoneVerdict)]) -> usize {
    let id = |(witness, _): &(&Witness, &ZoneVerdict)| witness.outing.id.clone();
    let (own, others): (Vec<_>, Vec<_>) = heard.iter().partition(|(witness, _)| witness.cylinder.is_none());
    let seen: BTreeSet<String> = own.iter().map(id).collect();
    own.len() + others.iter().map(id).filter(|id| !seen.contains(id)).collect::<BTreeSet<_>>().len()
}

/// One full-throttle verdict foretold without it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// What it was.
    pub judged: Judged,
    /// The chances by all the others.
    pub learned: Chances,
    /// The chances by theory alone.
    pub theory: Chances,
}

impl Foretold {
    /// The chance that was given to what came.
    pub fn given(judged: Judged, chances: Chances) -> f64 {
        match judged {
            Judged::Lean | Judged::SlightlyLean => chances.lean,
            Judged::Right => chances.right,
            Judged::SlightlyRich | Judged::Rich => chances.rich,
        }
    }
}

/// Foretells each full-throttle verdict from all the others, and from theory alone; the proven mark, which is often given for one
/// of them, stays among the others.
pub fn leave_one_out(
    evidence: &Evidence,
    shape: Shape,
    settings: &Settings,
) -> Result<Vec<Foretold>, RejetError> {
    foretell(evidence, shape, settings).map_err(|error| RejetError::record(&error))
}

fn foretell(evidence: &Evidence, shape: Shape, settings: &Settings) -> Result<Vec<Foretold>, LearningError> {
    let alone = shape.prior("full", settings, 0.0);
    let garage = Pooled::new(&alone, &evidence.sisters)?;
    let prior = shape.prior_in(garage.as_ref(), "full", settings, 0.0);
    let all: Vec<Spoken> = evidence.of("full").map(|(witness, verdict)| spoken(witness, verdict)).collect();
    let theory = Posterior::new(&alone, &[])?;
    let whole = Posterior::new(&prior, &all)?;
    let own = all.iter().enumerate().filter(|(_, run)| run.cylinder == 0);
    let foretold = own.map(|(at, run)| Foretold {
        judged: run.judged,
        learned: whole.foretold(at).chances(),
        theory: theory.chances(run.delivered, run.wanted),
    });
    Ok(foretold.collect())
}

/// A verdict had so little chance, with all that were further out, that something else is likelier than chance.
pub const SURPRISING: f64 = 0.02;
