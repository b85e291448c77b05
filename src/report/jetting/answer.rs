//! The advice for other air or fuel.

use schemars::JsonSchema;
use serde::Serialize;

use super::first::before;
use super::first::{HeldRun, NewestVerdict};
use super::fitted::{FieldSetTo, FitLater, FitNow, TakenBack, fit_later, fit_now, set_to, taken_back};
use super::moves::{ClipMove, FactorParts, JetMove, NeedleMove, ScrewMove, TrimMove};
use super::record::{RecordAnswer, RecordReport};
use super::words::circuit;
use crate::advice::asking::{Answered, Question};
use crate::advice::conditions::kept::Served;
use crate::advice::foundation::Ground;
use crate::advice::held::Hold;
use crate::advice::learning::{Floor, Foretold};
use crate::advice::slips::Slip;
use crate::advice::{JetAdvice, Rejet};
use crate::notebook::fields::names::in_words;
use crate::notebook::{AirEntry, Circuit, FieldSet};
use crate::report::history::noted_air::NotedAir;
use crate::report::out::figure::Figure;
use crate::report::out::ways;
use crate::report::{KeptAir, Trouble};

/// What the bike wants in other air or on other fuel.
#[derive(Serialize, JsonSchema)]
pub struct RejetAnswer<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// Number of the setup the advice starts from.
    #[schemars(range(min = 1))]
    pub(super) baseline: u32,
    /// Air the baseline was right in.
    pub(super) baseline_air: NotedAir,
    /// Air the advice is for.
    pub(super) air: NotedAir,
    /// The kept air that it is, or that gave a part of it; null where all of it was typed.
    kept: Option<KeptAir>,
    /// What the fuel's metering area is to be multiplied by, without unit.
    pub(super) factor: Figure<6>,
    /// Standard uncertainty of the factor over the factor itself, without unit: relative, 0.01 is 1 percent; null when a reading's doubt
    /// is not known.
    pub(super) factor_uncertainty: Option<Figure<6>>,
    /// The factors that `factor` is the product of, without unit; 1 where nothing changes.
    pub(super) parts: FactorParts,
    /// The jets; empty with injection.
    pub(super) jets: Vec<JetMove<'a>>,
    /// The needle's clip.
    clip: ClipMove<'a>,
    /// The air or fuel screw; null when it is not known.
    pub(super) screw: Option<ScrewMove<'a>>,
    /// The needle, when another one is advised; null when it stays.
    needle: Option<NeedleMove<'a>>,
    /// What every cell of the fuel map is to be changed by, percent; null with a carburetor.
    injection_trim_percent: Option<Figure<3>>,
    /// The trim over the whole map; null with a carburetor.
    pub(super) injection: Option<TrimMove<'a>>,
    /// Every field to set on the bike as it stands, the first step where it goes in steps.
    pub(super) fit: Vec<FitNow>,
    /// Later steps, each once plug and piston have been read on the one before; empty where one step does.
    then: Vec<FitLater>,
    /// The runs that forbid going leaner, one for each throttle zone that is held.
    held: Vec<HeldRun<'a>>,
    /// The newest verdict at full throttle of the combination on the bike, and the chance that it, or one further out, had before it
    /// came; null without one.
    surprise: Option<NewestVerdict<'a>>,
    /// What --record sets: where the advice differs from the files on disk.
    assignments: Vec<FieldSetTo<'a>>,
    /// Changes that are recorded, are not on the bike by its jobs, and that --record takes back, or took back: their jobs are gone with them.
    /// Not there where it takes none back.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(extend("default" = []))]
    pub(super) taken_back: Vec<TakenBack>,
    /// Number of the setup it was recorded as; null when it was not.
    #[schemars(range(min = 1))]
    pub(super) recorded: Option<u32>,
    /// The cylinders that its carburetor feeds, where they are several: the answer is of all of them. Not there where it feeds one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(extend("default" = []))]
    one_carburetor: Vec<String>,
    /// What the calculation takes for granted or could not know.
    pub(super) warnings: &'a [String],
    /// What else should be known of the readings and the bike.
    remarks: Vec<String>,
    /// Cautions that go with every advice.
    pub(super) cautions: &'a [String],
    /// What the bike's own record says of it.
    #[serde(flatten)]
    pub(super) record: RecordAnswer<'a>,
    /// What it is told from.
    #[serde(skip)]
    pub(super) told: RejetReport<'a>,
}

/// What an advice is told from: where it starts and where it leads.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own")]
pub struct RejetReport<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Whether it is the bike of the day, which nobody named.
    pub bike_is_taken: bool,
    /// Jetting that is recorded and by the jobs not on the bike: the field, and what is to be done.
    pub not_fitted: Vec<(String, String)>,
    /// Whether the newest run was lean, and its cause is mended, or another cylinder was lean.
    pub is_after_lean: bool,
    /// The cylinders that its carburetor feeds, where they are several.
    pub one_carburetor: Vec<String>,
    /// Whether the garage never had an advice before.
    pub first_of_the_garage: bool,
    /// Number of the setup it starts from.
    pub baseline: u32,
    /// The air of that setup and where it is from.
    pub baseline_air: &'a (AirEntry, String),
    /// The air it leads to.
    pub air: &'a AirEntry,
    /// Where that air is from.
    pub served: &'a Served,
    /// The advice.
    pub rejet: &'a Rejet,
    /// The values of the files on disk: what is recorded.
    pub now: &'a FieldSet,
    /// What the bike has by its jobs; what is recorded, where none of its jetting is open.
    pub on_it: &'a FieldSet,
    /// The values of the setup it starts from.
    pub baseline_fields: &'a FieldSet,
    /// Why that setup is stood on.
    pub ground: Ground,
    /// Whether that setup was right once, or somebody says so.
    pub was_right: bool,
    /// The bike's last run, where it seized on another combination, in words.
    pub seized_elsewhere: Option<String>,
    /// What is questioned about the air that is asked for, in sentences.
    pub questioned: &'a [String],
    /// The runs that forbid going leaner, with the least fuel each leaves.
    pub held: &'a [(&'a Hold, Floor)],
    /// Fuel that the bike as it stands passes at each zone over the setup it starts from.
    pub left: &'a [(&'static str, f64)],
    /// What differs from the files on disk: what `--record` sets.
    pub to_set: &'a [(String, String)],
    /// What differs on the bike from the setup it starts from, in words; none where nothing does.
    pub moved_on: Option<String>,
    /// The field of its metering that differs there, so that the advice cannot be recorded.
    pub other_metering: Option<&'a str>,
    /// What else should be known.
    pub remarks: Vec<String>,
    /// The setup it was recorded as.
    pub recorded: Option<u32>,
    /// What the bike's own record says of it.
    pub record: RecordReport<'a>,
    /// Whether the numbers behind it are asked for.
    pub explain: bool,
    /// The first part of its engine that is to be changed before it runs, in a sentence.
    pub overdue: Option<&'a str>,
}

impl<'a> Beside<'a> {
    /// Where nothing else was asked: of an air, with what is questioned of it.
    pub fn air(served: &'a Served, questioned: &'a [String]) -> Self {
        Self {
            served,
            questioned,
            foretold: None,
            was_right: false,
            bike_is_taken: false,
            explain: false,
            overdue: None,
        }
    }
}

/// What is said beside what was found.
#[derive(Clone, Copy)]
pub struct Beside<'a> {
    /// Where the air is from.
    pub served: &'a Served,
    /// What is questioned about the air that is asked for, in sentences.
    pub questioned: &'a [String],
    /// What each outing would have been foretold from the others; none where that was not asked.
    pub foretold: Option<&'a [Foretold]>,
    /// Whether somebody says that the setup it starts from was right.
    pub was_right: bool,
    /// Whether the bike is the day's, which nobody named.
    pub bike_is_taken: bool,
    /// Whether the numbers behind it are asked for.
    pub explain: bool,
    /// The first part of its engine that is to be changed before it runs, in a sentence.
    pub overdue: Option<&'a str>,
}

/// What a report says of a question, whatever the air.
#[derive(Debug, Clone)]
pub struct InAnyAir {
    remarks: Vec<String>,
    seized_elsewhere: Option<String>,
    moved_on: Option<String>,
    one_carburetor: Vec<String>,
}

impl InAnyAir {
    /// Of a question.
    pub fn of(question: &Question<'_>) -> Result<Self, Trouble> {
        let mut remarks = before::ground_words(question)?;
        remarks.extend(question.holds.remarks.iter().cloned());
        remarks.extend(question.not_run_in().ok().flatten());
        remarks.extend(question.otherwise_measured().ok().flatten().map(|said| ways::worded(&said)));
        let sharing = question.book.sharing_with(&question.baseline.bike)?;
        let own = question.book.cylinder().filter(|_| !sharing.is_empty());
        let one_carburetor: Vec<String> = own.into_iter().map(str::to_owned).chain(sharing).collect();
        if !one_carburetor.is_empty() {
            let names = one_carburetor.iter().map(|name| in_words(name)).collect::<Vec<_>>().join(" and ");
            remarks.push(format!(
                "One carburetor feeds {names}: each throttle counts as the leanest of them ran there."
            ));
        }
        Ok(Self {
            one_carburetor,
            remarks,
            seized_elsewhere: before::seized_elsewhere(question),
            moved_on: before::moved_on(question),
        })
    }
}

impl<'a> RejetReport<'a> {
    /// What was found, with what is said beside it.
    pub fn of(found: &'a Answered<'a>, beside: Beside<'a>) -> Result<Self, Trouble> {
        Ok(Self::with(found, beside, InAnyAir::of(found.question)?))
    }

    /// The same where what is said in any air is in hand.
    pub fn with(found: &'a Answered<'a>, beside: Beside<'a>, in_any_air: InAnyAir) -> Self {
        let question = found.question;
        let remarks = found.remarks.iter().map(ways::worded).chain(in_any_air.remarks).collect();
        Self {
            bike: &question.baseline.bike,
            bike_is_taken: beside.bike_is_taken,
            not_fitted: found.not_fitted.clone(),
            is_after_lean: question.holds.mended.is_some() || question.neighbour_was_lean(),
            one_carburetor: in_any_air.one_carburetor,
            first_of_the_garage: found.first_of_the_garage,
            baseline: question.baseline.number,
            baseline_air: &question.baseline_air,
            air: &found.air,
            served: beside.served,
            rejet: &found.advised.rejet,
            now: &question.now.fields,
            on_it: found.on_it.as_deref().unwrap_or(&question.now.fields),
            baseline_fields: &question.whole.fields,
            ground: question.ground,
            was_right: beside.was_right || found.was_right,
            seized_elsewhere: in_any_air.seized_elsewhere,
            questioned: beside.questioned,
            held: &found.held,
            left: &found.left,
            to_set: &found.to_set,
            moved_on: in_any_air.moved_on,
            other_metering: found.other_metering.as_deref(),
            remarks,
            recorded: None,
            record: RecordReport {
                learned: found.advised.learned.as_ref(),
                adviser: &found.adviser,
                evidence: found.evidence.as_deref(),
                theory: found.advised.theory,
                foretold: beside.foretold,
                injected: found.advised.rejet.injection.is_some(),
                is_held: !found.held.is_empty(),
                least: found.held.iter().find(|(hold, _)| hold.zone == "full").map(|(_, floor)| floor.least),
            },
            explain: beside.explain,
            overdue: beside.overdue,
        }
    }

    /// What is questioned before any size, with what was questioned of the air.
    pub fn questioned(question: &Question<'_>, slips: &[Slip]) -> Vec<String> {
        let mut questioned = before::not_to_be_run(question);
        questioned.extend(before::edited_on_disk(question));
        questioned.extend(before::before_any_size(question));
        questioned
            .extend(slips.iter().map(|slip| format!("{} {}", slip.question, ways::worded(&slip.instead))));
        questioned
    }
}

impl RejetReport<'_> {
    /// The circuit, main or pilot, for which no jet is advised; a power jet that has no series stays.
    pub fn nothing_to_fit(&self) -> Option<&'static str> {
        let decides = |jet: &&JetAdvice| jet.circuit != Circuit::Power && jet.advised.is_none();
        let jet = self.rejet.jets.iter().find(decides)?;
        Some(circuit(jet.circuit))
    }
}

impl<'a> From<RejetReport<'a>> for RejetAnswer<'a> {
    fn from(told: RejetReport<'a>) -> Self {
        let rejet = told.rejet;
        Self {
            bike: told.bike,
            baseline: told.baseline,
            baseline_air: NotedAir::of(&told.baseline_air.0),
            air: NotedAir::of(told.air),
            kept: KeptAir::of(told.served),
            factor: Figure(rejet.factor.total),
            factor_uncertainty: rejet.factor_uncertainty.map(Figure),
            parts: rejet.factor.into(),
            jets: rejet.jets.iter().map(JetMove::from).collect(),
            clip: (&rejet.clip).into(),
            screw: rejet.screw.as_ref().map(ScrewMove::from),
            needle: rejet.needle.as_ref().map(|needle| NeedleMove { from: &needle.from, to: &needle.to }),
            injection_trim_percent: rejet.injection.as_ref().map(|advice| Figure(advice.trim_percent)),
            injection: rejet.injection.as_ref().map(TrimMove::from),
            fit: fit_now(&told),
            then: fit_later(&told),
            held: told.held.iter().map(HeldRun::from).collect(),
            surprise: NewestVerdict::of(told.record.learned, told.record.evidence),
            assignments: set_to(&told),
            taken_back: taken_back(&told),
            one_carburetor: told.one_carburetor.clone(),
            recorded: told.recorded,
            warnings: &rejet.warnings,
            remarks: told.questioned.iter().chain(&told.moved_on).chain(&told.remarks).cloned().collect(),
            cautions: &rejet.cautions,
            record: RecordAnswer::new(told.record, rejet),
            told,
        }
    }
}
